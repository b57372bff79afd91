"""What hangs on a record: the records that name it in a field of theirs."""

from __future__ import annotations

import sqlite3
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from binder.errors import Dependent
from binder.records.catalog import references_to
from binder.records.fields import Field, OnRemoval
from binder.records.schema import quoted


def dependents(
    connection: sqlite3.Connection, kind_name: str, record_id: int
) -> Iterator[tuple[Dependent, Field]]:
    """Every record that names this one, with the field through which it does."""
    for kind, field in references_to(kind_name):
        rows = connection.execute(
            f"SELECT t.id, r.name FROM {quoted(kind.table)} t JOIN record r ON r.id = t.id "
            f"WHERE t.{quoted(field.column)} = ?",
            (record_id,),
        ).fetchall()
        for row in rows:
            yield Dependent(row[0], kind.name, row[1], field.label), field


def removal_order(connection: sqlite3.Connection, first: Dependent) -> tuple[Dependent, ...]:
    """All that goes when `first` goes, itself last: each after whatever hangs on it.

    Records whose reference is emptied instead do not go.
    """
    seen: set[int] = set()
    order: list[Dependent] = []

    def visit(hanging: Dependent) -> None:
        seen.add(hanging.id)
        for dependent, field in dependents(connection, hanging.kind, hanging.id):
            if field.on_removal is not OnRemoval.CLEAR and dependent.id not in seen:
                visit(dependent)
        order.append(hanging)

    visit(first)
    return tuple(order)


@dataclass(frozen=True, slots=True)
class Removal:
    """What a removal concerns besides the record itself: records that go with it, and records
    that stay with a field emptied (`through` says which)."""

    going: tuple[Dependent, ...]
    emptied: tuple[Dependent, ...]


def removal(connection: sqlite3.Connection, kind_name: str, record_id: int, name: str) -> Removal:
    """What goes and what is emptied when that record is removed with its dependents."""
    order = removal_order(connection, Dependent(record_id, kind_name, name, ""))
    ids = {going.id for going in order}
    emptied = {
        (dependent.id, field.name): dependent
        for going in order
        for dependent, field in dependents(connection, going.kind, going.id)
        if field.on_removal is OnRemoval.CLEAR and dependent.id not in ids
    }
    return Removal(nearest_first(connection, order), tuple(emptied.values()))


def nearest_first(
    connection: sqlite3.Connection, order: Sequence[Dependent]
) -> tuple[Dependent, ...]:
    """What goes with the last of a removal order, without it: first what names it itself."""
    *others, last = order
    direct = {dependent.id for dependent, _ in dependents(connection, last.kind, last.id)}
    return tuple(sorted(others, key=lambda one: (one.id not in direct, one.kind, one.name)))
