"""Trends against NIST StRD, Sen (1968), Anscombe (1973) and scipy."""

from __future__ import annotations

import math
import warnings
from datetime import UTC, date, datetime, timedelta

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st
from scipy import stats

from binder.engineering.trend import (
    LEAST_READINGS,
    MOST_READINGS,
    Line,
    NotEnough,
    Trend,
    days_to_limit,
    least_squares,
    theil_sen,
    trend,
)

NORRIS_X = [
    0.2, 337.4, 118.2, 884.6, 10.1, 226.5, 666.3, 996.3, 448.6, 777.0, 558.2, 0.4, 0.6, 775.5,
    666.9, 338.0, 447.5, 11.6, 556.0, 228.1, 995.8, 887.6, 120.2, 0.3, 0.3, 556.8, 339.1, 887.2,
    999.0, 779.0, 11.1, 118.3, 229.2, 669.1, 448.9, 0.5,
]  # fmt: skip
NORRIS_Y = [
    0.1, 338.8, 118.1, 888.0, 9.2, 228.1, 668.5, 998.5, 449.1, 778.9, 559.2, 0.3, 0.1, 778.1,
    668.8, 339.3, 448.9, 10.8, 557.7, 228.3, 998.0, 888.8, 119.6, 0.3, 0.6, 557.6, 339.3, 888.0,
    998.5, 778.9, 10.2, 117.6, 228.9, 668.4, 449.2, 0.2,
]  # fmt: skip

SEN_X, SEN_Y = [1, 2, 3, 4, 10, 12, 18], [9, 15, 19, 20, 45, 55, 78]

ANSCOMBE_X = [10, 8, 13, 9, 11, 14, 6, 4, 12, 7, 5]
ANSCOMBE_1 = [8.04, 6.95, 7.58, 8.81, 8.33, 9.96, 7.24, 4.26, 10.84, 4.82, 5.68]
ANSCOMBE_3 = [7.46, 6.77, 12.74, 7.11, 7.81, 8.84, 6.08, 5.39, 8.15, 6.42, 5.73]


# Lines ---------------------------------------------------------------------------------------


def test_least_squares_gives_the_certified_values() -> None:
    """NIST Statistical Reference Datasets, linear regression, Norris (certified values)."""
    line = least_squares(NORRIS_X, NORRIS_Y)
    assert line.slope == pytest.approx(1.00211681802045, rel=1e-12)
    assert line.at_zero == pytest.approx(-0.262323073774029, rel=1e-9)


def test_the_median_of_slopes() -> None:
    """Sen (1968), Journal of the American Statistical Association 63, 1379, with alpha 0.07."""
    found = theil_sen(SEN_X, SEN_Y, confidence=0.93)
    assert (found.middle.slope, found.middle.at_zero) == (4.0, 4.0)
    assert found.low.slope == pytest.approx(3.71, abs=0.005)
    assert found.high.slope == pytest.approx(4.38, abs=0.005)
    line = least_squares(SEN_X, SEN_Y)
    assert line.slope == pytest.approx(4.021352, abs=1e-6)
    assert line.at_zero == pytest.approx(5.704627, abs=1e-6)


@pytest.mark.parametrize(
    ("x", "y", "slope", "at_zero"),
    [
        ([0, 1, 2], [0, 1, 1], 0.5, 0.5),  # scipy's own test of the intercept
        ([1, 2, 3, 4, 5, 6, 7], [1, 2, 3, 4, 5, 16, 7], 1.0, 0.0),  # arithmetic
        ([1, 2, 3, 5], [2, 3, 5, 10], 2.0, -1.0),  # arithmetic
        (ANSCOMBE_X, ANSCOMBE_1, 0.5016667, 3.065),  # Anscombe (1973), data from memory
        (ANSCOMBE_X, ANSCOMBE_3, 0.3455556, 4.000),
        (NORRIS_X, NORRIS_Y, 1.00219683655536, -0.0640158172232077),  # by scipy
    ],
)
def test_median_lines(x: list[float], y: list[float], slope: float, at_zero: float) -> None:
    found = theil_sen(x, y).middle
    assert found.slope == pytest.approx(slope, abs=1e-7)
    assert found.at_zero == pytest.approx(at_zero, abs=1e-4)


def test_one_wild_reading_bends_least_squares_and_not_the_median() -> None:
    """Anscombe (1973), third set (data from memory): a line of slope 0.345 and one outlier."""
    assert least_squares(ANSCOMBE_X, ANSCOMBE_3).slope == pytest.approx(0.4997273, abs=1e-6)
    assert theil_sen(ANSCOMBE_X, ANSCOMBE_3).middle.slope == pytest.approx(0.3455556, abs=1e-6)


POINTS = st.lists(
    st.tuples(st.integers(0, 400), st.integers(-1000, 1000).map(lambda n: n / 8)),
    min_size=3,
    max_size=25,
)


@given(POINTS, st.floats(0.5, 0.99))
def test_lines_agree_with_scipy(points: list[tuple[int, float]], confidence: float) -> None:
    """scipy.stats.theilslopes (separate intercept, alpha) and linregress."""
    x, y = [float(day) for day, _ in points], [value for _, value in points]
    assume(min(x) != max(x))
    found = theil_sen(x, y, confidence)
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")  # where nearly all is tied scipy has no interval
        slope, at_zero, low, high = stats.theilslopes(y, x, alpha=confidence, method="separate")
        reference = stats.linregress(x, y)
    assert found.middle.slope == pytest.approx(slope, abs=1e-9)
    assert found.middle.at_zero == pytest.approx(at_zero, abs=1e-6)
    if math.isfinite(low):
        assert [found.low.slope, found.high.slope] == pytest.approx([low, high], abs=1e-9)
    line = least_squares(x, y)
    assert line.slope == pytest.approx(reference.slope, abs=1e-9)
    assert line.at_zero == pytest.approx(reference.intercept, abs=1e-6)


@given(st.floats(-5, 5), st.floats(-100, 100), st.lists(st.integers(0, 400), min_size=3))
def test_points_on_a_line_give_it_back(slope: float, at_zero: float, days: list[int]) -> None:
    assume(min(days) != max(days))
    x = [float(day) for day in days]
    y = [at_zero + slope * day for day in x]
    for line in (least_squares(x, y), theil_sen(x, y).middle):
        assert line.slope == pytest.approx(slope, abs=1e-9)
        assert line.at_zero == pytest.approx(at_zero, abs=1e-6)


def test_points_that_make_no_line_are_refused() -> None:
    with pytest.raises(ValueError, match="points 1: must be finite, 2 or more"):
        least_squares([1], [1])
    with pytest.raises(ValueError, match="points: 2 of x but 3 of y"):
        theil_sen([1, 2], [1, 2, 3])
    with pytest.raises(ValueError, match="points: all at 3, a slope needs two places"):
        theil_sen([3, 3], [1, 2])
    with pytest.raises(ValueError, match="confidence 1: must be from"):
        theil_sen([1, 2], [1, 2], confidence=1)


# Days to a limit -----------------------------------------------------------------------------


def test_days_left_by_sens_data() -> None:
    """Arithmetic on Sen (1968): limit 100, now 18."""
    assert days_to_limit(theil_sen(SEN_X, SEN_Y).middle, 18, 100) == pytest.approx(6.0)


@pytest.mark.parametrize(
    ("fourth", "by_least_squares", "by_median"),
    [(44.4, 643.86, 650.00), (70.0, 352.36, 609.19)],
)
def test_days_left_of_a_disk(fourth: float, by_least_squares: float, by_median: float) -> None:
    """Constructed: monthly readings toward 80, without and with one wild one (arithmetic)."""
    x, y = [0.0, 30, 60, 90, 120, 150], [40.0, 41.5, 43.1, fourth, 46.2, 47.5]
    assert days_to_limit(least_squares(x, y), 150, 80) == pytest.approx(by_least_squares, abs=0.01)
    assert days_to_limit(theil_sen(x, y).middle, 150, 80) == pytest.approx(by_median, abs=0.01)


def test_a_limit_is_reached_now_later_or_never() -> None:
    rising = Line(2.0, 10.0)
    assert days_to_limit(rising, 0, 10) == 0
    assert days_to_limit(rising, 0, 5) == 0
    assert days_to_limit(rising, 0, 20) == 5
    assert days_to_limit(rising, 0, 10.5) == 0.25
    assert days_to_limit(Line(0.0, 10.0), 0, 20) is None
    assert days_to_limit(Line(-1.0, 10.0), 0, 20) is None
    assert days_to_limit(Line(1e-9, 10.0), 0, 20) is None  # not in 100 years


def test_a_limit_from_below_is_reached_by_falling() -> None:
    falling = Line(-0.5, 20.0)  # minutes of runtime
    assert days_to_limit(falling, 0, 10, falling=True) == 20
    assert days_to_limit(falling, 19, 10, falling=True) == 1
    assert days_to_limit(falling, 30, 10, falling=True) == 0
    assert days_to_limit(Line(0.5, 20.0), 0, 10, falling=True) is None


# Dated readings ------------------------------------------------------------------------------


def monthly(values: list[float]) -> list[tuple[datetime, float]]:
    start = datetime(2026, 1, 1, 12, tzinfo=UTC)
    return [(start + timedelta(days=30 * n), value) for n, value in enumerate(values)]


def found(values: list[float]) -> Trend:
    result = trend(monthly(values))
    assert isinstance(result, Trend)
    return result


def test_readings_in_any_order_make_one_trend() -> None:
    values = [40.0, 41.5, 43.1, 44.4, 46.2, 47.5]
    seen = found(values)
    assert seen == trend(reversed(monthly(values)))
    assert (seen.readings, seen.span_days) == (6, 150)
    assert (seen.first_at, seen.last_at) == (monthly(values)[0][0], monthly(values)[-1][0])


def test_the_days_a_disk_has_left_and_the_interval_around_them() -> None:
    """The constructed series: 650 days from the last reading, by the median line."""
    seen = found([40.0, 41.5, 43.1, 44.4, 46.2, 47.5])
    lines = seen.theil_sen
    soonest, likely, latest = (
        days_to_limit(line, seen.span_days, 80) for line in (lines.high, lines.middle, lines.low)
    )
    assert likely == pytest.approx(650, abs=0.01)
    assert soonest is not None
    assert latest is not None
    assert soonest <= 650 <= latest


def test_a_trend_that_may_be_level_has_no_latest_day() -> None:
    lines = found([50.0, 48.0, 55.0, 49.0, 56.0, 52.0]).theil_sen
    assert days_to_limit(lines.middle, 150, 60) is not None
    assert days_to_limit(lines.low, 150, 60) is None
    assert found([50.0] * 6).theil_sen.high == Line(0.0, 50.0)


@pytest.mark.parametrize("count", range(LEAST_READINGS))
def test_too_few_readings_are_no_trend(count: int) -> None:
    seen = trend(monthly([40.0 + n for n in range(count)]))
    assert isinstance(seen, NotEnough)
    assert str(seen) == f"not enough readings: {count} of 4"


def test_readings_of_one_week_are_no_trend() -> None:
    start = date(2026, 1, 1)
    seen = trend([(start + timedelta(days=n), 40.0 + n) for n in range(8)])
    assert str(seen) == "not enough readings: 8 within 7.0 days, 14 days are needed"
    at_once = trend([(start, value) for value in (1.0, 2.0, 3.0, 4.0)])
    assert isinstance(at_once, NotEnough)


def test_dates_and_times_may_be_mixed() -> None:
    """A date is its midnight; a time without a zone is UTC."""
    mixed = [
        (date(2026, 1, 1), 1.0),
        (datetime(2026, 1, 11), 2.0),
        (datetime(2026, 1, 21, tzinfo=UTC), 3.0),
        (date(2026, 1, 31), 4.0),
    ]
    seen = trend(mixed)
    assert isinstance(seen, Trend)
    assert seen.least_squares.slope == pytest.approx(0.1)


def test_of_very_many_readings_the_latest_count() -> None:
    start = date(2020, 1, 1)
    old = [(start + timedelta(days=n), 1000.0) for n in range(100)]
    new = [(start + timedelta(days=100 + n), float(n)) for n in range(MOST_READINGS)]
    seen = trend(old + new)
    assert isinstance(seen, Trend)
    assert seen.readings == MOST_READINGS
    assert seen.theil_sen.middle.slope == pytest.approx(1)


def test_a_reading_that_is_no_number_is_refused() -> None:
    with pytest.raises(ValueError, match="reading nan"):
        trend(monthly([1.0, 2.0, math.nan, 4.0]))
