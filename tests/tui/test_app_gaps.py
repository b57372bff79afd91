"""The Closeout divider: gaps by place, mended or waived from where they stand.

What must be mended before acceptance: WSU construction guide specification 27 05 00, 3.19.
"""

from __future__ import annotations

from pathlib import Path

import pytest

from binder.closeout import gaps
from binder.file import BinderFile, open_binder
from binder.read import read_where
from binder.records.catalog import BY_NAME
from tests.tui.screen_text import NOW, Terminal, terminal

TODAY = NOW.date()


async def stand_on(t: Terminal, text: str) -> None:
    """Walk to the first line that holds a text."""
    await t.sees("what is missing")
    listed = t.app.screen.main_list  # type: ignore[attr-defined]
    for at in range(len(listed.lines)):
        told = "".join(part.text for part in listed.lines.line(at, 200))
        if text in told:
            listed.move_to(at)
            await t.pilot.pause()
            return
    raise AssertionError(f"no gap says {text}")


@pytest.mark.parametrize("size", [(80, 24), (120, 40)])
async def test_a_gap_that_is_mended_leaves_the_list_at_once(
    closet: BinderFile, size: tuple[int, int]
) -> None:
    async with terminal(closet.path, size=size) as t:
        await t.press("0")
        await stand_on(t, "SW1 has no owner")
        await t.press("enter")
        await t.sees("Change hardware SW1", "Owner")
        await t.type("client")
        await t.press("f2")
        await t.sees("saved SW1")
        told = [gap.says for gap in gaps(closet, TODAY).gaps]
        assert "SW1 has no owner" not in told
        rows = t.app.screen.rows  # type: ignore[attr-defined]
        assert all(row.gap is None or row.gap.says != "SW1 has no owner" for row in rows._rows)


async def test_a_missing_record_is_added_with_what_is_known(closet: BinderFile) -> None:
    async with terminal(closet.path) as t:
        await t.press("0")
        await stand_on(t, "SW1 has no warranty recorded")
        await t.press("enter")
        await t.sees("New warranty", "hardware SW1")


async def test_a_gap_is_waived_with_a_reason_and_a_name(closet: BinderFile) -> None:
    async with terminal(closet.path) as t:
        await t.press("0")
        await stand_on(t, "1A-R1 hangs on a wall: anchors")
        await t.press("x")
        await t.sees("Why is this let through?")
        await t.type("checked on site")
        await t.press("enter")
        await t.type("Ann Marlow")
        await t.press("enter")
        await t.sees("waived:")
        await stand_on(t, "checked on site, Ann Marlow")
        await t.press("u")
        await t.sees("undone")
    assert read_where(closet, BY_NAME["waiver"]) == ()


async def test_only_what_stands_in_the_way_can_be_asked_for(quillmere: Path) -> None:
    async with terminal(quillmere, size=(100, 60)) as t:
        await t.press("0")
        await t.sees("must, ")
        await t.press("s")
        await t.sees_no("should  ")
    with open_binder(quillmere, read_only=True) as binder:
        assert gaps(binder, TODAY).open_musts > 0
