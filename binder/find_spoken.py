"""Find for words as a caller says them: `the printer at reception is dead`, `guest wifi`.

Only asked when not everything typed is in one record. Words that say nothing of the network are
left out, everyday words stand for those of the trade; at last, what has most of the words is taken.
"""

from __future__ import annotations

import sqlite3
from collections.abc import Iterator, Sequence
from typing import Final

from binder.find_words import LEAST, quoted
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


def most_of(
    connection: sqlite3.Connection, words: Sequence[str], limit: int
) -> list[tuple[int, str]]:
    """Records, (id, kind) of each, that lack just one of the words and have two at least."""
    telling = _long_words(words)
    return _holding(connection, telling, len(telling) - 1, limit) if len(telling) > 2 else []


def any_of(
    connection: sqlite3.Connection, words: Sequence[str], limit: int
) -> list[tuple[int, str]]:
    """Records that have any of several words, those with the most of them first."""
    telling = _long_words(words)
    return _holding(connection, telling, 1, limit) if len(telling) > 1 else []


def _long_words(words: Sequence[str]) -> list[str]:
    return [word for word in telling_words(words) if len(word) >= LEAST]


def _holding(
    connection: sqlite3.Connection, words: Sequence[str], least: int, limit: int
) -> list[tuple[int, str]]:
    held = " + ".join(
        f"(instr(lower(s.name || ' ' || s.body), :word{n}) > 0)" for n in range(len(words))
    )
    values = {f"word{n}": word.casefold() for n, word in enumerate(words)}
    rows = connection.execute(
        f"SELECT s.rowid, r.kind, {held} AS held FROM search s JOIN record r ON r.id = s.rowid "
        f"WHERE search MATCH :any ORDER BY held DESC, r.kind IN {PAPERS}, "
        "bm25(search, 10, 1, 5) LIMIT :limit",
        values | {"any": " OR ".join(quoted(word) for word in words), "limit": limit},
    ).fetchall()
    return [(row[0], row[1]) for row in rows if row[2] >= least]
