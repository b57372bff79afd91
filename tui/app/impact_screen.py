"""What a failure takes: power, data, or only the second way."""

from __future__ import annotations

from collections import Counter
from collections.abc import Hashable, Iterator, Sequence
from dataclasses import dataclass
from itertools import groupby
from math import isfinite
from typing import ClassVar

from textual.binding import BindingType

from binder.errors import RequestError
from binder.identifiers import natural_key
from binder.impact import Affected, Impact, impact
from binder.impact_words import LOSSES, battery, why
from tui.app.actions import LOST, bindings
from tui.app.drawn_screen import RowScreen
from tui.app.line_list import LineList
from tui.app.lines import Line, Part, fit, line, width_of, wrapped
from tui.app.screen import BROAD

_LOOKS = {"power": "bad", "data": "warn", "redundancy": "strong"}


@dataclass(frozen=True, slots=True)
class ImpactRow:
    """A drawn line; `target` is the record it opens, `group` what Enter folds."""

    key: Hashable
    parts: Line
    target: int | None = None
    group: str = ""


class ImpactScreen(RowScreen[ImpactRow]):
    """What is lost, the gravest first, by space, each with its reason. Enter opens the thing."""

    PLACE = LOST
    BINDINGS: ClassVar[list[BindingType]] = bindings(LOST)
    WIDE_FROM = BROAD

    def __init__(self, answer: Impact) -> None:
        super().__init__()
        self.asked = answer
        self.answer: Impact | None = answer
        self.folded: frozenset[str] = frozenset()

    def title_parts(self) -> tuple[Sequence[Part], Sequence[Part]]:
        kind = self.asked.kind.replace("_", " ")
        if self.answer is None:
            return (Part(f" {kind} {self.asked.name} cannot fail any more", "bad"),), ()
        counts = Counter[str](each.loses for each in self.answer.affected)
        told = [f"{counts[loss]} {loss}" for loss, _ in LOSSES if counts[loss]]
        head = (Part(f" If {kind} "), Part(self.answer.name, "strong"), Part(" fails"))
        return head, (Part(", ".join(told) or "nothing lost"),)

    def reload(self) -> None:
        app = self.binder_app
        self.answer = None
        try:
            self.answer = impact(app.binder, self.asked.id, today=app.today)
        except RequestError:
            self.draw_rows()
            raise
        self.draw_rows()

    def drawn(self, width: int) -> Sequence[ImpactRow]:
        return list(impact_rows(self.answer, width, self.folded)) if self.answer else ()

    def subject(self) -> int | None:
        return self.row.target if self.row else None

    def looked_at(self) -> int | None:
        """The thing of the line; on other lines what fails."""
        return self.subject() or (self.asked.id if self.answer else None)

    def on_line_list_chosen(self, event: LineList.Chosen) -> None:
        row = self.rows.get(event.source.key)
        if row is None:
            return
        if row.group:
            self.folded = self.folded ^ {row.group}
            self.draw_rows()
        elif row.target is not None:
            with self.binder_app.telling():
                self.binder_app.open_record(row.target)

    def action_order(self) -> None:
        from tui.app.order_screen import OrderScreen

        self.app.push_screen(OrderScreen(self.asked.id))

    def action_impact(self) -> None:
        if self.subject() is None:
            self.say("stand on a thing to see what its own failure takes")
        else:
            super().action_impact()


def impact_rows(answer: Impact, width: int, folded: frozenset[str]) -> Iterator[ImpactRow]:
    """The rows of an answer, drawn for a width."""
    for at, (text, target) in enumerate(_heads(answer)):
        for n, piece in enumerate(wrapped(text, width - 2)):
            yield ImpactRow(("head", at, n), line(f" {piece}"), target)
    if not answer.affected:
        yield ImpactRow("none", line(" nothing recorded here loses power, data or redundancy"))
    for loss, told in LOSSES:
        affected = [each for each in answer.affected if each.loses == loss]
        if affected:
            sign = "+" if loss in folded else "-"
            head = line((f" {sign} {len(affected)} {told}", _LOOKS[loss]))
            yield ImpactRow(loss, head, group=loss)
            for n, piece in enumerate(wrapped(_forms(affected), width - 4)):
                yield ImpactRow((loss, "forms", n), line((f"   {piece}", "label")), group=loss)
            if loss not in folded:
                yield from _by_space(affected, width)


def _heads(answer: Impact) -> Iterator[tuple[str, int | None]]:
    """What comes before the lists: batteries and their timeline, circuits, what else stops."""
    for ups in answer.on_battery:
        yield battery(ups), ups.id
    yield from ((text, None) for text in _timeline(answer))
    if answer.circuits_lost:
        left = ", ".join(answer.circuits_left)
        left = f"still up: {left}" if left else "no circuit is left"
        yield f"circuit lost: {', '.join(answer.circuits_lost)}; {left}", None
    for note in answer.notes:
        yield f"note: {note}", None


def _timeline(answer: Impact) -> Iterator[str]:
    """How many lose what, moment by moment, where a battery puts some of it off."""
    losing = [each for each in answer.affected if each.loses != "redundancy"]
    moments = sorted({each.after_min for each in losing})
    if not any(moments):
        return
    for moment in moments:
        counts = Counter(each.loses for each in losing if each.after_min == moment)
        told = ", ".join(f"{n} lose {loss}" for loss, n in counts.items())
        yield f"{_when(moment) or 'at once'}: {told}"


def _when(after_min: float) -> str:
    return f"after {after_min:.0f} min" if after_min and isfinite(after_min) else ""


def _forms(affected: Sequence[Affected]) -> str:
    """'camera 2, phone 4': how many of each kind."""
    counts = Counter(each.form for each in affected)
    return ", ".join(f"{form} {counts[form]}" for form in sorted(counts, key=natural_key))


def _by_space(affected: Sequence[Affected], width: int) -> Iterator[ImpactRow]:
    def place(each: Affected) -> tuple[float, str]:
        return each.after_min, each.space

    names = max(width_of(each.name) for each in affected)
    forms = max(width_of(each.form) for each in affected)
    ordered = sorted(affected, key=lambda each: (each.after_min, natural_key(each.space)))
    for (after_min, space), group in groupby(ordered, key=place):
        members = list(group)
        key = (members[0].loses, after_min, space)
        head = "   " + ", ".join(filter(None, (space or "in no space", _when(after_min))))
        yield ImpactRow(key, line((head, "strong"), (f"  {len(members)}", "label")))
        for each in members:
            yield from _member(each, min(names, 20), min(forms, 14), width)


def _member(each: Affected, names: int, forms: int, width: int) -> Iterator[ImpactRow]:
    """A thing, and the chain of reasons down to it."""
    head = (Part(f"     {fit(each.name, names)}  "), Part(f"{fit(each.form, forms)}  ", "label"))
    taken = sum(width_of(part.text) for part in head)
    reason = why(each) if each.loses != "redundancy" else "one way less"
    for at, piece in enumerate(wrapped(reason, max(width - taken - 1, 16))):
        start = head if at == 0 else (Part(" " * taken),)
        yield ImpactRow((each.loses, each.id, at), (*start, Part(piece, "label")), each.id)
