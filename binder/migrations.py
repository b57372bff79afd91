"""Numbered changes of the file's make-up, applied in order through sqlite-utils.

A new binder is made from `binder.records.schema` as it stands; an older one is brought up to it
by the migrations above its own number. A migration's number and name are permanent. All that are
due run in one transaction, together with the new format number, so that a failed one leaves the
file as it was. A migration that fills a field also writes the change log, as `verify` expects; the
search index is made anew after them.
"""

from __future__ import annotations

import sqlite3
from collections.abc import Callable
from dataclasses import dataclass
from typing import TYPE_CHECKING

from binder import search_index
from binder.records import schema
from binder.records.catalog import BY_NAME
from binder.records.envelope_tables import ENVELOPE_TABLES
from binder.records.fields import Kind

if TYPE_CHECKING:
    from sqlite_utils import Database


@dataclass(frozen=True, slots=True)
class Migration:
    """`apply` turns format `number - 1` into format `number`."""

    number: int
    name: str
    apply: Callable[[Database], None]


def _the_envelope(database: Database) -> None:
    for statement in ENVELOPE_TABLES:
        database.execute(statement)


def _actions_of_reviews(database: Database) -> None:
    for statement in (*schema.kind_sql(BY_NAME["action"]), *schema.reading_kept()):
        database.execute(statement)


def _issues_of_schedules(database: Database) -> None:
    """Checks name the documents that can be issued, and a field by its label: what a log entry has
    as 'Body' is 'Seen and done'."""
    for kind in ("issue", "log_entry"):
        _make_anew(database, BY_NAME[kind])


def _make_anew(database: Database, kind: Kind) -> None:
    """The table of a kind under the checks it has now; what is in it stays (SQLite, ALTER TABLE,
    section 7)."""
    columns = ", ".join(["id", *(schema.quoted(field.column) for field in kind.all_fields)])
    database.execute(f"CREATE TEMP TABLE kept AS SELECT {columns} FROM {kind.table}")
    database.execute(f"DROP TABLE {kind.table}")
    table, *beside = schema.kind_sql(kind)
    database.execute(table)
    database.execute(f"INSERT INTO {kind.table} ({columns}) SELECT {columns} FROM kept")
    database.execute("DROP TABLE kept")
    for statement in beside:
        database.execute(statement)


MIGRATIONS: tuple[Migration, ...] = (
    Migration(2, "the_envelope", _the_envelope),
    Migration(3, "actions_of_reviews", _actions_of_reviews),
    Migration(4, "issues_of_schedules", _issues_of_schedules),
)

VERSION = 1 + len(MIGRATIONS)


def apply(connection: sqlite3.Connection) -> None:
    """Apply every migration above the file's own number. Raises what a failed one raises, undone.

    Foreign keys are looked at once, at the end, so that a table can be made anew (SQLite, ALTER
    TABLE, section 7).
    """
    from sqlite_utils import Database, Migrations

    database = Database(connection, recursive_triggers=False, execute_plugins=False)
    connection.execute("PRAGMA foreign_keys = OFF")
    connection.execute("BEGIN IMMEDIATE")
    try:
        version = connection.execute("PRAGMA user_version").fetchone()[0]
        pending = Migrations("binder")
        for migration in MIGRATIONS:
            if migration.number > version:
                pending(name=migration.name)(migration.apply)
        pending.apply(database)
        if version < VERSION:
            search_index.rebuild(connection)  # what is searched changes with the declarations
            connection.execute(f"PRAGMA user_version = {VERSION}")
        if connection.execute("PRAGMA foreign_key_check").fetchone():
            raise ValueError("a reference would name nothing")
        connection.execute("COMMIT")
    except BaseException:
        if connection.in_transaction:
            connection.execute("ROLLBACK")
        raise
    finally:
        connection.execute("PRAGMA foreign_keys = ON")
