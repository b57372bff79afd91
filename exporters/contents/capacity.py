"""Capacity: what is full, what fills next, and how each figure was found.

The figures are those of `binder.headroom`, on the day of the document. A row that asks for
attention is drawn, explained and worked through; a row that is fine is told in the table of its
space.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from math import ceil
from typing import Final

from binder.headroom import Row, State
from binder.headroom.battery import LIFE, MINUTES
from binder.headroom.words import figures, free, in_system, shown, step_line
from binder.identifiers import natural_key
from binder.records.dates import local_moment
from exporters.contents.parts import joined, shortened
from exporters.contents.places import title_of
from exporters.drawings.bars import Bar, Bars
from exporters.model import (
    Block,
    Caution,
    Drawing,
    Facts,
    Paragraph,
    Part,
    Section,
    Table,
)
from exporters.source import Source

PRESSING = ("over", "short", "tight")
_A_DRAWING, _DRAWN = 6, 18  # bars in one picture at most, and in all: the tables have the rest

_MEANS: Final[Mapping[State, str]] = {
    "over": "more is used today than the limit",
    "short": "it holds today, but not with what is planned or reserved",
    "tight": "nearly all of the limit is taken",
    "not known": "a record or a reading is missing; nothing is assumed to be zero",
    "fine": "none of these",
}


def capacity(source: Source) -> Section:
    rows = source.headroom.rows
    if not rows:
        return Section("capacity", "Capacity baseline")
    pressing = [row for row in rows if row.state in PRESSING]
    unknown = [row for row in rows if row.state == "not known"]
    parts = (
        Part("What asks for attention, the scarcest first", tuple(_attention(source, pressing))),
        Part("Not known yet", tuple(_not_known(source, unknown))),
        *_cautions(rows),
        *_by_space(source, rows),
        *_trends(source, rows),
        Part("What sets each limit, and how it is found", (_basis(source, rows),)),
        *_sums(source, pressing + unknown),
    )
    return Section("capacity", "Capacity baseline", (*_opening(source), *parts))


def _opening(source: Source) -> Iterator[Block]:
    answer = source.headroom
    yield Paragraph(
        f"Reckoned from the records on {answer.on}. Planned hardware and reservations count as "
        "taken. A limit is what to plan up to, mostly less than what a thing is rated for."
    )
    yield Facts(
        tuple((f"{count} {state}", _MEANS[state]) for state, count in answer.counts().items())
    )
    if any(row.resource == MINUTES for row in answer.rows):
        yield Paragraph(
            "Of minutes on battery, those used are the outage to be bridged, and those reserved "
            "what planned load will cost."
        )
    if answer.notes:
        yield uncounted(answer.notes)


def uncounted(notes: Sequence[str]) -> Facts:
    return Facts((("Counted nowhere yet", "\n".join(notes)),))


# What asks for attention. -----------------------------------------------------------------


def _attention(source: Source, rows: Sequence[Row]) -> Iterator[Block]:
    if not rows:
        yield Paragraph("Nothing: no limit is reached or nearly so.")
        return
    yield from drawings(source, rows)
    head = ("State", "What", "Taken", "Left", "Why that limit", "What would mend it")
    yield Table(
        head,
        tuple(
            (
                row.state, title(row), figures(row, source.system), free(row, source.system),
                in_system(row.limit_because, source.system), in_system(row.fix, source.system),
            )
            for row in rows
        ),
    )  # fmt: skip


def drawings(source: Source, rows: Sequence[Row]) -> Iterator[Block]:
    """The bars of rows, the first ones, and how to read them."""
    bars = [bar for row in rows for bar in _bars(source, row)][:_DRAWN]
    for number, some in enumerate(_in_columns(bars), start=1):
        told = f"How much is taken: {', '.join(bar.name for bar in some)}"
        yield Drawing(f"capacity-{number}", Bars(told, some))
    if bars:
        more = f" Drawn are the first {_DRAWN}." if len(rows) > _DRAWN else ""
        yield Paragraph(
            "The stroke is the limit. Solid, or #: used. Hatched, or =: planned or reserved. A "
            f"bar that ends in a point, or >, goes on beyond the paper.{more}"
        )


def _in_columns(bars: Sequence[Bar]) -> Iterator[tuple[Bar, ...]]:
    """The bars of each drawing, as many in each as can be: two of them stand side by side."""
    drawings = 2 * ceil(len(bars) / (2 * _A_DRAWING))
    at = 0
    for number in range(drawings):
        end = at + ceil((len(bars) - at) / (drawings - number))
        if some := tuple(bars[at:end]):
            yield some
        at = end


def _bars(source: Source, row: Row) -> Iterator[Bar]:
    """The bar of a row; none where a figure is not known."""
    if row.limit is None or row.used is None or row.reserved is None:
        return
    told = joined(figures(row, source.system), free(row, source.system))
    yield Bar(title(row), row.state, row.used, row.reserved, row.limit, told)


def title(row: Row) -> str:
    """'UPS1, minutes on battery': what a row is about."""
    return joined(row.where.name, row.resource, row.which)


def _not_known(source: Source, rows: Sequence[Row]) -> Iterator[Block]:
    if not rows:
        yield Paragraph("Nothing: every figure could be found.")
        return
    yield Table(
        ("What", "Not known", "Known so far"),
        tuple(
            (title(row), row.told.removeprefix("not known: "), free(row, source.system))
            for row in rows
        ),
    )


def _cautions(rows: Sequence[Row]) -> Iterator[Part]:
    """Each caution once, before the resources it stands for."""
    found: dict[str, list[str]] = {}
    for row in rows:
        if row.caution and row.resource not in found.setdefault(row.caution, []):
            found[row.caution].append(row.resource)
    told = tuple(
        Caution(capital(", ".join(sorted(resources))), text) for text, resources in found.items()
    )
    if told:
        yield Part("Before acting on these figures", told)


# All rows. --------------------------------------------------------------------------------


def _by_space(source: Source, rows: Sequence[Row]) -> Iterator[Part]:
    for space, found in by_space(source, rows):
        heading = f"All of {space}" if space else "What is in no one space"
        yield Part(heading, (_all(source, found),))


def by_space(source: Source, rows: Sequence[Row]) -> Iterator[tuple[str, list[Row]]]:
    """Rows by the space they are in, as people ask for it; what is in none comes last, as ''."""
    found: dict[str, list[Row]] = {}
    for row in rows:
        found.setdefault(row.where.space, []).append(row)
    titles = {source.name(space): title_of(source, space) for space in source.of("space")}
    for space in sorted(found, key=lambda name: (not name, natural_key(name))):
        yield titles.get(space, space), found[space]


def _all(source: Source, rows: Sequence[Row]) -> Table:
    return Table(
        ("What", "Rated", "Limit", "Used", "Reserved", "Free", "State"),
        tuple(
            (
                title(row), figure(source, row, row.rated), figure(source, row, row.limit),
                figure(source, row, row.used), difference(source, row, row.reserved),
                free(row, source.system), row.state,
            )
            for row in rows
        ),
    )  # fmt: skip


def figure(source: Source, row: Row, value: float | None) -> str:
    """A figure of a row with its unit, as the binder shows it."""
    if value is None:
        return "not known"
    return shown(_rounded(value), row.unit, source.system)


def difference(source: Source, row: Row, value: float | None) -> str:
    """The same of what is added to another: of degrees, how many."""
    if value is None:
        return "not known"
    return shown(_rounded(value), row.unit, source.system, difference=True) if value else "none"


def _rounded(value: float) -> float:
    """To the digits that planning has a use for."""
    return round(value, 1 if abs(value) >= 10 else 2)


def _trends(source: Source, rows: Sequence[Row]) -> Iterator[Part]:
    """Where readings and reviews lead, what meets its limit first before all. What nobody reads
    and no review saw move is left out."""
    led = [
        (row, row.outlook)
        for row in rows
        if row.outlook and (row.measured or row.outlook.a_year or row.resource == LIFE)
    ]
    led.sort(key=lambda pair: pair[1].runs_out_on or "9999")
    told = tuple(
        (
            title(row),
            shown(row.measured.value, row.measured.unit, source.system) if row.measured else "",
            local_moment(row.measured.at, source.zone)[:10] if row.measured else "",
            in_system(outlook.says, source.system),
        )
        for row, outlook in led
    )
    if told:
        head = ("What", "Last reading", "On", "Trend")
        yield Part("Where the readings lead", (Table(head, told),))


# How it was found. ------------------------------------------------------------------------


def _basis(source: Source, rows: Sequence[Row]) -> Block:
    """The reason of each limit and the way to each figure, once for all rows that share them."""
    found: dict[tuple[str, str, str], list[str]] = {}
    for row in sorted(rows, key=lambda row: row.resource):
        because = in_system(row.limit_because, source.system) or "not known"
        key = row.resource, because, row.basis
        if row.where.name not in found.setdefault(key, []):
            found[key].append(row.where.name)
    return Table(
        ("Resource", "Limit", "How the figure is found", "Of"),
        tuple(
            (capital(resource), because, basis, shortened(", ".join(names), 80))
            for (resource, because, basis), names in found.items()
        ),
    )


def _sums(source: Source, rows: Sequence[Row]) -> Iterator[Part]:
    """The sums of what asks for attention, step by step; `binder headroom` has the others."""
    worked = tuple(
        (title(row), line)
        for row in rows
        for line in (
            *(step_line(step, source.system) for step in row.steps),
            *(f"Note: {in_system(note, source.system)}" for note in row.notes),
        )
    )
    if worked:
        yield Part("The sums behind what asks for attention", (Table(("Of", "Sum"), worked),))


def capital(text: str) -> str:
    """The text with a capital letter first."""
    return text[:1].upper() + text[1:]
