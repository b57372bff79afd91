"""A question answered with a line of text, with what it may be offered under it while typing."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import ClassVar

from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import Vertical
from textual.content import Content
from textual.screen import ModalScreen
from textual.widgets import Input, Static

from tui.app.ask import Answer, plain
from tui.app.line_list import LineList, Rows
from tui.app.lines import fit, line, width_of
from tui.app.suggestions import Suggestion

_MOST_ROWS = 8

Offers = Callable[[str], Sequence[Suggestion]]
Check = Callable[[str], str]  # what is wrong with an answer; nothing when it will do


class AskOffered(ModalScreen[str | None], inherit_bindings=False):
    """None when left. An answer that will not do is told of, and stands to be mended."""

    AUTO_FOCUS = "#answer"
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("escape", "refuse", show=False),
        Binding("down", "step(1)", show=False, priority=True),
        Binding("up", "step(-1)", show=False, priority=True),
        Binding("tab", "take", show=False, priority=True),
        Binding("ctrl+c", "leave", show=False, priority=True),
    ]

    def __init__(
        self,
        question: str,
        says: str = "",
        *,
        start: str = "",
        offers: Offers = lambda text: (),
        check: Check = lambda text: "",
    ) -> None:
        super().__init__()
        self.question = question
        self.says = says
        self.start = start
        self.offers = offers
        self.check = check
        self.offered: tuple[Suggestion, ...] = ()
        self.has_walked = False  # through what is offered: then Enter takes it, typed or not

    def compose(self) -> ComposeResult:
        with Vertical(id="question"):
            yield Static(plain(self.question), id="says")
            yield Answer(self.start)
            yield LineList(id="list")
            yield Static(plain(self.says), id="more")
            yield Static(Content("Enter takes it   Tab fills in   Esc back"), id="keys")

    def on_mount(self) -> None:
        self.query_one(LineList).can_focus = False
        self.offer()

    @property
    def typed(self) -> str:
        return self.query_one(Answer).value.strip()

    def offer(self) -> None:
        """Show what begins as what is typed."""
        self.offered = tuple(self.offers(self.typed))
        texts = max([width_of(one.text) for one in self.offered], default=0)
        rows = [
            (one.text, line(f" {fit(one.text, texts)}  ", (one.note, "label")))
            for one in self.offered
        ]
        choices = self.query_one(LineList)
        choices.cursor = 0
        choices.styles.display = "block" if rows else "none"
        choices.styles.height = min(len(rows), _MOST_ROWS)
        choices.show(Rows(rows))

    def tell(self, says: str, *, bad: bool = False) -> None:
        self.query_one("#more", Static).update(plain(f"! {says}" if bad else says))

    def on_input_changed(self, event: Input.Changed) -> None:
        self.has_walked = False
        self.tell(self.says)
        self.offer()

    @property
    def marked(self) -> str:
        """The answer that Enter means: what is typed where it is whole, else what is marked."""
        if not self.typed and not self.has_walked:
            return ""
        is_whole = any(one.text.casefold() == self.typed.casefold() for one in self.offered)
        return self.typed if is_whole or not self.offered else str(self.query_one(LineList).key)

    def on_input_submitted(self, event: Input.Submitted) -> None:
        answer = self.marked
        fault = self.check(answer)
        if fault:
            self.tell(fault, bad=True)
        else:
            self.dismiss(answer)

    def on_line_list_chosen(self, event: LineList.Chosen) -> None:
        self.action_take()

    def action_take(self) -> None:
        if self.offered:
            self.has_walked = True
            box = self.query_one(Answer)
            box.value = self.marked
            box.cursor_position = len(box.value)

    def action_step(self, by: int) -> None:
        self.has_walked = True
        self.query_one(LineList).action_step(by)

    def action_refuse(self) -> None:
        self.dismiss(None)

    def action_leave(self) -> None:
        self.app.exit(0)
