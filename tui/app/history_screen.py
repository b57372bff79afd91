"""Who changed what, and when: of one record, or of the whole binder."""

from __future__ import annotations

from collections.abc import Hashable, Iterator, Sequence
from itertools import groupby
from typing import Any, ClassVar

from textual.binding import BindingType

from binder.history import Change, of_record, recent
from binder.read import kind_of, names
from binder.records.catalog import BY_NAME
from binder.records.dates import local_moment
from binder.records.fields import Field
from binder.records.values import show
from tui.app.actions import PAST, bindings
from tui.app.line_list import LineList, Rows
from tui.app.lines import Line, Part, line
from tui.app.record_screen import RecordScreen

MOST = 400  # changes read at a time
_FEW = 15  # lines shown of one step
_ACTS = {"add": "+", "remove": "-", "change": "~"}


class HistoryScreen(RecordScreen):
    """Steps, newest first, each with what it changed. Enter opens the record of a line."""

    PLACE = PAST
    BINDINGS: ClassVar[list[BindingType]] = bindings(PAST)

    def __init__(self, record_id: int | None) -> None:
        super().__init__()
        self.record_id = record_id
        self.room = MOST
        self.changes: tuple[Change, ...] = ()
        self.targets: dict[Hashable, int] = {}

    def title_parts(self) -> tuple[Sequence[Part], Sequence[Part]]:
        of = f"of {self.changes[0].name}" if self.record_id and self.changes else "of the binder"
        return (Part(f" History {of}", "strong"),), (Part("newest first"),)

    def reload(self) -> None:
        binder = self.binder_app.binder
        if self.record_id is None:
            self.changes = recent(binder, self.room)
        else:
            self.changes = of_record(binder, self.record_id, self.room)
        self.targets = {}
        rows = list(self._rows())
        if len(self.changes) == self.room:
            rows.append(("older", line((" older changes: Enter shows them", "label"))))
        self.main_list.empty = " nothing was changed yet"
        self.main_list.show(Rows(rows))

    def _rows(self) -> Iterator[tuple[Hashable, Line]]:
        zone = self.binder_app.zone
        named = names(self.binder_app.binder, self._referred())
        shown = {number: target.name for number, target in named.items()}
        for step_id, group in groupby(self.changes, key=lambda change: change.step_id):
            changes = list(group)
            first = changes[0]
            when = local_moment(first.at, zone)
            yield (
                (step_id, "step"),
                line((f" {when}", "strong"), f"  {first.who}  ", (first.summary, "strong")),
            )
            for change in changes[:_FEW]:
                self.targets[change.position] = change.record_id
                yield change.position, self._line(change, shown)
            if len(changes) > _FEW:
                more = len(changes) - _FEW
                yield (step_id, "more"), line((f"     and {more} more in this step", "label"))

    def _line(self, change: Change, named: dict[int, str]) -> Line:
        kind = BY_NAME[change.kind]
        what = f"   {_ACTS[change.act]} {kind.label.lower()} {change.name}"
        if change.field is None:
            return line(what)
        field = kind.field(change.field)
        before, after = (self._shown(field, v, named) for v in (change.before, change.after))
        return line(what, (f"  {field.label.lower()}: ", "label"), f"{before} -> {after}")

    def _shown(self, field: Field, value: Any, named: dict[int, str]) -> str:
        if value is None:
            return "(empty)"
        if field.is_reference:
            return named.get(value, "(removed)")
        app = self.binder_app
        return show(field, value, system=app.system, zone=app.zone).replace("\n", " ¶ ")

    def _referred(self) -> set[int]:
        return {
            value
            for change in self.changes
            if change.field and BY_NAME[change.kind].field(change.field).is_reference
            for value in (change.before, change.after)
            if value is not None
        }

    def looked_at(self) -> int | None:
        record_id = self.targets.get(self.main_list.key or "")
        there = record_id is not None and kind_of(self.binder_app.binder, record_id)
        return record_id if there else None

    def action_history(self) -> None:
        if self.record_id is None:
            self.say("this is the history of the whole binder")
        else:
            self.binder_app.open_history(None)

    def on_line_list_chosen(self, event: LineList.Chosen) -> None:
        if event.source.key == "older":
            self.room += MOST
            self.reload()
            return
        target = self.looked_at()
        if target is not None:
            with self.binder_app.telling():
                self.binder_app.open_record(target)
        elif event.source.key in self.targets:
            self.say("that record is not in the binder any more")
