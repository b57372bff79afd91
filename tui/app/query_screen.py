"""A line to type in, and under it a list that answers while typing."""

from __future__ import annotations

from collections.abc import Hashable
from typing import ClassVar

from textual.app import ComposeResult
from textual.containers import Horizontal, Vertical
from textual.strip import Strip
from textual.widgets import Input

from tui.app.line_list import Drawing, LineList
from tui.app.lines import line, safe
from tui.app.screen import BinderScreen


class Query(Input):
    """The one line in which is typed what is looked for."""

    def __init__(self) -> None:
        super().__init__(id="query", compact=True)
        self.cursor_blink = False

    def replace(self, text: str, start: int, end: int) -> None:
        """`/` finds, wherever it is pressed: over what was looked for it begins anew."""
        is_anew = text == "/" and {start, end} == {0, len(self.value)}
        super().replace("" if is_anew else text, start, end)

    def render_line(self, y: int) -> Strip:
        return safe(super().render_line(y))


class QueryScreen(BinderScreen[None]):
    """Letters go into the query; the arrow keys walk the answers; Enter chooses one.

    Subclasses answer in `reload`, or in `answer`, and act in `choose`.
    """

    AUTO_FOCUS = "#query"
    QUERY: ClassVar[type[Query]] = Query
    ASKS = " find "

    def compose_body(self) -> ComposeResult:
        with Vertical(id="main"):
            with Horizontal(id="query-row"):
                yield Drawing(id="query-label")
                yield self.QUERY()
            yield LineList(id="list")
            yield Drawing(id="under")

    def on_mount(self) -> None:
        self.main_list.can_focus = False
        self.query_one("#query-label", Drawing).show([line((self.ASKS, "strong"))])

    @property
    def typed(self) -> str:
        return self.query_one(Query).value.strip()

    def answer(self) -> None:
        """Show what there is to what is typed now."""
        self.reload()

    def choose(self, key: Hashable) -> None:
        """Do what the answer with that key stands for."""
        raise NotImplementedError

    def on_input_changed(self, event: Input.Changed) -> None:
        self.message = None
        self.main_list.cursor = 0
        with self.binder_app.telling():
            self.answer()
        self.main_list.move_to(0)
        self.show_frame()

    def on_input_submitted(self, event: Input.Submitted) -> None:
        self.action_open_found()

    def on_line_list_chosen(self, event: LineList.Chosen) -> None:
        self.action_open_found()

    def action_open_found(self) -> None:
        key = self.main_list.key
        if key is not None:
            with self.binder_app.telling():
                self.choose(key)

    def action_result_down(self) -> None:
        self.main_list.action_step(1)

    def action_result_up(self) -> None:
        self.main_list.action_step(-1)

    def action_result_page(self, direction: int) -> None:
        self.main_list.action_page(direction)

    def action_leave_find(self) -> None:
        self.app.pop_screen()
