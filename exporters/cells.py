"""Widths of text in the cells of a terminal or of a fixed-width page, not in characters."""

from __future__ import annotations

from bisect import bisect_right

from wcwidth import wcswidth

CUT = "…"


def width(text: str) -> int:
    """How many cells the text takes. It must be free of controls (`binder.text.visible`)."""
    return len(text) if text.isascii() else int(wcswidth(text))


def cut(text: str, cells: int) -> str:
    """The text if it fits in that many cells, else its beginning and an ellipsis."""
    if width(text) <= cells:
        return text
    if cells < 1:
        return ""
    fits = bisect_right(range(len(text)), cells - 1, key=lambda end: width(text[:end])) - 1
    return f"{text[:fits].rstrip()}{CUT}"


def padded(text: str, cells: int) -> str:
    """The text cut or filled with blanks to exactly that many cells."""
    short = cut(text, cells)
    return short + " " * (cells - width(short))
