"""Is the binder whole? SQLite's own checks, and the rules that only this program knows."""

from __future__ import annotations

import contextlib
import hashlib
import ipaddress
import json
import re
import sqlite3
from collections.abc import Callable, Iterator
from functools import cache
from typing import Any

from binder import search_index
from binder.errors import Fault
from binder.file import BinderFile
from binder.records import schema
from binder.records.catalog import BY_NAME, KINDS
from binder.records.schema import quoted

_Rule = Callable[[sqlite3.Connection], Iterator[Fault]]

# The sentences of constraints and triggers: an older file keeps the ones it was made with.
_WORDING = re.compile(r"""CONSTRAINT "(?:[^"]|"")*" |(?<=RAISE\(ABORT, )'(?:[^']|'')*'""")


def verify(binder: BinderFile) -> tuple[Fault, ...]:
    """Every fault found; none means whole.

    `integrity_check` compares each index with its table, which the quick check at opening does
    not; `foreign_key_check` finds references to nothing, which neither does.
    """
    with binder.reading() as connection:
        faults = _found(_integrity, connection)
        if faults:  # the rules below would trip over a broken page
            return faults
        return tuple(fault for rule in _RULES for fault in _found(rule, connection))


def _found(rule: _Rule, connection: sqlite3.Connection) -> tuple[Fault, ...]:
    """The faults that a rule finds; what it cannot read is one."""
    faults: list[Fault] = []
    try:
        faults.extend(rule(connection))
    except (sqlite3.DatabaseError, ValueError) as error:
        faults.append(Fault("file", f"cannot be read: {error}"))
    return tuple(faults)


def _integrity(connection: sqlite3.Connection) -> Iterator[Fault]:
    """Pages, rows and indexes agree."""
    for (line,) in connection.execute("PRAGMA integrity_check(100)"):
        if line != "ok":
            yield Fault("file", line)


def _references(connection: sqlite3.Connection) -> Iterator[Fault]:
    """Every reference names a record that is there."""
    for table, row_id, parent, _ in connection.execute("PRAGMA foreign_key_check"):
        yield Fault(f"{table} {row_id}", f"names a record of '{parent}' that is not there")


def _make_up(connection: sqlite3.Connection) -> Iterator[Fault]:
    """Tables, indexes and triggers are the ones this program makes."""
    expected, found = _expected_make_up(), _names_and_sql(connection)
    own = ("_sqlite_migrations", "idx__sqlite_migrations_migration_set_name")
    for name in sorted((expected.keys() | found.keys()) - set(own)):
        if name not in found:
            yield Fault(name, "a table, index or trigger is missing")
        elif name not in expected:
            yield Fault(name, "a table, index or trigger that this program does not make")
        elif found[name] != expected[name] and _unworded(found[name]) != _unworded(expected[name]):
            yield Fault(name, "a table, index or trigger was altered")


@cache
def _expected_make_up() -> dict[str, str]:
    with contextlib.closing(sqlite3.connect(":memory:")) as fresh:
        for statement in schema.statements():
            fresh.execute(statement)
        return _names_and_sql(fresh)


def _names_and_sql(connection: sqlite3.Connection) -> dict[str, str]:
    rows = connection.execute(
        "SELECT name, sql FROM sqlite_master WHERE sql IS NOT NULL AND name NOT LIKE 'sqlite%'"
    )
    return {row[0]: row[1] for row in rows}


def _unworded(sql: str) -> str:
    return _WORDING.sub("", sql)


def _registry(connection: sqlite3.Connection) -> Iterator[Fault]:
    """Every record is registered once, under its kind and name."""
    for record_id, name in connection.execute("SELECT id, kind FROM record"):
        if name not in BY_NAME:
            yield Fault(f"record {record_id}", f"is registered as '{name}', which is no kind")
    for kind in KINDS:
        name = schema.name_sql(kind, "t")
        rows = connection.execute(
            f"SELECT t.id FROM {quoted(kind.table)} t LEFT JOIN record r ON r.id = t.id "
            f"WHERE r.kind IS NOT ? OR r.name IS NOT {name} COLLATE BINARY",
            (kind.name,),
        )
        for (record_id,) in rows:
            yield Fault(f"{kind.name} {record_id}", "is not registered under its name")
        rows = connection.execute(
            f"SELECT id FROM record WHERE kind = ? AND id NOT IN "
            f"(SELECT id FROM {quoted(kind.table)})",
            (kind.name,),
        )
        for (record_id,) in rows:
            yield Fault(f"{kind.name} {record_id}", "is registered but not there")


def _ends(connection: sqlite3.Connection) -> Iterator[Fault]:
    """What is at the rear and front of each port agrees with the links and cords."""
    for table in ("link", "cord"):
        wanted = (
            f"SELECT port_a_id AS p, id, port_b_id AS f FROM {table} WHERE status <> 'removed' "
            f"AND port_a_id IS NOT NULL UNION ALL SELECT port_b_id, id, port_a_id FROM {table} "
            "WHERE status <> 'removed' AND port_b_id IS NOT NULL"
        )
        kept = f"SELECT port_id, {table}_id, far_port_id FROM {table}_end"
        for left, right in ((wanted, kept), (kept, wanted)):
            for row in connection.execute(f"SELECT * FROM ({left}) EXCEPT SELECT * FROM ({right})"):
                yield Fault(f"port {row[0]}", f"its {table} and the table of ends disagree")


def _positions(connection: sqlite3.Connection) -> Iterator[Fault]:
    """Every record knows the place of its last change."""
    rows = connection.execute(
        "SELECT r.id, r.kind FROM record r LEFT JOIN "
        "(SELECT record_id, max(position) AS last FROM change GROUP BY record_id) c "
        "ON c.record_id = r.id WHERE c.last IS NOT r.position"
    )
    for record_id, kind in rows:
        yield Fault(f"{kind} {record_id}", "changed without a line in the change log")


def _history(connection: sqlite3.Connection) -> Iterator[Fault]:
    """Lines of the change log are numbered without a gap, up to the last that was given out."""
    for table, what in (("change", "lines"), ("step", "steps")):
        lines, last = connection.execute(
            f"SELECT (SELECT count(*) FROM {table}), "
            "coalesce((SELECT seq FROM sqlite_sequence WHERE name = ?), 0)",
            (table,),
        ).fetchone()
        if lines != last:
            yield Fault("change log", f"{last - lines} {what} are missing")


def _replay(connection: sqlite3.Connection) -> Iterator[Fault]:
    """The change log from its first line on gives the records as they stand."""
    logged: dict[int, dict[str, Any]] = {}
    for row in connection.execute(
        "SELECT position, record_id, act, field, before, after FROM change ORDER BY position"
    ):
        if not _replayed(logged.setdefault(row[1], {}), *row[2:]):
            yield Fault(f"change log {row[0]}", "does not follow from the lines before it")
    for kind in KINDS:
        columns = ", ".join(quoted(field.column) for field in kind.all_fields)
        for record_id, *values in connection.execute(
            f"SELECT id, {columns} FROM {quoted(kind.table)}"
        ):
            record = logged.get(record_id, {})
            for field, value in zip(kind.all_fields, values, strict=True):
                if record.get(field.name) != value:
                    says = f"{field.name} is not what the change log says"
                    yield Fault(f"{kind.name} {record_id}", says)


def _replayed(record: dict[str, Any], act: str, field: str | None, before: Any, after: Any) -> bool:
    """Do to the record what a line of the log says; whether the line fits the record before it."""
    if act == "change" and field:
        stood_there = record.get(field)
        record[field] = after
        return bool(stood_there == before)
    try:
        packed = json.loads(before if act == "remove" else after)
    except (TypeError, ValueError):
        return False
    if not isinstance(packed, dict):
        return False
    stood = {name: value for name, value in record.items() if value is not None}
    record.clear()
    if act == "remove":
        return stood == packed
    record.update(packed)
    return not stood


def _search(connection: sqlite3.Connection) -> Iterator[Fault]:
    """The search index holds the records as they stand, and no others."""
    for kind in KINDS:
        rows = connection.execute(
            f"SELECT d.id FROM ({search_index.document_sql(kind)}) d "
            "LEFT JOIN search s ON s.rowid = d.id "
            "WHERE s.name IS NOT d.name OR s.body IS NOT d.body OR s.compact IS NOT d.compact"
        )
        for (record_id,) in rows:
            yield Fault(f"{kind.name} {record_id}", "is not in the search index as it stands")
    for (record_id,) in connection.execute(
        "SELECT rowid FROM search WHERE rowid NOT IN (SELECT id FROM record)"
    ):
        yield Fault(f"search {record_id}", "a removed record is still in the search index")


def _addressing(connection: sqlite3.Connection) -> Iterator[Fault]:
    """IPv6 ranges lie in their subnets, first to last; the database itself checks IPv4 ones."""
    rows = connection.execute(
        "SELECT identifier, cidr, gateway, dhcp_first, dhcp_last FROM subnet WHERE cidr LIKE '%:%'"
    )
    for name, cidr, *addresses in rows:
        network = ipaddress.IPv6Network(cidr)
        for address in filter(None, addresses):
            if ipaddress.IPv6Address(address) not in network:
                yield Fault(f"subnet {name}", f"{address} is outside {cidr}")
        _, first, last = addresses
        if first and ipaddress.IPv6Address(first) > ipaddress.IPv6Address(last):
            yield Fault(f"subnet {name}", "its DHCP range ends before it starts")


def _contents(connection: sqlite3.Connection) -> Iterator[Fault]:
    """Bytes are filed under their SHA-256."""
    for digest, content in connection.execute("SELECT sha256, bytes FROM content"):
        if hashlib.sha256(content).hexdigest() != digest:
            yield Fault(f"content {digest[:12]}", "its bytes have another SHA-256")


def _envelope(connection: sqlite3.Connection) -> Iterator[Fault]:
    """What can be seen of the envelope's log without opening it: no line is missing."""
    lines, last = connection.execute(
        "SELECT count(*), coalesce(max(number), 0) FROM envelope_log"
    ).fetchone()
    told = connection.execute("SELECT coalesce(sum(log_count), 0) FROM envelope").fetchone()[0]
    if (lines, last) != (told, told):
        yield Fault("envelope log", f"{lines} lines are there, and {max(told, last)} were written")


_RULES: tuple[_Rule, ...] = (
    _make_up,
    _references,
    _registry,
    _ends,
    _positions,
    _history,
    _replay,
    _search,
    _addressing,
    _contents,
    _envelope,
)
