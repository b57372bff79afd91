"""Find: part of anything, from anywhere."""

from __future__ import annotations

from collections.abc import Hashable, Sequence
from typing import ClassVar

from textual.binding import BindingType

from binder.find import Hit, find
from binder.records.catalog import BY_NAME
from tui.app.actions import FOUND, bindings
from tui.app.line_list import Rows
from tui.app.lines import Line, Part, fit, line, width_of, wrapped
from tui.app.query_screen import QueryScreen

MOST = 60


class FindScreen(QueryScreen):
    """What was found, best first, and the answer in short for the one pointed at."""

    PLACE = FOUND
    BINDINGS: ClassVar[list[BindingType]] = bindings(FOUND)
    HAS_PREVIEW = True

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
        rows = [(hit.id, self._line(hit, min(width, 30))) for hit in self.hits]
        self.main_list.empty = f" nothing has '{self.typed}' in it" if self.typed else ""
        self.main_list.show(Rows(rows))

    def _line(self, hit: Hit, room: int) -> Line:
        kind = BY_NAME[hit.kind].label
        found_in = "" if hit.value == hit.name else f"  {hit.field}: {hit.value}"
        return line(
            (f" {fit(kind, 14)} ", "label"), (fit(hit.name, room), "strong"),
            (found_in, "label"), f"  {hit.line}",
        )  # fmt: skip

    def looked_at(self) -> int | None:
        key = self.main_list.key
        return key if isinstance(key, int) else None

    def preview_lines(self, width: int, height: int) -> Sequence[Line]:
        """The answer in short, in full, then the sheet."""
        hit = next((hit for hit in self.hits if hit.id == self.looked_at()), None)
        answer = wrapped(hit.line, width - 2) if hit and hit.line else []
        lines = [line((f" {row}", "strong")) for row in answer]
        return [*lines, *super().preview_lines(width, height)][:height]

    def choose(self, key: Hashable) -> None:
        if isinstance(key, int):
            self.binder_app.open_record(key)
