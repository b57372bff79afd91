"""Text of several lines, edited on a screen of its own."""

from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING, ClassVar, cast

from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.screen import Screen
from textual.strip import Strip
from textual.widgets import TextArea

from binder.errors import RequestError
from tui.app.line_list import Drawing
from tui.app.lines import line, safe
from tui.app.outside_editor import edited_outside

if TYPE_CHECKING:
    from tui.app.binder_app import BinderApp


class SafeTextArea(TextArea):
    """A text area that sends no control character of the text to the terminal."""

    def render_line(self, y: int) -> Strip:
        return safe(super().render_line(y))


class TextScreen(Screen[str | None], inherit_bindings=False):
    """F2 and escape both take the text back to the form; None when it was not changed. F4 gives it
    to the person's own editor.

    `typed` is told of the text each time it changes.
    """

    AUTO_FOCUS = "#text"
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("f2,escape", "done", show=False, priority=True),
        Binding("f4", "outside", show=False, priority=True),
    ]

    def __init__(self, label: str, text: str, typed: Callable[[str], None] | None = None) -> None:
        super().__init__()
        self.typed = typed
        self.label = label
        self.text = text
        self.loaded = text

    def compose(self) -> ComposeResult:
        yield Drawing(id="top")
        area = SafeTextArea(self.text, id="text", compact=True, soft_wrap=True)
        area.cursor_blink = False
        yield area
        yield Drawing(id="bottom")

    def on_mount(self) -> None:
        area = self.query_one("#text", TextArea)
        self.loaded = area.text  # odd line ends are evened out: that alone is no change
        area.move_cursor(area.document.end)
        self.query_one("#top", Drawing).show([line((f" {self.label}", "strong"))])
        self.tell()

    def tell(self, wrong: str = "") -> None:
        """The keys in the bottom line, or what went wrong."""
        keys = line((" Esc", "strong"), (" or", "label"), (" F2", "strong"),
                    (" takes it into the form (saved with the form)  ", "label"),
                    ("F4", "strong"), (" your editor", "label"))  # fmt: skip
        told = line((f"! {wrong}", "bad")) if wrong else keys
        self.query_one("#bottom", Drawing).show([told])

    def action_outside(self) -> None:
        area = self.query_one("#text", TextArea)
        try:
            text = edited_outside(cast("BinderApp", self.app), self.label, area.text)
        except RequestError as error:
            self.tell(str(error))
            return
        area.text = text
        area.move_cursor(area.document.end)
        self.tell()

    def on_text_area_changed(self, event: TextArea.Changed) -> None:
        if self.typed and event.text_area.text != self.loaded:
            self.typed(event.text_area.text)

    def action_done(self) -> None:
        now = self.query_one("#text", TextArea).text
        self.dismiss(None if now == self.loaded else now)
