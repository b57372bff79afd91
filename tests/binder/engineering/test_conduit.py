"""Conduit and tray fill against NEC (NFPA 70) chapter 9 and annex C."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from binder.engineering.conduit import (
    TRADE_SIZES,
    TRAY_DESIGN,
    circle_mm2,
    emt_inside_mm,
    fill,
    fill_limit,
    may_jam,
    more_that_fit,
    most_cables,
    size_needed,
    tray_count,
)

IN_MM = 25.4
IN2_MM2 = 25.4**2
SIZES = ("1/2", "3/4", "1", "1-1/4", "1-1/2", "2")


@pytest.mark.parametrize(
    ("size", "whole", "at_60", "at_53", "at_31", "at_40"),
    [
        ("1/2", 0.304, 0.182, 0.161, 0.094, 0.122),
        ("3/4", 0.533, 0.320, 0.283, 0.165, 0.213),
        ("1", 0.864, 0.519, 0.458, 0.268, 0.346),
        ("1-1/4", 1.496, 0.897, 0.793, 0.464, 0.598),
        ("1-1/2", 2.036, 1.221, 1.079, 0.631, 0.814),
        ("2", 3.356, 2.013, 1.778, 1.040, 1.342),
    ],
)
def test_areas_of_emt(
    size: str, whole: float, at_60: float, at_53: float, at_31: float, at_40: float
) -> None:
    """NEC chapter 9 table 4, EMT, square inches; the 60 % column from memory."""
    area = circle_mm2(emt_inside_mm(size)) / IN2_MM2
    shares = [1, fill_limit(9, is_nipple=True), fill_limit(1), fill_limit(2), fill_limit(3)]
    printed = [whole, at_60, at_53, at_31, at_40]
    assert [area * share for share in shares] == pytest.approx(printed, abs=0.00055)


@pytest.mark.parametrize(
    ("size", "area"), [("2-1/2", 5.858), ("3", 8.846), ("3-1/2", 11.545), ("4", 14.753)]
)
def test_areas_of_large_emt(size: str, area: float) -> None:
    """NEC chapter 9 table 4 (from memory, but for 5.858 square inches)."""
    assert circle_mm2(emt_inside_mm(size)) / IN2_MM2 == pytest.approx(area, abs=0.001)


@pytest.mark.parametrize(("cables", "share"), [(1, 0.53), (2, 0.31), (3, 0.40), (40, 0.40)])
def test_the_share_by_the_number_of_cables(cables: int, share: float) -> None:
    """NEC chapter 9 table 1; 60 % in a nipple, note 4."""
    assert fill_limit(cables) == share
    assert fill_limit(cables, is_nipple=True) == 0.60


def test_short_forms_of_the_fill_sum() -> None:
    """Published multipliers on diameter squared: 0.7854, 0.5927 for one, 1.0134 for two."""
    quarter_pi = circle_mm2(1)
    assert quarter_pi == pytest.approx(0.7854, abs=0.00005)
    assert quarter_pi * fill_limit(3) / fill_limit(1) == pytest.approx(0.5927, abs=0.0001)
    assert quarter_pi * fill_limit(3) / fill_limit(2) == pytest.approx(1.0134, abs=0.0001)


ANNEX_C = {
    "14 AWG": (0.0097, [12, 22, 35, 61, 84, 138]),
    "12 AWG": (0.0133, [9, 16, 26, 45, 61, 101]),
    "10 AWG": (0.0211, [5, 10, 16, 28, 38, 63]),
    "6 AWG": (0.0507, [2, 4, 7, 12, 16, 26]),
    "4 AWG": (0.0824, [1, 2, 4, 7, 10, 16]),
    "2 AWG": (0.1158, [1, 1, 3, 5, 7, 11]),
}


@pytest.mark.parametrize("wire", ANNEX_C)
def test_counts_in_emt(wire: str) -> None:
    """NEC annex C table C.1, THHN in EMT; areas but those of 14 and 12 AWG from memory."""
    area, printed = ANNEX_C[wire]
    diameter_mm = math.sqrt(area * 4 / math.pi) * IN_MM
    assert [most_cables(emt_inside_mm(size), diameter_mm) for size in SIZES] == printed


@pytest.mark.parametrize(
    ("diameter_in", "cut_off", "note_7"),
    [
        (0.19, [4, 7, 12, 21, 28, 47], [4, 7, 12, 21, 28, 47]),
        (0.22, [3, 5, 9, 15, 21, 35], [3, 5, 9, 15, 21, 35]),
        (0.24, [2, 4, 7, 13, 18, 29], [2, 4, 7, 13, 18, 29]),
        (0.25, [1, 4, 7, 12, 16, 27], [2, 4, 7, 12, 16, 27]),
        (0.30, [1, 3, 4, 8, 11, 18], [1, 3, 5, 8, 11, 19]),
        (0.35, [1, 1, 3, 6, 8, 13], [1, 1, 3, 6, 8, 14]),
    ],
)
def test_data_cables_in_emt(diameter_in: float, cut_off: list[int], note_7: list[int]) -> None:
    """NEC chapter 9 tables 1 and 4 (arithmetic); 8 and 13 of 0.35 in were published."""
    for size, strict, rounded in zip(SIZES, cut_off, note_7, strict=True):
        inside_mm, cable_mm = emt_inside_mm(size), diameter_in * IN_MM
        assert most_cables(inside_mm, cable_mm, note_7=False) == strict
        assert most_cables(inside_mm, cable_mm) == rounded


def test_a_mixed_conduit() -> None:
    """Published: 16 cables of 0.35 in and 20 of 0.22 in fill a 2-1/2 EMT to 39.3 %."""
    cables_mm = [0.35 * IN_MM] * 16 + [0.22 * IN_MM] * 20
    found = fill(emt_inside_mm("2-1/2"), cables_mm)
    assert found.share == pytest.approx(0.3926, abs=0.0005)
    assert found.holds
    assert more_that_fit(emt_inside_mm("2-1/2"), cables_mm, 0.35 * IN_MM) == 0
    assert more_that_fit(emt_inside_mm("2-1/2"), cables_mm, 0.22 * IN_MM) == 1
    assert size_needed(cables_mm) == "2-1/2"


def test_a_nipple_takes_60_percent() -> None:
    """NEC chapter 9 note 4: 0.24 in cables in 3/4 come to 7.07 (arithmetic)."""
    assert most_cables(emt_inside_mm("3/4"), 0.24 * IN_MM, is_nipple=True) == 7
    assert more_that_fit(emt_inside_mm("3/4"), [5.0], 0.24 * IN_MM, is_nipple=True) == 6


@pytest.mark.parametrize(
    ("size", "diameter_in", "jams"), [("3/4", 0.27, True), ("3/4", 0.24, False), ("1", 0.35, True)]
)
def test_three_cables_can_jam(size: str, diameter_in: float, jams: bool) -> None:
    """NEC chapter 9, note to table 1: from 2.8 to 3.2 cable diameters (arithmetic)."""
    assert may_jam(emt_inside_mm(size), diameter_in * IN_MM) == jams


def test_a_flat_cable_counts_by_its_larger_diameter() -> None:
    """NEC chapter 9 note 9: 0.15 x 0.40 in counts as 0.1257 square inches (arithmetic)."""
    assert circle_mm2(0.40 * IN_MM) / IN2_MM2 == pytest.approx(0.1257, abs=0.0001)


@pytest.mark.parametrize(
    ("written", "size"),
    [('1-1/4"', "1-1/4"), ("1 1/4", "1-1/4"), ("35", "1-1/4"), (" 2 ", "2"), ("16", "1/2")],
)
def test_trade_sizes_are_read_as_people_write_them(written: str, size: str) -> None:
    """Metric designators: NEC 300.1(C) (from memory)."""
    assert emt_inside_mm(written) == emt_inside_mm(size)


# How many more -------------------------------------------------------------------------------


def test_an_empty_conduit_takes_what_the_table_says() -> None:
    for size in SIZES:
        inside_mm = emt_inside_mm(size)
        assert more_that_fit(inside_mm, [], 6.1) == most_cables(inside_mm, 6.1)


def test_a_second_cable_may_be_one_too_many_where_a_single_one_was_not() -> None:
    """NEC chapter 9 table 1: 53 % for one, 31 % for two."""
    inside_mm = 10.0
    assert more_that_fit(inside_mm, [5.0], 3.0) == 0  # 34 %
    assert more_that_fit(inside_mm, [4.5], 3.2) == 1  # 30 %; a third makes 41


@given(st.sampled_from(TRADE_SIZES), st.floats(2, 40), st.floats(2, 40))
def test_thicker_cables_never_go_in_more_often(size: str, one: float, other: float) -> None:
    thin, thick = sorted((one, other))
    inside_mm = emt_inside_mm(size)
    assert most_cables(inside_mm, thick) <= most_cables(inside_mm, thin)


@given(
    st.sampled_from(TRADE_SIZES), st.lists(st.floats(2, 12), max_size=20), st.floats(2, 12),
    st.booleans(),
)  # fmt: skip
def test_what_still_fits_holds_and_one_more_does_not(
    size: str, present: list[float], cable_mm: float, is_nipple: bool
) -> None:
    inside_mm = emt_inside_mm(size)
    if all(diameter == cable_mm for diameter in present):
        return  # one size: note 7 lets it round up
    more = more_that_fit(inside_mm, present, cable_mm, is_nipple=is_nipple)
    if more:
        assert fill(inside_mm, [*present, *[cable_mm] * more], is_nipple=is_nipple).holds
    beyond = [*present, *[cable_mm] * (more + 1)]
    assert not fill(inside_mm, beyond, is_nipple=is_nipple).holds


def test_an_empty_conduit_is_filled_to_nothing() -> None:
    assert fill(26.6, []).share == 0
    assert size_needed([]) == "1/2"
    assert size_needed([200.0]) is None


# Trays ---------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("height_in", "width_in", "diameter_in", "count"),
    [
        (2, 2, 0.21, 57),
        (2, 4, 0.21, 115),
        (2, 12, 0.21, 346),
        (4, 12, 0.21, 692),
        (4, 16, 0.21, 923),
        (6, 20, 0.21, 1732),
        (2, 4, 0.1852, 148),
        (4, 12, 0.1852, 890),
        (4, 24, 0.1852, 1781),
    ],
)
def test_trays_filled_by_half(
    height_in: float, width_in: float, diameter_in: float, count: int
) -> None:
    """A tray maker's published fill chart, 50 % of the section (TIA-569, from memory)."""
    assert tray_count(width_in * IN_MM, height_in * IN_MM, diameter_in * IN_MM) == count


def test_a_tray_is_designed_to_a_quarter() -> None:
    """A maker's worked example: 100 cables of 0.30 in want 28.3 square inches, a 4 x 8 in tray."""
    cables = tray_count(28.274 * IN_MM, 1 * IN_MM, 0.30 * IN_MM, share=TRAY_DESIGN)
    assert cables == pytest.approx(100, abs=1)
    assert tray_count(8 * IN_MM, 4 * IN_MM, 0.30 * IN_MM, share=TRAY_DESIGN) >= 100


def test_out_of_range_is_refused_by_name_and_unit() -> None:
    with pytest.raises(ValueError, match="diameter 0 mm: must be finite, above 0 mm"):
        fill(20, [0])
    with pytest.raises(ValueError, match="trade size '5' is not known: 1/2, 3/4, 1, 1-1/4"):
        emt_inside_mm("5")
    with pytest.raises(ValueError, match="cables -1: must be finite, 0 or more"):
        fill_limit(-1)
    with pytest.raises(ValueError, match=r"share filled 1\.1: must be from 0 to 1"):
        tray_count(100, 50, 6, 1.1)
    with pytest.raises(ValueError, match="width nan mm"):
        tray_count(math.nan, 50, 6)
    with pytest.raises(ValueError, match="cable diameter -1 mm"):
        may_jam(20, -1)
