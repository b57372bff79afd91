"""The query behind find: what matches a text, best first, in a binder or in the index of a shelf.

Both have the tables `record` (id, kind, name) and `search` (FTS5: name, body, compact), so that
what is typed is read, ranked and forgiven alike.
"""

from __future__ import annotations

import sqlite3
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from functools import cache
from typing import Any, Final, Protocol

from binder.find_words import (
    LEAST,
    LONGEST,
    Asked,
    glob_of_beginning,
    like,
    short_words,
    words_phrase,
)
from binder.read import PAPERS
from binder.records.catalog import KINDS
from binder.records.kinds.network import ipv4
from binder.records.schema import quoted

GONE: Final = ("removed", "former")
# Of one name, what stands in a rack before the paper about it: the order of the dividers.
_KINDS_IN_ORDER: Final = f"|{'|'.join(kind.name for kind in KINDS)}|"
_MOST_ROOMS: Final = 8  # that one word may stand for

Rooms = Mapping[str, Sequence[str]]  # identifiers of rooms by a word for them


class Matcher(Protocol):
    """What tells how well a value answers what was asked."""

    def matched_in(self, value: str, *, is_number: bool) -> int:
        """0 when it does not; the more the better."""


@dataclass(frozen=True, slots=True)
class Ground:
    """Where is looked: `is_gone` is SQL of a row `r` of `record`, and `among`, the SELECT of the
    ids that count at all, if not all do; a binder has the tables of the kinds."""

    is_gone: str
    is_binder: bool
    among: str = ""


@dataclass(frozen=True, slots=True)
class Found:
    """(id, kind) of each record, best first. They match as typed or `is_partly`, not all words;
    when not `is_exact`, what is gone is not yet last."""

    rows: Sequence[tuple[int, str]]
    matcher: Matcher
    is_exact: bool = True
    is_partly: bool = False


def look_up(
    connection: sqlite3.Connection,
    asked: Asked,
    limit: int,
    ground: Ground | None = None,
    *,
    may_guess: bool = True,
) -> Found:
    """What matches as typed; else in other words; else most of the words; else with a slip of the
    keyboard; else any of the words. Where only papers match as typed (the log of the last call has
    all its words), the things that match in other words come first.
    Who may not guess stops there. In a binder, circuits lead where one speaks of the internet.
    """
    from binder.find_spoken import circuits_meant, telling_words

    ground = ground or BINDER
    found = _found(connection, asked, limit, ground, may_guess=may_guess)
    meant = circuits_meant(connection, asked) if ground.is_binder else ()
    if not meant:
        return found
    rows = list(dict.fromkeys([*meant, *found.rows]))[:limit]
    told = Asked(" ".join(telling_words(asked.words)))  # 'at' is in many a field, and tells nothing
    return replace(found, rows=rows, matcher=told if found.matcher is asked else found.matcher)


def _found(
    connection: sqlite3.Connection, asked: Asked, limit: int, ground: Ground, *, may_guess: bool
) -> Found:
    rows = _matching(connection, asked, limit, ground)
    if _has_things(rows) or (rows and len(asked.words) == 1):
        return Found(rows, asked)
    from binder.find_spoken import nearest, plainer, telling_words

    for reading in map(Asked, plainer(asked.words)):
        plain = _matching(connection, reading, limit, ground)
        if _has_things(plain) or (plain and not rows):
            return Found(list(dict.fromkeys([*plain, *rows]))[:limit], reading)
    if rows or not may_guess:
        return Found(rows, asked)
    most, any_of = nearest(connection, asked.words, limit)
    if most:
        return Found(most, asked, is_exact=False, is_partly=True)
    from binder.find_misspelt import Misspelt

    guess = Misspelt(connection, telling_words(asked.words) or asked.words)
    if guess.found:
        return Found(guess.found[:limit], guess, is_exact=False)
    return Found(any_of, asked, is_exact=False, is_partly=True)


def _has_things(rows: Sequence[tuple[int, str]]) -> bool:
    return any(kind not in PAPERS for _, kind in rows)


def _matching(
    connection: sqlite3.Connection, asked: Asked, limit: int, ground: Ground
) -> list[tuple[int, str]]:
    rooms = _rooms_called(connection, asked.words) if ground.is_binder else {}
    sql, values = _query(asked, rooms, ground)
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


def _query(asked: Asked, rooms: Rooms, ground: Ground) -> tuple[str, dict[str, Any]]:
    """The SQL for (id, kind) of what matches, best first, and its parameters."""
    values: dict[str, Any] = {
        "text": asked.text,
        "typed": asked.typed,
        "beginning": f"{like(asked.typed[:LONGEST])}%",
    }
    sources = ["SELECT id, 0, 0.0 FROM record WHERE name IN (:text, :typed)"]
    sources += _numbers(asked, values)
    sources += _networks(asked, values) if ground.is_binder else ()
    sources += _called() if ground.is_binder else ()
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
    if ground.among:  # '+', or each row of them would be looked for in the index by itself
        sources = [f"{source} AND +rowid IN ({ground.among})" for source in sources]
    return _ordered(sources, tiers, ground, asked.kind), values


def _numbers(asked: Asked, values: dict[str, Any]) -> Iterable[str]:
    """The whole text as a number or an address."""
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


def _networks(asked: Asked, values: dict[str, Any]) -> Iterable[str]:
    """The subnets that hold an address, or have a VLAN."""
    if asked.ip and ":" not in asked.ip:
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


def _called() -> Iterable[str]:
    """Buildings and rooms by what people call them, circuits by the carrier, as if it were their
    name."""
    called = (("building", "name"), ("space", "name"), ("circuit", "provider"))
    for kind, field in called:
        yield f"SELECT id, 2, 0.0 FROM {kind} WHERE {field} LIKE :beginning ESCAPE '\\'"


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


def _ordered(sources: Iterable[str], tiers: Iterable[str], ground: Ground, kind_asked: str) -> str:
    """Papers come after the things they are about, and records that are named after another
    after those with names of their own."""
    papers = ", ".join(f"'{name}'" for name in PAPERS if name != kind_asked)
    return (
        "WITH found (id, tier, score) AS (SELECT id, min(tier), min(score) FROM ("
        f"SELECT 0 AS id, 0 AS tier, 0.0 AS score WHERE 0 UNION ALL {' UNION ALL '.join(sources)}"
        ") GROUP BY id), ranked AS (SELECT r.id, r.kind, r.name, f.score, "
        f"{ground.is_gone} AS is_gone, "
        f"min(f.tier, CASE {' '.join(tiers)} ELSE f.tier END) AS tier "
        f"FROM found f CROSS JOIN record r ON r.id = f.id) "
        f"SELECT r.id, r.kind FROM ranked r ORDER BY is_gone, tier > 1 "
        f"AND r.kind IN ({papers}), tier, "
        "CASE WHEN tier IN (1, 4) AND r.kind = 'contact' THEN -1e9 "  # whose number it is
        f"WHEN tier < 4 THEN r.kind IN ({_part_kinds()}) ELSE score END, "
        f"length(r.name), r.name, instr('{_KINDS_IN_ORDER}', '|' || r.kind || '|') LIMIT :limit"
    )


@cache
def _part_kinds() -> str:
    kinds = (k for k in KINDS if any(k.field(name).is_reference for name in k.named_by))
    return ", ".join(f"'{kind.name}'" for kind in kinds)


def _status() -> str:
    whens = (
        f"WHEN '{kind.name}' THEN (SELECT t.status FROM {quoted(kind.table)} t WHERE t.id = r.id)"
        for kind in KINDS
    )
    return f"CASE r.kind {' '.join(whens)} END"


BINDER: Final = Ground(f"{_status()} IN {GONE}", is_binder=True)
