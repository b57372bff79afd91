"""The trouble page of something: what to look at, in order. Enter opens what a line is about."""

from __future__ import annotations

import contextlib
from collections.abc import Hashable, Iterator, Sequence
from dataclasses import dataclass
from typing import ClassVar, Final

from textual.binding import BindingType

from binder.errors import RequestError
from binder.trouble import trouble
from binder.trouble_facts import State, Told, Trouble
from binder.trouble_words import MARKS, as_typed, whole_numbers
from tui.app.actions import BROKEN, bindings
from tui.app.drawn_screen import RowScreen
from tui.app.line_list import LineList
from tui.app.lines import Line, Part, fit, line, width_of, wrapped
from tui.app.screen import BROAD

_LOOKS: Final[dict[State, str]] = {"": "", "good": "", "warn": "warn", "bad": "bad"}
_MOST_LABEL = 20


@dataclass(frozen=True, slots=True)
class TroubleRow:
    """A drawn line; `target` is the record it is about."""

    key: Hashable
    parts: Line
    target: int | None = None


class TroubleScreen(RowScreen[TroubleRow]):
    """The page line by line; the same keys as on a sheet act on what a line is about."""

    PLACE = BROKEN
    BINDINGS: ClassVar[list[BindingType]] = bindings(BROKEN)
    WIDE_FROM = BROAD

    def __init__(self, answer: Trouble) -> None:
        super().__init__()
        self.asked = answer
        self.answer: Trouble | None = answer

    def title_parts(self) -> tuple[Sequence[Part], Sequence[Part]]:
        kind = self.asked.kind.replace("_", " ")
        if self.answer is None:
            return (Part(f" {kind} {self.asked.name} is not in the binder any more", "bad"),), ()
        lines = [told for block in self.answer.blocks for told in block.lines]
        wrong = sum(told.state == "bad" for told in lines)
        doubt = sum(told.state == "warn" for told in lines)
        head = (Part(f" Trouble with {kind} "), Part(self.answer.name, "strong"))
        told = f"{wrong} wrong (!), {doubt} doubtful (?)"
        return head, (Part(told, "warn" if wrong or doubt else ""),)

    def reload(self) -> None:
        app = self.binder_app
        self.answer = None
        with contextlib.suppress(RequestError):  # it was removed meanwhile: the head says so
            self.answer = trouble(app.binder, self.asked.id, today=app.today)
        self.draw_rows()

    def drawn(self, width: int) -> Sequence[TroubleRow]:
        return list(_rows(self.answer, width)) if self.answer else ()

    def looked_at(self) -> int | None:
        """What the line is about; of a heading or a caution it is what the page is about."""
        row = self.rows.get(self.main_list.key)
        target = row.target if row else None
        return target or (self.answer.id if self.answer else None)

    def subject(self) -> int | None:
        return self.looked_at()

    def on_line_list_chosen(self, event: LineList.Chosen) -> None:
        target = self.looked_at()
        if target is not None:
            with self.binder_app.telling():
                self.binder_app.open_record(target)


def _rows(page: Trouble, width: int) -> Iterator[TroubleRow]:
    labels = [width_of(told.label) for block in page.blocks for told in block.lines]
    room = min(max(labels, default=0), _MOST_LABEL)
    for number, block in enumerate(page.blocks):
        if number:
            yield TroubleRow((number, "gap"), ())
        yield TroubleRow((number, "head"), line((f" {block.title}", "head")))
        for at, told in enumerate(block.lines):
            yield from _told((number, at), told, room, width)
    for at, caution in enumerate(page.cautions):
        yield TroubleRow(("caution", at, "gap"), ())
        for piece, text in enumerate(wrapped(f"Caution: {caution}", width - 2)):
            yield TroubleRow(("caution", at, piece), line((f" {text}", "warn")))


def _told(key: tuple[int, int], told: Told, room: int, width: int) -> Iterator[TroubleRow]:
    label = f" {MARKS[told.state]} {fit(told.label, room)} "
    blank = " " * width_of(label)
    pieces = wrapped(whole_numbers(told.says) or "-", width - width_of(label) - 1)
    for piece, text in enumerate(pieces):
        parts = line((label if not piece else blank, "label"), (as_typed(text), _LOOKS[told.state]))
        yield TroubleRow((*key, piece), parts, told.id)
