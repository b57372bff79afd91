"""Asking for a passphrase or a value: what is typed is not shown, and nobody else is told it."""

from __future__ import annotations

from collections.abc import Callable
from typing import ClassVar

from textual import events
from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import Vertical
from textual.content import Content
from textual.message import Message
from textual.screen import ModalScreen
from textual.strip import Strip
from textual.widget import Widget
from textual.widgets import Static

from binder.envelope.secret_value import SecretValue
from tui.app.ask import plain
from tui.app.lines import drawn, line

_MOST = 65_536


class UnseenField(Widget, can_focus=True):
    """Takes keys and shows a dot for each. No input of Textual's: those tell what they hold.

    What is pasted may have several lines; `down` starts one where `several_lines`.
    """

    DEFAULT_CSS = "UnseenField { height: 1; width: 1fr; }"

    class Entered(Message):
        """Enter was pressed; `take` gives what was typed."""

    def __init__(self, *, several_lines: bool) -> None:
        super().__init__(id="unseen")
        self.several_lines = several_lines
        self._typed: list[SecretValue] = []

    def take(self) -> SecretValue:
        """What was typed, which is then forgotten here."""
        typed = SecretValue("".join(part.expose() for part in self._typed))
        self.forget()
        return typed

    def forget(self) -> None:
        for part in self._typed:
            part.forget()
        self._typed.clear()
        self.refresh()

    def on_key(self, event: events.Key) -> None:
        match event.key:
            case "enter":
                self.post_message(self.Entered())
            case "backspace":
                if self._typed:
                    self._typed.pop().forget()
            case "ctrl+u":
                self.forget()
            case "down" if self.several_lines:
                self._add("\n")
            case _ if event.is_printable and event.character:
                self._add(event.character)
            case _:
                return
        event.stop()
        event.prevent_default()
        self.refresh()

    def on_paste(self, event: events.Paste) -> None:
        text = event.text.replace("\r\n", "\n").replace("\r", "\n")
        for character in text if self.several_lines else text.strip("\n").split("\n")[0]:
            self._add(character)
        event.stop()
        event.prevent_default()
        self.refresh()

    def _add(self, character: str) -> None:
        if len(self._typed) < _MOST:
            self._typed.append(SecretValue(character))

    def render_line(self, y: int) -> Strip:
        width, count = self.size.width, len(self._typed)
        room = max(width - 12, 1)
        dots = "•" * min(count, room)
        more = f" {count}" if count > room else ""
        return drawn(line("> ", dots, ("▏", "strong"), (more, "label")), width)


class AskUnseen(ModalScreen[SecretValue], inherit_bindings=False):
    """A question whose answer is not shown; None when it was left.

    `says` stands under the question: what was wrong last time, or advice. While `wait` gives a
    sentence it stands there instead, and Enter does nothing.
    """

    AUTO_FOCUS = "#unseen"
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("escape", "refuse", show=False),
        Binding("ctrl+c", "leave", show=False, priority=True),
    ]

    def __init__(
        self,
        question: str,
        says: str = "",
        *,
        wait: Callable[[], str] = lambda: "",
        several_lines: bool = False,
    ) -> None:
        super().__init__()
        self.question = question
        self.says = says
        self.wait = wait
        self.several_lines = several_lines

    def compose(self) -> ComposeResult:
        with Vertical(id="question"):
            yield Static(plain(self.question), id="says")
            yield Static(plain(self.wait() or self.says), id="more")
            yield UnseenField(several_lines=self.several_lines)
            new_line = "   Down a new line" if self.several_lines else ""
            yield Static(Content(f"Enter takes it   Ctrl+U clears{new_line}   Esc leaves"))

    def on_mount(self) -> None:
        if self.wait():
            self.set_interval(0.5, self.show_wait)

    def show_wait(self) -> None:
        self.query_one("#more", Static).update(plain(self.wait() or self.says))

    def on_unseen_field_entered(self) -> None:
        if self.wait():
            self.show_wait()
        else:
            self.dismiss(self.query_one(UnseenField).take())

    def on_unmount(self) -> None:
        for field in self.query(UnseenField):
            field.forget()

    def action_refuse(self) -> None:
        self.dismiss(None)

    def action_leave(self) -> None:
        self.app.exit(0)
