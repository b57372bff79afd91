"""The search index: one document a record, kept true by the edit door.

Columns: `name`; `body`, its words and the names of what it refers to; `compact`, numbers
without their punctuation. The index keeps deleted text (FTS5 does), so no secret enters it:
a secret's value is not a field of any record.
"""

from __future__ import annotations

import sqlite3
from collections.abc import Collection, Iterable

from binder.records.catalog import BY_NAME, KINDS, references_to
from binder.records.fields import Field, Kind, Type
from binder.records.schema import quoted

PUNCTUATION = "-. :/()+#_"

_BODY_TYPES = {
    Type.TEXT,
    Type.LINES,
    Type.CHOICE,
    Type.MAC,
    Type.IP,
    Type.CIDR,
    Type.PHONE,
    Type.EMAIL,
    Type.URL,
}


def _is_searched(field: Field) -> bool:
    if field.name == "form":  # what kind of thing it is, is how people ask for it
        return True
    return field.searched and (field.type in _BODY_TYPES or field.is_reference)


def _stripped(column: str) -> str:
    for mark in PUNCTUATION:
        column = f"replace({column}, '{mark}', '')"
    return f"lower({column})"


def document_sql(kind: Kind) -> str:
    """SELECT of (id, name, body, compact) for the rows `t` of a kind."""
    parts = []
    for field in kind.all_fields:
        column = f"t.{quoted(field.column)}"
        if _is_searched(field):
            if field.is_reference:
                column = f"(SELECT n.name FROM record n WHERE n.id = {column})"
            parts.append(f"coalesce({column} || char(10), '')")
    compact = [
        f"coalesce({_stripped(f't.{quoted(field.column)}')} || char(10), '')"
        for field in kind.all_fields
        if field.is_compact
    ]
    empty = "''"
    return (
        f"SELECT t.id, r.name, {' || '.join(parts)} AS body, "
        f"{' || '.join(compact) or empty} AS compact "
        f"FROM {quoted(kind.table)} t JOIN record r ON r.id = t.id"
    )


def rebuild(connection: sqlite3.Connection) -> None:
    """Make the whole index anew, inside the caller's transaction."""
    connection.execute("DELETE FROM search")
    for kind in KINDS:
        connection.execute(f"INSERT INTO search (rowid, name, body, compact) {document_sql(kind)}")


def refresh(connection: sqlite3.Connection, ids: Collection[int]) -> None:
    """Bring the documents of these records up to date; a record that is gone loses its own."""
    by_kind: dict[str, list[int]] = {}
    for part in _parts(ids):
        marks = ",".join("?" * len(part))
        connection.execute(f"DELETE FROM search WHERE rowid IN ({marks})", part)
        for row in connection.execute(f"SELECT id, kind FROM record WHERE id IN ({marks})", part):
            by_kind.setdefault(row[1], []).append(row[0])
    for name, members in by_kind.items():
        sql = document_sql(BY_NAME[name])
        for part in _parts(members):
            connection.execute(
                f"INSERT INTO search (rowid, name, body, compact) {sql} "
                f"WHERE t.id IN ({','.join('?' * len(part))})",
                part,
            )


def mentioning(connection: sqlite3.Connection, ids: Iterable[int]) -> set[int]:
    """Records whose documents hold the name of one of these: to refresh when they are renamed.

    Names run one level on (SW1:03 is named after SW1), so records that refer to a record named
    after one of these are included.
    """
    found: set[int] = set()
    named = set(ids)
    for record_id in tuple(named):
        row = connection.execute("SELECT kind FROM record WHERE id = ?", (record_id,)).fetchone()
        if row is None:
            continue
        for kind, field in references_to(row[0]):
            if field.name in kind.named_by:
                named.update(_referring(connection, kind, field, record_id))
    for record_id in named:
        row = connection.execute("SELECT kind FROM record WHERE id = ?", (record_id,)).fetchone()
        for kind, field in references_to(row[0]) if row else ():
            if _is_searched(field):
                found.update(_referring(connection, kind, field, record_id))
    return found | named


def _referring(
    connection: sqlite3.Connection, kind: Kind, field: Field, record_id: int
) -> list[int]:
    rows = connection.execute(
        f"SELECT id FROM {quoted(kind.table)} WHERE {quoted(field.column)} = ?", (record_id,)
    )
    return [row[0] for row in rows]


def _parts(ids: Collection[int], size: int = 500) -> Iterable[tuple[int, ...]]:
    ordered = tuple(ids)
    return (ordered[start : start + size] for start in range(0, len(ordered), size))
