"""Trends of dated readings: two straight lines through them, days to a limit.

Least squares, and the median of all slopes between pairs with its interval (Theil 1950; Sen 1968,
JASA 63, 1379), which a few wild readings do not bend. Too few readings, or too close together, give
`NotEnough` rather than a guess.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import UTC, date, datetime, timedelta
from itertools import combinations
from math import sqrt
from statistics import NormalDist, fmean, median
from typing import Final

from binder.engineering.figures import require

# Planning assumptions, no published source: two readings always make a line, and a few days no
# trend. Beyond a hundred years is never.
LEAST_READINGS: Final = 4
LEAST_SPAN_DAYS: Final = 14.0
FAR_SPANS: Final = 4.0
NEVER_DAYS: Final = 36_525.0

MOST_READINGS: Final = 400  # pairs grow with the square: the latest so many are used
CONFIDENCE: Final = 0.95


@dataclass(frozen=True, slots=True)
class Line:
    """value = at_zero + slope x."""

    slope: float
    at_zero: float

    def at(self, x: float) -> float:
        return self.at_zero + self.slope * x


@dataclass(frozen=True, slots=True)
class MedianLine:
    """The line of median slope, and the lines of the least and greatest slope it may have."""

    middle: Line
    low: Line
    high: Line


@dataclass(frozen=True, slots=True)
class NotEnough:
    """Why there is no trend: too few readings, or too few days between first and last."""

    readings: int
    span_days: float

    def __str__(self) -> str:
        if self.readings < LEAST_READINGS:
            return f"not enough readings: {self.readings} of {LEAST_READINGS}"
        return (
            f"not enough readings: {self.readings} within {self.span_days:.1f} days, "
            f"{LEAST_SPAN_DAYS:.0f} days are needed"
        )


@dataclass(frozen=True, slots=True)
class Trend:
    """Two lines through readings, in days since the first. Slopes are a day."""

    readings: int
    first_at: datetime
    last_at: datetime
    least_squares: Line
    theil_sen: MedianLine

    @property
    def span_days(self) -> float:
        return _days(self.last_at) - _days(self.first_at)


def least_squares(x: Sequence[float], y: Sequence[float]) -> Line:
    """The straight line of least squares.

    Raises ValueError for fewer than two points, unequal numbers, or a single x.
    """
    _require_points(x, y)
    mean_x, mean_y = fmean(x), fmean(y)
    sxx = sum((one - mean_x) ** 2 for one in x)
    sxy = sum((one - mean_x) * (other - mean_y) for one, other in zip(x, y, strict=True))
    slope = sxy / sxx
    return Line(slope, mean_y - slope * mean_x)


def theil_sen(x: Sequence[float], y: Sequence[float], confidence: float = CONFIDENCE) -> MedianLine:
    """The line of the median slope between pairs, through the medians, and its interval.

    Pairs at one x are left out. The interval is Sen's, with his correction for ties. Raises
    ValueError as `least_squares` does, or for a confidence not between 0 and 1.
    """
    _require_points(x, y)
    require("confidence", confidence, "", 0.01, 0.999)
    points = list(zip(x, y, strict=True))
    slopes = sorted(
        (y1 - y0) / (x1 - x0) for (x0, y0), (x1, y1) in combinations(points, 2) if x1 != x0
    )
    low, high = _interval(slopes, x, y, confidence)
    middle_x, middle_y = median(x), median(y)
    middle, least, greatest = (
        Line(slope, middle_y - slope * middle_x) for slope in (median(slopes), low, high)
    )
    return MedianLine(middle, least, greatest)


def trend(readings: Iterable[tuple[datetime | date, float]]) -> Trend | NotEnough:
    """The trend of dated readings in any order; the latest 400 of them where there are more.

    A date counts as its midnight, and a time without zone as UTC. Raises ValueError for a value
    that is not finite.
    """
    points = sorted((_days(when), value) for when, value in readings)[-MOST_READINGS:]
    for _, value in points:
        require("reading", value, "", -1e300, 1e300)
    span_days = points[-1][0] - points[0][0] if points else 0.0
    if len(points) < LEAST_READINGS or span_days < LEAST_SPAN_DAYS:
        return NotEnough(len(points), span_days)
    first, last = points[0][0], points[-1][0]
    x, y = [day - first for day, _ in points], [value for _, value in points]
    if min(y) == max(y):  # most of what is counted never moves
        level = Line(0.0, y[0])
        straight, medians = level, MedianLine(level, level, level)
    else:
        straight, medians = least_squares(x, y), theil_sen(x, y)
    return Trend(len(points), _moment(first), _moment(last), straight, medians)


def days_to_limit(line: Line, x_now: float, limit: float, *, falling: bool = False) -> float | None:
    """Days from `x_now` until a line reaches a limit: (limit - value now)/slope.

    0 when it is there already, None when it runs away from it or is level, or takes more than 100
    years. `falling` is for limits from below, such as runtime. Arithmetic.
    """
    left = limit - line.at(x_now)
    if (left >= 0) if falling else (left <= 0):
        return 0.0
    days = left / line.slope if line.slope else -1.0
    return days if 0 <= days <= NEVER_DAYS else None


def _interval(
    slopes: Sequence[float], x: Sequence[float], y: Sequence[float], confidence: float
) -> tuple[float, float]:
    """Sen (1968): the slopes that bound the median with that confidence."""
    n, pairs = len(y), len(slopes)
    ties = _tied(x) + _tied(y)
    sigma = sqrt(max(0.0, (n * (n - 1) * (2 * n + 5) - ties) / 18))
    reach = NormalDist().inv_cdf((1 + confidence) / 2) * sigma
    upper = min(round((pairs + reach) / 2), pairs - 1)
    lower = max(round((pairs - reach) / 2) - 1, 0)
    return slopes[lower], slopes[upper]


def _tied(values: Sequence[float]) -> int:
    counts = Counter(values).values()
    return sum(count * (count - 1) * (2 * count + 5) for count in counts if count > 1)


def _require_points(x: Sequence[float], y: Sequence[float]) -> None:
    require("points", len(x), "", 2)
    if len(x) != len(y):
        raise ValueError(f"points: {len(x)} of x but {len(y)} of y")
    if min(x) == max(x):
        raise ValueError(f"points: all at {x[0]:g}, a slope needs two places")


def _days(when: datetime | date) -> float:
    """Days since 1970, fractions of the day included."""
    if not isinstance(when, datetime):
        return when.toordinal() - date(1970, 1, 1).toordinal()
    aware = when if when.tzinfo else when.replace(tzinfo=UTC)
    return aware.timestamp() / 86400


def _moment(days: float) -> datetime:
    return datetime(1970, 1, 1, tzinfo=UTC) + timedelta(days=days)
