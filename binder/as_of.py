"""A binder as it stood: the change log turned back to a place in it, in memory.

An issue of a document is made of the binder as it stood when it was released, so that it can be
made again years later, to the byte. The envelope is not in the change log: its own log ends at the
moment of that change, and its values and keyholders stay as they are.
"""

from __future__ import annotations

import contextlib
import itertools
import json
import sqlite3
from collections.abc import Iterator
from typing import Any

from binder.errors import RequestError
from binder.file import BinderFile
from binder.history import position as last_position
from binder.records.catalog import BY_NAME
from binder.records.fields import Kind
from binder.records.schema import quoted

# Triggers that keep rows from being altered, and those that look at a row among its neighbours,
# which are not yet as they were.
_GUARDS = (
    "SELECT name FROM sqlite_master WHERE type = 'trigger' AND (name GLOB '*_kept' "
    "OR name GLOB '*_kept_*' OR name GLOB '*_single' OR name GLOB 'hardware_fits_*' "
    "OR name = 'rack_height_changed')"
)


@contextlib.contextmanager
def as_of(binder: BinderFile, position: int) -> Iterator[BinderFile]:
    """The binder as it stood after the change at `position`; read it, and let it go.

    Raises RequestError for a place that the change log has not come to.
    """
    last = last_position(binder)
    if not 0 <= position <= last:
        raise RequestError(f"the change log has {last} places; there is no place {position}")
    with contextlib.closing(sqlite3.connect(":memory:", isolation_level=None)) as memory:
        binder.connection.backup(memory)
        memory.row_factory = sqlite3.Row
        _turn_back(memory, position)
        yield BinderFile(binder.path, memory, read_only=True)


def _turn_back(memory: sqlite3.Connection, position: int) -> None:
    memory.execute("PRAGMA foreign_keys = OFF")
    for (name,) in memory.execute(_GUARDS).fetchall():
        memory.execute(f"DROP TRIGGER {quoted(name)}")
    rows = memory.execute(
        "SELECT step_id, record_id, kind, act, field, before FROM change WHERE position > ? "
        "ORDER BY position DESC",
        (position,),
    ).fetchall()
    memory.execute("BEGIN")
    for (_, record_id, kind_name, act), group in itertools.groupby(rows, lambda row: row[:4]):
        kind = BY_NAME[kind_name]
        if act == "add":
            memory.execute(f"DELETE FROM {quoted(kind.table)} WHERE id = ?", (record_id,))
        elif act == "remove":
            _put_back(memory, kind, record_id, json.loads(next(group)["before"]))
        else:
            _set_back(memory, kind, record_id, {row["field"]: row["before"] for row in group})
    memory.execute(
        "DELETE FROM envelope_log WHERE at > coalesce("
        "(SELECT s.at FROM change c JOIN step s ON s.id = c.step_id WHERE c.position = ?), '')",
        (position,),
    )
    memory.execute("DELETE FROM change WHERE position > ?", (position,))
    memory.execute("DELETE FROM step WHERE id NOT IN (SELECT step_id FROM change)")
    memory.execute(
        "UPDATE record SET position = coalesce("
        "(SELECT max(position) FROM change c WHERE c.record_id = record.id), 0)"
    )
    memory.execute("COMMIT")


def _set_back(
    memory: sqlite3.Connection, kind: Kind, record_id: int, values: dict[str, Any]
) -> None:
    """Set fields that were changed together back at once: a rule may need them together."""
    columns = ", ".join(f"{quoted(kind.field(name).column)} = ?" for name in values)
    memory.execute(
        f"UPDATE {quoted(kind.table)} SET {columns} WHERE id = ?", (*values.values(), record_id)
    )


def _put_back(
    memory: sqlite3.Connection, kind: Kind, record_id: int, values: dict[str, Any]
) -> None:
    fields = [field for field in kind.all_fields if field.name in values]
    columns = ", ".join(quoted(field.column) for field in fields)
    marks = ", ".join("?" * (len(fields) + 1))
    memory.execute(
        f"INSERT INTO {quoted(kind.table)} (id, {columns}) VALUES ({marks})",
        (record_id, *(values[field.name] for field in fields)),
    )
