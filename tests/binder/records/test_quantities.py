"""Quantities as typed and shown.

Exact definitions: international yard and pound agreement of 1959, restated in NIST SP 811 (2008),
appendix B.8 (values from memory). Binary multiples: IEC 80000-13 (values from memory).
"""

from __future__ import annotations

import math

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from binder.records.quantities import UNITS, format_quantity, parse_quantity

SYSTEMS = ("metric", "us")


@pytest.mark.parametrize(
    ("typed", "unit", "stored"),
    [
        ("1 in", "mm", 25.4),
        ("1 ft", "m", 0.3048),
        ("1 mi", "km", 1.609344),
        ("1 lb", "kg", 0.45359237),
        ("1 lbf", "n", 4.4482216152605),
        ("32 F", "c", 0.0),
        ("212 F", "c", 100.0),
        ("-40 F", "c", -40.0),
        ("98.6 F", "c", 37.0),
        ("1 GiB", "gb", 1.073741824),
        ("1 TiB", "gb", 1099.511627776),
    ],
)
def test_conversions_are_exact(typed: str, unit: str, stored: float) -> None:
    assert parse_quantity(typed, unit, "metric") == stored


@pytest.mark.parametrize(
    ("typed", "unit", "system", "stored"),
    [
        ("24", "mm", "us", 609.6),
        ("24", "mm", "metric", 24.0),
        ("70", "c", "us", 190 / 9),
        ("21", "c", "metric", 21.0),
        ("35", "kg", "us", 15.87573295),
        ("295", "m", "us", 89.916),
        ("24", "w", "us", 24.0),
    ],
)
def test_a_bare_number_is_in_the_unit_the_binder_shows(
    typed: str, unit: str, system: str, stored: float
) -> None:
    assert parse_quantity(typed, unit, system) == pytest.approx(stored, rel=1e-15)


@pytest.mark.parametrize("system", SYSTEMS)
@pytest.mark.parametrize(
    ("typed", "unit", "stored"),
    [
        ("24in", "mm", 609.6),
        ('24"', "mm", 609.6),
        ("24″", "mm", 609.6),
        ("61 cm", "mm", 610.0),
        ("10 ft", "m", 3.048),
        ("10'", "m", 3.048),
        ("10’", "m", 3.048),
        ("6' 2\"", "mm", 1879.6),
        ("6 ft 2 in", "m", 1.8796),
        ("6'-2 1/2\"", "mm", 1892.3),
        ("3/4 in", "mm", 19.05),
        ('1-1/4"', "mm", 31.75),
        ("70F", "c", 190 / 9),
        ("70 °F", "c", 190 / 9),
        ("21 C", "c", 21.0),
        ("1.5 kW", "w", 1500.0),
        ("800 VA", "va", 800.0),
        ("1.5kva", "va", 1500.0),
        ("48 VDC", "v", 48.0),
        ("500 mA", "a", 0.5),
        ("2 TB", "gb", 2000.0),
        ("512G", "gb", 512.0),
        ("1 Gb/s", "mbps", 1000.0),
        ("2.5 gbps", "mbps", 2500.0),
        ("500 meg", "mbps", 500.0),
        ("100MBPS", "mbps", 100.0),
        ("64 kb/s", "mbps", 0.064),
        ("35 lb", "kg", 15.87573295),
        ("35 lb 4 oz", "kg", 35.25 * 0.45359237),
        ("-19.5 dBm", "dbm", -19.5),
        ("−19.5", "dbm", -19.5),
        ("18U", "u", 18.0),
        ("1 h 30 min", "min", 90.0),
        ("90 min", "hours", 1.5),
        ("2 weeks", "days", 14.0),
        ("3 years", "months", 36.0),
        ("18 months", "years", 1.5),
        ("40%", "percent", 40.0),
        ("25 Ω", "ohm", 25.0),
        ("85 mm²", "mm2", 85.0),
        ("200 sq ft", "m2", 18.580608),  # 1 ft2 = 0.092 903 04 m2, NIST SP 811 (2008), B.8
    ],
)
def test_a_unit_in_the_text_wins(typed: str, unit: str, stored: float, system: str) -> None:
    assert parse_quantity(typed, unit, system) == pytest.approx(stored, rel=1e-15)


@pytest.mark.parametrize(
    ("typed", "unit", "says"),
    [
        ("1,5", "mm", "comma"),
        ("1,500 W", "w", "comma"),
        ("nan", "w", "power"),
        ("inf", "w", "power"),
        ("1e5", "w", "power"),
        ("", "w", "power"),
        ("24 parsecs", "mm", r"write 24 \(taken as 24 in\), or a number with its unit: mm, cm, m"),
        ("24 kg", "mm", "length"),
        ("6' 2", "mm", "length"),
        ("6 2 in", "mm", "length"),
        ("24 in 61 cm", "mm", "length"),
        ("1/0 in", "mm", "length"),
        ("1/2 lb", "kg", "weight"),
        ("1 2 W", "w", "power"),
        ("9999999999999", "w", "power"),
        ("٣ W", "w", "power"),
        ("10 MB/s", "mbps", "bytes a second"),
        ("10 MBps", "mbps", "bytes a second"),
        ("2U 3U", "u", r"rack units: write 24 \(taken as 24 U\)$"),
    ],
)
def test_what_is_no_quantity_is_refused_in_one_line(typed: str, unit: str, says: str) -> None:
    with pytest.raises(ValueError, match=says) as refused:
        parse_quantity(typed, unit, "us")
    assert "\n" not in str(refused.value)


@pytest.mark.parametrize(
    ("stored", "unit", "metric", "us"),
    [
        (609.6, "mm", "609.6 mm", "24 in"),
        (610.0, "mm", "610 mm", "24.02 in"),
        (482.6, "mm", "482.6 mm", "19 in"),
        (44.45, "mm", "44.45 mm", "1.75 in"),
        (9.0, "mm", "9 mm", "0.354 in"),  # TIA-568.2: 9.0 mm is 0.354 in (value from memory)
        (100.0, "m", "100 m", "328.1 ft"),  # TIA-568 prints 328 ft
        (21.1111, "c", "21.1 °C", "70 °F"),
        (0.0, "c", "0 °C", "32 °F"),
        (15.87573295, "kg", "15.88 kg", "35 lb"),
        (1500.0, "w", "1500 W", "1500 W"),
        (12.95, "w", "12.95 W", "12.95 W"),
        (999.9, "mbps", "999.9 Mb/s", "999.9 Mb/s"),
        (999.96, "mbps", "1 Gb/s", "1 Gb/s"),
        (2500.0, "mbps", "2.5 Gb/s", "2.5 Gb/s"),
        (8000.0, "gb", "8 TB", "8 TB"),
        (1.0, "hours", "1 hour", "1 hour"),
        (36.0, "months", "36 months", "36 months"),
        (18.0, "u", "18U", "18U"),
        (-0.0001, "dbm", "0 dBm", "0 dBm"),
        (-19.55, "dbm", "-19.55 dBm", "-19.55 dBm"),
        (12345.6, "w", "12346 W", "12346 W"),
    ],
)
def test_a_quantity_is_shown_as_the_binder_says(
    stored: float, unit: str, metric: str, us: str
) -> None:
    assert format_quantity(stored, unit, "metric") == metric
    assert format_quantity(stored, unit, "us") == us


def test_only_lengths_areas_weights_forces_and_temperatures_change_with_the_system() -> None:
    changing = {key for key, unit in UNITS.items() if unit.symbol_metric != unit.symbol_us}
    assert changing == {"mm", "m", "km", "kg", "n", "c", "m2"}


@pytest.mark.parametrize("value", [math.nan, math.inf, -math.inf])
def test_a_value_that_is_not_finite_is_not_shown(value: float) -> None:
    with pytest.raises(ValueError, match="not a finite number"):
        format_quantity(value, "w", "metric")


def test_an_unknown_system_is_refused() -> None:
    with pytest.raises(ValueError, match="metric or us"):
        parse_quantity("24", "mm", "imperial")


units = st.sampled_from(sorted(UNITS))
systems = st.sampled_from(SYSTEMS)


@given(st.floats(-1e9, 1e9), units, systems)
def test_what_is_shown_can_be_typed_back_and_then_shows_the_same(
    value: float, unit: str, system: str
) -> None:
    shown = format_quantity(value, unit, system)
    assert format_quantity(parse_quantity(shown, unit, system), unit, system) == shown


@given(st.floats(-1e9, 1e9), units, systems)
def test_what_is_shown_is_right_to_its_last_digit(value: float, unit: str, system: str) -> None:
    scale = UNITS[unit].scale(UNITS[unit].symbol(system))
    read_back = parse_quantity(format_quantity(value, unit, system), unit, system)
    last_digit = 0.5 * 10 ** -UNITS[unit].shown_decimals(system) * float(scale.factor)
    away_from_zero = abs(value) + abs(float(scale.zero * scale.factor))
    assert abs(read_back - value) <= last_digit * 1.0001 + 5.1e-4 * away_from_zero


@given(st.integers(-9999, 9999), st.integers(0, 3), units, systems)
def test_four_typed_digits_are_kept_as_typed(
    digits: int, places: int, unit: str, system: str
) -> None:
    assume(places <= UNITS[unit].shown_decimals(system))
    typed = f"{digits / 10**places:.{places}f}"
    number = format_quantity(parse_quantity(typed, unit, system), unit, system)
    if not UNITS[unit].larger:
        assert float(number.split()[0].removesuffix("U")) == float(typed)


@given(st.text(), units, systems)
def test_any_text_is_a_quantity_or_is_refused_in_printable_words(
    text: str, unit: str, system: str
) -> None:
    assert _refusal(text, unit, system).isprintable()


def _refusal(text: str, unit: str, system: str) -> str:
    try:
        assert math.isfinite(parse_quantity(text, unit, system))
    except ValueError as error:
        return str(error)
    return ""
