"""A trouble page as lines of text."""

from __future__ import annotations

import re
from collections.abc import Iterator
from textwrap import wrap
from typing import Final

from binder.text import visible
from binder.trouble_facts import State, Told, Trouble

MARKS: Final[dict[State, str]] = {"": " ", "good": "+", "warn": "?", "bad": "!"}
_MOST_LABEL: Final = 22
_WITHIN_A_NUMBER: Final = re.compile(r"(?<=\d) (?=\d)")
_NO_BREAK: Final = "\N{NO-BREAK SPACE}"


def trouble_lines(page: Trouble, width: int = 80) -> list[str]:
    """The page in lines of at most `width` characters; `!` is wrong, `?` doubtful, `+` well."""
    labels = [len(line.label) for block in page.blocks for line in block.lines]
    room = min(max(labels, default=0), _MOST_LABEL)
    found = [f"{page.kind.replace('_', ' ')} {page.name}"]
    for block in page.blocks:
        found += ["", block.title]
        for told in block.lines:
            found += _told(told, room, width)
    for caution in page.cautions:
        found += ["", *wrap(f"Caution: {caution}", width)]
    return found


def whole_numbers(text: str) -> str:
    """Text in which no telephone number comes apart at a line's end; undone by `as_typed`."""
    return _WITHIN_A_NUMBER.sub(_NO_BREAK, text)


def as_typed(line: str) -> str:
    return line.replace(_NO_BREAK, " ")


def _told(told: Told, room: int, width: int) -> Iterator[str]:
    lead = f"{MARKS[told.state]} {told.label:<{room}}  "
    lines = wrap(
        whole_numbers(visible(told.says)) or "-", width, initial_indent=lead,
        subsequent_indent=" " * len(lead), break_on_hyphens=False,
    )  # fmt: skip
    yield from map(as_typed, lines)
