"""The rack against EIA/ECA-310-E and IEC 60297-3-100."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from binder.engineering.rack import (
    CLEAR_OPENING_MM,
    HOLE_COLUMNS_MM,
    HOLE_SPACING_MM,
    PANEL_WIDTH_MM,
    RACK_UNIT_MM,
    Block,
    Face,
    Mounted,
    blanks_to_order,
    depth_left_mm,
    free_blocks,
    occupancy,
    occupied_units,
    panel_height_mm,
    places,
    top_start_u,
    weight_budget,
)


def test_dimensions_are_the_inches_of_eia_310() -> None:
    assert pytest.approx(1.75 * 25.4) == RACK_UNIT_MM
    assert pytest.approx(19 * 25.4) == PANEL_WIDTH_MM
    assert pytest.approx(18.312 * 25.4, abs=0.05) == HOLE_COLUMNS_MM
    assert pytest.approx(17.75 * 25.4) == CLEAR_OPENING_MM
    assert [spacing / 25.4 for spacing in HOLE_SPACING_MM] == pytest.approx([0.625, 0.625, 0.5])


def test_the_holes_of_a_unit_add_up_to_it() -> None:
    assert sum(HOLE_SPACING_MM) == pytest.approx(RACK_UNIT_MM)


@pytest.mark.parametrize(
    ("size_u", "height_mm", "height_in"),
    [
        (1, 43.66, 1.719),  # printed in EIA/ECA-310-E; the others by its formula (arithmetic)
        (2, 88.11, 3.469),
        (3, 132.56, 5.219),  # and not 5.2469, from a gap of 0.0031 in
        (4, 177.01, 6.969),
        (6, 265.91, 10.469),
        (12, 532.61, 20.969),
        (42, 1866.11, 73.469),
    ],
)
def test_a_panel_is_a_thirty_second_of_an_inch_short_of_its_units(
    size_u: int, height_mm: float, height_in: float
) -> None:
    assert panel_height_mm(size_u) == pytest.approx(height_mm, abs=0.001)
    assert panel_height_mm(size_u) / 25.4 == pytest.approx(height_in, abs=0.001)


def test_positions_are_counted_from_the_bottom() -> None:
    """Arithmetic on EIA/ECA-310-E units."""
    assert occupied_units(10, 2) == (10, 11)
    assert occupied_units(1, 1) == (1,)
    assert top_start_u(42, 4) == 39
    assert top_start_u(42, 1) == 42
    assert top_start_u(18, 18) == 1


@given(st.integers(1, 60), st.integers(1, 60))
def test_hardware_at_the_highest_start_ends_at_the_top_of_the_rack(one: int, other: int) -> None:
    size_u, height_u = sorted((one, other))
    units = occupied_units(top_start_u(height_u, size_u), size_u)
    assert len(units) == size_u
    assert units[-1] == height_u


def test_what_cannot_stand_in_a_rack_is_refused() -> None:
    with pytest.raises(ValueError, match="hardware of 19 U is taller than the rack of 18 U"):
        top_start_u(18, 19)
    with pytest.raises(ValueError, match="position U0: units are counted from U1"):
        occupied_units(0, 1)
    with pytest.raises(ValueError, match="hardware of 0 U: must be 1 U or more"):
        occupied_units(1, 0)
    with pytest.raises(ValueError, match="panel of 0 U"):
        panel_height_mm(0)


# Occupancy: arithmetic on units; what counts as taken is common practice, no published source. ---

CLOSET = (
    Mounted("1A-A", 18, 1),
    Mounted("SW1", 16, 1, depth_mm=280),
    Mounted("REC1", 13, 2, depth_mm=450),
    Mounted("UPS1", 1, 2, face="both", depth_mm=480),
    Mounted("old switch", 11, 1, status="abandoned"),
    Mounted("storage server", 14, 2, status="reserved"),
    Mounted("SW2", 9, 1, status="planned"),
    Mounted("strip", 16, 1, face="rear", depth_mm=60),
)


def test_a_side_of_a_rack_is_counted_by_status() -> None:
    front = occupancy(18, CLOSET, "front")
    assert front.units == {
        "installed": (1, 2, 13, 14, 16, 18),
        "abandoned": (11,),
        "planned": (9,),
        "reserved": (15,),
    }
    assert (front.used_u, front.reserved_u, len(front.free)) == (7, 2, 9)


def test_what_is_installed_outranks_what_is_only_kept() -> None:
    """U14 is reserved although the recorder is in it: it counts once, as used."""
    assert 14 in occupancy(18, CLOSET, "front").units["installed"]
    assert 14 in occupancy(18, reversed(CLOSET), "front").units["installed"]


def test_the_rear_has_only_what_is_mounted_there_or_takes_both_sides() -> None:
    rear = occupancy(18, CLOSET, "rear")
    assert rear.units == {"installed": (1, 2, 16)}
    assert rear.largest_block_u == 13


def test_free_units_next_to_each_other_make_a_block() -> None:
    front = occupancy(18, CLOSET, "front")
    assert front.blocks == (Block(3, 6), Block(10, 1), Block(12, 1), Block(17, 1))
    assert front.largest_block_u == 6
    assert free_blocks([]) == ()


def test_an_empty_rack_is_one_block_and_a_full_one_none() -> None:
    assert occupancy(42, [], "front").blocks == (Block(1, 42),)
    full = occupancy(42, [Mounted("all of it", 1, 42)], "front")
    assert (full.free, full.largest_block_u, full.used_u) == ((), 0, 42)


THINGS = st.lists(
    st.builds(
        Mounted,
        st.just("thing"),
        st.integers(1, 38),
        st.integers(1, 5),
        st.sampled_from(["front", "rear", "both"]),
        st.none() | st.floats(50, 900),
        st.sampled_from(["installed", "planned", "reserved", "abandoned"]),
    ),
    max_size=12,
)


@given(THINGS)
def test_every_unit_is_used_kept_or_free(things: list[Mounted]) -> None:
    front = occupancy(42, things, "front")
    assert front.used_u + front.reserved_u + len(front.free) == 42
    assert sum(block.size_u for block in front.blocks) == len(front.free)


@given(THINGS, st.integers(1, 6))
def test_a_thing_fits_surely_only_where_its_units_are_free(things: list[Mounted], n: int) -> None:
    found = places(42, things, size_u=n, depth_mm=300, clear_depth_mm=800, bend_room_mm=75)
    free = set(occupancy(42, things, "front").free)
    starts = [u for u in range(1, 44 - n) if set(range(u, u + n)) <= free]
    assert sorted((*found.sure, *found.unsure, *found.too_deep)) == starts


def test_hardware_that_cannot_be_in_the_rack_is_refused_by_name() -> None:
    with pytest.raises(ValueError, match="SW9 reaches U19: the rack has 18 U"):
        occupancy(18, [Mounted("SW9", 18, 2)], "front")
    with pytest.raises(ValueError, match="SW9 has status 'removed'"):
        occupancy(18, [Mounted("SW9", 18, 1, status="removed")], "front")


# Depth --------------------------------------------------------------------------------------


def test_bend_room_is_taken_off_the_depth() -> None:
    """Arithmetic: 610 mm from rail to door, 450 mm of hardware, 75 mm for plugs and bends."""
    assert depth_left_mm(610, 450, 75) == 85
    assert depth_left_mm(610, 550, 75) == -15


def where(
    size_u: int, depth_mm: float | None, face: Face = "front", clear_mm: float | None = 610
) -> tuple[tuple[int, ...], tuple[int, ...], tuple[int, ...]]:
    found = places(
        18, CLOSET, size_u=size_u, depth_mm=depth_mm, face=face, clear_depth_mm=clear_mm,
        bend_room_mm=75,
    )  # fmt: skip
    return found.sure, found.unsure, found.too_deep


def test_a_thing_starts_where_its_units_are_free() -> None:
    assert where(2, 400) == ((3, 4, 5, 6, 7), (), ())
    assert where(6, 400) == ((3,), (), ())
    assert where(7, 400) == ((), (), ())


def test_a_thing_too_deep_for_the_rack_fits_nowhere() -> None:
    assert where(2, 536) == ((), (), (3, 4, 5, 6, 7))
    assert where(2, 535)[0] == (3, 4, 5, 6, 7)


def test_what_is_mounted_opposite_takes_depth_and_its_own_bend_room() -> None:
    """Arithmetic: a recorder of 450 mm in 610 mm, each with 75 mm of bends, leaves 10 mm."""
    assert 13 in where(1, 10, "rear")[0]
    assert 13 in where(1, 11, "rear")[2]
    assert not any(16 in starts for starts in where(1, 10, "rear"))  # a strip is there already


def test_depths_nobody_recorded_leave_places_unsure() -> None:
    assert where(1, None) == ((), (3, 4, 5, 6, 7, 8, 10, 12, 17), ())
    assert where(1, 300, clear_mm=None)[1] == (3, 4, 5, 6, 7, 8, 10, 12, 17)
    sure, unsure, _ = where(1, 100, "rear")
    assert unsure == (9, 11, 15, 18)  # opposite hardware of unrecorded depth
    assert 3 in sure


def test_hardware_on_both_sides_needs_both_free() -> None:
    assert where(1, 100, "both")[0] == (3, 4, 5, 6, 7, 8, 10, 12, 17)


# Weight and blanks --------------------------------------------------------------------------


def test_weight_is_held_against_the_makers_rating() -> None:
    """Arithmetic."""
    budget = weight_budget(90, {"UPS1": 28.5, "SW1": 4.1}, {"storage server": 18})
    assert [budget.used, budget.reserved, budget.free] == pytest.approx([32.6, 18, 39.4])
    assert str(budget.steps[1]) == "in the rack: UPS1 28.5 + SW1 4.1 = 32.6 kg"


def test_an_empty_rack_carries_its_rating() -> None:
    assert weight_budget(90, {}).free == 90
    with pytest.raises(ValueError, match="weight of SW1 -4 kg"):
        weight_budget(90, {"SW1": -4})
    with pytest.raises(ValueError, match="load rating 0 kg"):
        weight_budget(0, {})


def test_open_blocks_are_closed_with_the_fewest_blanks() -> None:
    """Arithmetic: 6 U of 1, 3 and 4 U panels are two of 3 U, not 4 + 1 + 1."""
    assert blanks_to_order([6], [1, 3, 4]) == {3: 2}
    assert blanks_to_order([6, 1, 1, 1], [1, 2]) == {1: 3, 2: 3}
    assert blanks_to_order([], [1, 2]) == {}


@given(st.lists(st.integers(1, 42), max_size=6), st.sets(st.integers(2, 5)))
def test_blanks_add_up_to_what_is_open(blocks_u: list[int], more_sizes: set[int]) -> None:
    order = blanks_to_order(blocks_u, {1, *more_sizes})
    assert sum(size * count for size, count in order.items()) == sum(blocks_u)


def test_a_block_that_no_blank_closes_is_refused() -> None:
    with pytest.raises(ValueError, match="open block of 3 U: no blanks of"):
        blanks_to_order([3], [2])
    with pytest.raises(ValueError, match="blank panel of 0 U"):
        blanks_to_order([3], [0])
