"""Many lines, typed or pasted: each is going to be a record."""

from __future__ import annotations

from collections.abc import Callable
from typing import ClassVar

from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.screen import Screen
from textual.timer import Timer
from textual.widgets import TextArea

from tui.app.ask import Ask
from tui.app.line_list import Drawing
from tui.app.lines import line, wrapped
from tui.app.text_screen import SafeTextArea

_MOST_ROWS = 3
_PAUSE_S = 0.3  # without a key


class LinesScreen(Screen[str | None], inherit_bindings=False):
    """F2 answers with the text, escape with None; asks when that would lose what was typed."""

    AUTO_FOCUS = "#text"
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("f2", "done", show=False, priority=True),
        Binding("escape", "drop", show=False, priority=True),
    ]

    def __init__(self, title: str, how: str, text: str = "", at: int = 0, *,
                 typed: Callable[[str], None]) -> None:  # fmt: skip
        super().__init__()
        self.title_line = title
        self.how = how
        self.text = text
        self.typed = typed  # is told of what stands there, when the typing pauses
        self._waiting: Timer | None = None
        self.at = at  # the line to stand on; 0 for the end

    def compose(self) -> ComposeResult:
        yield Drawing(id="top")
        yield Drawing(id="columns")
        area = SafeTextArea(self.text, id="text", compact=True, soft_wrap=False)
        area.tab_behavior = "indent"  # from one column to the next
        area.indent_type = "tabs"
        area.cursor_blink = False
        yield area
        yield Drawing(id="bottom")

    def on_mount(self) -> None:
        self.query_one("#top", Drawing).show([line((f" {self.title_line}", "strong"))])
        self.show_how()
        area = self.query_one("#text", TextArea)
        area.move_cursor((self.at - 1, 0) if self.at else area.document.end)
        keys = line((" F2", "strong"), (" preview ", "label"), (" Esc", "strong"),
                    (" drop ", "label"),
                    ("  columns: tab, comma or 2 blanks", "label"))  # fmt: skip
        self.query_one("#bottom", Drawing).show([keys])

    def show_how(self) -> None:
        """What the columns are, or what is wrong, in as many lines as it takes."""
        look = "bad" if self.how.startswith("!") else "label"
        rows = wrapped(self.how, self.app.size.width - 2)[:_MOST_ROWS]
        how = self.query_one("#columns", Drawing)
        how.styles.height = len(rows)
        how.show([line((f" {row}", look)) for row in rows])

    def on_resize(self) -> None:
        self.show_how()

    def on_text_area_changed(self, event: TextArea.Changed) -> None:
        if self._waiting is not None:
            self._waiting.stop()
        self._waiting = self.set_timer(_PAUSE_S, self.tell_typed)

    def tell_typed(self) -> None:
        self.typed(self.query_one("#text", TextArea).text)

    def action_done(self) -> None:
        text = self.query_one("#text", TextArea).text
        if text.strip():
            self.typed(text)
            self.dismiss(text)

    def action_drop(self) -> None:
        if not self.query_one("#text", TextArea).text.strip():
            self.dismiss(None)
            return

        def answered(yes: bool | None) -> None:
            if yes:
                self.dismiss(None)

        self.app.push_screen(Ask("Drop these lines?"), answered)
