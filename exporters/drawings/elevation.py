"""A rack elevation: what stands at each U of one face of a rack, from top to bottom.

One U is one line of text and one band of the picture. What is planned, reserved or free is told
by words and by its edges or pattern, never by colour, so that a black and white print is legible.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import ClassVar

from binder.elevation import State
from binder.text import visible
from exporters.cells import cut, padded, width

TEXT_CELLS = 75  # with the number and the sides: fits a terminal of 80


@dataclass(frozen=True, slots=True)
class Slot:
    """A stretch of a rack's face. `first_u` is its lowest number; `tally` stands at the right."""

    first_u: int
    height_u: int
    state: State
    name: str = ""
    words: str = ""
    tally: str = ""

    @property
    def span(self) -> range:
        return range(self.first_u, self.first_u + self.height_u)

    @property
    def label(self) -> str:
        """What is written into the stretch after its name."""
        if self.state is State.FREE:
            return "free" if self.height_u == 1 else f"free, {self.height_u}U"
        if self.state in (State.INSTALLED, State.OTHER_FACE):
            return self.words
        return f"{self.state.value}: {self.words}" if self.words else self.state.value


@dataclass(frozen=True, slots=True)
class Elevation:
    """One face of a rack. `slots` cover every U once, from the top of the rack down.

    `from_top` says that U 1 is the topmost, so that numbers rise downwards.
    """

    form: ClassVar[str] = "elevation"
    rack: str
    face: str
    height_u: int
    from_top: bool
    slots: tuple[Slot, ...]

    def units(self, *states: State) -> int:
        """How many U are in any of these states."""
        return sum(slot.height_u for slot in self.slots if slot.state in states)

    @property
    def largest_free_u(self) -> int:
        """The longest stretch of free U that lie together."""
        return max((s.height_u for s in self.slots if s.state is State.FREE), default=0)

    @property
    def caption(self) -> str:
        told = [f"{self.units(State.INSTALLED)} of {self.height_u} U used"]
        for state in (State.PLANNED, State.RESERVED, State.SPARE, State.ABANDONED):
            if units := self.units(state):
                told.append(f"{units} {state.value}")
        if units := self.units(State.OTHER_FACE):
            told.append(f"{units} taken at the other face only")
        told.append(f"{self.units(State.FREE)} free")
        if self.largest_free_u:
            told.append(f"largest free block {self.largest_free_u}U")
        return f"{visible(self.rack)}, {self.face}: {', '.join(told)}."

    def text(self) -> str:
        return "\n".join(_text_lines(self))

    def svg(self, key: str) -> str:
        from exporters.drawings.elevation_svg import svg

        return svg(self, key)


# Text. ------------------------------------------------------------------------------------

_EDGES = {  # left and right of a stretch of one U
    State.INSTALLED: ("[", "]"),
    State.PLANNED: (":", ":"),
    State.SPARE: ("(", ")"),
    State.ABANDONED: ("x", "x"),
    State.RESERVED: ("░", "░"),
    State.OTHER_FACE: ("·", "·"),
    State.FREE: (" ", " "),
}
_INNER = TEXT_CELLS - 7  # without number, blank, side, edge ... edge, side


def _text_lines(drawn: Elevation) -> Iterator[str]:
    title = cut(f" {visible(drawn.rack)}  {drawn.face} ", _INNER)
    yield f"   ╔═{title}{'═' * (_INNER + 1 - width(title))}╗"
    names = max((width(visible(slot.name)) for slot in drawn.slots), default=0)
    for slot in drawn.slots:
        numbers = slot.span if drawn.from_top else reversed(slot.span)
        for line, number in enumerate(numbers):
            left, right = _edges(slot, line)
            inner = _inner(slot, min(names, 16)) if line == 0 else ""
            yield f"{number:>2} ║{left}{padded(inner, _INNER)}{right}║"
    yield f"   ╚{'═' * (_INNER + 2)}╝"


def _edges(slot: Slot, line: int) -> tuple[str, str]:
    """The edges of one line of a stretch; installed hardware of several U is drawn as a box."""
    if slot.state is not State.INSTALLED or slot.height_u == 1:
        return _EDGES[slot.state]
    if line == 0:
        return "┌", "┐"
    return ("└", "┘") if line == slot.height_u - 1 else ("│", "│")


def _inner(slot: Slot, name_cells: int) -> str:
    tally = cut(visible(slot.tally), 24)
    room = _INNER - 2 - (width(tally) + 2 if tally else 0)
    name = f"{padded(visible(slot.name), name_cells)}  " if name_cells else ""
    return f" {padded(name + visible(slot.label), room)}{'  ' if tally else ''}{tally}"
