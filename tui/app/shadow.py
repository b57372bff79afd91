"""What stands on the terminal, cell by cell, so that only what differs is sent.

A frame comes in as Textual writes it (a place, a look, text, again and again) and leaves as the
fewest bytes that bring the terminal there. Nothing but text, places and looks gets through: any
other control in a frame is left out. Control functions: ECMA-48, 5th edition (CUP, CUF, ED, EL,
SGR).
"""

from __future__ import annotations

import re
from typing import Final

from rich.cells import split_graphemes

# A cell is a sign and its look, the parameters of SGR; the second half of a wide sign is "".
Cell = tuple[str, str]
Row = list[Cell]

BLANK: Final[Cell] = (" ", "")
_UNKNOWN: Final[Cell] = ("?", "unknown")
_CLEAR: Final = "\x1b[m\x1b[2J"
_TOKEN = re.compile(
    r"\x1b\[(?P<place>\d+;\d+)H|\x1b\[(?P<look>[\d;]*)m|(?P<text>[^\x00-\x1f\x7f-\x9f]+)"
)
# Signs whose width every terminal agrees on: letters of Latin, Greek and Cyrillic, the
# punctuation, arrows and lines that the app draws with.
_AGREED = re.compile(
    "[ -~\u00a0-\u00ac\u00ae-\u02ff\u0370-\u0482\u2010-\u2027\u2030-\u205e\u2190-\u21ff"
    "\u2400-\u2426\u2500-\u25fc]*"
)
# Looks that change nothing on a blank: bold, faint, italic, and the colour of the sign.
_UNSEEN_ON_BLANK = frozenset({"1", "2", "3", *map(str, range(30, 38)), *map(str, range(90, 98))})
_FAR = 4  # from so many cells on, the cursor is moved rather than the cells sent again


class Shadow:
    """A screen of `columns` by `lines`: as the app means it, and as the terminal has it."""

    def __init__(self, columns: int, lines: int) -> None:
        self.resize(columns, lines)

    def resize(self, columns: int, lines: int) -> None:
        """The terminal has another size; what it shows is not known any more."""
        self.columns, self.lines = columns, lines
        self.meant: list[Row] = [[BLANK] * columns for _ in range(lines)]
        self.place = (0, 0)  # line and column where the app wants the terminal's cursor
        self.forget()

    def forget(self) -> None:
        """Something else wrote on the terminal: what it shows is not known any more."""
        self.shown: list[Row] = [[_UNKNOWN] * self.columns for _ in range(self.lines)]

    # What the app means -----------------------------------------------------------------

    def take(self, frame: str) -> None:
        """Read what the app would have sent."""
        line, column = self.place
        look = ""
        for token in _TOKEN.finditer(frame):
            if place := token["place"]:
                line, column = (int(number) - 1 for number in place.split(";"))
            elif (codes := token["look"]) is not None:
                look = _look(look, codes)
            elif line < self.lines:
                column = self._put(line, column, token["text"], look)
        self.place = (line, column)

    def _put(self, line: int, column: int, text: str, look: str) -> int:
        """Write a text from a cell on; gives the column after it."""
        row, cells = self.meant[line], _cells(text, look)
        after = column + len(cells)
        fitting = max(min(after, self.columns) - column, 0)
        row[column : column + fitting] = cells[:fitting]
        if column and fitting and row[column][0] != "" and _is_wide(row[column - 1][0]):
            row[column - 1] = BLANK  # the first half of a wide sign whose second is gone
        if after < self.columns and row[after][0] == "":
            row[after] = BLANK
        return after

    # What is sent -----------------------------------------------------------------------

    def difference(self) -> str:
        """What brings the terminal from what it shows to what is meant; empty when it is so."""
        sent = []
        if any(row and row[0] is _UNKNOWN for row in self.shown):
            sent.append(_CLEAR)
            self.shown = [[BLANK] * self.columns for _ in range(self.lines)]
        for line, (meant, shown) in enumerate(zip(self.meant, self.shown, strict=True)):
            if meant != shown:
                sent.append(_shortest(line, meant, shown))
                self.shown[line] = meant.copy()
        if sent:
            line, column = self.place
            sent.append(_to(line, min(column, max(self.columns - 1, 0))))
        return "".join(sent)


def _shortest(line: int, meant: Row, shown: Row) -> str:
    """A line brought up to date: cell by cell, or erased from the first cell that differs."""
    if not all(_AGREED.fullmatch(sign) for sign, _ in (*meant, *shown)):
        return _whole(line, meant)
    first = next(at for at, cell in enumerate(meant) if cell != shown[at])
    erased = [*shown[:first], *[BLANK] * (len(shown) - first)]
    by_cells = _Writer(line).bring(meant, shown)
    anew = f"{_to(line, first)}\x1b[K" + _Writer(line, first).bring(meant, erased)
    return min(by_cells, anew, key=len)


def _whole(line: int, meant: Row) -> str:
    """A line with signs on whose width terminals differ: all of it, each next cell placed anew."""
    writer, covered = _Writer(line, 0), 0  # `covered`: cells that a sign may have run into
    for column, (sign, look) in enumerate(meant):
        if sign and ((sign, look) != BLANK or column < covered):
            writer.go_to(column)
            writer.put(sign, look)
            if not _AGREED.fullmatch(sign):
                writer.lost()
                covered = column + 2 * len(sign)
    return f"{_to(line, 0)}\x1b[2K{writer.done()}"


class _Writer:
    """Writes cells of one line, keeping count of where the cursor is and how it writes."""

    def __init__(self, line: int, column: int | None = None) -> None:
        self.line = line
        self.column = column  # None where the cursor stands elsewhere
        self.look = ""
        self.sent: list[str] = []

    def bring(self, meant: Row, shown: Row) -> str:
        """Write the cells that differ; a blank rest of the line is erased."""
        rest = len(meant)
        while rest and meant[rest - 1] == BLANK:
            rest -= 1
        is_rest_shown = shown[rest:] == meant[rest:]
        differing = [at for at in range(rest) if meant[at] != shown[at]]
        for at in differing:
            self._over(meant, at)
            self.put(*meant[at])
        if not is_rest_shown:
            first = next(at for at in range(rest, len(meant)) if shown[at] != BLANK)
            self._over(meant, first)
            self._write_as("")
            self.sent.append("\x1b[K")
        return self.done()

    def _over(self, meant: Row, column: int) -> None:
        """To a column: over few cells of the same look by sending them again."""
        if self.column is not None and 0 < column - self.column <= _FAR:
            between = meant[self.column : column]
            if all(look == self.look for _, look in between):
                for cell in between:
                    self.put(*cell)
        self.go_to(column)

    def go_to(self, column: int) -> None:
        if self.column is None:
            self.sent.append(_to(self.line, column))
        elif column > self.column:
            by = column - self.column
            self.sent.append(f"\x1b[{by if by > 1 else ''}C")
        self.column = column

    def put(self, sign: str, look: str) -> None:
        """Write one sign where the cursor is."""
        self._write_as(look)
        self.sent.append(sign)
        self.column = (self.column or 0) + 1

    def lost(self) -> None:
        """How far the cursor went is not known."""
        self.column = None

    def _write_as(self, look: str) -> None:
        if look == self.look:
            return
        had, wanted = _codes(self.look), _codes(look)
        if look and had and had <= wanted and not wanted & {"38", "48"}:
            added = ";".join(code for code in look.split(";") if code not in had)
            self.sent.append(f"\x1b[{added}m")
        else:
            self.sent.append(f"\x1b[{'0;' if self.look and look else ''}{look}m")
        self.look = look

    def done(self) -> str:
        """What was written, the look as it was before."""
        self._write_as("")
        return "".join(self.sent)


def _cells(text: str, look: str) -> Row:
    """The cells of a text, as wide as Textual takes them to be."""
    blank = (" ", _on_blank(look))
    if _AGREED.fullmatch(text):
        return [blank if sign == " " else (sign, look) for sign in text]
    cells: Row = []
    for start, end, width in split_graphemes(text)[0]:
        sign = text[start:end]
        if width:  # a mark with no sign before it to stand on is left out
            cells.append(blank if sign == " " else (sign, look))
            cells += [("", look)] * (width - 1)
    return cells


def _to(line: int, column: int) -> str:
    return f"\x1b[{line + 1};{column + 1}H" if column else f"\x1b[{line + 1}H"


def _is_wide(sign: str) -> bool:
    return not _AGREED.fullmatch(sign) and sum(width for *_, width in split_graphemes(sign)[0]) > 1


def _codes(look: str) -> frozenset[str]:
    return frozenset(look.split(";")) if look else frozenset()


def _look(before: str, codes: str) -> str:
    """The look after an SGR. The terminal's own colours are those it has without being told."""
    told = codes.split(";")
    if told[0] in ("", "0"):
        before, told = "", told[1:]
    if "38" not in told and "48" not in told:
        told = [code for code in told if code not in ("39", "49")]
    return ";".join(part for part in (before, *told) if part)


def _on_blank(look: str) -> str:
    """A look as far as it shows on a blank."""
    return "" if _codes(look) <= _UNSEEN_ON_BLANK else look
