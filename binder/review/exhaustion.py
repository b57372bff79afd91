"""When each resource is used up: over its readings and the reviews, as a range of dates.

The one place where it is reckoned: the app, the commands, the documents and the review of a shelf
all tell this. The line is Theil's median slope with Sen's interval (Theil 1950; Sen 1968, JASA 63,
1379) beside least squares. A device put in later, or what is rated become another figure, begins
the line anew; a planning limit that moved does not, as what is used goes on as it did. What is
planned is added on its planned day. Seasons are left alone: a few quarters cannot tell them.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace
from datetime import UTC, date, datetime, timedelta
from functools import lru_cache
from typing import Final, Literal

from binder.engineering.figures import plain
from binder.engineering.trend import FAR_SPANS, Line, NotEnough, Trend, days_to_limit, trend
from binder.file import BinderFile
from binder.headroom.battery import LIFE, MINUTES
from binder.headroom.optics import LIGHT
from binder.headroom.recording import DAYS
from binder.headroom.rows import Headroom, Outlook, Row
from binder.headroom.words import two
from binder.review.taken import Level, levels

_MOVED: Final = 0.01  # share by which what is rated must differ to be another one
_YEAR_DAYS: Final = 365.25
_EPOCH: Final = date(1970, 1, 1)
# What there is of these falls, toward what is asked of it: their limit is followed, not their use.
FALLING: Final = (MINUTES, DAYS)

Standing = Literal["", "reached", "with plans"]


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

    `enough` is False when there are too few points: then there is no date anywhere. `is_far`: so
    far beyond the points that the date is no more than a direction. `standing`: whether the line is
    at its limit on the day asked about, or would be with what is planned or reserved.
    """

    row: Row
    points: tuple[Point, ...]
    step: StepChange | None
    enough: bool
    says: str
    a_year: float | None = None
    a_year_least_squares: float | None = None
    on: str | None = None
    earliest_on: str | None = None
    latest_on: str | None = None
    is_far: bool = False
    standing: Standing = ""

    @property
    def when(self) -> str:
        """'reached', 'with plans', the day, of a mere direction the year; '' for never."""
        if self.is_far and self.on:
            return f"about {self.on[:4]}"
        return self.standing or self.on or ""

    @property
    def between(self) -> str:
        """The range of days it lies in: '2027-02-01 to 2027-02-18'; '' where that says nothing."""
        if self.standing or self.is_far or self.earliest_on == self.latest_on:
            return ""
        return f"{self.earliest_on} to {self.latest_on or 'never'}"


def exhaustion(binder: BinderFile, computed: Headroom, today: date) -> tuple[Exhaustion, ...]:
    """Where every row with a limit leads, what binds first, first. What was read, reviewed or put
    in after that day counts for nothing."""
    known = _Known(binder, today)
    found = [
        _of(row, known) for row in computed.rows if row.limit is not None and row.used is not None
    ]
    return tuple(sorted(found, key=_first_full))


def _first_full(one: Exhaustion) -> tuple[bool, str, str, str, str]:
    row = one.row
    return one.on is None, one.on or "", row.resource, row.where.name, row.which


def binding_first(found: Iterable[Exhaustion]) -> Exhaustion | None:
    """What is used up first of all; None when nothing is, as far as is known."""
    return next((one for one in found if one.on is not None), None)


def with_outlooks(computed: Headroom, found: Iterable[Exhaustion]) -> Headroom:
    """The same headroom, each row with where it leads; none where nothing was read or reviewed."""
    led = {
        one.row.key: Outlook(
            one.says, one.on, one.earliest_on, one.latest_on, one.a_year, one.is_far
        )
        for one in found
        if one.points or one.step
    }
    rows = tuple(
        replace(row, outlook=led[row.key]) if row.key in led else row for row in computed.rows
    )
    return replace(computed, rows=rows)


# A row. -----------------------------------------------------------------------------------


class _Known:
    """What is known of the time before a day, read at once."""

    def __init__(self, binder: BinderFile, today: date) -> None:
        self.today = today
        self.taken = levels(binder, today)
        self.readings = _readings(binder, today)
        self.put_in = _put_in(binder, today)


def _of(row: Row, known: _Known) -> Exhaustion:
    if row.resource == LIFE:
        return _by_age(row)
    points = _points(row, known)
    step = _step(row, known, points[0].on if points else None)
    if step is not None:
        points = tuple(point for point in points if point.on[:10] >= step.on)
    line = trend((_moment(point.on), point.used) for point in points)
    since = f"; since {step.on}, {step.why}" if step else ""
    if isinstance(line, NotEnough):
        return Exhaustion(row, points, step, False, f"{line}{since}")
    lines = line.theil_sen
    steep, gentle = (lines.low, lines.high) if _falls(row) else (lines.high, lines.low)
    on, earliest, latest = (
        _reached(row, line, one, known.today) for one in (lines.middle, steep, gentle)
    )
    is_far = on is not None and (on - known.today).days > FAR_SPANS * line.span_days
    standing: Standing = ""
    if on is not None and on <= known.today:
        bare = _full_on(row, line, lines.middle, known.today, 0.0)
        standing = "reached" if bare == known.today else "with plans"
    says = _says(row, line, points, (on, earliest, latest), standing, is_far=is_far)
    return Exhaustion(
        row, points, step, True, says + since, lines.middle.slope * _YEAR_DAYS,
        line.least_squares.slope * _YEAR_DAYS, _iso(on), _iso(earliest), _iso(latest), is_far,
        standing,
    )  # fmt: skip


def _falls(row: Row) -> bool:
    return row.resource in FALLING


@lru_cache(maxsize=1024)
def _moment(on: str) -> datetime:
    """Of a day its midnight, in UTC. The same few days come again in row after row."""
    return datetime.fromisoformat(on).replace(tzinfo=UTC)


def _iso(day: date | None) -> str | None:
    return day.isoformat() if day else None


def _by_age(row: Row) -> Exhaustion:
    """A battery is used up by its age, on the day that its row tells: no line is drawn."""
    on = row.outlook.runs_out_on if row.outlook else None
    says = f"by its age, {plain(row.used or 0.0)} of {plain(row.limit or 0.0)} years"
    says += f": {row.outlook.says}" if row.outlook else ""
    return Exhaustion(row, (), None, True, says, 1.0, None, on, on, on)


# The line. --------------------------------------------------------------------------------


def _full_on(row: Row, found: Trend, line: Line, day: date, kept: float) -> date | None:
    """The day from that one on when the line reaches the limit, with so much kept for plans."""
    falls, first = _falls(row), found.first_at.timestamp() / 86400
    limit = (row.used or 0.0) + kept if falls else (row.limit or 0.0) - kept
    days = days_to_limit(line, (day - _EPOCH).days - first, limit, falling=falls)
    return None if days is None else day + timedelta(days=int(days))


def _reached(row: Row, found: Trend, line: Line, today: date) -> date | None:
    """The same, with what is kept for plans added from its day on."""
    begins = max(today, date.fromisoformat(row.planned_on)) if row.planned_on else today
    before = _full_on(row, found, line, today, 0.0)
    if before is not None and before <= begins:
        return before  # full before the plan comes
    return _full_on(row, found, line, begins, row.reserved or 0.0)


def _says(
    row: Row,
    found: Trend,
    points: tuple[Point, ...],
    days: tuple[date | None, date | None, date | None],
    standing: Standing,
    *,
    is_far: bool,
) -> str:
    on, earliest, latest = days
    a_year = found.theil_sen.middle.slope * _YEAR_DAYS
    by = "readings" if points[0].by == "reading" else "reviews"
    slope = f"{'+' if a_year > 0 else '-'}{plain(abs(a_year))} {row.unit} a year"
    slope = f"{slope if a_year else 'level'}, by {len(points)} {by}"
    limit = f"{plain((row.used if _falls(row) else row.limit) or 0.0)} {row.unit}"
    if on is None:
        return f"{slope}: does not reach {limit}"
    if standing == "reached":
        return f"{slope}: at the limit already, {limit}"
    if standing:
        return f"{slope}: at the limit already with what is kept, {limit}"
    if is_far:
        told = f"{slope}: reaches {limit} about {on.year}"
        return f"{told}, far beyond the {by}: a direction, not a date"
    told = f"{slope}: reaches {limit} about {on}"
    if latest is None:
        return f"{told}, {earliest or on} at the earliest"
    return f"{told}, between {earliest or on} and {latest}"


# What it is drawn through. ----------------------------------------------------------------


def _points(row: Row, known: _Known) -> tuple[Point, ...]:
    """Readings where the row is measured, else the reviews; the earliest first."""
    if row.measured is not None and (row.measured.unit == row.unit or row.resource == LIGHT):
        held = known.readings.get((row.where.id, row.measured.quantity), ())
        if row.resource == LIGHT:  # what is used of the window grows as the light falls
            full = (row.used or 0.0) + row.measured.value
            return tuple(Point(at, full - value, "reading") for at, value in held)
        return tuple(Point(at, value, "reading") for at, value in held)
    then = ((review, review.of.get(row.key)) for review in known.taken)
    return tuple(
        Point(review.taken_on, value, review.name)
        for review, level in then
        if level is not None and level.unit == row.unit
        and (value := level.limit if _falls(row) else level.used) is not None
    )  # fmt: skip


def _step(row: Row, known: _Known, first_on: str | None) -> StepChange | None:
    """The last time that what is rated became another, or the day the device itself came."""
    reviewed = [(one.taken_on, of) for one in known.taken if (of := one.of.get(row.key))]
    rated = None if _falls(row) else _rated_anew(row, reviewed)
    came, what = _came(row, known)
    first = min(filter(None, (first_on, reviewed[0][0] if reviewed else None)), default="")
    if not came or not first or came <= first[:10]:
        return rated
    why = f"{what} as it is now was put in"
    if rated is None or came > rated.on:
        return StepChange(came, why)
    last_before = max((on for on, _ in reviewed if on < rated.on), default="")
    if came > last_before:  # it is rated otherwise because the device is another one
        return StepChange(came, f"{why}: {rated.why}")
    return rated


def _rated_anew(row: Row, reviewed: list[tuple[str, Level]]) -> StepChange | None:
    found: StepChange | None = None
    before: Level | None = None
    present = Level(row.unit, row.used, row.limit, row.rated)
    for on, level in [*reviewed, ("", present)]:
        if level.rated is None or level.unit != row.unit:
            continue
        if before is not None and _differs(before.rated or 0.0, level.rated):
            day = on or (date.fromisoformat(reviewed[-1][0]) + timedelta(days=1)).isoformat()
            found = StepChange(day, _why(row, before, level))
        before = level
    return found


def _why(row: Row, before: Level, after: Level) -> str:
    word, old, new = "limit", before.limit, after.limit
    if old is None or new is None or not _differs(old, new):
        word, old, new = "rating", before.rated, after.rated
    return f"the {word} went from {two(old, 'to', new, row.unit)}"


def _differs(one: float, other: float) -> bool:
    return abs(one - other) > _MOVED * max(abs(one), 1e-9)


def _came(row: Row, known: _Known) -> tuple[str, str]:
    """The day on which what the row is about came, and what that is; '' when not known."""
    device, battery = known.put_in.get(row.where.id, ("", ""))
    if row.resource == MINUTES and battery > device:
        return battery, f"the battery of {row.where.name}"
    return device, row.where.name


def _readings(binder: BinderFile, today: date) -> dict[tuple[int, str], list[tuple[str, float]]]:
    """The readings of each quantity of each thing, without those that a later one corrects."""
    rows = binder.connection.execute(
        "SELECT t.subject_id, t.quantity, t.read_at, t.value FROM reading t "
        "WHERE t.status = 'current' AND t.read_at < ? AND NOT EXISTS "
        "(SELECT 1 FROM reading c WHERE c.corrects_id = t.id) ORDER BY t.read_at, t.id",
        ((today + timedelta(days=2)).isoformat(),),  # a day is longer than UTC's, in some zones
    )
    found: dict[tuple[int, str], list[tuple[str, float]]] = {}
    for subject, quantity, at, value in rows:
        found.setdefault((subject, quantity), []).append((at.removesuffix("Z"), value))
    return found


def _put_in(binder: BinderFile, today: date) -> dict[int, tuple[str, str]]:
    """Hardware id -> the days on which it and its battery were put in; '' where not known."""
    rows = binder.connection.execute(
        "SELECT id, coalesce(installed_on, ''), coalesce(battery_installed_on, '') FROM hardware "
        "WHERE status = 'installed' AND coalesce(installed_on, battery_installed_on) IS NOT NULL"
    )
    until = today.isoformat()
    return {
        row[0]: (row[1] if row[1] <= until else "", row[2] if row[2] <= until else "")
        for row in rows
    }
