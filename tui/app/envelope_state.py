"""Whether this terminal holds the envelope open, and until when."""

from __future__ import annotations

from collections.abc import Callable
from datetime import datetime, timedelta
from typing import TYPE_CHECKING, Final

from binder.envelope import has_envelope
from binder.file import BinderFile
from tui.app.lines import Part

if TYPE_CHECKING:
    from binder.envelope.opened import Envelope

IDLE: Final = timedelta(minutes=5)  # without a key, and it is sealed
_TOLD: Final = timedelta(minutes=1)  # before that it is told how long it still stays open
_MOST_DELAY_S: Final = 60


class EnvelopeState:
    """The open envelope of the open binder, if any. It is sealed after `IDLE` without a key.

    Times are taken from the clock on the wall: a computer that was asleep wakes up sealed.
    """

    def __init__(self, clock: Callable[[], datetime]) -> None:
        self.clock = clock
        self._open: Envelope | None = None
        self._touched_at = clock()

    @property
    def open(self) -> Envelope | None:
        """None when it is sealed."""
        if self._open is not None and not self._open.is_open:
            self._open = None
        return self._open

    def opened(self, envelope: Envelope) -> None:
        """Hold an envelope that was opened just now."""
        self.seal()
        self._open = envelope
        self._touched_at = self.clock()

    def seal(self) -> None:
        """Forget the keys."""
        if self._open is not None:
            self._open.seal()
            self._open = None

    def touch(self) -> None:
        """A key was pressed. One that comes too late does not keep it open."""
        if not self.seal_when_idle():
            self._touched_at = self.clock()

    def seal_when_idle(self) -> bool:
        """Seal it when no key was pressed for long; whether it was sealed by this."""
        if self.open is None or abs(self.clock() - self._touched_at) < IDLE:
            return False
        self.seal()
        return True

    def parts(self, binder: BinderFile) -> tuple[Part, ...]:
        """What the top line tells; nothing when the binder has no envelope."""
        if self.open is None:
            return (Part("envelope sealed", "label"),) if has_envelope(binder) else ()
        left = IDLE - abs(self.clock() - self._touched_at)
        if left > _TOLD:
            return (Part("envelope open", "warn"),)
        seconds = max(round(left.total_seconds()), 0)
        return (Part(f"envelope open {seconds // 60}:{seconds % 60:02d}", "warn"),)


def must_wait(binder: BinderFile, now: datetime) -> str:
    """Why no passphrase is taken yet, after some that did not open it; empty when one is.

    1, 2, 4, ... up to 60 s after each failure in a row, whoever it was. It slows down whoever
    stands at this terminal; against a copied file only the passphrase's strength helps.
    """
    from binder.envelope import reports

    refused = reports.refused_since_opening(binder)
    if not refused.count:
        return ""
    delay_s = min(2 ** min(refused.count - 1, 10), _MOST_DELAY_S)
    since_s = (now - datetime.fromisoformat(refused.last_at)).total_seconds()
    if not 0 <= since_s < delay_s:  # a moment to come is another machine's clock
        return ""
    tries = "1 passphrase" if refused.count == 1 else f"{refused.count} passphrases in a row"
    return f"! {tries} did not open it; the next is taken in {round(delay_s - since_s) or 1} s"
