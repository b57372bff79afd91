"""Numbered changes of the file's make-up, applied in order through sqlite-utils.

A new binder is made from `binder.records.schema` as it stands; an older one is brought up to it
by the migrations above its own number. A migration's number and name are permanent. Each runs
in one transaction together with the new format number, so that a failed one leaves nothing.
"""

from __future__ import annotations

import sqlite3
from collections.abc import Callable
from dataclasses import dataclass
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from sqlite_utils import Database


@dataclass(frozen=True, slots=True)
class Migration:
    """`apply` turns format `number - 1` into format `number`."""

    number: int
    name: str
    apply: Callable[[Database], None]


MIGRATIONS: tuple[Migration, ...] = ()

VERSION = 1 + len(MIGRATIONS)


def apply(connection: sqlite3.Connection, version: int) -> None:
    """Apply every migration above `version`. Raises what a failed one raises, undone."""
    from sqlite_utils import Database, Migrations

    pending = Migrations("binder")
    for migration in MIGRATIONS:
        if migration.number > version:
            pending(name=migration.name)(_with_number(migration))
    pending.apply(Database(connection))


def _with_number(migration: Migration) -> Callable[[Database], None]:
    def run(database: Database) -> None:
        migration.apply(database)
        database.execute(f"PRAGMA user_version = {migration.number}")

    run.__name__ = migration.name
    return run
