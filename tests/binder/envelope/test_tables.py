"""The envelope's tables: the same in a new binder and in one that was made before them."""

from __future__ import annotations

import contextlib
import shutil
import sqlite3
from pathlib import Path

import pytest

from binder.file import BinderFile, open_binder
from binder.read import resolve
from binder.verify import verify

FORMAT_1 = Path(__file__).parents[2] / "data" / "format-1.binder"
OWN_OF_SQLITE_UTILS = {"_sqlite_migrations", "idx__sqlite_migrations_migration_set_name"}


@pytest.fixture
def older(tmp_path: Path) -> Path:
    """A binder made before there were envelopes, saved as it was then."""
    return shutil.copy(FORMAT_1, tmp_path / "older.binder")


def make_up(connection: sqlite3.Connection) -> dict[str, str]:
    rows = connection.execute("SELECT name, sql FROM sqlite_master WHERE sql IS NOT NULL")
    return {name: sql for name, sql in rows if name not in OWN_OF_SQLITE_UTILS}


def test_an_older_binder_is_brought_up_to_a_new_ones_make_up(
    older: Path, binder: BinderFile
) -> None:
    with open_binder(older) as migrated:
        assert make_up(migrated.connection) == make_up(binder.connection)
        assert verify(migrated) == ()
        assert resolve(migrated, "SW1 admin password").kind == "secret"


def test_a_copy_of_the_older_binder_is_set_aside_untouched(older: Path) -> None:
    open_binder(older).close()
    aside = older.with_name("older.binder.format-1")
    assert aside.stat().st_mode & 0o077 == 0
    with (
        contextlib.closing(sqlite3.connect(aside)) as copy,
        contextlib.closing(sqlite3.connect(FORMAT_1)) as saved,
    ):
        assert list(copy.iterdump()) == list(saved.iterdump())
        assert copy.execute("PRAGMA user_version").fetchone() == (1,)


def test_the_database_itself_keeps_the_log_from_being_altered(binder: BinderFile) -> None:
    binder.connection.execute(
        "INSERT INTO envelope_log (number, key_number, at, who, act, mac) "
        "VALUES (1, 1, '2026-03-14T09:40:00Z', 'M. Osei', 'open', zeroblob(32))"
    )
    for sql in ("UPDATE envelope_log SET who = 'nobody'", "DELETE FROM envelope_log"):
        with pytest.raises(sqlite3.IntegrityError, match="never altered"):
            binder.connection.execute(sql)
