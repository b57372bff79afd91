"""Reading records: one, many, by name; and the names of those they refer to."""

from __future__ import annotations

import sqlite3
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from typing import Any

from binder.errors import RequestError
from binder.file import BinderFile
from binder.records.catalog import BY_NAME, KINDS
from binder.records.fields import Kind
from binder.records.schema import quoted


@dataclass(frozen=True, slots=True)
class Record:
    """A record as stored: values by field name, references as ids.

    `position` is the place in the change log of its last change: give it back to the edit door
    as `seen`, and a change made meanwhile by someone else is not overwritten.
    """

    id: int
    kind: Kind
    name: str
    position: int
    values: Mapping[str, Any]

    def __getitem__(self, field: str) -> Any:
        return self.values[field]


@dataclass(frozen=True, slots=True)
class Named:
    """What a reference points to."""

    id: int
    kind: str
    name: str


def _columns(kind: Kind) -> str:
    return ", ".join(f"t.{quoted(field.column)}" for field in kind.all_fields)


def _record(kind: Kind, row: sqlite3.Row) -> Record:
    names = [field.name for field in kind.all_fields]
    return Record(row[0], kind, row[1], row[2], dict(zip(names, tuple(row)[3:], strict=True)))


def kind_of(binder: BinderFile, record_id: int) -> Kind | None:
    """The kind of the record of that id, or None when there is none."""
    row = binder.connection.execute("SELECT kind FROM record WHERE id = ?", (record_id,)).fetchone()
    return BY_NAME[row[0]] if row else None


def read(binder: BinderFile, record_id: int) -> Record:
    """The record of that id. Raises RequestError when it is not in the binder (any more)."""
    kind = kind_of(binder, record_id)
    if kind is None:
        raise RequestError("that record is not in the binder any more; undo brings it back")
    return read_where(binder, kind, "t.id = ?", (record_id,))[0]


def read_where(
    binder: BinderFile,
    kind: Kind,
    where: str = "1",
    parameters: Iterable[Any] = (),
    *,
    order_by: str = "r.name",
) -> tuple[Record, ...]:
    """The records of a kind for which the SQL `where` holds; columns are `t.`, registry `r.`."""
    rows = binder.connection.execute(
        f"SELECT t.id, r.name, r.position, {_columns(kind)} FROM {quoted(kind.table)} t "
        f"JOIN record r ON r.id = t.id WHERE {where} ORDER BY {order_by}",
        tuple(parameters),
    )
    return tuple(_record(kind, row) for row in rows)


def names(binder: BinderFile, ids: Iterable[int]) -> dict[int, Named]:
    """Kind and name of each id that is in the binder."""
    wanted = tuple(set(ids))
    found: dict[int, Named] = {}
    for start in range(0, len(wanted), 500):
        part = wanted[start : start + 500]
        marks = ",".join("?" * len(part))
        for row in binder.connection.execute(
            f"SELECT id, kind, name FROM record WHERE id IN ({marks})", part
        ):
            found[row[0]] = Named(row[0], row[1], row[2])
    return found


def reference_names(binder: BinderFile, records: Iterable[Record]) -> dict[int, Named]:
    """Names of everything that these records refer to, asked in one go."""
    return names(
        binder,
        (
            record.values[field.name]
            for record in records
            for field in record.kind.all_fields
            if field.is_reference and record.values[field.name] is not None
        ),
    )


def client(binder: BinderFile) -> Record | None:
    """The client's own sheet, or None in a binder that was just made without a name."""
    records = read_where(binder, BY_NAME["client"])
    return records[0] if records else None


def binder_id(binder: BinderFile) -> str:
    """The UUID that a binder keeps for life, also when it is copied."""
    row = binder.connection.execute("SELECT value FROM info WHERE name = 'binder_id'").fetchone()
    return str(row[0])


def unit_system(binder: BinderFile) -> str:
    """'us' or 'metric': how this binder shows lengths, weights and temperatures."""
    row = binder.connection.execute("SELECT unit_system FROM client").fetchone()
    return row[0] if row else "us"


_THINGS = ("Client", "Racks", "Patching", "Addresses", "Circuits")
PAPERS = tuple(kind.name for kind in KINDS if kind.divider not in _THINGS)  # about the things


def time_zone(binder: BinderFile) -> str:
    """The client's zone, by whose clock moments are shown; UTC where nobody has said."""
    row = binder.connection.execute("SELECT time_zone FROM client").fetchone()
    return row[0] if row and row[0] else "UTC"


def resolve(binder: BinderFile, text: str, kind: str = "") -> Named:
    """The record that `text` names, of one kind or of any.

    `hardware SW1` and `hardware:SW1` name the kind too. Upper and lower case are one. A thing
    comes before a paper of the same name (the switch SW1 before the warranty SW1). Raises
    RequestError when nothing, or more than one thing, has that name.
    """
    text = text.strip().encode(errors="replace").decode()  # a shell may pass what is no text
    found = _named(binder, text, kind)
    if not found and not kind:
        found = [n for word, rest in _with_kind(text) for n in _named(binder, rest, word)]
    things = [named for named in found if named.kind not in PAPERS] or found
    if len(things) == 1:
        return things[0]
    what = BY_NAME[kind].label.lower() if kind else "record"
    if not found:
        near = _near(binder, text, kind)
        hint = f"; is it {', '.join(near)}?" if near else _none_of(binder, kind)
        raise RequestError(f"no {what} is named '{text}'{hint}")
    which = ", ".join(f"'{n.kind} {n.name}'" for n in found)
    raise RequestError(f"'{text}' names {len(found)} records: {which}; say which")


def _with_kind(text: str) -> Iterator[tuple[str, str]]:
    """Kind and name, where the text begins with a kind's word: `log entry L-0007`."""
    for at, character in enumerate(text):
        word = text[:at].lower().replace("-", "_").replace(" ", "_")
        if character in " :" and word in BY_NAME:
            yield word, text[at + 1 :].strip()


def _named(binder: BinderFile, text: str, kind: str) -> list[Named]:
    sql = "SELECT id, kind, name FROM record WHERE name = ?"
    rows = binder.connection.execute(
        f"{sql} AND kind = ?" if kind else sql, (text, kind) if kind else (text,)
    )
    return [Named(row[0], row[1], row[2]) for row in rows]


def _none_of(binder: BinderFile, kind: str) -> str:
    """What to do where a new binder has no record of the kind at all."""
    sql = "SELECT 1 FROM record WHERE kind = ? LIMIT 1"
    if not kind or binder.connection.execute(sql, (kind,)).fetchone():
        return ""
    return f"; the binder has none yet: add it first, under {BY_NAME[kind].divider}"


def _near(binder: BinderFile, text: str, kind: str) -> list[str]:
    escaped = text.replace("\\", "\\\\").replace("%", "\\%").replace("_", "\\_")
    rows = binder.connection.execute(
        "SELECT name FROM record WHERE name LIKE ? ESCAPE '\\' AND (? = '' OR kind = ?) "
        "ORDER BY length(name), name LIMIT 3",
        (f"{escaped}%", kind, kind),
    )
    return [row[0] for row in rows]
