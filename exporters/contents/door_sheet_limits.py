"""How much the door sheet tells, in the order in which it is given up, and texts cut to fit."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, replace
from typing import Any, Final

from binder.text import visible
from exporters.contents import one_page


@dataclass(frozen=True, slots=True)
class Limits:
    """How much of each the sheet tells.

    Letters of what can hurt or must not be cut (`mind`), of other texts, of a list of names, of one
    name; then how many of each. `rack`: 'all' its rows, those of 'devices', or a 'line'.
    """

    mind: int = 300
    text: int = 300
    names: int = 100
    name: int = 32
    people: int = 6
    callers: int = 4
    breakers: int = 6
    stages: int = 8
    rack: str = "all"


# What is given up first stands first.
CUTS: Final[tuple[Mapping[str, Any], ...]] = (
    {"rack": "devices"},
    {"names": 50},
    {"text": 120},
    {"people": 4, "callers": 3},
    {"rack": "line"},
    {"stages": 5},
    {"text": 60},
    {"mind": 160},
    {"breakers": 4, "people": 3, "callers": 2},
    {"names": 30, "stages": 4},
    {"text": 40, "mind": 90},
    {"breakers": 3, "mind": 60, "callers": 1},
    {"text": 28, "name": 20},
    {"mind": 45, "breakers": 2},
    {"stages": 2, "name": 14, "text": 20},
)


def levels() -> Iterator[Limits]:
    """What to try, one after the other, until it fits."""
    limits = Limits()
    yield limits
    for cut in CUTS:
        limits = replace(limits, **cut)
        yield limits


def one_line(text: str, most: int) -> str:
    """A name in one line, as wide as that many letters at most."""
    return one_page.fitting(" ".join(visible(text).split()), most * one_page.LETTER_PT)


def short(text: str, most: int) -> str:
    """A text in one line, as wide as that many letters at most, cut between words if it can be."""
    line = visible(", ".join(part.strip() for part in text.split("\n") if part.strip()))
    kept = one_page.fitting(line, most * one_page.LETTER_PT)
    if kept == line:
        return line
    kept = kept.removesuffix(one_page.CUT)
    return f"{(kept.rpartition(' ')[0] or kept).rstrip(' ,;:')}{one_page.CUT}"


def some(told: Iterable[str], most: int) -> list[str]:
    """The first so many, and how many more there are."""
    every = [each for each in told if each]
    return every if len(every) <= most else [*every[:most], f"and {len(every) - most} more"]
