"""The sheet of a record: every field as people read it, and what refers to it.

One answer for the app, `binder show`, `--json` and the documents. Text is as typed: whoever
shows it makes it safe for where it goes.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from typing import Any

from binder.file import BinderFile
from binder.lately import Event, lately
from binder.read import Record, read, reference_names, time_zone, unit_system
from binder.records.catalog import references_to
from binder.records.fields import Field
from binder.records.schema import quoted
from binder.records.values import show, to_json
from binder.touched import Touched, touched


@dataclass(frozen=True, slots=True)
class SheetLine:
    """A field: `shown` for people, `value` as plain data, `refers_to` the id of a reference."""

    field: str
    label: str
    shown: str
    value: Any
    refers_to: int | None


@dataclass(frozen=True, slots=True)
class Referring:
    """A record that names this one, through the field of that label."""

    id: int
    kind: str
    name: str
    through: str


@dataclass(frozen=True, slots=True)
class Sheet:
    """`verified` says how long ago someone looked, in words; `stale` when longer than agreed.

    `lately` is what was changed and logged around it, newest first, where that was asked for;
    `touched` what a log entry touched.
    """

    id: int
    kind: str
    label: str
    name: str
    position: int
    lines: tuple[SheetLine, ...]
    referring: tuple[Referring, ...]
    verified: str
    stale: bool
    lately: tuple[Event, ...] = ()
    touched: tuple[Touched, ...] = ()


def sheet(
    binder: BinderFile, record_id: int, today: date, *, limit: int = 500, most_events: int = 0
) -> Sheet:
    """The sheet of a record; at most `limit` records that refer to it, and of what changed around
    it lately the last `most_events`.

    Raises RequestError when it is not in the binder.
    """
    record = read(binder, record_id)
    months = binder.connection.execute("SELECT verify_months FROM client").fetchone()
    verified_on = record["verified_on"]
    return Sheet(
        record.id,
        record.kind.name,
        record.kind.label,
        record.name,
        record.position,
        _lines(binder, record),
        referring(binder, record, limit),
        verification(verified_on, today),
        is_stale(verified_on, today, months[0] if months else None),
        lately(binder, record_id, most=most_events) if most_events else (),
        touched(binder, record_id) if record.kind.name == "log_entry" else (),
    )


def _lines(binder: BinderFile, record: Record) -> tuple[SheetLine, ...]:
    system, zone = unit_system(binder), time_zone(binder)
    named = reference_names(binder, [record])

    def line(field: Field) -> SheetLine:
        value = record.values[field.name]
        if field.is_reference:
            target = named.get(value) if value is not None else None
            name = target.name if target else ""
            return SheetLine(field.name, field.label, name, name or None, value)
        shown = show(field, value, system=system, zone=zone)
        return SheetLine(field.name, field.label, shown, to_json(field, value), None)

    return tuple(line(field) for field in record.kind.all_fields)


def referring(binder: BinderFile, record: Record, limit: int = 500) -> tuple[Referring, ...]:
    """The records that name this one, kind by kind in the order of the binder, by name."""
    fields = references_to(record.kind.name)
    sql = " UNION ALL ".join(
        f"SELECT {at} AS place, {quoted(field.column)} AS target, id "
        f"FROM {quoted(kind.table)} WHERE {quoted(field.column)} = :id"
        for at, (kind, field) in enumerate(fields)
    )
    rows = binder.connection.execute(
        f"SELECT x.place, x.id, r.kind, r.name FROM ({sql}) x JOIN record r ON r.id = x.id "
        "ORDER BY x.place, length(r.name), r.name LIMIT :limit",
        {"id": record.id, "limit": limit},
    )
    return tuple(Referring(row[1], row[2], row[3], fields[row[0]][1].label) for row in rows)


def verification(verified_on: str | None, today: date) -> str:
    """'verified 3 months ago', 'verified today', 'never verified'."""
    if verified_on is None:
        return "never verified"
    days = (today - date.fromisoformat(verified_on)).days
    if days <= 0:
        return "verified today"
    if days < 60:
        return f"verified {days} day{'s' if days > 1 else ''} ago"
    if days < 730:
        return f"verified {days * 12 // 365} months ago"
    return f"verified {days // 365} years ago"


def is_stale(verified_on: str | None, today: date, verify_months: int | None) -> bool:
    """Whether nobody looked within the months this client has agreed on (12 if none said)."""
    if verified_on is None:
        return True
    return (today - date.fromisoformat(verified_on)).days > (verify_months or 12) * 365 / 12
