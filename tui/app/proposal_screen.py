"""Many records looked at before they are written: what becomes of each, what is wrong with it."""

from __future__ import annotations

from collections.abc import Hashable, Iterable, Sequence
from typing import ClassVar, NamedTuple

from textual.app import ComposeResult
from textual.binding import BindingType
from textual.containers import Vertical
from textual.widget import Widget

from binder.proposal import ADD, KEEP, Proposal, Proposed
from binder.records.catalog import BY_NAME
from tui.app.actions import REVIEWED, bindings
from tui.app.line_list import Drawing, LineList
from tui.app.lines import ELLIPSIS, Line, Part, cut, fit, line, width_of, wrapped
from tui.app.screen import BinderScreen

WRITE = "write"
MORE = "more_fields"
EXISTING = "change_existing"
MEND = "mend_lines"


class Chosen(NamedTuple):
    """What to do next, and the line of the text it concerns."""

    word: str
    line: int


_DETAIL_ROWS = 5
_MOST_NAME = 24


class ProposalRows:
    """A line a record, drawn when it comes into view; faults that belong to none come first."""

    def __init__(self, proposal: Proposal) -> None:
        self.proposal = proposal
        self.at_large = len(proposal.faults_at_large)
        names = max([width_of(one.name) for one in proposal.records], default=0)
        self.name_width = min(names, _MOST_NAME)
        self.line_width = len(str(max([one.line for one in proposal.records], default=0)))

    def __len__(self) -> int:
        return self.at_large + len(self.proposal.records)

    def key(self, index: int) -> Hashable:
        return index

    def index(self, key: Hashable) -> int | None:
        return key if isinstance(key, int) and key < len(self) else None

    def record(self, index: int) -> Proposed | None:
        at = index - self.at_large
        return self.proposal.records[at] if 0 <= at < len(self.proposal.records) else None

    def line(self, index: int, width: int) -> Line:
        one = self.record(index)
        if one is None:
            return line((f" ! {self.proposal.faults_at_large[index]}", "bad"))
        number = f" {one.line:>{self.line_width}}" if one.line else ""
        parts = [
            Part(number, "label"),
            Part(f" {fit(one.name, self.name_width)}  ", "label" if one.act == KEEP else "strong"),
        ]
        if one.faults:
            parts.append(Part(f"! {'; '.join(told(one))}", "bad"))
        elif one.act == KEEP:
            parts.append(Part(one.words, "label"))
        else:
            parts.append(Part(one.words))
        return tuple(parts)

    def next_fault(self, after: int) -> int | None:
        """The next row with a fault, going round."""
        wrong = [
            at for at in range(len(self)) if (one := self.record(at)) is None or one.faults
        ]  # fmt: skip
        return next((at for at in wrong if at > after), wrong[0] if wrong else None)


def told(one: Proposed) -> list[str]:
    """The faults of a record; its line or name stands before them already."""
    said = []
    for fault in one.faults:
        column = fault.where.partition(", ")[2]
        says = fault.says
        if column and not says.startswith(column):
            says = f"{column}: {says}"
        given = f" ({fault.given})" if fault.given and fault.given != one.name else ""
        said.append(f"{says}{given}")
    return said


def _at_most(most: int, rows: list[str]) -> list[str]:
    """The first rows of a text, the last with a sign where it goes on."""
    return rows if len(rows) <= most else [*rows[: most - 1], f"{rows[most - 1]}{ELLIPSIS}"]


class ProposalScreen(BinderScreen[Chosen | None]):
    """Answers with what to do next: write it, or go back and change it. None: drop it."""

    PLACE = REVIEWED
    BINDINGS: ClassVar[list[BindingType]] = bindings(REVIEWED)

    def __init__(
        self, proposal: Proposal, offers: frozenset[str] = frozenset(), says: str = ""
    ) -> None:
        super().__init__()
        self.proposal = proposal
        self.rows = ProposalRows(proposal)
        self.offers = offers
        self.says_first = says
        self.first = self.rows.next_fault(-1) or 0

    def compose_body(self) -> ComposeResult:
        with Vertical(id="main"):
            yield Drawing(id="columns")
            yield LineList(id="list", empty=" nothing is in it")

    def compose_foot(self) -> Iterable[Widget]:
        yield Drawing(id="hint")

    def on_mount(self) -> None:
        if self.says_first:
            self.say(self.says_first, bad=True)

    # Shown ------------------------------------------------------------------------------

    def title_parts(self) -> tuple[Sequence[Part], Sequence[Part]]:
        look = "bad" if self.proposal.faults else ""
        what = self.proposal.summary.partition(":")[0]
        return (Part(f" Preview: {what}", "strong"),), (Part(self.proposal.told, look),)

    def reload(self) -> None:
        self.main_list.show(self.rows, key=self.first)

    def show_frame(self) -> None:
        super().show_frame()
        width = self.size.width
        said = "; ".join(self.proposal.notes) or "nothing is written yet"
        self.query_one("#columns", Drawing).show([line((f" {said}", "label"))])
        rows = [
            (row, look)
            for text, look in self._detail(width - 3)
            for row in _at_most(2 if look == "bad" else _DETAIL_ROWS, wrapped(text, width - 3))
        ]
        if len(rows) > _DETAIL_ROWS:
            text, look = rows[_DETAIL_ROWS - 1]
            rows[_DETAIL_ROWS - 1 :] = [(f"{text}{ELLIPSIS}", look)]
        hint = self.query_one("#hint", Drawing)
        hint.styles.height = _DETAIL_ROWS + 1
        hint.show([line(("─" * width, "label")), *(line((f" {row}", look)) for row, look in rows)])

    def _detail(self, width: int) -> Iterable[tuple[str, str]]:
        """The record under the cursor: its line may be longer than the screen is wide. Its name
        takes one row, so that what is wrong with it is always seen."""
        one = self.rows.record(self.main_list.cursor)
        if one is None:
            faults = self.proposal.faults_at_large
            yield from ((f"! {fault}", "bad") for fault in faults[self.main_list.cursor :][:1])
            return
        label = BY_NAME[self.proposal.kind].label
        act = {ADD: "new", KEEP: "left alone"}.get(one.act, "changed")
        act = "there already" if one.is_taken else act
        where = f" (line {one.line})" if one.line else ""
        room = width - width_of(f"{label} , {act}{where}")
        yield f"{label} {cut(one.name, room)}, {act}{where}", "strong"
        yield from ((f"! {fault}", "bad") for fault in told(one))
        yield one.words, ""

    # Doing ------------------------------------------------------------------------------

    def is_offered(self, action_id: str) -> bool:
        if action_id in (MORE, EXISTING, MEND):
            return action_id in self.offers
        if action_id == "next_fault":
            return len(self.proposal.faults) > 0
        if action_id == "take_all":
            return not self.proposal.faults
        return super().is_offered(action_id)

    def action_take_all(self) -> None:
        if self.proposal.faults:
            more = "; c changes those that are there" if EXISTING in self.offers else ""
            self.say(f"not written: {self.proposal.told}{more}", bad=True)
        elif len(self.proposal.records) == self.proposal.counts[KEEP]:
            self.say("nothing to write: all of them hold it already")
        else:
            self.dismiss(Chosen(WRITE, 0))

    def on_line_list_chosen(self, event: LineList.Chosen) -> None:
        self.action_take_all()

    def _answer(self, word: str) -> None:
        if word in self.offers:
            one = self.rows.record(self.main_list.cursor)
            self.dismiss(Chosen(word, one.line if one else 1))

    def action_more_fields(self) -> None:
        self._answer(MORE)

    def action_change_existing(self) -> None:
        self._answer(EXISTING)

    def action_mend_lines(self) -> None:
        self._answer(MEND)

    def action_next_fault(self) -> None:
        at = self.rows.next_fault(self.main_list.cursor)
        if at is None:
            self.say("no faults")
        else:
            self.main_list.move_to(at)

    def action_drop_all(self) -> None:
        self.dismiss(None)
