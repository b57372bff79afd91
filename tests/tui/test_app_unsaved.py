"""A dropped line in the middle of a form loses nothing that was typed."""

from __future__ import annotations

import os
import sys
from collections.abc import Callable
from pathlib import Path

import pytest

from binder.edit import Editor
from binder.file import BinderFile
from binder.read import read, resolve
from binder.unsaved import state_folder
from tests.pseudo_terminal import PseudoTerminal
from tests.tui.screen_text import terminal


@pytest.fixture(autouse=True)
def state(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.setenv("XDG_STATE_HOME", str(tmp_path / "state"))
    return tmp_path / "state"


def files() -> list[Path]:
    return [path for path in state_folder().rglob("*.unsaved") if path.is_file()]


async def test_a_form_that_was_left_by_force_is_offered_and_goes_on(closet: BinderFile) -> None:
    async with terminal(closet.path) as t:
        await t.press("2", "right", "n")
        await t.type("SW9")
        await t.press("enter")
        await t.type("switch")
        await t.sees("SW9")
        kept = files()
        assert len(kept) == 1
        held = kept[0].read_bytes()
    kept[0].parent.mkdir(parents=True, exist_ok=True)
    kept[0].write_bytes(held)  # as the kill would have left it

    async with terminal(closet.path) as t:
        await t.sees("not saved: 'New hardware'", "z goes on with it")
        await t.press("z")
        await t.sees("New hardware", "SW9", "switch")
        await t.press("f2")
        await t.sees("SW9 is in the binder")
    assert read(closet, resolve(closet, "SW9").id)["form"] == "switch"
    assert files() == []


async def test_what_was_saved_or_dropped_is_not_kept(closet: BinderFile) -> None:
    async with terminal(closet.path) as t:
        await t.press("2", "right", "n")
        await t.type("SW9")
        await t.press("escape")
        await t.sees("Drop what you typed")
        await t.press("y")
        await t.sees_no("New hardware")
    assert files() == []


async def test_somebody_elses_change_meanwhile_is_still_seen_as_a_clash(
    closet: BinderFile, id_of: Callable[[str], int]
) -> None:
    async with terminal(closet.path) as t:
        await t.press("slash")
        await t.type("hardware SW1")
        await t.press("enter", "e")
        while "Serial" not in t.line_with("NV24P-004417"):
            await t.press("down")
        await t.sees("Change hardware SW1")
        form = t.app.screen
        form.go_to(form.rows.index("serial"))  # type: ignore[attr-defined]
        await t.type("-B")
        await t.sees("NV24P-004417-B")
        held = {path: path.read_bytes() for path in files()}
    for path, data in held.items():
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_bytes(data)
    with Editor(closet, "K. Brandt").step("serial read again") as step:
        step.change(id_of("hardware SW1"), {"serial": "NV24P-009999"})

    async with terminal(closet.path) as t:
        await t.press("z")
        await t.sees("NV24P-004417-B")
        await t.press("f2")
        await t.sees("NV24P-004417-B", "NV24P-009999", "K. Brandt")


@pytest.mark.parametrize("end", ["kill", "hang_up"])
def test_the_line_drops_in_the_middle_of_a_form(quillmere: Path, state: Path, end: str) -> None:
    env = dict(os.environ, BINDER_WHO="M. Osei", TERM="xterm-256color", XDG_STATE_HOME=str(state))
    argv = [sys.executable, "-m", "tui.main", str(quillmere)]
    seen = PseudoTerminal(argv, env)
    seen.wait_for("Quillmere Veterinary Clinic")
    seen.press("right", "n")
    seen.wait_for("New contact")
    seen.type("Ines Calder, night nur")
    seen.wait_for("night nur")
    seen.read(0.3)
    getattr(seen, end)()

    again = PseudoTerminal(argv, env)
    again.wait_for("not saved")
    again.press("z")
    again.wait_for("Ines Calder, night nur")
    again.kill()
