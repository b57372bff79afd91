"""What is being typed into a form, before it is saved. No screen here.

A draft holds text by field. Fields nobody touched keep what is stored, to the last digit: only
what was typed is read again.
"""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from datetime import datetime
from typing import Any

from binder.errors import FaultsError, RequestError
from binder.file import BinderFile
from binder.numbering import next_free, next_port
from binder.read import Record, names, resolve
from binder.records.dates import format_moment
from binder.records.fields import Field, Kind, Type
from binder.records.values import Stored, check, parse, typed
from tui.app.ports import connections

_NOW = ("opened_at", "read_at")  # what is written down as it happens
_TODAY = ("taken_on", "tested_on", "waived_on", "issued_on")
_PUT_AS_READ = (Type.NUMBER, Type.MONEY, Type.DATE)
_OF_ONE_THING = (Type.MAC, Type.IP)


class Draft:
    """Text by field name, with what was there at the start and what is wrong with it now."""

    def __init__(
        self,
        binder: BinderFile | None,
        fields: Sequence[Field],
        values: Mapping[str, Any],
        *,
        system: str,
        now: datetime,
        is_new: bool,
        kind: Kind,
        record_id: int | None = None,
    ) -> None:
        self.binder = binder  # None while there is no binder yet: then no field is a reference
        self.fields = tuple(fields)
        self.system = system
        self.now = now
        self.is_new = is_new
        self.kind = kind  # what it is going to be a record of
        self.record_id = record_id
        self.faults: dict[str, str] = {}
        self.stored = {field.name: values.get(field.name) for field in self.fields}
        self.start = self._as_typed(self.stored)
        self.texts = dict(self.start)

    def _as_typed(self, values: Mapping[str, Any]) -> dict[str, str]:
        ids = [values[f.name] for f in self.fields if f.is_reference and values[f.name]]
        named = names(self.binder, ids) if self.binder else {}
        texts = {}
        for field in self.fields:
            value = values[field.name]
            if not field.is_reference:
                texts[field.name] = typed(field, value, system=self.system)
            elif value in named:
                target = named[value]
                of_any = field.type is Type.SUBJECT
                texts[field.name] = f"{target.kind} {target.name}" if of_any else target.name
            else:
                texts[field.name] = ""
        return texts

    def field(self, name: str) -> Field:
        return next(field for field in self.fields if field.name == name)

    @property
    def is_touched(self) -> bool:
        """Whether anything was typed that leaving the form would lose."""
        return self.texts != self.start

    def put(self, name: str, text: str) -> None:
        """Take what was typed into a field; what was wrong with it is looked at anew."""
        if self.texts[name] != text:
            self.texts[name] = text
            self.faults.pop(name, None)

    def look_at(self, name: str) -> None:
        """See whether a field's text can be read; its fault, if any, stands in `faults`.

        A figure is put with the unit it was taken to have, and a day by its date.
        """
        self.faults.pop(name, None)
        field = self.field(name)
        try:
            value = self._value(field)
            self._refuse_taken(field, value)
            if field.type in _PUT_AS_READ and value is not None:
                self.texts[name] = typed(field, value, system=self.system)
        except (ValueError, RequestError) as error:
            self.faults[name] = str(error)

    def values(self) -> dict[str, Any]:
        """The stored values to save: all of a new record, only what was typed of an old one.

        Where some cannot be read, `faults` says so and what is returned is not to be saved.
        """
        self.faults.clear()
        values = {}
        for field in self.fields:
            if not self.is_new and self.texts[field.name] == self.start[field.name]:
                continue
            try:
                values[field.name] = self._value(field)
                self._refuse_taken(field, values[field.name])
            except (ValueError, RequestError) as error:
                self.faults[field.name] = str(error)
        return values

    def _value(self, field: Field) -> Stored:
        text = self.texts[field.name]
        if text == self.start[field.name] and self.stored[field.name] is not None:
            return self.stored[field.name]
        if field.is_reference:
            return self._reference(field, text.strip())
        return parse(field, text, system=self.system, now=self.now)

    def _refuse_taken(self, field: Field, value: Stored) -> None:
        """A name or a port that is taken is told while the form is filled, not at its end."""
        if self.binder is None or value is None:
            return
        if self.kind.named_by == (field.name,):
            sql = "SELECT id FROM record WHERE kind = ? AND name = ?"
            row = self.binder.connection.execute(sql, (self.kind.name, value)).fetchone()
            if row and row[0] != self.record_id:
                raise ValueError(f"{self.kind.label.lower()} {value} is in the binder already")
        if field.target == "port" and isinstance(value, int):
            end = connections(self.binder, [value])[value].side_of(self.kind.name)
            if end and end.id != self.record_id:
                raise ValueError(f"taken by {end.words}")

    def _reference(self, field: Field, text: str) -> Stored:
        if not text or self.binder is None:
            return check(field, None)
        return resolve(self.binder, text, field.target).id

    def take_faults(self, error: FaultsError) -> None:
        """Put the faults of a refused save beside the fields they name, by the field's label."""
        for fault in error.faults:
            for field in self.fields:
                if fault.says.startswith(field.label):
                    self.faults[field.name] = fault.says

    def rebase(self, values: Mapping[str, Any], keep: Collection[str]) -> None:
        """Start from what is stored now, and keep as typed only the fields named in `keep`."""
        texts = dict(self.texts)
        changed = [name for name, text in texts.items() if text != self.start[name]]
        self.stored = {field.name: values.get(field.name) for field in self.fields}
        self.start = self._as_typed(self.stored)
        self.texts = dict(self.start) | {name: texts[name] for name in changed if name in keep}


def starting_values(kind: Kind, given: Mapping[str, Any], now: datetime) -> dict[str, Any]:
    """What the form of a new record starts with: defaults, the time, and what is `given`."""
    values: dict[str, Any] = {field.name: field.default for field in kind.all_fields}
    for name in _NOW:
        if kind.has(name):
            values[name] = format_moment(now)
    for name in _TODAY:
        if kind.has(name):
            values[name] = now.date().isoformat()
    return values | dict(given)


def copied_values(binder: BinderFile, record: Record) -> dict[str, Any]:
    """What the form of a copy starts with: all but what belongs to one thing only.

    Serials, addresses, places in a rack and the word of who looked are left out; the identifier
    counts on, and so do the ends of a cable where the ports after them are free.
    """
    values = dict(record.values)
    for field in record.kind.all_fields:
        is_single = field.unique or field.is_compact or field.type in _OF_ONE_THING
        if is_single or field.target == "port" or field.name in ("u_position", "verified_on"):
            values[field.name] = None
    values["verified_by"] = None
    last = record.kind.field(record.kind.named_by[-1])
    if not last.is_reference and not record.kind.series:
        values[last.name] = None
    values |= next_free(binder, record)
    for end in ("port_a", "port_b"):
        if record.kind.has(end) and record[end] is not None:
            values[end] = next_port(binder, record[end], record.kind.name)
    return values
