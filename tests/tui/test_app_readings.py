"""A round of readings at the app: each thing usually read, in one walk and one step."""

from __future__ import annotations

from pathlib import Path

import pytest

from binder.file import open_binder
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
        await t.sees("1A: temperature C", "1 of", "last 24.6")
        await t.press("enter")
        await t.sees("1K: temperature C")
        await t.press("enter")
        await t.sees("UPS1: UPS load W")
        await t.press(*"425", "enter")
        await t.sees("UPS2: UPS load W")
        await t.press("escape")
        await t.sees("Save 1 reading?", "UPS1, UPS load W: 425")
        await t.press("y")
        await t.sees("1 reading saved")
    assert len(values(quillmere)) == before + 1
    assert 425 in values(quillmere)


async def test_another_unit_is_refused_and_what_was_typed_stands(quillmere: Path) -> None:
    async with terminal(quillmere) as t:
        await t.press("9", "n", "enter", "enter")
        await t.sees("UPS1: UPS load W")
        await t.press("3", "A", "enter")
        await t.sees("'3A' is not understood as power", "3A")


async def test_a_digit_too_many_asks_once(quillmere: Path) -> None:
    async with terminal(quillmere) as t:
        await t.press("9", "n", "enter", "enter")
        await t.sees("UPS1: UPS load W")
        await t.press(*"4250", "enter")
        await t.sees("4250 is far from the 5 readings before")
        await t.press("y")
        await t.sees("UPS2: UPS load W")
        await t.press("escape")
        await t.sees("Save 1 reading?")
        await t.press("n")
        await t.sees("nothing is saved")
    assert 4250 not in values(quillmere)
