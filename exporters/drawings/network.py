"""The network on one page, from the carriers' circuits at the top down to the edge.

As text it is a tree. In the picture what leads on stands below what it hangs on, and the ends of a
device stand beside it in rows. Every box is as wide as its words were measured to be, so that no
text overlaps; what is several things has a double edge; black and white suffice.
"""

from __future__ import annotations

from dataclasses import dataclass
from html import escape
from typing import ClassVar, Final

from binder.text import visible
from exporters.cells import cut, width
from exporters.drawings.tree import Branch, Tree

WIDTH: Final = 760
_NAME_CELLS, _WORDS_CELLS = 26, 44
_BOLD, _PLAIN = 7.6, 6.4  # widest mean width of one cell at these sizes of text, in pixels
_PAD, _LINE_HIGH, _GAP, _EDGE = 7, 14, 8, 4
_STEP, _BUS = 26, 24  # to the right for each step down; from a box to its ends
_LEAST_ROOM = 240  # for ends beside a box, else they stand below it


@dataclass(frozen=True, slots=True)
class Box:
    """A thing, or `is_many` things of a sort, with what it is and the way to it."""

    name: str
    words: str = ""
    way: str = ""
    is_many: bool = False
    below: tuple[Box, ...] = ()

    @property
    def lines(self) -> tuple[str, ...]:
        """What is written into it: the name first, cut to the width of a box."""
        more = (cut(visible(text), _WORDS_CELLS) for text in (self.words, self.way) if text)
        return cut(visible(self.name), _NAME_CELLS), *more

    @property
    def wide(self) -> float:
        name, *more = self.lines
        return 2 * _PAD + max(width(name) * _BOLD, *(width(m) * _PLAIN for m in more), 40.0)

    @property
    def high(self) -> int:
        return len(self.lines) * _LINE_HIGH + 8


@dataclass(frozen=True, slots=True)
class Network:
    """`title` says it in words, for those who do not see the picture."""

    form: ClassVar[str] = "network"
    title: str
    roots: tuple[Box, ...]

    def text(self) -> str:
        return Tree(tuple(map(_branch, self.roots))).text()

    def svg(self, key: str) -> str:
        if not self.roots:
            return ""
        laid = _Laid()
        for root in self.roots:
            laid.put(root, 0, None)
            laid.top += _GAP
        high = round(laid.top)
        return "".join((
            f'<svg class="network" viewBox="0 0 {WIDTH} {high}" width="{WIDTH}" height="{high}" '
            f'role="img" aria-labelledby="{key}-title" '
            'font-family="Arial, Helvetica, sans-serif" font-size="11">'
            f'<title id="{key}-title">{escape(visible(self.title))}</title>',
            *laid.lines,
            *laid.boxes,
            "</svg>",
        ))  # fmt: skip


def rows(boxes: tuple[Box, ...]) -> int:
    """How many boxes stand one above the other, ends beside what they hang on."""
    return sum(1 + rows(tuple(inner for inner in box.below if inner.below)) for box in boxes)


def _branch(box: Box) -> Branch:
    told = "  ".join(filter(None, (box.name, box.words, box.way)))
    return Branch(told, tuple(map(_branch, box.below)))


# Picture. ---------------------------------------------------------------------------------


class _Laid:
    """Boxes and lines as they are put, from the top down; `top` is where the next one goes."""

    def __init__(self) -> None:
        self.top = float(_EDGE)
        self.boxes: list[str] = []
        self.lines: list[str] = []

    def put(self, box: Box, depth: int, above: tuple[float, float] | None) -> None:
        """A box with a line from `above`, its ends in rows, then what leads on, one below the
        other."""
        left, top = _EDGE + depth * _STEP, self.top
        middle = top + box.high / 2
        self.boxes.append(_box(box, left, top))
        if above is not None:
            self._line(f"M{above[0]:g} {above[1]:g}V{middle:g}H{left:g}")
        ends = [inner for inner in box.below if not inner.below]
        self.top = top + box.high + _GAP
        if ends:
            self._put_ends(ends, left, top, box)
        for inner in box.below:
            if inner.below:
                self.put(inner, depth + 1, (left + _STEP / 2, top + box.high))

    def _put_ends(self, ends: list[Box], left: float, top: float, box: Box) -> None:
        """The ends in rows on a line of their own, right of the box or, without room, below it."""
        start, at_y, bus_from = left + box.wide + _BUS, top, (left + box.wide, top + box.high / 2)
        if WIDTH - start < _LEAST_ROOM:
            start, at_y = left + _STEP + _BUS, self.top
            bus_from = (left + _STEP, top + box.high)
        bus, at_x, row_high = start - _BUS / 2, start, 0
        self._line(f"M{bus_from[0]:g} {bus_from[1]:g}H{bus:g}")
        for end in ends:
            if at_x > start and at_x + end.wide > WIDTH - _EDGE:
                at_x, at_y, row_high = start, at_y + row_high + _GAP, 0
            middle = at_y + end.high / 2
            begins = at_x == start
            if begins:
                self._line(f"M{bus:g} {bus_from[1]:g}V{middle:g}H{at_x:g}")
            else:
                self._line(f"M{at_x - _GAP:g} {middle:g}H{at_x:g}")
            self.boxes.append(_box(end, at_x, at_y))
            row_high = max(row_high, end.high)
            at_x += end.wide + _GAP
        self.top = max(self.top, at_y + row_high + _GAP)

    def _line(self, path: str) -> None:
        self.lines.append(f'<path class="line" d="{path}" fill="none" stroke="#333333"/>')


def _box(box: Box, left: float, top: float) -> str:
    word = "box many" if box.is_many else "box"
    drawn = [_rect(word, left, top, box.wide, box.high)]
    if box.is_many:
        drawn.append(_rect(word, left + 2, top + 2, box.wide - 4, box.high - 4))
    for number, line in enumerate(box.lines):
        look = ' font-size="12" font-weight="bold"' if number == 0 else ""
        ink = "ink" if number == 0 else "soft"
        drawn.append(
            f'<text class="{ink}" x="{left + _PAD:g}" y="{top + 15 + number * _LINE_HIGH:g}"{look}>'
            f"{escape(line)}</text>"
        )
    return "".join(drawn)


def _rect(word: str, left: float, top: float, wide: float, high: float) -> str:
    return (
        f'<rect class="{word}" x="{left:g}" y="{top:g}" width="{wide:g}" height="{high:g}" '
        'fill="#ffffff" stroke="#333333"/>'
    )
