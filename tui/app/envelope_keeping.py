"""What the app does so that nothing of the envelope is left lying about."""

from __future__ import annotations

from collections.abc import Callable
from datetime import datetime
from typing import TYPE_CHECKING, Any

from textual import events

from binder.envelope.secret_value import SecretValue
from binder.file import BinderFile
from tui.app.envelope_state import EnvelopeState
from tui.app.errands import Errands
from tui.app.lines import Part

if TYPE_CHECKING:
    from binder.envelope.keys import Work

_TICK_S = 1.0


class EnvelopeKeeping(Errands):
    """An app with an envelope: sealed when idle and when left; what it showed is taken away."""

    def __init__(self, clock: Callable[[], datetime], **settings: Any) -> None:
        super().__init__(**settings)
        self.clock = clock
        self.envelope = EnvelopeState(lambda: self.clock())
        self.envelope_work: Work | None = None  # as recommended
        self._copied_until: float | None = None
        self._told_marks: tuple[Part, ...] = ()

    @property
    def has_binder(self) -> bool:
        raise NotImplementedError

    @property
    def binder(self) -> BinderFile:
        raise NotImplementedError

    @property
    def read_only(self) -> bool:
        raise NotImplementedError

    def say(self, text: str, *, bad: bool = False) -> None:
        raise NotImplementedError

    def on_mount(self) -> None:
        self.set_interval(_TICK_S, self.tick)

    def on_unmount(self) -> None:
        self.seal_envelope()

    async def on_event(self, event: events.Event) -> None:
        if isinstance(event, events.Key | events.Paste) and not event.is_forwarded:
            self.envelope.touch()
        elif isinstance(event, events.Resize):
            self.hide_secrets()  # before it is laid out for another size
        await super().on_event(event)

    def tick(self) -> None:
        """Once a second: seal when idle, take back what was copied, tell what changed of that."""
        if not self.screen_stack:  # the app is being left
            return
        if self.envelope.seal_when_idle():
            self.hide_secrets()
            self.say("no key for 5 minutes: the envelope is sealed")
        if self._copied_until is not None and self.clock().timestamp() >= self._copied_until:
            self.clear_copy()
        marks = self.marks()
        if marks != self._told_marks:
            self._told_marks = marks
            from tui.app.screen import BinderScreen

            if isinstance(self.screen, BinderScreen) and self.screen.is_standing:
                self.screen.show_frame()

    def marks(self) -> tuple[Part, ...]:
        """What the top line of every screen tells: the envelope's state, and 'read-only'."""
        if not self.has_binder:
            return (Part("read-only", "warn"),) if self.read_only else ()
        state = self.envelope.parts(self.binder)
        if not self.read_only:
            return state
        return (*state, *((Part(" | ", "label"),) if state else ()), Part("read-only", "warn"))

    def seal_envelope(self) -> None:
        """Forget the keys, and take away what was shown and copied with them."""
        self.envelope.seal()
        self.hide_secrets()
        self.clear_copy()

    def hide_secrets(self) -> None:
        """Take every secret off the screen, now."""
        if not self.is_running or len(self.screen_stack) < 2:  # one stands over another screen
            return
        from tui.app.secret_screen import SecretScreen

        for screen in reversed(self.screen_stack):
            if isinstance(screen, SecretScreen):
                screen.hide()

    def copy_secret(self, value: SecretValue, seconds: int) -> None:
        """Send it to the terminal's clipboard; `seconds` later an empty text follows."""
        self.copy_to_clipboard(value.expose())
        self._clipboard = ""  # Textual would keep it, for pasting
        self._copied_until = self.clock().timestamp() + seconds

    def clear_copy(self) -> None:
        """Send an empty text after a secret. Whether the terminal forgets, nobody tells."""
        if self._copied_until is not None:
            self._copied_until = None
            self.copy_to_clipboard("")

    # What Textual would tell --------------------------------------------------------------

    def export_screenshot(self, *, title: str | None = None, simplify: bool = False) -> str:
        """A picture of the screen, without the secret that was on it."""
        self.hide_secrets()
        return super().export_screenshot(title=title, simplify=simplify)

    def _fatal_error(self) -> None:
        """Textual's own shows the variables of each frame: what was typed may be among them."""
        from rich.segment import Segments
        from rich.traceback import Traceback

        self.bell()
        told = self.console.render(Traceback(show_locals=False), self.console.options)
        self._exit_renderables.append(Segments(told))
        self._close_messages_no_wait()
