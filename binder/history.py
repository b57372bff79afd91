"""What changed, when, by whom: the change log, read."""

from __future__ import annotations

import json
import sqlite3
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, replace
from typing import Any

from binder.file import BinderFile


@dataclass(frozen=True, slots=True)
class Change:
    """One line of the change log. `name` is what the record was called when it was written.

    `act` is 'add', 'change' or 'remove'. A change names its field and holds both values; an
    addition or removal holds the whole record, by field name, in `after` or `before`.
    """

    position: int
    step_id: int
    at: str
    who: str
    summary: str
    record_id: int
    kind: str
    name: str
    act: str
    field: str | None
    before: Any
    after: Any
    log_entry_id: int | None


_SELECT = """
SELECT c.position, c.step_id, s.at, s.who, s.summary, c.record_id, c.kind,
       c.name, c.act, c.field, c.before, c.after, s.log_entry_id
FROM change c JOIN step s ON s.id = c.step_id
"""


def of_record(binder: BinderFile, record_id: int, limit: int = 1000) -> tuple[Change, ...]:
    """The changes of one record, newest first; a removed one's too."""
    return _changes(binder, "WHERE c.record_id = ? ORDER BY c.position DESC LIMIT ?",
                    (record_id, limit))  # fmt: skip


def recent(binder: BinderFile, limit: int = 200, before: int = 2**62) -> tuple[Change, ...]:
    """The latest changes of the whole binder, newest first, from before a position."""
    return _changes(binder, "WHERE c.position < ? ORDER BY c.position DESC LIMIT ?",
                    (before, limit))  # fmt: skip


def since(binder: BinderFile, position: int) -> tuple[Change, ...]:
    """The changes after a position, oldest first: 'changed since issue 3'."""
    return _changes(binder, "WHERE c.position > ? ORDER BY c.position", (position,))


def position(binder: BinderFile) -> int:
    """The place of the last change in the log; 0 when nothing was ever written."""
    row = binder.connection.execute("SELECT coalesce(max(position), 0) FROM change").fetchone()
    return int(row[0])


def revised_at(binder: BinderFile) -> dict[int, str]:
    """The moment of the last change of every record, by its id."""
    rows = binder.connection.execute(
        "SELECT r.id, s.at FROM record r JOIN change c ON c.position = r.position "
        "JOIN step s ON s.id = c.step_id"
    )
    return dict(rows.fetchall())


def _changes(binder: BinderFile, tail: str, parameters: Iterable[Any]) -> tuple[Change, ...]:
    rows = binder.connection.execute(_SELECT + tail, tuple(parameters))
    return tuple(_unpacked(rows))


def _unpacked(rows: Iterable[sqlite3.Row]) -> Iterator[Change]:
    for row in rows:
        change = Change(*row)
        if change.act == "change":
            yield change
            continue
        values = json.loads(change.after if change.act == "add" else change.before)
        before, after = (None, values) if change.act == "add" else (values, None)
        yield replace(change, before=before, after=after)
