"""What falls due and what it costs, three years ahead by quarter; the actions of the reviews."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date
from typing import Final

from dateutil.relativedelta import relativedelta

from binder.headroom.words import figures, free, in_system
from binder.review.actions import Action
from binder.review.spend import QUARTERS, Due
from binder.upkeep import warranty_end
from exporters.contents.capacity import PRESSING, capital, title
from exporters.contents.parts import counted, joined, without_empty
from exporters.contents.review_front import money, notice_day
from exporters.drawings.timeline import Lane, Mark, Timeline
from exporters.model import Block, Drawing, Paragraph, Part, Section, Table
from exporters.source import Source

_LETTERS: Final = {
    "renewal": "R", "contract": "C", "battery": "B", "hardware": "H", "support ends": "S",
}  # fmt: skip
_LEGEND: Final = (
    "R renewed, C contract ends, N last day to give notice, B batteries due, H equipment at the "
    "end of its expected life, S the maker's support ends, W warranty ends. What is overdue stands "
    "first, in a square. What comes again each year is shown each year."
)


# Costs. -----------------------------------------------------------------------------------


def costs(source: Source) -> Section:
    return Section("costs", "What falls due, and what it costs", tuple(_costs(source)))


def _costs(source: Source) -> Iterator[Block | Part]:
    ahead = source.reviewed.spend
    dues = [*ahead.overdue, *(due for quarter in ahead.quarters for due in quarter.dues)]
    yield Paragraph(
        "Renewals, contracts, batteries and equipment, as far as days and prices are recorded. A "
        "price that nobody wrote down is not guessed: the thing stands there without one, and the "
        "sums leave it out."
    )
    chart = _timeline(source, dues)
    if chart is None:
        yield Paragraph("Nothing falls due within three years, as far as is recorded.")
        return
    yield Part("What runs out when", (Drawing("timeline-1", chart), Paragraph(_LEGEND)))
    if not dues:
        return
    rows = [("overdue", *_sums(source, ahead.overdue))] if ahead.overdue else []
    rows += [(quarter.name, *_sums(source, quarter.dues)) for quarter in ahead.quarters]
    yield Part(
        "By quarter", (Table(("Quarter", "Things", "Cost", "Without a price"), tuple(rows)),)
    )
    told = tuple(
        (due.on, capital(due.what), due.name, in_system(due.says, source.system),
         money(source, due.cost_cents) or "no price recorded")
        for due in dues
    )  # fmt: skip
    yield Part("Each of them", (Table(("On", "What", "Of", "It says", "Cost"), told),))


def _sums(source: Source, dues: tuple[Due, ...]) -> tuple[str, str, str]:
    priced = [due.cost_cents for due in dues if due.cost_cents is not None]
    without = sum(due.cost_cents is None for due in dues)
    return (
        str(len(dues) or "none"),
        money(source, sum(priced)) if priced else "",
        str(without or ""),
    )


def _timeline(source: Source, dues: list[Due]) -> Timeline | None:
    """A lane a thing, the first due first; None when nothing is."""
    lanes: dict[str, list[Mark]] = {}
    for due in dues:
        day = date.fromisoformat(due.on)
        lanes.setdefault(due.name, []).append(Mark(day, _LETTERS[due.what], due.what))
        notice = notice_day(source, due)
        if notice is not None and notice >= source.reviewed.day:
            lanes[due.name].append(Mark(notice, "N", "last day to give notice"))
    quarters = tuple(date.fromisoformat(each.first_day) for each in source.reviewed.spend.quarters)
    end = quarters[0] + relativedelta(months=3 * QUARTERS)
    for name, day in _warranties(source):
        if source.reviewed.day <= day < end:
            lanes.setdefault(name, []).append(Mark(day, "W", "warranty ends"))
    if not lanes:
        return None
    made = [
        Lane(name, tuple(sorted(marks, key=lambda mark: mark.on))) for name, marks in lanes.items()
    ]
    made.sort(key=lambda lane: (lane.marks[0].on, lane.name))
    told = "; ".join(f"{lane.name} {lane.marks[0].says} {lane.marks[0].on}" for lane in made)
    return Timeline(f"What falls due: {told}", source.reviewed.day, quarters, end, tuple(made))


def _warranties(source: Source) -> Iterator[tuple[str, date]]:
    for warranty in source.of("warranty"):
        if warranty["starts_on"] and warranty["term_months"] is not None:
            starts = date.fromisoformat(warranty["starts_on"])
            yield source.name(warranty), warranty_end(starts, warranty["term_months"])


# Actions. ---------------------------------------------------------------------------------


def actions(source: Source) -> Section:
    return Section("actions", "Actions", tuple(_actions(source)))


def _actions(source: Source) -> Iterator[Block | Part]:
    found = source.reviewed.actions
    still_open = [one for one in found if one.is_open]
    if not found:
        yield Paragraph("No action of a review is recorded yet.")
    else:
        closed = len(found) - len(still_open)
        yield Paragraph(f"{counted(len(still_open), 'action')} open, {closed} done or dropped.")
        head = ("Action", "What", "For", "Arithmetic", "Cost", "Due", "How it stands")
        yield without_empty(Table(head, tuple(_action(source, one) for one in found)))
    yield Part("What would mend each row", tuple(_cures(source)))


def _action(source: Source, one: Action) -> tuple[str, ...]:
    late = ", overdue" if one.is_open and one.due_on and one.due_on < source.reviewed.on else ""
    return (
        one.name, in_system(one.what, source.system),
        joined(source.name(one.subject_id), one.resource),
        one.arithmetic, money(source, one.cost_cents),
        f"{one.due_on}{late}", _stands(source, one),
    )  # fmt: skip


def _stands(source: Source, one: Action) -> str:
    """'agreed by Priya Nandakumar, carried from Q-0002'."""
    this = source.reviewed.review
    carried = one.is_open and this is not None and one.review != this.name
    if one.state == "done":
        return joined("done", one.done_on, f"by {one.done_by}" if one.done_by else "")
    told = joined(one.state, one.decided_by, by=" by ")
    return joined(told, f"carried from {one.review}" if carried else f"asked for in {one.review}")


def _cures(source: Source) -> Iterator[Block]:
    """The smallest changes for what is over, short or tight, with the arithmetic."""
    rows = tuple(
        (
            title(one.row) if not number else "", one.row.state if not number else "",
            joined(figures(one.row, source.system), free(one.row, source.system), by=": ")
            if not number else "",
            in_system(cure.what, source.system),
            joined(money(source, cure.cost_cents), cure.cost_from, by=", ") or "to be asked for",
        )
        for one in source.reviewed.ailing
        if one.row.state in PRESSING
        for number, cure in enumerate(one.cures)
    )  # fmt: skip
    if not rows:
        yield Paragraph("Nothing asks for it.")
        return
    yield Table(("What", "State", "Arithmetic", "What would mend it", "Cost"), rows)
