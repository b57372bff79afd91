"""Secrets on a real terminal: what is typed is not shown, and what is shown does not stay."""

from __future__ import annotations

import contextlib
import fcntl
import os
import pty
import re
import select
import struct
import sys
import termios
import time
from collections.abc import Callable, Iterator
from pathlib import Path

import pyte
import pytest

from tests.tui.envelope_desk import PASSWORD, PHRASE, PIN, SEED, Desk, make_binder

Run = Callable[..., "Terminal"]
SECOND_SCREEN, FIRST_SCREEN = "\x1b[?1049h", "\x1b[?1049l"  # xterm, and those that follow it


class Terminal:
    """A program on a terminal of 24 lines of 80, and a person who types."""

    def __init__(self, *command: str, term: str = "xterm", drawn: bool = False) -> None:
        self.seen = ""
        self.screen = pyte.Screen(80, 24)  # what stands there: only cells that differ are sent
        self._stream = pyte.ByteStream(self.screen) if drawn else None
        self.process, self.terminal = pty.fork()
        if self.process == 0:
            os.environ |= {"TERM": term, "BINDER_WHO": "M. Osei"}
            os.environ.pop("BINDER_PASSPHRASE_FILE", None)
            fcntl.ioctl(0, termios.TIOCSWINSZ, struct.pack("HHHH", 24, 80, 0, 0))
            os.execv(sys.executable, [sys.executable, *command])

    def until(self, pattern: str, seconds: float = 20) -> str:
        """All that was shown, once this is there."""
        ends_at = time.monotonic() + seconds
        while not re.search(pattern, self.seen + "\n".join(self.screen.display)):
            if not self._read(ends_at - time.monotonic()):
                pytest.fail(f"{pattern!r} did not appear in: {self.seen!r}")
        return self.seen

    def _read(self, seconds: float) -> bool:
        if not select.select([self.terminal], [], [], max(seconds, 0))[0]:
            return False
        try:
            data = os.read(self.terminal, 65_536)
        except OSError:  # Linux: the other end is closed
            return False
        self.seen += data.decode(errors="replace")
        if self._stream:
            self._stream.feed(data)
        return bool(data)

    def type(self, text: str) -> None:
        os.write(self.terminal, text.encode())

    def ended(self) -> int:
        """The exit status, once all was read."""
        while self._read(20):
            pass
        _, status = os.waitpid(self.process, 0)
        self.process = 0
        return os.waitstatus_to_exitcode(status)

    def close(self) -> None:
        if self.process:
            with contextlib.suppress(ProcessLookupError):
                os.kill(self.process, 9)
            os.waitpid(self.process, 0)
        os.close(self.terminal)


@pytest.fixture
def terminal() -> Iterator[Run]:
    """`terminal("reveal", path, ...)`: a command started on a terminal."""
    started: list[Terminal] = []

    def start(*words: str | Path, term: str = "xterm") -> Terminal:
        started.append(Terminal("-m", "tui.main", *map(str, words), term=term))
        return started[-1]

    yield start
    for one in started:
        one.close()


@pytest.fixture
def desk(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> Desk:
    make_binder(tmp_path / "quillmere.binder")
    return Desk(tmp_path / "quillmere.binder", capsys)


def test_the_passphrase_is_not_echoed_and_the_value_leaves_with_enter(
    desk: Desk, terminal: Run
) -> None:
    desk.put(PIN, "4082-6617")
    shown = terminal("reveal", desk.path, PIN, "--why", "the carrier asks")
    shown.until("passphrase: ")
    shown.type(f"{PHRASE}\n")
    shown.until("it goes in 20 s")
    for name in ("cmdline", "environ"):
        held = Path(f"/proc/{shown.process}/{name}").read_bytes()
        assert b"4082-6617" not in held
        assert PHRASE.encode() not in held
    assert "reveal" in desk.report("log", PIN).out  # written down while it stands there
    shown.type("\n")
    assert shown.ended() == 0
    assert PHRASE not in shown.seen
    first, _, rest = shown.seen.partition(SECOND_SCREEN)
    on_second, _, last = rest.partition(FIRST_SCREEN)
    assert "4082-6617" in on_second
    assert on_second.endswith("\x1b[H\x1b[2J")
    assert "4082-6617" not in first + last
    assert "as shown to M. Osei" in last


def test_a_value_goes_by_itself_when_its_time_is_over() -> None:
    code = (
        "from tui.reveal import show; from binder.envelope.secret_value import SecretValue;"
        "show('fibre account PIN', SecretValue('4082'), seconds=1)"
    )
    shown = Terminal("-c", code)
    try:
        shown.until("4082")
        start = time.monotonic()
        shown.until(re.escape(FIRST_SCREEN), 5)
        assert 0.5 < time.monotonic() - start < 3
        assert shown.ended() == 0
    finally:
        shown.close()


def test_ctrl_c_takes_it_away_as_well(desk: Desk, terminal: Run) -> None:
    desk.put(PIN, "4082-6617")
    shown = terminal("reveal", desk.path, PIN, "--why", "call")
    shown.until("passphrase: ")
    shown.type(f"{PHRASE}\n")
    shown.until("it goes in 20 s")
    shown.type("\x03")
    assert shown.ended() == 0
    _, back, after = shown.seen.partition(FIRST_SCREEN)
    assert back
    assert "4082-6617" not in after


def test_a_long_value_is_shown_page_by_page(desk: Desk, terminal: Run) -> None:
    lines = [f"line {number:02} of the key" for number in range(1, 41)]
    desk.put(PASSWORD, "\n".join(lines))
    shown = terminal("reveal", desk.path, PASSWORD, "--why", "call")
    shown.until("passphrase: ")
    shown.type(f"{PHRASE}\n")
    shown.until("Enter: next page")
    assert "line 19" in shown.seen
    assert "line 20" not in shown.seen
    for page in ("line 38", "line 40"):
        shown.type("\n")
        shown.until(page)
    shown.type("\n")
    assert shown.ended() == 0


def test_no_control_in_a_value_reaches_the_terminal(desk: Desk, terminal: Run) -> None:
    # ECMA-48 (5th ed.): OSC 52 as many terminals take it would fill the clipboard
    desk.put(PASSWORD, "a\x1b]52;c;cHduZWQ=\x07b\u202ec")
    shown = terminal("reveal", desk.path, PASSWORD, "--why", "call")
    shown.until("passphrase: ")
    shown.type(f"{PHRASE}\n")
    shown.until("it goes in 20 s")
    assert "\x1b]52" not in shown.seen
    assert "\u202e" not in shown.seen


def test_codes_are_shown_with_the_seconds_they_are_good_for(desk: Desk, terminal: Run) -> None:
    desk.put(SEED, "GEZDGNBVGY3TQOJQGEZDGNBVGY3TQOJQ")
    shown = terminal("reveal", desk.path, SEED, "--why", "login")
    shown.until("passphrase: ")
    shown.type(f"{PHRASE}\n")
    shown.until(r"\b\d{6}   good for \d+ s(.|\n)*\b\d{6}   good for \d+ s")
    left = [int(number) for number in re.findall(r"good for (\d+) s", shown.seen)]
    assert left[1] in (left[0] - 1, 30)
    shown.type("\n")
    assert shown.ended() == 0
    assert "GEZDGNBV" not in shown.seen


def test_a_terminal_that_cannot_take_it_back_says_so(desk: Desk, terminal: Run) -> None:
    desk.put(PIN, "4082-6617")
    shown = terminal("reveal", desk.path, PIN, "--why", "call", term="dumb")
    shown.until("passphrase: ")
    shown.type(f"{PHRASE}\n")
    assert shown.ended() == 0
    assert "\x1b" not in shown.seen
    assert "4082-6617" in shown.seen
    assert "clear the screen" in shown.seen


def test_a_value_typed_is_not_echoed_and_a_slip_keeps_nothing(desk: Desk, terminal: Run) -> None:
    for second, status in (("4082-6671", 2), ("4082-6617", 0)):
        asked = terminal("envelope", "put", desk.path, PIN)
        asked.until("passphrase: ")
        asked.type(f"{PHRASE}\n")
        asked.until(f"value of {PIN}: ")
        asked.type("4082-6617\n")
        asked.until("again: ")
        asked.type(f"{second}\n")
        assert asked.ended() == status
        assert "4082" not in asked.seen
    assert desk.reveal(PIN).written == "4082-6617"


def test_whoever_sets_a_passphrase_is_told_what_makes_a_good_one(
    tmp_path: Path, terminal: Run, capsys: pytest.CaptureFixture[str]
) -> None:
    # NIST SP 800-63B-4, 3.1.1.2: length, no rules of composition, no change by the calendar
    harrow = Desk(tmp_path / "harrow.binder", capsys)
    harrow("new", "--client", "Harrow Bakery", phrase=None)
    asked = terminal("envelope", "make", harrow.path, "shop")
    asked.until("new passphrase of shop: ")
    for advice in ("15 characters", "longer is better", "need not change by the calendar"):
        assert advice in asked.seen
    asked.type(f"{PHRASE}\n")
    asked.until("again: ")
    asked.type(f"{PHRASE}\n")
    assert asked.ended() == 0
    assert PHRASE not in asked.seen
    assert harrow("envelope", "check").status == 0
