"""A sheet of labels by its measures in millimetres, and where each label of it lies.

Stock is told by size, never by a maker's number: measure the sheet, or read its packet.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import Final

from binder.errors import RequestError

PAGES: Final[Mapping[str, tuple[float, float]]] = {
    "a4": (210.0, 297.0),  # ISO 216
    "letter": (215.9, 279.4),  # ANSI/ASME Y14.1, size A: 8.5 x 11 in
}
_ROUNDING_MM: Final = 0.05  # measures are read off a packet, to a tenth of a millimetre
_MOST_ACROSS: Final = 100
_NUMBER: Final = r"([0-9]{1,4}(?:\.[0-9]{1,3})?)"
_EXAMPLE: Final = "a4 3x7 63.5x38.1 left 7.2 top 15.1 gap 2.5x0"


@dataclass(frozen=True, slots=True)
class Place:
    """Where a label goes: its sheet, column and row counted from 0, its upper left corner in mm."""

    sheet: int
    column: int
    row: int
    left_mm: float
    top_mm: float


@dataclass(frozen=True, slots=True)
class Stock:
    """A sheet of labels. All measures in mm; a gap is from the edge of one label to the next.

    Raises RequestError for one whose labels do not lie on its page.
    """

    page_width: float
    page_height: float
    columns: int
    rows: int
    label_width: float
    label_height: float
    left: float
    top: float
    gap_across: float = 0.0
    gap_down: float = 0.0

    def __post_init__(self) -> None:
        if not (0 < self.columns <= _MOST_ACROSS and 0 < self.rows <= _MOST_ACROSS):
            raise RequestError(f"a sheet has 1 to {_MOST_ACROSS} columns and rows of labels")
        if min(self.label_width, self.label_height) < 5:
            raise RequestError("a label is at least 5 mm wide and high")
        _require_room("across", self.columns, self.label_width, self.gap_across, self.left,
                      self.page_width)  # fmt: skip
        _require_room("down", self.rows, self.label_height, self.gap_down, self.top,
                      self.page_height)  # fmt: skip

    @property
    def labels(self) -> int:
        """How many a sheet has."""
        return self.columns * self.rows

    def column_mm(self, column: int) -> float:
        """The left edge of a column."""
        return round(self.left + column * (self.label_width + self.gap_across), 3)

    def row_mm(self, row: int) -> float:
        """The upper edge of a row."""
        return round(self.top + row * (self.label_height + self.gap_down), 3)

    def places(self, number: int, start: int = 1) -> Iterator[Place]:
        """Places for so many labels, row by row, from label `start` of the first sheet on.

        Raises RequestError when the sheet has no label of that number.
        """
        if not 1 <= start <= self.labels:
            raise RequestError(
                f"--start {start}: this sheet has labels 1 to {self.labels}, counted row by row"
            )
        for at in range(start - 1, start - 1 + number):
            sheet, on_sheet = divmod(at, self.labels)
            row, column = divmod(on_sheet, self.columns)
            yield Place(sheet, column, row, self.column_mm(column), self.row_mm(row))


def _require_room(
    way: str, number: int, label: float, gap: float, margin: float, page: float
) -> None:
    taken = margin + number * label + (number - 1) * gap
    if taken > page + _ROUNDING_MM:
        raise RequestError(
            f"{number} labels of {label:g} mm {way}, with the margin of {margin:g} mm and gaps of "
            f"{gap:g} mm, take {taken:g} mm of a page of {page:g} mm"
        )


# Common sizes, from memory: measure yours before the first sheet.
COMMON: Final[Mapping[str, Stock]] = {
    "63.5 x 38.1 mm, 21 a sheet, A4": Stock(210, 297, 3, 7, 63.5, 38.1, 7.2, 15.1, 2.5),
    "99.1 x 38.1 mm, 14 a sheet, A4": Stock(210, 297, 2, 7, 99.1, 38.1, 4.7, 15.1, 2.5),
    "70 x 37 mm, 24 a sheet, A4": Stock(210, 297, 3, 8, 70, 37, 0, 0.5),
    "45.7 x 21.2 mm, 48 a sheet, A4": Stock(210, 297, 4, 12, 45.7, 21.2, 9.8, 21.3, 2.5),
    "38.1 x 21.2 mm, 65 a sheet, A4": Stock(210, 297, 5, 13, 38.1, 21.2, 4.7, 10.7, 2.5),
    "66.7 x 25.4 mm, 30 a sheet, Letter": Stock(
        215.9, 279.4, 3, 10, 66.675, 25.4, 4.76, 12.7, 3.175
    ),
    "101.6 x 50.8 mm, 10 a sheet, Letter": Stock(215.9, 279.4, 2, 5, 101.6, 50.8, 3.97, 12.7, 4.76),
    "44.5 x 12.7 mm, 80 a sheet, Letter": Stock(215.9, 279.4, 4, 20, 44.45, 12.7, 7.14, 12.7, 7.87),
}
USUAL: Final[Mapping[str, str]] = {
    "metric": "63.5 x 38.1 mm, 21 a sheet, A4",
    "us": "66.7 x 25.4 mm, 30 a sheet, Letter",
}


def stock_of(text: str) -> Stock:
    """The stock that `text` tells: a common one by its size, or all measures.

    `63.5 x 38.1`, `21 a sheet`; or `a4 3x7 63.5x38.1 left 7.2 top 15.1 gap 2.5x0`: the page (a4,
    letter or its size), columns by rows, the size of a label; margins are even and gaps 0 where
    they are left out. Raises RequestError for what is neither, and what does not fit.
    """
    asked = _squeezed(text)
    found = [name for name in COMMON if asked and f"{asked}," in f"{_squeezed(name)},"]
    if len(found) == 1:
        return COMMON[found[0]]
    parts = re.fullmatch(
        rf"(a4|letter|{_NUMBER}x{_NUMBER}) ([0-9]{{1,3}})x([0-9]{{1,3}}) {_NUMBER}x{_NUMBER}"
        rf"(?: left {_NUMBER})?(?: top {_NUMBER})?(?: gap {_NUMBER}x{_NUMBER})?",
        _spaced(text),
    )
    if parts is None:
        raise RequestError(
            f"--stock '{text}' is no sheet of labels: write its measures in mm, as '{_EXAMPLE}', "
            f"or one of: {'; '.join(COMMON)}"
        )
    page, wide, high, columns, rows, width, height, left, top, across, down = parts.groups()
    size = PAGES.get(page) or (float(wide), float(high))
    each = (int(columns), int(rows)), (float(width), float(height))
    gaps = float(across or 0), float(down or 0)
    taken = [n * label + (n - 1) * gap for n, label, gap in zip(*each, gaps, strict=True)]
    left_mm, top_mm = (
        float(given) if given is not None else max(0.0, (page_mm - mm) / 2)
        for given, page_mm, mm in zip((left, top), size, taken, strict=True)
    )
    return Stock(*size, *each[0], *each[1], left_mm, top_mm, *gaps)


def _spaced(text: str) -> str:
    """Small letters, one blank between words, none about the `x` of a size."""
    plain = " ".join(text.replace("×", "x").casefold().split())
    return re.sub(r"(?<=[0-9])(?: ?mm)? ?x ?(?=[0-9])", "x", plain)


def _squeezed(text: str) -> str:
    return _spaced(text).replace(" mm", "").replace(" ", "")
