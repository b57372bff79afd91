"""What log entries touched: the records that were opened, traced, changed or revealed meanwhile."""

from __future__ import annotations

import json
from collections.abc import Collection
from dataclasses import dataclass

from binder.file import BinderFile


@dataclass(frozen=True, slots=True)
class Touched:
    """A record that a log entry concerns, in what ways, and when first; '' when nobody noted it."""

    id: int
    kind: str
    name: str
    how: tuple[str, ...]
    at: str


def touched(binder: BinderFile, entry_id: int) -> tuple[Touched, ...]:
    """What a log entry touched, in the order in which it first did."""
    return touched_by(binder, [entry_id])[entry_id]


def touched_by(binder: BinderFile, entries: Collection[int]) -> dict[int, tuple[Touched, ...]]:
    """What each of these log entries touched, asked in one go."""
    rows = binder.connection.execute(
        "SELECT t.log_entry_id, r.id, r.kind, r.name, t.how, coalesce(t.at, '') AS at "
        "FROM touch t JOIN record r ON r.id = t.subject_id "
        "WHERE t.log_entry_id IN (SELECT value FROM json_each(?)) "
        "ORDER BY at, length(t.identifier), t.identifier",
        (json.dumps(list(entries)),),
    )
    found: dict[int, dict[int, Touched]] = {entry: {} for entry in entries}
    for entry, record, kind, name, how, at in rows:
        before = found[entry].get(record) or Touched(record, kind, name, (), at)
        found[entry][record] = Touched(record, kind, name, (*before.how, how), before.at)
    return {entry: tuple(records.values()) for entry, records in found.items()}
