"""Every resource of a review: total, used, reserved, bad, free, since last time, where it leads."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from datetime import date
from typing import Final

from dateutil.relativedelta import relativedelta

from binder.engineering.figures import plain
from binder.headroom import Row
from binder.headroom.words import free, in_system
from binder.review.compared import RowChange
from binder.review.cures import Ailing
from binder.review.exhaustion import Exhaustion
from exporters.contents.capacity import (
    PRESSING,
    by_space,
    capital,
    difference,
    drawings,
    figure,
    title,
    uncounted,
)
from exporters.model import Block, Caution, Paragraph, Part, Section, Table
from exporters.source import Source

SOON_YEARS: Final = 3  # what is used up within is drawn and planned for
_HEAD: Final = (
    "What", "State", "Limit, of total", "Used", "Reserved", "Bad", "Free", "Since last time",
    "Leads to the limit", "We advise",
)  # fmt: skip

Key = tuple[str, str, int]


@dataclass(frozen=True, slots=True)
class _Known:
    """What else is known of the rows, by their key."""

    moved: Mapping[Key, RowChange]
    led: Mapping[Key, Exhaustion]
    ailing: Mapping[Key, Ailing]


def resources(source: Source) -> Section:
    """What presses as bars, then the whole table by room."""
    return Section("resources", "Every resource", tuple(_blocks(source)))


def _blocks(source: Source) -> Iterator[Block | Part]:
    found = source.reviewed
    rows = found.headroom.rows
    if not rows:
        yield Paragraph("Nothing recorded that could run out.")
        return
    yield Paragraph(
        "The limit is what to plan up to, mostly less than what there is in all. Reserved is what "
        "planned equipment and reservations will take, bad what is broken. Free is the limit "
        "less all of these. Dates are told only where there are enough readings."
    )
    cautions = dict.fromkeys(row.caution for row in rows if row.caution and row.state in PRESSING)
    yield from (Caution("Before acting on these figures", text) for text in cautions)
    if pressing := [row for row in rows if row.state in PRESSING]:
        yield Part("How much is taken, the scarcest first", tuple(drawings(source, pressing)))
    known = _Known(
        {one.key: one for one in found.comparison.changes} if found.comparison else {},
        {one.row.key: one for one in found.ahead},
        {one.row.key: one for one in found.ailing},
    )
    for space, some in by_space(source, rows):
        table = Table(_HEAD, tuple(_line(source, row, known) for row in some))
        yield Part(f"All of {space}" if space else "What is in no one room", (table,))
    if found.headroom.notes:
        yield uncounted(found.headroom.notes)


def _line(source: Source, row: Row, known: _Known) -> tuple[str, ...]:
    led = known.led.get(row.key)
    return (
        title(row), row.state, _limit(source, row), figure(source, row, row.used),
        difference(source, row, row.reserved), plain(row.bad) if row.bad else "none",
        free(row, source.system) or "not known", _since(source, row, known.moved),
        leads_to(source, row, led), _advice(source, row, known.ailing.get(row.key), led),
    )  # fmt: skip


def _limit(source: Source, row: Row) -> str:
    """'15U of 17U'; the total alone where all of it may be taken."""
    limit, total = figure(source, row, row.limit), figure(source, row, row.rated)
    if row.limit is None or row.rated is None or limit == total:
        return limit if row.rated is None or row.limit is not None else f"not known, of {total}"
    number, _, unit = limit.partition(" ")
    return f"{number if unit and total.endswith(f' {unit}') else limit} of {total}"


def _since(source: Source, row: Row, moved: Mapping[Key, RowChange]) -> str:
    """What moved since the review before, in figures; the words are a section of their own."""
    if source.reviewed.earlier is None:
        return "first review"
    change = moved.get(row.key)
    if change is None:
        return "as it was"
    if change.before is None:
        return "new"
    told = [
        f"{word} {_signed(source, row, after - before)}"
        for word, before, after in (
            ("limit", change.before.limit, row.limit),
            ("used", change.before.used, row.used),
            ("reserved", change.before.reserved, row.reserved),
        )
        if before is not None and after is not None and abs(after - before) > 0.005
    ]
    if change.before.state != row.state:
        told.append(f"was {change.before.state}")
    return ", ".join(told) or "as it was"


def _signed(source: Source, row: Row, value: float) -> str:
    return f"{'+' if value > 0 else '-'}{difference(source, row, abs(value))}"


def leads_to(source: Source, row: Row, led: Exhaustion | None) -> str:
    """Between which days the limit is met; never a day where there are not enough readings."""
    if led is None:
        return "not known"
    if not led.enough:
        return "not enough readings"
    if led.on is None:
        return "not as things go"
    if led.standing:
        return "reached" if led.standing == "reached" else "reached, with what is planned"
    if led.on <= source.reviewed.on:
        return f"was due {led.on}"
    if led.is_far:
        return f"{led.when}, a mere direction"
    if led.earliest_on == led.latest_on:
        return led.on
    first = led.earliest_on or led.on
    begins = "from now" if first <= source.reviewed.on else first
    return f"{begins} to {led.latest_on}" if led.latest_on else f"{begins} or later"


def _advice(source: Source, row: Row, one: Ailing | None, led: Exhaustion | None) -> str:
    if one is not None and one.cures:
        return capital(in_system(one.cures[0].what, source.system))
    if row.state in PRESSING:
        return "Plan for more before it is asked for"
    if row.state == "not known":
        return f"Write down: {', '.join(map(str, row.needs[:2]))}" if row.needs else ""
    if led is not None and not led.is_far and binds_soon(led, source.reviewed.day):
        return f"Plan for it before {led.earliest_on or led.on}"
    return ""


def binds_soon(led: Exhaustion, day: date) -> bool:
    """Whether the limit is met, by the line itself, within three years of that day."""
    until = day + relativedelta(years=SOON_YEARS)
    return led.on is not None and led.on <= until.isoformat()
