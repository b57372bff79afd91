"""Find: anything by part of it. Best first, each with the one line a technician needs.

An outlet, a room, a name, a MAC in any form, an address, a circuit, account, serial or telephone
number with or without its punctuation; several words must all match. When nothing has them, words
of speech and a misspelling are forgiven. SQLite is asked a fixed number of times, whatever is
found.
"""

from __future__ import annotations

import json
import sqlite3
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from functools import cache
from typing import Any, Protocol

from binder.file import BinderFile
from binder.find_answers import answers
from binder.find_words import (
    LEAST,
    LONGEST,
    Asked,
    glob_of_beginning,
    like,
    short_words,
    words_phrase,
)
from binder.read import Named, Record, read_where, reference_names
from binder.records.catalog import BY_NAME, KINDS
from binder.records.fields import Field
from binder.records.kinds.network import ipv4
from binder.records.schema import quoted

GONE = ("removed", "former")
# Of one name, what stands in a rack before the paper about it: the order of the dividers.
_KINDS_IN_ORDER = f"|{'|'.join(kind.name for kind in KINDS)}|"
_MOST_ROOMS = 8  # that one word may stand for

Rooms = Mapping[str, Sequence[str]]  # identifiers of rooms by a word for them


@dataclass(frozen=True, slots=True)
class Hit:
    """A record found: `value` of the field labelled `field` (or 'Name') is where it matched, and
    `line` is the answer in short. `is_partly` says that it has most of the words, not all. Text is
    as typed: whoever shows it makes it safe."""

    id: int
    kind: str
    name: str
    field: str
    value: str
    line: str
    is_partly: bool = False


class Matcher(Protocol):
    """What tells how well a value answers what was asked."""

    def matched_in(self, value: str, *, is_number: bool) -> int:
        """0 when it does not; the more the better."""


def find(binder: BinderFile, text: str, limit: int = 50) -> tuple[Hit, ...]:
    """The records that match, best first, at most `limit`; whatever the text, never an error.

    First the exact name, an exact number or address, names that begin with the text, names that
    hold it, numbers that hold it, then other text by relevance (bm25). What is removed or former
    comes last.
    """
    asked = Asked(text)
    if not asked.typed or limit < 1:
        return ()
    with binder.reading() as connection:
        if found := _found(connection, asked, limit):
            return _hits(binder, asked, found)
        from binder.find_spoken import most_of, plainer, telling_words

        for reading in map(Asked, plainer(asked.words)):
            if found := _found(connection, reading, limit):
                return _hits(binder, reading, found)
        if rows := most_of(connection, asked.words, limit):
            partly = _hits(binder, asked, rows, gone_last=True)
            return tuple(replace(hit, is_partly=True) for hit in partly)
        from binder.find_misspelt import Misspelt

        guess = Misspelt(connection, telling_words(asked.words) or asked.words)
        return _hits(binder, guess, guess.found[:limit], gone_last=True)


def _found(connection: sqlite3.Connection, asked: Asked, limit: int) -> list[tuple[int, str]]:
    sql, values = _query(asked, _rooms_called(connection, asked.words))
    rows = connection.execute(sql, values | {"limit": limit})
    return [(row[0], row[1]) for row in rows]


def _rooms_called(connection: sqlite3.Connection, words: Sequence[str]) -> Rooms:
    """Identifiers of rooms by the word in what people call them, so that `reception phone` finds
    the phone in 114. One word alone finds the room itself."""
    rooms: dict[str, list[str]] = {}
    if len(words) > 1:
        called = connection.execute(
            "SELECT t.name, r.name FROM space t JOIN record r ON r.id = t.id "
            "WHERE t.name IS NOT NULL AND length(r.name) >= ?",
            (LEAST,),
        ).fetchall()
        for word in (word for word in words if len(word) >= LEAST):
            folded = word.casefold()
            rooms[word] = [room for name, room in called if folded in name.casefold()][:_MOST_ROOMS]
    return rooms


# The query: where records come from, each with a tier (0 is best), then the order. ----------


def _query(asked: Asked, rooms: Rooms) -> tuple[str, dict[str, Any]]:
    """The SQL for (id, kind) of what matches, best first, and its parameters."""
    values: dict[str, Any] = {
        "text": asked.text,
        "typed": asked.typed,
        "beginning": f"{like(asked.typed[:LONGEST])}%",
    }
    sources = ["SELECT id, 0, 0.0 FROM record WHERE name IN (:text, :typed)"]
    sources += _numbers(asked, values)
    sources += _words(asked.words, rooms, "", values)
    tiers = [
        "WHEN r.name LIKE :beginning ESCAPE '\\' THEN 2",
        _all_in_name(asked.words, "", values),
    ]
    if asked.kind:
        values |= {"kind": asked.kind, "rest": " ".join(asked.rest)}
        values["rest_beginning"] = f"{like(values['rest'][:LONGEST])}%"
        sources.append("SELECT id, 0, 0.0 FROM record WHERE kind = :kind AND name = :rest")
        sources += _words(asked.rest, rooms, "rest_", values)
        tiers += [
            "WHEN r.kind = :kind AND r.name LIKE :rest_beginning ESCAPE '\\' THEN 2",
            _all_in_name(asked.rest, "rest_", values),
        ]
    return _ordered(sources, tiers), values


def _numbers(asked: Asked, values: dict[str, Any]) -> Iterable[str]:
    """The whole text as a number, an address, or a VLAN."""
    if phrase := asked.numbers_phrase():
        whole = [("compact", number) for number in asked.numbers]
        whole += [("body", asked.ip)] if asked.ip else []
        is_whole = " OR ".join(
            f"instr(char(10) || {column}, :line{n})" for n, (column, _) in enumerate(whole)
        )
        values |= {f"line{n}": f"\n{number}\n" for n, (_, number) in enumerate(whole)}
        values["numbers"] = phrase
        yield (
            f"SELECT rowid, CASE WHEN {is_whole} THEN 1 ELSE 4 END, bm25(search, 10, 1, 5) "
            "FROM search WHERE search MATCH :numbers"
        )
    if asked.ip:
        values["ip"] = asked.ip
        yield "SELECT id, 0, 0.0 FROM record WHERE name = :ip"
        if ":" not in asked.ip:
            yield _SUBNETS_HOLDING
    if asked.vlan is not None:
        values["vlan"] = asked.vlan
        yield "SELECT id, 1, 0.0 FROM subnet WHERE vlan = :vlan"


_NETWORK = "substr(cidr, 1, instr(cidr, '/') - 1)"
_HOST_BITS = "(32 - CAST(substr(cidr, instr(cidr, '/') + 1) AS INTEGER))"
_SUBNETS_HOLDING = (
    "SELECT id, 6, 0.0 FROM subnet WHERE instr(cidr, ':') = 0 AND "
    f"(({ipv4(':ip')}) >> {_HOST_BITS}) = (({ipv4(_NETWORK)}) >> {_HOST_BITS})"
)


def _words(words: list[str], rooms: Rooms, prefix: str, values: dict[str, Any]) -> Iterable[str]:
    """All the words: long ones through the index, short ones as beginnings of words."""
    short = short_words(words)
    for n, word in enumerate(short):
        values |= {f"{prefix}glob{n}": glob_of_beginning(word)}
        values |= {f"{prefix}short{n}": f"{like(word)}%"}
    kind = "kind = :kind" if prefix else "1"
    if phrase := words_phrase(words, rooms):
        values[f"{prefix}words"] = phrase
        begun = "".join(
            f" AND lower(char(10) || name || char(10) || body) GLOB :{prefix}glob{n}"
            for n in range(len(short))
        )
        among = " AND rowid IN (SELECT id FROM record WHERE kind = :kind)" if prefix else ""
        yield (
            "SELECT rowid, 5, bm25(search, 10, 1, 5) FROM search "
            f"WHERE search MATCH :{prefix}words{begun}{among}"
        )
    elif short:
        begun = " AND ".join(
            f"(name LIKE :{prefix}short{n} ESCAPE '\\' OR lower(name) GLOB :{prefix}glob{n})"
            for n in range(len(short))
        )
        yield f"SELECT id, 3, 0.0 FROM record WHERE {kind} AND {begun}"


def _all_in_name(words: list[str], prefix: str, values: dict[str, Any]) -> str:
    values |= {f"{prefix}in{n}": f"%{like(word)}%" for n, word in enumerate(words)}
    held = " AND ".join(f"r.name LIKE :{prefix}in{n} ESCAPE '\\'" for n in range(len(words)))
    return f"WHEN {'r.kind = :kind AND ' if prefix else ''}{held} THEN 3"


def _ordered(sources: Iterable[str], tiers: Iterable[str]) -> str:
    """Records that are named after another come after those with names of their own."""
    return (
        "WITH found (id, tier, score) AS (SELECT id, min(tier), min(score) FROM ("
        f"SELECT 0 AS id, 0 AS tier, 0.0 AS score WHERE 0 UNION ALL {' UNION ALL '.join(sources)}"
        ") GROUP BY id), ranked AS (SELECT r.id, r.kind, r.name, f.score, "
        f"min(f.tier, CASE {' '.join(tiers)} ELSE f.tier END) AS tier "
        "FROM found f CROSS JOIN record r ON r.id = f.id) "
        f"SELECT r.id, r.kind FROM ranked r ORDER BY {_status()} IN {GONE}, tier, "
        "CASE WHEN tier IN (1, 4) AND r.kind = 'contact' THEN -1e9 "  # whose number it is
        f"WHEN tier < 4 THEN r.kind IN ({_part_kinds()}) ELSE score END, "
        f"length(r.name), r.name, instr('{_KINDS_IN_ORDER}', '|' || r.kind || '|') LIMIT :limit"
    )


@cache
def _status() -> str:
    whens = (
        f"WHEN '{kind.name}' THEN (SELECT t.status FROM {quoted(kind.table)} t WHERE t.id = r.id)"
        for kind in KINDS
    )
    return f"CASE r.kind {' '.join(whens)} END"


@cache
def _part_kinds() -> str:
    kinds = (k for k in KINDS if any(k.field(name).is_reference for name in k.named_by))
    return ", ".join(f"'{kind.name}'" for kind in kinds)


# The answers. -----------------------------------------------------------------------------


def _hits(
    binder: BinderFile,
    matcher: Matcher,
    found: Sequence[tuple[int, str]],
    *,
    gone_last: bool = False,
) -> tuple[Hit, ...]:
    """The hits in the order found: one query for each kind among them."""
    by_kind: dict[str, list[int]] = {}
    for record_id, kind in found:
        by_kind.setdefault(kind, []).append(record_id)
    read = {
        record.id: record
        for kind, ids in by_kind.items()
        for record in read_where(
            binder, BY_NAME[kind], "t.id IN (SELECT value FROM json_each(?))", [json.dumps(ids)]
        )
    }
    records = [read[record_id] for record_id, _ in found]
    if gone_last:
        records.sort(key=lambda record: record["status"] in GONE)
    named = reference_names(binder, records)
    lines = answers(binder, records, named)
    return tuple(
        Hit(record.id, record.kind.name, record.name, *_place(matcher, record, named),
            lines[record.id])
        for record in records
    )  # fmt: skip


def _place(matcher: Matcher, record: Record, named: Mapping[int, Named]) -> tuple[str, str]:
    """Label and text of the field that matches best; the name when none does better."""
    best, place = matcher.matched_in(record.name, is_number=False), ("Name", record.name)
    for field, shown, text in _texts(record, named):
        matched = matcher.matched_in(text, is_number=field.is_compact)
        if matched > best:
            best, place = matched, (field.label, shown)
    if not best and record.kind.name == "subnet":  # it holds the address asked for
        return ("Network", record["cidr"] or "")
    return place


def _texts(record: Record, named: Mapping[int, Named]) -> Iterator[tuple[Field, str, str]]:
    """Each field that is searched, as shown and as matched; a field of several lines by line."""
    for field in record.kind.all_fields:
        stored = record.values[field.name]
        if stored is None:
            continue
        if field.name == "vlan":
            yield field, str(stored), f"vlan {stored}"
        elif field.is_reference and stored in named:
            yield field, named[stored].name, named[stored].name
        elif field.searched or field.is_compact or field.name == "form":
            for line in str(stored).splitlines():
                yield field, line.strip(), line
