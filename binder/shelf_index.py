"""The index of a shelf: what tells its clients apart, copied from the binders for finding.

It is a file beside the binders, `.find-index`; where the folder takes no file of this person, it is
kept with the person's state instead. It holds the documents of the binders' own search index, which
hold no secret, and nothing that is not in the binders: it may be deleted at any time. A binder is
copied again when its file is another than the one that was copied.
"""

from __future__ import annotations

import contextlib
import json
import os
import sqlite3
import time
from collections.abc import Callable, Collection, Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import UTC, datetime
from itertools import islice
from pathlib import Path
from typing import Final, Self, TypeVar

from binder import shelf_index_file as index_file
from binder.call import open_calls
from binder.errors import BinderError
from binder.file import BinderFile, open_binder, told
from binder.find_answers import answers
from binder.find_query import GONE
from binder.read import client, read_where, reference_names
from binder.records.catalog import KINDS
from binder.records.dates import format_moment
from binder.records.fields import Kind, Type
from binder.search_index import document_sql
from binder.shelf import Shelved, binders_in

_AT_ONCE: Final = 20  # binders written in one transaction: others wait no longer than that
_SETTLED_NS: Final = 2_000_000_000  # a file changed later than that may change again unseen
_UNSETTLED: Final = -1

_NUMBERED: Final = (Type.IP, Type.CIDR, Type.EMAIL)
_PLACES: Final = ("building", "space", "ssid")

Answer = TypeVar("Answer")


def _tells_apart(kind: Kind) -> bool:
    """Whether a record of the kind may tell a caller's network from another's: it bears a number
    or an address, or it is a place or a wireless network. Ports and cables have the same names
    at every client."""
    numbered = any(field.is_compact or field.type in _NUMBERED for field in kind.all_fields)
    return numbered or kind.name in _PLACES


_KINDS: Final = tuple(kind for kind in KINDS if _tells_apart(kind))

# What is kept of a record, by its id in the binder: kind, name, is_gone, line, body, compact.
_Documents = Mapping[int, tuple[str, str, int, str, str, str]]


@dataclass(frozen=True, slots=True)
class _Copied:
    """What one binder held when its file was `size_bytes` and `mtime_ns`."""

    file: str
    size_bytes: int
    mtime_ns: int
    client: str
    problem: str
    calls: Mapping[str, str]  # the name of the call that somebody has open
    documents: _Documents


class ShelfIndex:
    """An open index of a shelf. Sessions may use and refresh it side by side; one thread each."""

    def __init__(
        self, folder: Path, path: Path | None, connection: sqlite3.Connection, who: str
    ) -> None:
        self.folder = folder
        self.who = who
        self.path = path
        self.connection = connection

    @classmethod
    def open(cls, folder: Path, who: str = "") -> Self:
        """The index of a folder, empty at first; `who` is told of the calls they have open.

        Raises FileError when there is no room for one.
        """
        if not binders_in(folder):
            memory = sqlite3.connect(":memory:", isolation_level=None)
            return cls(folder, None, index_file.laid_out(memory), who)
        path = index_file.place(folder, _files(folder).values())
        with told(path):
            return cls(folder, path, index_file.opened(path), who)

    def __enter__(self) -> Self:
        return self

    def __exit__(self, *error: object) -> None:
        self.connection.close()

    def mended(self, work: Callable[[], Answer]) -> Answer:
        """What `work` gives; an index found damaged is made anew first. Raises FileError."""
        with told(self.path or self.folder):
            try:
                return work()
            except sqlite3.DatabaseError as error:
                if self.path is None or not index_file.is_damage(error):
                    raise
            self.connection.close()
            index_file.remove(self.path)
            self.connection = index_file.opened(self.path)
            self.refresh()
            return work()

    # What is known ----------------------------------------------------------------------

    def known(self) -> dict[str, Shelved]:
        """The binders by path as they were last read; those that changed since are left out."""
        there = _files(self.folder)
        stale = self.stale(there)
        rows = self.connection.execute("SELECT file, client, problem, calls FROM binder")
        named = {os.fsdecode(row[0]): (row[1], row[2], json.loads(row[3])) for row in rows}
        return {
            str(self.folder / file): self._shelved(file, there[file], *named[file])
            for file in named.keys() & there.keys() - set(stale)
        }

    def _shelved(
        self,
        file: str,
        status: os.stat_result,
        client: str,
        problem: str,
        calls: Mapping[str, str],
    ) -> Shelved:
        path, login = self.folder / file, self.who.rpartition(" from ")[0]
        changed = format_moment(datetime.fromtimestamp(status.st_mtime, UTC))
        call = calls.get(self.who.lower()) or calls.get(login.lower(), "")
        return Shelved(
            path.stem, str(path), client, status.st_size, changed, not problem, problem, call
        )

    def stale(self, there: Mapping[str, os.stat_result]) -> list[str]:
        """The binder files, of those that are there, that have to be read (again)."""
        marks = {
            os.fsdecode(row[0]): (row[1], row[2])
            for row in self.connection.execute("SELECT file, size_bytes, mtime_ns FROM binder")
        }
        return [
            file
            for file, status in there.items()
            if marks.get(file) != (status.st_size, status.st_mtime_ns)
        ]

    # Refreshing -------------------------------------------------------------------------

    def refresh(
        self, go_on: Callable[[Sequence[Shelved]], bool] = lambda some: True
    ) -> tuple[Shelved, ...]:
        """Bring the index up to date; gives what was read for it, and tells `go_on` after every
        few binders, which ends it by saying no.

        A binder that does not open is read again every time, as what is wrong may have ended.
        """
        read: list[Shelved] = []
        there = _files(self.folder)
        self._forget(there.keys())
        seen: set[str] = set()
        while files := list(islice((f for f in self.stale(there) if f not in seen), _AT_ONCE)):
            seen.update(files)
            copied = [_copied(self.folder / file, there[file]) for file in files]
            with self._writing():
                for one in copied:
                    self._keep(one)
            some = [
                self._shelved(one.file, there[one.file], one.client, one.problem, one.calls)
                for one in copied
            ]
            read += some
            if not go_on(some):
                break
        return tuple(read)

    @contextlib.contextmanager
    def _writing(self) -> Iterator[None]:
        self.connection.execute("BEGIN IMMEDIATE")
        try:
            yield
            self.connection.execute("COMMIT")
        except BaseException:
            if self.connection.in_transaction:
                self.connection.execute("ROLLBACK")
            raise

    def _forget(self, there: Collection[str]) -> None:
        """Leave nothing of a binder that is not on the shelf any more."""
        rows = self.connection.execute("SELECT id, file FROM binder").fetchall()
        gone = [row[0] for row in rows if os.fsdecode(row[1]) not in there]
        if not gone:
            return
        with self._writing():
            for binder_id in gone:
                which = f"SELECT id FROM record WHERE binder_id = {binder_id}"
                self.connection.execute(f"DELETE FROM search WHERE rowid IN ({which})")
                self.connection.execute(f"DELETE FROM record WHERE id IN ({which})")
                self.connection.execute("DELETE FROM binder WHERE id = ?", (binder_id,))
            # FTS5 keeps the words of what was deleted until its parts are merged.
            self.connection.execute("INSERT INTO search (search) VALUES ('optimize')")

    def _keep(self, copied: _Copied) -> None:
        """Write what differs from what is kept of a binder: most of a large one stays."""
        called = f"{Path(copied.file).stem} {copied.client}".casefold()
        binder_id = self.connection.execute(
            "INSERT INTO binder (file, size_bytes, mtime_ns, client, called, problem, calls) "
            "VALUES (?, ?, ?, ?, ?, ?, ?) ON CONFLICT (file) DO UPDATE SET size_bytes = ?2, "
            "mtime_ns = ?3, client = ?4, called = ?5, problem = ?6, calls = ?7 RETURNING id",
            (
                os.fsencode(copied.file), copied.size_bytes, copied.mtime_ns, copied.client,
                called.encode(errors="replace").decode(), copied.problem, json.dumps(copied.calls),
            ),
        ).fetchone()[0]  # fmt: skip
        kept = {
            row[1]: (row[0], tuple(row[2:]))
            for row in self.connection.execute(
                "SELECT r.id, r.record_id, r.kind, r.name, r.is_gone, r.line, s.body, s.compact "
                "FROM record r JOIN search s ON s.rowid = r.id WHERE r.binder_id = ?",
                (binder_id,),
            )
        }
        fresh = copied.documents
        old = [(at,) for record_id, (at, held) in kept.items() if fresh.get(record_id) != held]
        for table, column in (("search", "rowid"), ("record", "id")):
            self.connection.executemany(f"DELETE FROM {table} WHERE {column} = ?", old)
        for record_id, document in fresh.items():
            if record_id in kept and kept[record_id][1] == document:
                continue
            kind, name, is_gone, line, body, compact = document
            at = self.connection.execute(
                "INSERT INTO record (kind, name, binder_id, record_id, is_gone, line) "
                "VALUES (?, ?, ?, ?, ?, ?)",
                (kind, name, binder_id, record_id, is_gone, line),
            ).lastrowid
            self.connection.execute(
                "INSERT INTO search (rowid, name, body, compact) VALUES (?, ?, ?, ?)",
                (at, name, body, compact),
            )


# Reading a binder. ------------------------------------------------------------------------


def _files(folder: Path) -> dict[str, os.stat_result]:
    """The binder files of the shelf and what the system knows of them."""
    found = {}
    for path in binders_in(folder):
        with contextlib.suppress(OSError):  # gone since, or a link that leads nowhere
            found[path.name] = path.stat()
    return found


def _copied(path: Path, status: os.stat_result) -> _Copied:
    """What a binder holds for the index; never raises for one that does not open."""
    try:
        with open_binder(path, read_only=True, wait_s=0.5) as binder, binder.reading():
            sheet = client(binder)
            name, calls = sheet.name if sheet else "", open_calls(binder)
            documents = _documents(binder)
    except (BinderError, sqlite3.Error) as error:
        problem = str(error).removeprefix(f"{path}: ")
        return _Copied(path.name, status.st_size, _UNSETTLED, "", problem, {}, {})
    is_settled = time.time_ns() - status.st_mtime_ns > _SETTLED_NS
    mtime_ns = status.st_mtime_ns if is_settled else _UNSETTLED
    return _Copied(path.name, status.st_size, mtime_ns, name, "", calls, documents)


def _documents(binder: BinderFile) -> _Documents:
    records = [record for kind in _KINDS for record in read_where(binder, kind)]
    lines = answers(binder, records, reference_names(binder, records))
    texts = {
        row[0]: (row[2], row[3])
        for kind in _KINDS
        for row in binder.connection.execute(document_sql(kind))
    }
    return {
        record.id: (
            record.kind.name, record.name, int(record["status"] in GONE), lines[record.id],
            *texts[record.id],
        )
        for record in records
    }  # fmt: skip
