"""The forms of identifier of ANSI/TIA-606, each read and written by one sequence of parts.

Sources: ANSI/TIA-606-A (2002) for the forms that begin with a space (`1A-A07`); 606-A-1 (2008) and
606-B (2012) for cabinet, panel and port (`DC.C03-14:04`); TIA-942 (2005) for cabinets on a floor
grid (`AJ05`). Numbers of digits are partly from memory. A rack in a space (`1A-R1`) is a form of
our own.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from functools import cached_property
from reprlib import repr as quoted
from typing import ClassVar, Final, Literal, get_args

Form = Literal[
    "space",
    "horizontal link",
    "rack",
    "busbar",
    "panel",
    "building backbone cable",
    "campus backbone cable",
    "firestop",
    "cabinet",
    "port",
    "link between ports",
]
FORMS: Final[tuple[Form, ...]] = get_args(Form)


class _Part:
    """A field of an identifier: what it may look like, and the words for it."""

    def __init__(self, field: str, pattern: str, words: str) -> None:
        self.field = field
        self.words = words
        self._pattern = pattern

    @cached_property
    def pattern(self) -> re.Pattern[str]:
        """Compiled when first read: all of them at import would cost a search 5 ms."""
        return re.compile(self._pattern)


_CABINET: Final = r"(?:[0-9A-Z]+\.[A-Z]{0,2}|[0-9]+[A-Z]+|[A-Z]{1,2})[0-9]{2,3}"
_CABINET_PORT: Final = rf"{_CABINET}-(?:[0-9]{{1,2}}:[0-9]{{1,4}}|[A-Z]{{1,2}}[0-9]{{2,4}})"

_BUILDING_WORDS: Final = "the letters and digits of a building"
_STRAND: Final = _Part("strand", r"(?:\.[0-9A-Z]+)?", "'.' and a pair or strand")
_BACKBONE: Final = _Part("cable", r"[0-9A-Z]{1,2}", "one or two letters or digits of the cable")


def _space(field: str = "space") -> _Part:
    return _Part(field, r"[0-9]{1,3}[A-Z]{1,3}", "a space, floor digits then room letters (1A)")


@dataclass(frozen=True, slots=True)
class _Identifier:
    """What every form has: its name in plain words, an example, and its parts in order."""

    form: ClassVar[Form]
    example: ClassVar[str]
    parts: ClassVar[tuple[_Part | str, ...]]

    def text(self) -> str:
        """The identifier as it is written on a label."""
        return "".join(
            part if isinstance(part, str) else getattr(self, part.field) for part in self.parts
        )


@dataclass(frozen=True, slots=True)
class Space(_Identifier):
    """`1A`: floor 1, room A."""

    floor: str
    room: str
    form = "space"
    example = "1A"
    parts = (
        _Part("floor", "[0-9]{1,3}", "the digits of the floor"),
        _Part("room", "[A-Z]{1,3}", "the letters of the room"),
    )


@dataclass(frozen=True, slots=True)
class HorizontalLink(_Identifier):
    """`1A-A07`: in space 1A, panel A, port 07."""

    space: str
    panel: str
    port: str
    form = "horizontal link"
    example = "1A-A07"
    parts = (
        _space(),
        "-",
        _Part("panel", "[A-Z]{1,2}", "one or two letters of the panel"),
        _Part("port", "[0-9]{2,4}", "two to four digits of the port"),
    )


@dataclass(frozen=True, slots=True)
class Rack(_Identifier):
    """`1A-R1`: the first rack of space 1A. `1A-R10` reads as port 10 of panel R unless checked."""

    space: str
    number: str
    form = "rack"
    example = "1A-R1"
    parts = (_space(), "-R", _Part("number", "[1-9][0-9]?", "the number of the rack"))


@dataclass(frozen=True, slots=True)
class Busbar(_Identifier):
    """`1A-TMGB`, `3A-TGB`; TIA-607-D names the main busbar PBB and those of the rooms SBB."""

    space: str
    busbar: str
    form = "busbar"
    example = "1A-TMGB"
    parts = (_space(), "-", _Part("busbar", "TMGB|TGB|PBB|SBB", "TMGB, TGB, PBB or SBB"))


@dataclass(frozen=True, slots=True)
class Panel(_Identifier):
    """`1A-A`: panel A of space 1A. `DC.C03-14`: the panel 14 U from the bottom of cabinet C03."""

    place: str
    panel: str
    form = "panel"
    example = "1A-A or DC.C03-14"
    parts = (
        _Part("place", rf"{_CABINET}|[0-9]{{1,3}}[A-Z]{{1,3}}(?!-[0-9])", "a space or a cabinet"),
        "-",
        _Part("panel", "[A-Z]{1,2}|[0-9]{1,2}", "the letters of the panel or its U"),
    )


@dataclass(frozen=True, slots=True)
class BuildingBackbone(_Identifier):
    """`1A/2B-1`: cable 1 between spaces 1A and 2B; `1A/2B-1.04` a pair or strand of it."""

    near: str
    far: str
    cable: str
    strand: str
    form = "building backbone cable"
    example = "1A/2B-1"
    parts = (_space("near"), "/", _space("far"), "-", _BACKBONE, _STRAND)


@dataclass(frozen=True, slots=True)
class CampusBackbone(_Identifier):
    """`[B1-1A]/[B2-2B]-1.04`: strand 04 of cable 1 between buildings B1 and B2."""

    near_building: str
    near: str
    far_building: str
    far: str
    cable: str
    strand: str
    form = "campus backbone cable"
    example = "[B1-1A]/[B2-2B]-1"
    parts = (
        "[",
        _Part("near_building", "[0-9A-Z]+", _BUILDING_WORDS),
        "-",
        _space("near"),
        "]/[",
        _Part("far_building", "[0-9A-Z]+", _BUILDING_WORDS),
        "-",
        _space("far"),
        "]-",
        _BACKBONE,
        _STRAND,
    )


@dataclass(frozen=True, slots=True)
class Firestop(_Identifier):
    """`3-FSL02(2)`: floor 3, location 02, rated two hours."""

    floor: str
    location: str
    hours: str
    form = "firestop"
    example = "3-FSL02(2)"
    parts = (
        _Part("floor", "[0-9]{1,3}", "the digits of the floor"),
        "-FSL",
        _Part("location", "[0-9]{2,4}", "two to four digits of the location"),
        "(",
        _Part("hours", r"[0-9](?:\.[0-9]+)?", "the rating in hours"),
        ")",
    )


@dataclass(frozen=True, slots=True)
class Cabinet(_Identifier):
    """`1A.C03`: row C, cabinet 03 of space 1A; `AJ05` on a floor grid; `4BK01` with no joint."""

    space: str
    joint: str
    row: str
    number: str
    form = "cabinet"
    example = "1A.C03 or AJ05"
    parts = (
        _Part("space", r"(?:[0-9A-Z]+(?=\.)|[0-9]+[A-Z]+)?", "a space"),
        _Part("joint", r"(?:(?<=[0-9A-Z])\.)?", "'.'"),
        _Part("row", "[A-Z]{0,2}", "the letters of the row"),
        _Part("number", "(?<=[A-Z.])[0-9]{2,3}", "row letters and two or three digits"),
    )


@dataclass(frozen=True, slots=True)
class Port(_Identifier):
    """`DC.C03-14:04`: port 04 of the panel at U14. `AJ05-A01`: port 01 of panel A."""

    cabinet: str
    panel: str
    joint: str
    port: str
    form = "port"
    example = "DC.C03-14:04"
    parts = (
        _Part("cabinet", _CABINET, "a cabinet (DC.C03)"),
        "-",
        _Part("panel", "[0-9]{1,2}(?=:)|[A-Z]{1,2}", "the U of the panel and ':', or its letters"),
        _Part("joint", ":?", "':'"),
        _Part("port", "(?<=:)[0-9]{1,4}|[0-9]{2,4}", "the digits of the port"),
    )


@dataclass(frozen=True, slots=True)
class PortLink(_Identifier):
    """`4BK01-55:50/DC.C03-14:04`: the near port, then the far one."""

    near: str
    far: str
    form = "link between ports"
    example = "4BK01-55:50/DC.C03-14:04"
    parts = (
        _Part("near", _CABINET_PORT, "a port (4BK01-55:50)"),
        "/",
        _Part("far", _CABINET_PORT, "a port (DC.C03-14:04)"),
    )


Identifier = (
    Space
    | HorizontalLink
    | Rack
    | Busbar
    | Panel
    | BuildingBackbone
    | CampusBackbone
    | Firestop
    | Cabinet
    | Port
    | PortLink
)
READ_IN_TURN: Final[tuple[type[Identifier], ...]] = get_args(Identifier)


@dataclass(frozen=True, slots=True)
class Reading:
    """An attempt to read a text as one form: its fields, how far it went, what stopped it."""

    values: dict[str, str]
    reached: int
    problem: str


def read_as(form: type[_Identifier], text: str) -> Reading:
    """`text` read part by part as `form`; the problem is '' when it fits."""
    values: dict[str, str] = {}
    at = 0
    for part in form.parts:
        if isinstance(part, str):
            if not text.startswith(part, at):
                return Reading(values, at, f"{_where(text, at)} it needs '{part}'")
            at += len(part)
            continue
        found = part.pattern.match(text, at)
        if found is None:
            return Reading(values, at, f"{_where(text, at)} it needs {part.words}")
        values[part.field] = found[0]
        at = found.end()
    leftover = f"{quoted(text[at:])} is left over" if at < len(text) else ""
    return Reading(values, at, leftover)


def _where(text: str, at: int) -> str:
    return f"where {quoted(text[at:])} stands" if at < len(text) else "at the end"
