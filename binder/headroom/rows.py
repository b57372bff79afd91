"""What a headroom answer is made of: a row a resource, its worked sum, and how its state follows.

    over        what is used now is above the limit
    short       it is not, but with what is planned or reserved it will be
    tight       nearly all is taken (the planning limit `tight percent`)
    fine        none of these
    not known   a record or a reading is missing, and what is known decides nothing

What is not recorded never counts as nothing. Where a part of the use is not known, `free` is the
most that can be left and `bound` says 'at most'; where a safe assumption stands in for it, the
least, 'at least'.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from typing import Literal

from binder.engineering.figures import Budget, Step

State = Literal["over", "short", "tight", "fine", "not known"]
Bound = Literal["", "at least", "at most", "about"]

# The order in which rows ask for attention.
STATES: tuple[State, ...] = ("over", "short", "tight", "not known", "fine")
_TOLERANCE = 1e-9


@dataclass(frozen=True, slots=True)
class Where:
    """The record a row is about, and the space it is in ('' where it is in none)."""

    id: int
    kind: str
    name: str
    space: str


@dataclass(frozen=True, slots=True)
class Need:
    """What is missing: a field of the record `id` of that kind, or a record about it.

    `add` is '' for a field, else the kind of record to add; `field` is then what the record is to
    say (the quantity of a reading), where that is known. `count` is how many records like this one
    lack the same.
    """

    id: int
    kind: str
    name: str
    field: str
    label: str
    count: int = 1
    add: str = ""

    def __str__(self) -> str:
        more = f" and {self.count - 1} more" if self.count > 1 else ""
        return f"{self.label} of {self.name}{more}"


@dataclass(frozen=True, slots=True)
class Measured:
    """The latest reading, beside what is computed. `at` is its moment, as stored."""

    id: int
    value: float
    unit: str
    at: str
    quantity: str


@dataclass(frozen=True, slots=True)
class Outlook:
    """Where a row leads: by its age, else as `binder.review.exhaustion` reckons it, which puts it
    there. `says` is the sentence to show; dates are ISO, None for never.

    `is_far`: so far beyond the readings that the date is no more than a direction.
    """

    says: str
    runs_out_on: str | None = None
    earliest_on: str | None = None
    latest_on: str | None = None
    a_year: float | None = None
    is_far: bool = False


@dataclass(frozen=True, slots=True)
class Row:
    """One resource of one thing. Figures are in `unit`, as stored (metric); None is not known.

    `limit` is what may be planned up to and `limit_because` why; `reserved` what planned hardware
    and reservations will take. `free` is limit - used - reserved: negative when it does not fit.
    `share` is used and reserved over the limit. `told` is the state in words; `needs` what to fill
    in, those without which nothing can be said first; `fix` the smallest change that would mend it.
    `bad` is how much of what is rated is broken or gone, and not in the limit for that.
    `planned_on` is the first day on which planned hardware takes of it, '' when not known.
    """

    resource: str
    which: str
    where: Where
    unit: str
    rated: float | None
    limit: float | None
    limit_because: str
    used: float | None
    reserved: float | None
    free: float | None
    share: float | None
    bound: Bound
    state: State
    told: str
    basis: str
    steps: tuple[Step, ...] = ()
    needs: tuple[Need, ...] = ()
    measured: Measured | None = None
    outlook: Outlook | None = None
    notes: tuple[str, ...] = ()
    caution: str = ""
    fix: str = ""
    bad: float = 0.0
    planned_on: str = ""

    @property
    def key(self) -> tuple[str, str, int]:
        """The same for the row of one thing in two answers."""
        return self.resource, self.which, self.where.id


@dataclass(frozen=True, slots=True)
class Headroom:
    """All rows, the scarcest first. `notes` are planned things that stand in no row, and why."""

    on: str
    rows: tuple[Row, ...]
    notes: tuple[str, ...] = ()

    def counts(self) -> dict[State, int]:
        """How many rows are in each state, the worst first."""
        return {state: sum(row.state == state for row in self.rows) for state in STATES}


def row(
    resource: str,
    where: Where,
    budget: Budget,
    *,
    rated: float | None,
    because: str,
    basis: str,
    tight: float,
    which: str = "",
    missing: Sequence[Need] = (),
    assumed: Sequence[Need] = (),
    bound: Bound = "",
    measured: Measured | None = None,
    outlook: Outlook | None = None,
    notes: Iterable[str] = (),
    caution: str = "",
    fix: Callable[[Budget], str] | None = None,
    bad: float = 0.0,
) -> Row:
    """A row from a budget. `missing` are parts of the use of which nothing is known; `assumed`
    those for which something safe stands in; `tight` the share from which it is called tight."""
    state = _state(budget, tight, bool(missing))
    needs = (*missing, *assumed)
    return Row(
        resource=resource,
        which=which,
        where=where,
        unit=budget.unit,
        rated=rated,
        limit=budget.limit,
        limit_because=because,
        used=budget.used,
        reserved=budget.reserved,
        free=budget.free,
        share=budget.share if budget.limit else None,
        bound=bound or _bound(missing, assumed),
        state=state,
        told=_told(state, needs),
        basis=basis,
        steps=budget.steps,
        needs=needs,
        measured=measured,
        outlook=outlook,
        notes=tuple(notes),
        caution=caution,
        fix=fix(budget) if fix and state in ("over", "short") else "",
        bad=bad,
    )


def unknown(
    resource: str,
    where: Where,
    unit: str,
    needs: Sequence[Need],
    *,
    which: str = "",
    basis: str = "",
    says: str = "",
    rated: float | None = None,
    measured: Measured | None = None,
    notes: Iterable[str] = (),
    caution: str = "",
) -> Row:
    """A row of which nothing can be said: what it needs, or `says` what stands in the way."""
    return Row(
        resource, which, where, unit, rated, None, "", None, None, None, None, "", "not known",
        f"not known: {says}" if says else _told("not known", needs), basis,
        needs=tuple(needs), measured=measured, notes=tuple(notes), caution=caution,
    )  # fmt: skip


def scarcest_first(found: Row) -> tuple[int, float, str, str, str]:
    """The order of rows: by state, then by the share taken."""
    return (
        STATES.index(found.state),
        -(found.share if found.share is not None else 0.0),
        found.resource,
        found.where.name,
        found.which,
    )


def _state(budget: Budget, tight: float, is_partial: bool) -> State:
    slack = _TOLERANCE * max(1.0, abs(budget.limit))
    if budget.used > budget.limit + slack:
        return "over"
    if budget.free < -slack:
        return "short"
    if budget.limit and budget.share >= tight - _TOLERANCE:
        return "tight"
    return "not known" if is_partial else "fine"


def _bound(missing: Sequence[Need], assumed: Sequence[Need]) -> Bound:
    if missing:
        return "about" if assumed else "at most"
    return "at least" if assumed else ""


def _told(state: State, needs: Sequence[Need]) -> str:
    if state != "not known":
        return state
    named = ", ".join(map(str, needs[:3]))
    more = f" and {len(needs) - 3} more" if len(needs) > 3 else ""
    return f"not known: needs {named}{more}"
