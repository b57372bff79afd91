"""The log since the last review in figures: calls by kind and place, minutes, outages, and what
keeps coming back."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from datetime import date
from typing import Final

from dateutil.relativedelta import relativedelta

from binder.read import Record
from binder.records.dates import local_moment
from exporters.contents.parts import counted, joined
from exporters.contents.places import space_of, title_of
from exporters.model import Block, Paragraph, Part, Section, Table
from exporters.source import Source

_CONCERNS: Final = ("concerned", "changed")
_TROUBLE: Final = ("call", "incident")
_QUARTER: Final = relativedelta(months=3)
_YEAR: Final = relativedelta(years=1)
_AGAIN: Final = 2  # troubles within a year from which a thing is named
_NOWHERE: Final = "no one place"


def calls(source: Source) -> Section:
    return Section("calls", "Calls, visits and outages", tuple(_blocks(source)))


def period(source: Source) -> tuple[date, date]:
    """From the day after the earlier review to the day of the document; a quarter without one."""
    earlier = source.reviewed.earlier
    if earlier is None:
        return source.reviewed.day - _QUARTER, source.today
    return date.fromisoformat(earlier.taken_on), source.today


def _blocks(source: Source) -> Iterator[Block | Part]:
    after, until = period(source)
    entries = [e for e in source.of("log_entry") if after < _day(source, e) <= until]
    outage = sum(entry["outage_min"] or 0 for entry in entries)
    yield Paragraph(
        f"After {after}, up to {until}: {counted(len(entries), 'entry', 'entries')} in the log, "
        f"{_minutes(sum(entry['spent_min'] or 0 for entry in entries))} of work, "
        f"{_minutes(outage)} without service."
    )
    if entries:
        kinds = _summed((source.shown(entry, "form"), entry) for entry in entries)
        places = _summed((_place(source, entry), entry) for entry in entries)
        yield Part("By kind", (_table("Kind", kinds),))
        yield Part("By place", (_table("Place", places),))
    if outages := [entry for entry in entries if entry["outage_min"]]:
        yield Part("Outages", (_outages(source, outages),))
    yield Part("What keeps coming back", tuple(_offenders(source, after, until)))
    if open_ends := [entry for entry in entries if entry["follow_up"]]:
        rows = tuple(
            (_day(source, e).isoformat(), source.shown(e, "summary"), source.shown(e, "follow_up"))
            for e in open_ends
        )
        yield Part("What was left to do", (Table(("On", "After", "To do"), rows),))


def _day(source: Source, entry: Record) -> date:
    return date.fromisoformat(local_moment(entry["opened_at"], source.zone)[:10])


def _minutes(value: float) -> str:
    whole = round(value)
    return f"{whole // 60} h {whole % 60:02} min" if whole >= 60 else f"{whole} min"


def _summed(entries: Iterable[tuple[str, Record]]) -> dict[str, list[Record]]:
    found: dict[str, list[Record]] = {}
    for word, entry in entries:
        found.setdefault(word, []).append(entry)
    return dict(sorted(found.items(), key=lambda item: (-len(item[1]), item[0])))


def _table(head: str, found: dict[str, list[Record]]) -> Table:
    rows = tuple(
        (
            word, str(len(some)), str(sum(entry["form"] in _TROUBLE for entry in some)),
            _minutes(sum(entry["spent_min"] or 0 for entry in some)),
            _minutes(sum(entry["outage_min"] or 0 for entry in some)),
        )
        for word, some in found.items()
    )  # fmt: skip
    return Table((head, "Entries", "Calls and incidents", "Work", "Without service"), rows)


def _outages(source: Source, entries: Sequence[Record]) -> Table:
    longest = sorted(entries, key=lambda entry: -entry["outage_min"])
    rows = tuple(
        (_day(source, e).isoformat(), _minutes(e["outage_min"]), source.shown(e, "summary"))
        for e in longest
    )
    return Table(("On", "Without service", "What happened"), rows)


# Places and things. -----------------------------------------------------------------------


def _subjects(source: Source, entry: Record) -> list[Record]:
    touched = source.belonging("touch", "log_entry").get(entry.id, ())
    found = (source.get(touch["subject"]) for touch in touched if touch["how"] in _CONCERNS)
    return list({record.id: record for record in found if record is not None}.values())


def _place(source: Source, entry: Record) -> str:
    """The room of the first thing the entry is about that is in one."""
    places = (_space(source, subject) for subject in _subjects(source, entry))
    space = next((place for place in places if place is not None), None)
    return title_of(source, space) if space else _NOWHERE


def _space(source: Source, record: Record) -> Record | None:
    """The room a record is in: itself, by its own field, or by the hardware it is part of."""
    if record.kind.name == "space":
        return record
    if record.kind.name == "hardware":
        return space_of(source, record)
    names = {field.name for field in record.kind.all_fields}
    for name in ("space", "demarc_space"):
        if name in names and (space := source.get(record[name])) is not None:
            return space
    return space_of(source, source.get(record["hardware"])) if "hardware" in names else None


def _offenders(source: Source, after: date, until: date) -> Iterator[Block]:
    """Things with two or more calls or incidents within a year."""
    found: dict[int, list[Record]] = {}
    for entry in source.of("log_entry"):
        if entry["form"] in _TROUBLE and until - _YEAR < _day(source, entry) <= until:
            for subject in _subjects(source, entry):
                found.setdefault(subject.id, []).append(entry)
    again = {thing: some for thing, some in found.items() if len(some) >= _AGAIN}
    if not again:
        yield Paragraph("Nothing had two calls or incidents within a year.")
        return
    rows = tuple(
        (
            _called(source, thing), str(len(some)),
            str(sum(_day(source, entry) > after for entry in some)),
            _minutes(sum(entry["outage_min"] or 0 for entry in some)),
        )
        for thing, some in sorted(again.items(), key=lambda item: (-len(item[1]), item[0]))
    )  # fmt: skip
    head = ("What", "Within a year", "Since last time", "Without service")
    yield Table(head, rows)


def _called(source: Source, thing: int) -> str:
    """'SW3, switch': its name, and what it is."""
    record = source.by_id[thing]
    if record.kind.name == "hardware":
        return joined(source.name(record), source.shown(record, "form"))
    label = record.kind.label
    return joined(source.name(record), label if label.isupper() else label.lower())
