"""Find: type part of anything, the answers stand below while typing."""

from __future__ import annotations

from collections.abc import Sequence
from typing import ClassVar

from textual.app import ComposeResult
from textual.binding import BindingType
from textual.containers import Horizontal, Vertical
from textual.strip import Strip
from textual.widgets import Input

from binder.find import Hit, find
from binder.records.catalog import BY_NAME
from tui.app.actions import FOUND, bindings
from tui.app.line_list import Drawing, LineList, Rows
from tui.app.lines import Line, Part, fit, line, safe, width_of, wrapped
from tui.app.screen import BinderScreen

MOST = 60


class Query(Input):
    """The one line in which is typed what is looked for."""

    def __init__(self) -> None:
        super().__init__(id="query", compact=True)
        self.cursor_blink = False

    def render_line(self, y: int) -> Strip:
        return safe(super().render_line(y))


class FindScreen(BinderScreen[None]):
    """Letters go into the query; the arrow keys walk what was found; Enter opens it."""

    PLACE = FOUND
    BINDINGS: ClassVar[list[BindingType]] = bindings(FOUND)
    AUTO_FOCUS = "#query"
    HAS_PREVIEW = True

    def __init__(self) -> None:
        super().__init__()
        self.hits: tuple[Hit, ...] = ()

    def compose_body(self) -> ComposeResult:
        with Vertical(id="main"):
            with Horizontal(id="query-row"):
                yield Drawing(id="query-label")
                yield Query()
            yield LineList(id="list")
            yield Drawing(id="under")

    def on_mount(self) -> None:
        self.main_list.can_focus = False
        self.query_one("#query-label", Drawing).show([line((" find ", "strong"))])

    def title_parts(self) -> tuple[Sequence[Part], Sequence[Part]]:
        count = len(self.hits)
        more = "the best " if count >= MOST else ""
        where = f"{more}{count} found" if self.typed else "a name, number, address, room ..."
        return (Part(" Find in the whole binder", "strong"),), (Part(where),)

    @property
    def typed(self) -> str:
        return self.query_one(Query).value.strip()

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

    def on_input_changed(self, event: Input.Changed) -> None:
        self.message = None
        self.main_list.cursor = 0
        with self.binder_app.telling():
            self.reload()
        self.main_list.move_to(0)
        self.show_frame()

    def on_input_submitted(self, event: Input.Submitted) -> None:
        self.action_open_found()

    def on_line_list_chosen(self, event: LineList.Chosen) -> None:
        self.action_open_found()

    def action_open_found(self) -> None:
        found = self.looked_at()
        if found is not None:
            with self.binder_app.telling():
                self.binder_app.open_record(found)

    def action_result_down(self) -> None:
        self.main_list.action_step(1)

    def action_result_up(self) -> None:
        self.main_list.action_step(-1)

    def action_result_page(self, direction: int) -> None:
        self.main_list.action_page(direction)

    def action_leave_find(self) -> None:
        self.app.pop_screen()
