"""The JSON form of a binder: an object of lists by record kind, references by name.

    {"format": 1, "spaces": [{"identifier": "1A", "building": "B1", "form": "room"}], ...}

`dump`, `load`, `dump` gives the same bytes, so that a binder can be kept in version control,
compared and rebuilt. A reference to a record of any kind is `{"hardware": "SW1"}`. The history
is not carried over. FORMAT.md, beside `binder/file.py`, describes the form.
"""

from __future__ import annotations

import base64
import hashlib
import json
import sqlite3
from collections.abc import Callable, Iterator, Mapping
from typing import Any

from binder.edit import Editor, Step, new_id
from binder.errors import Fault, FaultsError, RequestError
from binder.file import BinderFile, integrity_sentence
from binder.identifiers import natural_key
from binder.read import read_where
from binder.records.catalog import BY_NAME, BY_PLURAL, KINDS
from binder.records.fields import Field, Kind, Type
from binder.records.schema import quoted
from binder.records.values import from_json, to_json
from binder.text import UNSAFE_IN_LINES

FORMAT = 1
Progress = Callable[[int, int], None]  # records done, records in all
_NamesByKind = dict[str, dict[str, int]]
_Rows = list[tuple[int, dict[str, Any]]]
_PART = 1000  # records added, and told to the progress bar, at a time


# Out. -------------------------------------------------------------------------------------


def dump(binder: BinderFile) -> dict[str, Any]:
    """The whole binder as plain data, in an order that depends only on what it holds."""
    with binder.reading():
        data: dict[str, Any] = {"format": FORMAT}
        named = _all_names(binder)
        for kind in KINDS:
            members = plain_records(binder, kind, named)
            if members:
                data[kind.plural] = members
        contents = binder.connection.execute("SELECT sha256, bytes FROM content ORDER BY sha256")
        encoded = {row[0]: base64.b64encode(row[1]).decode() for row in contents}
        if encoded:
            data["contents"] = encoded
        return data


def plain_records(
    binder: BinderFile, kind: Kind, named: Mapping[int, tuple[str, str]] | None = None
) -> list[dict[str, Any]]:
    """The records of one kind as the JSON form has them, in natural order of their names.

    `named` is kind and name by id, when the caller has them all at hand.
    """
    if named is None:
        named = _all_names(binder)
    records = sorted(read_where(binder, kind), key=lambda record: natural_key(record.name))
    return [_plain(kind, record.values, named) for record in records]


def to_text(data: Mapping[str, Any]) -> str:
    """The JSON text of a dump: one way of writing it, so that equal binders give equal bytes."""
    text = json.dumps(data, ensure_ascii=False, indent=1)
    return UNSAFE_IN_LINES.sub(lambda match: _escaped(match[0]), text) + "\n"


def _escaped(character: str) -> str:
    """JSON's own escape, for marks that JSON lets through and a terminal acts on."""
    return json.dumps(character)[1:-1]


def _all_names(binder: BinderFile) -> dict[int, tuple[str, str]]:
    rows = binder.connection.execute("SELECT id, kind, name FROM record")
    return {row[0]: (row[1], row[2]) for row in rows}


def _plain(
    kind: Kind, values: Mapping[str, Any], named: Mapping[int, tuple[str, str]]
) -> dict[str, Any]:
    plain: dict[str, Any] = {}
    for field in kind.all_fields:
        value = values[field.name]
        if value is None:
            if field.default is not None:  # absent would mean the default
                plain[field.name] = None
        elif field.type is Type.REF:
            plain[field.name] = named[value][1]
        elif field.type is Type.SUBJECT:
            plain[field.name] = {named[value][0]: named[value][1]}
        elif not (field.name == "status" and value == field.default):
            plain[field.name] = to_json(field, value)
    return plain


# In. --------------------------------------------------------------------------------------


def load(
    binder: BinderFile, data: Any, who: str, *, progress: Progress | None = None
) -> dict[str, int]:
    """Add everything in `data` to the binder in one step; gives how many of each kind.

    The client's sheet replaces the values of the one that is there. Raises FaultsError with
    every fault and its place (list, index, field); nothing is changed unless all of it is good.
    """
    lists = _checked_shape(data)
    known = _known_names(binder)
    reader = _Reader(known)
    rows = reader.read(lists)
    contents = _checked_contents(data.get("contents", {}), reader.faults)
    if reader.faults:
        raise FaultsError(tuple(reader.faults))
    total = sum(len(members) for members in rows.values())
    with Editor(binder, who).step(f"load {total} records") as step:
        done = 0
        for kind in KINDS:
            members = rows.get(kind.name, [])
            for start in range(0, len(members), _PART):
                part = members[start : start + _PART]
                reader.faults += _added(binder.connection, step, kind, part, start)
                done += len(part)
                if progress:
                    progress(done, total)
        if reader.faults:
            raise FaultsError(tuple(reader.faults))
        binder.connection.executemany(
            "INSERT OR IGNORE INTO content (sha256, bytes) VALUES (?, ?)", contents
        )
    return {kind.plural: len(rows[kind.name]) for kind in KINDS if rows.get(kind.name)}


def _added(
    connection: sqlite3.Connection, step: Step, kind: Kind, part: _Rows, start: int
) -> list[Fault]:
    """Add a part of a list; what the database refuses is found by adding one by one."""
    if kind.single and connection.execute(f"SELECT 1 FROM {quoted(kind.table)}").fetchone():
        for record_id, values in part[:1]:
            step.change(record_id, values)
        return [Fault(f"{kind.plural}[1]", "a binder holds exactly one")] if part[1:] else []
    ids, rows = [record_id for record_id, _ in part], [values for _, values in part]
    connection.execute("SAVEPOINT part")
    try:
        step.add_many(kind.name, rows, ids=ids)
        return []
    except sqlite3.IntegrityError:
        connection.execute("ROLLBACK TO part")
    finally:
        connection.execute("RELEASE part")
    faults = []
    for index, (record_id, values) in enumerate(part, start):
        try:
            step.add(kind.name, values, record_id=record_id)
        except sqlite3.IntegrityError as error:
            faults.append(Fault(f"{kind.plural}[{index}]", integrity_sentence(str(error))))
    return faults


def _checked_shape(data: Any) -> dict[str, list[Any]]:
    if not isinstance(data, dict):
        raise RequestError("a binder's JSON form is one object of lists by record kind")
    if data.get("format") != FORMAT:
        raise RequestError(
            f"'format' is {data.get('format')!r}; this program reads format {FORMAT}"
        )
    faults = []
    for key, members in data.items():
        if key in ("format", "contents"):
            continue
        if key not in BY_PLURAL:
            faults.append(Fault(key, f"no record kind; there are: {', '.join(BY_PLURAL)}"))
        elif not isinstance(members, list):
            faults.append(Fault(key, "a list of records is expected", type(members).__name__))
    if faults:
        raise FaultsError(tuple(faults))
    return {BY_PLURAL[k].name: v for k, v in data.items() if k in BY_PLURAL}


def _checked_contents(data: Any, faults: list[Fault]) -> list[tuple[str, bytes]]:
    contents = []
    if not isinstance(data, dict):
        faults.append(Fault("contents", "an object of base64 text by SHA-256 is expected"))
        return []
    for digest, encoded in data.items():
        try:
            content = base64.b64decode(encoded, validate=True)
        except (TypeError, ValueError):
            faults.append(Fault(f"contents.{digest}", "base64 text is expected"))
            continue
        if hashlib.sha256(content).hexdigest() != digest:
            faults.append(Fault(f"contents.{digest}", "the bytes have another SHA-256"))
        contents.append((digest, content))
    return contents


def _known_names(binder: BinderFile) -> _NamesByKind:
    known: _NamesByKind = {kind.name: {} for kind in KINDS}
    for row in binder.connection.execute("SELECT id, kind, name FROM record"):
        known[row[1]][_folded(row[2])] = row[0]
    return known


def _folded(name: str) -> str:
    """Upper and lower case are one, for ASCII letters, as SQLite's NOCASE has it."""
    return name.encode(errors="replace").lower().decode(errors="replace")


class _Reader:
    """Reads lists of plain records, resolving references among them and to the binder."""

    def __init__(self, known: _NamesByKind) -> None:
        self.known = known
        self.faults: list[Fault] = []

    def read(self, lists: Mapping[str, list[Any]]) -> dict[str, _Rows]:
        """Ids and stored values by kind; faults are gathered in `self.faults`."""
        named = [
            (BY_NAME[name], list(self._numbered(BY_NAME[name], members)))
            for name, members in lists.items()
        ]
        order = {kind.name: at for at, kind in enumerate(KINDS)}
        named.sort(key=lambda pair: order[pair[0].name])
        registered = [(kind, self._registered(kind, members)) for kind, members in named]
        return {
            kind.name: [
                (record_id, self._values(kind, index, plain)) for index, plain, record_id in members
            ]
            for kind, members in registered
        }

    def _fault(self, kind: Kind, index: int, field: str, says: str, given: Any = "") -> None:
        where = f"{kind.plural}[{index}]" + (f".{field}" if field else "")
        self.faults.append(Fault(where, says, str(given) if given != "" else ""))

    def _numbered(self, kind: Kind, members: list[Any]) -> Iterator[tuple[int, dict[str, Any]]]:
        """Records that are objects, those of a series numbered where they have no number."""
        taken = [*self.known[kind.name]] + [
            _folded(str(m["identifier"])) for m in members
            if isinstance(m, dict) and m.get("identifier")
        ]  # fmt: skip
        number = _highest(kind.series, taken) if kind.series else 0
        for index, plain in enumerate(members):
            if not isinstance(plain, dict):
                self._fault(kind, index, "", "an object of fields is expected", plain)
                continue
            if kind.series and not plain.get("identifier"):
                number += 1
                plain = plain | {"identifier": f"{kind.series}{number:04d}"}
            yield index, plain

    def _registered(
        self, kind: Kind, members: list[tuple[int, dict[str, Any]]]
    ) -> list[tuple[int, dict[str, Any], int]]:
        registered = []
        for index, plain in members:
            given = kind.separator.join(str(plain.get(part)) for part in kind.named_by)
            name = _folded(given)
            record_id = new_id()
            if kind.single and self.known[kind.name]:
                record_id = next(iter(self.known[kind.name].values()))
            elif name in self.known[kind.name]:
                self._fault(kind, index, kind.named_by[0], "that name is taken", given)
            self.known[kind.name][name] = record_id
            registered.append((index, plain, record_id))
        return registered

    def _values(self, kind: Kind, index: int, plain: Mapping[str, Any]) -> dict[str, Any]:
        for name in plain:
            if not kind.has(name):
                accepted = ", ".join(field.name for field in kind.all_fields)
                self._fault(kind, index, name, f"no such field; there are: {accepted}")
        values = {}
        for field in kind.all_fields:
            try:
                value = plain.get(field.name, field.default)
                if field.is_reference and value is not None:
                    value = self._resolved(field, value)
                values[field.name] = from_json(field, value)
            except ValueError as error:
                given = plain.get(field.name)
                self._fault(kind, index, field.name, str(error), "" if given is None else given)
        return values

    def _resolved(self, field: Field, value: Any) -> int:
        target, name = field.target, value
        if field.type is Type.SUBJECT:
            if not isinstance(value, dict) or len(value) != 1:
                raise ValueError('a record of any kind is named like {"hardware": "SW1"}')
            target, name = next(iter(value.items()))
            if target not in self.known:
                raise ValueError(f"no record kind '{target}'")
        if not isinstance(name, str):
            raise ValueError(f"a {BY_NAME[target].label.lower()} is named by text")
        record_id = self.known[target].get(_folded(name))
        if record_id is None:
            raise ValueError(f"no {BY_NAME[target].label.lower()} of that name")
        return record_id


def _highest(series: str, taken: list[str]) -> int:
    prefix = _folded(series)
    numbers = (name.removeprefix(prefix) for name in taken if name.startswith(prefix))
    return max((int(number) for number in numbers if number.isdecimal()), default=0)
