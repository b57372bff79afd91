"""Records named as a range, and fields set over all of them.

    1A-A:01..24            a series of the last number
    SW1:01..12,17          commas part items; a number alone takes the stem of the one before
    1A-A:01..1A-B:12       all from the one to the other, in natural order
    1A-A:*                 all whose names begin so
    *                      all of the list

The punctuation between panel and port may be left out, as ANSI/TIA-606 writes it: 1A-A01..24.
"""

from __future__ import annotations

import csv
import re
from collections.abc import Iterator, Mapping, Sequence
from datetime import datetime
from typing import Final

from binder.cells import Cells, field_called, folded
from binder.errors import Fault, RequestError
from binder.file import BinderFile
from binder.identifiers import natural_key, series
from binder.proposal import CHANGE, KEEP, Proposal, Proposed, Setting, counted_records
from binder.read import Record, read_where, reference_names
from binder.records.fields import Field, Kind
from binder.records.values import Stored

_ALL: Final = "*"
_CLOSING_NUMBER = re.compile(r"(?s)(.*?)([0-9]{1,9})")
_BARE = re.compile(r"[0-9]{1,9}(\.\.[0-9]{1,9})?")
_COUNT = re.compile(r"\{(n|[0-9]{1,9})\}")
_NO_SIGN = re.compile(r"[\W_]+")
_PART: Final = 500  # ids asked for at a time
_MOST_TOLD: Final = 4  # names of missing records


def chosen(
    binder: BinderFile, kind: Kind, text: str, listed: Sequence[int] | None = None
) -> tuple[int, ...]:
    """Ids of the records of a kind that a range names, in natural order, each once.

    `listed` is what `*` stands for; all of the kind where nothing is said. Raises RequestError
    naming what is not there.
    """
    return _Names(binder, kind, listed).chosen(text)


class _Names:
    """The names of a kind, and what a range means among them."""

    def __init__(self, binder: BinderFile, kind: Kind, listed: Sequence[int] | None) -> None:
        self.kind = kind
        rows = binder.connection.execute(
            "SELECT name, id FROM record WHERE kind = ?", (kind.name,)
        ).fetchall()
        self.ordered = sorted((row[0] for row in rows), key=natural_key)
        self.ids = {row[0]: int(row[1]) for row in rows}
        self.by_fold = {folded(name): name for name in self.ids}
        self.by_letters: dict[str, str] = {}
        for name in self.ids:  # two that differ by signs alone can be named in full only
            letters = _letters(name)
            self.by_letters[letters] = "" if letters in self.by_letters else name
        shown = None if listed is None else set(listed)
        self.listed = [name for name in self.ordered if shown is None or self.ids[name] in shown]

    def chosen(self, text: str) -> tuple[int, ...]:
        items = self._items(text)
        named, missing = set[str](), list[str]()
        stem = ""
        for item in items:
            found, stem = self._item(item, stem, missing)
            named.update(found)
        if missing:
            raise RequestError(self._not_there(missing))
        return tuple(self.ids[name] for name in self.ordered if name in named)

    def _items(self, text: str) -> list[str]:
        """The items between commas; a name that holds a comma stands in quotes, or alone."""
        text = text.strip()
        if self._named(text):
            return [text]
        rows = list(csv.reader([text.replace("\n", " ")], skipinitialspace=True))
        items = [item.strip() for item in rows[0]] if rows else []
        if not items or "" in items:
            raise RequestError(
                "a range has an item on each side of a comma, like 1A-A:01..24 or SW1:01..12,17"
            )
        return items

    def _item(self, item: str, stem: str, missing: list[str]) -> tuple[list[str], str]:
        """The names of one item, and the stem that a number alone after it takes."""
        if item == _ALL:
            return self.listed, stem
        name = self._named(item)
        if name is None and _BARE.fullmatch(item) and stem:
            item = f"{stem}{item}"
            name = self._named(item)
        if name is not None:
            return [name], _stem(name)
        if item.endswith(_ALL):
            return self._beginning(item[:-1], missing), stem
        first, dots, last = item.partition("..")
        if not dots:
            missing.append(item)
            return [], _stem(item)
        start, end = self._named(first.strip()), self._named(last.strip())
        if start and end and not re.fullmatch("[0-9]+", last.strip()):
            return self._between(start, end), _stem(end)
        return self._series(item, missing), _stem(first)

    def _series(self, item: str, missing: list[str]) -> list[str]:
        try:
            wanted = series(item)
        except ValueError as error:
            raise RequestError(str(error)) from error
        found = [(text, self._named(text)) for text in wanted]
        missing += [text for text, name in found if name is None]
        return [name for _, name in found if name is not None]

    def _between(self, start: str, end: str) -> list[str]:
        at, to = self.ordered.index(start), self.ordered.index(end)
        if to < at:
            raise RequestError(f"'{start}..{end}' runs backwards: {end} comes before {start}")
        return self.ordered[at : to + 1]

    def _beginning(self, stem: str, missing: list[str]) -> list[str]:
        begun = [name for name in self.ordered if folded(name).startswith(folded(stem))]
        if not begun:
            missing.append(f"{stem}*")
        return begun

    def _named(self, text: str) -> str | None:
        exact = self.by_fold.get(folded(text))
        if exact or ".." in text:
            return exact
        return self.by_letters.get(_letters(text)) or None

    def _not_there(self, missing: Sequence[str]) -> str:
        shown = ", ".join(missing[:_MOST_TOLD])
        more = f" and {len(missing) - _MOST_TOLD} more" if missing[_MOST_TOLD:] else ""
        what = self.kind.label.lower()
        stem = _letters(_stem(missing[0]))
        near = [name for name in self.ordered if stem and _letters(name).startswith(stem)]
        hint = f"; there are {near[0]} to {near[-1]}" if near[1:] else ""
        return f"no {what} is named {shown}{more}{hint}; nothing was changed"


def _letters(name: str) -> str:
    return _NO_SIGN.sub("", name.casefold())


def _stem(name: str) -> str:
    """The name without its closing number: what the next number alone is put to."""
    found = _CLOSING_NUMBER.fullmatch(name)
    return found[1] if found else ""


# Setting fields. --------------------------------------------------------------------------


def set_fields(
    binder: BinderFile, kind: Kind, ids: Sequence[int], typed: Mapping[str, str], *, now: datetime
) -> Proposal:
    """Propose fields, by any of their names, set to what is typed, over these records.

    Values are read as in a form; an empty one empties. `{n}` counts 1, 2, 3 along the range,
    `{07}` counts on from 07. Raises RequestError for a field that the kind does not have.
    """
    fields = {field_called(kind, word): text for word, text in typed.items()}
    if not fields:
        raise RequestError("say which field is to be set, like vlan=30")
    reader = _Values(Cells(binder, now))
    records = _read(binder, kind, ids)
    before = {n.id: n.name for n in reference_names(binder, records).values()}
    read = [
        {field: reader.of(field, text, at) for field, text in fields.items()}
        for at in range(len(records))
    ]
    wanted = {v for row in read for f, (v, _) in row.items() if f.is_reference and v is not None}
    named = before | reader.cells.names(int(value) for value in wanted if value is not None)
    proposed = tuple(
        _proposed(reader.cells, record, row, named)
        for record, row in zip(records, read, strict=True)
    )
    labels = ", ".join(field.label.lower() for field in fields)
    what = counted_records(kind, len(records))
    return Proposal(kind.name, f"change {what}: {labels}", proposed)


class _Values:
    """What is typed, read once where it is the same for all."""

    def __init__(self, cells: Cells) -> None:
        self.cells = cells
        self._read: dict[tuple[str, str], tuple[Stored, str]] = {}

    def of(self, field: Field, pattern: str, at: int) -> tuple[Stored, str]:
        """The value of the record at that place, or why there is none."""
        text = counted(pattern, at)
        if (field.name, text) not in self._read:
            try:
                self._read[field.name, text] = self.cells.read(field, text), ""
            except ValueError as error:
                self._read[field.name, text] = None, str(error)
        return self._read[field.name, text]


def counted(pattern: str, at: int) -> str:
    """The text of a pattern for the record at that place, from 0: `desk {n}` gives desk 1."""
    return _COUNT.sub(lambda found: _number(found[1], at), pattern)


def _number(start: str, at: int) -> str:
    return str(at + 1) if start == "n" else f"{int(start) + at:0{len(start)}d}"


def _proposed(
    cells: Cells, record: Record, row: Mapping[Field, tuple[Stored, str]], named: dict[int, str]
) -> Proposed:
    faults = tuple(
        Fault(record.name, says if says.startswith(field.label) else f"{field.label}: {says}")
        for field, (_, says) in row.items()
        if says
    )
    changed = {
        field: value for field, (value, says) in row.items()
        if not says and record[field.name] != value
    }  # fmt: skip
    settings = tuple(
        Setting(field.label, cells.text(field, record[field.name], named),
                cells.text(field, value, named))
        for field, value in changed.items()
    )  # fmt: skip
    values = {field.name: value for field, value in changed.items()}
    act = CHANGE if values or faults else KEEP
    return Proposed(record.id, record.name, act, values, settings, faults, seen=record.position)


def _read(binder: BinderFile, kind: Kind, ids: Sequence[int]) -> list[Record]:
    return list(_records(binder, kind, ids))


def _records(binder: BinderFile, kind: Kind, ids: Sequence[int]) -> Iterator[Record]:
    for start in range(0, len(ids), _PART):
        part = ids[start : start + _PART]
        marks = ",".join("?" * len(part))
        read = {one.id: one for one in read_where(binder, kind, f"t.id IN ({marks})", part)}
        yield from (read[record_id] for record_id in part if record_id in read)
