"""List, sheet and drawing side by side where a terminal has room; elsewhere one at a time."""

from __future__ import annotations

import pytest

from binder.file import BinderFile
from binder.read import resolve
from tests.tui.screen_text import Terminal, terminal
from tui.app import screen
from tui.app.line_list import Drawing

VAST = (200, 50)


def third(t: Terminal) -> str:
    """What the third pane shows."""
    lines = t.app.screen.query_one("#drawing", Drawing).shown
    return "\n".join("".join(part.text for part in parts) for parts in lines)


async def test_a_switch_stands_in_its_rack_beside_its_sheet(closet: BinderFile) -> None:
    async with terminal(closet.path, size=VAST) as t:
        await t.press("2", "right")
        await t.sees("Hardware", "1A-R1  18U, swing-out wall", "[ 1A-A  patch panel")
        await t.press("end")
        await t.until(lambda: "Serial" in t.text, "the sheet")
        await t.until(lambda: "1A-R1" in third(t), "the rack of what the cursor came to")
        assert "[ SW1  switch" in third(t)


async def test_the_thing_is_marked_in_the_drawing(closet: BinderFile) -> None:
    async with terminal(closet.path, size=VAST) as t:
        t.app.open_sheet(resolve(closet, "GW1").id)
        await t.sees("Hardware GW1")
        await t.until(lambda: "GW1" in third(t), "the rack")
        shown = t.app.screen.query_one("#drawing", Drawing).shown
        marked = [parts for parts in shown if any(part.look == "here" for part in parts)]
        assert len(marked) == 1
        assert "GW1" in "".join(part.text for part in marked[0])


async def test_of_a_port_the_way_is_drawn(closet: BinderFile) -> None:
    async with terminal(closet.path, size=VAST) as t:
        t.app.open_sheet(resolve(closet, "SW1:03").id)
        await t.sees("Port SW1:03")
        await t.until(lambda: "Way of SW1:03" in third(t), "the way")
        assert "1A-A:03" in third(t)
        assert "CAM1" in third(t)


async def test_at_a_rack_its_other_side_is_drawn(closet: BinderFile) -> None:
    async with terminal(closet.path, size=VAST) as t:
        t.app.open_rack(resolve(closet, "1A-R1").id)
        await t.sees("[ SW1")
        await t.until(lambda: "rear   0 of 18 U used" in third(t), "the rear")
        await t.press("f")
        await t.until(lambda: "front   3 of 18 U used" in third(t), "the front")


async def test_what_no_drawing_can_be_made_of_leaves_the_room_to_the_others(
    closet: BinderFile,
) -> None:
    async with terminal(closet.path, size=VAST) as t:
        await t.sees("Quillmere")
        assert not t.app.screen.has_class("-vast")
        await t.press("2")
        await t.until(lambda: t.app.screen.has_class("-vast"), "three panes")
        await t.press("1")
        await t.until(lambda: not t.app.screen.has_class("-vast"), "two panes again")


async def test_one_thing_at_a_time_at_80_columns_with_a_key_between(closet: BinderFile) -> None:
    async with terminal(closet.path) as t:
        t.app.open_sheet(resolve(closet, "SW1").id)
        await t.sees("Hardware SW1")
        assert "┌" not in t.text
        await t.press("w")
        await t.sees("[ SW1")
        await t.press("enter")
        await t.sees("Hardware SW1")
        await t.press("t")
        await t.sees("Trace from SW1")
        await t.press("q", "f")
        await t.sees("Face of SW1")


async def test_the_third_pane_waits_until_the_cursor_rests(
    closet: BinderFile, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A key that is held repeats every 30 ms or so: nothing is drawn for where it passes by."""
    async with terminal(closet.path, size=VAST) as t:
        await t.press("2", "right")
        await t.until(lambda: third(t) != "", "the first drawing")
        await t.pilot.pause(2 * screen.REST_S)
        monkeypatch.setattr(screen, "REST_S", 60.0)
        before = third(t)
        await t.press("end")
        await t.sees("Hardware SW1")
        assert third(t) == before
        monkeypatch.setattr(screen, "REST_S", 0.01)
        await t.press("up")
        await t.until(lambda: third(t) != before, "the drawing of where it came to rest")
