"""Identifiers: checked against ANSI/TIA-606, in series, and in the order people expect.

The forms themselves are in `binder.tia606`. Owners may have their own scheme: `check` points out,
and nothing here forbids.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from reprlib import repr as quoted
from types import MappingProxyType
from typing import TYPE_CHECKING, Final

# `binder.tia606` is imported where a form is read: sorting by `natural_key`, which every list
# needs, should not pay 5 ms for it.
if TYPE_CHECKING:
    from binder.tia606 import Form, Identifier

# The most identifiers one text may stand for: past this a series is a slip of the keyboard.
LONGEST_SERIES: Final = 5000

# What a termination field of each colour holds (ANSI/TIA-606).
TERMINATION_COLOURS: Final[Mapping[str, str]] = MappingProxyType(
    {
        "orange": "demarcation (carrier termination)",
        "green": "network connections, customer side",
        "purple": "common equipment (exchange, host, LAN, multiplexer)",
        "white": "first-level backbone, same building",
        "gray": "second-level backbone, same building",
        "brown": "inter-building backbone",
        "blue": "horizontal",
        "yellow": "miscellaneous, auxiliary, alarm, security",
        "red": "key telephone systems",
    }
)


def parse(text: str) -> Identifier:
    """The identifier `text` is, by the forms of ANSI/TIA-606; the first form that fits.

    Raises ValueError, with what does not fit, for anything else.
    """
    from binder.tia606 import READ_IN_TURN, read_as

    for form in READ_IN_TURN:
        found = read_as(form, text)
        if not found.problem:
            return form(**found.values)
    raise ValueError(_misfit(text, READ_IN_TURN))


def check(text: str, expected: Form | None = None) -> str | None:
    """None when `text` fits the form expected (any, if None), else one sentence on what does not.

    A warning and never a refusal: owners may have their own scheme. Raises ValueError for a form
    that is not one of `binder.tia606.FORMS`.
    """
    from binder.tia606 import FORMS, READ_IN_TURN, read_as

    forms = tuple(form for form in READ_IN_TURN if expected in (None, form.form))
    if not forms:
        raise ValueError(f"{quoted(expected)} is no form of identifier: {', '.join(FORMS)}")
    for form in forms:
        found = read_as(form, text)
        if not found.problem:
            return _order_of_spaces(text, found.values)
    if text != text.upper() and check(text.upper(), expected) is None:
        return f"{quoted(text)} is written in capitals in the standard: {text.upper()}"
    return _misfit(text, forms)


def far_end_label(text: str) -> str:
    """The label of a cable's other end: `near/far` becomes `far/near` (606-B; from memory).

    A backbone cable keeps its identifier at both ends. Raises ValueError without one '/' between
    two ends.
    """
    from binder.tia606 import BuildingBackbone, CampusBackbone, read_as

    near, slash, far = text.partition("/")
    if not (near and slash and far) or "/" in far:
        raise ValueError(f"{quoted(text)} does not name two ends: write near/far, with one '/'")
    if any(not read_as(form, text).problem for form in (BuildingBackbone, CampusBackbone)):
        return text
    return f"{far}/{near}"


def administration_class(
    *, sites: int, buildings: int, equipment_rooms: int, telecommunications_rooms: int,
    backbone_cables: int = 0,
) -> int:  # fmt: skip
    """The class of administration (1 to 4) of ANSI/TIA-606 for premises of that extent.

    1: one equipment room and no backbone; 2: one building with several rooms or a backbone; 3: one
    site of several buildings; 4: several sites. Raises ValueError for a count below its least.
    """
    least = {"sites": (sites, 1), "buildings": (buildings, 1),
             "equipment rooms": (equipment_rooms, 0),
             "telecommunications rooms": (telecommunications_rooms, 0),
             "backbone cables": (backbone_cables, 0)}  # fmt: skip
    for what, (number, minimum) in least.items():
        if number < minimum:
            raise ValueError(f"{number} {what}: at least {minimum}")
    if sites > 1:
        return 4
    if buildings > 1:
        return 3
    return 2 if equipment_rooms + telecommunications_rooms > 1 or backbone_cables else 1


def _misfit(text: str, forms: tuple[type[Identifier], ...]) -> str:
    from binder.tia606 import read_as

    closest = max(forms, key=lambda form: read_as(form, text).reached)
    problem = read_as(closest, text).problem
    if len({form.form for form in forms}) > 1:
        return (
            f"{quoted(text)} fits no form of ANSI/TIA-606;"
            f" for a {closest.form} ({closest.example}) {problem}"
        )
    return f"{quoted(text)} is not a {closest.form} ({closest.example}): {problem}"


def _order_of_spaces(text: str, values: Mapping[str, str]) -> str | None:
    """What is wrong with the order of the spaces of a backbone: the lesser comes first (606-A)."""
    near, far = values.get("near", ""), values.get("far", "")
    if "cable" in values and natural_key(far) < natural_key(near):
        return f"{quoted(text)} names the greater space first: begin with {far}"
    return None


# Numbering. --------------------------------------------------------------------------------

NaturalKey = tuple[tuple[tuple[int, int, str], ...], str]

_DIGITS: Final = re.compile(r"([0-9]+)")
_RANGE: Final = re.compile(r"(?s)(?P<stem>.*?)(?P<first>[0-9]{1,9})\.\.(?P<last>.+)")
_COUNTER: Final = re.compile(r"(?s)(?P<stem>.*?)(?P<counter>[0-9]+|[^\W\d_]+)(?P<tail>\(.*\))?")


def natural_key(text: str) -> NaturalKey:
    """A sort key that puts `A2` before `A10`, whatever the case; texts that differ never tie."""
    chunks = []
    for chunk in _DIGITS.split(text.casefold()):
        if chunk and chunk[0] in "0123456789":
            value = chunk.lstrip("0")
            chunks.append((0, len(value), value))
        elif chunk:
            chunks.append((1, 0, chunk))
    return tuple(chunks), text


def series(text: str) -> tuple[str, ...]:
    """The identifiers that `text` stands for: `1A-A01..24` is 1A-A01, 1A-A02, ... 1A-A24.

    The zeros of the first number are kept; commas part several (`1A-A01..04,1A-B01`). Raises
    ValueError for an empty item, a range that runs backwards or has no number, an identifier named
    twice, or more than `LONGEST_SERIES` of them.
    """
    named: dict[str, None] = {}
    for item in text.split(","):
        for identifier in _range(item.strip(), LONGEST_SERIES - len(named)):
            if identifier in named:
                raise ValueError(f"{quoted(identifier)} is named twice in the series")
            named[identifier] = None
    return tuple(named)


def next_identifier(text: str) -> str:
    """The identifier after `text`: `1A-A09` gives 1A-A10, `1A-A` gives 1A-B, `Z` gives AA.

    The last number counts on and keeps its zeros, before a rating in brackets (`3-FSL02(2)`). One
    or two closing letters count on as the letters of panels do; a longer word gets a 2 (`UPS`,
    UPS2). Raises ValueError when there is neither a number nor a letter at the end.
    """
    found = _COUNTER.fullmatch(text)
    if found is None:
        raise ValueError(f"{quoted(text)} has no number or letter at its end to count on from")
    stem, counter, tail = found["stem"], found["counter"], found["tail"] or ""
    if counter[0] in "0123456789":
        following = _following_number(counter)
    elif len(counter) <= 2 and counter.isascii():
        following = _following_letters(counter)
    else:
        following = f"{counter}2"
    return f"{stem}{following}{tail}"


def _range(item: str, room: int) -> list[str]:
    if not item:
        raise ValueError("the series has an empty item: write identifiers with a comma between two")
    stem, first, last = item, "", ""
    if ".." in item:
        found = _RANGE.fullmatch(item)
        if found is None:
            raise ValueError(f"{quoted(item)} is no series: write it as 1A-A01..24")
        stem, first = found["stem"], found["first"]
        last = found["last"].removeprefix(stem)
        if not re.fullmatch("[0-9]{1,9}", last):
            raise ValueError(f"{quoted(item)} is no series: write it as 1A-A01..24")
        if int(last) < int(first):
            raise ValueError(f"{quoted(item)} runs backwards: write the lower number first")
    length = int(last) - int(first) + 1 if first else 1
    if length > room:
        raise ValueError(
            f"{quoted(item)} makes the series longer than {LONGEST_SERIES} identifiers"
        )
    if not first:
        return [stem]
    return [f"{stem}{number:0{len(first)}d}" for number in range(int(first), int(last) + 1)]


def _following_number(digits: str) -> str:
    return str(int(digits) + 1).zfill(len(digits))


def _following_letters(letters: str) -> str:
    """Z becomes AA, AZ becomes BA; each letter keeps its case."""
    rest, last = letters[:-1], letters[-1]
    if last not in "zZ":
        return rest + chr(ord(last) + 1)
    first = "a" if last == "z" else "A"
    return (_following_letters(rest) if rest else first) + first
