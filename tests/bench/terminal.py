"""What the app sends over the line, and how soon: at a pseudo-terminal of 80x24, by keys alone.

The floor of every count of bytes is curses, which has sent only what differs since 1981, shown the
same pictures with the same attributes; the floor of every time is a Textual app that does no more
than the one thing.
"""

from __future__ import annotations

import json
import os
import sys
import time
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from statistics import quantiles
from typing import Any

from tests.pseudo_terminal import PseudoTerminal

CELLS = "80x24"
Picture = list[list[tuple[str, bool, bool, bool]]]  # a cell: sign, bold, underlined, reversed


@dataclass(frozen=True, slots=True)
class Count:
    """Something counted at the terminal; `goal` is the most it may be."""

    what: str
    unit: str
    ours: float
    floor: str
    floor_is: float
    goal: float


@dataclass(frozen=True, slots=True)
class Answer:
    """What came after a key: bytes, seconds to the last of them, and what then stood there."""

    bytes: int
    took_s: float
    picture: Picture


def counts(path: Path) -> list[Count]:
    """All that is counted on the binder at `path`, of 10,700 ports."""
    with _app(path) as t:
        found = _steps_and_pages(t)
        found += _typing(t)
    with _app(path) as t:
        found.append(_idle(t))
    return found


# Bytes ------------------------------------------------------------------------------------


def _steps_and_pages(t: PseudoTerminal) -> list[Count]:
    t.press("3")
    t.wait_for("PP1:02")
    steps = [_after(t, "down") for _ in range(40)]
    floor_s = _textual(_TWO_LINES, ["down"] * 40)
    found = [
        _sent("a cursor step in a list of 10,700", [steps[2:15]], 250),
        _soon("cursor step, key to last byte", steps, "Textual, two lines of a list", floor_s, 20),
    ]
    changes = [
        [_now(t), _after(t, "enter")],  # the sheet of a port
        [_now(t), _after(t, "t")],  # its trace
        [_now(t), _after(t, "q")],
        [_now(t), _after(t, "q")],
        [_now(t), _after(t, "2")],  # another divider
        [_now(t), _after(t, "slash")],
        [_now(t), _after(t, "esc")],
    ]
    t.press(":")
    t.type("racks")
    t.read()
    t.press("enter")
    t.wait_for("R2")
    changes.append([_now(t), _after(t, "enter")])  # a rack, drawn
    walk = [_after(t, "down") for _ in range(14)]
    t.press("q")
    t.read()
    worst = max(changes, key=lambda pair: pair[1].bytes)
    found.append(_sent("a cursor step in a rack elevation", [walk[2:]], 250))
    found.append(_sent("a change of screen, the largest of eight", [worst], 6000))
    return found


def _sent(what: str, runs: Sequence[list[Answer]], goal: float) -> Count:
    """The mean bytes of the answers after the first, beside what curses sends for the same."""
    ours = [answer.bytes for run in runs for answer in run[1:]]
    floor = [sent for run in runs for sent in _curses([answer.picture for answer in run])]
    mean, least = sum(ours) / len(ours), sum(floor) / len(floor)
    return Count(what, "bytes", mean, "curses, the same pictures", least, goal)


_CURSES = """
import curses, json, sys
pictures = json.load(open(sys.argv[1]))
def draw(window, picture):
    for y, row in enumerate(picture):
        for x, (sign, bold, underlined, reversed_) in enumerate(row):
            look = (bold and curses.A_BOLD) | (underlined and curses.A_UNDERLINE)
            try:
                window.addstr(y, x, sign, look | (reversed_ and curses.A_REVERSE))
            except curses.error:
                pass  # the last cell is drawn, and then it says that the cursor has no place
    window.refresh()
def main(window):
    curses.curs_set(0)
    for picture in pictures:
        draw(window, picture)
        window.getch()
curses.wrapper(main)
"""


def _curses(pictures: Sequence[Picture]) -> list[int]:
    """The bytes curses sends for each picture after the first."""
    file = Path(os.environ.get("TMPDIR", "/tmp")) / f"pictures-{os.getpid()}.json"
    file.write_text(json.dumps(pictures))
    with _shown([sys.executable, "-c", _CURSES, str(file)]) as t:
        t.read(0.5)
        sent = [_after(t, "x").bytes for _ in pictures[1:]]
    file.unlink()
    return sent


# Times ------------------------------------------------------------------------------------

_TWO_LINES = """
from rich.segment import Segment
from rich.style import Style
from textual.app import App
from textual.geometry import Region
from textual.strip import Strip
from textual.widget import Widget
class Lines(Widget, can_focus=True):
    at = 0
    def render_line(self, y):
        return Strip([Segment(f"row {y}".ljust(80), Style(reverse=y == self.at))], 80)
    def key_down(self):
        self.at = (self.at + 1) % 24
        for y in (self.at - 1, self.at):
            self.refresh(Region(0, y, 80, 1))
class Two(App):
    def compose(self):
        yield Lines()
Two().run(mouse=False)
"""
_ONE_INPUT = """
from textual.app import App
from textual.widgets import Input
class One(App):
    def compose(self):
        one = Input()
        one.cursor_blink = False  # else it sends something twice a second
        yield one
One().run(mouse=False)
"""
_EMPTY = """
from textual.app import App
from textual.widgets import Static
class Empty(App):
    def compose(self):
        yield Static("painted")
Empty().run(mouse=False)
"""
WORDS = ("desk 3899", "PH17", "lkf-2203", "10.9.2.31", "SW41:13", "OUT311", "norvane")


def _typing(t: PseudoTerminal) -> list[Count]:
    t.press("/")
    t.read()
    answers = []
    for words in WORDS:
        answers += [_after(t, sign) for sign in words]
        for _ in words:
            t.press("backspace")
        t.read()
    floor_s = _textual(_ONE_INPUT, [sign for words in WORDS for sign in words])
    return [
        _soon("find while typing, key to last byte", answers, "Textual, one input", floor_s, 50)
    ]


def _soon(
    what: str, answers: Sequence[Answer], floor: str, floor_s: float, goal_ms: float
) -> Count:
    ours = _p95([answer.took_s for answer in answers])
    return Count(f"{what}, p95", "ms", ours * 1000, floor, floor_s * 1000, goal_ms)


def _p95(times: Sequence[float]) -> float:
    return quantiles(times, n=20)[-1]


def _textual(program: str, keys: Sequence[str]) -> float:
    """The 95th percentile of seconds from key to last byte of a bare Textual program."""
    with _shown([sys.executable, "-c", program]) as t:
        t.read(0.4)
        return _p95([_after(t, key).took_s for key in keys])


# Rest -------------------------------------------------------------------------------------

REST_S = 5.0


def _idle(t: PseudoTerminal) -> Count:
    """The share of a processor taken while nothing is pressed."""
    ours = _resting(t)
    with _shown([sys.executable, "-c", _EMPTY]) as empty:
        empty.wait_for("painted")
        floor = _resting(empty)
    return Count("at rest", "% of a CPU", ours, "empty Textual app", floor, 1)


def _resting(t: PseudoTerminal) -> float:
    t.read(0.4)
    before = _cpu_s(t.pid)
    time.sleep(REST_S)
    return (_cpu_s(t.pid) - before) / REST_S * 100


def _cpu_s(pid: int) -> float:
    """Seconds of processor a process has had, from its first to its last thread."""
    tasks = Path(f"/proc/{pid}/task").glob("*/schedstat")
    return sum(int(task.read_text().split()[0]) for task in tasks) / 1e9


# The terminal -----------------------------------------------------------------------------


@contextmanager
def _app(path: Path) -> Iterator[PseudoTerminal]:
    command = [sys.executable, "-m", "tui.main", str(path)]
    with _shown(command) as t:
        t.wait_for("Bench client")
        t.read(0.4)
        yield t


@contextmanager
def _shown(command: Sequence[str]) -> Iterator[PseudoTerminal]:
    env = {**os.environ, "TERM": "xterm-256color", "BINDER_WHO": "bench"}
    t = PseudoTerminal(command, env)
    try:
        yield t
    finally:
        t.kill()


def _now(t: PseudoTerminal) -> Answer:
    return Answer(0, 0.0, _picture(t))


def _after(t: PseudoTerminal, key: str) -> Answer:
    t.read(0.02)
    start = time.perf_counter()
    t.press("/" if key == "slash" else key)
    sent = t.read(0.2)
    return Answer(sent, t.last_byte_at - start, _picture(t))


def _picture(t: PseudoTerminal) -> Picture:
    rows, columns = t.screen.lines, t.screen.columns
    return [[_cell(t.screen.buffer[y][x]) for x in range(columns)] for y in range(rows)]


def _cell(char: Any) -> tuple[str, bool, bool, bool]:
    return char.data, char.bold, char.underscore, char.reverse
