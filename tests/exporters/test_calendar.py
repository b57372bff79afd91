"""The calendar of upkeep, read back by another program's rules: RFC 5545."""

from __future__ import annotations

from collections.abc import Callable
from datetime import date, datetime, time, timedelta
from itertools import islice
from typing import Any

import pytest
from dateutil.rrule import rrulestr
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from icalendar import Calendar

from binder.file import BinderFile
from binder.upkeep import next_due
from exporters.export import render
from tests.exporters.conftest import TODAY

Add = Callable[..., int]


def text(binder: BinderFile, today: date = TODAY) -> bytes:
    (made,) = render(binder, "calendar", form="ics", today=today).values()
    assert isinstance(made, bytes)
    return made


def read(binder: BinderFile) -> dict[str, Any]:
    """The entries by their summary, as the icalendar library reads them back."""
    events = Calendar.from_ical(text(binder)).walk("VEVENT")
    return {str(event["summary"]): event for event in events}


def days(event: Any, most: int = 400) -> list[date]:
    """What dateutil makes of an entry's first day and rule."""
    start = datetime.combine(event["dtstart"].dt, time())
    rule = rrulestr(event["rrule"].to_ical().decode(), dtstart=start)
    return [day.date() for day in islice(rule, most)]


def nth(year: int, month: int, *on: int) -> list[date]:
    return [date(year, month, day) for day in on]


# The examples of RFC 5545, section 3.8.5.3, that go by days; there they begin at 09:00 of the day.
EXAMPLES = [
    ("FREQ=DAILY;COUNT=10", date(1997, 9, 2), nth(1997, 9, *range(2, 12))),
    ("FREQ=DAILY;INTERVAL=10;COUNT=5", date(1997, 9, 2),
     [*nth(1997, 9, 2, 12, 22), *nth(1997, 10, 2, 12)]),
    ("FREQ=WEEKLY;INTERVAL=2;COUNT=8;WKST=SU;BYDAY=TU,TH", date(1997, 9, 2),
     [*nth(1997, 9, 2, 4, 16, 18, 30), *nth(1997, 10, 2, 14, 16)]),
    ("FREQ=MONTHLY;COUNT=10;BYDAY=1FR", date(1997, 9, 5),
     [date(1997, 9, 5), date(1997, 10, 3), date(1997, 11, 7), date(1997, 12, 5), date(1998, 1, 2),
      date(1998, 2, 6), date(1998, 3, 6), date(1998, 4, 3), date(1998, 5, 1), date(1998, 6, 5)]),
    ("FREQ=MONTHLY;COUNT=6;BYDAY=-2MO", date(1997, 9, 22),
     [date(1997, 9, 22), date(1997, 10, 20), date(1997, 11, 17), date(1997, 12, 22),
      date(1998, 1, 19), date(1998, 2, 16)]),
    ("FREQ=YEARLY;COUNT=10;BYMONTH=6,7", date(1997, 6, 10),
     [date(year, month, 10) for year in range(1997, 2002) for month in (6, 7)]),
    ("FREQ=YEARLY;INTERVAL=3;COUNT=10;BYYEARDAY=1,100,200", date(1997, 1, 1),
     [date(1997, 1, 1), date(1997, 4, 10), date(1997, 7, 19), date(2000, 1, 1), date(2000, 4, 9),
      date(2000, 7, 18), date(2003, 1, 1), date(2003, 4, 10), date(2003, 7, 19),
      date(2006, 1, 1)]),
    ("FREQ=MONTHLY;BYMONTHDAY=15,30;COUNT=5", date(2007, 1, 15),
     [date(2007, 1, 15), date(2007, 1, 30), date(2007, 2, 15), date(2007, 3, 15),
      date(2007, 3, 30)]),
]  # fmt: skip


@pytest.mark.parametrize(("rule", "starts_on", "expected"), EXAMPLES)
def test_a_duty_falls_on_the_days_that_the_standard_lists(
    binder: BinderFile, add: Add, rule: str, starts_on: date, expected: list[date]
) -> None:
    add("duty", identifier="battery test", rule=rule, starts_on=starts_on.isoformat())
    assert days(read(binder)["battery test"]) == expected


def test_every_day_until_one_named_by_the_hour_ends_on_that_day(
    binder: BinderFile, add: Add
) -> None:
    """RFC 5545, 3.3.10: UNTIL is of the type of the first day, here a date."""
    add("duty", identifier="look", rule="FREQ=DAILY;UNTIL=19970905T000000",
        starts_on="1997-09-02")  # fmt: skip
    assert b"RRULE:FREQ=DAILY;UNTIL=19970905\r\n" in text(binder)
    assert days(read(binder)["look"]) == nth(1997, 9, 2, 3, 4, 5)


def test_a_first_day_that_the_rule_does_not_give_is_an_entry_of_its_own(
    binder: BinderFile, add: Add
) -> None:
    """RFC 5545, 3.8.5.3: what a series with such a first day is, is left open."""
    add("duty", identifier="drill", rule="FREQ=YEARLY;BYMONTH=4;BYMONTHDAY=1",
        starts_on="2026-03-14")  # fmt: skip
    events = Calendar.from_ical(text(binder)).walk("VEVENT")
    assert [(event["dtstart"].dt, "rrule" in event) for event in events] == [
        (date(2026, 3, 14), False), (date(2026, 4, 1), True)
    ]  # fmt: skip
    assert len({str(event["uid"]) for event in events}) == 2


@settings(max_examples=40, deadline=None,
          suppress_health_check=[HealthCheck.function_scoped_fixture])  # fmt: skip
@given(st.data())
def test_the_day_a_duty_is_next_due_is_a_day_of_its_series(data: st.DataObject) -> None:
    from exporters.calendar import _first

    rule = data.draw(st.sampled_from([rule for rule, _, _ in EXAMPLES]))
    starts_on = data.draw(st.dates(date(1997, 1, 1), date(2030, 1, 1)))
    done_on = data.draw(st.dates(starts_on, starts_on + timedelta(days=500)))
    due = next_due(rule, starts_on, done_on)
    first = _first(rule, starts_on)
    assert first is not None
    series = rrulestr(rule, dtstart=datetime.combine(first, time()))
    assert due is None or datetime.combine(due, time()) in series


def test_a_renewal_reminds_when_notice_is_due_and_says_the_last_day_for_it(
    binder: BinderFile, add: Add
) -> None:
    add("renewal", identifier="quillmere.example", form="domain", renews_on="2026-06-30",
        notice_days=45)  # fmt: skip
    events = read(binder)
    renew = events["Renew: quillmere.example"]
    assert renew["dtstart"].dt == date(2026, 6, 30)
    (alarm,) = renew.walk("VALARM")
    assert (alarm["action"], alarm["trigger"].dt) == ("DISPLAY", timedelta(days=-45))
    notice = events["Last day to give notice: quillmere.example"]
    assert notice["dtstart"].dt == date(2026, 5, 16)


def test_what_ends_or_is_reviewed_stands_on_its_day(
    closet: BinderFile, add: Add, change: Callable[..., None]
) -> None:
    add("warranty", identifier="SW1", form="maker", start_event="delivery",
        starts_on="2025-03-01", term_months=12)  # fmt: skip
    add("hardware", identifier="UPS1", form="UPS", battery_installed_on="2024-02-10",
        battery_life_years=4)  # fmt: skip
    add("waiver", rule="link-tested", reason="carrier's own", waived_by="Priya",
        waived_on="2026-03-01", until="2026-09-01")  # fmt: skip
    add("known_issue", identifier="guest wireless drops", review_by="2026-05-05")
    change("circuit fibre", contract_ends_on="2027-01-31", notice_days=60)
    found = {name: event["dtstart"].dt for name, event in read(closet).items()}
    assert found == {
        "Warranty ends: SW1": date(2026, 2, 28),
        "Replace battery: UPS1": date(2028, 2, 10),
        "Waiver ends: W-0001": date(2026, 9, 1),
        "Review known issue: guest wireless drops": date(2026, 5, 5),
        "Ends: contract of circuit fibre": date(2027, 1, 31),
        "Last day to give notice: contract of circuit fibre": date(2026, 12, 2),
    }


def test_entries_are_days_without_a_zone_that_block_no_time(binder: BinderFile, add: Add) -> None:
    add("duty", identifier="look", rule="FREQ=MONTHLY", starts_on="2026-03-14")
    made = text(binder)
    assert b"DTSTART;VALUE=DATE:20260314\r\n" in made
    assert b"TRANSP:TRANSPARENT\r\n" in made
    assert b"TZID" not in made


def test_the_same_binder_gives_the_same_bytes_on_any_day(binder: BinderFile, add: Add) -> None:
    add("duty", identifier="look", rule="FREQ=MONTHLY", starts_on="2026-03-14")
    assert text(binder, TODAY) == text(binder, TODAY + timedelta(days=400))
    assert b"DTSTAMP:20260314T094000Z\r\n" in text(binder)  # when M. Osei wrote it


def test_an_entry_keeps_its_name_when_its_record_changes(
    binder: BinderFile, add: Add, change: Callable[..., None]
) -> None:
    """RFC 5545, 3.8.4.7: the same entry, taken in again, replaces the earlier one."""
    add("duty", identifier="look", rule="FREQ=MONTHLY", starts_on="2026-03-14")
    (before,) = read(binder).values()
    change("look", identifier="look closely", starts_on="2026-04-14")
    (after,) = read(binder).values()
    assert (after["uid"], after["summary"]) == (before["uid"], "look closely")


@pytest.mark.parametrize(
    "typed", ["END:VEVENT\\nBEGIN:VALARM", "a;b,c:d\\n", "\x1b[31mred", "é" * 90, '"=1+1"']
)
def test_text_stays_text(binder: BinderFile, add: Add, typed: str) -> None:
    add("duty", identifier=typed, rule="FREQ=MONTHLY", starts_on="2026-03-14",
        instructions=f"first\nEND:VCALENDAR\n{typed}")  # fmt: skip
    (event,) = Calendar.from_ical(text(binder)).walk("VEVENT")
    shown = typed.replace("\x1b", "␛")
    assert str(event["summary"]) == shown
    assert f"END:VCALENDAR\n{shown}" in str(event["description"])
    assert all(len(line) <= 75 for line in text(binder).split(b"\r\n"))  # 3.1: octets a line
    assert not set(text(binder)) & (set(range(32)) - {10, 13})  # 3.1: no controls


def test_a_former_duty_and_a_closed_item_are_no_more_in_it(binder: BinderFile, add: Add) -> None:
    add("duty", identifier="look", rule="FREQ=DAILY", starts_on="2026-03-14", status="former")
    add("punch_item", description="faceplate", due_on="2026-03-20", closed_on="2026-03-18")
    assert read(binder) == {}


def test_it_tells_no_management_address_and_no_internal_note(closet: BinderFile, add: Add) -> None:
    add("duty", identifier="log in to 192.0.2.2", rule="FREQ=DAILY", starts_on="2026-03-14",
        instructions="at https://192.0.2.2/", internal_notes="ask for Kit")  # fmt: skip
    assert b"192.0.2.2" not in text(closet)
    assert b"Kit" not in text(closet)
