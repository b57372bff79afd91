"""What a form is drawn with: its rows, and the one input that travels over them."""

from __future__ import annotations

from textual.message import Message
from textual.strip import Strip
from textual.widgets import Input

from binder.records.fields import Field
from tui.app.line_list import LineList
from tui.app.lines import safe
from tui.app.suggestions import options


class FieldInput(Input):
    """The one input of a form. Keys that mean something to the form are told to it."""

    class Turned(Message):
        """Left or right was pressed where there are choices to go through."""

        def __init__(self, by: int) -> None:
            super().__init__()
            self.by = by

    def __init__(self) -> None:
        super().__init__(id="field", compact=True, select_on_focus=False)
        self.cursor_blink = False
        self.field: Field | None = None

    def render_line(self, y: int) -> Strip:
        return safe(super().render_line(y))

    def action_cursor_left(self, select: bool = False) -> None:
        if self.field and options(self.field):
            self.post_message(self.Turned(-1))
        else:
            super().action_cursor_left(select)

    def action_cursor_right(self, select: bool = False) -> None:
        if self.field and options(self.field):
            self.post_message(self.Turned(1))
        else:
            super().action_cursor_right(select)


class FormLines(LineList, can_focus=False):
    """The drawn rows. The current one is marked by its label: the input lies over the rest."""

    def is_selected(self, index: int) -> bool:
        return False
