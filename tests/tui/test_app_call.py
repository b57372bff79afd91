"""A call at the app: one key begins it, its record writes itself, nothing of it is lost."""

from __future__ import annotations

import os
import shutil
import sys
from collections.abc import Callable
from pathlib import Path

import pytest

from binder import call
from binder.edit import Editor
from binder.file import BinderFile, open_binder
from binder.read import read, resolve
from binder.touched import touched
from tests.pseudo_terminal import PseudoTerminal
from tests.tui.screen_text import NOW, terminal


@pytest.fixture(autouse=True)
def _state(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("XDG_STATE_HOME", str(tmp_path / "state"))


def ways(binder: BinderFile, entry: int) -> dict[str, tuple[str, ...]]:
    return {one.name: one.how for one in touched(binder, entry)}


async def test_what_is_opened_and_changed_is_attached_and_the_call_closed(
    closet: BinderFile, id_of: Callable[..., int]
) -> None:
    async with terminal(closet.path) as t:
        await t.press("c")
        await t.sees("Who is calling?")
        await t.type("locum at the kennels")
        await t.press("enter")
        await t.sees("call 00:00")
        running = call.open_call(closet, "R. Adeyemi")
        assert running is not None
        await t.press("slash")
        await t.type("SW1:01")
        await t.press("enter")
        await t.sees("SW1:01")
        await t.press("t")
        await t.sees("1A-A")
        await t.press("q", "e")
        await t.press("f2")
        await t.press("j")
        await t.type("lamp is dark")
        await t.press("enter")
        await t.sees("noted on")
        await t.press("c")
        await t.sees("in one line", "SW1:01")
        await t.type("phone dead")
        await t.press("down", "down", "down")
        await t.sees("Kind: incident")
        await t.press("enter")
        await t.sees("is closed")
        await t.sees_no("call 00:00")
    entry = read(closet, running.id)
    assert (entry["summary"], entry["form"]) == ("phone dead", "incident")
    assert entry["caller_note"] == "locum at the kennels"
    assert entry["body"] == "09:40 lamp is dark"
    assert entry["closed_at"] is not None
    assert ways(closet, running.id)["SW1:01"] == ("opened", "traced")


async def test_a_contact_one_stands_on_is_who_calls(closet: BinderFile, editor: Editor) -> None:
    with editor.step("people") as step:
        contact = step.add("contact", {
            "identifier": "Ines Calder", "identity_check": "ask for the agreement number",
            "mobile_phone": "+1 312 555 0188",
        })  # fmt: skip
    async with terminal(closet.path) as t:
        await t.press("slash")
        await t.type("3125550188")
        await t.press("enter")
        await t.sees("Ines Calder")
        await t.press("c")
        await t.sees("to be sure: ask for the agreement number")
    running = call.open_call(closet, "R. Adeyemi")
    assert running is not None
    assert read(closet, running.id)["caller"] == contact


async def test_a_call_that_was_open_is_offered_again_and_can_be_closed(
    closet: BinderFile, editor: Editor
) -> None:
    mine = Editor(closet, "R. Adeyemi", clock=lambda: NOW)
    started = call.start(mine, caller_note="Ann")
    async with terminal(closet.path) as t:
        await t.sees(f"{started.name} with Ann", "goes on")
        await t.press("c")
        await t.sees("in one line")
        await t.type("rang off")
        await t.press("enter")
        await t.sees("is closed")
    assert call.open_call(closet, "R. Adeyemi") is None


async def test_somebody_elses_call_is_not_mine(closet: BinderFile) -> None:
    call.start(Editor(closet, "K. Brandt"))
    async with terminal(closet.path) as t:
        await t.press("j")
        await t.sees("no call runs")


async def test_the_last_note_is_offered_as_the_line_that_closes(closet: BinderFile) -> None:
    async with terminal(closet.path) as t:
        await t.press("c", "enter", "j")
        await t.type("cord replaced")
        await t.press("enter")
        await t.sees("noted on")
        running = call.open_call(closet, "R. Adeyemi")
        assert running is not None
        await t.press("c")
        await t.sees("in one line", "cord replaced")
        await t.press("enter")
        await t.sees("is closed")
    assert read(closet, running.id)["summary"] == "cord replaced"


async def test_leaving_the_close_keeps_the_call_and_what_was_typed(closet: BinderFile) -> None:
    async with terminal(closet.path) as t:
        await t.press("c", "enter", "j")
        await t.type("half a no")
        await t.press("escape", "c")
        await t.sees("in one line", "half a no")
        await t.press("escape")
        await t.sees("call 00:00")
        await t.press("j")
        await t.sees("half a no")


async def test_a_note_is_taken_also_where_nothing_can_be_kept_aside(
    closet: BinderFile, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    (tmp_path / "no-folder").write_text("")
    monkeypatch.setenv("XDG_STATE_HOME", str(tmp_path / "no-folder"))
    async with terminal(closet.path) as t:
        await t.press("c", "enter", "j")
        await t.type("lamp is dark")
        await t.sees("cannot be kept aside")
        await t.press("enter")
        await t.sees("noted on")
    running = call.open_call(closet, "R. Adeyemi")
    assert running is not None
    assert running.body == "09:40 lamp is dark"


async def test_each_client_has_its_own_call(
    closet: BinderFile, tmp_path: Path, quillmere: Path
) -> None:
    shelf = tmp_path / "calls"
    shelf.mkdir()
    shutil.copy(closet.path, shelf / "closet.binder")
    shutil.copy(quillmere, shelf / "quillmere.binder")
    async with terminal(shelf / "closet.binder") as t:
        await t.press("c", "enter")
        await t.sees("call 00:00")
        t.app.open_from_shelf(shelf / "quillmere.binder")
        await t.sees_no("call 00:00")
        t.app.open_from_shelf(shelf / "closet.binder")
        await t.sees("call 00:00")
        assert "goes on" not in t.text


async def test_who_may_only_read_cannot_begin_a_call(closet: BinderFile) -> None:
    async with terminal(closet.path, read_only=True) as t:
        await t.press("c")
        await t.sees("read-only")
    assert call.open_call(closet, "R. Adeyemi") is None


async def test_the_caller_is_offered_by_part_of_a_name_or_a_number(
    closet: BinderFile, editor: Editor
) -> None:
    with editor.step("people") as step:
        ann = step.add("contact", {"identifier": "Annabel Roe", "mobile_phone": "+1 312 555 0188"})
    async with terminal(closet.path) as t:
        await t.press("c")
        await t.type("annab")
        await t.sees("Annabel Roe", "as said; not one of the contacts")
        await t.press("escape", "c")
        await t.type("312 555 0188")
        await t.sees("Annabel Roe")
        await t.press("enter")
        await t.sees("call 00:00")
    running = call.open_call(closet, "R. Adeyemi")
    assert running is not None
    assert read(closet, running.id)["caller"] == ann


async def test_somebody_with_almost_the_name_of_a_contact_is_kept_as_said(
    closet: BinderFile, editor: Editor
) -> None:
    with editor.step("people") as step:
        step.add("contact", {"identifier": "Annabel Roe"})
    async with terminal(closet.path) as t:
        await t.press("c")
        await t.type("Anna")
        await t.sees("Annabel Roe")
        await t.press("down", "enter")
        await t.sees("call 00:00")
    running = call.open_call(closet, "R. Adeyemi")
    assert running is not None
    entry = read(closet, running.id)
    assert (entry["caller"], entry["caller_note"]) == (None, "Anna")


async def test_undo_during_a_call_takes_back_the_work_and_leaves_the_call(
    closet: BinderFile, id_of: Callable[..., int]
) -> None:
    async with terminal(closet.path) as t:
        t.app.open_sheet(id_of("SW1:02"))
        await t.press("c", "enter")
        await t.sees("call 00:00")
        await t.press("v")
        await t.sees("verified today")
        running = call.open_call(closet, "R. Adeyemi")
        assert running is not None
        await t.until(lambda: "changed" in ways(closet, running.id).get("SW1:02", ()), "changed")
        await t.press("j")
        await t.type("looked")
        await t.press("enter", "u")
        await t.sees("never verified", "call 00:00")
        await t.press("r")
        await t.sees("verified today")
    assert read(closet, running.id)["body"] == "09:40 looked"


async def test_the_sheet_of_an_entry_names_what_it_touched(
    closet: BinderFile, id_of: Callable[..., int]
) -> None:
    mine = Editor(closet, "R. Adeyemi", clock=lambda: NOW)
    started = call.start(mine)
    call.attach(mine, started, [id_of("SW1:01")], "traced")
    async with terminal(closet.path) as t:
        t.app.open_sheet(started.id)
        await t.sees("Touched (1)", "traced")
        assert "SW1:01" in t.line_with("traced")
        assert "LT-0001" not in t.text


async def test_the_shelf_marks_a_call_of_mine_that_is_open(
    closet: BinderFile, tmp_path: Path
) -> None:
    started = call.start(Editor(closet, "R. Adeyemi", clock=lambda: NOW))
    shelf = tmp_path / "calls"
    shelf.mkdir()
    shutil.copy(closet.path, shelf / "closet.binder")
    async with terminal(shelf) as t:
        await t.sees(f"{started.name} open")
    async with terminal(shelf, who="K. Brandt") as t:
        await t.sees(" kB")
        assert started.name not in t.text


def at_a_terminal(binder: Path, state: Path) -> PseudoTerminal:
    env = dict(os.environ, BINDER_WHO="M. Osei", TERM="xterm-256color", XDG_STATE_HOME=str(state))
    return PseudoTerminal([sys.executable, "-m", "tui.main", str(binder)], env)


@pytest.mark.parametrize("end", ["kill", "hang_up"])
def test_a_dropped_line_loses_neither_the_call_nor_half_a_note(
    quillmere: Path, tmp_path: Path, end: str
) -> None:
    """SIGKILL cannot be caught, and SIGHUP comes when the line drops (POSIX.1-2017, signal.h)."""
    seen = at_a_terminal(quillmere, tmp_path / "state")
    seen.wait_for("Quillmere Veterinary Clinic")
    seen.press("c")
    seen.wait_for("Who is calling?")
    seen.press("enter")
    seen.wait_for("call 00:")
    seen.press("j")
    seen.wait_for("Note on")
    seen.type("lamp at the front desk is da")
    seen.wait_for("is da")
    getattr(seen, end)()
    with open_binder(quillmere, read_only=True) as binder:
        running = call.open_call(binder, "M. Osei")
        assert running is not None
    again = at_a_terminal(quillmere, tmp_path / "state")
    again.wait_for("goes on")
    again.press("j")
    again.wait_for("lamp at the front desk is da")
    again.kill()
    assert resolve(open_binder(quillmere, read_only=True), running.name).id == running.id


def test_who_leaves_with_a_call_open_is_told_of_it_in_a_line(
    quillmere: Path, tmp_path: Path
) -> None:
    seen = at_a_terminal(quillmere, tmp_path / "state")
    seen.wait_for("Quillmere Veterinary Clinic")
    seen.press("c")
    seen.wait_for("Who is calling?")
    seen.press("enter")
    seen.wait_for("call 00:")
    seen.press("ctrl+c")
    assert seen.wait_for_end() == 0
    seen.read()
    assert "still open: L-0040 (quillmere); goes on at the next start" in seen.text
    with open_binder(quillmere, read_only=True) as binder:
        assert call.open_call(binder, "M. Osei") is not None


def test_a_second_of_the_clock_costs_few_bytes(quillmere: Path, tmp_path: Path) -> None:
    """The aim is 60 bytes a second: only the cells of the clock, and the cursor put back."""
    seen = at_a_terminal(quillmere, tmp_path / "state")
    seen.wait_for("Quillmere Veterinary Clinic")
    seen.press("c")
    seen.wait_for("Who is calling?")
    seen.press("enter")
    seen.wait_for("call 00:03")
    before = seen.received
    seen.wait_for("call 00:07")
    seen.read()
    seen.kill()
    assert (seen.received - before) / 4 < 60
