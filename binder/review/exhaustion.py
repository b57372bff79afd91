"""When each resource is used up: over its readings and the reviews, as a range of dates.

The line is Theil's median slope with Sen's interval (Theil 1950; Sen 1968, JASA 63, 1379) beside
least squares. A limit that changed, or a device that was put in later, begins the line anew. What
is planned is added on its planned day. Seasons are left alone: a few quarters cannot tell them.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import UTC, date, datetime, timedelta
from typing import Final

from binder.engineering.figures import plain
from binder.engineering.trend import NEVER_DAYS, Line, NotEnough, Trend, trend
from binder.file import BinderFile
from binder.headroom.battery import LIFE, MINUTES
from binder.headroom.recording import DAYS
from binder.headroom.rows import Headroom, Row
from binder.review.taken import Review

_MOVED: Final = 0.01  # share by which a limit must differ to be another one
_YEAR_DAYS: Final = 365.25
# What there is of these falls, toward what is asked of it: their limit is followed, not their use.
_FALLING: Final = (MINUTES, DAYS)


@dataclass(frozen=True, slots=True)
class Point:
    """What was used on a day, by a reading or by a review."""

    on: str
    used: float
    by: str  # 'reading' or the review's name


@dataclass(frozen=True, slots=True)
class StepChange:
    """Since when the line is drawn anew, and why."""

    on: str
    why: str


@dataclass(frozen=True, slots=True)
class Exhaustion:
    """Where a row leads. `says` is the sentence to show; dates are ISO, None for never within a
    hundred years or not known. `a_year` is the median slope, `a_year_least_squares` the other.

    `enough` is False when there are too few points: then there is no date anywhere.
    """

    row: Row
    points: tuple[Point, ...]
    step: StepChange | None
    enough: bool
    a_year: float | None
    a_year_least_squares: float | None
    on: str | None
    earliest_on: str | None
    latest_on: str | None
    planned_on: str | None
    says: str


def exhaustion(
    binder: BinderFile, computed: Headroom, taken: Sequence[Review], today: date
) -> tuple[Exhaustion, ...]:
    """Where every row with a limit leads, what binds first, first."""
    readings = _readings(binder)
    installed = _installed(binder)
    planned = _planned(binder)
    found = [
        _of(row, taken, readings, installed, planned, today)
        for row in computed.rows
        if row.limit is not None and row.used is not None
    ]
    return tuple(sorted(found, key=lambda one: (one.on is None, one.on or "", one.row.key)))


def binding_first(found: Iterable[Exhaustion]) -> Exhaustion | None:
    """What is used up first of all; None when nothing is, as far as is known."""
    return next((one for one in found if one.on is not None), None)


def _of(
    row: Row,
    taken: Sequence[Review],
    readings: dict[tuple[int, str], list[tuple[datetime, float]]],
    installed: dict[int, str],
    planned: dict[str, str],
    today: date,
) -> Exhaustion:
    assert row.limit is not None
    assert row.used is not None
    if row.resource == LIFE:
        return _by_age(row, today)
    points, step = _points(row, taken, readings, installed)
    when = [(datetime.fromisoformat(point.on).replace(tzinfo=UTC), point.used) for point in points]
    line = trend(when)
    kept = row.reserved or 0.0
    planned_on = planned.get(row.where.name) or planned.get(row.where.space) if kept else None
    since = f"; since {step.on}, {step.why}" if step else ""
    if isinstance(line, NotEnough):
        return Exhaustion(
            row, points, step, False, None, None, None, None, None, planned_on, f"{line}{since}"
        )
    falling = row.resource in _FALLING
    start = date.fromisoformat(planned_on) if planned_on else today
    lines = line.theil_sen
    steep, gentle = (lines.low, lines.high) if falling else (lines.high, lines.low)

    def reached(one: Line) -> str | None:
        target = row.used if falling else row.limit
        return _reached(line, one, target or 0.0, kept, start, today, falling)

    on, earliest, latest = reached(lines.middle), reached(steep), reached(gentle)
    a_year = lines.middle.slope * _YEAR_DAYS
    return Exhaustion(
        row, points, step, True, a_year, line.least_squares.slope * _YEAR_DAYS, on, earliest,
        latest, planned_on, _says(row, a_year, on, earliest, latest, len(points)) + since,
    )  # fmt: skip


def _by_age(row: Row, today: date) -> Exhaustion:
    """A battery is used up by its age: no line is drawn."""
    left_years = max((row.limit or 0.0) - (row.used or 0.0), 0.0)
    on = (today + timedelta(days=int(left_years * _YEAR_DAYS))).isoformat()
    says = f"by its age, {plain(row.used or 0.0)} of {plain(row.limit or 0.0)} years: due {on}"
    return Exhaustion(row, (), None, True, 1.0, None, on, on, on, None, says)


def _reached(
    found: Trend, line: Line, limit: float, kept: float, start: date, today: date, falling: bool
) -> str | None:
    """The day the line reaches the limit, what is kept for plans added from its day on."""
    first = found.first_at.timestamp() / 86400

    def x_of(day: date) -> float:
        return (day - date(1970, 1, 1)).days - first

    def day_of(left: float, from_day: date) -> date | None:
        slope = -line.slope if falling else line.slope
        if left <= 0:
            return from_day
        days = left / slope if slope > 0 else -1.0
        return from_day + timedelta(days=int(days)) if 0 <= days <= NEVER_DAYS else None

    def left_on(day: date, extra: float) -> float:
        at = line.at(x_of(day))
        return (at - extra - limit) if falling else (limit - extra - at)

    before = day_of(left_on(today, 0.0), today)
    if start > today and before is not None and before <= start:
        return before.isoformat()  # full before the plan comes
    begins = max(start, today)
    after = day_of(left_on(begins, kept), begins)
    return after.isoformat() if after else None


def _says(
    row: Row, a_year: float, on: str | None, earliest: str | None, latest: str | None, count: int
) -> str:
    slope = (
        f"{'+' if a_year >= 0 else '-'}{plain(abs(a_year))} {row.unit} a year, by {count} points"
    )
    target = row.used if row.resource in _FALLING else row.limit
    limit = f"{plain(target or 0.0)} {row.unit}"
    if on is None:
        return f"{slope}: does not reach {limit}"
    until = f" and {latest}" if latest else " and never"
    return f"{slope}: reaches {limit} about {on}, between {earliest or on}{until}"


def _points(
    row: Row,
    taken: Sequence[Review],
    readings: dict[tuple[int, str], list[tuple[datetime, float]]],
    installed: dict[int, str],
) -> tuple[tuple[Point, ...], StepChange | None]:
    """Readings where the row is measured, else the reviews; from the last step change on."""
    step = _step(row, taken, installed)
    points: list[Point] = []
    if row.measured is not None and row.measured.unit == row.unit:
        held = readings.get((row.where.id, row.measured.quantity), [])
        points = [Point(when.isoformat()[:19], value, "reading") for when, value in held]
    if not points:
        for review in taken:
            then = next((one for one in review.headroom.rows if one.key == row.key), None)
            value = _followed(then) if then is not None else None
            if value is not None:
                points.append(Point(review.taken_on, value, review.name))
    if step is not None:
        points = [point for point in points if point.on[:10] >= step.on]
    return tuple(points), step


def _followed(row: Row) -> float | None:
    return row.limit if row.resource in _FALLING else row.used


def _step(row: Row, taken: Sequence[Review], installed: dict[int, str]) -> StepChange | None:
    """The last change of the limit between reviews, or the day the device itself came."""
    if row.resource in _FALLING:
        return None
    found: StepChange | None = None
    before: float | None = None
    steps = [(review.taken_on, review.headroom) for review in taken]
    limits = [(on, next((r.limit for r in held.rows if r.key == row.key), None))
              for on, held in steps]  # fmt: skip
    for on, limit in [*limits, ("now", row.limit)]:
        if limit is None:
            continue
        if before is not None and abs(limit - before) > _MOVED * max(abs(before), 1e-9):
            day = on if on != "now" else max((o for o, _ in limits), default="")
            why = f"the limit went from {plain(before)} to {plain(limit)} {row.unit}"
            found = StepChange(day, why)
        before = limit
    came = installed.get(row.where.id, "")
    had_before = bool(taken) and came > taken[0].taken_on
    if not had_before:
        return found
    was_put_in = f"{row.where.name} as it is now was put in"
    if found is None or came > found.on:
        return StepChange(came, was_put_in)
    last_before = max((on for on, _ in limits if on < found.on), default="")
    if came > last_before:  # the limit moved because the device is another one
        return StepChange(came, f"{was_put_in}: {found.why}")
    return found


def _readings(binder: BinderFile) -> dict[tuple[int, str], list[tuple[datetime, float]]]:
    rows = binder.connection.execute(
        "SELECT t.subject_id, t.quantity, t.read_at, t.value FROM reading t "
        "WHERE t.status = 'current' AND NOT EXISTS "
        "(SELECT 1 FROM reading c WHERE c.corrects_id = t.id) ORDER BY t.read_at, t.id"
    )
    found: dict[tuple[int, str], list[tuple[datetime, float]]] = {}
    for subject, quantity, at, value in rows:
        when = datetime.strptime(at, "%Y-%m-%dT%H:%M:%SZ").replace(tzinfo=UTC)
        found.setdefault((subject, quantity), []).append((when, value))
    return found


def _installed(binder: BinderFile) -> dict[int, str]:
    rows = binder.connection.execute(
        "SELECT id, installed_on FROM hardware WHERE status = 'installed' "
        "AND installed_on IS NOT NULL"
    )
    return {row[0]: row[1] for row in rows}


def _planned(binder: BinderFile) -> dict[str, str]:
    """The earliest planned day by the name of the rack or the space planned hardware goes to."""
    rows = binder.connection.execute(
        "SELECT r.name, min(h.installed_on) FROM hardware h JOIN record r "
        "ON r.id IN (h.rack_id, h.space_id, "
        "(SELECT k.space_id FROM rack k WHERE k.id = h.rack_id)) "
        "WHERE h.status = 'planned' AND h.installed_on IS NOT NULL GROUP BY 1"
    )
    return {row[0]: row[1] for row in rows}
