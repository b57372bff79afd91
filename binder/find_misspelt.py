"""Find for words with one slip of the keyboard: a letter wrong, missing, too many or changed over.

Only asked when nothing matches as typed. Candidates share three characters with a word (or are
names in words, since a slip in the middle of a short word leaves none to share); then the
optimal string alignment distance decides.
"""

from __future__ import annotations

import re
import sqlite3
from collections.abc import Iterable, Sequence

from rapidfuzz.distance import OSA

from binder.find_words import LEAST, trigrams

_CANDIDATES = 200
_NAMES = 2000
_LEAST_MISSPELT = 4  # shorter words are too like each other
_TWO_SLIPS = 8  # letters of a word that may have two
_WORD = re.compile(r"\w+")


class Misspelt:
    """The records `found`, (id, kind) of each: those with the fewest slips, likeliest first."""

    def __init__(self, connection: sqlite3.Connection, words: Sequence[str]) -> None:
        self.words = _WORD.findall(" ".join(words).casefold())
        self.found: list[tuple[int, str]] = []
        if any(len(word) >= _LEAST_MISSPELT for word in self.words):
            self.found = self._closest(connection)

    def _closest(self, connection: sqlite3.Connection) -> list[tuple[int, str]]:
        distances: dict[tuple[int, str], int] = {}
        for record_id, kind, text in self._candidates(connection):
            distance = self._distance(text)
            if distance is not None:
                distances.setdefault((record_id, kind), distance)
        fewest = min(distances.values(), default=0)
        return [found for found, distance in distances.items() if distance == fewest]

    def _candidates(self, connection: sqlite3.Connection) -> Iterable[tuple[int, str, str]]:
        if phrase := trigrams(word for word in self.words if len(word) >= LEAST):
            yield from connection.execute(
                "SELECT r.id, r.kind, s.name || ' ' || s.body FROM search s "
                "JOIN record r ON r.id = s.rowid WHERE search MATCH ? ORDER BY rank LIMIT ?",
                (phrase, _CANDIDATES),
            )
        yield from connection.execute(
            "SELECT id, kind, name FROM record WHERE name NOT GLOB '*[0-9]*' LIMIT ?", (_NAMES,)
        )

    def _distance(self, text: str) -> int | None:
        """How many slips all words together are from the text; None when one is too far."""
        folded = text.casefold()
        there = set(_WORD.findall(folded))
        total = 0
        for word in self.words:
            distance = 0 if word in folded else _slips(word, there)
            if distance is None:
                return None
            total += distance
        return total

    def matched_in(self, value: str, *, is_number: bool) -> int:
        """How many of the words the value holds, give or take a slip."""
        folded = value.casefold()
        there = set(_WORD.findall(folded))
        return sum(word in folded or _slips(word, there) is not None for word in self.words)


def _slips(word: str, there: Iterable[str]) -> int | None:
    """The fewest slips between the word and one that is there, or, for one slip, the beginning
    of one: it may still be being typed."""
    if len(word) < _LEAST_MISSPELT:
        return None
    most = 2 if len(word) >= _TWO_SLIPS else 1
    fewest = most + 1
    for other in there:
        fewest = min(fewest, OSA.distance(word, other, score_cutoff=most))
        if OSA.distance(word, other[: len(word)], score_cutoff=1) == 1:
            fewest = min(fewest, 1)
    return fewest if fewest <= most else None
