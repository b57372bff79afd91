"""A trouble page as lines of text."""

from __future__ import annotations

from collections.abc import Iterator
from textwrap import wrap
from typing import Final

from binder.trouble_facts import State, Told, Trouble

MARKS: Final[dict[State, str]] = {"": " ", "good": "+", "warn": "?", "bad": "!"}
_MOST_LABEL: Final = 22


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


def _told(told: Told, room: int, width: int) -> Iterator[str]:
    lead = f"{MARKS[told.state]} {told.label:<{room}}  "
    yield from wrap(
        told.says or "-", width, initial_indent=lead, subsequent_indent=" " * len(lead),
        break_on_hyphens=False,
    )  # fmt: skip
