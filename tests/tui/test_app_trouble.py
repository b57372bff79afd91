"""From the caller to the trouble page of their circuit, by keys."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.tui.screen_text import terminal


@pytest.mark.parametrize("size", [(80, 24), (120, 40)])
async def test_the_callers_number_leads_to_the_circuit_in_three_keys(
    quillmere: Path, size: tuple[int, int]
) -> None:
    async with terminal(quillmere, size=size) as t:
        await t.press("slash")
        await t.type("3125550106")
        await t.sees("Tomás Reyes")
        await t.press("enter", "b", "enter")
        await t.sees("Trouble with circuit fibre", "Look, in this order", "+1 312 555 0160")


async def test_the_page_is_read_beside_the_sheet_from_the_start(quillmere: Path) -> None:
    async with terminal(quillmere, size=(120, 40)) as t:
        await t.press("slash")
        await t.type("3125550106")
        await t.sees("Tomás Reyes")
        await t.press("enter", "b", "enter")
        await t.sees("doubtful (?)", "Circuit fibre", "Underlying carrier")


async def test_the_pin_is_asked_for_on_its_line(quillmere: Path) -> None:
    async with terminal(quillmere) as t:
        await t.press("slash")
        await t.type("LKF-2203")
        await t.press("enter", "b")
        await t.sees("Trouble with circuit fibre")
        while "fibre account PIN" not in t.lines[1 + t.app.screen.main_list.cursor]:  # type: ignore[attr-defined]
            await t.press("down")
        await t.press("k")
        await t.sees("assphrase")


async def test_a_line_opens_what_it_is_about(quillmere: Path) -> None:
    async with terminal(quillmere) as t:
        await t.press("slash")
        await t.type("SW1")
        await t.press("enter", "b")
        await t.sees("Trouble with hardware SW1", "What feeds it")
        while "PS1 < UPS1" not in t.lines[1 + t.app.screen.main_list.cursor]:  # type: ignore[attr-defined]
            await t.press("down")
        await t.press("enter")
        await t.sees("Hardware UPS1")


async def test_every_sheet_tells_what_changed_here_lately(quillmere: Path) -> None:
    async with terminal(quillmere, size=(120, 60)) as t:
        await t.press("slash")
        await t.type("K-03")
        await t.press("enter")
        await t.sees("What changed here lately", "load ")


@pytest.mark.parametrize(
    ("key", "seen"),
    [
        ("ctrl+t", "Trace from"), ("ctrl+r", "Trouble with hardware SW1"),
        ("ctrl+o", "If hardware"), ("ctrl+l", "History"),
    ],
)  # fmt: skip
async def test_one_key_from_what_is_found(quillmere: Path, key: str, seen: str) -> None:
    async with terminal(quillmere) as t:
        await t.press("slash")
        await t.type("SW1")
        await t.sees("switch")
        await t.press(key)
        await t.sees(seen)


async def test_what_was_looked_for_is_replaced_by_the_next_thing_typed(quillmere: Path) -> None:
    async with terminal(quillmere) as t:
        await t.press("slash")
        await t.type("SW1")
        await t.press("enter")
        await t.sees("Hardware SW1")
        await t.press("escape")
        await t.type("GW1")
        await t.sees("gateway")
        await t.sees_no("SW1GW1")
