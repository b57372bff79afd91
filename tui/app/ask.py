"""Questions: yes or no, one of several, a line of text."""

from __future__ import annotations

from collections.abc import Callable, Hashable, Sequence
from typing import ClassVar

from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import Vertical
from textual.content import Content
from textual.screen import ModalScreen
from textual.strip import Strip
from textual.widgets import Input, Static

from binder.text import visible_lines
from tui.app.line_list import LineList, Rows
from tui.app.lines import Line, line, safe


def plain(text: str) -> Content:
    """Stored text for a widget of Textual's: neutralised, and no markup read out of it."""
    return Content(visible_lines(text))


class Ask(ModalScreen[bool], inherit_bindings=False):
    """A question answered with y or n. What it is about can be walked through."""

    AUTO_FOCUS = "#list"
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("y", "answer(True)", show=False),
        Binding("n,escape,q,backspace", "answer(False)", show=False),
    ]

    def __init__(self, question: str, about: Sequence[str] = ()) -> None:
        super().__init__()
        self.question = question
        self.about = about

    def compose(self) -> ComposeResult:
        with Vertical(id="question"):
            yield Static(plain(self.question), id="says")
            if self.about:
                yield LineList(id="list")
            yield Static(Content("y yes   n no"), id="keys")

    def on_mount(self) -> None:
        if self.about:
            about = self.query_one(LineList)
            about.styles.height = min(len(self.about), 12)
            about.show(Rows([(at, line(f" {text}")) for at, text in enumerate(self.about)]))

    def action_answer(self, yes: bool) -> None:
        self.dismiss(yes)


class Choose(ModalScreen[Hashable], inherit_bindings=False):
    """One of several things, chosen with the arrow keys; None when left."""

    AUTO_FOCUS = "#list"
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("escape,q,backspace", "leave", show=False),
    ]

    def __init__(self, question: str, rows: Sequence[tuple[Hashable, Line]]) -> None:
        super().__init__()
        self.question = question
        self.rows = rows

    def compose(self) -> ComposeResult:
        with Vertical(id="question"):
            yield Static(plain(self.question), id="says")
            yield LineList(id="list")
            yield Static(Content("Enter takes it   Esc leaves"), id="keys")

    def on_mount(self) -> None:
        choices = self.query_one(LineList)
        choices.styles.height = min(len(self.rows), 14)
        choices.show(Rows(self.rows))

    def on_line_list_chosen(self, event: LineList.Chosen) -> None:
        self.dismiss(event.source.key)

    def action_leave(self) -> None:
        self.dismiss(None)


class AskLine(ModalScreen[str], inherit_bindings=False):
    """A question answered with a line of text; None when left. `says` stands under it.

    `typed` is told of what stands there, each time it changes.
    """

    AUTO_FOCUS = "#answer"
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("escape", "refuse", show=False),
        Binding("ctrl+c", "leave", show=False, priority=True),
    ]

    def __init__(
        self,
        question: str,
        says: str = "",
        *,
        start: str = "",
        may_be_empty: bool = False,
        typed: Callable[[str], None] | None = None,
        keys: str = "Enter takes it   Esc leaves",
    ) -> None:
        super().__init__()
        self.question = question
        self.says = says
        self.start = start
        self.may_be_empty = may_be_empty
        self.typed = typed
        self.keys = keys

    def compose(self) -> ComposeResult:
        with Vertical(id="question"):
            yield Static(plain(self.question), id="says")
            if self.says:
                yield Static(plain(self.says), id="more")
            yield Answer(self.start)
            yield Static(plain(self.keys), id="keys")

    def on_input_changed(self, event: Input.Changed) -> None:
        if self.typed and event.value != self.start:
            self.typed(event.value)

    def on_input_submitted(self, event: Input.Submitted) -> None:
        if event.value.strip() or self.may_be_empty:
            self.dismiss(event.value.strip())

    def action_refuse(self) -> None:
        self.dismiss(None)

    def action_leave(self) -> None:
        self.app.exit(0)


class AskLineOfKind(AskLine):
    """A line of text and what kind of thing it tells; Up and Down turn through the kinds.

    What stands there from the start is a proposal: Enter takes it, typing replaces it.
    """

    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("down", "turn(1)", show=False),
        Binding("up", "turn(-1)", show=False),
    ]

    def __init__(self, question: str, says: str, kinds: Sequence[str], *, start: str = "") -> None:
        super().__init__(question, says, start=start)
        self.kinds = kinds
        self.kind = kinds[0]

    def compose(self) -> ComposeResult:
        with Vertical(id="question"):
            yield Static(plain(self.question), id="says")
            yield Static(plain(self.says), id="more")
            yield Answer(self.start)
            yield Static(self._told(), id="kind")
            yield Static(Content("Enter takes it   Up Down turn the kind   Esc leaves"), id="keys")

    def on_mount(self) -> None:
        self.query_one(Answer).select_all()

    def _told(self) -> Content:
        return plain(f"Kind: {self.kind}")

    def action_turn(self, by: int) -> None:
        self.kind = self.kinds[(self.kinds.index(self.kind) + by) % len(self.kinds)]
        self.query_one("#kind", Static).update(self._told())


class Answer(Input):
    """The line in which an answer is typed."""

    def __init__(self, start: str) -> None:
        super().__init__(start, id="answer", compact=True, select_on_focus=False)
        self.cursor_blink = False

    def render_line(self, y: int) -> Strip:
        return safe(super().render_line(y))
