"""The envelope in the JSON form: carried as it lies in the file, encrypted.

Needs neither a passphrase nor `cryptography`. See FORMAT.md, "In the JSON form".
"""

from __future__ import annotations

import base64
import binascii
import sqlite3
from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any

from binder.envelope import rows
from binder.envelope.rows import TABLES, Column
from binder.errors import Fault, FaultsError, RequestError

_CARRIED = ("envelope", "keyholder", "secret_version", "envelope_log", "old_log_key")
_IDS_OF = {"secrets": "secret", "log_entries": "log_entry"}


@dataclass(frozen=True, slots=True)
class Carried:
    """An envelope read from a dump: rows by table, and ids by kind and name."""

    tables: Mapping[str, list[tuple[Any, ...]]] = field(default_factory=dict)
    ids: Mapping[str, Mapping[str, int]] = field(default_factory=dict)


def dumped(connection: sqlite3.Connection) -> dict[str, Any]:
    """The envelope as plain data; empty when the binder has none."""
    if rows.state(connection) is None:
        return {}
    data: dict[str, Any] = {"ids": _ids(connection)}
    for table in _CARRIED:
        data[table] = [
            _plain(TABLES[table], row)
            for row in rows.read(connection, table, "ORDER BY 1, 2", errors="strict")
        ]
    return data


def _ids(connection: sqlite3.Connection) -> dict[str, dict[str, int]]:
    """Ids of the records that the envelope's rows name: they are bound into tags and MACs."""
    found = connection.execute(
        "SELECT kind, name, id FROM record WHERE kind IN ('secret', 'log_entry') AND id IN "
        "(SELECT secret_id FROM secret_version UNION SELECT secret_id FROM envelope_log "
        "UNION SELECT log_entry_id FROM envelope_log) ORDER BY name COLLATE BINARY"
    ).fetchall()
    return {
        plural: {name: record_id for kind, name, record_id in found if kind == kind_name}
        for plural, kind_name in _IDS_OF.items()
    }


def _plain(columns: tuple[Column, ...], row: tuple[Any, ...]) -> dict[str, Any]:
    return {
        column.name: base64.b64encode(value).decode() if column.type == "bytes" else value
        for column, value in zip(columns, row, strict=True)
        if value is not None
    }


# In. --------------------------------------------------------------------------------------


def read(data: Any, connection: sqlite3.Connection, faults: list[Fault]) -> Carried:
    """The envelope of a dump, its shape looked at; what does not fit is added to `faults`.

    Raises RequestError when the binder has an envelope already.
    """
    if rows.state(connection) is not None:
        raise RequestError(
            "this binder has an envelope, and the data brings another; load it into a new binder"
        )
    expected = {"ids", *_CARRIED}
    if not isinstance(data, dict) or data.keys() != expected:
        faults.append(Fault("envelope", f"an object of {', '.join(sorted(expected))} is expected"))
        return Carried()
    tables = {table: _rows(table, data[table], faults) for table in _CARRIED}
    if len(tables["envelope"]) != 1:
        faults.append(Fault("envelope.envelope", "a list of one object is expected"))
    return Carried(tables, _checked_ids(data["ids"], faults))


def _rows(table: str, members: Any, faults: list[Fault]) -> list[tuple[Any, ...]]:
    read_rows = []
    if not isinstance(members, list):
        faults.append(Fault(f"envelope.{table}", "a list of objects is expected"))
        return []
    for index, plain in enumerate(members):
        try:
            read_rows.append(_row(TABLES[table], plain))
        except ValueError as error:
            faults.append(Fault(f"envelope.{table}[{index}]", str(error)))
    return read_rows


def _row(columns: tuple[Column, ...], plain: Any) -> tuple[Any, ...]:
    if not isinstance(plain, dict) or plain.keys() - {column.name for column in columns}:
        raise ValueError(f"an object of {', '.join(column.name for column in columns)} is expected")
    return tuple(_value(column, plain.get(column.name)) for column in columns)


def _value(column: Column, value: Any) -> Any:
    if value is None and column.may_be_null:
        return None
    if column.type == "integer" and type(value) is int and abs(value) < 2**53:
        return value
    if isinstance(value, str) and column.type == "text":
        return value
    if isinstance(value, str) and column.type == "bytes":
        try:
            return base64.b64decode(value, validate=True)
        except binascii.Error:
            pass  # told below
    wanted = {"integer": "a whole number", "text": "text", "bytes": "base64 text"}[column.type]
    raise ValueError(f"{column.name}: {wanted} is expected")


def _checked_ids(data: Any, faults: list[Fault]) -> dict[str, dict[str, int]]:
    """By name of the kind."""
    good = isinstance(data, dict) and data.keys() == _IDS_OF.keys()
    if not good or not all(_is_ids(data[plural]) for plural in _IDS_OF):
        faults.append(Fault("envelope.ids", f"ids by name, for {' and '.join(_IDS_OF)}, expected"))
        return {}
    return {_IDS_OF[plural]: data[plural] for plural in _IDS_OF}


def _is_ids(data: Any) -> bool:
    return isinstance(data, dict) and all(
        type(value) is int and 0 < value < 2**53 for value in data.values()
    )


def write(connection: sqlite3.Connection, carried: Carried) -> None:
    """Put the envelope into the tables of a binder that has none. Raises FaultsError."""
    for table in _CARRIED:
        for index, row in enumerate(carried.tables.get(table, ())):
            try:
                rows.insert(connection, table, row)
            except sqlite3.IntegrityError as error:
                raise FaultsError((Fault(f"envelope.{table}[{index}]", str(error)),)) from error
