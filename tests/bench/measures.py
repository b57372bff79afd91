"""What is measured, and the floor that each figure stands beside, in the same run."""

from __future__ import annotations

import contextlib
import fcntl
import json
import os
import pty
import re
import select
import sqlite3
import struct
import subprocess
import sys
import termios
import time
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from datetime import date
from pathlib import Path

from binder.collector import collector_at_rest
from binder.file import create, open_binder
from binder.intake import json_form
from binder.read import resolve
from binder.records.catalog import KINDS
from binder.records.schema import quoted

Timed = Callable[[], float]  # one run, in seconds


@dataclass(frozen=True, slots=True)
class Figure:
    """`goal` is how many times the floor the program may take."""

    what: str
    ours_s: float
    floor: str
    floor_s: float
    goal: float

    @property
    def times(self) -> float:
        return self.ours_s / self.floor_s


def best(run: Timed, repeat: int) -> float:
    """The least of several runs: what the machine allows when nothing disturbs it."""
    return min(run() for _ in range(repeat))


def seconds(work: Callable[[], object]) -> float:
    start = time.perf_counter()
    work()
    return time.perf_counter() - start


# Whole processes. -------------------------------------------------------------------------

_RECORDING = """
import json, sqlite3, sys
statements = []
class Recorded(sqlite3.Connection):
    def __init__(self, *given, **named):
        super().__init__(*given, **named)
        self.set_trace_callback(statements.append)
sqlite3.connect = lambda *given, **named: Recorded(*given, **named)
from tui.main import run
out, sys.stdout = sys.stdout, sys.stderr
run(sys.argv[1:])
json.dump([s for s in statements if not s.startswith('--') and "'main'.'search_" not in s], out)
"""

_SAME_SQL = """
import json, sqlite3, sys
connection = sqlite3.connect(sys.argv[1], isolation_level=None)
for statement in json.load(sys.stdin):
    connection.execute(statement).fetchall()
"""


def find_process(path: Path, word: str) -> Figure:
    """`binder find` as a whole process, against Python running the same SQL with sqlite3."""
    words = ["find", str(path), word]
    statements = subprocess.run(
        [sys.executable, "-c", _RECORDING, *words], capture_output=True, text=True, check=True
    ).stdout

    def ours() -> None:
        subprocess.run([_script("binder"), *words], capture_output=True, check=True)

    def floor() -> None:
        subprocess.run(
            [sys.executable, "-c", _SAME_SQL, str(path)], input=statements, text=True, check=True
        )

    return Figure(
        f"find '{word}', whole process",
        best(lambda: seconds(ours), 9),
        "Python and sqlite3, same SQL",
        best(lambda: seconds(floor), 9),
        2.5,
    )


def _script(name: str) -> str:
    return str(Path(sys.executable).with_name(name))


_EMPTY_APP = """
from textual.app import App
from textual.widgets import Static
class Empty(App):
    def compose(self):
        yield Static("painted")
Empty().run(mouse=False)
"""


def first_paint(path: Path) -> tuple[Figure, float]:
    """The app on the binder until its client's name stands, against an empty Textual app.

    Gives the app's peak memory in MiB too.
    """
    memory: list[float] = []

    def ours() -> float:
        return _painted([_script("binder"), str(path)], "Bench client", memory)

    def floor() -> float:
        return _painted([sys.executable, "-c", _EMPTY_APP], "painted", [])

    figure = Figure(
        "first paint of the app", best(ours, 7), "empty Textual app", best(floor, 7), 1.3
    )
    return figure, max(memory)


def _painted(command: list[str], text: str, memory: list[float]) -> float:
    """Seconds from starting a full-screen program to a text on its 80x24 screen."""
    start = time.perf_counter()
    process, terminal = pty.fork()
    if process == 0:
        os.environ |= {"TERM": "xterm-256color", "BINDER_WHO": "bench"}
        fcntl.ioctl(0, termios.TIOCSWINSZ, struct.pack("HHHH", 24, 80, 0, 0))
        os.execv(command[0], command)
    seen = ""
    with _ended(process, terminal):
        while text not in seen:
            if not select.select([terminal], [], [], 20)[0]:
                raise RuntimeError(f"{command[0]} painted nothing in 20 s")
            chunk = os.read(terminal, 65536).decode(errors="replace")
            seen += re.sub(r"\x1b\[[0-9;?]*[a-zA-Z]", "", chunk)
        taken = time.perf_counter() - start
        status = Path(f"/proc/{process}/status").read_text()
        memory.append(int(re.findall(r"VmHWM:\s+(\d+)", status)[0]) / 1024)
    return taken


@contextlib.contextmanager
def _ended(process: int, terminal: int) -> Iterator[None]:
    try:
        yield
    finally:
        os.kill(process, 9)
        os.waitpid(process, 0)
        os.close(terminal)


# In one process. --------------------------------------------------------------------------


def tracing(path: Path, name: str) -> Figure:
    """A trace, against the recursive queries it asks, bare."""
    from binder.trace import trace

    with open_binder(path, read_only=True) as binder:
        start = resolve(binder, name).id
        asked: list[str] = []
        binder.connection.set_trace_callback(asked.append)
        trace(binder, start)
        binder.connection.set_trace_callback(None)
        recursive = [sql for sql in asked if "RECURSIVE" in sql]

        def floor() -> None:
            for sql in recursive:
                binder.connection.execute(sql).fetchall()

        return Figure(
            f"trace {name}",
            best(lambda: seconds(lambda: trace(binder, start)), 50),
            "its recursive queries, bare",
            best(lambda: seconds(floor), 50),
            1.5,
        )


def loading(path: Path, folder: Path) -> Figure:
    """Loading the JSON form, against executemany of the same rows into the same tables."""
    with open_binder(path, read_only=True) as binder:
        data = json.loads(json_form.to_text(json_form.dump(binder)))
        rows = {
            kind: [
                tuple(row)
                for row in binder.connection.execute(f"SELECT * FROM {quoted(kind.table)}")
            ]
            for kind in KINDS
        }
    numbers = iter(range(1000))

    def ours() -> float:
        with create(folder / f"load-{next(numbers)}.binder", "") as empty:
            return seconds(lambda: json_form.load(empty, data, "bench"))

    def floor() -> float:
        with create(folder / f"load-{next(numbers)}.binder", "") as empty, collector_at_rest():
            return seconds(lambda: _insert_all(empty.connection, rows))

    return Figure("load, all records", best(ours, 3), "executemany, same rows", best(floor, 3), 3)


def _insert_all(connection: sqlite3.Connection, rows: dict) -> None:  # type: ignore[type-arg]
    connection.execute("BEGIN IMMEDIATE")
    for kind, members in rows.items():
        if members:
            marks = ",".join("?" * len(members[0]))
            connection.executemany(f"INSERT INTO {quoted(kind.table)} VALUES ({marks})", members)
    connection.execute("COMMIT")


def handoff(path: Path, folder: Path) -> Figure:
    """The handoff document in HTML, against markdown-it-py rendering the same Markdown.

    Both without the search for rings of objects, which `render` puts to rest.
    """
    from markdown_it import MarkdownIt

    from exporters.export import render

    today = date(2026, 11, 25)
    with open_binder(path, read_only=True) as binder:
        pages = render(binder, "handoff", form="markdown", today=today)
        plain = MarkdownIt("js-default")

        def floor() -> float:
            with collector_at_rest():
                return seconds(lambda: [plain.render(text) for text in pages.values()])

        return Figure(
            "handoff document, HTML",
            best(lambda: seconds(lambda: render(binder, "handoff", form="html", today=today)), 3),
            "markdown-it-py, same Markdown",
            best(floor, 3),
            1.5,
        )


def full_headroom(path: Path) -> Figure:
    """Headroom of everything, against the SELECTs of the rows that it reads."""
    from binder.headroom import headroom

    today = date(2026, 11, 25)
    with open_binder(path, read_only=True) as binder:
        asked: list[str] = []
        binder.connection.set_trace_callback(asked.append)
        headroom(binder, today=today)
        binder.connection.set_trace_callback(None)
        reads = [sql for sql in asked if sql.lstrip().startswith(("SELECT", "WITH"))]

        def floor() -> None:
            for sql in reads:
                binder.connection.execute(sql).fetchall()

        return Figure(
            "headroom of everything",
            best(lambda: seconds(lambda: headroom(binder, today=today)), 7),
            "SELECT of the rows it reads",
            best(lambda: seconds(floor), 7),
            3,
        )


# Every port that data reaches from the carriers' hand-offs: the question that impact asks, of the
# cabling alone, in one recursive query. Impact asks it twice, before and after.
_REACHED = """
WITH RECURSIVE reached (port_id) AS (
  SELECT handoff_port_id FROM circuit WHERE handoff_port_id IS NOT NULL
  UNION
  SELECT e.far_port_id FROM reached r JOIN link_end e ON e.port_id = r.port_id
  WHERE e.far_port_id IS NOT NULL
  UNION
  SELECT e.far_port_id FROM reached r JOIN cord_end e ON e.port_id = r.port_id
  UNION
  SELECT q.id FROM reached r JOIN port p ON p.id = r.port_id JOIN hardware h ON h.id = p.hardware_id
  JOIN port q ON q.hardware_id = h.id
  WHERE h.form IN ('switch', 'carrier equipment')
)
SELECT port_id FROM reached"""


def impact_of(path: Path, name: str) -> Figure:
    """The impact of a switch, against the recursive query of what is reached, bare."""
    from binder.impact import impact

    with open_binder(path, read_only=True) as binder:
        failed = resolve(binder, name, "hardware").id

        def floor() -> None:
            binder.connection.execute(_REACHED).fetchall()

        return Figure(
            f"impact of {name}",
            best(lambda: seconds(lambda: impact(binder, failed)), 15),
            "what is reached, one query",
            best(lambda: seconds(floor), 15),
            2,
        )
