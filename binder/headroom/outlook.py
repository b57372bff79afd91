"""Where readings lead: the trend through them, and the day it meets a limit."""

from __future__ import annotations

from datetime import UTC, datetime

from binder.engineering.figures import plain
from binder.engineering.trend import NotEnough, runout, trend
from binder.headroom.rows import Measured, Outlook
from binder.headroom.source import Source

_YEAR_DAYS = 365.25


def outlook(
    source: Source,
    subject_id: int,
    quantity: str,
    limit: float,
    measured: Measured | None,
    applies: bool = True,
    *,
    falling: bool = False,
) -> Outlook | None:
    """When the readings of a quantity reach a limit; None when there are none, or they are of
    another unit than the limit (`applies`). `falling` is for limits from below."""
    if measured is None or not applies:
        return None
    readings = source.readings(subject_id, quantity)
    found = trend((_moment(reading.read_at), reading.value) for reading in readings)
    if isinstance(found, NotEnough):
        return Outlook(str(found))
    end = runout(found, limit, source.today, falling=falling)
    a_year = found.theil_sen.middle.slope * _YEAR_DAYS
    slope = f"{'+' if a_year >= 0 else '-'}{plain(abs(a_year))} {measured.unit} a year"
    slope += f", by {found.readings} readings"
    if end.on is None:
        return Outlook(f"{slope}: does not reach {plain(limit)} {measured.unit}", a_year=a_year)
    if end.days == 0:
        says = f"{slope}: at {plain(limit)} {measured.unit} already"
    else:
        says = f"{slope}: reaches {plain(limit)} {measured.unit} about {end.on.isoformat()}"
    if end.is_far:
        says += ", far beyond the readings: a direction, not a date"
    return Outlook(
        says,
        end.on.isoformat(),
        end.earliest_on.isoformat() if end.earliest_on else None,
        end.latest_on.isoformat() if end.latest_on else None,
        a_year,
        end.is_far,
    )


def _moment(stored: str) -> datetime:
    return datetime.strptime(stored, "%Y-%m-%dT%H:%M:%SZ").replace(tzinfo=UTC)
