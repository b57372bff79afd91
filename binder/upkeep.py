"""When recurring duties are due, when notice must be given, when warranties end.

Recurrence follows RFC 5545; a duty keeps to its calendar, so that one done late does not move
all that follow. One done a little early is done: it is not asked for again on its day.
"""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date, datetime, time
from typing import Any, Final

# The part of the time between two of its days by which a duty may be done early and count: NFPA 25
# has 'annual' mean 9 to 15 months apart (value from memory).
_EARLY: Final = 1 / 4


def next_due(rule: str, starts_on: date, done_on: date | None) -> date | None:
    """The day a duty is next due; it may be past. None when its rule has run out.

    The first day of the rule after `done_on`, or the one after that where it was done early;
    `starts_on` when it was not done since then. Raises ValueError when `rule` is not an RFC 5545
    rule.
    """
    from dateutil.rrule import rrulestr

    if done_on is None:
        return starts_on
    days = rrulestr(rule, dtstart=datetime.combine(starts_on, time()))

    def after(day: date) -> date | None:
        found = days.after(datetime.combine(day, time.max))
        return found.date() if found else None

    if done_on < starts_on:
        coming, following = starts_on, after(starts_on)
        apart = (following - starts_on).days if following else 0
    else:
        found, last = after(done_on), days.before(datetime.combine(done_on, time.max))
        if found is None:
            return None
        coming = found
        apart = (coming - (last.date() if last else starts_on)).days
    is_early = (coming - done_on).days <= apart * _EARLY
    return after(coming) if is_early else coming


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
