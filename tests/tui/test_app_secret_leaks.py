"""What was shown is nowhere once it is gone: screen, picture, clipboard, log, history, traceback.

Where a copy goes: OSC 52 of xterm's control sequences; an empty text clears the selection.
"""

from __future__ import annotations

import base64
import re
from pathlib import Path

import pytest
from textual import events

from binder.edit import Editor
from binder.envelope import reports
from binder.file import BinderFile
from binder.read import resolve
from tests.tui.envelope_at_hand import (
    PASSPHRASE,
    PIN,
    at_work,
    fill_envelope,
    open_envelope_by_keys,
    show_pin,
)
from tests.tui.screen_text import Terminal
from tests.tui.test_envelope_terminal import Terminal as RealTerminal
from tui.app.binder_app import BinderApp
from tui.app.secret_screen import SecretScreen

COPIED = f"\x1b]52;c;{base64.b64encode(PIN.encode()).decode()}\x07"
EMPTIED = "\x1b]52;c;\x07"


@pytest.fixture
def kept(closet: BinderFile, editor: Editor) -> BinderFile:
    fill_envelope(closet, editor)
    return closet


@pytest.fixture
def sent(monkeypatch: pytest.MonkeyPatch) -> list[str]:
    """What the app writes to the terminal beside what it draws."""
    from textual.drivers.headless_driver import HeadlessDriver

    written: list[str] = []
    monkeypatch.setattr(HeadlessDriver, "write", lambda self, data: written.append(data))
    return written


def picture(t: Terminal) -> str:
    """Textual's own, with what it writes for blanks and apart from its styles."""
    return t.app.export_screenshot(simplify=True).replace("&#160;", " ")


async def shown(t: Terminal) -> None:
    await open_envelope_by_keys(t)
    await show_pin(t)


# The screen. ------------------------------------------------------------------------------


async def test_a_picture_of_the_screen_would_hold_the_pin_and_does_not(
    kept: BinderFile, monkeypatch: pytest.MonkeyPatch
) -> None:
    async with at_work(kept.path) as (t, _):
        await shown(t)
        with monkeypatch.context() as unguarded:
            unguarded.setattr(BinderApp, "hide_secrets", lambda self: None)
            assert PIN in picture(t)
        assert PIN not in picture(t)
        assert PIN not in t.text


async def test_another_size_shows_it_in_no_frame(kept: BinderFile) -> None:
    async with at_work(kept.path) as (t, _):
        await shown(t)
        frames: list[str] = []
        screen = t.app.screen
        assert isinstance(screen, SecretScreen)
        await t.pilot.resize_terminal(100, 30)
        frames.append(t.text)
        assert screen.showing is None
        await t.sees("Circuit fibre")
        assert PIN not in "".join([*frames, t.text, picture(t)])


@pytest.mark.parametrize("leaving", ["escape", "q", "enter", "backspace", "question_mark"])
async def test_a_key_takes_it_away_at_once(kept: BinderFile, leaving: str) -> None:
    async with at_work(kept.path) as (t, _):
        await shown(t)
        await t.press(leaving)
        await t.sees_no(PIN)
        if leaving == "question_mark":
            await t.sees("Keys while a secret is shown")
            await t.press("q")
        await t.sees("Circuit fibre")


async def test_it_goes_when_the_envelope_is_sealed(kept: BinderFile) -> None:
    async with at_work(kept.path) as (t, _):
        await shown(t)
        t.app.seal_envelope()
        await t.sees("Circuit fibre", "envelope sealed")
        assert PIN not in t.text


async def test_it_goes_when_the_clock_is_set_back(kept: BinderFile) -> None:
    async with at_work(kept.path) as (t, wall):
        await shown(t)
        wall.passes(hours=-1)
        await t.sees_no(PIN)


async def test_what_another_technician_writes_meanwhile_does_not_bring_it_back(
    kept: BinderFile, editor: Editor
) -> None:
    async with at_work(kept.path) as (t, wall):
        await shown(t)
        with editor.step("meanwhile") as step:
            step.change(resolve(kept, "fibre", "circuit").id, {"account_number": "4410-2288"})
        wall.passes(seconds=20)
        await t.sees("4410-2288")
        assert PIN not in t.text


# The clipboard. ---------------------------------------------------------------------------


async def test_a_copy_goes_by_osc_52_and_an_empty_one_after_30_seconds(
    kept: BinderFile, sent: list[str]
) -> None:
    async with at_work(kept.path) as (t, wall):
        await shown(t)
        await t.sees("tmux drops it", "may keep it")
        assert COPIED not in sent
        await t.press("y")
        await t.sees("sent to the terminal; it does not say whether it took it")
        assert COPIED in sent
        assert PIN not in t.app.clipboard
        wall.passes(seconds=29)
        await t.sees("Circuit fibre")
        t.app.tick()
        assert EMPTIED not in sent
        wall.passes(seconds=1)
        await t.until(lambda: EMPTIED in sent, "the empty copy")
        t.app.tick()
        assert sent.count(EMPTIED) == 1


async def test_nothing_is_sent_to_clear_what_was_not_copied(
    kept: BinderFile, sent: list[str]
) -> None:
    async with at_work(kept.path) as (t, _):
        await shown(t)
        await t.press("escape", "o")
    assert not [data for data in sent if "\x1b]52" in data]


# What is kept. ----------------------------------------------------------------------------


async def test_neither_history_nor_undo_nor_the_file_tells_the_value(
    kept: BinderFile, capsys: pytest.CaptureFixture[str]
) -> None:
    new = "9911-canary-new"
    async with at_work(kept.path, size=(120, 50)) as (t, _):
        await shown(t)
        await t.press("escape", "g", "down", "enter")
        for _ in range(2):
            await t.type(new)
            assert new not in t.text
            await t.press("enter")
        await t.sees("kept as version 2")
        t.app.open_history(None)
        await t.sees("set fibre account PIN")
        texts = [t.text]
        await t.press("u")
        await t.sees("undone")
        texts.append(t.text)
        await t.press("l")
        await t.sees("Log of the envelope")
        texts.append(t.text)
    told = "".join([*texts, *capsys.readouterr()])
    on_disk = b"".join(path.read_bytes() for path in kept.path.parent.iterdir())
    for value in (PIN, new, PASSPHRASE):
        assert value not in told
        assert value.encode() not in on_disk


async def test_no_worker_and_no_widget_tells_what_is_typed(kept: BinderFile) -> None:
    async with at_work(kept.path) as (t, _):
        await t.press("o")
        await t.type(PASSPHRASE)
        told = repr([*t.app.workers, *t.app.screen.walk_children(), t.app.focused])
        described = " ".join(worker.description for worker in t.app.workers)
        assert PASSPHRASE not in told + described + t.text


async def test_a_pasted_passphrase_opens_it_and_is_not_drawn(kept: BinderFile) -> None:
    async with at_work(kept.path) as (t, _):
        await t.press("o")
        await t.app.on_event(events.Paste(f"{PASSPHRASE}\r\n"))
        await t.sees("•" * len(PASSPHRASE))
        await t.press("enter")
        await t.sees("opened with the passphrase of shop team")


async def test_a_crash_tells_its_lines_and_no_variables(kept: BinderFile) -> None:
    async with at_work(kept.path) as (t, _):
        await shown(t)
        held = PIN
        try:
            raise RuntimeError("a defect")
        except RuntimeError:
            t.app._fatal_error()
        segments = t.app._exit_renderables.pop().segments
        told = "".join(segment.text for segment in segments)
        t.app._return_code = 0
    assert "a defect" in told
    assert held not in told


# On a real terminal. ----------------------------------------------------------------------


def test_leaving_empties_the_clipboard_and_textual_writes_no_log(
    kept: BinderFile, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    log = tmp_path / "textual.log"
    monkeypatch.setenv("TEXTUAL_LOG", str(log))
    monkeypatch.setenv("TEXTUAL", "debug")
    kept.close()
    real = RealTerminal("-m", "tui.main", str(kept.path), term="xterm-256color", drawn=True)
    try:
        real.until("envelope sealed")
        real.type("/Larkfen")
        real.until("Circuit")
        real.type("\rk")
        real.until("Passphrase")
        real.type(f"{PASSPHRASE}\r")
        real.until("Why do you look")
        real.type("asked\r")
        real.until(PIN)
        real.type("y")
        real.until(re.escape(COPIED))
        real.type("\x03")
        assert real.ended() == 0
    finally:
        real.close()
    assert EMPTIED in real.seen.partition(COPIED)[2]
    assert PASSPHRASE not in real.seen
    assert PASSPHRASE not in "".join(real.screen.display)
    assert not log.exists()


def test_the_log_line_is_there_before_the_value_is_drawn(kept: BinderFile) -> None:
    real = RealTerminal("-m", "tui.main", str(kept.path), term="xterm-256color", drawn=True)
    try:
        real.until("envelope sealed")
        real.type(f"/Larkfen\rk{PASSPHRASE}\rasked\r")
        real.until(PIN)
        assert reports.log_of_secret(kept, resolve(kept, "fibre account PIN").id)[0].why == "asked"
    finally:
        real.close()


def test_the_circuit_is_found_by_its_carrier(kept: BinderFile) -> None:
    """What the tests above type: it is the circuit that is found first."""
    from binder.find import find

    found = find(kept, "Larkfen", 1)[0]
    assert (found.kind, found.id) == ("circuit", resolve(kept, "fibre", "circuit").id)


async def test_the_timers_leave_a_screen_alone_that_is_being_taken_down(kept: BinderFile) -> None:
    """Leaving within a second of somebody's change, or of opening the envelope."""
    async with at_work(kept.path) as (t, wall):
        await open_envelope_by_keys(t)
        for part in list(t.app.screen.query("#panes, #bottom")):
            await part.remove()
        wall.passes(minutes=4, seconds=30)  # the top line would change
        t.app.tick()
        t.app.changed()  # and all of it be read again
