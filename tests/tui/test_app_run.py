"""Starting the app: what it refuses, what it imports, what it costs."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

import pytest

from binder.edit import Editor
from binder.errors import FileError, RequestError
from binder.file import BinderFile
from binder.read import resolve
from tests.tui.screen_text import Terminal, terminal
from tui.app.binder_app import BinderApp
from tui.app.dividers import DividerScreen
from tui.app.run import run_app


def test_a_dumb_terminal_is_refused_with_the_commands_to_use(
    closet: BinderFile, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("TERM", "dumb")
    with pytest.raises(RequestError, match="binder find") as refused:
        run_app(closet.path, who="M. Osei")
    assert "\n" not in str(refused.value)


def test_a_file_that_is_no_binder_is_refused_before_the_screen_is_touched(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capfdbinary: pytest.CaptureFixture[bytes]
) -> None:
    monkeypatch.setenv("TERM", "xterm")
    (tmp_path / "x.binder").write_text("no binder")
    for name in ("x.binder", "none.binder"):
        with pytest.raises(FileError):
            run_app(tmp_path / name, who="M. Osei")
    assert capfdbinary.readouterr() == (b"", b"")


async def test_a_damaged_page_is_found_beside_the_first_picture(closet: BinderFile) -> None:
    """The look at every page does not keep the technician waiting, and still ends the app."""
    page = closet.connection.execute(
        "SELECT rootpage FROM sqlite_master WHERE name = 'loss'"
    ).fetchone()[0]
    size = closet.connection.execute("PRAGMA page_size").fetchone()[0]
    closet.close()
    data = bytearray(closet.path.read_bytes())
    data[(page - 1) * size : page * size] = b"\xff" * size
    closet.path.write_bytes(data)
    app = BinderApp(closet.path, who="M. Osei")
    async with app.run_test() as pilot:
        await Terminal(app, pilot).until(lambda: app.damage is not None, "the damage")
    assert app.return_value == FileError.exit_status
    assert "damaged" in str(app.damage)


def test_the_entry_imports_no_screen_until_it_is_run() -> None:
    program = "import sys; import tui.app.run; print('textual' in sys.modules)"
    ran = subprocess.run(
        [sys.executable, "-c", program], capture_output=True, text=True, check=True
    )
    assert ran.stdout.strip() == "False"


def test_the_first_screen_needs_none_of_the_others() -> None:
    """Each costs some milliseconds of start-up: they are imported on the first visit."""
    program = (
        "import sys; import tui.app.binder_app, tui.app.dividers; "
        "print(sorted(m for m in sys.modules if m.startswith(('tui.app', 'binder.find', "
        "'binder.trace', 'binder.headroom', 'binder.engineering', 'binder.impact', "
        "'binder.start_order', 'markdown_it', 'jinja2', 'textual.widgets._data_table', "
        "'textual.widgets._markdown'))))"
    )
    ran = subprocess.run(
        [sys.executable, "-c", program], capture_output=True, text=True, check=True
    )
    late = ("form", "find_screen", "trace_screen", "rack_screen", "history_screen", "shelf_screen",
            "headroom_screen", "headroom_lines", "headroom_now",
            "ask", "impact_screen", "order_screen", "what_if_screen")  # fmt: skip
    assert not [name for name in late if f"tui.app.{name}'" in ran.stdout]
    core = ("find", "trace", "headroom", "engineering", "impact", "start_order")
    for other in (*(f"binder.{name}" for name in core), "markdown_it", "jinja2", "_data_table"):
        assert other not in ran.stdout


async def test_the_file_is_closed_when_the_app_is_left(closet: BinderFile) -> None:
    import sqlite3

    async with terminal(closet.path) as t:
        connection = t.app.binder.connection
        await t.press("q")
    with pytest.raises(sqlite3.ProgrammingError, match="closed"):
        connection.execute("SELECT 1")


async def test_ten_thousand_ports_are_opened_by_reading_one_window(
    closet: BinderFile, editor: Editor
) -> None:
    with editor.step("a large site") as step:
        panel = resolve(closet, "1A-A").id
        step.add_many("port", [{"hardware": panel, "label": f"x{n}"} for n in range(10_000)])
    async with terminal(closet.path) as t:
        asked: list[str] = []
        t.app.binder.connection.set_trace_callback(asked.append)
        await t.press("3")
        await t.sees("of 10025", "1A-A:x0")
        windows = [sql for sql in asked if 'FROM "port" t JOIN record' in sql]
        assert len(windows) <= 2
        assert len(asked) < 40
        asked.clear()
        await t.press("down")
        await t.sees("2 of 10025")
        assert not [sql for sql in asked if 'FROM "port"' in sql]
        screen = t.app.screen
        assert isinstance(screen, DividerScreen)
        names = [screen.main_list.lines.index(resolve(closet, f"1A-A:x{n}").id) for n in (2, 10)]
        assert names == sorted(n for n in names if n is not None)
        await t.press("end")
        await t.sees("10025 of 10025")
