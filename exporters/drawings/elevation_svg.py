"""The picture of a rack elevation.

Plain presentation attributes carry black and white, so that it prints and stands alone; the
classes let a page give it its own colours. No style attribute: a strict content security policy
would refuse it.
"""

from __future__ import annotations

from collections.abc import Iterator
from html import escape

from binder.elevation import State
from binder.text import visible
from exporters.cells import cut, width
from exporters.drawings.elevation import Elevation, Slot

WIDTH = 460
BAND = 22  # one U
_LEFT, _RIGHT, _TOP = 34, 448, 30
_INSET = 4
_CHARACTER = 6.9  # mean width of one cell of the text below, with room to spare

_FILLS = {
    State.INSTALLED: "#eeeeee",
    State.SPARE: "#eeeeee",
    State.ABANDONED: "#ffffff",
    State.OTHER_FACE: "#ffffff",
    State.FREE: "#ffffff",
}
_DASHES = {
    State.PLANNED: "6 3",
    State.RESERVED: "2 2",
    State.SPARE: "6 3",
    State.ABANDONED: "1 3",
}
_UNFRAMED = (State.FREE, State.OTHER_FACE)


def svg(drawn: Elevation, key: str) -> str:
    """The drawing as one SVG element whose ids begin with `key`."""
    height = _TOP + drawn.height_u * BAND + 12
    title = escape(drawn.caption)
    return "".join(
        (
            f'<svg class="elevation" viewBox="0 0 {WIDTH} {height}" width="{WIDTH}" '
            f'height="{height}" role="img" aria-labelledby="{key}-title" '
            f'font-family="Arial, Helvetica, sans-serif" font-size="12">'
            f'<title id="{key}-title">{title}</title>',
            _patterns(key),
            _frame(drawn, height),
            *_bands(drawn, key),
            "</svg>",
        )
    )


def _patterns(key: str) -> str:
    """Hatching for what is planned, dots for what is reserved."""
    return (
        "<defs>"
        f'<pattern id="{key}-planned" width="7" height="7" patternUnits="userSpaceOnUse" '
        'patternTransform="rotate(45)"><rect class="paper" width="7" height="7" fill="#ffffff"/>'
        '<line class="pattern" x1="0" y1="0" x2="0" y2="7" stroke="#c4c4c4" stroke-width="2"/>'
        "</pattern>"
        f'<pattern id="{key}-reserved" width="6" height="6" patternUnits="userSpaceOnUse">'
        '<rect class="paper" width="6" height="6" fill="#ffffff"/>'
        '<circle class="pattern-dot" cx="3" cy="3" r="1.1" fill="#b0b0b0"/></pattern>'
        "</defs>"
    )


def _frame(drawn: Elevation, height: int) -> str:
    name = escape(cut(visible(drawn.rack), 40))
    return (
        f'<text class="ink" x="{_LEFT}" y="18" font-size="14" font-weight="bold">{name}'
        f'<tspan font-weight="normal" dx="10">{escape(drawn.face)}</tspan></text>'
        f'<rect class="frame" x="{_LEFT - 3}" y="{_TOP - 3}" width="{_RIGHT - _LEFT + 6}" '
        f'height="{height - _TOP - 6}" fill="#ffffff" stroke="#333333" stroke-width="2"/>'
    )


def _bands(drawn: Elevation, key: str) -> Iterator[str]:
    top = _TOP
    for slot in drawn.slots:
        numbers = slot.span if drawn.from_top else reversed(slot.span)
        for line, number in enumerate(numbers):
            yield (
                f'<text class="number" x="{_LEFT - 9}" y="{top + line * BAND + 15}" '
                f'text-anchor="end" font-size="11" fill="#333333">{number}</text>'
            )
        yield _box(slot, top, key)
        yield from _unit_lines(slot, top)
        yield _words(slot, top)
        top += slot.height_u * BAND


def _box(slot: Slot, top: int, key: str) -> str:
    fill = _FILLS.get(slot.state, f"url(#{key}-{slot.state.value})")
    dashes = f' stroke-dasharray="{_DASHES[slot.state]}"' if slot.state in _DASHES else ""
    stroke = "none" if slot.state in _UNFRAMED else "#333333"
    word = slot.state.value.replace(" ", "-")
    return (
        f'<rect class="slot {word}" x="{_LEFT}" y="{top + 1}" width="{_RIGHT - _LEFT}" '
        f'height="{slot.height_u * BAND - 2}" fill="{fill}" stroke="{stroke}"{dashes}/>'
    )


def _unit_lines(slot: Slot, top: int) -> Iterator[str]:
    """Where a free stretch divides into units, and where what is behind ends."""
    if slot.state in _UNFRAMED:
        for line in range(1 if slot.state is State.FREE else slot.height_u, slot.height_u + 1):
            y = top + line * BAND
            yield (
                f'<line class="unit" x1="{_LEFT}" y1="{y}" x2="{_RIGHT}" y2="{y}" '
                'stroke="#999999" stroke-dasharray="1 4"/>'
            )


def _words(slot: Slot, top: int) -> str:
    room = int((_RIGHT - _LEFT - 2 * _INSET) / _CHARACTER)
    tally = cut(visible(slot.tally), 20)
    if tally:
        room -= width(tally) + 2
    name = cut(visible(slot.name), max(room, 1))
    label = cut(visible(slot.label), max(room - width(name) - 2, 0))
    y = top + 15
    spoken = f'<tspan font-weight="bold">{escape(name)}</tspan>' if name else ""
    gap = ' dx="8"' if name else ""
    backing = ""
    if slot.state in (State.PLANNED, State.RESERVED):  # keeps the words clear of the pattern
        cells = width(name) + width(label) + (2 if name else 0)
        backing = (
            f'<rect class="paper" x="{_LEFT + 2}" y="{top + 3}" '
            f'width="{round(cells * _CHARACTER) + 6}" height="{BAND - 6}" fill="#ffffff"/>'
        )
    right = (
        f'<text class="ink" x="{_RIGHT - _INSET - 2}" y="{y}" text-anchor="end" font-size="11">'
        f"{escape(tally)}</text>"
        if tally
        else ""
    )
    ink = "soft" if slot.state is State.OTHER_FACE else "ink"
    return (
        f'{backing}<text class="{ink}" x="{_LEFT + _INSET + 2}" y="{y}">{spoken}'
        f"<tspan{gap}>{escape(label)}</tspan></text>{right}"
    )
