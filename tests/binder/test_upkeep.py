"""When duties are due. Source: RFC 5545 (September 2009), section 3.8.5.3, its examples."""

from __future__ import annotations

from datetime import date

import pytest

from binder.upkeep import next_due, warranty_end


@pytest.mark.parametrize(
    ("rule", "starts_on", "instances"),
    [
        ("FREQ=DAILY;INTERVAL=10;COUNT=5", "1997-09-02",
         "1997-09-02 1997-09-12 1997-09-22 1997-10-02 1997-10-12"),
        ("FREQ=YEARLY;INTERVAL=2;COUNT=10;BYMONTH=1,2,3", "1997-03-10",
         "1997-03-10 1999-01-10 1999-02-10 1999-03-10 2001-01-10"),
        ("FREQ=MONTHLY;INTERVAL=18;COUNT=10;BYMONTHDAY=10,11,12,13,14,15", "1997-09-10",
         "1997-09-10 1997-09-11 1997-09-12 1997-09-13 1997-09-14 1997-09-15 1999-03-10"),
        ("FREQ=MONTHLY;COUNT=10;BYDAY=1FR", "1997-09-05",
         "1997-09-05 1997-10-03 1997-11-07 1997-12-05 1998-01-02 1998-02-06"),
        # invalid dates are skipped: 30 February
        ("FREQ=MONTHLY;BYMONTHDAY=15,30;COUNT=5", "2007-01-15",
         "2007-01-15 2007-01-30 2007-02-15 2007-03-15 2007-03-30"),
    ],
)  # fmt: skip
def test_a_duty_done_when_due_is_next_due_at_the_next_instance(
    rule: str, starts_on: str, instances: str
) -> None:
    start = date.fromisoformat(starts_on)
    days = [date.fromisoformat(day) for day in instances.split()]
    assert next_due(rule, start, None) == days[0]
    assert [next_due(rule, start, day) for day in days[:-1]] == days[1:]


def test_a_rule_that_has_run_out_is_due_no_more() -> None:
    start = date(2007, 1, 15)
    rule = "FREQ=MONTHLY;BYMONTHDAY=15,30;COUNT=5"
    assert next_due(rule, start, date(2007, 3, 30)) is None


def test_done_late_does_not_move_the_calendar() -> None:
    rule, start = "FREQ=MONTHLY;INTERVAL=6", date(2026, 1, 1)
    assert next_due(rule, start, date(2026, 3, 14)) == date(2026, 7, 1)


@pytest.mark.parametrize(
    ("rule", "starts_on", "done_on", "due"),
    [
        # six days before its day: done, and not asked for on it
        ("FREQ=MONTHLY;INTERVAL=6", "2025-03-20", "2026-03-14", "2026-09-20"),
        ("FREQ=YEARLY", "2024-11-25", "2026-10-28", "2027-11-25"),  # four weeks of a year
        ("FREQ=MONTHLY;INTERVAL=3", "2026-01-01", "2026-06-09", "2026-10-01"),  # 22 of 91 days
        ("FREQ=MONTHLY;INTERVAL=3", "2026-01-01", "2026-06-08", "2026-07-01"),  # 23: the one before
        ("FREQ=YEARLY", "2026-01-01", "2025-12-20", "2027-01-01"),  # the first one early
        ("FREQ=WEEKLY", "2026-03-04", "2026-03-10", "2026-03-18"),  # one of seven days
        ("FREQ=WEEKLY", "2026-03-04", "2026-03-09", "2026-03-11"),
        ("FREQ=DAILY", "2026-03-04", "2026-03-07", "2026-03-08"),
        ("FREQ=MONTHLY;COUNT=2", "2026-01-15", "2026-02-10", None),  # the last one early
    ],
)
def test_a_duty_done_a_little_early_is_done(
    rule: str, starts_on: str, done_on: str, due: str | None
) -> None:
    """By a quarter of the time between: NFPA 25 has annual mean 9 to 15 months apart (value from
    memory). The days of the rule are those of RFC 5545."""
    found = next_due(rule, date.fromisoformat(starts_on), date.fromisoformat(done_on))
    assert found == (date.fromisoformat(due) if due else None)


def test_done_long_before_its_start_does_not_count() -> None:
    assert next_due("FREQ=YEARLY", date(2026, 1, 1), date(2025, 9, 1)) == date(2026, 1, 1)


@pytest.mark.parametrize(
    ("starts_on", "months", "last_day"),
    [
        ("2025-03-15", 12, "2026-03-14"),
        ("2024-02-29", 12, "2025-02-27"),  # a year after the leap day is the 28th of February
        ("2025-08-31", 6, "2026-02-27"),
        ("2025-01-01", 1.5, "2025-02-15"),
    ],
)
def test_a_warranty_of_months_ends_the_day_before(
    starts_on: str, months: float, last_day: str
) -> None:
    """Arithmetic on the calendar; no published source."""
    assert warranty_end(date.fromisoformat(starts_on), months) == date.fromisoformat(last_day)
