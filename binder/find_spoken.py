"""Find for words as a caller says them: `the printer at reception is dead`, `guest wifi`.

Only asked when not everything typed is in one record. Words that say nothing of the network are
left out, everyday words stand for those of the trade; at last, what has most of the words is taken.
"""

from __future__ import annotations

import json
import sqlite3
from collections.abc import Iterator, Sequence
from typing import Final

from binder.find_words import LEAST, Asked, quoted
from binder.read import PAPERS

# Words of every English sentence, and of every complaint.
_EMPTY: Final = frozenset({
    "a", "an", "and", "are", "at", "by", "can't", "cannot", "could", "do", "does", "doesn't",
    "don't", "for", "from", "has", "have", "hello", "help", "hi", "i", "in", "into", "is",
    "isn't", "it", "its", "my", "no", "not", "of", "off", "on", "or", "our", "out", "please",
    "she", "he", "that", "the", "their", "there", "they", "this", "to", "we", "which", "with",
    "won't", "working", "works", "work", "you", "your", "again", "broken", "dead", "down",
    "fails", "failed", "gone", "lost", "new", "nothing", "offline", "problem", "slow", "stopped",
    "unplugged", "wrong",
})  # fmt: skip
# What people say, and what it is called in a binder.
_TRADE: Final = {
    "wifi": ("ssid", "wireless"), "wi-fi": ("ssid", "wireless"), "wlan": ("ssid", "wireless"),
    "internet": ("internet access", "circuit"), "line": ("circuit",), "isp": ("circuit",),
    "router": ("gateway",), "firewall": ("gateway",), "socket": ("outlet",), "jack": ("outlet",),
    "wallplate": ("outlet",), "telephone": ("phone",), "handset": ("phone",), "cctv": ("camera",),
    "nvr": ("recorder",), "dvr": ("recorder",), "computer": ("workstation",),
    "pc": ("workstation",), "laptop": ("workstation",), "ap": ("access point",),
    "hotspot": ("access point",), "battery": ("UPS",), "breaker": ("branch circuit",),
    "cabinet": ("rack",), "closet": ("room", "enclosure"), "password": ("account", "secret"),
    "login": ("account",), "cable": ("link", "cord"), "lead": ("cord",), "patch": ("cord",),
}  # fmt: skip
_MOST_TRIES: Final = 6


def plainer(words: Sequence[str]) -> Iterator[str]:
    """The same question in other words, the likeliest first; none when it cannot be put so."""
    telling = telling_words(words)
    tries = [telling]
    for at, word in enumerate(telling):
        for meant in _TRADE.get(word.casefold(), ()):
            tries.append([meant, *telling[:at], *telling[at + 1 :]])
    asked = " ".join(words)
    found = dict.fromkeys(" ".join(one) for one in tries if one)
    yield from [text for text in found if text != asked][:_MOST_TRIES]


def telling_words(words: Sequence[str]) -> list[str]:
    """The words without those of every sentence and every complaint."""
    bare = [word.strip(",;!?") for word in words]
    return [word for word in bare if word and word.casefold().strip(".:") not in _EMPTY]


# Circuits in use: those that come into one of the buildings first, then the primary.
_CIRCUITS: Final = """
SELECT c.id, 'circuit' FROM circuit c JOIN record r ON r.id = c.id
LEFT JOIN space d ON d.id = c.demarc_space_id WHERE c.status = 'installed'
ORDER BY coalesce(d.building_id IN (SELECT value FROM json_each(:buildings)), 0) DESC,
  instr('primary, backup, voice only, other', coalesce(c.role, 'other')), r.name
"""
_PLACES: Final = """
SELECT r.name || char(10) || coalesce(t.name, ''), t.id FROM building t JOIN record r ON r.id = t.id
UNION ALL SELECT r.name || char(10) || coalesce(t.name, ''), t.building_id
FROM space t JOIN record r ON r.id = t.id
"""


def circuits_meant(connection: sqlite3.Connection, asked: Asked) -> list[tuple[int, str]]:
    """The circuits, (id, kind) of each, where the words speak of the internet and of nothing else,
    or of a place it is missing at: `internet is down at the kennels`. What is itself called so
    stays first."""
    telling = [word.casefold() for word in telling_words(asked.words)]
    others = [word for word in telling if "circuit" not in _TRADE.get(word, ())]
    if len(others) == len(telling):
        return []
    places = connection.execute(_PLACES).fetchall() if others else []
    buildings = {
        building for names, building in places if any(w in names.casefold() for w in others)
    }
    named = "SELECT 1 FROM record WHERE name = ? COLLATE NOCASE"
    if (others and not buildings) or connection.execute(named, (asked.typed,)).fetchone():
        return []
    rows = connection.execute(_CIRCUITS, {"buildings": json.dumps(list(buildings))})
    return [(row[0], row[1]) for row in rows]


def nearest(
    connection: sqlite3.Connection, words: Sequence[str], limit: int
) -> tuple[list[tuple[int, str]], list[tuple[int, str]]]:
    """Records, (id, kind) of each, that lack just one of three words or more; and those that have
    any of several. Those with the most words come first, then those with the rarest, then those
    with a word in their name."""
    telling = [word for word in telling_words(words) if len(word) >= LEAST]
    if len(telling) < 2:
        return [], []
    holding = " UNION ALL ".join(
        f"SELECT rowid AS id, 1.0 / count(*) OVER () AS rarity FROM search WHERE search MATCH :w{n}"
        for n in range(len(telling))
    )
    named = " + ".join(f"(instr(lower(r.name), :in{n}) > 0)" for n in range(len(telling)))
    values = {f"w{n}": quoted(word) for n, word in enumerate(telling)}
    values |= {f"in{n}": word.lower() for n, word in enumerate(telling)}
    rows = connection.execute(
        "SELECT f.id, r.kind, f.held FROM (SELECT id, count(*) AS held, sum(rarity) AS rarity "
        f"FROM ({holding}) GROUP BY id) f JOIN record r ON r.id = f.id "
        f"ORDER BY f.held DESC, r.kind IN {PAPERS}, f.rarity DESC, {named} DESC, "
        "length(r.name), r.name "
        "LIMIT :limit",
        values | {"limit": limit},
    ).fetchall()
    least = len(telling) - 1 if len(telling) > 2 else len(telling)
    return [(row[0], row[1]) for row in rows if row[2] >= least], [(row[0], row[1]) for row in rows]
