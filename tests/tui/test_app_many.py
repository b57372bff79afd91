"""Many records at once in the app: a range, pasted lines, two ranges joined, copies.

Identifiers are in the forms of ANSI/TIA-606: panel 1A-A, its port 1A-A:07, the
horizontal link 1A-A07.
"""

from __future__ import annotations

from collections.abc import Callable
from time import monotonic

from textual import events

from binder.edit import Editor
from binder.file import BinderFile
from binder.history import recent
from binder.read import binder_id, read, read_where, resolve
from binder.records.catalog import BY_NAME
from binder.unsaved import kept
from tests.tui.screen_text import Terminal, terminal
from tui.app.query_screen import Query


async def paste(t: Terminal, text: str) -> None:
    """What a terminal sends for a paste in its bracketed mode (xterm: DECSET 2004)."""
    event = events.Paste(text)
    event.set_sender(t.app)
    driver = t.app._driver
    assert driver is not None
    driver.send_message(event)
    await t.pilot.pause()


async def turn_to(t: Terminal, kind: str) -> None:
    t.app.turn_to(BY_NAME[kind])
    await t.pilot.pause()


async def retype(t: Terminal, text: str) -> None:
    """Replace what stands in the line of a question."""
    await t.press("end", *["backspace"] * 40)
    await t.type(text)


def value(binder: BinderFile, name: str, field: str) -> object:
    return read(binder, resolve(binder, name).id)[field]


# A range. ---------------------------------------------------------------------------------


async def test_a_range_is_changed_by_keys_and_taken_back_at_once(closet: BinderFile) -> None:
    async with terminal(closet.path) as t:
        await turn_to(t, "port")
        await t.press("equals_sign")
        await t.sees("Change which ports?", "1A-A:01")  # starts with the one pointed at
        await retype(t, "SW1:01..04")
        await t.press("enter")
        await t.sees("4 ports: change which field?")
        await t.type("vl")
        await t.sees("VLAN")
        await t.press("enter")
        await t.sees("4 ports: VLAN to what?", "{n} counts")
        await t.type("30")
        await t.press("enter")
        await t.sees("Preview: change 4 ports", "4 to change", "SW1:04  VLAN 20 -> 30")
        assert value(closet, "SW1:04", "vlan") == 20
        await t.press("f2")
        await t.sees("4 changed; u takes all of it back")
        assert value(closet, "SW1:04", "vlan") == 30
        await t.press("u")
        await t.sees("undone: change 4 ports: vlan")
    assert value(closet, "SW1:01", "vlan") == 20


async def test_typed_ahead_over_a_slow_line_it_comes_out_the_same(closet: BinderFile) -> None:
    async with terminal(closet.path) as t:
        await turn_to(t, "port")
        await t.burst("equals_sign", *["backspace"] * 7,
                      *"SW1:01..04", "enter", *"current", "enter",
                      *"desk {n}", "enter", "f2")  # fmt: skip
        await t.sees("4 changed")
    assert value(closet, "SW1:04", "current_use") == "desk 4"


async def test_another_field_goes_into_the_same_step(closet: BinderFile) -> None:
    async with terminal(closet.path) as t:
        await turn_to(t, "port")
        await t.press("equals_sign")
        await retype(t, "SW1:01..02")
        await t.burst(
            "enter", *"vlan", "enter", *"30", "enter", "a", *"poe", "enter", *"3", "enter"
        )
        await t.sees("SW1:02  VLAN 20 -> 30, PoE type 2 -> 3")
        await t.press("enter")
        await t.sees("2 changed")
    assert recent(closet)[0].summary == "change 2 ports: vlan, poe type"


async def test_what_was_typed_is_kept_when_going_back(closet: BinderFile) -> None:
    async with terminal(closet.path) as t:
        await turn_to(t, "port")
        await t.press("equals_sign")
        await retype(t, "SW1:01..02")
        await t.burst("enter", *"vlan", "enter", *"{4094}", "enter")
        await t.sees("1 fault", "! VLAN is from 1 to 4094")
        await t.press("f2")
        await t.sees("not written")
        await t.press("escape")
        await t.sees("VLAN to what?", "{4094}")
        await t.press("escape")
        await t.sees("change which field?", "VLAN")
        await t.press("escape")
        await t.sees("SW1:01..02")
        await t.press("escape")
        await t.sees_no("Change which")
    assert value(closet, "SW1:01", "vlan") == 20


async def test_what_is_not_there_is_told_where_the_range_is_typed(closet: BinderFile) -> None:
    async with terminal(closet.path) as t:
        await turn_to(t, "port")
        await t.press("equals_sign")
        await retype(t, "SW1:08..12")
        await t.press("enter")
        await t.sees("! no port is named SW1:10, SW1:11, SW1:12", "SW1:08..12")


async def test_a_value_that_cannot_be_is_told_where_it_is_typed(closet: BinderFile) -> None:
    async with terminal(closet.path) as t:
        await turn_to(t, "port")
        await t.press("equals_sign", "enter", "enter")
        await t.sees("! type part of the name of a field")  # Enter alone chooses none
        await t.burst(*"vlan", "enter", *"4095", "enter")
        await t.sees("VLAN to what?", "! VLAN is from 1 to 4094", "4095")


async def test_a_field_is_chosen_by_arrow_keys_too(closet: BinderFile) -> None:
    async with terminal(closet.path) as t:
        await turn_to(t, "port")
        await t.press("equals_sign", "enter", "down", "down", "enter")
        await t.sees("1 port: Position to what?")


# Pasted lines. ----------------------------------------------------------------------------

PORTS = "Port\tVLAN\tCurrent use\nSW1:10\t30\tcamera, north\nSW1:11\t\t=1+1\n"


async def test_lines_pasted_on_a_list_become_records_after_a_preview(closet: BinderFile) -> None:
    async with terminal(closet.path) as t:
        await turn_to(t, "port")
        await paste(t, PORTS)
        await t.sees("Preview: add 2 ports from lines", "2 to add", "line 1 names the columns")
        await t.sees("2 SW1:10  VLAN 30, Current use camera, north", "3 SW1:11  Current use =1+1")
        assert not read_where(closet, BY_NAME["port"], "t.label = '10' AND t.vlan = 30")
        await t.press("f2")
        await t.sees("2 added; u takes all of it back")
        assert value(closet, "SW1:11", "current_use") == "=1+1"
        await t.press("u")
        await t.sees("undone")
    assert not read_where(closet, BY_NAME["port"], "t.label = '11'")


async def test_no_letter_of_a_paste_runs_a_command(closet: BinderFile) -> None:
    """q leaves, d removes, u undoes: in a paste they are letters."""
    before = recent(closet)[0]
    async with terminal(closet.path) as t:
        await turn_to(t, "port")
        for text in ("dyu", "d\ny\nq\nu\n", "q\r\nd\r\ny"):
            await paste(t, text)
            await t.press("escape")
        await t.sees("1A-A:01")
        for keys in (("enter",), ("slash",), ("h",), ("question_mark",), ("2", "enter")):
            await t.press(*keys)
            await paste(t, "d\ny\nq\nu\n")
            await t.press("escape")
        assert t.app.is_running
    assert recent(closet)[0] == before


async def test_a_paste_into_an_input_stays_there(closet: BinderFile) -> None:
    async with terminal(closet.path) as t:
        await t.press("slash")
        await paste(t, "front desk")
        await t.sees("114-1:A")
        await paste(t, " phone\nand more")
        assert t.app.screen.query_one(Query).value == "front desk phone"


async def test_faults_are_walked_through_and_mended_as_text(closet: BinderFile) -> None:
    async with terminal(closet.path) as t:
        await turn_to(t, "port")
        await paste(t, "Port,VLAN\nSW1:10,20\nSW1:11,4095\nSW9:01,20\n")
        await t.sees("3 to add, 2 faults", "! VLAN is from 1 to 4094 (4095)")
        await t.sees("! Hardware: no hardware is named 'SW9'")
        await t.press("f2")
        await t.sees("not written: 3 to add, 2 faults")
        await t.press("e")
        await t.sees("Ports, a line each", "SW1:11,4095")
        await t.press("end", *["backspace"] * 4)  # the cursor stands on the line of the fault
        await t.type("30")
        await t.press("down", "home", *["delete"] * 9, "f2")
        await t.sees("2 to add")
        await t.press("enter")
        await t.sees("2 added")
    assert value(closet, "SW1:11", "vlan") == 30
    assert value(closet, "SW1:10", "vlan") == 20


async def test_those_that_exist_are_changed_when_that_is_chosen(closet: BinderFile) -> None:
    async with terminal(closet.path) as t:
        await turn_to(t, "port")
        await paste(t, "Port\tVLAN\nSW1:01\t30\nSW1:02\t20\nSW1:10\t30\n")
        await t.sees("3 to add, 2 faults", "SW1:01  ! is in the binder already")
        await t.press("c")
        await t.sees("1 to add, 1 to change, 1 left alone", "SW1:01  VLAN 20 -> 30")
        await t.press("f2")
        await t.sees("1 added, 1 changed")
    assert value(closet, "SW1:01", "vlan") == 30


async def test_lines_can_be_typed_on_a_page(closet: BinderFile) -> None:
    async with terminal(closet.path) as t:
        await turn_to(t, "port")
        await t.press("plus")
        await t.sees("Ports, a line each", "Port, Role, VLAN, Current use, Condition")
        await t.burst(*"SW1:10  edge  30", "enter", *"SW1:11  edge  30")
        await t.press("f2")
        await t.sees("no line names the columns; read as: Port, Role, VLAN")
        await t.press("escape")
        await t.sees("Ports, a line each", "SW1:11  edge  30")  # nothing typed is lost
        await t.press("escape")
        await t.sees("Drop these lines?")
        await t.press("n", "f2")
        await t.sees("2 to add")
        await t.press("f2")
        await t.sees("2 added")


async def test_lines_that_were_typed_outlive_a_dropped_line(closet: BinderFile) -> None:
    async with terminal(closet.path) as t:
        await turn_to(t, "port")
        await t.press("plus")
        await t.burst(*"SW1:10  edge  30")
        await t.until(lambda: bool(kept(binder_id(closet), "R. Adeyemi")), "kept")
    async with terminal(closet.path) as t:
        await turn_to(t, "port")
        await t.press("plus")
        await t.sees("SW1:10  edge  30")
        await t.press("f2", "f2")
        await t.sees("1 added")
    assert kept(binder_id(closet), "R. Adeyemi") == ()


async def test_a_series_outlives_a_dropped_line(closet: BinderFile) -> None:
    async with terminal(closet.path) as t:
        t.app.open_join(BY_NAME["link"])
        await t.sees("Links in series")
        await t.type("1A-A:04..05")
        await t.until(lambda: bool(kept(binder_id(closet), "R. Adeyemi")), "kept")
    async with terminal(closet.path) as t:
        await t.sees("not saved: 'Links in series'")
        await t.press("z")
        await t.sees("Links in series", "1A-A:04..05")
        await t.press("down")
        await t.type("SW1:04..05")
        await t.press("f2")
        await t.sees("Preview: add 2 links")
        await t.press("f2")
        await t.sees("2 added")
    assert kept(binder_id(closet), "R. Adeyemi") == ()


async def test_text_without_sense_is_told_and_stands_to_be_mended(closet: BinderFile) -> None:
    async with terminal(closet.path) as t:
        await turn_to(t, "port")
        await paste(t, 'a,b\nc,"d\n')
        await t.sees("! line 2: a quote that is not closed", 'c,"d')


async def test_hostile_text_in_a_preview_is_only_text(closet: BinderFile) -> None:
    async with terminal(closet.path) as t:
        await turn_to(t, "port")
        await paste(t, "Port\tCurrent use\nSW1:10\t[bold red]x[/] \x1b[2J \u202eevil\n")
        await t.sees("[bold red]x[/] ␛[2J <U+202E>evil")


async def test_ten_thousand_lines_are_looked_at_without_a_pause_to_notice(
    closet: BinderFile,
) -> None:
    """Generous for a loaded machine: it is under a second on an idle one."""
    lines = "\n".join(f"SW{at // 100 + 2}:{at % 100:03}\t20\tdesk {at}" for at in range(10_000))
    with Editor(closet, "M. Osei").step("switches") as step:
        rows = [{"identifier": f"SW{at}", "form": "switch"} for at in range(2, 102)]
        step.add_many("hardware", rows)
    async with terminal(closet.path) as t:
        await turn_to(t, "port")
        start = monotonic()
        await paste(t, f"Port\tVLAN\tCurrent use\n{lines}")
        await t.sees("10,000 to add")
        assert monotonic() - start < 5
        await t.press("end")
        await t.sees("10001 SW101:099")
        await t.press("f2")
        await t.sees("10,000 added")


async def test_a_read_only_binder_takes_no_paste(closet: BinderFile) -> None:
    async with terminal(closet.path, read_only=True) as t:
        await turn_to(t, "port")
        await paste(t, PORTS)
        await t.sees("open read-only")


async def test_the_client_takes_no_lines(closet: BinderFile) -> None:
    async with terminal(closet.path) as t:
        await t.press("1", "plus")
        await t.sees("a binder holds exactly one client")


# Two ranges joined, and copies. -----------------------------------------------------------


async def test_links_are_made_in_series_from_a_panel(
    closet: BinderFile, add: Callable[..., int]
) -> None:
    add("hardware", identifier="115-1", form="outlet", space="114")
    for label in "ABC":
        add("port", hardware="115-1", label=label)
    async with terminal(closet.path) as t:
        await turn_to(t, "link")
        await t.press("n")
        await t.sees("One link", "Links in series")
        await t.press("down", "enter")
        await t.sees("Links in series", "Panel end")
        await t.type("1A-A:03..06")
        await t.press("enter")
        await t.type("115-1:*")
        await t.press("enter", "enter", "enter")
        await t.type("6A")
        await t.press("f2")
        await t.sees("4 ports at the one end (1A-A:03..06) and 3 at the other")
        await t.press("up", "up", "up", "up", "end", *["backspace"] * 5)
        await t.type("4..06")
        await t.press("f2")
        await t.sees("Preview: add 3 links", "1A-A04  From 1A-A:04, To 115-1:A, Category 6A")
        await t.press("escape")
        await t.sees("1A-A:04..06", "115-1:*")
        await t.press("f2", "f2")
        await t.sees("3 added; u takes all of it back", "1A-A06")
    made = read(closet, resolve(closet, "1A-A06", "link").id)
    assert (made["port_b"], made["category"]) == (resolve(closet, "115-1:C").id, "6A")


async def test_a_series_is_offered_on_the_sheet_of_a_panel(closet: BinderFile) -> None:
    async with terminal(closet.path) as t:
        t.app.open_sheet(resolve(closet, "1A-A", "hardware").id)
        await t.press("n")
        await t.sees("Links in series")
        await t.press("down", "enter")
        await t.sees("Links in series", "1A-A:*")


async def test_a_copy_of_a_link_proposes_the_next_of_everything(closet: BinderFile) -> None:
    async with terminal(closet.path) as t:
        await turn_to(t, "link")
        await t.press("down", "down", "y")  # 1A-A03: the ports after its ends are free or none
        await t.sees("New link", "1A-A04", "1A-A:04")


async def test_a_copy_of_a_cord_proposes_the_next_ports(
    closet: BinderFile, id_of: Callable[[str], int]
) -> None:
    async with terminal(closet.path) as t:
        await turn_to(t, "cord")
        await t.press("y")
        await t.sees("New cord", "1A-A:02", "SW1:02")
        await t.press("f2")
        await t.sees("added cord C-0008")
    made = read(closet, id_of("C-0008"))
    assert (made["port_a"], made["port_b"]) == (id_of("1A-A:02"), id_of("SW1:02"))
