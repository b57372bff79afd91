"""What the review document is made of beside the records of the binder: gathered for it alone.

A document is of the last review taken by its day, and tells what moved since the one of an earlier
day. The records stand as the binder has them; the figures are those of the review.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

from binder.changes_told import SELF_TOLD, RecordChange, changes_told
from binder.file import BinderFile
from binder.headroom import Headroom
from binder.review.actions import Action, actions
from binder.review.asked import Asked, asked
from binder.review.compared import Comparison, compared
from binder.review.cures import Ailing, ailing
from binder.review.exhaustion import Exhaustion, exhaustion
from binder.review.spend import Spend, spend
from binder.review.taken import Review, left_out, reviews

# Readings are followed, log entries counted, and actions carried on pages of their own; the rest
# is the integrator's own arithmetic.
_TOLD_ELSEWHERE = (*SELF_TOLD, "reading", "log_entry", "action", "template", "planning_limit")


@dataclass(frozen=True, slots=True)
class Stamp:
    """Which review it was: its name, the day, by whom, and the fingerprint of its inputs."""

    name: str
    taken_on: str
    taken_by: str
    fingerprint: str


@dataclass(frozen=True, slots=True)
class Reviewed:
    """A review and what follows from it. `review` None: none was taken, so `headroom` is as
    computed on `on`. `earlier` None: nothing to compare with, and no `comparison`.

    `ahead` is in the order in which things are used up, `ailing` the worst first. `changes` are of
    the records since the earlier review. `left_out` are reviews whose computation cannot be read.
    """

    on: str
    review: Stamp | None
    earlier: Stamp | None
    headroom: Headroom
    comparison: Comparison | None
    changes: tuple[RecordChange, ...]
    ahead: tuple[Exhaustion, ...]
    ailing: tuple[Ailing, ...]
    spend: Spend
    actions: tuple[Action, ...]
    asked: tuple[Asked, ...]
    left_out: tuple[str, ...]

    @property
    def day(self) -> date:
        return date.fromisoformat(self.on)


def reviewed(binder: BinderFile, today: date, computed: Headroom) -> Reviewed:
    """The last review taken by that day; a fixed number of queries. `computed` is of that day."""
    readable = reviews(binder)
    taken = [review for review in readable if review.taken_on <= today.isoformat()]
    latest = taken[-1] if taken else None
    earlier = _before(taken)
    stands = latest.headroom if latest else computed
    day = date.fromisoformat(latest.taken_on) if latest else today
    since = earlier.change_position if earlier else None
    return Reviewed(
        on=day.isoformat(),
        review=_stamp(latest),
        earlier=_stamp(earlier),
        headroom=stands,
        comparison=compared(earlier.headroom, stands) if earlier else None,
        changes=(
            changes_told(binder, since, leave_out=_TOLD_ELSEWHERE) if since is not None else ()
        ),
        ahead=exhaustion(binder, stands, day),
        ailing=ailing(binder, stands),
        spend=spend(binder, stands),
        actions=actions(binder),
        asked=asked(binder, day),
        left_out=left_out(binder, readable),
    )


def _before(taken: Sequence[Review]) -> Review | None:
    """The last review of an earlier day: one taken anew the same day mends the other."""
    return next((one for one in reversed(taken) if one.taken_on < taken[-1].taken_on), None)


def _stamp(review: Review | None) -> Stamp | None:
    if review is None:
        return None
    return Stamp(review.name, review.taken_on, review.taken_by, review.fingerprint)
