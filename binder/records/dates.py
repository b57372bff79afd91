"""Dates and moments as people type them, and as they are stored.

Stored forms are those of ISO 8601 and RFC 3339: `YYYY-MM-DD`, and `YYYY-MM-DDTHH:MM:SSZ` in UTC.
Nothing here reads the clock: the caller says what today and now are.
"""

from __future__ import annotations

import re
from datetime import UTC, date, datetime, time, timedelta, timezone, tzinfo
from functools import cache
from reprlib import repr as quoted
from typing import Final

from dateutil.relativedelta import relativedelta

# A binder tells of installed things: a year outside this is a slip of the keyboard.
_FIRST_YEAR: Final = 1900
_LAST_YEAR: Final = 2199

_NAMED_DAYS: Final = {"today": 0, "yesterday": -1, "tomorrow": 1}
_WEEKDAYS: Final = ["monday", "tuesday", "wednesday", "thursday", "friday", "saturday", "sunday"]
_SPAN: Final = re.compile(r"(?P<number>[+-][0-9]{1,6}) ?(?P<unit>[a-z]+)")
_DATE_STEPS: Final = {
    **dict.fromkeys(("d", "day", "days"), relativedelta(days=1)),
    **dict.fromkeys(("w", "week", "weeks"), relativedelta(weeks=1)),
    **dict.fromkeys(("m", "mo", "month", "months"), relativedelta(months=1)),
    **dict.fromkeys(("y", "year", "years"), relativedelta(years=1)),
}
_MOMENT_STEPS: Final = {
    **dict.fromkeys(("min", "mins", "minute", "minutes"), timedelta(minutes=1)),
    **dict.fromkeys(("h", "hr", "hour", "hours"), timedelta(hours=1)),
    **dict.fromkeys(("d", "day", "days"), timedelta(days=1)),
}
_DAY: Final = re.compile(r"(?P<year>[0-9]{4})-(?P<month>[0-9]{2})(?:-(?P<day>[0-9]{2}))?")
_MOMENT: Final = re.compile(
    r"(?:(?P<day>[0-9]{4}-[0-9]{2}-[0-9]{2}|today|yesterday|tomorrow)[t ])?"
    r"(?P<hour>[0-9]{1,2}):(?P<minute>[0-9]{2})(?::(?P<second>[0-9]{2})(?:\.[0-9]+)?)?"
    r" ?(?P<offset>z|utc|[+-][0-9]{2}(?::?[0-9]{2})?)?"
)

# Of the time zone database; what else it lists are other names of the same (US/Mountain).
_REGIONS: Final = (
    "Africa/",
    "America/",
    "Antarctica/",
    "Asia/",
    "Atlantic/",
    "Australia/",
    "Europe/",
    "Indian/",
    "Pacific/",
)

_DATE_FORMS: Final = "write 2027-03-14, 2027-03, mon, today, +30d, -2w, +6m or +1y"
_MOMENT_FORMS: Final = "write 2027-03-14 09:40, 09:40, yesterday 09:40, now or -15min"


def parse_date(text: str, today: date) -> date:
    """The day that `text` means, seen from `today`.

    Takes ISO days (`2027-03-14`), months (`2027-03`, its first day), `today`, `yesterday`,
    `tomorrow`, weekdays (`mon`, the next one after today) and spans (`+30d`, `-2w`, `+6m`, `+1y`;
    a month end stays in its month, so 31 January `+1m` is the last of February). Raises ValueError
    in one line that names these forms, or says why the day does not exist.
    """
    plain = " ".join(text.split()).casefold()
    if found := _DAY.fullmatch(plain):
        return _calendar_day(text, int(found["year"]), int(found["month"]), int(found["day"] or 1))
    if plain in _NAMED_DAYS:
        return _moved(text, today, relativedelta(days=_NAMED_DAYS[plain]))
    span = _SPAN.fullmatch(plain)
    if span and span["unit"] in _DATE_STEPS:
        return _moved(text, today, _DATE_STEPS[span["unit"]] * int(span["number"]))
    for number, name in enumerate(_WEEKDAYS):
        if len(plain) >= 3 and name.startswith(plain):
            ahead = (number - today.weekday() - 1) % 7 + 1
            return _moved(text, today, relativedelta(days=ahead))
    raise ValueError(f"{quoted(text)} is not a date{_why_not(plain)}: {_DATE_FORMS}")


def parse_moment(text: str, now: datetime) -> datetime:
    """The moment that `text` means, seen from `now`: aware, in UTC, in whole seconds.

    Takes `now`, spans (`-15min`, `-2h`, `-1d`), a time of today (`09:40`), and a day with a time,
    joined by `T` or a space. A time with an offset (`Z`, `+02:00`) says its zone; one without is in
    the zone of `now`, so UTC when `now` is in UTC. Raises ValueError in one line that names these
    forms; also when `now` itself has no zone, or for a time that daylight saving skips.
    """
    if now.tzinfo is None:
        raise ValueError("the present moment has no time zone: pass an aware datetime")
    plain = " ".join(text.split()).casefold()
    if plain == "now":
        return now.astimezone(UTC).replace(microsecond=0)
    span = _SPAN.fullmatch(plain)
    if span and span["unit"] in _MOMENT_STEPS:
        return _span_from(text, span, now)
    if found := _MOMENT.fullmatch(plain):
        return _day_and_time(text, found, now)
    if _DAY.fullmatch(plain) or plain in _NAMED_DAYS:
        raise ValueError(f"{quoted(text)} has no time of day: {_MOMENT_FORMS}")
    why = " (m could be minutes or months)" if span and span["unit"] == "m" else ""
    raise ValueError(f"{quoted(text)} is not a moment{why}: {_MOMENT_FORMS}")


def format_moment(moment: datetime) -> str:
    """The stored form, `YYYY-MM-DDTHH:MM:SSZ`. Raises ValueError for a moment without a zone."""
    if moment.tzinfo is None:
        raise ValueError(f"moment {moment.isoformat()} has no time zone")
    utc = moment.astimezone(UTC).replace(tzinfo=None)
    return f"{utc.isoformat(timespec='seconds')}Z"


def local_moment(stored: str, zone: str) -> str:
    """A stored moment by the clock on the wall there: `2026-03-14 04:40`.

    `zone` is a name of the time zone database. Raises ValueError for one that it does not hold.
    """
    there = datetime.fromisoformat(stored).astimezone(time_zone(zone))
    return there.strftime("%Y-%m-%d %H:%M")


def utc_now() -> datetime:
    """The present moment by this machine's clock."""
    return datetime.now(UTC)


@cache
def time_zone(name: str) -> tzinfo:
    """The zone of that name. Raises ValueError when the time zone database holds none."""
    if name == "UTC":
        return UTC  # the database, 3 ms to open, is paid by those who live elsewhere
    from zoneinfo import ZoneInfo, ZoneInfoNotFoundError

    try:
        return ZoneInfo(name)
    except (ZoneInfoNotFoundError, ValueError, OSError):
        like = " or ".join(_zones_of_city(name)) or "America/Chicago"
        raise ValueError(f"{quoted(name)} is no time zone, like {like}") from None


def _zones_of_city(city: str) -> list[str]:
    """The zones that bear the name of a city, which is what people type."""
    from zoneinfo import available_timezones

    wanted = "_".join(city.split()).casefold()
    named = (zone for zone in available_timezones() if zone.startswith(_REGIONS))
    return sorted(zone for zone in named if zone.rpartition("/")[2].casefold() == wanted)


def check_year(text: str, day: date) -> date:
    """The day or moment itself. Raises ValueError when its year is a slip of the keyboard."""
    if not _FIRST_YEAR <= day.year <= _LAST_YEAR:
        raise ValueError(
            f"{quoted(text)} is in the year {day.year}:"
            f" years from {_FIRST_YEAR} to {_LAST_YEAR} are taken"
        )
    return day


def _calendar_day(text: str, year: int, month: int, day: int) -> date:
    try:
        found = date(year, month, day)
    except ValueError as error:
        raise ValueError(f"there is no day {quoted(text)}: {error}") from error
    return check_year(text, found)


def _moved(text: str, day: date, by: relativedelta) -> date:
    try:
        moved = day + by
    except (ValueError, OverflowError) as error:
        raise ValueError(f"{quoted(text)} leads beyond the calendar") from error
    return check_year(text, moved)


def _span_from(text: str, found: re.Match[str], now: datetime) -> datetime:
    by = _MOMENT_STEPS[found["unit"]] * int(found["number"])
    try:
        moment = now.astimezone(UTC).replace(microsecond=0) + by
    except OverflowError as error:
        raise ValueError(f"{quoted(text)} leads beyond the calendar") from error
    check_year(text, moment.date())
    return moment


def _day_and_time(text: str, found: re.Match[str], now: datetime) -> datetime:
    day = parse_date(found["day"] or "today", now.date())
    try:
        clock = time(int(found["hour"]), int(found["minute"]), int(found["second"] or 0))
        zone = _offset(found["offset"])
    except ValueError as error:
        raise ValueError(f"there is no time {quoted(text)}: {error}") from error
    local = datetime.combine(day, clock, zone or now.tzinfo)
    moment = local.astimezone(UTC)
    if moment.astimezone(local.tzinfo).time() != clock:
        raise ValueError(f"there is no time {quoted(text)}: daylight saving skips it that day")
    return moment


def _offset(text: str | None) -> timezone | None:
    if text is None:
        return None
    if text in ("z", "utc"):
        return UTC
    digits = text[1:].replace(":", "").ljust(4, "0")
    hours, minutes = int(digits[:2]), int(digits[2:])
    if hours > 23 or minutes > 59:
        raise ValueError("the offset must be between -23:59 and +23:59")
    ahead = timedelta(hours=hours, minutes=minutes)
    return timezone(-ahead if text[0] == "-" else ahead)


def _why_not(plain: str) -> str:
    if re.fullmatch(r"[0-9]{4}", plain):
        return " (a year alone is ambiguous)"
    if re.fullmatch(r"[0-9]{1,4}[/.][0-9]{1,2}([/.][0-9]{1,4})?", plain):
        return " (day and month are read differently from place to place)"
    return ""
