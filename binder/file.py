"""The binder file: create, open, verify, back up. The one module that opens connections.

The file's make-up is described for other programs in FORMAT.md, beside this module.
"""

from __future__ import annotations

import contextlib
import os
import sqlite3
import uuid
from collections.abc import Iterator
from datetime import UTC, datetime
from pathlib import Path
from types import TracebackType
from typing import Self

from binder import migrations
from binder.errors import FileError, RequestError
from binder.records import schema

APPLICATION_ID = 0x484F4246  # 'HOBF'; below 0x80000000, or SQLite stores 0
SUFFIX = ".binder"
_MAGIC = b"SQLite format 3\x00"
_MODE = 0o600


class BinderFile:
    """An open binder. A connection belongs to one thread: open another in another thread."""

    def __init__(self, path: Path, connection: sqlite3.Connection, *, read_only: bool) -> None:
        self.path = path
        self.connection = connection
        self.read_only = read_only

    def __enter__(self) -> Self:
        return self

    def __exit__(
        self,
        kind: type[BaseException] | None,
        error: BaseException | None,
        at: TracebackType | None,
    ) -> None:
        self.close()

    def close(self) -> None:
        self.connection.close()

    @contextlib.contextmanager
    def reading(self) -> Iterator[sqlite3.Connection]:
        """One consistent view over several queries, however others write meanwhile."""
        if self.connection.in_transaction:
            yield self.connection
            return
        with self._told():
            self.connection.execute("BEGIN")
            try:
                yield self.connection
            finally:
                self.connection.execute("ROLLBACK")

    @contextlib.contextmanager
    def writing(self) -> Iterator[sqlite3.Connection]:
        """A write transaction: all of it is kept, or, on any exception, none."""
        if self.read_only:
            raise RequestError(
                f"{self.path.name} is open read-only; open it for writing to change it"
            )
        with self._told():
            self.connection.execute("BEGIN IMMEDIATE")
            try:
                yield self.connection
                self.connection.execute("COMMIT")
            except BaseException:
                if self.connection.in_transaction:
                    self.connection.execute("ROLLBACK")
                raise

    def data_version(self) -> int:
        """A number that changes when another connection has changed the file."""
        with self._told():
            return int(self.connection.execute("PRAGMA data_version").fetchone()[0])

    @contextlib.contextmanager
    def _told(self) -> Iterator[None]:
        with told(self.path):
            yield


@contextlib.contextmanager
def told(path: Path) -> Iterator[None]:
    """Turn what SQLite says into one line for the person at the keyboard."""
    try:
        yield
    except sqlite3.IntegrityError as error:
        raise RequestError(integrity_sentence(str(error))) from error
    except sqlite3.OperationalError as error:
        says = str(error)
        if "locked" in says or "busy" in says:
            raise FileError(f"{path}: someone else is writing to it; try again") from error
        if "readonly" in says:
            raise FileError(f"{path}: no permission to write; check who owns the file") from error
        if "unable to open" in says or "disk" in says:
            raise FileError(f"{path}: {says}; check the disk and the folder's rights") from error
        raise
    except sqlite3.DatabaseError as error:
        raise FileError(_damaged(path, str(error))) from error


def integrity_sentence(says: str) -> str:
    """What SQLite says of a broken invariant, as a sentence for the person who broke it."""
    if says.startswith("CHECK constraint failed: "):
        return says.removeprefix("CHECK constraint failed: ")
    if "record.kind, record.name" in says:
        return "that name is taken; names of one kind differ (upper and lower case are one)"
    if says.startswith("UNIQUE constraint failed: "):
        return f"{says.removeprefix('UNIQUE constraint failed: ')} is taken by another record"
    if says.startswith("NOT NULL constraint failed: "):
        return f"{says.removeprefix('NOT NULL constraint failed: ')} is required"
    if "FOREIGN KEY" in says:
        return "a record named here is not in the binder any more, or others still hang on it"
    return says


def _damaged(path: Path, says: str) -> str:
    return f"{path}: damaged ({says}); restore a backup, or ask for `binder verify` on a copy"


def create(path: Path, client_name: str, *, unit_system: str = "us", who: str = "") -> BinderFile:
    """Make an empty binder for a client and open it.

    Raises FileError when the file exists or cannot be made. The file is readable by its owner
    only (mode 0600 where the system has modes).
    """
    from binder.edit import Editor  # the door needs a file; a new file needs its first line

    try:
        os.close(os.open(path, os.O_CREAT | os.O_EXCL | os.O_RDWR, _MODE))
    except FileExistsError:
        raise FileError(f"{path}: there is a file of that name; choose another name") from None
    except OSError as error:
        raise FileError(f"{path}: cannot be made: {error.strerror}") from error
    try:
        binder = BinderFile(path, _connect(path, "rw", 5.0), read_only=False)
        with binder.writing() as connection:
            for statement in schema.statements():
                connection.execute(statement)
            connection.execute(f"PRAGMA application_id = {APPLICATION_ID}")
            connection.execute(f"PRAGMA user_version = {migrations.VERSION}")
            connection.executemany(
                "INSERT INTO info VALUES (?, ?)",
                [
                    ("binder_id", str(uuid.uuid4())),
                    ("created_at", datetime.now(UTC).strftime("%Y-%m-%dT%H:%M:%SZ")),
                ],
            )
        if client_name:
            with Editor(binder, who or "binder").step(f"new binder for {client_name}") as step:
                step.add("client", {"identifier": client_name, "unit_system": unit_system})
    except BaseException:
        path.unlink(missing_ok=True)
        raise
    return binder


def open_binder(path: Path, *, read_only: bool = False, wait_s: float = 5.0) -> BinderFile:
    """Open a binder, after making sure it is one, whole, and not newer than this program.

    Raises FileError: not there, no permission, not a binder, newer, damaged, or locked for
    longer than `wait_s` seconds. An older binder is migrated first, unless read-only.
    """
    version = _header_version(path)
    if not read_only and not os.access(path, os.W_OK):
        raise FileError(f"{path}: no permission to write; open it with --read-only")
    if version < migrations.VERSION:
        if read_only:
            raise FileError(
                f"{path}: made by an older version; open it once for writing to bring it up to date"
            )
        _migrate(path, version, wait_s)
    connection = _connect(path, "ro" if read_only else "rw", wait_s)
    try:
        with told(path), _damage_told(path):
            faults = connection.execute("PRAGMA quick_check(1)").fetchone()[0]
            if faults != "ok":
                raise FileError(_damaged(path, faults.splitlines()[-1]))
            if connection.execute("SELECT count(*) FROM info").fetchone()[0] < 2:
                raise FileError(f"{path}: not a whole binder; restore a backup")
    except BaseException:
        connection.close()
        raise
    return BinderFile(path, connection, read_only=read_only)


@contextlib.contextmanager
def _damage_told(path: Path) -> Iterator[None]:
    """At opening, a table that is not there is damage and not a fault of the program."""
    try:
        yield
    except sqlite3.OperationalError as error:
        if "no such" in str(error) or "malformed" in str(error):
            raise FileError(_damaged(path, str(error))) from error
        raise


def back_up(binder: BinderFile, target: Path) -> Path:
    """Write a whole copy of the binder to `target`, compacted, and see that it opens.

    Raises FileError when `target` exists or cannot be written.
    """
    try:
        os.close(os.open(target, os.O_CREAT | os.O_EXCL | os.O_RDWR, _MODE))
    except FileExistsError:
        raise FileError(f"{target}: there is a file of that name; choose another name") from None
    except OSError as error:
        raise FileError(f"{target}: cannot be written: {error.strerror}") from error
    try:
        with told(binder.path):
            binder.connection.execute("VACUUM INTO ?", (str(target),))
        _sync(target)
        open_binder(target, read_only=True).close()
    except BaseException:
        target.unlink(missing_ok=True)
        raise
    return target


def _header_version(path: Path) -> int:
    """The schema version from the first 100 bytes (SQLite file format, section 1.3)."""
    try:
        with path.open("rb") as file:
            header = file.read(100)
    except FileNotFoundError:
        raise FileError(f"{path}: no such file; `binder new` makes a binder") from None
    except IsADirectoryError:
        raise FileError(f"{path}: a folder, not a binder; name a file in it") from None
    except PermissionError:
        raise FileError(f"{path}: no permission to read; check who owns the file") from None
    except OSError as error:
        raise FileError(f"{path}: cannot be read: {error.strerror}") from error
    if len(header) < 100 or header[:16] != _MAGIC:
        raise FileError(f"{path}: not a binder (not an SQLite file, or its header is damaged)")
    if int.from_bytes(header[68:72], "big") != APPLICATION_ID:
        raise FileError(f"{path}: not a binder (an SQLite file of another program)")
    version = int.from_bytes(header[60:64], "big")
    if version > migrations.VERSION:
        raise FileError(
            f"{path}: made by a newer version of this program (format {version}; this one reads "
            f"up to {migrations.VERSION}); update the program"
        )
    if version < 1:
        raise FileError(f"{path}: damaged (format number {version}); restore a backup")
    return version


def _connect(path: Path, mode: str, wait_s: float) -> sqlite3.Connection:
    uri = f"{path.resolve().as_uri()}?mode={mode}"
    with told(path):
        connection = sqlite3.connect(uri, uri=True, timeout=wait_s, isolation_level=None)
        connection.row_factory = sqlite3.Row
        for pragma in (
            "trusted_schema = OFF",
            "cell_size_check = ON",
            "mmap_size = 0",
            "foreign_keys = ON",
            "secure_delete = ON",
            "synchronous = EXTRA",
        ):
            connection.execute(f"PRAGMA {pragma}")
        if mode == "rw":
            connection.execute("PRAGMA journal_mode = DELETE")
    return connection


def _migrate(path: Path, version: int, wait_s: float) -> None:
    """Bring an older file up to date; a copy is set aside first, and put back on failure."""
    aside = path.with_name(f"{path.name}.format-{version}")
    number = 1
    while aside.exists():
        number += 1
        aside = path.with_name(f"{path.name}.format-{version}.{number}")
    old = BinderFile(path, _connect(path, "rw", wait_s), read_only=False)
    try:
        _copy_pages(old, aside)
        with told(path):
            migrations.apply(old.connection, version)
    except (sqlite3.Error, ValueError) as error:
        raise FileError(
            f"{path}: could not be brought up to date ({error}); it is as it was, "
            f"and a copy is at {aside}"
        ) from error
    finally:
        old.close()


def _copy_pages(binder: BinderFile, target: Path) -> None:
    """Copy page by page with SQLite's backup call, whatever the format version."""
    os.close(os.open(target, os.O_CREAT | os.O_EXCL | os.O_RDWR, _MODE))
    with contextlib.closing(sqlite3.connect(target)) as copy, told(binder.path):
        binder.connection.backup(copy)
    _sync(target)


def _sync(path: Path) -> None:
    with path.open("rb+") as file:
        os.fsync(file.fileno())
