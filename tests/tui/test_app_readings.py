"""A round of readings at the app: each thing usually read, in one walk and one step."""

from __future__ import annotations

import os
import sys
from pathlib import Path

import pytest

from binder.edit import Editor
from binder.file import open_binder
from binder.read import resolve
from binder.unsaved import state_folder
from tests.pseudo_terminal import PseudoTerminal
from tests.tui.screen_text import terminal


def values(path: Path) -> list[float]:
    with open_binder(path, read_only=True) as binder:
        rows = binder.connection.execute("SELECT value FROM reading ORDER BY read_at, id")
        return [row[0] for row in rows]


@pytest.mark.parametrize("size", [(80, 24), (120, 40)])
async def test_a_round_skips_what_is_left_empty_and_saves_the_rest_in_one_step(
    quillmere: Path, size: tuple[int, int]
) -> None:
    before = len(values(quillmere))
    async with terminal(quillmere, size=size) as t:
        await t.press("9", "n")
        await t.sees("1A: temperature C", "1 of", "last 76.3 °F")  # the binder is in US units
        await t.press("enter")
        await t.sees("1K: temperature C")
        await t.press("enter")
        await t.sees("UPS1: UPS load W")
        await t.press(*"425", "enter")
        await t.sees("UPS2: UPS load W")
        await t.press("escape")
        await t.sees("Save 1 reading?", "UPS1, UPS load W: 425 W")
        await t.press("y")
        await t.sees("1 reading saved")
    assert len(values(quillmere)) == before + 1
    assert 425 in values(quillmere)


async def test_another_unit_is_refused_and_what_was_typed_stands(quillmere: Path) -> None:
    async with terminal(quillmere) as t:
        await t.press("9", "n", "enter", "enter")
        await t.sees("UPS1: UPS load W")
        await t.press("3", "A", "enter")
        await t.sees("! '3A' is not understood as power", "3A")


async def test_a_digit_too_many_asks_once(quillmere: Path) -> None:
    async with terminal(quillmere) as t:
        await t.press("9", "n", "enter", "enter")
        await t.sees("UPS1: UPS load W")
        await t.press(*"4250", "enter")
        await t.sees("4250 W is far from the 5 readings before")
        await t.press("y")
        await t.sees("UPS2: UPS load W")
        await t.press("escape")
        await t.sees("Save 1 reading?")
        await t.press("n")
        await t.sees("nothing is saved")
    assert 4250 not in values(quillmere)


async def test_what_a_bare_number_is_taken_in_stands_beside_what_was_read_last(
    quillmere: Path,
) -> None:
    """A room of 24 degrees Fahrenheit is no room: 76.3 F is 24.6 C, by 9/5 and 32."""
    async with terminal(quillmere) as t:
        await t.press("9", "n")
        await t.sees("last 76.3 °F")
        await t.type("24")
        await t.press("enter")
        await t.sees("1A, temperature C: 24 °F is far from")


def kept_rounds() -> list[Path]:
    return [path for path in state_folder().rglob("*.unsaved") if path.is_file()]


@pytest.mark.parametrize("end", ["kill", "hang_up"])
def test_a_round_that_was_cut_off_goes_on_where_it_was(quillmere: Path, end: str) -> None:
    before = len(values(quillmere))
    env = dict(os.environ, BINDER_WHO="M. Osei", TERM="xterm-256color")
    argv = [sys.executable, "-m", "tui.main", str(quillmere)]
    seen = PseudoTerminal(argv, env)
    seen.wait_for("Quillmere Veterinary Clinic")
    seen.press("9")
    seen.wait_for("PoE watts")
    seen.press("n")
    seen.wait_for("1A: temperature C")
    seen.press("enter")
    seen.wait_for("1K: temperature C")
    seen.press("enter")
    seen.wait_for("UPS1: UPS load W")
    seen.type("425")
    seen.press("enter")
    seen.wait_for("UPS2: UPS load W")
    seen.type("9")
    seen.read(0.3)
    getattr(seen, end)()

    again = PseudoTerminal(argv, env)
    again.wait_for("not saved: 'a round of readings'")
    again.press("z")
    again.wait_for("UPS2: UPS load W")
    again.wait_for("│ 9 ")
    again.type("5")
    again.press("enter")
    again.wait_for("UPS3: UPS load W")
    again.press("esc")
    again.wait_for("Save 2 readings?")
    again.press("y")
    again.wait_for("2 readings saved")
    again.kill()
    assert values(quillmere)[-2:] == [425, 95]
    assert len(values(quillmere)) == before + 2
    assert kept_rounds() == []


async def test_a_round_is_gone_on_with_or_begun_anew_where_it_begins(quillmere: Path) -> None:
    async with terminal(quillmere) as t:
        await t.press("9", "n", "enter", "enter")
        await t.sees("UPS1: UPS load W")
        await t.press(*"425", "enter")
        await t.sees("UPS2: UPS load W")  # and here the app is closed
    async with terminal(quillmere) as t:
        await t.press("9", "n")
        await t.sees("Your round of 2026-03-14", "was cut off", "1 reading, not saved yet")
        await t.press("escape", "n", "down", "enter")
        await t.sees("1A: temperature C")
        assert kept_rounds() == [], "begun anew, the one before is dropped"


async def test_what_is_gone_meanwhile_is_left_out_of_a_round_that_goes_on(
    quillmere: Path,
) -> None:
    async with terminal(quillmere) as t:
        await t.press("9", "n", "enter", "enter", *"425", "enter", "enter", "enter")
        await t.sees("UPS1: UPS runtime min")
        await t.press("enter", "enter")
        await t.sees("UPS3: UPS runtime min", "never read before; a bare number is min")
        await t.press(*"12", "enter")
        await t.sees("SW1: PoE draw W")
    with open_binder(quillmere) as binder, Editor(binder, "K. Brandt").step("out") as step:
        step.change(resolve(binder, "UPS3", "hardware").id, {"status": "removed"})
    async with terminal(quillmere) as t:
        await t.press("9", "n", "enter")
        await t.sees("SW1: PoE draw W")
        await t.press("escape")
        await t.sees("Save 1 reading? 1 reading of what is not here any more is left out.")
        await t.press("n")
        await t.sees("nothing is saved")
    assert kept_rounds() == []
