"""What is typed into find, read: its words, and the other ways of writing the same number.

No character of it is syntax: each phrase stands in the quotes of FTS5. The index is of trigrams
and answers nothing below three characters; shorter words go by the beginnings of words.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Mapping, Sequence

from binder.records.catalog import BY_NAME, BY_PLURAL
from binder.search_index import PUNCTUATION

LEAST = 3  # characters of a trigram
LONGEST = 500  # characters that are matched with patterns; SQLite takes no endless ones
_MOST_WORDS = 12
_LONGEST_WORD = 100
_TAIL = 9  # last digits of a telephone number, without country code and trunk prefix

_STRIPPED = str.maketrans("", "", PUNCTUATION)
_FOUR_NUMBERS = re.compile(r"([0-9]{1,3})" + r"[ .,:_-]+([0-9]{1,3})" * 3)
_VLAN = re.compile(r"vlan[ :#-]*([0-9]{1,4})", re.IGNORECASE)


class Asked:
    """The text asked for, read.

    All `words` must match. `numbers` are the whole text as circuit, account, serial and telephone
    numbers and MACs are kept to be found; `ip` is it as an address; `vlan` as a VLAN. When one
    word names a `kind` of record (`port 07`), `rest` are the others.
    """

    def __init__(self, text: str) -> None:
        self.text = text.encode(errors="replace").decode()
        typed = self.text.replace("\x00", "").strip()
        self.typed = typed
        words = dict.fromkeys(word[:_LONGEST_WORD] for word in typed.split())
        self.words = list(words)[:_MOST_WORDS]
        self.kind, self.rest = _kind_asked(self.words)
        self.ip = ip_written(typed)
        self.numbers = list(dict.fromkeys(_numbers(stripped(typed)[:_LONGEST_WORD])))
        vlan = _VLAN.fullmatch(typed)
        self.vlan = int(vlan[1]) if vlan else None
        self._folded = [word.casefold() for word in self.words]

    def numbers_phrase(self) -> str:
        """The FTS5 query for the whole text as a number or an address; '' when it is neither."""
        phrases = [f"compact : {quoted(number)}" for number in self.numbers]
        if self.ip:
            phrases.append(quoted(self.ip))
        return " OR ".join(phrases)

    def matched_in(self, value: str, *, is_number: bool) -> int:
        """How many words a value holds; more than there are when it holds the whole number."""
        folded = value.casefold()
        if self.ip and self.ip in folded:
            return len(self.words) + 1
        plain = stripped(value) if is_number else ""
        if plain and any(number in plain for number in self.numbers):
            return len(self.words) + 1
        return sum(
            word in folded or (bool(plain) and stripped(word) in plain) for word in self._folded
        )


def words_phrase(words: Iterable[str], rooms: Mapping[str, Sequence[str]]) -> str:
    """The FTS5 query that every long word must match, in any column; '' when there is none.

    `rooms` are the identifiers of rooms by the word in what people call them.
    """
    return " AND ".join(_any_way(word, rooms) for word in words if len(word) >= LEAST)


def short_words(words: Iterable[str]) -> list[str]:
    """The words that trigrams cannot find."""
    return [word for word in words if len(word) < LEAST]


def stripped(text: str) -> str:
    """The text as the `compact` column of the index has it."""
    return text.lower().translate(_STRIPPED)


def quoted(phrase: str) -> str:
    """A phrase as FTS5 reads it: every character stands for itself."""
    return '"' + phrase.replace('"', '""') + '"'


def like(text: str) -> str:
    """The text in a LIKE pattern with ESCAPE '\\': every character stands for itself."""
    return text.replace("\\", "\\\\").replace("%", "\\%").replace("_", "\\_")


def glob_of_beginning(word: str) -> str:
    """The GLOB pattern, for `lower()`, of a text in which a later word begins with this one."""
    lower = word.encode().lower().decode()  # ASCII only, as SQLite's lower()
    literal = "".join(f"[{c}]" if c in "*?[" else c for c in lower)
    return f"*[^a-z0-9]{literal}*"


def ip_written(text: str) -> str:
    """The address that the text is, however written: 192.000.002.010, 192-0-2-10; '' if none."""
    if found := _FOUR_NUMBERS.fullmatch(text):
        numbers = [int(number) for number in found.groups()]
        return ".".join(map(str, numbers)) if max(numbers) < 256 else ""
    if text.count(":") < 2:
        return ""
    import ipaddress

    try:
        return str(ipaddress.ip_address(text))
    except ValueError:
        return ""


def trigrams(words: Iterable[str]) -> str:
    """The FTS5 query that any part of three characters of any word matches."""
    parts = {word[at : at + LEAST] for word in words for at in range(len(word) - LEAST + 1)}
    return " OR ".join(quoted(part) for part in sorted(parts))


def _kind_asked(words: Sequence[str]) -> tuple[str, list[str]]:
    for at, word in enumerate(words):
        kind = BY_NAME.get(word.lower()) or BY_PLURAL.get(word.lower())
        if kind and len(words) > 1:
            return kind.name, [*words[:at], *words[at + 1 :]]
    return "", []


def _any_way(word: str, rooms: Mapping[str, Sequence[str]]) -> str:
    """A word as typed, or as an address, part of a number without its punctuation, or a room."""
    ways = [quoted(word)]
    if (ip := ip_written(word)) and ip != word:
        ways.append(quoted(ip))
    plain = stripped(word)
    if plain != word.lower() and len(plain) >= LEAST:
        ways.append(f"compact : {quoted(plain)}")
    ways += [quoted(room) for room in rooms.get(word, ())]
    return f"({' OR '.join(ways)})" if len(ways) > 1 else ways[0]


def _numbers(plain: str) -> Iterator[str]:
    """As the number may be kept: as typed, without a trunk 0, without its country."""
    if len(plain) < LEAST or not any(character.isdigit() for character in plain):
        return
    yield plain
    if plain.isdecimal() and len(plain) > _TAIL:
        yield plain.lstrip("0") or plain
        yield plain[-_TAIL:]
