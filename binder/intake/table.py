"""Text of lines and columns, parted: by tabs, by commas (RFC 4180), or by blanks.

What a spreadsheet copies has tabs, what it saves has commas, what is copied off a screen has two
blanks or more between columns. No cell is ever more than text: `=1+1` is those four characters.
"""

from __future__ import annotations

import csv
import io
import re
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

from binder.errors import RequestError

TABS: Final = "tabs"
COMMAS: Final = "commas"
BLANKS: Final = "blanks"
LINES: Final = "lines"  # one column
MOST_LINES: Final = 20_000

_RUN = re.compile(r" {2,}")
_HEAD = re.compile(r"\S+(?: \S+)*")
_SIGNS = {TABS: "\t", COMMAS: ","}


@dataclass(frozen=True, slots=True)
class Row:
    """The cells of one line; `line` is its number in the text, from 1."""

    line: int
    cells: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Table:
    """Rows, and what parted their cells. Lines without anything are left out."""

    parted_by: str
    rows: tuple[Row, ...]


def table(text: str) -> Table:
    """The rows of a text. Raises RequestError for none, too many, or a quote left open."""
    text = text.removeprefix("\ufeff").replace("\r\n", "\n").replace("\r", "\n")
    if not text.strip():
        raise RequestError("there is nothing in it; paste or type a line for each record")
    if text.count("\n") > MOST_LINES:
        raise RequestError(f"more than {MOST_LINES:,} lines; do it in parts")
    if "\t" in text:
        return Table(TABS, _parted(text, TABS))
    lines = text.split("\n")
    first = next(line for line in lines if line.strip())
    if "," in first and not _RUN.search(first.strip()):
        return Table(COMMAS, _parted(text, COMMAS))
    if any(_RUN.search(line.strip()) for line in lines):
        return Table(BLANKS, _by_blanks(lines))
    if "," in text:
        return Table(COMMAS, _parted(text, COMMAS))
    return Table(LINES, _numbered([(line,) for line in lines]))


def _numbered(lines: Sequence[tuple[str, ...]]) -> tuple[Row, ...]:
    """A row for each line that holds anything, its cells without blanks around them."""
    rows = (Row(at, tuple(cell.strip() for cell in cells)) for at, cells in enumerate(lines, 1))
    return tuple(row for row in rows if any(row.cells))


def _parted(text: str, by: str) -> tuple[Row, ...]:
    rows, before = [], 0
    reader = csv.reader(io.StringIO(text, newline=""), delimiter=_SIGNS[by], strict=True)
    try:
        for cells in reader:
            if any(cell.strip() for cell in cells):
                rows.append(Row(before + 1, tuple(cells)))
            before = reader.line_num
    except csv.Error as error:
        if by == TABS:  # an inch sign at the start of a cell, not a quote: 5" or "north"
            return _numbered([tuple(line.split("\t")) for line in text.split("\n")])
        raise RequestError(
            f"line {before + 1}: a quote that is not closed, or something after it; "
            'write "" for a quote within quotes'
        ) from error
    return tuple(rows)


def _by_blanks(lines: Sequence[str]) -> tuple[Row, ...]:
    """Columns as they stand under the first line, where all lines keep to it; else any gap."""
    full = [line.rstrip() for line in lines]
    starts = [head.start() for head in _HEAD.finditer(next(line for line in full if line))]
    if all(_keeps_to(starts, line) for line in full):
        ends = [*starts[1:], None]
        return _numbered(
            [tuple(line[a:b] for a, b in zip(starts, ends, strict=True)) for line in full]
        )
    return _numbered([tuple(_RUN.split(line.strip())) for line in full])


def _keeps_to(starts: Sequence[int], line: str) -> bool:
    """Whether there is a gap before each column of the line, and nothing before the first."""
    before = (line[max(start - 2, 0) : start] for start in starts)
    return all(not gap.strip() for gap in before) and len(starts) > 1
