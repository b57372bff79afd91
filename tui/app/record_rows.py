"""The rows of a list of one kind: names in natural order, the rest read a window at a time."""

from __future__ import annotations

import sqlite3
from collections.abc import Hashable, Mapping
from datetime import date
from typing import Any

from binder.file import BinderFile
from binder.identifiers import natural_key
from binder.read import Record, read_where, reference_names, time_zone, unit_system
from binder.records.dates import local_moment
from binder.records.fields import Field, Kind, Type
from binder.records.schema import quoted
from binder.records.values import show
from tui.app.lines import Line, Part, fit, shares, width_of
from tui.app.ports import connections

WINDOW = 100  # rows read at a time
# What is a diary is read from its end.
_NEWEST_FIRST = {
    "log_entry": "opened_at",
    "touch": "at",
    "reading": "read_at",
    "test": "tested_on",
    "review": "taken_on",
    "issue": "issued_on",
    "configuration_copy": "taken_on",
}
_GAP = 2
# What is worked out for a list, its column after the name.
_COMPUTED = {"port": "connected to", "duty": "next due", "warranty": "ends"}
_LEAST_OF_COMPUTED = {
    "port": 30,
    "duty": len("2026-03-14, overdue"),
    "warranty": len("2026-03-14, over"),
}
_LEAST_CELLS = 8  # below which a cut text is no use; numbers and codes are never cut
_LEAST_OF_RULE = len("every 12 months")
_CUT = (Type.TEXT, Type.LINES, Type.CHOICE, Type.REF, Type.SUBJECT, Type.RRULE)


class RecordRows:
    """A list of one kind. Ten thousand names are sorted in some 30 ms; cells are read on sight."""

    def __init__(self, binder: BinderFile, kind: Kind, today: date) -> None:
        self.binder = binder
        self.today = today
        self.kind = kind
        self.system = unit_system(binder)
        self.zone = time_zone(binder)
        self.ids = _ordered_ids(binder, kind)
        self.fields = tuple(kind.field(name) for name in kind.columns)
        self._places: dict[int, int] | None = None
        self._cells: dict[int, tuple[str, ...]] = {}
        self._looks: dict[int, str] = {}
        self._wanted: list[int] | None = None
        self._longest_name = 0

    def __len__(self) -> int:
        return len(self.ids)

    def key(self, index: int) -> Hashable:
        return self.ids[index]

    def index(self, key: Hashable) -> int | None:
        if self._places is None:
            self._places = {record_id: at for at, record_id in enumerate(self.ids)}
        return self._places.get(key) if isinstance(key, int) else None

    def line(self, index: int, width: int) -> Line:
        if index not in self._cells:
            try:
                self._read_window(index // WINDOW)
            except sqlite3.OperationalError:  # drawing cannot wait longer than SQLite has
                return (Part(" ... someone else is writing; the next look reads it", "label"),)
        cells, look = self._cells[index], self._looks[index]
        return self._laid_out(cells, width, (look or "strong", look))

    def headings(self, width: int) -> Line:
        """The line above the list: what each column is."""
        return self._laid_out(self._heads(), width, ("label", "label"))

    def _heads(self) -> tuple[str, ...]:
        labels = [field.label for field in self.fields]
        if self.kind.name in _COMPUTED:
            labels.insert(0, _COMPUTED[self.kind.name])
        return (self.kind.label, *labels, "")

    def _laid_out(self, cells: tuple[str, ...], width: int, looks: tuple[str, str]) -> Line:
        widths = self._widths(width)
        parts = [Part(" ")]
        for at, (cell, room) in enumerate(zip(cells, widths, strict=True)):
            if room > 0:
                parts.append(Part(fit(cell, room), looks[0] if at == 0 else looks[1]))
                parts.append(Part(" " * _GAP, looks[1]))
        return tuple(parts)

    def _widths(self, width: int) -> list[int]:
        """Column widths from the first rows: the same for all, so that columns do not dance."""
        if self._wanted is None:
            if self.ids and 0 not in self._cells:
                self._read_window(0)
            rows = [self._cells[at] for at in sorted(self._cells)[:WINDOW]]
            heads = self._heads()
            self._longest_name = max([width_of(row[0]) for row in rows], default=0)
            self._wanted = [
                max([width_of(row[at]) for row in rows] + [width_of(head) if rows else 0])
                for at, head in enumerate(heads)
            ]
        wanted = [min(want, 60) for want in self._wanted]
        least = [min(want, use) for want, use in zip(wanted, self._least(), strict=True)]
        least[0] = min(least[0], self._longest_name)  # its heading gives way before a column does
        room = width - 1
        while wanted:
            used = [want for want in wanted if want]
            if sum(min(least[at], want) + _GAP for at, want in enumerate(wanted) if want) <= room:
                return shares(wanted, least, room - _GAP * len(used))
            last = max(at for at, want in enumerate(wanted) if want)
            if last == 0:
                return [room - _GAP, *[0] * (len(wanted) - 1)]
            wanted[last] = 0  # a column that would be too thin to read is left out
        return wanted

    def _least(self) -> list[int]:
        """Cells below which each column is no use."""
        least = [
            _LEAST_OF_RULE if field.type is Type.RRULE
            else _LEAST_CELLS if field.type in _CUT and not field.is_compact
            else 60
            for field in self.fields
        ]  # fmt: skip
        if self.kind.name in _COMPUTED:
            least.insert(0, _LEAST_OF_COMPUTED[self.kind.name])
        return [28, *least, _LEAST_CELLS]

    # Reading ----------------------------------------------------------------------------

    def _read_window(self, number: int) -> None:
        start = number * WINDOW
        ids = self.ids[start : start + WINDOW]
        marks = ",".join("?" * len(ids))
        records = {r.id: r for r in read_where(self.binder, self.kind, f"t.id IN ({marks})", ids)}
        named = reference_names(self.binder, records.values())
        ends = connections(self.binder, ids) if self.kind.name == "port" else {}
        for at, record_id in enumerate(ids, start):
            record = records.get(record_id)
            if record is None:  # removed by someone else a moment ago
                self._cells[at], self._looks[at] = ("(removed)",) + ("",) * self._others, "label"
                continue
            cells = [self._cell(field, record, named) for field in self.fields]
            if ends:
                cells.insert(0, ends[record_id].words)
            elif self.kind.name in _COMPUTED:
                cells.insert(0, _day(record, self.today))
            self._cells[at] = (record.name, *cells, _state(record))
            self._looks[at] = "label" if record["status"] in ("removed", "former") else ""

    @property
    def _others(self) -> int:
        return len(self._heads()) - 1

    def _cell(self, field: Field, record: Record, named: Mapping[int, Any]) -> str:
        value = record.values[field.name]
        if field.is_reference:
            return named[value].name if value in named else ""
        if field.type is Type.MOMENT and value:
            return local_moment(str(value), self.zone)
        return show(field, value, system=self.system).replace("\n", ", ")


def _day(record: Record, today: date) -> str:
    """When a duty is next due, or a warranty ends; with a word when that is past."""
    from binder.upkeep import duty_due, warranty_end

    if record.kind.name == "duty":
        day, past = duty_due(record.values), "overdue"
    elif record["starts_on"] and record["term_months"] is not None:
        starts_on = date.fromisoformat(record["starts_on"])
        day, past = warranty_end(starts_on, record["term_months"]), "over"
    else:
        return ""
    if day is None:
        return "no more"
    return f"{day.isoformat()}, {past}" if day < today else day.isoformat()


def _state(record: Record) -> str:
    """The status, in words, when it is not the usual one."""
    usual = record.kind.field("status").default
    return "" if record["status"] == usual else str(record["status"])


def _ordered_ids(binder: BinderFile, kind: Kind) -> list[int]:
    column = _NEWEST_FIRST.get(kind.name)
    if column:
        rows = binder.connection.execute(
            f"SELECT t.id FROM {quoted(kind.table)} t JOIN record r ON r.id = t.id "
            f"ORDER BY t.{quoted(column)} DESC, r.name DESC"
        )
        return [row[0] for row in rows]
    rows = binder.connection.execute(
        "SELECT id, name FROM record WHERE kind = ? ORDER BY name", (kind.name,)
    )
    ordered = sorted(rows, key=lambda row: natural_key(row[1]))
    return [row[0] for row in ordered]
