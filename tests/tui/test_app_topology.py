"""The topology at the app: a page of divider 5, walked and folded."""

from __future__ import annotations

from binder.file import BinderFile
from tests.conftest import Add
from tests.tui.screen_text import Terminal, terminal


async def at_topology(t: Terminal) -> None:
    await t.press("5", "left")
    await t.sees("What hangs on what", "fibre")


async def test_the_network_hangs_on_the_circuits(closet: BinderFile) -> None:
    async with terminal(closet.path, size=(120, 40)) as t:
        await at_topology(t)
        names = ("fibre", "└─ ONT1", "   └─ GW1", "      └─ SW1", "         ├─ CAM1",
                 "         └─ PH1", "cellular", "└─ LTE1")  # fmt: skip
        for drawn, name in zip(t.lines[3:11], names, strict=True):
            assert drawn[15:].startswith(f" {name} ")
        assert "also via LTE1" in t.line_with("GW1")


async def test_a_line_stands_on_its_record(closet: BinderFile) -> None:
    async with terminal(closet.path) as t:
        await at_topology(t)
        await t.press("down", "down", "down", "enter")
        await t.sees("Hardware SW1")
        await t.press("q", "down", "t")
        await t.sees("Trace from CAM1")
        await t.press("q", "i")
        await t.sees("If hardware CAM1 fails")
        await t.press("q", "up", "w")
        await t.sees("1A-R1", "[ SW1")


async def test_what_hangs_on_a_line_is_folded_and_opened_again(closet: BinderFile) -> None:
    async with terminal(closet.path) as t:
        await at_topology(t)
        await t.press("down", "down", "down", "minus")
        await t.sees("SW1 + 2")
        assert "CAM1" not in t.text
        await t.press("minus")
        await t.sees("CAM1")
        await t.press("down", "minus")
        await t.sees("nothing hangs on this")


async def test_what_is_not_connected_is_told_apart(closet: BinderFile, add: Add) -> None:
    add("hardware", identifier="SRV1", form="server", space="1A")
    async with terminal(closet.path, size=(120, 40)) as t:
        await at_topology(t)
        await t.sees("Not connected to any circuit:")
        assert "no cable is recorded" in t.line_with("SRV1")


async def test_the_circuits_are_still_what_the_divider_opens_on(closet: BinderFile) -> None:
    async with terminal(closet.path) as t:
        await t.press("5")
        await t.sees("1 of 2", "LKF-2203-118-QM")
