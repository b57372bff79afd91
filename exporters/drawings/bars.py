"""Bars of how much of each limit is taken, all drawn so that the limits stand in one line.

Read without colour: what is used is solid, what is planned or reserved is hatched, and a stroke
marks the limit. A bar that goes on beyond the paper ends in a point.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from html import escape
from math import inf
from typing import ClassVar, Final

from binder.text import visible
from exporters.cells import cut, padded, width

LINE_CELLS: Final = 78
LIMIT_CELLS: Final = 24  # of a text bar, up to its limit
MOST: Final = 1.25  # how far a bar is drawn, in limits

WIDTH: Final = 460
BAND: Final = 66  # one bar with its words
_LEFT, _RIGHT, _TOP = 8, 452, 6
_BAR_TOP, _BAR_HEIGHT = 24, 16
_CHARACTER = 8.3  # mean width of one cell of bold text, with room to spare


@dataclass(frozen=True, slots=True)
class Bar:
    """`name` of the resource, its `state` in words, and `figures` in words below the bar."""

    name: str
    state: str
    used: float
    reserved: float
    limit: float
    figures: str

    def ends(self) -> tuple[float, float]:
        """Where what is used ends, and what is reserved after it, in limits; never below 0."""
        used, reserved = max(self.used, 0.0), max(self.reserved, 0.0)
        if self.limit > 0:
            return used / self.limit, (used + reserved) / self.limit
        return (inf if used else 0.0), (inf if used or reserved else 0.0)


@dataclass(frozen=True, slots=True)
class Bars:
    form: ClassVar[str] = "bars"
    title: str
    bars: tuple[Bar, ...]

    def text(self) -> str:
        return "\n".join(line for bar in self.bars for line in _lines(bar))

    def svg(self, key: str) -> str:
        height = _TOP + len(self.bars) * BAND
        return "".join(
            (
                f'<svg class="bars" viewBox="0 0 {WIDTH} {height}" width="{WIDTH}" '
                f'height="{height}" role="img" aria-labelledby="{key}-title" '
                f'font-family="Arial, Helvetica, sans-serif" font-size="14.5">'
                f'<title id="{key}-title">{escape(visible(self.title))}</title>',
                _pattern(key),
                *(_bar(bar, _TOP + at * BAND, key) for at, bar in enumerate(self.bars)),
                "</svg>",
            )
        )


def _lines(bar: Bar) -> Iterator[str]:
    state = visible(bar.state)
    yield f"{padded(visible(bar.name), LINE_CELLS - width(state) - 1)} {state}"
    drawn = text_bar(bar)
    yield f"  {drawn}  {cut(visible(bar.figures), LINE_CELLS - width(drawn) - 4)}"


def text_bar(bar: Bar) -> str:
    """`####==....|      `: used, reserved, free up to the limit, and what goes beyond it."""
    whole = round(MOST * LIMIT_CELLS)
    used, taken = (_cells(end, whole) for end in bar.ends())
    if bar.reserved > 0 and taken == used < whole:
        taken += 1
    signs = ["#"] * used + ["="] * (taken - used)
    signs += ["."] * (LIMIT_CELLS - taken)
    signs.insert(LIMIT_CELLS, "|")
    if bar.ends()[1] > MOST:
        signs[-1] = ">"
    return "".join(signs).ljust(whole + 1)


def _cells(end: float, whole: int) -> int:
    """What is there at all takes a cell; only what is full reads full, and what is over, over."""
    cells = round(min(end, MOST) * LIMIT_CELLS)
    if end > 1:
        return min(max(cells, LIMIT_CELLS + 1), whole)
    if 0 < end < 1:
        return min(max(cells, 1), LIMIT_CELLS - 1)
    return cells


def _pattern(key: str) -> str:
    return (
        f'<defs><pattern id="{key}-reserved" width="6" height="6" '
        'patternUnits="userSpaceOnUse" patternTransform="rotate(45)">'
        '<rect class="paper" width="6" height="6" fill="#ffffff"/>'
        '<line class="hatch" x1="0" y1="0" x2="0" y2="6" stroke="#333333" stroke-width="3"/>'
        "</pattern></defs>"
    )


def _bar(bar: Bar, top: int, key: str) -> str:
    state = cut(visible(bar.state), 20)
    room = int((_RIGHT - _LEFT) / _CHARACTER) - width(state) - 2
    return (
        f'<text class="ink" x="{_LEFT}" y="{top + 15}" font-weight="bold">'
        f"{escape(cut(visible(bar.name), room))}</text>"
        f'<text class="ink" x="{_RIGHT}" y="{top + 15}" text-anchor="end">{escape(state)}</text>'
        f"{''.join(_marks(bar, top + _BAR_TOP, key))}"
        f'<text class="soft" x="{_LEFT}" y="{top + 55}" font-size="13" fill="#333333">'
        f"{escape(cut(visible(bar.figures), 62))}</text>"
    )


def _marks(bar: Bar, top: int, key: str) -> Iterator[str]:
    """The room up to the limit, what is taken of it, and the stroke at the limit."""
    limit = _x(1.0)
    used, taken = (_x(min(end, MOST)) for end in bar.ends())
    yield _rect("free", _LEFT, limit, top, 'fill="#ffffff" stroke="#333333"')
    if used > _LEFT:
        yield _rect("used", _LEFT, used, top, 'fill="#555555"')
    if taken > used:
        fill = f'fill="url(#{key}-reserved)" stroke="#333333"'
        yield _rect("reserved", used, taken, top, fill)
    if bar.ends()[1] > MOST:
        middle, bottom = top + _BAR_HEIGHT / 2, top + _BAR_HEIGHT
        point = f"{_RIGHT - 8},{top - 1} {_RIGHT},{middle:g} {_RIGHT - 8},{bottom + 1}"
        corners = f"{_RIGHT + 1},{top - 1} {point} {_RIGHT + 1},{bottom + 1}"
        yield f'<polygon class="paper" points="{corners}" fill="#ffffff"/>'
    yield (  # paper beside the stroke, so that it stands out of what is solid
        f'<line class="halo" x1="{limit:g}" y1="{top}" x2="{limit:g}" '
        f'y2="{top + _BAR_HEIGHT}" stroke="#ffffff" stroke-width="8"/>'
        f'<line class="limit" x1="{limit:g}" y1="{top - 4}" x2="{limit:g}" '
        f'y2="{top + _BAR_HEIGHT + 4}" stroke="#000000" stroke-width="3"/>'
    )


def _x(end: float) -> float:
    return round(_LEFT + (_RIGHT - _LEFT) * end / MOST, 1)


def _rect(word: str, left: float, right: float, top: int, look: str) -> str:
    return (
        f'<rect class="{word}" x="{left:g}" y="{top}" width="{right - left:.4g}" '
        f'height="{_BAR_HEIGHT}" {look}/>'
    )
