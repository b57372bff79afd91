"""Whether a sheet fits on one page of either paper, reckoned before it is printed.

Widths are those of Helvetica in the font metrics that Adobe publishes (Core 14 AFM files), which
Arial and Liberation Sans share; the door sheet's style (`assets/door-sheet.css`) names those fonts
and the sizes used here. A page is as wide as A4 and as high as Letter lets it be. Every figure errs
toward too high: a sheet that is reckoned to fit does.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import Final

from wcwidth import wcwidth

from binder.text import visible_lines
from exporters.model import Block, Cell, Facts, Part, Section, Steps, Table

SIZE_PT: Final = 10.0  # the smallest text of the sheet
LINE_PT: Final = 12.0
_MM: Final = 72 / 25.4
MARGIN_MM, GAP_MM = 8, 5  # round the page; between the two columns
COLUMN_PT: Final = (210 - 2 * MARGIN_MM - GAP_MM) / 2 * _MM - 1  # a point less, for rounding
PAGE_PT: Final = (279.4 - 2 * MARGIN_MM) * _MM
HEADING_PT: Final = 17.0  # of a section, with the space around it
COVER_PT: Final = 40.0  # the client's name in one line, and the release
ROW_PT: Final = 13.4  # of a table, with its lines
WRITTEN_PT: Final = 22.0  # of a row to write in
RACK_PT: Final = COLUMN_PT - 42 - 36 - 20  # of the middle column of the rack, without padding
LETTER_PT: Final = 5.4  # how wide a letter of a text is, in the mean
CUT: Final = "..."  # stands for what was cut off
_ITEM_PT: Final = 1.5  # below each item of a list
_SPARE_PT: Final = 3 * LINE_PT  # what two columns cannot share evenly
_INDENT_PT: Final = 18.0  # of numbered steps

_WIDTHS: Final = (
    ("'", 0.19), ("ijl", 0.23), ("|", 0.26), (" \N{NO-BREAK SPACE}tfI.,:;/\\![]", 0.28),
    ("rJ()-`\"*{}", 0.36),
    ("ckJsvxyz^", 0.5), ("abdeghnopqu0123456789L#$_?", 0.56), ("FTZ+=<>~", 0.61),
    ("ABEKPSVXY&", 0.67), ("wCDHNRU", 0.73), ("GOQ", 0.78), ("mM", 0.84), ("%", 0.89),
    ("W", 0.95), ("@", 1.02),
)  # fmt: skip
_EM: Final[Mapping[str, float]] = {c: em for letters, em in _WIDTHS for c in letters}
_BOLD: Final = 1.1


def width_pt(text: str, *, bold: bool = False) -> float:
    """How wide a text is in the sheet's font, at most."""
    ems = sum(_EM.get(c) or (0.8 if ord(c) < 0x250 else 1.2 * max(1, wcwidth(c))) for c in text)
    return ems * SIZE_PT * (_BOLD if bold else 1.0)


def fitting(text: str, room_pt: float) -> str:
    """The text if it is no wider than that, else as much of it as is, with a sign."""
    if width_pt(text) <= room_pt:
        return text
    rooms = (width_pt(text[:end] + CUT) for end in range(len(text)))
    end = max(0, next((end for end, wide in enumerate(rooms) if wide > room_pt), len(text)) - 1)
    return f"{text[:end].rstrip()}{CUT}"


def lines_of(text: str, room_pt: float, before_pt: float = 0.0) -> int:
    """In how many lines a text stands, broken at blanks, the first one `before_pt` in."""
    count = 0
    for line in visible_lines(text).split("\n"):
        count += 1
        at = before_pt if count == 1 else 0.0
        for word in filter(None, line.split(" ")):  # a no-break space holds
            wide = width_pt(word + " ")
            if at and at + wide > room_pt:
                count, at = count + 1, 0.0
            while wide > room_pt:  # a word longer than a line is broken anywhere
                count, wide = count + 1, wide - room_pt + SIZE_PT
            at += wide
    return count


def height_pt(block: Block | Part) -> float:
    """How high a block stands in a column of the sheet. Raises TypeError for one it has not."""
    match block:
        case Facts(rows):
            return sum(_fact_pt(label, value) for label, value in rows)
        case Steps(texts):
            return sum(_lines_pt(lines_of(text, COLUMN_PT - _INDENT_PT)) for text in texts)
        case Table(rows=rows):
            return (len(rows) + 1) * ROW_PT + 4
    raise TypeError(f"a door sheet has no {block.form}")


def _fact_pt(label: str, value: Cell) -> float:
    text = value if isinstance(value, str) else value.text
    return _lines_pt(lines_of(text, COLUMN_PT, width_pt(f"{label}: ", bold=True)))


def _lines_pt(lines: int) -> float:
    return lines * LINE_PT + _ITEM_PT


def written_rows(sections: Iterable[Section]) -> int:
    """How many rows to write in fit below these sections set in two columns; negative: too high."""
    high = sum(HEADING_PT + sum(map(height_pt, section.blocks)) for section in sections)
    left = PAGE_PT - COVER_PT - (high / 2 + _SPARE_PT) - HEADING_PT - ROW_PT
    return int(left // WRITTEN_PT)
