"""Find: part of anything, from anywhere."""

from __future__ import annotations

from collections.abc import Hashable, Sequence
from typing import ClassVar

from textual.binding import BindingType

from binder.errors import RequestError
from binder.find import Hit, find
from binder.records.catalog import BY_NAME
from tui.app.actions import FOUND, bindings
from tui.app.line_list import Rows
from tui.app.lines import Line, Part, fit, line, width_of, wrapped
from tui.app.query_screen import Query, QueryScreen
from tui.app.screen import WIDE

MOST = 40


class FindScreen(QueryScreen):
    """What was found, best first, and the answer in short for the one pointed at."""

    PLACE = FOUND
    BINDINGS: ClassVar[list[BindingType]] = bindings(FOUND)
    HAS_PREVIEW = True
    HAS_DRAWING = True

    def __init__(self) -> None:
        super().__init__()
        self.hits: tuple[Hit, ...] = ()

    def title_parts(self) -> tuple[Sequence[Part], Sequence[Part]]:
        count = len(self.hits)
        more = "the best " if count >= MOST else ""
        partly = "not all words: " if self.hits and self.hits[0].is_partly else ""
        where = (
            f"{partly}{more}{count} found" if self.typed else "a name, number, address, room ..."
        )
        return (Part(" Find in the whole binder", "strong"),), (Part(where),)

    def reload(self) -> None:
        self.hits = find(self.binder_app.binder, self.typed, MOST) if self.typed else ()
        width = max([width_of(hit.name) for hit in self.hits], default=0)
        most = 18 if self.list_width < WIDE else 30  # the answer needs the room
        kind = max([width_of(BY_NAME[hit.kind].label) for hit in self.hits], default=0)
        rows = [(hit.id, self._line(hit, min(kind, 12), min(width, most))) for hit in self.hits]
        self.main_list.empty = f" nothing has '{self.typed}' in it" if self.typed else ""
        self.main_list.show(Rows(rows))

    def _line(self, hit: Hit, kind_room: int, name_room: int) -> Line:
        """The answer before where it was found: on a narrow line the answer is what stays."""
        kind = BY_NAME[hit.kind].label
        found_in = "" if hit.value in (hit.name, "") or hit.value in hit.line else hit.value
        return line(
            (f" {fit(kind, kind_room)}  ", "label"),
            (fit(hit.name, name_room), "strong"), f"  {hit.line}",
            (f"  {hit.field}: {found_in}" if found_in else "", "label"),
        )  # fmt: skip

    def looked_at(self) -> int | None:
        key = self.main_list.key
        return key if isinstance(key, int) else None

    def preview_lines(self, width: int, height: int) -> Sequence[Line]:
        """The answer in short, in full, then as much of the sheet as there is room for."""
        hit = next((hit for hit in self.hits if hit.id == self.looked_at()), None)
        answer = wrapped(hit.line, width - 2) if hit and hit.line else []
        lines = [line((f" {row}", "strong")) for row in answer][:height]
        room = height - len(lines)
        return [*lines, *super().preview_lines(width, room)] if room else lines

    def on_screen_resume(self) -> None:
        """Back from what was found: the next thing typed takes the place of the last."""
        super().on_screen_resume()
        self.query_one(Query).select_all()

    # What can be done to what was found, without opening it first -------------------------

    def _marked(self) -> int:
        record_id = self.looked_at()
        if record_id is None:
            raise RequestError("nothing is found yet; type part of anything")
        self.query_one(Query).select_all()
        return record_id

    def action_trace_found(self) -> None:
        self.binder_app.open_trace(self._marked())

    def action_impact_of_found(self) -> None:
        self.binder_app.open_impact(self._marked())

    def action_trouble_found(self) -> None:
        from tui.app.troubles import look

        self.binder_app.errand(look(self.binder_app, self._marked()))

    def action_reveal_found(self) -> None:
        from tui.app.revealing import reveal

        self.binder_app.errand(reveal(self.binder_app, self._marked()))

    def action_history_of_found(self) -> None:
        self.binder_app.open_history(self._marked())

    def choose(self, key: Hashable) -> None:
        if isinstance(key, int):
            self.binder_app.open_record(key)
