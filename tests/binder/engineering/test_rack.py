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
    occupied_units,
    panel_height_mm,
    top_start_u,
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
