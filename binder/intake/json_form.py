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
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from binder.collector import collector_at_rest
from binder.edit import Editor
from binder.envelope import carried
from binder.errors import Fault, FaultsError, RequestError
from binder.file import BinderFile, integrity_sentence
from binder.identifiers import natural_key
from binder.numbering import new_id, new_identifiers
from binder.read import read_where
from binder.records.catalog import BY_NAME, BY_PLURAL, KINDS
from binder.records.dates import utc_now
from binder.records.fields import Field, Kind, Type
from binder.records.schema import quoted
from binder.records.values import from_json, to_json
from binder.step import Step
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
        contents = _contents(binder)
        if contents:
            data["contents"] = contents
        envelope = carried.dumped(binder.connection)
        if envelope:
            data["envelope"] = envelope
        return data


def _contents(binder: BinderFile) -> dict[str, str]:
    """The bytes of attachments that are in the binder; those of removed ones are left behind."""
    rows = binder.connection.execute(
        "SELECT sha256, bytes FROM content WHERE sha256 IN (SELECT sha256 FROM attachment) "
        "ORDER BY sha256"
    )
    return {row[0]: base64.b64encode(row[1]).decode() for row in rows}


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


def from_text(text: str) -> Any:
    """The data of a JSON text. Raises RequestError when it is none, or says a thing twice."""
    try:
        return json.loads(text, object_pairs_hook=_once, parse_constant=_no_number)
    except json.JSONDecodeError as error:
        raise RequestError(
            f"not JSON at line {error.lineno}, column {error.colno}: {error.msg}"
        ) from error
    except RecursionError as error:
        raise RequestError("nested too deep for the JSON form") from error
    except ValueError as error:
        raise RequestError(str(error)) from error


def _once(pairs: list[tuple[str, Any]]) -> dict[str, Any]:
    made = dict(pairs)
    if len(made) < len(pairs):
        twice = next(key for key, _ in pairs if sum(key == other for other, _ in pairs) > 1)
        raise ValueError(f"'{twice}' stands twice in one object; only one of them can be meant")
    return made


def _no_number(word: str) -> float:
    raise ValueError(f"{word} is no number")


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


@collector_at_rest()
def load(
    binder: BinderFile,
    data: Any,
    who: str,
    *,
    progress: Progress | None = None,
    clock: Callable[[], datetime] = utc_now,
) -> dict[str, int]:
    """Add everything in `data` to the binder in one step; gives how many of each kind.

    The client's sheet replaces the values of the one that is there. Raises FaultsError with
    every fault and its place (list, index, field); nothing is changed unless all of it is good.
    """
    reader = _Reader(binder)
    lists = _checked_shape(data, reader.faults)
    envelope = carried.Carried()
    if "envelope" in data:
        envelope = carried.read(data["envelope"], binder.connection, reader.faults)
    reader.brought = envelope.ids
    rows = reader.read(lists)
    contents = _checked_contents(data.get("contents", {}), reader.faults)
    if reader.faults:
        raise FaultsError(tuple(reader.faults))
    total = sum(len(members) for members in rows.values())
    with Editor(binder, who, clock=clock).step(f"load {total} records") as step:
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
        carried.write(binder.connection, envelope)
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
        step.add_checked(kind.name, ids, rows)
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


def _checked_shape(data: Any, faults: list[Fault]) -> dict[str, list[Any]]:
    """The lists by kind. What is no list, or of no kind, is a fault; one whose key is nearly that
    of a kind is read as that kind, so that what else is wrong is told along with it.
    """
    if not isinstance(data, dict):
        raise RequestError("a binder's JSON form is one object of lists by record kind")
    if data.get("format") != FORMAT:
        raise RequestError(
            f"'format' is {data.get('format')!r}; this program reads format {FORMAT}: begin with "
            f'{{"format": {FORMAT}, ...'
        )
    lists = {}
    for key, members in data.items():
        if key in ("format", "contents", "envelope"):
            continue
        plural = key
        if key not in BY_PLURAL:
            plural = _nearest_kind(key, data)
            hint = f"is it '{plural}'?" if plural else f"there are: {', '.join(BY_PLURAL)}"
            faults.append(Fault(key, f"no record kind; {hint}"))
        if not isinstance(members, list):
            faults.append(Fault(key, "a list of records is expected", type(members).__name__))
        elif plural:
            lists[BY_PLURAL[plural].name] = members
    return lists


def _nearest_kind(key: str, data: Mapping[str, Any]) -> str:
    """The key that was meant, where it is near enough and does not stand there itself."""
    from difflib import get_close_matches

    if key in BY_NAME and BY_NAME[key].plural not in data:
        return BY_NAME[key].plural
    left = [plural for plural in BY_PLURAL if plural not in data]
    return next(iter(get_close_matches(key.lower(), left, 1, 0.75)), "")


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


@dataclass(frozen=True, slots=True)
class _Listed:
    """A record whose own values are read and whose references are not yet."""

    index: int
    plain: dict[str, Any]
    record_id: int
    own: dict[str, Any]


class _Reader:
    """Reads lists of plain records, resolving references among them and to the binder.

    What a record is called follows from its own values, so these are read first; a reference may
    name a record of a list further down.
    """

    def __init__(self, binder: BinderFile) -> None:
        self.connection = binder.connection
        self.known = _known_names(binder)
        self.brought: Mapping[str, Mapping[str, int]] = {}  # ids that an envelope needs, by name
        self.faults: list[Fault] = []

    def read(self, lists: Mapping[str, list[Any]]) -> dict[str, _Rows]:
        """Ids and stored values by kind; faults are gathered in `self.faults`."""
        kinds = [kind for kind in KINDS if kind.name in lists]
        named = {kind.name: list(self._named(kind, lists[kind.name])) for kind in kinds}
        return {
            kind.name: [
                (one.record_id, one.own | self._references(kind, one.index, one.plain))
                for one in named[kind.name]
            ]
            for kind in kinds
        }

    def _fault(self, kind: Kind, index: int, field: str, says: str, given: Any = None) -> None:
        where = f"{kind.plural}[{index}]" + (f".{field}" if field else "")
        self.faults.append(Fault(where, says, "" if given is None else str(given)[:80]))

    def _named(self, kind: Kind, members: list[Any]) -> Iterator[_Listed]:
        records = [(index, plain) for index, plain in enumerate(members) if isinstance(plain, dict)]
        given = (str(plain.get("identifier") or "") for _, plain in records)
        numbers = new_identifiers(self.connection, kind, given) if kind.series else iter(())
        for index, plain in enumerate(members):
            if not isinstance(plain, dict):
                self._fault(kind, index, "", "an object of fields is expected", plain)
                continue
            if kind.series and not plain.get("identifier"):
                plain = plain | {"identifier": next(numbers)}
            own = self._own_values(kind, index, plain)
            yield _Listed(index, plain, self._registered(kind, index, plain | own), own)

    def _registered(self, kind: Kind, index: int, values: Mapping[str, Any]) -> int:
        """The id under which others may refer to a record of these values."""
        known, parts = self.known[kind.name], [values.get(part) for part in kind.named_by]
        record_id = next(iter(known.values())) if kind.single and known else new_id()
        if None in parts:  # told as a missing value
            return record_id
        name = kind.separator.join(str(part).strip() for part in parts)
        record_id = self.brought.get(kind.name, {}).get(name, record_id)
        if _folded(name) in known and known[_folded(name)] != record_id:
            self._fault(kind, index, kind.named_by[0], "that name is taken", name)
        known[_folded(name)] = record_id
        return record_id

    def _own_values(self, kind: Kind, index: int, plain: Mapping[str, Any]) -> dict[str, Any]:
        for name in plain:
            if not kind.has(name):
                accepted = ", ".join(field.name for field in kind.all_fields)
                self._fault(kind, index, name, f"no such field; there are: {accepted}")
        values: dict[str, Any] = {}
        for field in kind.all_fields:
            if not field.is_reference:
                value = plain.get(field.name, field.default)
                if value is None and not field.required:
                    values[field.name] = None
                    continue
                try:
                    values[field.name] = from_json(field, value)
                except ValueError as error:
                    self._fault(kind, index, field.name, str(error), value)
        return values

    def _references(self, kind: Kind, index: int, plain: Mapping[str, Any]) -> dict[str, Any]:
        ids = {}
        for field in kind.all_fields:
            if field.is_reference:
                value = plain.get(field.name)
                try:
                    record_id = None if value is None else self._resolved(field, value)
                    ids[field.name] = from_json(field, record_id)
                except ValueError as error:
                    self._fault(kind, index, field.name, str(error), value)
        return ids

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
        record_id = self.known[target].get(_folded(name.strip()))
        if record_id is None:
            raise ValueError(f"no {BY_NAME[target].label.lower()} of that name")
        return record_id
