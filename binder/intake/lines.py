"""Records of a kind from pasted or typed lines, one a line, or from a CSV file.

    Port      VLAN  Current use
    SW1:01    20    front desk phone
    SW1:02    30    camera, north door

The first line may name the columns, by field name or label, in any order. Else they are those
of the kind's list. Values are read as in a form: `38 ft`, `+30d`; references by name. All of it
becomes a proposal (binder.proposal), with what is wrong told by line and column.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Final

from binder.cells import Cells, fields_called, folded, letters
from binder.errors import Fault, RequestError
from binder.file import BinderFile
from binder.intake.table import BLANKS, LINES, Row, Table, table
from binder.numbering import new_id, new_identifiers
from binder.proposal import ADD, CHANGE, KEEP, Proposal, Proposed, Setting, counted_records
from binder.read import Record, read_where
from binder.records.fields import Field, Kind
from binder.records.values import Stored, check

_CUT: Final = "…"  # what a screen puts where it had no room
_COMPUTED: Final = {"port": ("connected to",)}  # columns of a list that no field holds


@dataclass(frozen=True, slots=True)
class Column:
    """What a column is read into: a field, the whole name of a record, or nothing."""

    heading: str
    field: Field | None = None
    is_name: bool = False


def propose(
    binder: BinderFile, kind: Kind, text: str, *, now: datetime, change_existing: bool = False
) -> Proposal:
    """Propose the records that the lines of `text` stand for.

    A name that is in the binder already is a fault, unless `change_existing`: then its fields are
    set to what the cells say, and empty cells leave them alone. Raises RequestError where no
    table can be read.
    """
    if kind.single:
        raise RequestError(f"a binder holds exactly one {kind.label.lower()}; change it instead")
    lines = table(text)
    columns, rows, notes = _headed(kind, lines)
    reader = _Reader(binder, kind, columns, lines, now, change_existing)
    records = tuple(reader.read(rows))
    what = counted_records(kind, len(records))
    verb = "add and change" if change_existing else "add"
    return Proposal(kind.name, f"{verb} {what} from lines", records, notes, tuple(reader.at_large))


# Columns. ---------------------------------------------------------------------------------


def _headed(kind: Kind, lines: Table) -> tuple[tuple[Column, ...], Sequence[Row], tuple[str, ...]]:
    """The columns, the rows under them, and how they were found out."""
    first = lines.rows[0]
    named = tuple(_column(kind, cell) for cell in first.cells)
    known = [column for column in named if column is not None]
    if known and 2 * len(known) > len(named):
        columns = tuple(
            column or Column(cell) for column, cell in zip(named, first.cells, strict=True)
        )
        return columns, lines.rows[1:], (f"line {first.line} names the columns",)
    fields = (kind.field(name) for name in kind.columns)
    columns = (_name_column(kind), *(Column(field.label, field) for field in fields))
    headings = ", ".join(column.heading for column in columns[: len(first.cells)])
    return columns, lines.rows, (f"no line names the columns; read as: {headings}",)


def _name_column(kind: Kind) -> Column:
    if len(kind.named_by) == 1:
        return Column(kind.label, kind.field(kind.named_by[0]))
    return Column(kind.label, is_name=True)


def _column(kind: Kind, heading: str) -> Column | None:
    """What a heading means; None when it means nothing, or one of two things."""
    words = letters(heading)
    if words and words in _COMPUTED.get(kind.name, ()):
        return Column("")
    found = fields_called(kind, heading) if words else []
    if len(found) == 1:
        return Column(found[0].label, found[0])
    is_name = words in (letters(kind.label), letters(kind.name), "name", "identifier")
    return _name_column(kind) if is_name and not found else None


# Rows. ------------------------------------------------------------------------------------


class _Reader:
    """Reads rows one by one; what is wrong is gathered with its line and column."""

    def __init__(
        self, binder: BinderFile, kind: Kind, columns: tuple[Column, ...], lines: Table,
        now: datetime, change_existing: bool,
    ) -> None:  # fmt: skip
        self.kind = kind
        self.columns = columns
        self.parted_by = lines.parted_by
        self.widest = max(len(row.cells) for row in lines.rows)
        self.cells = Cells(binder, now)
        self.change_existing = change_existing
        self.there = {one.id: one for one in read_where(binder, kind)}
        self.by_name = {folded(one.name): one.id for one in self.there.values()}
        self.at_large = list(self._of_columns(lines.rows[0].line))
        self.lines_by_name: dict[str, int] = {}
        self.typed_names: dict[int, str] = {}
        self.named: dict[int, str] = {}
        self.fault_list: list[Fault] = []
        self.line = 0

    def _of_columns(self, line: int) -> Iterator[Fault]:
        seen = set[str]()
        for column in self.columns:
            heading = column.heading
            if heading and column.field is None and not column.is_name:
                accepted = ", ".join(field.name for field in self.kind.all_fields)
                yield Fault(
                    f"line {line}", f"no column is called so; there are: {accepted}", heading
                )
            elif heading in seen:
                yield Fault(f"line {line}", "two columns are called so", heading)
            seen.add(heading)

    def fault(self, says: str, given: str = "", column: str = "") -> None:
        where = f"line {self.line}" + (f", {column}" if column else "")
        self.fault_list.append(Fault(where, says, given[:80]))

    def read(self, rows: Sequence[Row]) -> Iterator[Proposed]:
        """What each row stands for. References may name records of rows further down."""
        kind = self.kind
        if not rows:
            self.at_large.append(Fault("line 2", "no line follows the names of the columns"))
        given = [self._given(row) for row in rows]
        numbers: Iterator[str] = iter(())
        if kind.series:
            typed = (cells.get("identifier", "") for _, cells, _ in given)
            numbers = new_identifiers(self.cells.binder.connection, kind, typed)
        listed = []
        for line, cells, faults in given:
            if kind.series and not cells.get("identifier"):
                cells["identifier"] = next(numbers)
            listed.append((line, cells, faults, self._registered(cells)))
        read = [self._values(*one) for one in listed]
        self._learn_names(values for _, _, values, _, _ in read)
        for one in read:
            yield self._proposed(*one)

    def _given(self, row: Row) -> tuple[int, dict[str, str], list[Fault]]:
        """Text by field name, and what is wrong with the row as a row."""
        self.line, self.fault_list = row.line, []
        cells: dict[str, str] = {}
        if len(row.cells) > len(self.columns) and any(row.cells[len(self.columns) :]):
            extra = next(cell for cell in row.cells[len(self.columns) :] if cell)
            self.fault(f"more cells than the {len(self.columns)} columns", extra)
        if self.parted_by == BLANKS and len(row.cells) < min(self.widest, len(self.columns)):
            self.fault("fewer cells than other lines: between blanks an empty one cannot be seen")
        for column, cell in zip(self.columns, row.cells, strict=False):
            if self.parted_by in (BLANKS, LINES) and cell.endswith(_CUT):
                self.fault("cut off by a screen; type it in full", cell, column.heading)
            if column.is_name:
                cells |= self._name_parts(cell)
            elif column.field is not None:
                cells[column.field.name] = cell
        return row.line, cells, self.fault_list

    def _name_parts(self, name: str) -> dict[str, str]:
        """The fields that a name made of several is made of: SW1:07 is port 07 of SW1."""
        parts = next(_splits(self.cells, self.kind, name.strip()), None)
        if parts is None:
            example = self.kind.separator.join(
                self.kind.field(part).example or part for part in self.kind.named_by
            )
            self.fault(f"a {self.kind.label.lower()} is named like {example}", name)
            return {}
        return parts

    def _registered(self, cells: Mapping[str, str]) -> int:
        """The id of the record of that name: its own, or a new one."""
        parts = [cells.get(part, "").strip() for part in self.kind.named_by]
        name = folded(self.kind.separator.join(parts))
        if not all(parts):
            return new_id()
        return self.by_name.get(name) or self.cells.known(self.kind.name).setdefault(name, new_id())

    def _values(
        self, line: int, cells: Mapping[str, str], faults: list[Fault], record_id: int
    ) -> tuple[int, int, dict[str, Stored], list[Fault], Record | None]:
        self.line, self.fault_list = line, faults
        there = self.there.get(record_id)
        self._look_at_name(cells, there)
        fields = self.kind.all_fields
        values: dict[str, Stored] = {}
        for field in fields:
            text = cells.get(field.name)
            if there is not None and not (text or "").strip():
                continue
            try:
                values[field.name] = self._value(field, text)
            except ValueError as error:
                self.fault(str(error), text or "", field.label)
        return line, record_id, values, faults, there

    def _value(self, field: Field, text: str | None) -> Stored:
        """An empty cell is empty; what no column tells of is as in a new form."""
        if text is None or (not text.strip() and field.required):
            return check(field, field.default)
        return self.cells.read(field, text)

    def _look_at_name(self, cells: Mapping[str, str], there: Record | None) -> None:
        name = self.kind.separator.join(cells.get(part, "").strip() for part in self.kind.named_by)
        self.typed_names[self.line] = name
        first = self.lines_by_name.setdefault(folded(name), self.line)
        if first != self.line and name.strip():
            self.fault(f"line {first} has that name already", name)
        elif there is not None and not self.change_existing:
            self.fault("is in the binder already", there.name)

    def _learn_names(self, rows: Iterator[Mapping[str, Stored]]) -> None:
        refs = [field for field in self.kind.all_fields if field.is_reference]
        wanted = {row[f.name] for row in rows for f in refs if row.get(f.name) is not None}
        before = {
            one[f.name] for one in self.there.values() for f in refs if one[f.name] is not None
        } if self.change_existing else set()  # fmt: skip
        self.named = self.cells.names(int(value) for value in wanted | before if value is not None)

    def _proposed(
        self, line: int, record_id: int, values: dict[str, Stored], faults: list[Fault],
        there: Record | None,
    ) -> Proposed:  # fmt: skip
        text = self.cells.text
        if there is None:
            name = self._name(values) or self.typed_names[line]
            settings = tuple(
                Setting(field.label, "", text(field, values[field.name], self.named))
                for field in self._told(values)
            )
            return Proposed(record_id, name, ADD, values, settings, tuple(faults), line)
        changed = {name: value for name, value in values.items() if there[name] != value}
        settings = tuple(
            Setting(field.label, text(field, there[field.name], self.named),
                    text(field, values[field.name], self.named))
            for field in self.kind.all_fields
            if field.name in changed
        )  # fmt: skip
        act = KEEP
        if not self.change_existing:
            act = ADD
        elif changed or faults:
            act = CHANGE
        return Proposed(record_id, there.name, act, changed, settings, tuple(faults), line,
                        there.position)  # fmt: skip

    def _told(self, values: Mapping[str, Stored]) -> Iterator[Field]:
        """What is told of a new record beside its name: what a column gave it."""
        given = {column.field.name for column in self.columns if column.field is not None}
        for field in self.kind.all_fields:
            is_given = field.name in given and field.name not in self.kind.named_by
            if is_given and values.get(field.name) is not None:
                yield field

    def _name(self, values: Mapping[str, Stored]) -> str:
        """The name, as it will be; empty where a part of it could not be read."""
        if any(values.get(part) is None for part in self.kind.named_by):
            return ""
        shown = []
        for part in self.kind.named_by:
            value = values.get(part)
            named = self.kind.field(part).is_reference and value is not None
            shown.append(self.named.get(int(value or 0), "") if named else str(value or ""))
        return self.kind.separator.join(shown)


def _splits(cells: Cells, kind: Kind, name: str) -> Iterator[dict[str, str]]:
    """Ways to read a name as its parts, those whose references are in the binder first."""
    ways = list(_ways(kind.named_by, kind.separator, name))
    for way in ways:
        references = [part for part in way if kind.field(part).is_reference]
        if all(folded(way[p]) in cells.known(kind.field(p).target) for p in references):
            yield way
    yield from ways


def _ways(parts: Sequence[str], separator: str, name: str) -> Iterator[dict[str, str]]:
    if len(parts) == 1:
        if name.strip():
            yield {parts[0]: name.strip()}
        return
    at = name.find(separator)
    while at >= 0:
        for rest in _ways(parts[1:], separator, name[at + len(separator) :]):
            if name[:at].strip():
                yield {parts[0]: name[:at].strip()} | rest
        at = name.find(separator, at + 1)
