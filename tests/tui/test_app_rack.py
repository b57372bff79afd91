"""A rack drawn and walked. Units are counted from the bottom (EIA/ECA-310-E) unless told."""

from __future__ import annotations

import re
from collections.abc import Callable
from datetime import date

import pytest
from rich.cells import cell_len

from binder.elevation import elevation
from binder.file import BinderFile
from binder.read import read, resolve
from tests.conftest import Add
from tests.tui.screen_text import Terminal, terminal
from tui.app.elevation import rack_rows

TODAY = date(2026, 3, 14)


def drawn(binder: BinderFile, face: str = "front", width: int = 60) -> list[str]:
    rack = resolve(binder, "1A-R1").id
    rows = rack_rows(elevation(binder, rack, TODAY), face, width)
    return ["".join(part.text for part in row.parts) for row in rows]


def row(rows: list[str], u: int) -> str:
    return next(text for text in rows if text.startswith(f" {u:>2} "))


async def at_rack(t: Terminal) -> None:
    await t.press("2", "enter")
    await t.sees("of 18 U used", "18 │")


def test_the_highest_unit_is_drawn_on_top(closet: BinderFile) -> None:
    rows = drawn(closet)
    assert [int(text[:3]) for text in rows[:18]] == list(range(18, 0, -1))
    assert "[ 1A-A  patch panel" in row(rows, 18)


def test_a_rack_numbered_from_the_top_has_its_first_unit_on_top(
    closet: BinderFile, change: Callable[..., None]
) -> None:
    change("1A-R1", numbering="top")
    rows = drawn(closet)
    assert [int(text[:3]) for text in rows[:18]] == list(range(1, 19))


@pytest.mark.parametrize(("numbering", "opening_u"), [("bottom", 11), ("top", 10)])
def test_hardware_of_several_units_is_one_box(
    closet: BinderFile, add: Add, change: Callable[..., None], numbering: str, opening_u: int
) -> None:
    change("1A-R1", numbering=numbering)
    add("hardware", identifier="UPS1", form="UPS", rack="1A-R1", u_position=10, height_u=2)
    rows = drawn(closet)
    closing_u = 21 - opening_u
    assert "┌ UPS1" in row(rows, opening_u)
    assert "└─" in row(rows, closing_u)
    assert "UPS1" not in row(rows, closing_u)


def test_patched_ports_are_counted(closet: BinderFile) -> None:
    assert "2 of 6 patched" in row(drawn(closet), 18)
    assert "3 of 9 patched" in row(drawn(closet), 16)


def test_states_are_told_by_pattern_and_word(closet: BinderFile, add: Add) -> None:
    place = {"rack": "1A-R1", "height_u": 1}
    add("hardware", identifier="SRV1", form="server", u_position=5, status="planned", **place)
    add("hardware", identifier="SW0", form="switch", u_position=4, status="removed", **place)
    add("reservation", identifier="storage server", subject=resolve(closet, "1A-R1").id,
        resource="rack units", quantity=2, u_position=2)  # fmt: skip
    rows = drawn(closet)
    assert row(rows, 5).count(":") == 2
    assert "planned" in row(rows, 5)
    assert "SW0" not in "".join(rows)
    assert ". reserved: storage server (2U)" in row(rows, 3)
    assert row(rows, 2).rstrip().endswith(".│")


def test_what_stands_on_the_other_side_is_told_where_this_side_is_free(
    closet: BinderFile, add: Add
) -> None:
    add("hardware", identifier="PDU1", form="power strip", rack="1A-R1", u_position=7, height_u=1,
        face="rear")  # fmt: skip
    assert "(rear: PDU1)" in row(drawn(closet), 7)
    assert "[ PDU1" in row(drawn(closet, "rear"), 7)
    assert "(front: SW1)" in row(drawn(closet, "rear"), 16)


def test_hardware_at_no_unit_is_listed_below(closet: BinderFile, add: Add) -> None:
    add("hardware", identifier="STRIP1", form="power strip", rack="1A-R1", height_u=0)
    rows = drawn(closet)
    assert "in no U of their own" in rows[18]
    assert "STRIP1" in rows[19]


@pytest.mark.parametrize("width", [20, 44, 66, 100, 160])
def test_the_rails_stand_straight_whatever_letters_are_between_them(
    closet: BinderFile, add: Add, width: int
) -> None:
    add("hardware", identifier="受付サーバー" * 4, form="server", rack="1A-R1", u_position=9,
        height_u=1)  # fmt: skip
    assert {cell_len(text) for text in drawn(closet, width=width)[:18]} == {width - 1}


async def test_enter_opens_the_hardware_and_f_turns_the_rack(closet: BinderFile) -> None:
    async with terminal(closet.path) as t:
        await at_rack(t)
        await t.press("down", "down", "enter")
        await t.sees("Hardware SW1")
        await t.press("q", "f")
        await t.sees("rear   0 of 18 U used", "(front: SW1)")


async def test_the_rack_of_what_is_at_the_rear_opens_at_the_rear(
    closet: BinderFile, add: Add
) -> None:
    rear = add("hardware", identifier="PDU1", form="power strip", rack="1A-R1", u_position=7,
               height_u=1, face="rear")  # fmt: skip
    async with terminal(closet.path) as t:
        t.app.open_sheet(rear)
        await t.sees("Hardware PDU1")
        await t.press("w")
        await t.sees("rear   1 of 18 U used", "[ PDU1", "(front: SW1)")
        await t.press("enter")
        await t.sees("Hardware PDU1")


async def test_hardware_is_carried_to_another_unit(closet: BinderFile) -> None:
    async with terminal(closet.path) as t:
        await at_rack(t)
        await t.press("down", "down", "m")
        await t.sees("Carrying SW1")
        await t.press("down")  # over GW1
        await t.sees("> SW1", "to U 15")
        await t.press("enter")
        await t.sees("! U 15 of 1A-R1 front is taken by GW1 (U 15); free: 1-14, 16-17")
        await t.press("down", "enter")
        await t.sees("SW1 is at U 14")
        assert read(closet, resolve(closet, "SW1").id)["u_position"] == 14
        await t.press("u")
        await t.sees("undone: move SW1 to U 14 of 1A-R1")
    assert read(closet, resolve(closet, "SW1").id)["u_position"] == 16


async def test_hardware_carried_can_be_left_where_it_was(closet: BinderFile) -> None:
    async with terminal(closet.path) as t:
        await at_rack(t)
        await t.press("m", "down", "escape")
        await t.sees("2 of 6 patched", "of 18 U used")
    assert read(closet, resolve(closet, "1A-A").id)["u_position"] == 18


async def test_hardware_is_put_at_a_free_unit(closet: BinderFile) -> None:
    async with terminal(closet.path) as t:
        await at_rack(t)
        await t.press("down", "n")
        await t.sees("U 17 is free on the front")
        await t.press("enter")
        await t.sees("New hardware")
        await t.type("CM1")
        await t.press("enter")
        await t.type("cable m")
        await t.press("enter", "f2")
        await t.sees("[ CM1  cable manager")
    placed = read(closet, resolve(closet, "CM1").id)
    assert (placed["u_position"], placed["height_u"], placed["face"]) == (17, 1, "front")


async def test_units_are_reserved(closet: BinderFile) -> None:
    async with terminal(closet.path) as t:
        await at_rack(t)
        await t.press("down", "n", "down", "down", "enter")
        await t.sees("New reservation", "rack 1A-R1")
        await t.type("storage server")
        await t.press("f2")
        await t.sees(". reserved: storage server")


async def test_hardware_of_the_binder_is_put_at_a_free_unit(closet: BinderFile, add: Add) -> None:
    """What stands nowhere is offered at once; anything else by part of its name."""
    add("hardware", identifier="REC1", form="recorder", height_u=2, description="video recorder")
    async with terminal(closet.path) as t:
        await at_rack(t)
        await t.press("end", "n", "down", "enter")
        await t.sees("Put what at U 1 of 1A-R1 front?", "REC1", "video recorder, in no place")
        await t.press("down", "enter")
        await t.sees("REC1 is at U 1-2 of 1A-R1", "┌ REC1")
        await t.press("u")
        await t.sees("undone: put REC1 at U 1 of 1A-R1")
        await t.press("end", "n", "down", "enter")
        await t.sees("Put what at U 1")
        await t.type("sw1")
        await t.sees("in 1A-R1 U 16")
        await t.press("enter")
        await t.sees("SW1 is at U 1 of 1A-R1")
    assert read(closet, resolve(closet, "SW1").id)["u_position"] == 1


async def test_what_does_not_fit_is_told_with_the_units_that_are_free(
    closet: BinderFile, add: Add
) -> None:
    add("hardware", identifier="UPS1", form="UPS", height_u=2)
    async with terminal(closet.path) as t:
        await at_rack(t)
        await t.press("down", "n", "down", "enter")
        await t.sees("Put what at U 17")
        await t.type("ups1")
        await t.press("enter")
        await t.sees("U 18 of 1A-R1 front is taken by 1A-A (U 18); free for 2U: 1-14")
    assert read(closet, resolve(closet, "UPS1").id)["rack"] is None


async def test_hardware_is_taken_out_and_keeps_its_record_and_cords(closet: BinderFile) -> None:
    async with terminal(closet.path) as t:
        await at_rack(t)
        await t.press("down", "down", "x")
        await t.sees("Take SW1 out of 1A-R1?", "3 of its 9 ports")
        await t.press("n")
        await t.sees("[ SW1")
        await t.press("x", "y")
        await t.sees("SW1 is out of 1A-R1")
        await t.sees_no("[ SW1")
        out = read(closet, resolve(closet, "SW1").id)
        assert (out["rack"], out["u_position"]) == (None, None)
        assert resolve(closet, "SW1:03").kind == "port"
        await t.press("u")
        await t.sees("undone: take SW1 out of 1A-R1", "[ SW1")


async def test_the_watts_of_a_switch_are_told_of_its_budget(closet: BinderFile) -> None:
    async with terminal(closet.path, size=(120, 40)) as t:
        await at_rack(t)
        assert re.search(r"\d+/370 W PoE  3 of 9 patched", t.line_with("SW1"))


async def test_a_free_unit_is_no_record_to_remove(closet: BinderFile) -> None:
    async with terminal(closet.path) as t:
        await at_rack(t)
        await t.press("down", "d")
        await t.sees("no record here")
        assert " remove " not in t.lines[-1]


async def test_the_rack_of_hardware_is_drawn_with_the_cursor_on_it(closet: BinderFile) -> None:
    async with terminal(closet.path) as t:
        t.app.open_sheet(resolve(closet, "GW1").id)
        await t.press("w")
        await t.sees("of 18 U used")
        await t.press("enter")
        await t.sees("Hardware GW1")
