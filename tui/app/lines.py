"""One line of text on the screen: made of parts, measured in cells, safe to send to a terminal.

Everything the app draws goes through `drawn` or `plain`, so this module is the one place where
stored text is neutralised, and where no markup is ever read out of it.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import NamedTuple

from rich.cells import cell_len, chop_cells, set_cell_size
from rich.segment import Segment
from rich.style import Style
from textual.strip import Strip

from binder.text import visible


class Part(NamedTuple):
    """A stretch of a line. `look` is a key of `LOOKS`."""

    text: str
    look: str = ""


Line = tuple[Part, ...]

# Colours are the terminal's own sixteen, and never the only sign of a state.
LOOKS: dict[str, Style] = {
    "": Style(),
    "label": Style(dim=True),
    "strong": Style(bold=True),
    "head": Style(bold=True, underline=True),
    "warn": Style(color="yellow"),
    "bad": Style(color="red", bold=True),
    "good": Style(color="green"),
    "here": Style(reverse=True),
    "code": Style(color="bright_white", bgcolor="black"),
}
_CURSOR = Style(reverse=True)
ELLIPSIS = "…"


def line(*parts: str | tuple[str, str] | Part) -> Line:
    """A line from texts and (text, look) pairs."""
    return tuple(Part(part) if isinstance(part, str) else Part(*part) for part in parts)


def cut(text: str, width: int) -> str:
    """The text in at most `width` cells; what is missing is told by an ellipsis."""
    text = visible(text)
    if cell_len(text) <= width:
        return text
    return set_cell_size(text, width - 1) + ELLIPSIS if width > 0 else ""


def fit(text: str, width: int) -> str:
    """The text in exactly `width` cells: cut, or filled up with blanks."""
    short = cut(text, width)
    return short + " " * (width - cell_len(short))


def width_of(text: str) -> int:
    """The cells a text takes on the screen."""
    return cell_len(visible(text))


def wrapped(text: str, width: int) -> list[str]:
    """The text in lines of at most `width` cells, parted at blanks where it can be."""
    width = max(width, 1)
    return [piece for row in text.split("\n") for piece in _wrapped_row(visible(row), width)]


def _wrapped_row(row: str, width: int) -> list[str]:
    if cell_len(row) <= width:
        return [row]
    rows, current = [], ""
    for word in row.split(" "):
        longer = f"{current} {word}" if current else word
        if cell_len(longer) <= width:
            current = longer
            continue
        if current:
            rows.append(current)
        *full, current = chop_cells(word, width) or [""]
        rows += full
    return [*rows, current]


def drawn(parts: Iterable[Part], width: int, *, selected: bool = False) -> Strip:
    """The line as it is sent to the screen, `width` cells wide."""
    segments, left = [], width
    for text, look in parts:
        shown = cut(text, left)
        style = LOOKS[look] + _CURSOR if selected else LOOKS[look]
        segments.append(Segment(shown, style))
        left -= cell_len(shown)
        if left <= 0:
            break
    if left > 0:
        segments.append(Segment(" " * left, _CURSOR if selected else LOOKS[""]))
    return Strip(segments, width)


def safe(strip: Strip) -> Strip:
    """A strip drawn by someone else's widget (an input) with what it holds neutralised."""
    if visible(strip.text) == strip.text:
        return strip
    width = strip.cell_length
    segments = [Segment(visible(text), style) for text, style, control in strip if not control]
    return Strip(segments).adjust_cell_length(width)


def spread(left: Sequence[Part], right: Sequence[Part], width: int) -> Line:
    """`left` and `right` at the two ends of a line; the left one gives way, to half of it."""
    taken = sum(width_of(part.text) for part in right)
    if taken > max(width // 2, width - sum(width_of(part.text) for part in left) - 1):
        right, taken = (), 0
    room = max(width - taken - 1, 0)
    parts: list[Part] = []
    for text, look in left:
        shown = cut(text, room)
        room -= cell_len(shown)
        parts.append(Part(shown, look))
        if room <= 0:
            break
    return (*parts, Part(" " * (room + 1)), *right)


def shares(wanted: Sequence[int], least: Sequence[int], room: int) -> list[int]:
    """Widths of columns that want more than there is: the widest give way first."""
    widths = list(wanted)
    while sum(widths) > room:
        able = [at for at, width in enumerate(widths) if width > least[at]]
        if not able:
            break
        widest = max(able, key=lambda at: widths[at])
        widths[widest] -= 1
    return widths
