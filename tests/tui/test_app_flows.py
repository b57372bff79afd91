"""Whole errands at the app, by keys, seen in the database and on the screen."""

from __future__ import annotations

from collections.abc import Callable

import pytest

from binder.edit import Editor
from binder.file import BinderFile
from binder.read import read, read_where, resolve
from binder.records.catalog import BY_NAME, DIVIDERS, KINDS
from tests.conftest import Add
from tests.tui.screen_text import terminal
from tui.app.dividers import DividerScreen
from tui.app.kind_words import many
from tui.app.sheet_screen import SheetScreen


def count(binder: BinderFile, kind: str) -> int:
    return len(read_where(binder, BY_NAME[kind]))


@pytest.mark.parametrize("size", [(80, 24), (120, 40), (60, 20)])
async def test_a_switch_is_added_patched_undone_found_and_traced(
    closet: BinderFile, size: tuple[int, int]
) -> None:
    cords = count(closet, "cord")
    async with terminal(closet.path, size=size) as t:
        await t.press("2", "right", "n")  # hardware, new
        await t.type("SW2")
        await t.press("enter")
        await t.type("switch")
        await t.press("enter")
        await t.type("access switch, 24 port")
        await t.press("f2")
        await t.sees("Make its ports now")
        await t.press("y")
        await t.sees("Ports of SW2", "01..24")
        await t.press("f2")
        await t.sees("SW2 now has 24 ports")

        await t.press("enter")  # its sheet; walk to its first port and patch it
        await t.sees("Hardware SW2")
        while (found := t.app.screen.looked_at()) is None or read(closet, found).name != "SW2:01":  # type: ignore[attr-defined]
            await t.press("down")
        await t.press("p")
        await t.sees("New cord", "SW2:01")
        await t.type("1A-A:04")
        await t.press("enter", "f2")
        await t.sees("added cord")
        assert count(closet, "cord") == cords + 1
        await t.press("u")
        await t.sees("undone: patch SW2:01 to 1A-A:04")
        assert count(closet, "cord") == cords
        await t.press("r")
        await t.sees("done again: patch SW2:01 to 1A-A:04")

        await t.press("slash")
        await t.type("SW2:01")
        await t.sees("SW2:01")
        await t.press("enter")
        await t.sees("Port SW2:01")
        await t.press("t")
        await t.sees("Trace from SW2:01", "1A-A:04")
        await t.press("q", "q", "escape", "q", "q")
    cord = read_where(closet, BY_NAME["cord"], order_by="r.name DESC")[0]
    ends = (resolve(closet, "SW2:01").id, resolve(closet, "1A-A:04").id)
    assert (cord["port_a"], cord["port_b"]) == ends
    ports = read_where(closet, BY_NAME["port"], "t.hardware_id = ?", (resolve(closet, "SW2").id,))
    assert [port["label"] for port in ports] == [f"{n:02d}" for n in range(1, 25)]
    assert {port["rate_mbps"] for port in ports} == {1000.0}


@pytest.mark.parametrize("size", [(80, 24), (120, 40)])
async def test_a_camera_is_added_patched_to_a_free_poe_port_and_found(
    closet: BinderFile, size: tuple[int, int]
) -> None:
    async with terminal(closet.path, size=size) as t:
        await t.press("2", "right", "n")
        await t.type("CAM9")
        await t.press("tab")
        await t.type("camera")
        await t.press("f2")
        await t.sees("CAM9 is in the binder. Make its ports now")
        await t.press("y", "f2")
        await t.sees("CAM9 now has 1 port; p patches")
        await t.press("p")  # on the hardware: it has one port
        await t.sees("New cord", "CAM9:1")
        await t.type("SW1:")
        await t.sees("SW1:02  free, PoE type 2")
        await t.press("enter", "f2")
        await t.sees("added cord")
        await t.press("slash")
        await t.type("cam9")
        await t.sees("CAM9:1", "to SW1:02")


async def test_hardware_with_several_ports_is_patched_on_its_face(closet: BinderFile) -> None:
    async with terminal(closet.path) as t:
        t.app.open_sheet(resolve(closet, "SW1").id)
        await t.sees("Hardware SW1", "p patch")
        await t.press("p")
        await t.sees("Face of SW1", "p takes up the cord there")


async def test_hardware_without_ports_says_how_to_make_them(closet: BinderFile, add: Add) -> None:
    add("hardware", identifier="CAM9", form="camera")
    async with terminal(closet.path) as t:
        t.app.open_sheet(resolve(closet, "CAM9").id)
        await t.sees("Hardware CAM9")
        await t.press("p")
        await t.sees("it has no ports yet; n makes a series of them")


async def test_a_copy_made_on_a_sheet_is_the_sheet_shown_then(closet: BinderFile) -> None:
    """So that the next key is about the new one, not the one it was copied from."""
    async with terminal(closet.path) as t:
        t.app.open_sheet(resolve(closet, "SW1").id)
        await t.sees("Hardware SW1")
        await t.press("y")
        await t.sees("New hardware", "SW2")
        await t.press("f2", "n")
        await t.sees("Hardware SW2")


async def test_what_is_added_to_a_record_leaves_its_sheet_standing(
    closet: BinderFile, add: Add
) -> None:
    add("hardware", identifier="NVR1", form="recorder")
    async with terminal(closet.path) as t:
        recorder = resolve(closet, "NVR1").id
        t.app.open_sheet(recorder)
        await t.sees("Hardware NVR1")
        t.app.open_new(BY_NAME["hardware"], {"form": "camera", "recorder": recorder})
        await t.type("CAM9")
        await t.press("f2", "n")
        await t.sees("Hardware NVR1", "added hardware CAM9")


async def test_every_divider_and_every_kind_has_a_list(closet: BinderFile) -> None:
    async with terminal(closet.path) as t:
        for at, divider in enumerate(DIVIDERS):
            await t.press(str((at + 1) % 10))
            for kind in [kind for kind in KINDS if kind.divider == divider]:
                t.app.turn_to(kind)
                await t.sees(f" {many(kind)}")
                for record in read_where(closet, kind)[:1]:
                    await t.sees(record.name[:20])


async def test_every_kind_has_a_sheet_with_its_fields(closet: BinderFile) -> None:
    async with terminal(closet.path, size=(80, 110)) as t:
        for kind in KINDS:
            for record in read_where(closet, kind)[:1]:
                t.app.open_sheet(record.id)
                await t.sees(f"{kind.label} {record.name}")
                await t.press("a")
                offered = kind.offered(record["form"] if kind.has("form") else None)
                await t.sees(*(field.label for field in offered))
                await t.press("q")


async def test_a_sheet_says_how_long_ago_someone_looked(
    closet: BinderFile, change: Callable[..., None]
) -> None:
    change("SW1", verified_on="2025-12-10")
    async with terminal(closet.path) as t:
        t.app.open_sheet(resolve(closet, "SW1").id)
        await t.sees("verified 3 months ago")
        t.app.open_sheet(resolve(closet, "GW1").id)
        await t.sees("never verified")
        await t.press("v")
        await t.sees("verified today")
    gateway = read(closet, resolve(closet, "GW1").id)
    assert (gateway["verified_on"], gateway["verified_by"]) == ("2026-03-14", "R. Adeyemi")


async def test_a_sheet_follows_references_both_ways(closet: BinderFile) -> None:
    async with terminal(closet.path) as t:
        t.app.open_sheet(resolve(closet, "SW1:01").id)
        await t.sees("Port SW1:01", "Front", "cord C-0001")
        await t.press("enter")  # stands on its hardware
        await t.sees("Hardware SW1", "switch")
        await t.press("end")
        await t.sees("by their 'Hardware'")
        assert isinstance(t.app.screen, SheetScreen)
        await t.press("q")
        await t.sees("Port SW1:01")


async def test_groups_of_a_sheet_are_counted_and_folded(closet: BinderFile) -> None:
    async with terminal(closet.path, size=(80, 50)) as t:
        t.app.open_sheet(resolve(closet, "SW1").id)
        await t.sees("- Ports (9)", "SW1:09")
        screen = t.app.screen
        assert isinstance(screen, SheetScreen)
        screen.main_list.move_to(screen.main_list.lines.index(("port/Hardware", "head")) or 0)
        await t.press("enter")
        await t.sees("+ Ports (9)")
        await t.sees_no("SW1:09")


async def test_something_is_added_to_the_record_of_a_sheet(closet: BinderFile) -> None:
    async with terminal(closet.path) as t:
        t.app.open_sheet(resolve(closet, "SW1").id)
        await t.press("n")
        await t.sees("Add to SW1", "Ports in series", "Inlet  as its 'Hardware'")
        while "Inlet" not in t.line_with("Inlet") or t.app.screen.query_one("#list").key != (  # type: ignore[attr-defined]
            "inlet", "hardware",
        ):  # fmt: skip
            await t.press("down")
        await t.press("enter")
        await t.sees("New inlet", "SW1")
        await t.type("PS1")
        await t.press("f2")
        await t.sees("added inlet SW1 inlet PS1", "Inlets (1)")


async def test_a_port_that_is_taken_offers_its_cord(closet: BinderFile) -> None:
    async with terminal(closet.path) as t:
        t.app.open_sheet(resolve(closet, "SW1:01").id)
        await t.press("p")
        await t.sees("SW1:01 is taken: cord C-0001 to 1A-A:01. Change that cord?")
        await t.press("y")
        await t.sees("Change cord C-0001")


async def test_removing_asks_and_undo_brings_it_back(closet: BinderFile) -> None:
    async with terminal(closet.path) as t:
        t.app.open_sheet(resolve(closet, "C-0001").id)
        await t.press("d")
        await t.sees("Remove cord C-0001?")
        await t.press("n")
        assert count(closet, "cord") == 7
        await t.press("d", "y")
        await t.sees("removed cord C-0001", "this record is not in the binder any more")
        assert count(closet, "cord") == 6
        await t.press("u")
        await t.sees("undone: remove cord C-0001", "Cord C-0001")
    assert count(closet, "cord") == 7


async def test_what_hangs_on_a_record_is_listed_before_it_goes_too(closet: BinderFile) -> None:
    async with terminal(closet.path) as t:
        t.app.open_sheet(resolve(closet, "CAM1").id)
        await t.press("d")
        await t.sees("2 records hang on hardware CAM1", "Port CAM1:1", "Cord C-0007")
        await t.press("n")
        assert resolve(closet, "CAM1:1")
        await t.press("d")
        await t.sees("2 records hang")
        await t.press("y")
        await t.sees("removed hardware CAM1")
        assert read_where(closet, BY_NAME["port"], "r.name = 'CAM1:1'") == ()
        await t.press("u")
        await t.sees("undone: remove hardware CAM1")
    assert resolve(closet, "CAM1:1")


async def test_what_loses_a_reference_is_told_before_a_removal(closet: BinderFile) -> None:
    """The circuit stays, but nobody would know any more where it is handed off."""
    async with terminal(closet.path) as t:
        t.app.open_sheet(resolve(closet, "ONT1:1").id)
        await t.press("d")
        await t.sees("1 record hangs on port ONT1:1", "1 field is", "Cord C-0004")
        await t.sees("Circuit fibre stays: its hand-off port is emptied")
        await t.press("y")
        await t.sees("removed port ONT1:1")
        assert read(closet, resolve(closet, "fibre").id)["handoff_port"] is None
        await t.press("u")
        await t.sees("undone: remove port ONT1:1")
    assert read(closet, resolve(closet, "fibre").id)["handoff_port"] is not None


async def test_undo_says_when_there_is_nothing_of_yours(closet: BinderFile) -> None:
    async with terminal(closet.path, who="A. Newcomer") as t:
        await t.press("u")
        await t.sees("! nothing of yours to undo")


async def test_undo_never_takes_away_what_another_person_did_since(
    closet: BinderFile, change: Callable[..., None]
) -> None:
    async with terminal(closet.path) as t:
        t.app.open_edit(resolve(closet, "SW1").id, "firmware")
        await t.sees("Change hardware SW1")
        await t.type("4.2.1")
        await t.press("f2")
        await t.sees("saved SW1")
        change("SW1", firmware="5.0.0")
        await t.press("u")
        await t.sees("! not undone: M. Osei has changed firmware since")
    assert read(closet, resolve(closet, "SW1").id)["firmware"] == "5.0.0"


async def test_the_history_tells_before_and_after(
    closet: BinderFile, change: Callable[..., None]
) -> None:
    change("SW1", firmware="4.2.1")
    change("SW1", firmware="5.0.0")
    async with terminal(closet.path) as t:
        t.app.open_sheet(resolve(closet, "SW1").id)
        await t.press("h")
        await t.sees("History of SW1", "firmware: 4.2.1 -> 5.0.0", "firmware: (empty) -> 4.2.1")
        assert t.text.index("5.0.0") < t.text.index("(empty)")
        await t.press("h")
        await t.sees("History of the binder")
        await t.press("down", "enter")
        await t.sees("Hardware SW1")


async def test_find_answers_while_typing(closet: BinderFile) -> None:
    async with terminal(closet.path) as t:
        await t.press("slash")
        await t.type("312 555 0160")
        await t.sees("Circuit", "fibre", "LKF-2203-118-QM")
        await t.press("ctrl+u")
        await t.type("nothing of that kind")
        await t.sees("nothing has 'nothing of that kind' in it")
        await t.press("escape")
        await t.sees("1 Client")


@pytest.mark.parametrize("size", [(80, 24), (120, 24)])
async def test_a_sheet_that_has_no_room_under_or_beside_what_was_found_says_so(
    closet: BinderFile, size: tuple[int, int]
) -> None:
    async with terminal(closet.path, size=size) as t:
        await t.press("slash")
        await t.type("SW1")
        await t.sees("Hardware SW1", "more lines: Enter opens it")
        last = t.lines[-2]
        assert "more lines" in last, "on the last line of the pane"
        await t.press("ctrl+u")
        await t.type("voice")
        await t.sees("Subnet voice")
        assert "more lines" not in t.text, "where all of it is shown"


async def test_a_trace_stands_on_the_port_asked_and_leads_on(closet: BinderFile) -> None:
    async with terminal(closet.path) as t:
        t.app.open_sheet(resolve(closet, "1A-A:01").id)
        await t.press("t")
        await t.sees("reaches fibre, cellular", "114-1:A", "SW1:01")
        await t.press("enter")
        await t.sees("Port 1A-A:01")


async def test_what_has_no_cable_is_not_traced(closet: BinderFile) -> None:
    async with terminal(closet.path) as t:
        t.app.open_sheet(resolve(closet, "staff").id)
        await t.press("t")
        await t.sees("! 'staff' is a record of kind subnet")
        assert isinstance(t.app.screen, SheetScreen)


# Two people. ------------------------------------------------------------------------------


async def test_another_persons_change_is_seen_and_the_cursor_stays(
    closet: BinderFile, editor: Editor
) -> None:
    async with terminal(closet.path) as t:
        await t.press("3", "end")
        await t.sees("25 of 25")
        before = t.app.screen.main_list.key  # type: ignore[attr-defined]
        with editor.step("a port more") as step:
            step.add("port", {"hardware": resolve(closet, "1A-A").id, "label": "07"})
        await t.sees("26 of 26")
        assert t.app.screen.main_list.key == before  # type: ignore[attr-defined]


async def test_an_open_sheet_shows_what_another_person_saved(
    closet: BinderFile, change: Callable[..., None]
) -> None:
    async with terminal(closet.path) as t:
        t.app.open_sheet(resolve(closet, "SW1").id)
        await t.sees("Hardware SW1")
        change("SW1", firmware="9.9.9")
        await t.sees("9.9.9")


async def test_a_record_removed_by_another_person_is_told(
    closet: BinderFile, editor: Editor
) -> None:
    async with terminal(closet.path) as t:
        t.app.open_sheet(resolve(closet, "C-0001").id)
        await t.sees("Cord C-0001")
        with editor.step("cord taken out") as step:
            step.remove(resolve(closet, "C-0001").id)
        await t.sees("this record is not in the binder any more")
        await t.press("e")
        await t.press("q")
        assert isinstance(t.app.screen, DividerScreen)


# Wide and narrow. -------------------------------------------------------------------------


async def test_a_wide_terminal_shows_the_record_beside_the_list(closet: BinderFile) -> None:
    async with terminal(closet.path, size=(120, 40)) as t:
        await t.press("2", "right")
        await t.sees("Hardware 1A-A", "- Ports (6)")
        await t.press("down")
        await t.until(lambda: "Hardware 1A-A" not in t.text, "another sheet")


async def test_a_heading_longer_than_the_names_under_it_is_whole(closet: BinderFile) -> None:
    async with terminal(closet.path) as t:
        await t.press("2")
        await t.type("[")  # the spaces
        await t.sees("Space")
        assert "│  Space  Name" in t.line_with("2 Racks")


async def test_a_short_list_shows_the_record_under_it(closet: BinderFile) -> None:
    async with terminal(closet.path) as t:
        await t.press("2")
        await t.sees("1A-R1  18U", "[ SW1", "3 of 18 U used")


async def test_a_narrow_terminal_gives_the_strip_to_the_list(closet: BinderFile) -> None:
    async with terminal(closet.path, size=(60, 20)) as t:
        await t.press("3")
        await t.sees("1A-A:01", "cord SW1:01, link 114-1:A")
        assert "3 Patching" not in t.text


async def test_the_terminal_can_be_resized(closet: BinderFile) -> None:
    async with terminal(closet.path) as t:
        await t.press("2", "enter")
        await t.sees("18 │[ 1A-A")
        for size in ((120, 40), (60, 20), (80, 24)):
            await t.pilot.resize_terminal(*size)
            await t.until(
                lambda: max(map(len, t.lines)) <= t.app.size.width and "18 │[ 1A-A" in t.text,
                "the rack at another size",
            )


async def test_the_list_of_duties_says_when_each_is_next_due(
    closet: BinderFile, add: Callable[..., int]
) -> None:
    """The 14th of March 2026 is the day. Recurrence: RFC 5545, section 3.8.5.3."""
    half = {"rule": "FREQ=MONTHLY;INTERVAL=6", "starts_on": "2025-01-20"}
    add("duty", identifier="battery test", **half, done_on="2025-08-02")
    add("duty", identifier="filters", **half, done_on="2026-02-01")
    add("duty", identifier="old drill", **half, status="former")
    add("warranty", identifier="cabling", form="system", start_event="owner acceptance",
        starts_on="2025-01-01", term_months=12)  # fmt: skip
    async with terminal(closet.path) as t:
        t.app.turn_to(BY_NAME["duty"])
        await t.sees("next due", "old drill")
        assert "2026-01-20, overdue" in t.line_with("battery test")
        assert "2026-07-20 " in t.line_with("filters")
        assert "no more" in t.line_with("old drill")
        t.app.turn_to(BY_NAME["warranty"])
        await t.until(lambda: "2025-12-31, over" in t.line_with("cabling"), "its end")
