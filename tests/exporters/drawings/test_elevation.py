"""Rack elevations: every U once, aligned whatever the names, legible without colour."""

from __future__ import annotations

from dataclasses import replace
from xml.etree import ElementTree

import pytest
from hypothesis import example, given
from hypothesis import strategies as st

from binder.elevation import State
from exporters.cells import cut, padded, width
from exporters.drawings.elevation import TEXT_CELLS, Elevation, Slot
from tests.exporters.reading import PAYLOADS

NAMES = (
    st.text(max_size=90) | st.sampled_from(PAYLOADS) | st.text("診察室café👩🏽\u200d⚕️🇫🇷e\u0301 ")
)
SLOTS = st.builds(
    Slot,
    first_u=st.just(1),
    height_u=st.integers(1, 6),
    state=st.sampled_from(State),
    name=NAMES,
    words=NAMES,
    tally=st.sampled_from(["", "19 of 24 patched"]) | NAMES,
)


@st.composite
def elevations(draw: st.DrawFn) -> Elevation:
    """Slots one after another, from the top of a rack down."""
    slots, from_top = draw(st.lists(SLOTS, min_size=1, max_size=8)), draw(st.booleans())
    height_u = sum(slot.height_u for slot in slots)
    above, stacked = 0, []
    for slot in slots:
        first_u = above + 1 if from_top else height_u - above - slot.height_u + 1
        stacked.append(replace(slot, first_u=first_u))
        above += slot.height_u
    side = draw(st.sampled_from(["front", "rear"]))
    return Elevation(draw(NAMES), side, height_u, from_top, tuple(stacked))


ELEVATIONS = elevations()

CLOSET = Elevation(
    "1A-R1",
    "front",
    8,
    False,
    (
        Slot(8, 1, State.INSTALLED, "1A-A", "24 port panel", "18 of 24 patched"),
        Slot(6, 2, State.INSTALLED, "REC1", "video recorder"),
        Slot(5, 1, State.FREE),
        Slot(4, 1, State.PLANNED, "SW2", "access switch"),
        Slot(2, 2, State.RESERVED, "", "storage server"),
        Slot(1, 1, State.OTHER_FACE, "STRIP1", "rear: power strip"),
    ),
)


@given(ELEVATIONS)
@example(CLOSET)
def test_all_lines_take_the_same_cells(drawn: Elevation) -> None:
    assert {width(line) for line in drawn.text().split("\n")} == {TEXT_CELLS}


@given(ELEVATIONS)
def test_every_u_is_drawn_once_and_in_order(drawn: Elevation) -> None:
    numbers = [int(line[:2]) for line in drawn.text().split("\n")[1:-1]]
    rising = list(range(1, drawn.height_u + 1))
    assert numbers == (rising if drawn.from_top else rising[::-1])
    assert sum(slot.height_u for slot in drawn.slots) == drawn.height_u


@given(ELEVATIONS)
@example(CLOSET)
def test_the_picture_is_whole_and_holds_no_style_and_no_markup(drawn: Elevation) -> None:
    picture = ElementTree.fromstring(drawn.svg("key"))
    allowed = {"svg", "title", "defs", "pattern", "rect", "line", "circle", "text", "tspan"}
    for element in picture.iter():
        assert element.tag in allowed
        assert not {"style", "href"} & set(element.attrib)
        assert not any(name.startswith("on") for name in element.attrib)


def test_the_closet_as_text() -> None:
    """Read as a technician reads it: one row a U, what is not installed says so in words."""
    assert CLOSET.text().splitlines() == [
        "   ╔═ 1A-R1  front ═══════════════════════════════════════════════════════╗",
        " 8 ║[ 1A-A    24 port panel                             18 of 24 patched ]║",
        " 7 ║┌ REC1    video recorder                                             ┐║",
        " 6 ║└                                                                    ┘║",
        " 5 ║          free                                                        ║",
        " 4 ║: SW2     planned: access switch                                     :║",
        " 3 ║░         reserved: storage server                                   ░║",
        " 2 ║░                                                                    ░║",
        " 1 ║· STRIP1  rear: power strip                                          ·║",
        "   ╚══════════════════════════════════════════════════════════════════════╝",
    ]


def test_the_closet_in_figures() -> None:
    assert CLOSET.caption == (
        "1A-R1, front: 3 of 8 U used, 1 planned, 2 reserved, 1 taken at the other face only, "
        "1 free, largest free block 1U."
    )


@pytest.mark.parametrize("state", [State.PLANNED, State.RESERVED, State.SPARE, State.ABANDONED])
def test_what_is_not_installed_is_said_in_words_in_the_picture(state: State) -> None:
    drawn = Elevation("R", "front", 1, False, (Slot(1, 1, state, "X", "thing"),))
    assert f"{state.value}: thing" in drawn.svg("key")


def test_planned_and_reserved_are_told_by_pattern_too() -> None:
    """WCAG 2.2, success criterion 1.4.1: colour is not the only means of conveying it."""
    picture = CLOSET.svg("key")
    assert 'fill="url(#key-planned)"' in picture
    assert 'fill="url(#key-reserved)"' in picture


@given(NAMES, st.integers(0, 40))
def test_a_name_is_cut_to_its_room_and_says_that_it_was(name: str, cells: int) -> None:
    from binder.text import visible

    shown = visible(name)
    short = cut(shown, cells)
    assert width(short) <= cells
    assert short == shown or short.endswith("…") or cells == 0
    assert width(padded(shown, cells)) == cells
