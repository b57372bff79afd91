"""When recurring duties are due, when notice must be given, when warranties end.

Recurrence follows RFC 5545; a duty keeps to its calendar, so that one done late does not move
all that follow.
"""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date, datetime, time
from typing import Any


def next_due(rule: str, starts_on: date, done_on: date | None) -> date | None:
    """The day a duty is next due; it may be past. None when its rule has run out.

    The first day of the rule after `done_on`; `starts_on` when it was not done since then.
    Raises ValueError when `rule` is not an RFC 5545 rule.
    """
    from dateutil.rrule import rrulestr

    if done_on is None or done_on < starts_on:
        return starts_on
    start = datetime.combine(starts_on, time())
    found = rrulestr(rule, dtstart=start).after(datetime.combine(done_on, time.max))
    return found.date() if found else None


def duty_due(duty: Mapping[str, Any]) -> date | None:
    """The day a duty of these stored values is next due; None for one that is done no more."""
    if duty["status"] == "former":
        return None
    done = date.fromisoformat(duty["done_on"]) if duty["done_on"] else None
    return next_due(duty["rule"], date.fromisoformat(duty["starts_on"]), done)


def warranty_end(starts_on: date, term_months: float) -> date:
    """The last day of a warranty of that many months (fractions of a month in 30ths)."""
    from dateutil.relativedelta import relativedelta

    months = int(term_months)
    days = round((term_months - months) * 30)
    return starts_on + relativedelta(months=months, days=days - 1)
