"""An older binder is brought up to date whole, or stays as it was, with a copy set aside."""

from __future__ import annotations

import contextlib
import shutil
import sqlite3
from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING, Any

import pytest

from binder import migrations
from binder.errors import FileError
from binder.file import BinderFile, open_binder
from binder.intake.json_form import dump
from binder.issues import issues_of
from binder.migrations import Migration
from binder.read import read_where
from binder.records import schema
from binder.records.catalog import BY_NAME, KINDS
from binder.records.schema import quoted, table_sql
from binder.verify import verify

if TYPE_CHECKING:
    from sqlite_utils import Database

CURRENT = migrations.VERSION
SAVED = Path(__file__).parents[1] / "data"  # a new binder of every older format


def contents(path: Path) -> list[str]:
    """Everything in the file, as SQL."""
    with contextlib.closing(sqlite3.connect(path)) as connection:
        return list(connection.iterdump())


def number_of(path: Path) -> int:
    with contextlib.closing(sqlite3.connect(path)) as connection:
        return int(connection.execute("PRAGMA user_version").fetchone()[0])


def add_index(database: Database) -> None:
    database.execute("CREATE INDEX contact_role ON contact (role)")


def add_building_made_anew(database: Database) -> None:
    """The way to change a table: SQLite, ALTER TABLE, section 7, steps 4 to 8."""
    kind = BY_NAME["building"]
    triggers = database.execute(
        "SELECT sql FROM sqlite_master WHERE type = 'trigger' AND tbl_name = 'building'"
    ).fetchall()
    columns = ", ".join(["id", *(quoted(field.column) for field in kind.all_fields)])
    database.execute(table_sql(kind).replace('TABLE "building"', 'TABLE "building_new"'))
    database.execute(f"INSERT INTO building_new ({columns}) SELECT {columns} FROM building")
    database.execute("DROP TABLE building")
    database.execute("ALTER TABLE building_new RENAME TO building")
    for (sql,) in triggers:
        database.execute(sql)


def fail(database: Database) -> None:
    database.execute("UPDATE contact SET role = 'lost'")
    raise ValueError("a value that does not fit")


def break_reference(database: Database) -> None:
    database.execute("DELETE FROM building")


@pytest.fixture
def path(closet: BinderFile) -> Path:
    """A closed binder of the format before the migrations of a test."""
    closet.close()
    return closet.path


Due = Callable[..., None]


@pytest.fixture
def due(monkeypatch: pytest.MonkeyPatch) -> Due:
    """Make migrations due, numbered from the format after this one."""

    def due(*changes: Callable[[Any], None]) -> None:
        made = tuple(
            Migration(n, f"test {n}", change) for n, change in enumerate(changes, CURRENT + 1)
        )
        monkeypatch.setattr(migrations, "MIGRATIONS", (*migrations.MIGRATIONS, *made))
        monkeypatch.setattr(migrations, "VERSION", CURRENT + len(made))

    return due


def test_numbers_run_from_two_without_a_gap() -> None:
    numbers = [migration.number for migration in migrations.MIGRATIONS]
    assert numbers == list(range(2, CURRENT + 1))


def test_old_binder_is_brought_up_to_date(path: Path, due: Due) -> None:
    with open_binder(path) as binder:
        before = dump(binder)
    due(add_index)
    with open_binder(path) as binder:
        assert dump(binder) == before
        assert binder.connection.execute("PRAGMA foreign_keys").fetchone()[0] == 1
        assert "contact_role" in [fault.where for fault in verify(binder)]  # not of this program
    assert number_of(path) == CURRENT + 1


def test_binder_up_to_date_is_not_migrated_again(path: Path, due: Due) -> None:
    due(add_index)
    open_binder(path).close()
    open_binder(path).close()  # a second CREATE INDEX would fail
    assert [file.name for file in path.parent.glob("*.format-*")] == [
        f"{path.name}.format-{CURRENT}"
    ]


def test_copy_set_aside_is_the_binder_before(path: Path, due: Due) -> None:
    before = contents(path)
    due(add_index)
    open_binder(path).close()
    aside = path.with_name(f"{path.name}.format-{CURRENT}")
    assert contents(aside) == before
    assert number_of(aside) == CURRENT
    assert aside.stat().st_mode & 0o777 == 0o600


def test_earlier_copy_is_not_overwritten(path: Path, due: Due) -> None:
    path.with_name(f"{path.name}.format-{CURRENT}").write_bytes(b"an earlier copy")
    due(add_index)
    open_binder(path).close()
    assert path.with_name(f"{path.name}.format-{CURRENT}").read_bytes() == b"an earlier copy"
    assert number_of(path.with_name(f"{path.name}.format-{CURRENT}.2")) == CURRENT


@pytest.mark.parametrize(
    ("change", "why"),
    [(fail, "a value that does not fit"), (break_reference, "a reference would name nothing")],
)
def test_failed_migration_leaves_the_binder_as_it_was(
    path: Path, due: Due, change: Callable[[Any], None], why: str
) -> None:
    before = contents(path)
    due(add_index, change)  # the first succeeds, and is taken back with the second
    with pytest.raises(FileError, match=why) as failed:
        open_binder(path)
    assert "it is as it was" in str(failed.value)
    assert str(path.with_name(f"{path.name}.format-{CURRENT}")) in str(failed.value)
    assert contents(path) == before
    assert number_of(path) == CURRENT


def test_old_binder_opened_read_only_is_refused(path: Path, due: Due) -> None:
    before = path.read_bytes()
    due(add_index)
    with pytest.raises(FileError, match="made by an older version; open it once for writing"):
        open_binder(path, read_only=True)
    assert path.read_bytes() == before


def test_unfinished_migration_of_a_killed_program_is_done_again(path: Path, due: Due) -> None:
    # The header on disk may show the new number while the journal still takes it back.
    whole = path.read_bytes()
    journal = path.with_name(f"{path.name}-journal")
    writer = sqlite3.connect(path, isolation_level=None)
    writer.execute("BEGIN IMMEDIATE")
    writer.execute(f"PRAGMA user_version = {CURRENT + 1}")
    writer.execute("PRAGMA cache_size = 1")
    writer.execute("UPDATE contact SET notes = ?", ("x" * 300_000,))
    unfinished = journal.read_bytes()
    writer.execute("ROLLBACK")
    writer.close()
    path.write_bytes(whole[:60] + (CURRENT + 1).to_bytes(4, "big") + whole[64:])
    journal.write_bytes(unfinished)
    due(add_index)
    with open_binder(path) as binder:
        names = binder.connection.execute("SELECT name FROM sqlite_master WHERE type = 'index'")
        assert "contact_role" in [row[0] for row in names]


def test_table_made_anew_is_the_same_table(path: Path, due: Due) -> None:
    with open_binder(path) as binder:
        before = dump(binder)
    due(add_building_made_anew)
    with open_binder(path) as binder:
        assert dump(binder) == before
        assert verify(binder) == ()


@pytest.mark.parametrize("number", range(1, CURRENT))
def test_migrated_binder_has_the_make_up_of_a_fresh_one(number: int, tmp_path: Path) -> None:
    old = Path(shutil.copy(SAVED / f"format-{number}.binder", tmp_path / "old.binder"))
    assert number_of(old) == number
    with contextlib.closing(sqlite3.connect(":memory:")) as fresh:
        for statement in schema.statements():
            fresh.execute(statement)
        expected = make_up(fresh)
    with open_binder(old) as binder:
        assert make_up(binder.connection) == expected
        assert verify(binder) == ()
    assert {kind.table for kind in KINDS} <= expected.keys()


def test_an_older_binder_is_searched_by_what_is_searched_now(tmp_path: Path) -> None:
    old = Path(shutil.copy(SAVED / "format-1.binder", tmp_path / "old.binder"))
    with contextlib.closing(sqlite3.connect(old)) as older, older:
        older.execute("UPDATE search SET body = 'as an older version read it'")
    with open_binder(old) as binder:
        assert verify(binder) == ()


def test_issues_and_copies_registered_in_format_3_stay_so(tmp_path: Path) -> None:
    old = Path(shutil.copy(SAVED / "format-3.binder", tmp_path / "old.binder"))
    with open_binder(old) as binder:
        (issue,) = issues_of(binder, "handoff")
        assert (issue.number, issue.issued_on, issue.issued_by) == (1, "2026-03-14", "M. Osei")
        (copy,) = read_where(binder, BY_NAME["copy"], "t.issue_id = ?", (issue.id,))
        assert copy["holder"] == "Priya Nandakumar"


def make_up(connection: sqlite3.Connection) -> dict[str, str]:
    """The statement that makes each table, index and trigger, checks and all, by its name."""
    return dict(
        connection.execute(
            "SELECT name, sql FROM sqlite_master WHERE name NOT LIKE '%sqlite%'"
        ).fetchall()
    )
