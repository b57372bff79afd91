"""Faces drawn and walked; a cord plugged in between two of them, and taken out again."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from binder.faces import Face, face, others, placed, usual
from binder.file import BinderFile, open_binder
from binder.read import read, resolve
from tests.binder.test_faces import a_port
from tests.conftest import Add
from tests.tui.screen_text import Terminal, terminal
from tui.app.face_lines import DrawnFace, draw
from tui.app.face_view import changed
from tui.app.lines import line, width_of

Change = Callable[..., None]


def texts(drawing: DrawnFace) -> list[str]:
    return ["".join(part.text for part in parts) for parts in drawing.lines]


def drawn(binder: BinderFile, name: str, width: int = 80, *, is_rear: bool = False) -> list[str]:
    found = face(binder, resolve(binder, name, "hardware").id)
    return [text.rstrip() for text in texts(draw(found, width, is_rear=is_rear))]


async def at_face(t: Terminal, name: str, *keys: str) -> None:
    hardware, _, label = name.partition(":")
    found = resolve(t.app.binder, hardware, "hardware")
    at = resolve(t.app.binder, name, "port").id if label else None
    t.app.open_face(found.id, at=at)
    await t.sees(f"Face of {hardware}")
    await t.press(*keys)


# How it is drawn. ------------------------------------------------------------------------------


def test_a_switch_has_its_labels_over_and_under_two_rows(quillmere: Path) -> None:
    with open_binder(quillmere) as binder:
        _, upper, boxes, _, lower, _ = drawn(binder, "SW1")
    assert upper.split() == [f"{n:02}" for n in range(1, 28, 2)]
    assert lower.split() == [f"{n:02}" for n in range(2, 29, 2)]
    assert boxes.index("   ") > boxes.index("[##]", 30)  # the pluggable ones stand apart


def test_long_labels_that_begin_alike_are_drawn_by_their_numbers(
    closet: BinderFile, change: Change
) -> None:
    for number in range(1, 10):
        change(f"SW1:{number:02}", label=f"1/0/{number}")
    assert drawn(closet, "SW1")[1].split() == [str(number) for number in range(1, 10)]
    change("SW1:1/0/9", label="console")
    assert drawn(closet, "SW1")[1].split()[0] == "1/0/1"


def test_states_are_told_by_a_sign_in_the_box(closet: BinderFile, change: Change) -> None:
    change("1A-A:03", condition="bad", condition_reason="bent contact, pin 4")
    change("1A-A:05", status="planned")
    change("1A-A:06", reserved_for="door controller")
    assert drawn(closet, "1A-A")[2] == "[##] [  ] [XX] [--] [::] [..]"


def test_the_rear_is_seen_from_behind(closet: BinderFile) -> None:
    _, labels, boxes, _ = drawn(closet, "1A-A", is_rear=True)
    assert labels.split() == ["06", "05", "04", "03", "02", "01"]
    assert boxes == "[  ] [  ] [  ] [==] [==] [==]"


def test_hardware_without_ports_says_what_to_do(closet: BinderFile, add: Add) -> None:
    add("hardware", identifier="SW9", form="switch", space="1A")
    assert "n makes a series" in drawn(closet, "SW9")[1]


@given(
    labels=st.lists(st.text(max_size=12), min_size=1, max_size=96),
    width=st.integers(20, 200),
    form=st.sampled_from(("switch", "patch panel")),
    is_rear=st.booleans(),
    choice=st.integers(0, 10),
)
def test_every_port_is_drawn_once_and_nothing_stands_over_the_edge(
    labels: list[str], width: int, form: str, is_rear: bool, choice: int
) -> None:
    ports = tuple(
        a_port(n, label, None, "SFP" if n % 7 == 6 else "8P8C") for n, label in enumerate(labels)
    )
    known = (usual(form, ports), *others(len(ports)))
    arrangement = known[choice % len(known)]
    where = tuple(placed(form, ports, arrangement))
    drawing = draw(Face(1, "X", form, "", "", None, "", arrangement, ports, where), width,
                   is_rear=is_rear)  # fmt: skip
    assert sorted(cell.port_id for cell in drawing.cells) == list(range(len(ports)))
    taken = {(x, cell.y) for cell in drawing.cells for x in range(cell.x, cell.x + cell.width)}
    assert len(taken) == sum(cell.width for cell in drawing.cells)
    assert max(cell.x + cell.width for cell in drawing.cells) <= width
    rows = texts(drawing)
    assert all(width_of(row) <= width for row in rows)
    reached = {drawing.cells[0].port_id}
    waiting = list(reached)
    while waiting:
        port = waiting.pop()
        for next_port in (
            drawing.across(port, 1), drawing.across(port, -1),
            drawing.along(port, 1), drawing.along(port, -1),
        ):  # fmt: skip
            if next_port is not None and next_port not in reached:
                reached.add(next_port)
                waiting.append(next_port)
    assert len(reached) == len(ports)  # the arrow keys come to each


@given(one=st.text("ab 受", max_size=20), other=st.text("ab 受", max_size=20))
def test_outside_the_changed_stretch_two_lines_are_alike(one: str, other: str) -> None:
    x, width = changed(line(one), line(other))

    def cells(text: str) -> list[str]:
        return [cell for letter in text for cell in [letter] + [""] * (width_of(letter) - 1)]

    was, now = cells(one), cells(other)
    room = max(len(was), len(now)) + 1
    was, now = was + [" "] * (room - len(was)), now + [" "] * (room - len(now))
    assert was[:x] == now[:x]
    assert was[x + width :] == now[x + width :]


# Walking. --------------------------------------------------------------------------------------


@pytest.mark.parametrize("size", [(80, 24), (120, 40), (60, 20)])
async def test_the_lines_below_tell_about_the_port_under_the_cursor(
    quillmere: Path, size: tuple[int, int]
) -> None:
    async with terminal(quillmere, size=size) as t:
        await at_face(t, "1A-A")
        await t.sees("Face of 1A-A", "1A-A:01  used")
        await t.press(*["right"] * 6)
        await t.sees("1A-A:07  used", "C-0006 to SW1:07", "1A-A07 to 102-1:A", "AP1 class 4, draws",
                     "10, tagged 20,50, from SW1:07")  # fmt: skip


async def test_down_goes_from_the_odd_port_to_the_even_one_under_it(quillmere: Path) -> None:
    async with terminal(quillmere) as t:
        await at_face(t, "SW1", "right", "right", "down")
        await t.sees("SW1:06  ")
        await t.press("up", "end")
        await t.sees("SW1:28  ")


async def test_f_shows_the_face_a_port_is_on(closet: BinderFile) -> None:
    async with terminal(closet.path) as t:
        t.app.open_sheet(resolve(closet, "SW1:03", "port").id)
        await t.press("f")
        await t.sees("Face of SW1", "SW1:03  used")
        await t.press("enter")
        await t.sees("Port SW1:03")


async def test_f_on_a_trace_shows_where_the_cord_goes_in(closet: BinderFile) -> None:
    async with terminal(closet.path) as t:
        t.app.open_trace(resolve(closet, "1A-A:03", "port").id)
        await t.sees("Trace from")
        await t.press("f")
        await t.sees("Face of 1A-A", "1A-A:03  used")


async def test_the_rear_tells_where_each_link_goes(closet: BinderFile) -> None:
    async with terminal(closet.path) as t:
        await at_face(t, "1A-A:02", "f")
        await t.sees("seen from behind", "[=] 3 linked  [ ] 3 no link", "1A-A:02  linked",
                     "1A-A02 to 114-1:B in 114, 39 m, tested 2026-02-02 pass")  # fmt: skip


async def test_a_switch_has_no_rear_to_turn_to(closet: BinderFile) -> None:
    async with terminal(closet.path) as t:
        await at_face(t, "SW1", "f")
        await t.sees("nothing is terminated at its rear")


async def test_rows_and_order_are_turned_by_hand(closet: BinderFile) -> None:
    async with terminal(closet.path) as t:
        await at_face(t, "SW1:02")
        await t.sees("front, one row")
        await t.press("a")
        await t.sees("front, 2 rows, odd over even", "SW1:02  ")
        await t.press("up")
        await t.sees("SW1:01  used")


# Patching. -------------------------------------------------------------------------------------


async def test_a_cord_is_plugged_in_between_two_faces(closet: BinderFile) -> None:
    async with terminal(closet.path) as t:
        await at_face(t, "1A-A:02", "p")
        await t.sees("Cord from 1A-A:02, to: 1A-A", "<**>")
        await t.press("tab")
        await t.sees("Cord from 1A-A:02, to: SW1", "SW1:02  spare")  # not on 01, which is taken
        await t.press("enter")
        await t.sees("C-0008: 1A-A:02 to SW1:02", "Face of 1A-A", "[#] 3 used")
        await t.press("e")
        await t.sees("cord C-0008", "Length")
        await t.press("escape", "u")
        await t.sees("undone: patch 1A-A:02 to SW1:02", "[#] 2 used")


async def test_both_faces_are_seen_on_a_tall_terminal(closet: BinderFile) -> None:
    async with terminal(closet.path, size=(120, 40)) as t:
        await at_face(t, "1A-A:01")
        await t.sees("-- 1A-A", "-- SW1", "{##}")
        await t.press("right", "p", "tab")
        await t.sees("to: SW1", "<**>")


async def test_g_goes_to_the_other_end(closet: BinderFile) -> None:
    async with terminal(closet.path) as t:
        await at_face(t, "1A-A:03", "g")
        await t.sees("Face of SW1", "SW1:03  used")
        await t.press("g", "f", "g")
        await t.sees("Face of 121-1", "121-1:A  used")
        await t.press("tab")
        await t.sees("Face of CAM1")
        await t.press("g", "right", "g")
        await t.sees("Face of CAM1")


async def test_a_port_that_is_taken_is_refused_and_the_cord_stays_in_hand(
    closet: BinderFile,
) -> None:
    async with terminal(closet.path) as t:
        await at_face(t, "1A-A:02", "p", "tab", "left", "enter")
        await t.sees("! SW1:01 is taken: cord C-0001 to 1A-A:01; x unplugs it first")
        await t.press("escape")
        await t.sees("Face of 1A-A", "1A-A:02  spare")


async def test_a_reserved_port_is_asked_about(closet: BinderFile, change: Change) -> None:
    change("SW1:02", reserved_for="door controller")
    async with terminal(closet.path) as t:
        await at_face(t, "1A-A:02", "p", "tab", "left", "left", "enter")
        await t.sees("Plug it in all the same?", "SW1:02 is reserved for door controller")
        await t.press("n")
        await t.sees("Cord from 1A-A:02")
        await t.press("enter", "y")
        await t.sees("C-0008: 1A-A:02 to SW1:02")


async def test_other_hardware_is_reached_by_typing(closet: BinderFile) -> None:
    async with terminal(closet.path) as t:
        await at_face(t, "SW1:04", "p", "slash")
        await t.type("121-1")
        await t.sees(" 121-1 ")
        await t.press("enter")
        await t.sees("Cord from SW1:04, to: 121-1")


async def test_with_nothing_beside_it_the_other_hardware_is_asked_for_at_once(
    closet: BinderFile, add: Add
) -> None:
    add("hardware", identifier="CAM9", form="camera")
    add("port", hardware="CAM9", label="1", position=1)
    async with terminal(closet.path, size=(120, 40)) as t:
        await at_face(t, "CAM9:1", "p")
        await t.sees("Plug it in at which hardware?", "Part of its name")
        assert t.text.count("-- CAM9") == 1, "the face in hand is drawn once"
        await t.type("SW1")
        await t.sees(" SW1 ")
        await t.press("enter")
        await t.sees("Cord from CAM9:1, to: SW1", "SW1:02  spare")


async def test_a_cord_is_unplugged_after_one_question(closet: BinderFile) -> None:
    async with terminal(closet.path) as t:
        await at_face(t, "SW1:01", "x")
        await t.sees("Unplug cord C-0001 between SW1:01 and 1A-A:01?")
        await t.press("y")
        await t.sees("C-0001 is out", "SW1:01  spare")
        await t.press("u")
        await t.sees("undone: unplug C-0001", "SW1:01  used")


async def test_a_port_is_reserved_and_marked_bad_and_good_again(closet: BinderFile) -> None:
    async with terminal(closet.path) as t:
        await at_face(t, "SW1:05", "s")
        await t.type("camera 12")
        await t.press("enter")
        await t.sees("SW1:05 is reserved for camera 12", "[.] 1 reserved")
        await t.press("m")
        await t.type("no link light")
        await t.press("enter")
        await t.sees("SW1:05  bad: no link light", "[X] 1 bad")
        await t.press("u")
        await t.sees("undone: mark SW1:05 bad", "SW1:05  reserved")
        await t.press("r", "m")
        await t.sees("SW1:05 is good again", "SW1:05  reserved")
    port = read(closet, resolve(closet, "SW1:05", "port").id)
    assert (port["condition"], port["condition_on"]) == ("good", "2026-03-14")


async def test_how_a_face_is_put_holds_until_the_program_is_left(closet: BinderFile) -> None:
    async with terminal(closet.path) as t:
        await at_face(t, "SW1", "a")
        await t.sees("front, 2 rows, odd over even")
        await t.press("q")
        await t.sees_no("Face of")
        await at_face(t, "SW1")
        await t.sees("front, 2 rows, odd over even")


@pytest.mark.parametrize(
    "name",
    ["[bold red]x[/]", "\x1b[31mred\x1b[0m", "\u202eabc", "port \N{VIDEO CAMERA}", "受付" * 60],
)
async def test_whatever_is_typed_for_a_label_stands_as_text(
    closet: BinderFile, change: Change, name: str
) -> None:
    change("1A-A:02", label=name, current_use=name)
    async with terminal(closet.path) as t:
        await at_face(t, "1A-A", "right")
        await t.sees("1A-A:", "used")
        assert "\x1b" not in t.text
        assert "\u202e" not in t.text
        assert all(width_of(row) <= 80 for row in t.lines)
        boxes = t.line_with("[##")
        assert boxes.count("[") == boxes.count("]") == 6


async def test_read_only_nothing_is_patched(closet: BinderFile) -> None:
    async with terminal(closet.path, read_only=True) as t:
        await at_face(t, "1A-A:02")
        assert " patch " not in t.lines[-1]
        await t.press("p")
        await t.sees("open read-only: nothing can be changed here")


async def test_hardware_removed_meanwhile_says_so(closet: BinderFile, add: Add) -> None:
    hub = add("hardware", identifier="SW9", form="switch", space="1A")
    async with terminal(closet.path) as t:
        await at_face(t, "SW9")
        await t.sees("n makes a series of them")
        with t.app.editor.step("remove SW9") as step:
            step.remove(hub)
        t.app.changed()
        await t.sees("not in the binder any more")
