"""Passphrases of keyholders: what makes a good one, and new ones.

The advice is that of NIST SP 800-63B-4, 3.1.1.2: 15 characters at least where the passphrase
stands alone, any characters, no rules of composition, no change by the calendar, and a list of
what is guessed first.
"""

from __future__ import annotations

import functools
import math
import re
import secrets
import unicodedata
from collections.abc import Iterable
from dataclasses import dataclass
from importlib import resources

from binder.envelope.secret_value import SecretValue
from binder.errors import RequestError

LEAST = 15
MOST = 1000
ADVICE = (
    f"At least {LEAST} characters; longer is better, and any characters will do. Not a sentence "
    "others know, not the client's name. It need not change by the calendar: change it when "
    "someone who knew it leaves."
)

# Crockford's base 32: without i, l, o, u. In lower case, because it is typed without shift.
_BASE32 = "0123456789abcdefghjkmnpqrstvwxyz"
_GROUP = 5
_LEAST_OF_ITS_OWN = 8  # characters that are neither common, nor a run, nor the client's name
_ROWS = ("qwertyuiop", "asdfghjkl", "zxcvbnm", "abcdefghijklmnopqrstuvwxyz", "01234567890")
_LOOKALIKES = str.maketrans("@4831!05$7", "aabeliosst")


@dataclass(frozen=True, slots=True)
class Generated:
    """A new passphrase or password. `bits`: the logarithm of how many it was drawn from."""

    value: SecretValue
    bits: float


def new_passphrase(groups: int = 4) -> Generated:
    """Random groups of five letters and digits, such as k7m2q-9xw4t-..., 25 bits each.

    Four groups, 100 bits, are beyond guessing even where each guess were free.
    """
    characters = [secrets.choice(_BASE32) for _ in range(groups * _GROUP)]
    text = "-".join(
        "".join(characters[at : at + _GROUP]) for at in range(0, len(characters), _GROUP)
    )
    return Generated(SecretValue(text), groups * _GROUP * math.log2(len(_BASE32)))


def require_good(passphrase: SecretValue, names: Iterable[str] = ()) -> None:
    """Raises RequestError when `weakness` finds something."""
    says = weakness(passphrase, names)
    if says:
        raise RequestError(says)


def weakness(passphrase: SecretValue, names: Iterable[str] = ()) -> str:
    """What is wrong with a passphrase, as a sentence; empty when nothing is.

    `names` are what anyone would try first: the client's name, the keyholder's.
    """
    length = len(unicodedata.normalize("NFKC", passphrase.expose()))
    if length < LEAST:
        return f"a passphrase has at least {LEAST} characters; this one has {length}"
    if length > MOST:
        return f"a passphrase has at most {MOST} characters"
    if _of_its_own(passphrase, names) < _LEAST_OF_ITS_OWN:
        return (
            "that passphrase is little more than common words, a run of keys, or a name from "
            "this binder; add words that have nothing to do with it, or have one made"
        )
    return ""


def _of_its_own(passphrase: SecretValue, names: Iterable[str]) -> int:
    """How many characters are left without what is guessed first, at the worst reading."""
    known = _common() | {
        word for name in names for word in (_folded(name), *map(_folded, name.split()))
    }
    pattern = re.compile(
        "|".join(re.escape(w) for w in sorted(known, key=len, reverse=True) if len(w) > 2) or "$^"
    )
    text = unicodedata.normalize("NFKC", passphrase.expose()).casefold()
    return min(
        len(_without_runs(_period(pattern.sub("", _folded(reading)))))
        for reading in (text, text.translate(_LOOKALIKES))
    )


def _folded(text: str) -> str:
    return "".join(character for character in text.casefold() if character.isalnum())


def _period(text: str) -> str:
    """What is repeated, when it is nothing but a repetition: once."""
    at = (text + text).find(text, 1)
    return text[:at] if 0 < at < len(text) else text


def _without_runs(text: str) -> str:
    """Runs of one character, of neighbours on the keyboard, or of the alphabet count as one."""
    kept: list[str] = []
    step = None
    for before, character in zip(" " + text, text, strict=False):
        move = _step(before, character)
        if move is None or move != step:
            kept.append(character)
        step = move
    return "".join(kept)


def _step(before: str, after: str) -> int | None:
    """0, 1 or -1 from one character to the next in a run; None when they are no neighbours."""
    if before == after:
        return 0
    for row in _ROWS:
        if before + after in row:
            return 1
        if after + before in row:
            return -1
    return None


@functools.cache
def _common() -> frozenset[str]:
    text = resources.files("binder.envelope").joinpath("common_passwords.txt").read_text("utf-8")
    return frozenset(line for line in text.splitlines() if line and not line.startswith("#"))
