"""Where each resource leads: a drawing of each that is used up within three years, and a table."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from datetime import UTC, date, datetime, timedelta
from typing import Final

from dateutil.relativedelta import relativedelta

from binder.engineering.trend import LEAST_READINGS, LEAST_SPAN_DAYS, Line, NotEnough, trend
from binder.headroom import Row
from binder.headroom.words import in_system, shown
from binder.review.exhaustion import FALLING, Exhaustion
from exporters.contents.capacity import capital, title
from exporters.contents.parts import joined, shortened, without_empty
from exporters.contents.places import title_of
from exporters.contents.review_rows import SOON_YEARS, binds_soon, leads_to
from exporters.drawings.trend_chart import Level, Slope, TrendChart
from exporters.model import Block, Drawing, Facts, Paragraph, Part, Section, Table
from exporters.source import Source

_DRAWN: Final = 10
_LONGEST_UNIT: Final = 4
_ROOM: Final = 1.25  # of the way to the limit, drawn
_YEAR_DAYS: Final = 365.25


def trends(source: Source) -> Section:
    return Section("trends", "Where each leads", tuple(_blocks(source)))


def _blocks(source: Source) -> Iterator[Block | Part]:
    found = source.reviewed
    lines = [one for one in found.ahead if one.enough and one.points and one.a_year]
    level = [one for one in found.ahead if one.enough and one.points and not one.a_year]
    aged = [one for one in found.ahead if one.enough and not one.points]
    few = [one for one in found.ahead if not one.enough]
    yield Paragraph(
        "A line is drawn through what was read, or found at the reviews: the median of all slopes "
        "between two of them, with the interval in which it lies 95 times of 100. It begins anew "
        "when equipment or batteries are replaced, or what they are rated for changes. Planned "
        "equipment counts from its planned day. Seasons are not told apart."
    )
    yield from _first(source)
    if charts := list(_charts(source, lines)):
        yield Part("What meets its limit within three years", tuple(charts))
    if lines:
        yield Part("Lines", (_table(source, lines),))
    if level:
        yield Part("As it was at each review", (_level(level),))
    if aged:
        rows = tuple((title(one.row), _by_age(one), leads_to(source, one.row, one)) for one in aged)
        yield Part("By age", (Table(("What", "Age", "Due"), rows),))
    if few:
        yield Part("Not enough readings", tuple(_few(source, few)))


def _first(source: Source) -> Iterator[Part]:
    """What is used up first, of each site and of the client."""
    found = source.reviewed
    coming = [one for one in found.ahead if one.on is not None and one.on > found.on]
    buildings = {
        source.name(space): title_of(source, building)
        for space in source.of("space")
        if (building := source.get(space["building"])) is not None
    }
    by_site: dict[str, Exhaustion] = {}
    for one in coming:
        by_site.setdefault(buildings.get(one.row.where.space, ""), one)
    rows = [
        (site or "in no one building", title(one.row), leads_to(source, one.row, one))
        for site, one in by_site.items()
    ]
    if coming:
        rows.insert(0, ("of all", title(coming[0].row), leads_to(source, coming[0].row, coming[0])))
        yield Part("Used up first", (Table(("Where", "What", "When"), tuple(rows)),))


def _level(level: Sequence[Exhaustion]) -> Facts:
    """What neither rose nor fell, by resource."""
    found: dict[str, list[str]] = {}
    for one in level:
        called = joined(one.row.where.name, one.row.which, by=" ")
        found.setdefault(capital(one.row.resource), []).append(called)
    return Facts(tuple((resource, "; ".join(names)) for resource, names in sorted(found.items())))


def _by_age(one: Exhaustion) -> str:
    return f"{one.row.used or 0:.1f} of {one.row.limit or 0:.1f} years"


# Drawings. --------------------------------------------------------------------------------


def _charts(source: Source, lines: Sequence[Exhaustion]) -> Iterator[Block]:
    soon = [one for one in lines if binds_soon(one, source.reviewed.day)]
    for number, one in enumerate(soon[:_DRAWN], start=1):
        chart = _chart(source, one)
        if chart is not None:
            yield Drawing(f"trend-{number}", chart)
    if len(soon) > _DRAWN:
        yield Paragraph(f"Drawn are the first {_DRAWN}; the table has all.")


def _chart(source: Source, one: Exhaustion) -> TrendChart | None:
    """The line as it was drawn for the answer: the same points give the same line."""
    row, today = one.row, source.reviewed.day
    moments = [
        (datetime.fromisoformat(point.on).replace(tzinfo=UTC), point.used) for point in one.points
    ]
    line = trend(moments)
    if isinstance(line, NotEnough):
        return None
    falling = row.resource in FALLING
    limit = (row.used if falling else row.limit) or 0.0
    kept = (row.reserved or 0.0) * (1 if falling else -1)
    word = "asked" if falling else "limit"
    first = line.first_at.date()
    # the line counts days from the first moment, the drawing from its day
    midnight = datetime(first.year, first.month, first.day, tzinfo=UTC)
    early = (line.first_at - midnight) / timedelta(days=1)

    def slope(of: Line) -> Slope:
        return Slope(of.at(-early), of.slope)

    middles = line.theil_sen
    return TrendChart(
        title(row), _says(source, one),
        tuple((moment.date(), value) for moment, value in moments),
        slope(middles.middle), slope(middles.low), slope(middles.high),
        Level(limit, f"{word} {_brief(source, row, limit)}"),
        Level(limit + kept, f"plans {_brief(source, row, limit + kept)}") if kept else None,
        Level(moments[-1][1], _brief(source, row, moments[-1][1])),
        today, _last(one, today),
    )  # fmt: skip


def _brief(source: Source, row: Row, value: float) -> str:
    """A figure short enough for the edge of a drawing: what is counted is in its heading."""
    told = shown(round(value, 1 if abs(value) < 100 else 0), row.unit, source.system)
    number, _, unit = told.partition(" ")
    return number if len(unit) > _LONGEST_UNIT else told


def _says(source: Source, one: Exhaustion) -> str:
    when = leads_to(source, one.row, one)
    return joined(_a_year(source, one), when if when.startswith("reached") else f"limit {when}")


def _last(one: Exhaustion, today: date) -> date:
    """As far as the limit and some way on; at least half a year, at most three years ahead."""
    ends = [date.fromisoformat(day) for day in (one.on, one.latest_on) if day]
    ahead = max(((end - today).days for end in ends), default=0) * _ROOM
    furthest = (today + relativedelta(years=SOON_YEARS) - today).days
    return today + timedelta(days=int(min(max(ahead, 183), furthest)))


# Tables. ----------------------------------------------------------------------------------


def _table(source: Source, lines: Sequence[Exhaustion]) -> Table:
    rows = tuple(
        (
            title(one.row), str(len(one.points)), one.points[0].on[:10],
            _a_year(source, one), _least_squares(source, one), leads_to(source, one.row, one),
            joined(
                f"planned equipment from {one.row.planned_on}" if one.row.planned_on else "",
                _anew(source, one),
                by="; ",
            ),
        )
        for one in lines
    )  # fmt: skip
    head = ("What", "Readings", "Since", "A year", "By least squares", "Limit met", "Line")
    return without_empty(Table(head, rows))


def _anew(source: Source, one: Exhaustion) -> str:
    if one.step is None:
        return ""
    return f"anew since {one.step.on}: {in_system(one.step.why, source.system)}"


def _a_year(source: Source, one: Exhaustion) -> str:
    return _gained(source, one.row, one.a_year)


def _least_squares(source: Source, one: Exhaustion) -> str:
    return _gained(source, one.row, one.a_year_least_squares)


def _gained(source: Source, row: Row, a_year: float | None) -> str:
    if a_year is None:
        return ""
    sign = "+" if a_year >= 0 else "-"
    value = round(abs(a_year), 1 if abs(a_year) >= 10 else 2)
    return f"{sign}{shown(value, row.unit, source.system, difference=True)} a year"


def _few(source: Source, few: Sequence[Exhaustion]) -> Iterator[Block]:
    yield Paragraph(
        f"A date is told from {LEAST_READINGS} readings or reviews on, over {LEAST_SPAN_DAYS:.0f} "
        "days or more; these have fewer."
    )
    found: dict[tuple[str, int, str], list[str]] = {}
    for one in few:
        since = _anew(source, one)
        called = joined(one.row.where.name, one.row.which)
        found.setdefault((one.row.resource, len(one.points), since), []).append(called)
    yield Table(
        ("Resource", "Of", "So far", "Line"),
        tuple(
            (resource, shortened(", ".join(names)), str(count), since)
            for (resource, count, since), names in sorted(found.items())
        ),
    )
