"""Find across a shelf: whose number, address or name it is, among all clients.

What is typed is read, ranked and forgiven as in a binder; a client's name among the words looks at
that client only.
"""

from __future__ import annotations

import json
import os
from collections.abc import Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Final

from binder.file import SUFFIX
from binder.find_query import Found, Ground, Matcher, look_up
from binder.find_words import Asked
from binder.shelf import Shelved
from binder.shelf_index import ShelfIndex

_SHELF: Final = Ground("r.is_gone", is_binder=False)


@dataclass(frozen=True, slots=True)
class ShelfHit:
    """A record found: whose it is, in which binder, what it is; `value` is where it matched and
    `line` the answer in short. `is_partly`: it has not all of the words. Text is as typed."""

    client: str
    binder: str
    path: str
    id: int
    kind: str
    name: str
    value: str
    line: str
    is_partly: bool = False


@dataclass(frozen=True, slots=True)
class ShelfFound:
    """What was found on a shelf, best first, and the binders that could not be looked into."""

    hits: tuple[ShelfHit, ...]
    problems: tuple[Shelved, ...]


def find_on_shelf(folder: Path, text: str, limit: int = 50) -> ShelfFound:
    """The records of all binders of a folder that match. Raises FileError when the folder cannot
    be read, or the index cannot be kept; a binder that does not open is among the problems."""
    with ShelfIndex.open(folder) as index:
        read = index.mended(index.refresh)
        return ShelfFound(find_in(index, text, limit), tuple(one for one in read if one.problem))


def find_in(index: ShelfIndex, text: str, limit: int = 50) -> tuple[ShelfHit, ...]:
    """What an index has, as it is; whatever the text, never an error."""
    asked = Asked(text)
    if not asked.typed or limit < 1:
        return ()
    return index.mended(lambda: _found(index, asked, limit))


def _found(index: ShelfIndex, asked: Asked, limit: int) -> tuple[ShelfHit, ...]:
    found = look_up(index.connection, asked, limit, _SHELF)
    if len(asked.words) > 1 and (theirs := _at_client(index, asked, limit)):
        rows = theirs.rows if not found.is_exact else dict.fromkeys([*theirs.rows, *found.rows])
        found = replace(theirs, rows=list(rows)[:limit])
    return _hits(index, found)


def _at_client(index: ShelfIndex, asked: Asked, limit: int) -> Found | None:
    """What the other words find at the clients whom most of the words name, if anything."""
    held = ", ".join(f"instr(called, :word{n}) > 0" for n in range(len(asked.words)))
    named: dict[tuple[int, ...], list[int]] = {}  # binders by which of the words name the client
    for binder_id, *which in index.connection.execute(
        f"SELECT id, {held} FROM binder",
        {f"word{n}": word.casefold() for n, word in enumerate(asked.words)},
    ):
        named.setdefault(tuple(which), []).append(binder_id)
    which = max(named, key=sum, default=())
    if not 0 < sum(which) < len(asked.words):
        return None
    rest = [word for word, is_name in zip(asked.words, which, strict=True) if not is_name]
    binders = ", ".join(map(str, named[which]))
    ground = replace(_SHELF, among=f"SELECT id FROM record WHERE binder_id IN ({binders})")
    found = look_up(index.connection, Asked(" ".join(rest)), limit, ground, may_guess=False)
    return found if found.rows else None


def _hits(index: ShelfIndex, found: Found) -> tuple[ShelfHit, ...]:
    """The hits in the order found; asked in one query."""
    rows = index.connection.execute(
        "SELECT r.id, b.client, b.file, r.record_id, r.kind, r.name, r.line, r.is_gone, s.body "
        "FROM json_each(?) j JOIN record r ON r.id = j.value JOIN search s ON s.rowid = r.id "
        "JOIN binder b ON b.id = r.binder_id ORDER BY j.key",
        (json.dumps([row[0] for row in found.rows]),),
    ).fetchall()
    if not found.is_exact:
        rows.sort(key=lambda row: row[7])
    hits = []
    for _, client, file, record_id, kind, name, line, _, body in rows:
        file_name = os.fsdecode(file)
        binder = file_name.removesuffix(SUFFIX)
        value = _place(found.matcher, name, body.splitlines())
        hits.append(
            ShelfHit(
                client or binder, binder, f"{index.folder}{os.sep}{file_name}", record_id, kind,
                name, value, line, found.is_partly,
            )
        )  # fmt: skip
    return tuple(hits)


def _place(matcher: Matcher, name: str, lines: Sequence[str]) -> str:
    """The text that matches best: the name, or a line of the rest."""
    best, place = matcher.matched_in(name, is_number=False), name
    for line in lines:
        matched = matcher.matched_in(line, is_number=True)
        if matched > best:
            best, place = matched, line.strip()
    return place
