"""UPS batteries against IEEE 485, UFC 3-520-01, Peukert's law and makers' rules."""

from __future__ import annotations

import math
from datetime import date

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from binder.engineering.battery import (
    AGEING_FACTOR,
    Battery,
    battery_load_w,
    capacity_left,
    capacity_needed_ah,
    cold_factor,
    energy_needed_wh,
    energy_runtime,
    life_years,
    outlook,
    peukert_exponent,
    peukert_h,
    replace_by,
    runtime,
    table_runtime,
    temperature_factor,
)

TABLE = ((200.0, 48.0), (400.0, 20.0), (800.0, 7.0))

# The maker's table ---------------------------------------------------------------------------


def peukert_minutes(load_w: float) -> float:
    """A battery that follows Peukert's law in watts, with exponent 1.3."""
    return float(60 * 20 * (432 / (load_w * 20)) ** 1.3)


@given(st.floats(100, 900))
def test_between_points_a_battery_by_peukerts_law_is_met_exactly(load_w: float) -> None:
    """Log-log interpolation reproduces any curve t = H (C/(I H))^k (arithmetic)."""
    table = [(float(w), peukert_minutes(w)) for w in (100, 180, 350, 600, 900)]
    assert table_runtime(table, load_w).minutes == pytest.approx(peukert_minutes(load_w))


def test_straight_lines_between_points_would_promise_too_much() -> None:
    """The middle of a table left out: log-log misses it by less than a straight line does."""
    found = table_runtime([TABLE[0], TABLE[2]], 400).minutes
    straight = 48 + (7 - 48) * (400 - 200) / (800 - 200)
    assert abs(found - 20) < abs(straight - 20)
    assert straight > 34


def test_a_point_of_the_table_is_the_makers_own_figure() -> None:
    for load_w, minutes in TABLE:
        found = table_runtime(TABLE, load_w)
        assert (found.minutes, found.bound) == (minutes, "")


def test_beyond_the_table_nothing_is_guessed() -> None:
    lighter, heavier = table_runtime(TABLE, 120), table_runtime(TABLE, 801)
    assert (lighter.minutes, lighter.bound) == (48, "at least")
    assert (heavier.minutes, heavier.bound) == (7, "at most")
    assert "below its least load, 200 W" in lighter.steps[0].working
    assert "above its greatest load, 800 W" in heavier.steps[0].working
    assert table_runtime(TABLE, 0).bound == "at least"


@given(st.floats(0, 1200), st.floats(0, 1200))
def test_more_load_never_lasts_longer(one: float, other: float) -> None:
    less, more = sorted((one, other))
    assert table_runtime(TABLE, less).minutes >= table_runtime(TABLE, more).minutes - 1e-9


def test_a_table_that_makes_no_sense_is_refused() -> None:
    with pytest.raises(ValueError, match="runtime table: has no points"):
        table_runtime([], 100)
    with pytest.raises(ValueError, match="400 W, 20 min then 200 W, 48 min: loads rise, minutes"):
        table_runtime([(400, 20), (200, 48)], 100)
    with pytest.raises(ValueError, match="runtime table time 0 min: must be finite, above 0 min"):
        table_runtime([(400, 0)], 100)
    with pytest.raises(ValueError, match="load -1 W"):
        table_runtime(TABLE, -1)


# Energy --------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("ah", "volts", "blocks", "depth", "efficiency", "load_w", "minutes"),
    [
        (100, 12, 1, 1.0, 0.85, 500, 122.40),
        (9, 12, 2, 1.0, 0.90, 200, 58.32),
        (100, 12, 1, 0.5, 0.90, 300, 108.00),
    ],
)
def test_energy_alone(
    ah: float, volts: float, blocks: int, depth: float, efficiency: float, load_w: float,
    minutes: float,
) -> None:  # fmt: skip
    """Ah x V x n x depth x efficiency/W x 60: arithmetic."""
    found = energy_runtime(ah * volts * blocks, load_w, efficiency, depth, exponent=1)
    assert found.minutes == pytest.approx(minutes, abs=0.005)
    assert found.bound == "about"


@given(st.floats(10, 2000), st.floats(10, 2000), st.floats(1, 1.6))
def test_fast_discharges_yield_less_than_nominal_energy(
    energy_wh: float, load_w: float, exponent: float
) -> None:
    nominal = energy_runtime(energy_wh, load_w, 0.9, exponent=1).minutes
    assert energy_runtime(energy_wh, load_w, 0.9, exponent=exponent).minutes <= nominal + 1e-9


@given(st.floats(10, 5000), st.floats(1, 3000), st.floats(0.5, 1), st.floats(1, 1.6))
def test_the_energy_needed_lasts_as_long_as_asked(
    load_w: float, minutes: float, efficiency: float, exponent: float
) -> None:
    energy_wh = energy_needed_wh(load_w, minutes, efficiency, exponent)
    lasts = energy_runtime(energy_wh, load_w, efficiency, exponent=exponent).minutes
    assert lasts == pytest.approx(minutes)


# Peukert -------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("current_a", "exponent", "hours"),
    [
        (5, 1.3, 20.0000),
        (10, 1.2, 8.7055),  # the worked example of encyclopaedias, 8.7 h (from memory)
        (20, 1.2, 3.7893),
        (10, 1.1, 9.3303),
        (50, 1.1, 1.5887),
    ],
)
def test_peukerts_law(current_a: float, exponent: float, hours: float) -> None:
    """100 Ah over 20 h, normalised form (arithmetic): at the rated current any exponent is 20 h."""
    assert peukert_h(100, 20, current_a, exponent) == pytest.approx(hours, abs=0.0001)


def test_the_raw_form_is_not_used() -> None:
    """C/I^k, with C the capacity at 1 A, has 14.5 h (published) for a battery rated for 20."""
    assert peukert_h(100, 20, 5, 1.2) != pytest.approx(14.4956, abs=0.1)
    assert peukert_h(100, 20, 5, 1.2) == 20


def test_the_exponent_follows_from_two_discharges() -> None:
    """5 A for 20 h and 10 A for 7.5 h: the published pair gives 1.41504."""
    assert peukert_exponent((5, 20), (10, 7.5)) == pytest.approx(1.41504, abs=0.00001)
    with pytest.raises(ValueError, match="current 5 A twice: an exponent needs two currents"):
        peukert_exponent((5, 20), (5, 19))


@given(st.floats(1, 50), st.floats(1.01, 1.6))
def test_two_discharges_give_back_their_exponent(current_a: float, exponent: float) -> None:
    one = (current_a, peukert_h(100, 20, current_a, exponent))
    other = (2 * current_a, peukert_h(100, 20, 2 * current_a, exponent))
    assert peukert_exponent(one, other) == pytest.approx(exponent)


# IEEE 485 ------------------------------------------------------------------------------------

FACTORS_BY_F = {
    25: 1.520, 30: 1.430, 35: 1.350, 40: 1.300, 45: 1.250, 50: 1.190, 55: 1.150, 60: 1.110,
    65: 1.080, 66: 1.072, 67: 1.064, 68: 1.056, 69: 1.048, 70: 1.040, 71: 1.034, 72: 1.029,
    73: 1.023, 74: 1.017, 75: 1.011, 76: 1.006, 77: 1.000, 78: 0.994, 79: 0.987, 80: 0.980,
    81: 0.976, 82: 0.972, 83: 0.968, 84: 0.964, 85: 0.960, 86: 0.956, 87: 0.952, 88: 0.948,
    89: 0.944, 90: 0.940, 95: 0.930, 100: 0.910, 105: 0.890, 110: 0.880, 115: 0.870, 120: 0.860,
    125: 0.850,
}  # fmt: skip


@pytest.mark.parametrize(("fahrenheit", "factor"), FACTORS_BY_F.items())
def test_the_temperature_table(fahrenheit: int, factor: float) -> None:
    """IEEE Std 485 table 1; rows 25, 30, 35 and 125 °F from memory."""
    assert temperature_factor((fahrenheit - 32) * 5 / 9) == pytest.approx(factor, abs=1e-6)


@pytest.mark.parametrize(
    ("celsius", "factor"),
    [(0, 1.398), (5, 1.290), (10, 1.190), (15, 1.118), (20, 1.056), (25, 1.0), (30, 0.956)],
)
def test_the_temperature_table_in_celsius(celsius: float, factor: float) -> None:
    """IEEE Std 485 table 1, read in a straight line between its points (arithmetic)."""
    assert temperature_factor(celsius) == pytest.approx(factor, abs=0.0005)


def test_warmth_earns_no_credit() -> None:
    assert cold_factor(35) == cold_factor(25) == 1
    assert cold_factor(10) == pytest.approx(1.19)


@given(st.floats(-3.9, 51.7), st.floats(-3.9, 51.7))
def test_a_warmer_battery_never_needs_more(one: float, other: float) -> None:
    cooler, warmer = sorted((one, other))
    assert temperature_factor(warmer) <= temperature_factor(cooler) + 1e-12


def test_beyond_the_temperature_table_there_is_no_answer() -> None:
    with pytest.raises(ValueError, match=r"electrolyte temperature 52 °C: must be from -3\.9 to"):
        temperature_factor(52)


def test_a_ups_of_7500_va_asks_6520_w_of_its_battery() -> None:
    """UFC 3-520-01 appendix E-2: 7.5 kVA, power factor 0.8, efficiency 0.92; ageing 1.25."""
    assert battery_load_w(7500, 0.8, 0.92) == pytest.approx(6520, abs=5)
    assert AGEING_FACTOR == 1.25


def test_the_ampere_hour_worksheet() -> None:
    """IEEE 485 method, published worksheet: 10 kVA, 0.8, 0.85; 108 cells of 1.75 V; 0.5 h."""
    power_w = battery_load_w(10_000, 0.8, 0.85)
    needed_ah = capacity_needed_ah(power_w, 0.5, 108 * 1.75, ageing=1.25, design_margin=1.1)
    assert needed_ah == pytest.approx(34.24, abs=0.005)


def test_the_constant_power_worksheets() -> None:
    """Published sizing examples: 44.17 W a cell of 120; 0.077 kW a cell of 60 (cut off)."""
    assert battery_load_w(5300, 1, 1) / 120 == pytest.approx(44.17, abs=0.005)
    assert battery_load_w(5000, 0.8, 0.86) / 60 / 1000 == pytest.approx(0.0775, abs=0.0001)


# Age -----------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("temperature_c", "halving_c", "years"),
    [
        (25, 8, 10.0),
        (33, 8, 5.0),  # "10 years at 25 °C, 5 at 33", as published
        (41, 8, 2.5),  # "2.5 years at 41 °C", as published
        (35, 10, 5.0),  # "35 °C reduces life by half", as published
        (30, 8, 6.48),
        (30, 10, 7.07),
        (45, 10, 2.5),
    ],
)
def test_heat_shortens_life(temperature_c: float, halving_c: float, years: float) -> None:
    """Battery makers' rules for lead-acid; rows without a remark are arithmetic."""
    assert life_years(10, temperature_c, halving_c) == pytest.approx(years, abs=0.01)


def test_a_cool_battery_is_given_no_more_than_its_design_life() -> None:
    assert life_years(5, 10) == life_years(5, 25) == 5


def test_a_battery_is_due_after_its_life_in_whole_months() -> None:
    assert replace_by(date(2022, 3, 14), 5) == date(2027, 3, 14)
    assert replace_by(date(2022, 3, 14), life_years(5, 33)) == date(2024, 9, 14)
    assert replace_by(date(2024, 2, 29), 1) == date(2025, 2, 28)


def test_capacity_falls_to_four_fifths_over_its_life() -> None:
    """80 % is the end of life: TM 5-684 paragraph 14-29. The way there is a planning assumption."""
    assert capacity_left(0, 5) == 1
    assert capacity_left(2.5, 5) == pytest.approx(0.9)
    assert capacity_left(5, 5) == capacity_left(9, 5) == pytest.approx(0.8)


# Together ------------------------------------------------------------------------------------


def test_a_worn_battery_lasts_as_a_new_one_under_more_load() -> None:
    """IEEE 485's ageing of 1.25: at 80 %, 320 W last as 400 W did."""
    found = runtime(Battery(TABLE), 320, capacity_share=0.8)
    assert found.minutes == pytest.approx(20)
    assert str(found.steps[0]) == (
        "load, as a new battery bears it: 320 W × 1 × 1 / 0.8 = 400 W "
        "(margin, 25 °C, capacity left; IEEE 485)"
    )


def test_cold_and_margin_count_as_load() -> None:
    plain_w = 400 / 1.19 / 1.1
    found = runtime(Battery(TABLE), plain_w, temperature_c=10, design_margin=1.1)
    assert found.minutes == pytest.approx(20)


def test_without_a_table_energy_gives_an_estimate() -> None:
    battery = Battery(energy_wh=432, efficiency=0.9)
    found = runtime(battery, 400)
    assert found.bound == "about"
    assert found.minutes == pytest.approx(energy_runtime(432, 400, 0.9).minutes)


@pytest.mark.parametrize("battery", [Battery(), Battery(energy_wh=432), Battery(efficiency=0.9)])
def test_a_battery_of_which_nothing_is_known_has_no_runtime(battery: Battery) -> None:
    with pytest.raises(ValueError, match="needs the maker's table, or energy and efficiency"):
        runtime(battery, 400)


@given(st.floats(50, 700), st.floats(0, 300), st.floats(0.5, 1), st.floats(0, 40), st.booleans())
def test_age_and_growth_only_shorten_runtime(
    load_w: float, added_w: float, share: float, temperature_c: float, has_table: bool
) -> None:
    battery = Battery(TABLE) if has_table else Battery(energy_wh=432, efficiency=0.9)
    seen = outlook(battery, load_w, added_w, capacity_share=share, temperature_c=temperature_c)
    order = [
        seen.now.minutes, seen.at_end_of_life.minutes, seen.after_growth_at_end_of_life.minutes,
    ]  # fmt: skip
    assert order == sorted(order, reverse=True)
    assert seen.after_growth.minutes <= seen.now.minutes
    assert seen.after_growth.minutes >= seen.after_growth_at_end_of_life.minutes


@given(st.floats(1, 60), st.floats(1, 60))
def test_runtime_grows_with_energy(one: float, other: float) -> None:
    assume(abs(one - other) > 1e-6)
    less, more = sorted((one, other))
    assert energy_runtime(less, 10, 0.9).minutes < energy_runtime(more, 10, 0.9).minutes


def test_out_of_range_is_refused_by_name_and_unit() -> None:
    with pytest.raises(ValueError, match="battery energy 0 Wh: must be finite, above 0 Wh"):
        energy_runtime(0, 100, 0.9)
    with pytest.raises(ValueError, match="load 0 W: must be finite, above 0 W"):
        energy_runtime(432, 0, 0.9)
    with pytest.raises(ValueError, match=r"efficiency 1\.2: must be from 0 to 1"):
        energy_runtime(432, 100, 1.2)
    with pytest.raises(ValueError, match="Peukert exponent 3: must be from 1 to 2"):
        peukert_h(100, 20, 5, 3)
    with pytest.raises(ValueError, match="capacity share 0: must be finite, above 0"):
        runtime(Battery(TABLE), 100, capacity_share=0)
    with pytest.raises(ValueError, match="battery life 60 years: must be from 0 to 50 years"):
        replace_by(date(2026, 1, 1), 60)
    with pytest.raises(ValueError, match="battery age nan years"):
        capacity_left(math.nan, 5)
    with pytest.raises(ValueError, match="planned load -1 W"):
        outlook(Battery(TABLE), 100, -1)
