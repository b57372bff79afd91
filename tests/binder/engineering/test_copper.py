"""Resistance of copper against printed wire tables and NEC chapter 9 table 8."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from binder.engineering.copper import (
    Run,
    conductor_ohm_per_m,
    diameter_mm,
    run_ohm,
    temperature_factor,
)

OHM_PER_KM_OF_OHM_PER_1000_FT = 1 / 0.3048


@pytest.mark.parametrize(
    ("gauge_awg", "ohm_per_1000_ft", "printed_diameter_mm"),
    [
        (18, 6.385, 1.0237),
        (22, 16.14, 0.6438),
        (23, 20.36, 0.5733),
        (24, 25.67, 0.5106),
        (26, 40.81, 0.4049),
        (28, 64.90, 0.3211),
    ],
)
def test_the_wire_table(gauge_awg: int, ohm_per_1000_ft: float, printed_diameter_mm: float) -> None:
    """Solid annealed copper at 20 °C: NBS Handbook 100 (formerly Circular 31), ASTM B258."""
    assert diameter_mm(gauge_awg) == pytest.approx(printed_diameter_mm, abs=0.0001)
    assert conductor_ohm_per_m(gauge_awg) * 1000 == pytest.approx(
        ohm_per_1000_ft * OHM_PER_KM_OF_OHM_PER_1000_FT, rel=0.001
    )


@pytest.mark.parametrize(
    ("gauge_awg", "ohm_per_1000_ft"), [(18, 7.77), (14, 3.07), (12, 1.93), (10, 1.21)]
)
def test_warm_conductors_are_those_of_the_electrical_code(
    gauge_awg: int, ohm_per_1000_ft: float
) -> None:
    """NEC chapter 9 table 8: solid, uncoated copper at 75 °C."""
    ohm = conductor_ohm_per_m(gauge_awg, 75) * 304.8
    assert ohm == pytest.approx(ohm_per_1000_ft, abs=0.006)


@pytest.mark.parametrize(("temperature_c", "ohm_per_km"), [(50, 94.149), (60, 97.458)])
def test_warm_24_awg(temperature_c: float, ohm_per_km: float) -> None:
    """Copper at 0.00393 a degree from 84.219 ohm/km (arithmetic)."""
    assert conductor_ohm_per_m(24, temperature_c) * 1000 == pytest.approx(ohm_per_km, rel=0.001)


def test_a_run_adds_its_cable_and_cords() -> None:
    """Printed resistance of 24 AWG: 100 m are 8.4219 ohm (NBS Handbook 100)."""
    assert run_ohm([Run(100, 24)]) == pytest.approx(8.4219, rel=0.001)
    parts = [Run(90, 23), Run(3, 28, is_cord=True)]
    assert run_ohm(parts) == pytest.approx(0.090 * 66.80 + 0.003 * 212.93, rel=0.001)
    assert run_ohm([]) == 0


def test_a_gauge_that_nobody_recorded_is_the_worst_allowed() -> None:
    """ANSI/TIA-568 (from memory): 9.38 ohm for 100 m of cable, 14 for 100 m of cord."""
    assert run_ohm([Run(100)]) == pytest.approx(9.38)
    assert run_ohm([Run(100, is_cord=True)]) == pytest.approx(14.0)
    assert run_ohm([Run(100)]) > run_ohm([Run(100, 24)])


@given(st.integers(10, 39), st.floats(-40, 90), st.floats(-40, 90))
def test_thinner_and_warmer_copper_resists_more(gauge: int, one: float, other: float) -> None:
    cooler, warmer = sorted((one, other))
    assert conductor_ohm_per_m(gauge + 1, warmer) > conductor_ohm_per_m(gauge, warmer)
    assert conductor_ohm_per_m(gauge, warmer) >= conductor_ohm_per_m(gauge, cooler)


@given(st.integers(10, 40), st.floats(0, 500), st.floats(-40, 90))
def test_resistance_grows_with_length(gauge: int, length_m: float, temperature_c: float) -> None:
    whole = run_ohm([Run(2 * length_m, gauge)], temperature_c)
    assert whole == pytest.approx(2 * run_ohm([Run(length_m, gauge)], temperature_c))


def test_out_of_range_is_refused_by_name_and_unit() -> None:
    with pytest.raises(ValueError, match="conductor 42 AWG: must be from 10 to 40 AWG"):
        conductor_ohm_per_m(42)
    with pytest.raises(ValueError, match="cable temperature 91 °C: must be from -40 to 90 °C"):
        temperature_factor(91)
    with pytest.raises(ValueError, match="cord -1 m: must be finite, 0 m or more"):
        run_ohm([Run(-1, 24, is_cord=True)])
    with pytest.raises(ValueError, match="cable nan m"):
        run_ohm([Run(math.nan, 24)])
