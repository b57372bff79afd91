"""Values on their way out: to the terminal for a while, or to a descriptor; nowhere else."""

from __future__ import annotations

import contextlib
import os
import select
import shutil
import sys
import time
from collections.abc import Callable, Iterator, Sequence
from datetime import UTC, datetime
from typing import TYPE_CHECKING

from binder.envelope.secret_value import SecretValue
from binder.errors import FileError, RequestError
from binder.text import visible, visible_lines

if TYPE_CHECKING:
    from binder.envelope.one_time import OneTimeCodes

SHOWN_S = 20
_NEW_SHOWN_S = 300
_ASIDE, _BACK = "\x1b[?1049h\x1b[H\x1b[2J", "\x1b[H\x1b[2J\x1b[?1049l"  # xterm's second screen
_ROWS_AROUND = 4  # caption, blank, blank, what to press


def require_outlet(to_fd: int | None) -> None:
    """Raises RequestError when a value could not be given; asked before anything is logged."""
    if to_fd is None:
        if not sys.stdout.isatty():
            raise RequestError(
                "standard output is no terminal, and a value goes nowhere else unasked; "
                "--to-fd N writes it to a descriptor"
            )
        return
    try:
        os.write(to_fd, b"")
    except OSError as error:
        raise RequestError(f"descriptor {to_fd}: cannot be written: {error.strerror}") from error


def write(value: SecretValue, to_fd: int) -> None:
    """The value as it is, without a line end. Raises FileError."""
    try:
        with os.fdopen(to_fd, "wb", closefd=False) as out:
            out.write(value.expose().encode())
    except OSError as error:
        reason = error.strerror
    else:
        return
    raise FileError(f"descriptor {to_fd}: cannot be written: {reason}")


def show(caption: str, *values: SecretValue, seconds: int = SHOWN_S) -> None:
    """Values on the terminal, a page at a time, each until Enter or for so long.

    On the terminal's second screen: afterwards they are neither on the first nor in what can be
    scrolled back to. A terminal without one keeps them, and the person is told.
    """
    with _aside() as erased:
        pages = _pages(values)
        for number, page in enumerate(pages, 1):
            _draw(caption, page, _ending(erased, seconds, number < len(pages)))
            if erased:
                _wait_for_enter(seconds)


def show_codes(
    caption: str, codes: OneTimeCodes, now: Callable[[], datetime] = lambda: datetime.now(UTC)
) -> None:
    """One-time codes as they change, each with the seconds it is still good for."""
    with _aside() as erased:
        ends_at = time.monotonic() + max(SHOWN_S, 2 * codes.period_s)
        while True:
            code = codes.at(now())
            good = SecretValue(f"{code.value.expose()}   good for {code.seconds_left} s")
            left_s = round(ends_at - time.monotonic())
            _draw(caption, [good], _ending(erased, left_s, False))
            if not erased or left_s <= 0 or _wait_for_enter(1):
                return


def show_new(value: SecretValue, caption: str, to_fd: int | None) -> None:
    """A passphrase that was made for somebody, for as long as it takes to write it down."""
    if to_fd is not None:
        write(value, to_fd)
        return
    show(f"{caption}: write it down now, it is not shown again", value, seconds=_NEW_SHOWN_S)


def _ending(erased: bool, seconds: int, more: bool) -> str:
    if not erased:
        return "This terminal cannot take it back: clear the screen and what was scrolled off it."
    return f"Enter: {'next page' if more else 'take it away'}; else it goes in {seconds} s"


@contextlib.contextmanager
def _aside() -> Iterator[bool]:
    """Whether what is shown inside is gone afterwards, also when Ctrl-C ends it."""
    erased = os.environ.get("TERM", "dumb") != "dumb"
    try:
        if erased:
            _put(_ASIDE)
        yield erased
    finally:
        if erased:
            _put(_BACK)


def _put(text: str) -> None:
    sys.stdout.write(text)
    sys.stdout.flush()


def _draw(caption: str, page: Sequence[SecretValue], ending: str) -> None:
    home = "\x1b[H\x1b[J" if os.environ.get("TERM", "dumb") != "dumb" else ""
    _put(f"{home}{visible(caption)}\n\n")
    for line in page:
        _put(f"{line.expose()}\n")
    _put(f"\n{ending}\n")


def _pages(values: Sequence[SecretValue]) -> list[list[SecretValue]]:
    """The values harmless to a terminal, in pages that fit its screen."""
    columns, rows = shutil.get_terminal_size()
    lines = [line for value in values for line in _lines(value, columns)]
    height = max(rows - _ROWS_AROUND - 1, 1)
    return [lines[at : at + height] for at in range(0, len(lines), height)]


def _lines(value: SecretValue, columns: int) -> list[SecretValue]:
    lines = [SecretValue(line) for line in visible_lines(value.expose()).split("\n")]
    return [
        SecretValue(line.expose()[at : at + columns])
        for line in lines
        for at in range(0, max(len(line.expose()), 1), columns)
    ]


def _wait_for_enter(seconds: float) -> bool:
    """Whether Enter was pressed meanwhile."""
    if not sys.stdin.isatty():
        time.sleep(seconds)
        return False
    if not select.select([sys.stdin], [], [], seconds)[0]:
        return False
    os.read(sys.stdin.fileno(), 4096)
    return True
