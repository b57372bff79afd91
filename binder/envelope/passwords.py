"""New passwords for devices and carriers, and how to read one over the phone."""

from __future__ import annotations

import itertools
import math
import secrets
import string
import unicodedata
from dataclasses import dataclass

from binder.envelope.passphrases import Generated
from binder.envelope.secret_value import SecretValue
from binder.errors import RequestError


@dataclass(frozen=True, slots=True)
class Style:
    """A way to make passwords. Each of `classes` occurs at least once; hyphens every `group`."""

    name: str
    says: str
    classes: tuple[str, ...]
    length: int
    group: int = 0


# Punctuation that no command line, URL or template of the usual devices takes for its own.
_PUNCTUATION = "!+-.:=?@_"
# Neither 0 and o, 1 and l and i, nor capitals: nothing is asked twice.
_UNMISTAKABLE = "abcdefghjkmnpqrstuvwxyz23456789"

STYLES = {
    style.name: style
    for style in (
        Style("mixed", "capitals, small letters, digits and punctuation",
              (string.ascii_uppercase, string.ascii_lowercase, string.digits, _PUNCTUATION), 20),
        Style("plain", "letters and digits, for devices that take no others",
              (string.ascii_uppercase, string.ascii_lowercase, string.digits), 20),
        Style("phone", "easily read out: small letters and digits, none mistaken for another",
              (_UNMISTAKABLE,), 16, group=4),
        Style("digits", "digits only, for keypads and account PINs", (string.digits,), 8),
    )
}  # fmt: skip
MOST_LENGTH = 128


def new_password(style: str = "mixed", length: int | None = None) -> Generated:
    """A random password of `length` characters, the hyphens between groups not counted.

    Raises RequestError for a style there is not, or a length that cannot be.
    """
    if style not in STYLES:
        raise RequestError(f"no such password: {style}; there are: {', '.join(STYLES)}")
    chosen = STYLES[style]
    length = chosen.length if length is None else length
    if not len(chosen.classes) <= length <= MOST_LENGTH:
        raise RequestError(
            f"a {style} password has {len(chosen.classes)} to {MOST_LENGTH} characters"
        )
    characters = _drawn(chosen, length)
    group = chosen.group or length
    text = "-".join("".join(characters[at : at + group]) for at in range(0, length, group))
    return Generated(SecretValue(text), _bits(chosen, length))


def _drawn(style: Style, length: int) -> list[str]:
    """Uniform among those in which every class occurs: drawn again until it does."""
    alphabet = "".join(style.classes)
    while True:
        characters = [secrets.choice(alphabet) for _ in range(length)]
        if all(not set(one).isdisjoint(characters) for one in style.classes):
            return characters


def _bits(style: Style, length: int) -> float:
    """Logarithm of how many there are: inclusion and exclusion over the classes left out."""
    sizes = [len(one) for one in style.classes]
    ways = sum(
        (-1) ** left_out * (sum(sizes) - sum(absent)) ** length
        for left_out in range(len(sizes))
        for absent in itertools.combinations(sizes, left_out)
    )
    return math.log2(ways)


# The radiotelephony spelling alphabet: ICAO Annex 10, volume II, 5.2.1.3 (value from memory).
_WORDS = {
    word[0]: word
    for word in (
        "alfa", "bravo", "charlie", "delta", "echo", "foxtrot", "golf", "hotel", "india",
        "juliett", "kilo", "lima", "mike", "november", "oscar", "papa", "quebec", "romeo",
        "sierra", "tango", "uniform", "victor", "whiskey", "x-ray", "yankee", "zulu",
    )
}  # fmt: skip
_DIGITS = dict(
    zip(
        string.digits,
        ("zero", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine"),
        strict=True,
    )
)
_SIGNS = {
    " ": "space", "!": "exclamation mark", '"': "double quote", "#": "hash", "$": "dollar",
    "%": "percent", "&": "ampersand", "'": "single quote", "(": "left parenthesis",
    ")": "right parenthesis", "*": "asterisk", "+": "plus", ",": "comma", "-": "hyphen",
    ".": "dot", "/": "slash", ":": "colon", ";": "semicolon", "<": "less than", "=": "equals",
    ">": "greater than", "?": "question mark", "@": "at sign", "[": "left bracket",
    "\\": "backslash", "]": "right bracket", "^": "caret", "_": "underscore", "`": "backtick",
    "{": "left brace", "|": "vertical bar", "}": "right brace", "~": "tilde", "\n": "new line",
}  # fmt: skip


def spelled(value: SecretValue) -> SecretValue:
    """The value in words, as it is read over the phone: 'kilo, seven, capital mike'."""
    return SecretValue(", ".join(_word(character) for character in value.expose()))


def _word(character: str) -> str:
    if character in _WORDS:
        return _WORDS[character]
    if character in string.ascii_uppercase:
        return f"capital {_WORDS[character.lower()]}"
    known = _DIGITS.get(character) or _SIGNS.get(character)
    return known or unicodedata.name(character, f"character {ord(character):X}").lower()
