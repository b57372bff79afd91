"""The binder file: create, open, verify, back up. The one module that opens connections.

The file's make-up is described for other programs in FORMAT.md, beside this module. It is never
read except through SQLite: closing a plain handle on it would drop the locks that other
connections of this process hold (POSIX locks; SQLite, "How To Corrupt", 2.2).
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
_MODE = 0o600


class BinderFile:
    """An open binder. A connection belongs to one thread: open another in another thread.

    Left by an error of SQLite, a `with` over it raises the one line of `told` instead.
    """

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
        if isinstance(error, sqlite3.Error):
            with told(self.path):
                raise error

    def close(self) -> None:
        self.connection.close()

    @contextlib.contextmanager
    def reading(self) -> Iterator[sqlite3.Connection]:
        """One consistent view over several queries, however others write meanwhile."""
        if self.connection.in_transaction:
            yield self.connection
            return
        with told(self.path):
            self.connection.execute("BEGIN")
            try:
                yield self.connection
            finally:
                self._roll_back()

    @contextlib.contextmanager
    def writing(self) -> Iterator[sqlite3.Connection]:
        """A write transaction: all of it is kept, or, on any exception, none."""
        if self.read_only:
            raise RequestError(
                f"{self.path.name} is open read-only; open it for writing to change it"
            )
        with told(self.path):
            self.connection.execute("BEGIN IMMEDIATE")
            try:
                yield self.connection
                self.connection.execute("COMMIT")
            except BaseException:
                self._roll_back()
                raise

    def _roll_back(self) -> None:
        if self.connection.in_transaction:  # a full disk, for one, has rolled back already
            self.connection.execute("ROLLBACK")

    def data_version(self) -> int:
        """A number that changes when another connection has changed the file."""
        with told(self.path):
            return int(self.connection.execute("PRAGMA data_version").fetchone()[0])


# What goes wrong, in one line. ------------------------------------------------------------


@contextlib.contextmanager
def told(path: Path) -> Iterator[None]:
    """Turn what SQLite says into one line for the person at the keyboard."""
    try:
        yield
    except sqlite3.IntegrityError as error:
        raise RequestError(integrity_sentence(str(error))) from error
    except sqlite3.Error as error:
        sentence = _sentence(error)
        if not sentence:
            raise
        raise FileError(f"{path}: {sentence}") from error


def _sentence(error: sqlite3.Error) -> str:
    """What is wrong with the file; nothing when the fault is the program's own."""
    match getattr(error, "sqlite_errorcode", sqlite3.SQLITE_ERROR) & 0xFF:
        case sqlite3.SQLITE_BUSY | sqlite3.SQLITE_LOCKED:
            return "someone else is writing to it; try again"
        case sqlite3.SQLITE_READONLY | sqlite3.SQLITE_PERM:
            return "no permission to write; check who owns the file"
        case sqlite3.SQLITE_CANTOPEN | sqlite3.SQLITE_IOERR | sqlite3.SQLITE_FULL:
            return f"{error}; check the disk and the folder's rights"
        case sqlite3.SQLITE_NOTADB:
            return "not a binder (not an SQLite file, or its header is damaged)"
        case sqlite3.SQLITE_CORRUPT | sqlite3.SQLITE_FORMAT:
            return _damaged(str(error))
    return ""


def _damaged(says: str) -> str:
    says = " ".join(says.split())
    return f"damaged ({says}); restore a backup, or ask for `binder verify` on a copy"


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


# Making, opening, copying. ----------------------------------------------------------------


def create(path: Path, client_name: str, *, unit_system: str = "us", who: str = "") -> BinderFile:
    """Make an empty binder for a client and open it.

    Raises FileError when the file exists or cannot be made. The file is readable by its owner
    only (mode 0600 where the system has modes).
    """
    from binder.edit import Editor  # the door needs a file; a new file needs its first line

    _reserve(path)
    with contextlib.ExitStack() as on_failure:
        on_failure.callback(path.unlink, missing_ok=True)
        connection = _connect(path, read_only=False, wait_s=5.0)
        on_failure.callback(connection.close)
        binder = BinderFile(path, connection, read_only=False)
        with binder.writing():
            _lay_out(connection)
        if client_name:
            with Editor(binder, who or "binder").step(f"new binder for {client_name}") as step:
                step.add("client", {"identifier": client_name, "unit_system": unit_system})
        on_failure.pop_all()
    return binder


def _reserve(path: Path) -> None:
    """Make an empty file that only its owner may read, where there is none."""
    try:
        os.close(os.open(path, os.O_CREAT | os.O_EXCL | os.O_RDWR, _MODE))
    except FileExistsError:
        raise FileError(f"{path}: there is a file of that name; choose another name") from None
    except OSError as error:
        raise FileError(f"{path}: cannot be written: {error.strerror}") from error


def _lay_out(connection: sqlite3.Connection) -> None:
    for statement in schema.statements():
        connection.execute(statement)
    connection.execute(f"PRAGMA application_id = {APPLICATION_ID}")
    connection.execute(f"PRAGMA user_version = {migrations.VERSION}")
    created_at = datetime.now(UTC).strftime("%Y-%m-%dT%H:%M:%SZ")
    connection.executemany(
        "INSERT INTO info VALUES (?, ?)",
        [("binder_id", str(uuid.uuid4())), ("created_at", created_at)],
    )


def open_binder(
    path: Path, *, read_only: bool = False, wait_s: float = 5.0, look_through: bool = True
) -> BinderFile:
    """Open a binder, after making sure it is one, whole, and not newer than this program.

    Raises FileError: not there, no permission, not a binder, newer, damaged, or locked for
    longer than `wait_s` seconds. An older binder is migrated first, unless read-only. Looking
    every page through takes 90 ms on a binder of 10,000 ports: who has a person waiting for a
    first picture leaves it out here, and calls `look_through` beside it.
    """
    _require_file(path, read_only=read_only)
    with _fault_is_damage(path), contextlib.ExitStack() as on_failure:
        if read_only and _journal(path).exists():
            _take_back_unfinished(path, wait_s)
        connection = _connect(path, read_only=read_only, wait_s=wait_s)
        on_failure.callback(connection.close)
        version = _format_number(path, connection)
        if not read_only:
            connection.execute("PRAGMA journal_mode = DELETE")
        if version < migrations.VERSION:
            if read_only:
                raise FileError(
                    f"{path}: made by an older version; open it once for writing to bring it "
                    "up to date"
                )
            _migrate(path, connection, version)
        if look_through:
            _require_whole(path, connection)
        on_failure.pop_all()
    return BinderFile(path, connection, read_only=read_only)


def look_through(path: Path) -> None:
    """Look through every page of a binder. Raises FileError when it is damaged."""
    open_binder(path, read_only=True).close()


def back_up(binder: BinderFile, target: Path) -> Path:
    """Write a whole copy of the binder to `target`, compacted, and see that it opens.

    Raises FileError when `target` exists or cannot be written.
    """
    _reserve(target)
    try:
        with told(binder.path):
            binder.connection.execute("VACUUM INTO ?", (str(target),))
        _sync(target)
        open_binder(target, read_only=True).close()
    except BaseException:
        target.unlink(missing_ok=True)
        raise
    return target


def _require_file(path: Path, *, read_only: bool) -> None:
    try:
        if not path.exists():
            raise FileError(f"{path}: no such file; `binder new` makes a binder")
    except OSError as error:
        raise FileError(f"{path}: cannot be read: {error.strerror}") from error
    if path.is_dir():
        raise FileError(f"{path}: a folder, not a binder; name a file in it")
    if not os.access(path, os.R_OK):
        raise FileError(f"{path}: no permission to read; check who owns the file")
    if not read_only and not os.access(path, os.W_OK):
        raise FileError(f"{path}: no permission to write; open it with --read-only")


def _connect(path: Path, *, read_only: bool, wait_s: float) -> sqlite3.Connection:
    uri = f"{path.resolve().as_uri()}?mode={'ro' if read_only else 'rw'}"
    with told(path), contextlib.ExitStack() as on_failure:
        connection = sqlite3.connect(uri, uri=True, timeout=wait_s, isolation_level=None)
        on_failure.callback(connection.close)
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
        on_failure.pop_all()
    return connection


@contextlib.contextmanager
def _fault_is_damage(path: Path) -> Iterator[None]:
    """At opening, whatever SQLite stumbles over is damage and not a fault of the program."""
    try:
        with told(path):
            yield
    except (sqlite3.Error, UnicodeDecodeError) as error:  # it quotes bytes that are no text
        raise FileError(f"{path}: {_damaged(str(error))}") from error


def _journal(path: Path) -> Path:
    return path.with_name(f"{path.name}-journal")


def _take_back_unfinished(path: Path, wait_s: float) -> None:
    """A program that died while writing leaves a journal: a reader cannot take that step back."""
    if os.access(path, os.W_OK):
        with contextlib.closing(_connect(path, read_only=False, wait_s=wait_s)) as connection:
            connection.execute("SELECT count(*) FROM sqlite_master").fetchone()


def _format_number(path: Path, connection: sqlite3.Connection) -> int:
    """The format number of a binder that this program can read."""
    if connection.execute("PRAGMA application_id").fetchone()[0] != APPLICATION_ID:
        raise FileError(f"{path}: not a binder (an SQLite file of another program)")
    version = int(connection.execute("PRAGMA user_version").fetchone()[0])
    if version > migrations.VERSION:
        raise FileError(
            f"{path}: made by a newer version of this program (format {version}; this one reads "
            f"up to {migrations.VERSION}); update the program"
        )
    if version < 1:
        raise FileError(f"{path}: damaged (format number {version}); restore a backup")
    return version


def _require_whole(path: Path, connection: sqlite3.Connection) -> None:
    fault = connection.execute("PRAGMA quick_check(1)").fetchone()[0]
    if fault != "ok":
        raise FileError(f"{path}: {_damaged(fault.splitlines()[-1])}")
    if connection.execute("SELECT count(*) FROM info").fetchone()[0] < 2:
        raise FileError(f"{path}: not a whole binder; restore a backup")


def _migrate(path: Path, connection: sqlite3.Connection, version: int) -> None:
    """Bring an older file up to date; a copy is set aside first."""
    aside = _set_aside(path, connection, version)
    try:
        migrations.apply(connection)
    except Exception as error:  # whatever a migration trips over, the person is told of the copy
        raise FileError(
            f"{path}: could not be brought up to date ({error}); it is as it was, "
            f"and a copy is at {aside}"
        ) from error


def _set_aside(path: Path, connection: sqlite3.Connection, version: int) -> Path:
    """A copy of the file, page by page, whatever its format."""
    aside, number = path.with_name(f"{path.name}.format-{version}"), 1
    while aside.exists():
        number += 1
        aside = path.with_name(f"{path.name}.format-{version}.{number}")
    _reserve(aside)
    with contextlib.closing(sqlite3.connect(aside)) as copy:
        connection.backup(copy)
    _sync(aside)
    return aside


def _sync(path: Path) -> None:
    with path.open("rb+") as file:
        os.fsync(file.fileno())
