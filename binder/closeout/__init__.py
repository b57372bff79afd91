"""Closeout: what is missing before a binder can be handed over and signed.

Each rule is a small function in the module of its family. A waiver, with a reason and a name, takes
a gap out of the list and into the one that is printed; it never hides it.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date

from binder.closeout import (  # noqa: F401  (declaring is what importing them does)
    access,
    cabling,
    circuits,
    equipment,
    handing_over,
    people,
    upkeep,
)
from binder.closeout.facts import Facts
from binder.closeout.gap import RULES, Found, Gap, Rule, Severity, Waived
from binder.file import BinderFile
from binder.identifiers import natural_key
from binder.read import Named, Record

__all__ = ["RULES", "Closeout", "Gap", "Rule", "Severity", "Waived", "gaps"]


@dataclass(frozen=True, slots=True)
class Closeout:
    """The gaps of a binder on a day: what must be mended first, then by place and name."""

    on: str
    gaps: tuple[Gap, ...]
    waived: tuple[Waived, ...]

    @property
    def open_musts(self) -> int:
        """How many gaps stand in the way of handing over."""
        return sum(gap.severity == "must" for gap in self.gaps)

    def by_place(self) -> dict[str, list[Gap]]:
        """The gaps by the place they are in; '' for those of no place."""
        found: dict[str, list[Gap]] = {}
        for gap in self.gaps:
            found.setdefault(gap.place, []).append(gap)
        return dict(sorted(found.items(), key=lambda item: natural_key(item[0])))


def gaps(binder: BinderFile, today: date, *, rules: Iterable[str] = ()) -> Closeout:
    """Every gap of a binder, or those of some rules by name; the waived ones apart.

    Raises KeyError for a rule that there is not.
    """
    chosen = [RULES[name] for name in rules] or list(RULES.values())
    with binder.reading():
        facts = Facts(binder, today)
        waivers = _waivers(facts)
        standing: list[Gap] = []
        waived: list[Waived] = []
        for asked in chosen:
            for found in asked.find(facts):
                gap = _gap(facts, asked, found)
                waiver = waivers.get((asked.name, found.record.id))
                if waiver is None:
                    standing.append(gap)
                else:
                    waived.append(_waived(gap, waiver))
    standing.sort(key=_order)
    waived.sort(key=lambda one: _order(one.gap))
    return Closeout(today.isoformat(), tuple(standing), tuple(waived))


def _gap(facts: Facts, asked: Rule, found: Found) -> Gap:
    record = found.record
    place, place_id = facts.place(record)
    return Gap(
        asked.name, asked.severity, Named(record.id, record.kind.name, record.name),
        place, place_id, found.says, asked.why, asked.mend, asked.basis,
        found.field, found.adds, found.given,
    )  # fmt: skip


def _order(gap: Gap) -> tuple[object, ...]:
    names = list(RULES)
    return (
        gap.severity != "must", natural_key(gap.place), names.index(gap.rule),
        natural_key(gap.subject.name),
    )  # fmt: skip


def _waivers(facts: Facts) -> dict[tuple[str, int], Record]:
    """The waivers that hold today, by rule and record."""
    day = facts.today.isoformat()
    return {
        (waiver["rule"], waiver["subject"]): waiver
        for waiver in facts.of("waiver")
        if waiver["subject"] is not None and not (waiver["until"] and waiver["until"] < day)
    }


def _waived(gap: Gap, waiver: Record) -> Waived:
    return Waived(
        gap, waiver.id, waiver["reason"], waiver["waived_by"], waiver["waived_on"],
        waiver["until"] or "",
    )  # fmt: skip
