"""The face of a panel or switch: which port is where, and how each stands.

A state is told by a sign or a letter and by its pattern, never by colour, so that a black and white
print is legible. Where a port is comes from `binder.faces`, as the screen has it.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from html import escape
from typing import ClassVar, Final

from binder.faces import GROUP, SIGNS, State
from binder.text import visible
from exporters.cells import cut, padded, width

LINE_CELLS: Final = 78
_LABEL_CELLS: Final = 4  # of a label; of a longer one its last figures

WIDTH: Final = 680
_BOX_WIDE, _BOX_HIGH, _LABEL_HIGH = 24, 18, 13
_STEP, _GROUP_GAP, _BAY_GAP, _BAND_GAP = 26, 6, 18, 8
_LEGEND_HIGH: Final = 30
_CHARACTER: Final = 6.8  # mean width of one cell of the legend's text, with room to spare

LETTERS: Final[Mapping[State, str]] = {
    "used": "U", "spare": "S", "reserved": "R", "planned": "P", "bad": "X", "unterminated": "N",
}  # fmt: skip
_WORDS: Final[Mapping[State, str]] = {"unterminated": "not terminated"}


@dataclass(frozen=True, slots=True)
class Jack:
    """A port as it is drawn: rows from the top, columns from the left of its bay."""

    label: str
    state: State
    bay: int
    row: int
    column: int


@dataclass(frozen=True, slots=True)
class _Place:
    """A column of a face: its jacks by row, and whether a group or a bay begins with it."""

    jacks: Mapping[int, Jack]
    opens_group: bool
    opens_bay: bool

    def before(self, group: int, bay: int) -> int:
        """The room left in front of it."""
        return bay if self.opens_bay else group if self.opens_group else 0


@dataclass(frozen=True, slots=True)
class Face:
    """One face, seen from the front. No two jacks are in one place."""

    form: ClassVar[str] = "face"
    name: str
    jacks: tuple[Jack, ...]

    @property
    def counts(self) -> dict[State, int]:
        """How many jacks are in each state, of those that occur."""
        states = [jack.state for jack in self.jacks]
        return {state: states.count(state) for state in SIGNS if state in states}

    @property
    def caption(self) -> str:
        told = ", ".join(f"{number} {said(state)}" for state, number in self.counts.items())
        return f"{visible(self.name)}, front: {told}."

    def text(self) -> str:
        return "\n".join(_text_lines(self))

    def svg(self, key: str) -> str:
        bands = list(_bands(self, WIDTH - 10, _STEP, _GROUP_GAP, _BAY_GAP))
        rows = 1 + max((jack.row for jack in self.jacks), default=0)
        band_high = rows * (_BOX_HIGH + _LABEL_HIGH + 2) + _BAND_GAP
        high = len(bands) * band_high + _LEGEND_HIGH
        return "".join((
            f'<svg class="face" viewBox="0 0 {WIDTH} {high}" width="{WIDTH}" height="{high}" '
            f'role="img" aria-labelledby="{key}-title" '
            f'font-family="Arial, Helvetica, sans-serif" font-size="10" text-anchor="middle">'
            f'<title id="{key}-title">{escape(self.caption)}</title>',
            _defs(key, self.counts),
            *(_band(band, key, number * band_high + 2) for number, band in enumerate(bands)),
            _legend(self, key, high - _LEGEND_HIGH + 8),
            "</svg>",
        ))  # fmt: skip


def said(state: State) -> str:
    return _WORDS.get(state, state)


def _columns(face: Face) -> Iterator[_Place]:
    """The columns from left to right; places that no port is told to have are left empty."""
    for bay in sorted({jack.bay for jack in face.jacks}):
        inside = [jack for jack in face.jacks if jack.bay == bay]
        for column in range(1 + max(jack.column for jack in inside)):
            here = {jack.row: jack for jack in inside if jack.column == column}
            yield _Place(here, column % GROUP == 0, column == 0 and bay > 0)


def _bands(
    face: Face, room: int, step: int, group: int, bay: int
) -> Iterator[Sequence[tuple[int, _Place]]]:
    """The columns with where each begins, in as many bands as the width asks for."""
    band: list[tuple[int, _Place]] = []
    at = 0
    for place in _columns(face):
        at += place.before(group, bay) if band else 0
        if band and at + step > room:
            yield band
            band, at = [], 0
        band.append((at, place))
        at += step
    if band:
        yield band


def _label(jack: Jack, cells: int = _LABEL_CELLS) -> str:
    """What is written beside a jack: of a long label the last figures, or its beginning."""
    label = visible(jack.label).strip()
    figures = re.search("[0-9]+$", label)
    if width(label) > cells and figures:
        label = figures[0][-cells:]
    return cut(label, cells)


# Text. ------------------------------------------------------------------------------------


def _text_lines(face: Face) -> Iterator[str]:
    labels = [width(_label(jack)) for jack in face.jacks]
    cell = max(3, *(wide + 1 for wide in labels)) if labels else 3
    rows = 1 + max((jack.row for jack in face.jacks), default=0)
    for number, band in enumerate(_bands(face, LINE_CELLS, cell, 1, 4)):
        if number:
            yield ""
        for row in range(rows):
            yield _text_row(band, row, cell, is_label=True)
            yield _text_row(band, row, cell, is_label=False)
    yield ""
    yield "  ".join(
        f"[{SIGNS[state]}] {said(state)} {number}" for state, number in face.counts.items()
    )


def _text_row(
    band: Sequence[tuple[int, _Place]], row: int, cell: int, *, is_label: bool
) -> str:  # fmt: skip
    line = ""
    for at, place in band:
        jack = place.jacks.get(row)
        line += " " * (at - width(line))
        if jack is not None:
            shown = f" {_label(jack)}" if is_label else f"[{SIGNS[jack.state]}]"
            line += padded(shown, cell)
    return line.rstrip()


# Picture. ---------------------------------------------------------------------------------

_PATTERNS: Final[Mapping[State, str]] = {
    "reserved": '<circle class="pattern-dot" cx="3" cy="3" r="1.1" fill="#888888"/>',
    "planned": '<path class="pattern" d="M0 6L6 0" stroke="#888888" stroke-width="1.2"/>',
}
_CROSS: Final = (
    f'<path class="cross" d="M0 0L{_BOX_WIDE} {_BOX_HIGH}M0 {_BOX_HIGH}L{_BOX_WIDE} 0" '
    'stroke="#333333"/>'
)
_PLAIN: Final[Mapping[State, str]] = {"used": "#d8d8d8"}
_DASHES: Final[Mapping[State, str]] = {"unterminated": "2 3", "planned": "5 2"}


def _defs(key: str, states: Mapping[State, int]) -> str:
    """Each state's box once: pattern, edge, and its letter on plain paper."""
    return f"<defs>{''.join(_def(key, state) for state in states)}</defs>"


def _def(key: str, state: State) -> str:
    pattern = ""
    fill = _PLAIN.get(state, "#ffffff")
    if state in _PATTERNS:
        pattern = (
            f'<pattern id="{key}-{state}-pattern" width="6" height="6" '
            'patternUnits="userSpaceOnUse"><rect class="paper" width="6" height="6" '
            f'fill="#ffffff"/>{_PATTERNS[state]}</pattern>'
        )
        fill = f"url(#{key}-{state}-pattern)"
    dashes = f' stroke-dasharray="{_DASHES[state]}"' if state in _DASHES else ""
    marks = _CROSS if state == "bad" else ""
    backing = ""
    if state in _PATTERNS or state == "bad":
        backing = '<rect class="paper" x="7" y="3" width="10" height="12" fill="#ffffff"/>'
    return (
        f'{pattern}<g id="{key}-{state}"><rect class="jack {state}" width="{_BOX_WIDE}" '
        f'height="{_BOX_HIGH}" fill="{fill}" stroke="#333333"{dashes}/>{marks}{backing}'
        f'<text class="ink" x="12" y="13" font-size="11" font-weight="bold">{LETTERS[state]}</text>'
        "</g>"
    )


def _band(band: Sequence[tuple[int, _Place]], key: str, top: int) -> str:
    boxes, labels = [], []
    for at, place in band:
        x = at + 5
        for row, jack in place.jacks.items():
            y = top + row * (_BOX_HIGH + _LABEL_HIGH + 2)
            label = _label(jack)
            small = ' font-size="7.5"' if width(label) >= _LABEL_CELLS else ""  # else they touch
            labels.append(
                f'<text x="{x + _BOX_WIDE // 2}" y="{y + 10}"{small}>{escape(label)}</text>'
            )
            boxes.append(f'<use href="#{key}-{jack.state}" x="{x}" y="{y + _LABEL_HIGH}"/>')
    return f'<g class="ink">{"".join(labels)}</g>{"".join(boxes)}'


def _legend(face: Face, key: str, top: int) -> str:
    """What the letters mean, with how many of each; no text reaches into the next."""
    parts, at = [], 5
    for state, number in face.counts.items():
        words = f"{said(state)} {number}"
        parts.append(
            f'<use href="#{key}-{state}" x="{at}" y="{top}"/>'
            f'<text class="ink" x="{at + _BOX_WIDE + 6}" y="{top + 13}" font-size="12" '
            f'text-anchor="start">{words}</text>'
        )
        at += _BOX_WIDE + 6 + round(len(words) * _CHARACTER) + 8
    return "".join(parts)
