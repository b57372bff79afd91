"""Spend ahead: renewals, batteries, equipment at the end of its life, by quarter for three years.

A price that nobody recorded is not guessed: the item stands there without one.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date
from typing import Final, Literal

from dateutil.relativedelta import relativedelta

from binder.engineering.battery import replace_by
from binder.engineering.figures import plain
from binder.file import BinderFile
from binder.headroom.battery import LIFE
from binder.headroom.rows import Headroom

QUARTERS: Final = 12

What = Literal["renewal", "battery", "hardware", "support ends", "contract"]


@dataclass(frozen=True, slots=True)
class Due:
    """Something that falls due. `cost_cents` is None where no price is recorded."""

    on: str
    what: What
    id: int
    name: str
    says: str
    cost_cents: int | None


def price_told(currency: str, cents: int | None) -> str:
    """'USD 33.00'; a price of nothing is a price, none recorded is 'no price'."""
    if cents is None:
        return "no price"
    return f"{currency} {cents / 100:,.2f}".strip()


@dataclass(frozen=True, slots=True)
class Quarter:
    """A quarter of the calendar, `2027 Q1`, and what falls due in it, by day.

    `cost_cents` is the sum of what has a price, `unpriced` how many have none.
    """

    name: str
    first_day: str
    dues: tuple[Due, ...]

    @property
    def cost_cents(self) -> int:
        return sum(due.cost_cents or 0 for due in self.dues)

    @property
    def unpriced(self) -> int:
        return sum(due.cost_cents is None for due in self.dues)


@dataclass(frozen=True, slots=True)
class Spend:
    """What is overdue, then the quarters from the present one on. `currency` is ISO 4217."""

    on: str
    currency: str
    overdue: tuple[Due, ...]
    quarters: tuple[Quarter, ...]


def spend(binder: BinderFile, computed: Headroom) -> Spend:
    """What will have to be paid in the three years after a headroom, by quarter of the calendar.

    Batteries are due as that headroom reckons their life: a warm room shortens it.
    """
    today = date.fromisoformat(computed.on)
    first = date(today.year, 3 * ((today.month - 1) // 3) + 1, 1)
    last = first + relativedelta(months=3 * QUARTERS)
    dues = sorted(_dues(binder, computed, last), key=lambda due: (due.on, due.name))
    row = binder.connection.execute("SELECT currency FROM client").fetchone()
    quarters = []
    for number in range(QUARTERS):
        begins = first + relativedelta(months=3 * number)
        ends = begins + relativedelta(months=3)
        quarters.append(
            Quarter(
                f"{begins.year} Q{(begins.month - 1) // 3 + 1}", begins.isoformat(),
                tuple(d for d in dues
                      if max(begins, today).isoformat() <= d.on < ends.isoformat()),
            )
        )  # fmt: skip
    overdue = tuple(due for due in dues if due.on < today.isoformat())
    return Spend(today.isoformat(), (row and row[0]) or "", overdue, tuple(quarters))


def _dues(binder: BinderFile, computed: Headroom, last: date) -> Iterator[Due]:
    yield from _renewals(binder, last)
    yield from _batteries(binder, computed, last)
    yield from _hardware(binder, last)
    yield from _contracts(binder, last)


def _renewals(binder: BinderFile, last: date) -> Iterator[Due]:
    rows = binder.connection.execute(
        "SELECT id, identifier, form, renews_on, cost FROM renewal WHERE status = 'current' "
        "AND NOT (form = 'circuit contract' AND EXISTS (SELECT 1 FROM circuit c "
        "WHERE c.id = renewal.subject_id AND c.contract_ends_on IS NOT NULL))"
    )
    for record_id, name, form, renews_on, cost in rows:
        for at in _yearly(date.fromisoformat(renews_on), last):
            yield Due(at.isoformat(), "renewal", record_id, name, form, cost)


def _batteries(binder: BinderFile, computed: Headroom, last: date) -> Iterator[Due]:
    prices = dict(
        tuple(row)
        for row in binder.connection.execute(
            "SELECT fits_id, min(unit_price) FROM spare WHERE unit_price IS NOT NULL GROUP BY 1"
        )
    )
    for row in computed.rows:
        if row.resource != LIFE or row.limit is None or row.used is None:
            continue
        on = row.outlook.runs_out_on if row.outlook else None
        if on is not None and on < last.isoformat():
            says = f"{plain(row.used)} years old, lasts {plain(row.limit)} where it stands"
            yield Due(
                on, "battery", row.where.id, row.where.name, says,
                prices.get(row.where.id),
            )  # fmt: skip


def _hardware(binder: BinderFile, last: date) -> Iterator[Due]:
    rows = binder.connection.execute(
        "SELECT id, identifier, installed_on, expected_life_years, support_ends_on, price "
        "FROM hardware WHERE status = 'installed'"
    )
    for record_id, name, since, life, support_ends, price in rows:
        if since and life:
            on = replace_by(date.fromisoformat(since), life)
            if on < last:
                says = f"put in {since}, expected to last {life:g} years"
                yield Due(on.isoformat(), "hardware", record_id, name, says, price)
        if support_ends and support_ends < last.isoformat():
            says = "the maker's support ends"
            yield Due(support_ends, "support ends", record_id, name, says, None)


def _contracts(binder: BinderFile, last: date) -> Iterator[Due]:
    rows = binder.connection.execute(
        "SELECT id, identifier, contract_ends_on, notice_days, monthly_cost FROM circuit "
        "WHERE status = 'installed' AND contract_ends_on IS NOT NULL AND contract_ends_on < ?",
        (last.isoformat(),),
    )
    for record_id, name, ends_on, notice, monthly in rows:
        before = f", notice {notice} days before" if notice else ""
        cost = monthly * 12 if monthly is not None else None
        says = f"contract ends{before}; a year more costs this"
        yield Due(ends_on, "contract", record_id, name, says, cost)


def _yearly(on: date, last: date) -> Iterator[date]:
    """A renewal comes again each year; one that is overdue too."""
    while on < last:
        yield on
        on = on + relativedelta(years=1)
