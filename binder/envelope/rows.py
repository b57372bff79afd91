"""Rows of the envelope's tables, read with distrust.

Text is read as bytes: a tampered file may hold bytes that are no UTF-8, which must end in a tag
that does not fit and not in an error of SQLite's. Every column is bound into a tag or a MAC.
"""

from __future__ import annotations

import contextlib
import sqlite3
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from typing import Any

from binder.errors import EnvelopeError

_TYPES = {"integer": int, "text": str, "bytes": bytes}


@dataclass(frozen=True, slots=True)
class Column:
    name: str
    type: str  # 'integer', 'text' or 'bytes'
    may_be_null: bool = False


def _columns(declared: str) -> tuple[Column, ...]:
    """From 'id integer, why text?': a question mark where it may be NULL."""
    words = (column.split() for column in declared.split(","))
    return tuple(Column(name, kind.rstrip("?"), kind.endswith("?")) for name, kind in words)


# The order of the columns is that of FORMAT.md, and of the members of FIELDS there.
TABLES = {
    "envelope": _columns(
        "one integer, id text, key_number integer, log_count integer, log_mac bytes, head_mac bytes"
    ),
    "keyholder": _columns(
        "id integer, name text, added_at text, added_by text, salt bytes, memory_kib integer, "
        "passes integer, lanes integer, key_file integer, private_key bytes, data_key bytes, "
        "public_key bytes"
    ),
    "secret_version": _columns(
        "secret_id integer, version integer, form text, set_at text, set_by text, sealed bytes"
    ),
    "envelope_log": _columns(
        "number integer, key_number integer, at text, who text, act text, seen_by text?, "
        "secret_id integer?, secret_name text?, version integer?, keyholder text?, why text?, "
        "log_entry_id integer?, mac bytes"
    ),
    "old_log_key": _columns("key_number integer, sealed bytes"),
    "refused_opening": _columns("at text, who text, after_line integer"),
}


def read(
    connection: sqlite3.Connection,
    table: str,
    tail: str = "",
    parameters: Iterable[Any] = (),
    *,
    errors: str = "surrogateescape",
) -> Iterator[tuple[Any, ...]]:
    """Rows of a table. `errors`, as of `bytes.decode`, is for bytes that are no UTF-8.

    Raises EnvelopeError when a value has another type than its column.
    """
    columns = TABLES[table]
    names = ", ".join(
        f"CAST({column.name} AS BLOB)" if column.type == "text" else column.name
        for column in columns
    )
    for row in connection.execute(f"SELECT {names} FROM {table} {tail}", tuple(parameters)):
        yield tuple(_typed(table, c, value, errors) for c, value in zip(columns, row, strict=True))


def _typed(table: str, column: Column, value: Any, errors: str) -> Any:
    if value is None and column.may_be_null:
        return None
    if column.type == "text" and isinstance(value, bytes):
        with contextlib.suppress(UnicodeDecodeError):  # told below; only when errors='strict'
            return value.decode(errors=errors)
    elif type(value) is _TYPES[column.type]:
        return value
    raise EnvelopeError(f"the envelope is damaged ({table}.{column.name}); restore a backup")


def insert(connection: sqlite3.Connection, table: str, row: Iterable[Any]) -> None:
    columns = TABLES[table]
    names, marks = ", ".join(c.name for c in columns), ", ".join("?" * len(columns))
    connection.execute(f"INSERT INTO {table} ({names}) VALUES ({marks})", tuple(row))


def replace(connection: sqlite3.Connection, table: str, row: Iterable[Any]) -> None:
    """Write the other columns of the row that has the same first one."""
    first, *others = TABLES[table]
    key, *values = row
    sets = ", ".join(f"{column.name} = ?" for column in others)
    done = connection.execute(f"UPDATE {table} SET {sets} WHERE {first.name} = ?", (*values, key))
    if done.rowcount != 1:
        raise EnvelopeError(f"the envelope is damaged ({table}.{first.name}); restore a backup")


@dataclass(frozen=True, slots=True)
class State:
    """The one row of the table `envelope`."""

    id: str
    key_number: int
    log_count: int
    log_mac: bytes
    head_mac: bytes


def state(connection: sqlite3.Connection) -> State | None:
    """What the envelope stands at; None in a binder that has none. Raises EnvelopeError."""
    for row in read(connection, "envelope"):
        return State(*row[1:])
    if connection.execute("SELECT 1 FROM keyholder UNION SELECT 1 FROM secret_version").fetchone():
        raise EnvelopeError("the envelope is damaged (its own row is gone); restore a backup")
    return None
