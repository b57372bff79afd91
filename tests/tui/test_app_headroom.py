"""Headroom at the app: the rows of divider 9, the sheet behind one, what is filled in from it."""

from __future__ import annotations

from pathlib import Path

import pytest

from binder.file import open_binder
from binder.headroom import headroom
from binder.headroom.additions import parse
from binder.headroom.what_if import keep
from binder.read import read, read_where, resolve
from binder.records.catalog import BY_NAME
from tests.tui.screen_text import NOW, Terminal, terminal


async def stand_on(t: Terminal, text: str) -> None:
    """Walk down to the first line that has a text."""
    lines = t.app.screen.main_list  # type: ignore[attr-defined]
    for at in range(len(lines.lines)):
        if text in "".join(part.text for part in lines.lines.line(at, lines.size.width)):
            lines.move_to(at)
            await t.pilot.pause()
            return
    raise AssertionError(f"no line has {text}\n{t.text}")


@pytest.mark.parametrize("size", [(60, 20), (80, 24), (120, 40)])
async def test_the_divider_opens_on_what_is_scarcest(
    quillmere: Path, size: tuple[int, int]
) -> None:
    with open_binder(quillmere, read_only=True) as binder:
        answer = headroom(binder, today=NOW.date())
    rows = answer.rows
    async with terminal(quillmere, size=size) as t:
        await t.press("9")
        await t.sees("Headroom", rows[0].resource, f"1 of {len(rows) + len(answer.notes)}")
        first = next(at for at, each in enumerate(t.lines) if rows[0].resource in each)
        for row, drawn in zip(rows[:6], t.lines[first:], strict=False):
            assert all(word in drawn for word in (row.state, row.resource, row.where.name))
            assert ("#>" in drawn or "=>" in drawn) == (row.state in ("over", "short"))
        assert all(len(each) <= size[0] for each in t.lines)


async def test_what_is_recorded_stays_beside_what_is_computed(quillmere: Path) -> None:
    async with terminal(quillmere) as t:
        await t.press("9", "right")
        await t.sees("R-0111", "n new")
        await t.press("left")
        await t.sees("#used", "w what if")


async def test_one_key_goes_through_the_states_and_one_through_the_spaces(quillmere: Path) -> None:
    with open_binder(quillmere, read_only=True) as binder:
        rows = headroom(binder, today=NOW.date()).rows
    over = [row for row in rows if row.state == "over"]
    shed = [row for row in rows if row.where.space == "1K"]
    async with terminal(quillmere) as t:
        await t.press("9", "s")
        await t.sees(f"only over | 1 of {len(over)}")
        await t.press("s")
        await t.sees("only short")
        await t.press("f")
        await t.sees("Headroom of which space?")
        spaces = list(dict.fromkeys(row.where.space for row in rows if row.where.space))
        await t.press(*["down"] * (spaces.index("1K") + 1), "enter")
        await t.sees(f"only in 1K | 1 of {len(shed)}")


async def test_the_sheet_works_the_sum_through(quillmere: Path) -> None:
    """80 % of what the switch can feed may be planned: 130 W of budget leave 104 W."""
    async with terminal(quillmere) as t:
        await t.press("9")
        await stand_on(t, "PoE watts          SW3")
        await t.press("enter")
        await t.sees(
            "PoE watts of SW3", "rated      130 W", "limit      104 W", "130 W × 0.8 = 104 W"
        )
        await t.sees("mend", "measured", "trend", "basis")


async def test_a_missing_field_filled_in_from_its_row_makes_the_row_known(quillmere: Path) -> None:
    async with terminal(quillmere) as t:
        await t.press("9")
        await stand_on(t, "needs cooling of 1E")
        await t.press("enter")
        await t.sees("heat of 1E", "needs      cooling of 1E: Enter fills it in")
        await stand_on(t, "Enter fills it in")
        await t.press("enter")
        await t.sees("Change space 1E", "Cooling")
        await t.type("2 kW")
        await t.press("f2")
        await t.sees("heat of 1E", "limit")
        await t.sees_no("cooling of 1E")
        await stand_on(t, "base power of FIRE1: Enter fills it in")
        await t.press("enter")
        await t.sees("Change hardware FIRE1", "Base power")
        await t.type("15 W")
        await t.press("f2")
        await t.sees_no("Enter fills it in")
        assert read(t.app.binder, resolve(t.app.binder, "1E").id)["cooling_w"] == 2000
        await t.press("q")
        await t.sees("fine")
        rows = headroom(t.app.binder, today=NOW.date()).rows
        assert [row.state for row in rows if (row.resource, row.where.name) == ("heat", "1E")] == [
            "fine"
        ]


async def test_a_missing_reading_is_taken_from_its_row(quillmere: Path) -> None:
    async with terminal(quillmere) as t:
        await t.press("9")
        await stand_on(t, "DHCP addresses     voice")
        await t.press("enter")
        await stand_on(t, "a reading (DHCP leases) of voice")
        await t.press("enter")
        await t.sees("New reading", "voice", "DHCP leases")
        while "Value" not in t.app.screen.field.label:  # type: ignore[attr-defined]
            await t.press("down")
        await t.type("11")
        await t.press("f2")
        await t.sees("DHCP addresses of voice", "measured   11")
        taken = read_where(t.app.binder, BY_NAME["reading"], "t.quantity = 'DHCP leases'")
        assert 11 in [reading["value"] for reading in taken]


async def test_a_what_if_is_kept_in_one_step_and_undone(quillmere: Path) -> None:
    async with terminal(quillmere) as t:
        before = headroom(t.app.binder, today=NOW.date()).rows
        await t.press("9", "w")
        await t.sees("What if these were added", "2 x storage server: 2U, 150 W each")
        await t.type("2 x storage server: 2U, 150 W each")
        await t.sees("it does not fit", "runs out first: rack weight of 1A-R1", "smallest change")
        await t.press("pagedown")
        await t.sees("takes up the reservation 'storage server'")
        await t.press("pageup", "f2")
        await t.sees("Keep it as planned all the same?")
        assert planned(t) == []
        await t.press("y")
        await t.sees("kept as planned: 2 x storage server", "-3U")
        assert len(planned(t)) == 2
        await t.press("u")
        await t.sees("undone: plan 2 x storage server")
        assert planned(t) == []
        assert headroom(t.app.binder, today=NOW.date()).rows == before


async def test_a_what_if_that_is_left_changes_nothing(quillmere: Path) -> None:
    async with terminal(quillmere) as t:
        hardware = read_where(t.app.binder, BY_NAME["hardware"])
        await t.press("9", "w")
        await t.type("3 x camera: class 3, on SW3")
        await t.sees("runs out first")
        await t.press("escape")
        await t.sees("#used")
        assert read_where(t.app.binder, BY_NAME["hardware"]) == hardware


async def test_a_line_that_is_not_understood_is_told_and_can_be_mended(quillmere: Path) -> None:
    async with terminal(quillmere, size=(60, 20)) as t:
        await t.press("9", "w")
        await t.type("2 x camera: 12 parsecs")
        await t.sees("line 1: '12 parsecs' is not understood", "not understood yet")
        await t.press("f2")
        await t.sees("line 1: '12 parsecs' is not understood")
        await t.press(*["backspace"] * len("12 parsecs"))
        await t.type("class 2")
        await t.sees_no("not understood")
        await t.sees("state")
        assert all(len(line) <= 60 for line in t.lines)


async def test_read_only_a_what_if_answers_and_cannot_be_kept(quillmere: Path) -> None:
    async with terminal(quillmere, read_only=True) as t:
        await t.press("9", "w")
        await t.type("1 x phone: class 2")
        await t.sees("state ")
        assert "keep it" not in t.lines[-1]
        await t.press("f2")
        await t.sees("open read-only")


async def test_a_change_of_someone_else_moves_the_rows(quillmere: Path) -> None:
    """Two technicians: what one plans, the other sees without a key."""
    async with terminal(quillmere) as t:
        await t.press("9")
        await t.sees("5 over, 3 short")
        with open_binder(quillmere) as other:
            keep(other, "M. Osei", parse(other, "storage server: 2U, 600 W", system="us"))
        await t.sees_no("5 over, 3 short")


def planned(t: Terminal) -> list[str]:
    """The storage servers that are planned."""
    found = read_where(t.app.binder, BY_NAME["hardware"], "t.status = 'planned'")
    return [record.name for record in found if record.name.startswith("storage server")]
