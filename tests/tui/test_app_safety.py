"""What people typed is data: never markup, never a control sequence, on any screen.

Payloads: CWE-150 and the control sets of ECMA-48 (5th edition); bidi controls of Unicode
(compare CVE-2021-42574); markup of the libraries the app is built on.
"""

from __future__ import annotations

import os
import pty
import re
import select
import signal
import struct
import sys
import termios
from collections.abc import Callable, Iterator
from fcntl import ioctl
from pathlib import Path
from time import monotonic

import pytest

from binder.edit import Editor
from binder.file import BinderFile
from binder.read import read_where, resolve
from binder.records.catalog import BY_NAME, KINDS
from binder.records.fields import Type
from tests.conftest import add_by_name
from tests.tui.screen_text import terminal
from tui.app.shelf_screen import ShelfScreen

MARKUP = "[/x] [A1] [b] [fe80::1] [@click=app.bell]x [100%]"
PAYLOADS = (
    "\x1b]52;c;cHduZWQ=\x07", "\x1b[2J\x1b[H", "\x1b]0;title\x07",
    "\x1b]8;;http://example.com\x1b\\x\x1b]8;;\x1b\\", "\x9b31m", "\x9d52;c;eA==\x9c",
    "\x1bP1$r\x1b\\", "\x1b_G\x1b\\", "abc\rXYZ", "abc\b\b\bXYZ", "\x85", "\u202eevil\u202c",
    "\u2066", "\u200b", "\x7f",
)  # fmt: skip
HOSTILE = MARKUP + " ".join(PAYLOADS)
RAW = re.compile("[\x00-\x1f\x7f-\x9f\u200b-\u200f\u2028-\u202e\u2060-\u206f\ufeff\u061c\u00ad]")


@pytest.fixture
def hostile(closet: BinderFile, editor: Editor) -> BinderFile:
    """Every text of every record of the closet, and of one of each kind, is hostile."""
    with editor.step(f"a step {HOSTILE}") as step:
        for kind in KINDS:
            for record in read_where(closet, kind):
                texts = {
                    field.name: f"{record[field.name] or ''}{HOSTILE}"
                    for field in kind.all_fields
                    if field.type in (Type.TEXT, Type.LINES) and kind.name != "test"
                    and not (kind.name == "port" and field.name == "label")
                    and field.name != "sha256"
                }  # fmt: skip
                step.change(record.id, texts)
        add_by_name(closet, step, "known_issue", identifier=f"issue {HOSTILE}")
        add_by_name(closet, step, "log_entry", opened_at="2026-03-14T09:00:00Z", summary=HOSTILE)
    return closet


def first(binder: BinderFile, kind: str) -> int:
    return read_where(binder, BY_NAME[kind])[0].id


async def test_no_screen_shows_a_control_or_loses_a_bracket(hostile: BinderFile) -> None:
    async with terminal(hostile.path, size=(160, 50)) as t:

        async def looks_harmless(what: str) -> None:
            await t.until(lambda: "[/x] [A1] [b] [fe80::1]" in t.text, f"{what}: the brackets")
            assert not RAW.search(t.text.replace("\n", "")), f"{what}: {t.text!r}"

        await looks_harmless("client list")
        for kind in KINDS:
            t.app.turn_to(kind)
            await t.pilot.pause()
            assert not RAW.search(t.text.replace("\n", "")), kind.name
            for record in read_where(hostile, kind)[:1]:
                t.app.open_sheet(record.id)
                await looks_harmless(f"sheet of a {kind.name}")
                t.app.open_edit(record.id)
                await looks_harmless(f"form of a {kind.name}")
                await t.press("escape", "q")
        t.app.open_rack(first(hostile, "rack"))
        await looks_harmless("rack")
        await t.press("m")
        await looks_harmless("carrying")
        t.app.open_history(None)
        await looks_harmless("history")
        t.app.open_trace(resolve(hostile, f"114-1{HOSTILE}:A").id)
        await looks_harmless("trace")


async def test_no_question_shows_a_control_or_loses_a_bracket(
    hostile: BinderFile, editor: Editor
) -> None:
    async with terminal(hostile.path, size=(160, 50)) as t:

        async def looks_harmless(what: str) -> None:
            await t.until(lambda: "[/x] [A1] [b] [fe80::1]" in t.text, f"{what}: the brackets")
            assert not RAW.search(t.text.replace("\n", "")), f"{what}: {t.text!r}"

        switch = read_where(hostile, BY_NAME["hardware"], "t.form = 'switch'")[0]
        t.app.open_sheet(switch.id)
        await t.press("d")
        await looks_harmless("remove, and what hangs on it")
        await t.press("n", "n")
        await looks_harmless("what to add")
        await t.press("escape", "u")
        await looks_harmless("nothing of yours")
        t.app.open_edit(switch.id, "firmware")
        await t.type("5")
        with editor.step("meanwhile") as step:
            step.change(switch.id, {"firmware": f"6 {HOSTILE}"})
        await t.press("f2")
        await looks_harmless("two versions")
        await t.press("escape", "escape", "y")
        await t.sees("Hardware SW1")
        t.app.open_edit(switch.id, "notes")
        await t.press("f4")
        await looks_harmless("text of several lines")
        await t.press("escape", "escape")
        await t.press("slash")
        await t.type("[/x] [A1]")
        await looks_harmless("found")
        await t.press("ctrl+u")
        await t.pilot.pause()
        t.app.screen.query_one("#query").value = HOSTILE  # type: ignore[attr-defined]
        await looks_harmless("what is looked for")


async def test_the_shelf_shows_no_control_of_a_name_or_a_client(hostile: BinderFile) -> None:
    hostile.path.rename(hostile.path.with_name("odd\x1b[2J[b].binder"))
    async with terminal(hostile.path.parent, size=(160, 24)) as t:
        assert isinstance(t.app.screen, ShelfScreen)
        await t.sees("odd␛[2J[b]", "Quillmere Veterinary Clinic")
        assert not RAW.search(t.text.replace("\n", ""))


# In a real terminal. ----------------------------------------------------------------------

ESCAPE_STARTS = re.compile(rb"\x1b(?![\[\]>=78PM()\\])")


@pytest.fixture
def run_in_pty(monkeypatch: pytest.MonkeyPatch) -> Iterator[Callable[..., bytes]]:
    """Runs the app in a pseudo-terminal of 80x24; gives every byte it sent."""
    started: list[int] = []

    def run(path: Path, keys: list[bytes], **environment: str) -> bytes:
        process, terminal_file = pty.fork()
        if process == 0:
            os.environ.update({"TERM": "xterm-256color", **environment})
            program = (
                "import sys; from pathlib import Path; from tui.app.run import run_app; "
                "sys.exit(run_app(Path(sys.argv[1]), who='M. Osei'))"
            )
            os.execv(sys.executable, [sys.executable, "-c", program, str(path)])
        started.append(process)
        ioctl(terminal_file, termios.TIOCSWINSZ, struct.pack("HHHH", 24, 80, 0, 0))
        sent = _until_quiet(terminal_file, patience_s=20.0)
        for key in keys:
            os.write(terminal_file, key)
            sent += _until_quiet(terminal_file, patience_s=5.0)
        os.write(terminal_file, b"\x03")
        sent += _until_quiet(terminal_file, patience_s=5.0)
        _, status = os.waitpid(process, 0)
        started.remove(process)
        os.close(terminal_file)
        assert os.waitstatus_to_exitcode(status) == 0
        return sent

    yield run
    for process in started:
        os.kill(process, signal.SIGKILL)
        os.waitpid(process, 0)


def _until_quiet(terminal_file: int, *, patience_s: float) -> bytes:
    """What is sent until nothing more comes for a while."""
    sent, end = b"", monotonic() + patience_s
    while monotonic() < end:
        ready, _, _ = select.select([terminal_file], [], [], 1.5 if not sent else 0.4)
        if not ready:
            if sent:
                break
            continue
        try:
            part = os.read(terminal_file, 65536)
        except OSError:  # the other side is gone
            break
        if not part:
            break
        sent += part
    return sent


def test_no_payload_reaches_the_terminal(
    hostile: BinderFile, run_in_pty: Callable[..., bytes]
) -> None:
    hostile.close()
    sent = run_in_pty(hostile.path, [b"2", b"\r", b"\r", b"q", b"h", b"q", b"3", b"\r", b"e"])
    assert b"[/x] [A1]" in sent
    for payload in PAYLOADS:
        assert payload.encode() not in sent, payload
    assert not ESCAPE_STARTS.search(sent)


def test_the_terminal_is_given_back_as_it_was(
    closet: BinderFile, run_in_pty: Callable[..., bytes]
) -> None:
    """Alternate screen, cursor, bracketed paste: what is switched is switched back (xterm)."""
    closet.close()
    sent = run_in_pty(closet.path, [b"2"])
    assert sent.count(b"\x1b[?1049h") == sent.count(b"\x1b[?1049l") == 1
    assert sent.rindex(b"\x1b[?25h") > sent.rindex(b"\x1b[?25l")
    assert b"\x1b[?1000h" not in sent, "the mouse is left to the terminal"


def test_no_color_means_none_and_the_cursor_still_shows(
    closet: BinderFile, run_in_pty: Callable[..., bytes]
) -> None:
    """https://no-color.org: set and not empty. Reverse and bold are not colours."""
    closet.close()
    sent = run_in_pty(closet.path, [b"3", b"\r"], NO_COLOR="1")
    colours = re.compile(rb"\x1b\[(?:\d+;)*(?:3[0-8]|4[0-8]|9[0-7]|10[0-7])(?:;\d+)*m")
    assert not colours.search(sent)
    assert re.search(rb"\x1b\[(?:\d+;)*7(?:;\d+)*m", sent)


def test_an_empty_no_color_asks_for_nothing(
    closet: BinderFile, run_in_pty: Callable[..., bytes]
) -> None:
    closet.close()
    sent = run_in_pty(closet.path, [b"3", b"\r"], NO_COLOR="")
    assert re.search(rb"\x1b\[[0-9;]*33m", sent)  # 'never verified' in yellow
