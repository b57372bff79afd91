"""The front page: what is fine, what is tight, what we ask to be decided, for whoever owns the
place. One page of print, in plain words; what stands behind each line follows in the sections.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from typing import Final

from binder.headroom import Row
from binder.headroom.words import in_system
from binder.review.actions import Action
from binder.review.cures import Ailing
from binder.review.exhaustion import binding_first
from binder.review.spend import Due
from exporters.contents.capacity import PRESSING, capital
from exporters.contents.parts import counted, joined
from exporters.contents.review_words import STANDS, plain_of, where
from exporters.model import Block, Paragraph, Part, Table
from exporters.source import Source

_LINES: Final = 9  # of each table: more would not fit the page
_AHEAD_DAYS: Final = 183  # what has to be decided within two quarters
_DECIDE: Final = "yes / no"


def front(source: Source) -> tuple[Block | Part, ...]:
    rows = source.reviewed.headroom.rows
    return (
        *(Paragraph(text) for text in _in_short(source, rows)),
        Part("What is fine", tuple(_fine(source, rows))),
        Part("What is tight", tuple(_tight(source, rows))),
        Part("What we ask you to decide", tuple(_decisions(source))),
    )


# In short. --------------------------------------------------------------------------------


def _in_short(source: Source, rows: Sequence[Row]) -> Iterator[str]:
    yield _which(source)
    if left_out := source.reviewed.left_out:
        yield f"Left out, because its computation cannot be read: {', '.join(left_out)}."
    counts = source.reviewed.headroom.counts()
    told = [
        f"{counts['fine']} are fine",
        f"{counts['tight']} are full or nearly so",
        f"{counts['short']} will not do for what is planned",
        f"{counts['over']} are beyond their limit",
        f"{counts['not known']} cannot be told, because something is not written down yet",
    ]
    some = [text for text in told if not text.startswith("0 ")]
    if rows:
        yield f"Of {counted(len(rows), 'thing')} that can run out, {'; '.join(some)}."
    yield f"{_first(source)} {_cost(source)}"


def _which(source: Source) -> str:
    found = source.reviewed
    if found.review is None:
        return (
            f"No review has been taken yet. The figures are those of the records on {found.on}, "
            "and there is nothing to compare them with."
        )
    by = f" by {found.review.taken_by}" if found.review.taken_by else ""
    text = f"Review {found.review.name}, taken on {found.on}{by}"
    if found.earlier is None:
        text += "; it is the first one, so nothing can be compared"
    else:
        text += f" and compared with {found.earlier.name} of {found.earlier.taken_on}"
    days = (source.today - found.day).days
    late = f" This was printed {counted(days, 'day')} after it." if days else ""
    return f"{text}.{late}"


def _first(source: Source) -> str:
    """What is used up next; what is used up already stands in the table."""
    found = source.reviewed
    coming = [one for one in found.ahead if one.on is not None and one.on > found.on]
    first = binding_first(coming)
    if first is not None:
        what = f"{plain_of(first.row.resource).what}, {where(source, first.row)}"
        if first.is_far:
            return f"Next to run out, as far as can be told: {what}, {first.when}."
        if first.earliest_on == first.latest_on:
            return f"Next to run out: {what}, on about {first.on}."
        if first.earliest_on and first.earliest_on <= found.on:
            return f"Next to run out: {what}, perhaps now, likely about {first.on}."
        until = f"and {first.latest_on}" if first.latest_on else "or later"
        return f"Next to run out: {what}, between {first.earliest_on} {until}."
    if any(one.enough for one in found.ahead):
        return "As things go, nothing more runs out in the years that can be foreseen."
    return "When things run out cannot be told yet: there are not enough readings."


def _cost(source: Source) -> str:
    """What has to be paid in four quarters, in a sentence."""
    ahead = source.reviewed.spend
    year = ahead.quarters[:4]
    cents = sum(quarter.cost_cents for quarter in year)
    unpriced = sum(quarter.unpriced for quarter in year)
    told = f"What falls due in four quarters costs {money(source, cents)}" if cents else ""
    if unpriced and told:
        return f"{told}, without {counted(unpriced, 'thing')} whose price is not written down."
    if unpriced:
        falls = counted(unpriced, "thing falls", "things fall")
        return f"{falls} due in four quarters, without a price."
    return f"{told}." if told else "Nothing falls due in four quarters, as far as is written down."


def money(source: Source, cents: int | None) -> str:
    """An amount with its currency; '' for none."""
    if cents is None:
        return ""
    return joined(source.reviewed.spend.currency, f"{cents / 100:,.2f}", by=" ")


# Fine, tight. -----------------------------------------------------------------------------


def _fine(source: Source, rows: Sequence[Row]) -> Iterator[Block]:
    pressed = {row.resource for row in rows if row.state != "fine"}
    whole = dict.fromkeys(row.resource for row in rows if row.resource not in pressed)
    if whole:
        yield Paragraph(
            f"Enough is left everywhere of: {', '.join(plain_of(one).what for one in whole)}."
        )
    mixed = dict.fromkeys(
        row.resource for row in rows if row.state == "fine" and row.resource in pressed
    )
    if mixed:
        yield Paragraph(f"And in most places of: {', '.join(plain_of(one).what for one in mixed)}.")
    if not whole and not mixed:
        yield Paragraph("Nothing could be found to be fine.")
    if better := _better(source):
        yield Paragraph(f"Better than last time: {better}.")


def _better(source: Source) -> str:
    compared = source.reviewed.comparison
    found = [
        f"{plain_of(one.resource).what}, {where(source, one.after)}"
        for one in (compared.changes if compared else ())
        if one.before is not None and one.after is not None
        and one.before.state in PRESSING and one.after.state == "fine"
    ]  # fmt: skip
    return "; ".join(found)


def _tight(source: Source, rows: Sequence[Row]) -> Iterator[Block]:
    """A line a resource, the worst first, naming every place."""
    found: dict[str, list[Row]] = {}
    for row in rows:
        if row.state in PRESSING:
            found.setdefault(row.resource, []).append(row)
    if not found:
        yield Paragraph("Nothing: no limit is reached or nearly so.")
        return
    lines = []
    for resource, some in found.items():
        plain = plain_of(resource)
        lines.append((
            capital(plain.what), _few(where(source, row) for row in some), STANDS[some[0].state],
            capital(plain.otherwise),
        ))  # fmt: skip
    yield Table(("What", "Where", "How it stands", "If nothing is done"), tuple(lines[:_LINES]))
    if len(lines) > _LINES:
        rest = ", ".join(plain_of(resource).what for resource in list(found)[_LINES:])
        yield Paragraph(f"Also, and told in section 1: {rest}.")


def _few(names: Iterable[str], most: int = 3) -> str:
    """The names, each once; of many the first ones, and how many more."""
    known = list(dict.fromkeys(names))
    if len(known) <= most:
        return "; ".join(known)
    return f"{'; '.join(known[: most - 1])} and {len(known) - most + 1} more"


# Decisions. -------------------------------------------------------------------------------

Line = tuple[str, str, str]


def _decisions(source: Source) -> Iterator[Block]:
    """What is over or short first, then what runs out, then what is only tight."""
    proposed = _proposed(source)
    pressing = [line for line, is_tight in proposed if not is_tight]
    waiting = [line for line, is_tight in proposed if is_tight]
    ending = list(_renewals(source))
    room = max(_LINES - len(ending), 1)  # what runs out by itself cannot wait for the next page
    found = [*pressing[:room], *ending, *pressing[room:], *waiting]
    if not found:
        yield Paragraph("Nothing this time.")
        return
    yield Table(
        ("", "What we ask for", "Why", "Cost", "Your word"),
        tuple((str(number), *line, _DECIDE) for number, line in enumerate(found[:_LINES], start=1)),
    )
    if len(found) > _LINES:
        yield Paragraph(f"Not all of it: {len(found) - _LINES} more in the section on actions.")


@dataclass
class _Wanted:
    """One thing we ask for, in all the places where it is wanted."""

    what: str
    why: str
    is_tight: bool
    places: list[str]
    cents: list[int | None]


def _proposed(source: Source) -> list[tuple[Line, bool]]:
    """Actions that nobody has decided on, and what is over or short and has no action yet; what is
    the same in several places in one line. The second of each: whether it is only tight."""
    found = source.reviewed
    ailing = {(one.row.resource, one.row.where.id): one for one in found.ailing}
    wanted: dict[str, _Wanted] = {}
    known = set()
    for action in found.actions:
        key = (action.resource, action.subject_id or 0)
        if action.is_open:
            known.add(key)
        if action.state == "proposed":
            _want(wanted, source, action, ailing.get(key))
    for key, one in ailing.items():
        if key not in known and one.row.state in ("over", "short") and one.cures:
            _want(wanted, source, None, one)
    return [(_line(source, each), each.is_tight) for each in wanted.values()]


def _want(
    wanted: dict[str, _Wanted], source: Source, action: Action | None, one: Ailing | None
) -> None:
    """In plain words where the program proposed it, as typed where a person did."""
    cures = one.cures if one else ()
    plain = plain_of(one.row.resource) if one else None
    cost = action.cost_cents if action else cures[0].cost_cents
    if plain and (action is None or action.what in {cure.what for cure in cures}):
        what = plain.ask
    else:
        what = in_system(action.what, source.system) if action else ""
    place = where(source, one.row) if one else source.name(action.subject_id if action else None)
    is_tight = one is not None and one.row.state == "tight"
    line = wanted.setdefault(
        f"{what}, {is_tight}", _Wanted(what, plain.what if plain else "", is_tight, [], [])
    )
    line.places.append(f"{place}, by {action.due_on}" if action and action.due_on else place)
    line.cents.append(cost)


def _line(source: Source, one: _Wanted) -> Line:
    priced = [cents for cents in one.cents if cents is not None]
    cost = money(source, sum(priced)) if priced else "to be asked for"
    if priced and len(priced) < len(one.cents):
        cost += f", without {len(one.cents) - len(priced)}"
    return capital(one.what), joined(capital(one.why), _few(one.places), by=": "), cost


def _renewals(source: Source) -> Iterator[Line]:
    """Contracts that end within two quarters; then, in one line, renewals that are overdue or due
    by then."""
    found = source.reviewed
    until = (found.day + timedelta(days=_AHEAD_DAYS)).isoformat()
    dues = [due for quarter in found.spend.quarters for due in quarter.dues if due.on <= until]
    for due in dues:
        if due.what == "contract":
            yield _contract(source, due)
    late = [(due, f"ran out {due.on}") for due in found.spend.overdue if due.what == "renewal"]
    late += [(due, due.on) for due in dues if due.what == "renewal"]
    if late:
        priced = [due.cost_cents for due, _ in late if due.cost_cents is not None]
        told = _few([f"{due.name} ({when})" for due, when in late], most=5)
        yield "Renew these, or give them up", told, money(source, sum(priced)) if priced else ""


def _contract(source: Source, due: Due) -> Line:
    day = notice_day(source, due)
    notice = ""
    if day is not None:
        is_late = day < source.reviewed.day
        notice = f"notice was to be given by {day}" if is_late else f"say no by {day}"
    cost = f"{money(source, due.cost_cents)} a year" if due.cost_cents is not None else ""
    return (
        f"Keep the {due.name} line?",
        joined(f"The contract ends {due.on}", notice, by="; "),
        cost,
    )


def notice_day(source: Source, due: Due) -> date | None:
    """Until when notice may be given; None where none is agreed, or it is not recorded."""
    record = source.get(due.id)
    if record is None or due.what not in ("renewal", "contract") or not record["notice_days"]:
        return None
    return date.fromisoformat(due.on) - timedelta(days=record["notice_days"])
