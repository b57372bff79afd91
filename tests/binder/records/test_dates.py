"""Dates and moments as typed. Stored forms: ISO 8601, RFC 3339 section 5.6."""

from __future__ import annotations

from datetime import UTC, date, datetime, timedelta
from zoneinfo import ZoneInfo

import pytest
from hypothesis import given
from hypothesis import strategies as st

from binder.records.dates import (
    format_moment,
    local_moment,
    parse_date,
    parse_moment,
    time_zone,
)

WEDNESDAY = date(2027, 3, 17)
NOW = datetime(2027, 3, 17, 9, 40, 5, 250_000, tzinfo=UTC)


@pytest.mark.parametrize(
    ("typed", "day"),
    [
        ("2027-03-14", "2027-03-14"),
        ("2027-03", "2027-03-01"),
        ("today", "2027-03-17"),
        (" Yesterday ", "2027-03-16"),
        ("tomorrow", "2027-03-18"),
        ("+30d", "2027-04-16"),
        ("-2w", "2027-03-03"),
        ("+6m", "2027-09-17"),
        ("+1y", "2028-03-17"),
        ("-10 days", "2027-03-07"),
        ("thu", "2027-03-18"),
        ("tue", "2027-03-23"),
        ("Friday", "2027-03-19"),
    ],
)
def test_a_day_is_typed_as_people_say_it(typed: str, day: str) -> None:
    assert parse_date(typed, WEDNESDAY).isoformat() == day


def test_a_weekday_is_the_next_one_and_never_today() -> None:
    assert parse_date("wed", WEDNESDAY) == WEDNESDAY + timedelta(days=7)


def test_a_month_from_the_31st_is_the_last_of_a_shorter_month() -> None:
    assert parse_date("+1m", date(2027, 1, 31)) == date(2027, 2, 28)
    assert parse_date("+1y", date(2028, 2, 29)) == date(2029, 2, 28)


@pytest.mark.parametrize(
    ("typed", "says"),
    [
        ("2027", "a year alone is ambiguous"),
        ("3/14/2027", "read differently from place to place"),
        ("14.3.2027", "read differently from place to place"),
        ("2027-02-29", "there is no day '2027-02-29'"),
        ("2027-13", "month must be in 1..12"),
        ("0227-03-14", "years from 1900 to 2199"),
        ("+999999y", "beyond the calendar"),
        ("+9999m", "years from 1900 to 2199"),
        ("+30", "is not a date: write 2027-03-14"),
        ("30d", "is not a date"),
        ("+3h", "is not a date"),
        ("m", "is not a date"),
        ("", "is not a date"),
        ("day", "is not a date"),
    ],
)
def test_what_is_no_day_is_refused_in_one_line(typed: str, says: str) -> None:
    with pytest.raises(ValueError, match=says) as refused:
        parse_date(typed, WEDNESDAY)
    assert "\n" not in str(refused.value)


def test_a_refusal_sends_no_escape_to_the_terminal() -> None:
    with pytest.raises(ValueError, match="is not a date") as refused:
        parse_date("\x1b[2J\u202e2027", WEDNESDAY)
    assert str(refused.value).isprintable()


@pytest.mark.parametrize(
    ("typed", "moment"),
    [
        ("now", "2027-03-17T09:40:05Z"),
        ("-15min", "2027-03-17T09:25:05Z"),
        ("-2h", "2027-03-17T07:40:05Z"),
        ("-1d", "2027-03-16T09:40:05Z"),
        ("09:40", "2027-03-17T09:40:00Z"),
        ("7:05:59", "2027-03-17T07:05:59Z"),
        ("yesterday 23:30", "2027-03-16T23:30:00Z"),
        ("2027-03-14 09:40", "2027-03-14T09:40:00Z"),
        ("2027-03-14T09:40:00Z", "2027-03-14T09:40:00Z"),
        ("2027-03-14T09:40:59.999Z", "2027-03-14T09:40:59Z"),
        ("2027-03-14T01:10+02:00", "2027-03-13T23:10:00Z"),
        ("2027-03-14 09:40 -0530", "2027-03-14T15:10:00Z"),
        # RFC 3339 section 5.8: the same instant, written in two zones.
        ("1996-12-19T16:39:57-08:00", "1996-12-20T00:39:57Z"),
    ],
)
def test_a_moment_is_kept_in_utc(typed: str, moment: str) -> None:
    assert format_moment(parse_moment(typed, NOW)) == moment


def test_a_time_without_offset_is_in_the_zone_of_now() -> None:
    # IANA time zone database: New York goes from -05:00 to -04:00 on 14 March 2027 at 02:00.
    new_york = datetime(2027, 3, 14, 12, 0, tzinfo=ZoneInfo("America/New_York"))
    assert format_moment(parse_moment("yesterday 09:40", new_york)) == "2027-03-13T14:40:00Z"
    assert format_moment(parse_moment("09:40", new_york)) == "2027-03-14T13:40:00Z"
    assert format_moment(parse_moment("-12h", new_york)) == "2027-03-14T04:00:00Z"
    with pytest.raises(ValueError, match="daylight saving skips it"):
        parse_moment("02:30", new_york)


@pytest.mark.parametrize(
    ("typed", "says"),
    [
        ("2027-03-14", "has no time of day"),
        ("today", "has no time of day"),
        ("-15m", "m could be minutes or months"),
        ("24:00", "hour must be in 0..23"),
        ("09:61", "minute must be in 0..59"),
        ("09:40+25:00", "offset must be between"),
        ("2027-02-30 09:40", "there is no day"),
        ("1227-03-14 09:40", "years from 1900 to 2199"),
        ("-999999d", "beyond the calendar"),
        ("-99999d", "years from 1900 to 2199"),
        ("0940", "is not a moment: write 2027-03-14 09:40"),
        ("", "is not a moment"),
    ],
)
def test_what_is_no_moment_is_refused_in_one_line(typed: str, says: str) -> None:
    with pytest.raises(ValueError, match=says) as refused:
        parse_moment(typed, NOW)
    assert "\n" not in str(refused.value)


def test_a_moment_without_a_zone_is_refused() -> None:
    naive = datetime(2027, 3, 17, 9, 40)
    with pytest.raises(ValueError, match="no time zone"):
        parse_moment("now", naive)
    with pytest.raises(ValueError, match="no time zone"):
        format_moment(naive)


@given(st.dates(date(1900, 1, 1), date(2199, 12, 31)))
def test_every_day_reads_back_from_its_stored_form(day: date) -> None:
    assert parse_date(day.isoformat(), WEDNESDAY) == day


@given(
    st.datetimes(datetime(1900, 1, 2), datetime(2199, 12, 30), timezones=st.timezones()),
    st.datetimes(datetime(1900, 1, 2), datetime(2199, 12, 30), timezones=st.timezones()),
)
def test_every_moment_reads_back_from_its_stored_form(moment: datetime, now: datetime) -> None:
    stored = format_moment(moment)
    assert format_moment(parse_moment(stored, now)) == stored
    whole_seconds = moment.astimezone(UTC).replace(microsecond=0)
    assert parse_moment(stored, now) == whole_seconds


@given(st.text())
def test_any_text_is_a_day_or_is_refused_in_printable_words(text: str) -> None:
    assert _refusal(text).isprintable()


def _refusal(text: str) -> str:
    try:
        parse_date(text, WEDNESDAY)
    except ValueError as error:
        return str(error)
    return ""


@pytest.mark.parametrize(
    ("stored", "zone", "there"),
    [
        # US daylight saving begins on the second Sunday in March at 02:00 (15 U.S.C. 260a)
        ("2026-03-08T07:59:00Z", "America/Chicago", "2026-03-08 01:59"),
        ("2026-03-08T08:00:00Z", "America/Chicago", "2026-03-08 03:00"),
        ("2026-03-14T23:30:00Z", "UTC", "2026-03-14 23:30"),
        ("2026-03-14T23:30:00Z", "Asia/Kathmandu", "2026-03-15 05:15"),
    ],
)
def test_a_moment_is_told_by_the_clock_on_the_clients_wall(
    stored: str, zone: str, there: str
) -> None:
    assert local_moment(stored, zone) == there


@pytest.mark.parametrize("name", ["Chicago", "../etc/passwd", "", "America/Nowhere"])
def test_a_time_zone_is_one_of_the_database(name: str) -> None:
    with pytest.raises(ValueError, match="is no time zone, like America/Chicago"):
        time_zone(name)


@pytest.mark.parametrize(
    ("city", "zone"), [("denver", "America/Denver"), ("New York", "America/New_York")]
)
def test_a_city_alone_is_answered_with_the_zone_it_names(city: str, zone: str) -> None:
    with pytest.raises(ValueError, match=f"is no time zone, like {zone}$"):
        time_zone(city)
