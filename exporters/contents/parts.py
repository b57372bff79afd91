"""How records become blocks: tables, facts, cards. A field declared once turns up here.

A table names the columns that matter; whatever else is recorded follows it in lines that begin
with the records they are about, so that a new field of a kind needs nothing here to be told.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Container, Iterable, Iterator, Sequence
from dataclasses import dataclass
from functools import partial
from typing import Final

from binder.identifiers import NaturalKey, natural_key
from binder.read import Record
from binder.records.fields import Field, Type
from exporters.model import NOTHING, Block, Cell, Facts, Link, Notes, Part, Table
from exporters.source import Source

NOT_RECORDED: Final = "not recorded"

_APART: Final = frozenset(
    {"status", "notes", "internal_notes", "verified_on", "verified_by", "source"}
)
_WEB: Final = re.compile(r"https?://[A-Za-z0-9.-]+(:[0-9]+)?(/[A-Za-z0-9+./?&=%#@_~,;-]*)?")
_MAIL: Final = re.compile(r"[A-Za-z0-9.+_-]+@[A-Za-z0-9-]+(\.[A-Za-z0-9-]+)+")


@dataclass(frozen=True, slots=True)
class Column:
    """A column of a table: its heading, what it says of a record, the fields it tells thereby."""

    label: str
    says: Callable[[Record], Cell]
    tells: tuple[str, ...] = ()


def cell(source: Source, record: Record, name: str) -> Cell:
    """A field as a cell: web and e-mail addresses lead there."""
    text = source.shown(record, name)
    type_ = record.kind.field(name).type
    if type_ is Type.URL and _WEB.fullmatch(text):
        return Link(text, text)
    if type_ is Type.EMAIL and _MAIL.fullmatch(text):
        return Link(text, f"mailto:{text}")
    return text


def table(source: Source, records: Sequence[Record], *columns: str | Column) -> Table:
    """A row a record: its name, then the columns, given by field name or as a Column."""
    kind = records[0].kind
    single = len(kind.named_by) == 1
    name = Column(
        kind.field(kind.named_by[0]).label if single else kind.label, source.name, kind.named_by
    )
    return bare_table(source, records, name, *columns)


def bare_table(source: Source, records: Sequence[Record], *columns: str | Column) -> Table:
    """The same without the column of names."""
    kind = records[0].kind
    made = [
        column
        if isinstance(column, Column)
        else Column(kind.field(column).label, partial(_field_cell, source, column))
        for column in columns
    ]
    rows = tuple(tuple(column.says(record) for column in made) for record in records)
    return without_empty(Table(tuple(column.label for column in made), rows))


def without_empty(table: Table) -> Table:
    """The table less its columns in which nothing stands: they take the room of the others."""
    kept = [at for at in range(len(table.head)) if any(row[at] for row in table.rows)]
    return Table(
        tuple(table.head[at] for at in kept),
        tuple(tuple(row[at] for at in kept) for row in table.rows),
    )


def _field_cell(source: Source, name: str, record: Record) -> Cell:
    return cell(source, record, name)


def told_by(*columns: str | Column) -> frozenset[str]:
    """The fields that these columns tell."""
    return frozenset(
        name
        for column in columns
        for name in ((column,) if isinstance(column, str) else column.tells)
    )


def schedule(
    source: Source, records: Sequence[Record], *columns: str | Column
) -> tuple[Block, ...]:
    """A table of records and all else that is recorded of them; says so when there are none."""
    if not records:
        return (NOTHING,)
    return (
        table(source, records, *columns),
        *particulars(source, records, told_by(*columns)),
        *notes(source, records),
    )


def particulars(
    source: Source, records: Sequence[Record], told: Container[str]
) -> tuple[Facts, ...]:
    """What is recorded beyond the fields already told; records alike share a line."""
    own: dict[str, list[int]] = {}
    seen: dict[str, list[int]] = {}
    untold = [
        field
        for field in (source.fields(records[0]) if records else ())
        if field.name not in told
        and field.name not in _APART
        and field.name not in records[0].kind.named_by
    ]
    for at, record in enumerate(records):
        if text := _particulars_of(source, record, untold, with_status="status" not in told):
            own.setdefault(text, []).append(at)
        if text := provenance(source, record):
            seen.setdefault(text, []).append(at)
    rows = tuple(
        (listed(source, records, at), text) for group in (own, seen) for text, at in group.items()
    )
    return (Facts(rows),) if rows else ()


def _particulars_of(
    source: Source, record: Record, fields: Sequence[Field], *, with_status: bool
) -> str:
    told_too = [_status(source, record)] if with_status and not _status_is_plain(record) else []
    for field in fields:
        stored = record[field.name]
        if stored is not None and stored != field.default:
            value = source.shown(record, field.name)
            if value and value != record.name:
                told_too.append(f"{field.label}: {_one_line(value)}")
    return sentences(told_too)


def sentences(texts: Iterable[str]) -> str:
    """Texts in a row, each parted from the next; one that ends a sentence is parted by that."""
    told = ""
    for text in texts:
        told += f"{' ' if told.endswith(('.', '!', '?')) else '; '}{text}" if told else text
    return told


def _status(source: Source, record: Record) -> str:
    return f"Status: {source.shown(record, 'status')}"


def _status_is_plain(record: Record) -> bool:
    return bool(record["status"] == record.kind.field("status").default)


def _one_line(text: str) -> str:
    return ", ".join(line.strip() for line in text.split("\n") if line.strip())


def provenance(source: Source, record: Record) -> str:
    """When and by whom a record was verified, and where it came from."""
    on, by = source.shown(record, "verified_on"), source.shown(record, "verified_by")
    told = []
    if on or by:
        told.append(f"Verified {on or 'on no day recorded'}" + (f" by {by}" if by else ""))
    if origin := source.shown(record, "source"):
        told.append(f"Source: {origin}")
    return "; ".join(told)


def listed(source: Source, records: Sequence[Record], at: Iterable[int]) -> str:
    """Names of the records at these places in a list; a run of a series as 'first to last'."""
    return _in_runs((place, source.name(records[place])) for place in at)


def in_runs(names: Iterable[str]) -> str:
    """Names in their order, those of a series together: 'PH1 to PH8, PH12'."""
    return _in_runs(_placed(names))


def _in_runs(placed: Iterable[tuple[int, str]]) -> str:
    runs: list[list[str]] = []
    before = -2
    for place, name in placed:
        if place == before + 1 and _series(name) == _series(runs[-1][-1]):
            runs[-1].append(name)
        else:
            runs.append([name])
        before = place
    return ", ".join(f"{run[0]} to {run[-1]}" if len(run) > 2 else ", ".join(run) for run in runs)


def by_kind(source: Source, ids: Iterable[int], most: int = 80) -> str:
    """Hardware by name, those of a kind together: 'SW1, SW2 (switch); PH1 to PH8 (phone)'."""
    found: dict[str, list[str]] = {}
    hardware = [record for record in map(source.get, ids) if record is not None]
    for record in sorted(hardware, key=_by_form):
        found.setdefault(source.shown(record, "form"), []).append(source.name(record))
    told = []
    for form, names in found.items():
        listing = _in_runs(_placed(names))
        short = shortened(listing, most)
        in_all = "" if short == listing else f", {len(names)} in all"
        told.append(f"{short} ({form}{in_all})")
    return "; ".join(told)


def _by_form(record: Record) -> tuple[int, NaturalKey]:
    return record.kind.field("form").choices.index(record["form"]), natural_key(record.name)


def _placed(names: Iterable[str]) -> Iterator[tuple[int, str]]:
    """Names in their order with a place each; where a number of a series is missing, one too."""
    place, before = 0, -1
    for name in names:
        numbers = re.findall("[0-9]+", name)
        number = int(numbers[-1]) if numbers else -1
        place += 1 if number == before + 1 else 2
        before = number
        yield place, name


def shortened(names: str, most: int = 160) -> str:
    """The beginning of a long list of names, cut between two of them."""
    if len(names) <= most:
        return names
    return f"{names[:most].rpartition(', ')[0] or names.partition(', ')[0]} and more"


def _series(name: str) -> str:
    """What names of one series share: all but their numbers."""
    return re.sub(r"[0-9]+", "0", name)


def notes(source: Source, records: Sequence[Record]) -> tuple[Notes, ...]:
    """What people wrote about the records, for the eyes this document is for."""
    written: dict[tuple[str, str], list[int]] = {}
    for at, record in enumerate(records):
        for field in ("notes", "internal_notes"):
            if text := source.shown(record, field):
                written.setdefault((field, text), []).append(at)
    return tuple(
        Notes(listed(source, records, at) + (" (internal)" * (field != "notes")), text)
        for (field, text), at in written.items()
    )


def facts(
    source: Source,
    record: Record,
    *,
    always: Container[str] = (),
    leave_out: Container[str] = (),
    more: Iterable[tuple[str, Cell]] = (),
) -> Facts:
    """Everything recorded of one record; fields in `always` stand there even when empty."""
    rows: list[tuple[str, Cell]] = []
    for field in source.fields(record):
        if field.name in _APART or field.name in leave_out:
            continue
        value = cell(source, record, field.name)
        if value or field.name in always:
            rows.append((field.label, value or NOT_RECORDED))
    rows += more
    if not _status_is_plain(record):
        rows.append(("Status", source.shown(record, "status")))
    verified = provenance(source, record).removeprefix("Verified ")
    if verified or "installed" in record.kind.statuses:  # a thing one can go and look at
        rows.append(("Verified", verified or "never"))
    return Facts(tuple(rows))


def card(
    source: Source,
    record: Record,
    title: str = "",
    *,
    always: Container[str] = (),
    more: Iterable[tuple[str, Cell]] = (),
) -> Part:
    """A record under its own heading: its facts and what people wrote about it."""
    told = facts(source, record, always=always, leave_out=record.kind.named_by, more=more)
    return Part(title or source.name(record), (told, *notes(source, (record,))))


def counted(number: int, one: str, many: str = "") -> str:
    """'1 link', '3 links'."""
    return f"{number} {one if number == 1 else many or one + 's'}"


def joined(*parts: str, by: str = ", ") -> str:
    """The parts that are not empty, joined."""
    return by.join(part for part in parts if part)
