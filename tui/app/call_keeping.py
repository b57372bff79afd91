"""What the app does so that a call writes its own record while it runs."""

from __future__ import annotations

from collections.abc import Iterable
from typing import TYPE_CHECKING

from tui.app.envelope_keeping import EnvelopeKeeping
from tui.app.lines import Part

if TYPE_CHECKING:
    from binder.call import Call, How
    from binder.edit import Editor


class CallKeeping(EnvelopeKeeping):
    """An app in which a call can run: its clock, and what is attached to it.

    What is opened is attached after the screen stands, so that nobody waits for the disk.
    """

    def __init__(self, **settings: object) -> None:
        super().__init__(**settings)  # type: ignore[arg-type]
        self.call: Call | None = None
        self.calls_met: set[int] = set()  # in this session: none of them is offered again
        self.left_open: dict[str, str] = {}  # by file: calls of this session that still run
        self._to_attach: dict[How, set[int]] = {}

    @property
    def who_is_here(self) -> str:
        raise NotImplementedError

    @property
    def editor(self) -> Editor:
        raise NotImplementedError

    def look_for_call(self) -> None:
        """Read again which call this person has open in the open binder."""
        from binder.call import open_call

        may = self.has_binder and not self.read_only
        self.call = open_call(self.binder, self.who_is_here) if may else None
        if may:
            name = self.binder.path.stem
            self.left_open.pop(name, None)
            if self.call is not None:
                self.left_open[name] = self.call.name

    def offer_call(self) -> None:
        """Tell of a call that was open before this session: it goes on, or can be closed."""
        self.look_for_call()
        if self.call is not None and self.call.id not in self.calls_met:
            from tui.app.calling import goes_on

            self.calls_met.add(self.call.id)
            self.say(goes_on(self, self.call))  # type: ignore[arg-type]

    def attach_to_call(self, records: Iterable[int], how: How) -> None:
        """Note what was opened, traced or revealed; nothing when no call runs."""
        if self.call is not None:
            self._to_attach.setdefault(how, set()).update(records)
            self.call_after_refresh(self.write_attached)

    def write_attached(self) -> None:
        """Write down what was noted."""
        waiting, self._to_attach = self._to_attach, {}
        if self.call is None or not self.has_binder:
            return
        from binder.call import attach, attach_changes

        with self.telling():
            for how, records in waiting.items():
                attach(self.editor, self.call, records, how)
            attach_changes(self.editor, self.call)

    def told_at_the_end(self) -> str:
        """That calls of this session still run, for who leaves; nothing when none does."""
        calls = [f"{name} ({binder})" for binder, name in self.left_open.items()]
        if not calls:
            return ""
        goes = "goes" if len(calls) == 1 else "go"
        return f"still open: {', '.join(calls)}; {goes} on at the next start, c there closes it"

    def tick(self) -> None:
        """The clock of the call too."""
        super().tick()
        if self.call is not None and self.screen_stack:
            from tui.app.screen import BinderScreen

            if isinstance(self.screen, BinderScreen) and self.screen.is_standing:
                self.screen.show_clock()

    def clock_parts(self) -> tuple[Part, ...]:
        """What the end of the top line tells while a call runs."""
        if self.call is None:
            return ()
        seconds = max(int((self.clock() - self.call.opened_at).total_seconds()), 0)
        hours, minutes = divmod(seconds // 60, 60)
        told = f"{hours}:{minutes:02d}" if hours else f"{minutes:02d}"
        return Part("| ", "label"), Part(f"{self.call.form} {told}:{seconds % 60:02d}", "here")
