"""A program at a pseudo-terminal, its output read by an independent terminal emulator (pyte)."""

from __future__ import annotations

import os
import select
import signal
from collections.abc import Callable, Mapping, Sequence
from time import monotonic, perf_counter

import pyte
from ptyprocess import PtyProcess

PATIENCE_S = 20.0
QUIET_S = 0.15
KEYS = {
    "enter": "\r", "tab": "\t", "esc": "\x1b", "up": "\x1b[A", "down": "\x1b[B", "right": "\x1b[C",
    "left": "\x1b[D", "f2": "\x1bOQ", "f4": "\x1bOS", "pgdn": "\x1b[6~", "backspace": "\x7f",
    **{f"ctrl+{letter}": chr(ord(letter) - 96) for letter in "abcdefghijklmnopqrstuvwxyz"},
}  # fmt: skip


class PseudoTerminal:
    """What a person has before them: keys to press and a screen to read."""

    def __init__(
        self, argv: Sequence[str], env: Mapping[str, str], *, columns: int = 80, lines: int = 24
    ) -> None:
        self.screen = pyte.Screen(columns, lines)
        self._stream = pyte.ByteStream(self.screen)
        self._process = PtyProcess.spawn(list(argv), env=dict(env), dimensions=(lines, columns))
        self.received = 0  # bytes, so far
        self.history = b""  # those bytes
        self.last_byte_at = 0.0  # by `perf_counter`
        self.strokes = 0  # keys pressed, typed words not counted

    @property
    def lines(self) -> list[str]:
        return [line.rstrip() for line in self.screen.display]

    @property
    def text(self) -> str:
        return "\n".join(self.lines)

    def press(self, *keys: str) -> None:
        """Press keys by name, or single letters; each counts as one stroke."""
        for key in keys:
            self._process.write(KEYS.get(key, key).encode())
            self.strokes += 1

    def type(self, words: str) -> None:
        """Type words, which count as no stroke."""
        self._process.write(words.encode())

    def read(self, wait_s: float = QUIET_S) -> int:
        """Take what comes until nothing has come for a while; gives how many bytes came."""
        before = self.received
        while select.select([self._process.fd], [], [], wait_s)[0]:
            try:
                data = os.read(self._process.fd, 65536)
            except OSError:  # the other end is gone
                break
            if not data:
                break
            self.last_byte_at = perf_counter()
            self.received += len(data)
            self.history += data
            self._stream.feed(data)
        return self.received - before

    def wait_for(self, sought: str | Callable[[str], bool]) -> None:
        """Wait until a text stands on the screen, or until what stands there is as asked."""
        is_there = sought if callable(sought) else lambda text: sought in text
        end = monotonic() + PATIENCE_S
        while not is_there(self.text):
            assert monotonic() < end, f"{sought!r} did not come:\n{self.text}"
            self.read(0.05)

    @property
    def pid(self) -> int:
        pid: int = self._process.pid
        return pid

    def hang_up(self) -> None:
        """The line drops: the terminal is gone from under the program."""
        self._process.close(force=False)

    def kill(self) -> None:
        """The program is ended with no chance to do anything."""
        if self._process.isalive():
            self._process.kill(signal.SIGKILL)
            self._process.wait()

    def wait_for_end(self) -> int | None:
        """Wait until the program has ended by itself; gives its exit status."""
        end = monotonic() + PATIENCE_S
        while self._process.isalive():
            assert monotonic() < end, f"it did not end:\n{self.text}"
            self.read(0.05)
        status: int | None = self._process.exitstatus
        return status
