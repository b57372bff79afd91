"""The file of a shelf's index: where it is kept, who may read it, opening it."""

from __future__ import annotations

import contextlib
import hashlib
import os
import sqlite3
import zlib
from collections.abc import Collection
from pathlib import Path
from typing import Final

from binder.errors import FileError
from binder.unsaved import state_folder

FILE: Final = ".find-index"
_APPLICATION_ID: Final = 0x48424649  # 'HBFI'
_LINES: Final = 3  # raised when the lines beside what is found are made otherwise
_WAIT_S: Final = 5.0

_TABLES: Final = (
    """CREATE TABLE binder (
    id INTEGER PRIMARY KEY,
    file BLOB NOT NULL UNIQUE, -- its name, which may be no text
    size_bytes INTEGER NOT NULL,
    mtime_ns INTEGER NOT NULL,
    client TEXT NOT NULL,
    called TEXT NOT NULL, -- the client and the file by name, for words that name them
    problem TEXT NOT NULL,
    calls TEXT NOT NULL -- JSON: person, the name of the call they have open
) STRICT""",
    """CREATE TABLE record (
    id INTEGER PRIMARY KEY,
    kind TEXT NOT NULL,
    name TEXT NOT NULL COLLATE NOCASE,
    binder_id INTEGER NOT NULL REFERENCES binder (id),
    record_id INTEGER NOT NULL,
    is_gone INTEGER NOT NULL,
    line TEXT NOT NULL
) STRICT""",
    "CREATE INDEX record_name ON record (name)",
    "CREATE INDEX record_binder ON record (binder_id)",
    "CREATE VIRTUAL TABLE search USING fts5 (name, body, compact, tokenize = 'trigram')",
)
# An index of another make than this is made anew: nobody has to think of a number.
_MAKE: Final = zlib.crc32("".join((*_TABLES, str(_LINES))).encode()) >> 1


def place(folder: Path, binders: Collection[os.stat_result]) -> Path:
    """Where the index is kept: beside the binders, if nobody may read it there who may not read
    all of them, else with this person's state. Raises FileError."""
    beside = folder / FILE
    if _is_ready(beside, binders):
        return beside
    digest = hashlib.sha256(str(folder.resolve()).encode(errors="replace")).hexdigest()[:24]
    own = state_folder() / "shelves" / f"{digest}{FILE}"
    try:
        own.parent.mkdir(parents=True, exist_ok=True, mode=0o700)
    except OSError as error:
        raise FileError(
            f"{own.parent}: the index of the shelf cannot be kept here: {error.strerror}; "
            "set XDG_STATE_HOME to a folder of yours"
        ) from error
    if not _is_ready(own, ()):
        raise FileError(f"{own}: the index of the shelf cannot be kept here; check its rights")
    return own


def _is_ready(path: Path, binders: Collection[os.stat_result]) -> bool:
    """Make the file if there is none, and give it the rights that all binders have in common."""
    try:
        with contextlib.suppress(FileExistsError):
            os.close(os.open(path, os.O_CREAT | os.O_EXCL | os.O_RDWR, 0o600))
        if path.is_symlink() or not path.is_file() or not os.access(path, os.R_OK | os.W_OK):
            return False
        status = path.stat()
        shared = all(
            one.st_gid == status.st_gid and one.st_mode & 0o060 == 0o060 for one in binders
        )
        mode = 0o660 if shared and binders else 0o600
        if status.st_mode & 0o777 != mode:
            path.chmod(mode)
    except OSError:  # a folder that takes no file, a file of somebody else: not here, then
        return False
    return True


def opened(path: Path) -> sqlite3.Connection:
    """Open the index; one that is damaged or of another make is made anew."""
    for is_last in (False, True):
        connection = sqlite3.connect(path, timeout=_WAIT_S, isolation_level=None)
        try:
            return laid_out(connection)
        except sqlite3.DatabaseError as error:
            connection.close()
            if is_last or not is_damage(error):
                raise
            remove(path)
    raise AssertionError("the second try returns or raises")


def laid_out(connection: sqlite3.Connection) -> sqlite3.Connection:
    """The connection, with the tables there. Raises sqlite3.DatabaseError on another's file."""
    for pragma in (
        "trusted_schema = OFF",
        "cell_size_check = ON",
        "secure_delete = ON",
        "cache_spill = OFF",  # or a writer would shut readers out long before it is done
        "synchronous = NORMAL",
    ):
        connection.execute(f"PRAGMA {pragma}")
    if _version(connection) != _MAKE:
        connection.execute("BEGIN IMMEDIATE")
        if _version(connection) != _MAKE:  # nor has another session made it meanwhile
            _make_tables(connection)
        connection.execute("COMMIT")
    return connection


def _version(connection: sqlite3.Connection) -> int:
    return int(connection.execute("PRAGMA user_version").fetchone()[0])


def _make_tables(connection: sqlite3.Connection) -> None:
    if connection.execute("SELECT 1 FROM sqlite_schema").fetchone():
        raise _AnotherMake
    for statement in _TABLES:
        connection.execute(statement)
    connection.execute(f"PRAGMA application_id = {_APPLICATION_ID}")
    connection.execute(f"PRAGMA user_version = {_MAKE}")


class _AnotherMake(sqlite3.DatabaseError):
    """An index with other tables: made by another version of this program."""

    sqlite_errorcode = sqlite3.SQLITE_NOTADB


def is_damage(error: sqlite3.Error) -> bool:
    code = getattr(error, "sqlite_errorcode", sqlite3.SQLITE_ERROR) & 0xFF
    return code in (sqlite3.SQLITE_CORRUPT, sqlite3.SQLITE_NOTADB, sqlite3.SQLITE_FORMAT)


def remove(path: Path) -> None:
    for name in (path, path.with_name(f"{path.name}-journal")):
        name.unlink(missing_ok=True)
