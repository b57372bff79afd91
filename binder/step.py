"""One step: what can be done to the records inside one transaction, and the line it leaves of each.

Made by `Editor.step`, in `binder.edit`.
"""

from __future__ import annotations

import contextlib
import itertools
import json
import sqlite3
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date
from typing import Any

from binder import search_index
from binder.dependents import dependents, nearest_first, removal_order
from binder.errors import ConflictError, Dependent, Fault, FaultsError, HangsOnError, RequestError
from binder.numbering import new_id, new_identifiers
from binder.records.catalog import BY_NAME
from binder.records.fields import Kind, OnRemoval
from binder.records.schema import quoted
from binder.records.values import check


@dataclass(frozen=True, slots=True)
class StepLine:
    """What the history tells of a step, but for its number."""

    at: str
    who: str
    summary: str
    form: str
    of_step: int | None
    log_entry_id: int | None


class Step:
    """What can be done inside one step. Made by `Editor.step`."""

    def __init__(self, connection: sqlite3.Connection, line: StepLine) -> None:
        self._connection = connection
        self._line = line
        self._id: int | None = None
        self._touched: set[int] = set()
        self._renamed: set[int] = set()

    @property
    def id(self) -> int:
        """The step's number; writing its line on first use, so that an empty step leaves none."""
        if self._id is None:
            line = self._line
            self._id = self._connection.execute(
                "INSERT INTO step (at, who, summary, form, of_step, log_entry_id) "
                "VALUES (?, ?, ?, ?, ?, ?)",
                (line.at, line.who, line.summary, line.form, line.of_step, line.log_entry_id),
            ).lastrowid
        assert self._id is not None
        return self._id

    # Adding ---------------------------------------------------------------------------

    def add(self, kind: str, values: Mapping[str, Any], *, record_id: int | None = None) -> int:
        """Add one record; gives its id. Raises FaultsError naming each value that does not fit."""
        return self.add_many(kind, [values], ids=None if record_id is None else [record_id])[0]

    def add_many(
        self, kind: str, rows: Sequence[Mapping[str, Any]], *, ids: Sequence[int] | None = None
    ) -> list[int]:
        """Add records of one kind in one go; gives their ids in order."""
        declared = BY_NAME[kind]
        if ids is None:
            ids = [new_id() for _ in rows]
        self.add_checked(kind, ids, self._checked_rows(declared, rows))
        return list(ids)

    def add_checked(self, kind: str, ids: Sequence[int], rows: Sequence[Mapping[str, Any]]) -> None:
        """Add records that hold a value in stored form for every field, looked at already.

        For who has read many, as the JSON form does, and would have them looked at twice.
        """
        declared = BY_NAME[kind]
        names = [field.name for field in declared.all_fields]
        columns = ", ".join(quoted(field.column) for field in declared.all_fields)
        marks = ", ".join("?" * (len(names) + 1))
        with self._told(declared, zip(ids, rows, strict=True)):
            self._connection.executemany(
                f"INSERT INTO {quoted(declared.table)} (id, {columns}) VALUES ({marks})",
                [(i, *(row[name] for name in names)) for i, row in zip(ids, rows, strict=True)],
            )
        added = [(i, None, None, _packed(row)) for i, row in zip(ids, rows, strict=True)]
        self._log_many("add", added)
        self._touched.update(ids)

    def keep_content(self, sha256: str, data: bytes) -> None:
        """Keep the bytes of an attachment; those that are there already are kept once."""
        self._connection.execute(
            "INSERT OR IGNORE INTO content (sha256, bytes) VALUES (?, ?)", (sha256, data)
        )

    def _checked_rows(self, kind: Kind, rows: Sequence[Mapping[str, Any]]) -> list[dict[str, Any]]:
        given = (str(row.get("identifier") or "") for row in rows)
        numbers = new_identifiers(self._connection, kind, given) if kind.series else iter(())
        defaults = {field.name: field.default for field in kind.all_fields}
        checked, faults = [], []
        for at, row in enumerate(rows, 1):
            values = defaults | dict(row)
            if kind.series and not values.get("identifier"):
                values["identifier"] = next(numbers)
            clean, wrong = _checked_values(kind, values)
            checked.append(clean)
            faults += [replace(f, where=f"{f.where} {at}") for f in wrong] if rows[1:] else wrong
        if faults:
            raise FaultsError(tuple(faults))
        return checked

    # Changing -------------------------------------------------------------------------

    def change(self, record_id: int, values: Mapping[str, Any], *, seen: int | None = None) -> None:
        """Set fields of a record. Fields that already hold the value are left alone.

        `seen` is the record's position when it was read: ConflictError when it changed since.
        """
        kind, name, position = self._registered(record_id)
        clean, faults = _checked_values(kind, values)
        faults += [
            Fault(kind.label, f"{kind.field(part).label} names it and cannot be emptied")
            for part in kind.named_by
            if kind.series and part in clean and clean[part] is None
        ]
        if faults:
            raise FaultsError(tuple(faults))
        before = self._row(kind, record_id)
        changed = {f: v for f, v in clean.items() if before[f] != v}
        if seen is not None and position != seen:
            self._refuse_clash(record_id, name, seen, changed)
        self._set(kind, record_id, before, changed)

    def _refuse_clash(self, record_id: int, name: str, seen: int, mine: Mapping[str, Any]) -> None:
        rows = self._connection.execute(
            "SELECT c.field, c.after, s.who FROM change c JOIN step s ON s.id = c.step_id "
            "WHERE c.record_id = ? AND c.position > ? AND c.field IS NOT NULL "
            "ORDER BY c.position",
            (record_id, seen),
        ).fetchall()
        last = {field: (after, who) for field, after, who in rows if field in mine}
        theirs = {field: after for field, (after, _) in last.items() if after != mine[field]}
        if theirs:
            who = ", ".join(sorted({last[field][1] for field in theirs}))
            raise ConflictError(name, {field: mine[field] for field in theirs}, theirs, who)

    def _set(
        self, kind: Kind, record_id: int, before: Mapping[str, Any], after: Mapping[str, Any]
    ) -> None:
        if not after:
            return
        fields = [kind.field(name) for name in after]
        with self._told(kind, [(record_id, after)]):
            self._connection.execute(
                f"UPDATE {quoted(kind.table)} SET "
                + ", ".join(f"{quoted(field.column)} = ?" for field in fields)
                + " WHERE id = ?",
                (*after.values(), record_id),
            )
        self._log_many("change", [(record_id, name, before[name], after[name]) for name in after])
        self._touched.add(record_id)
        if any(name in kind.named_by for name in after):
            self._renamed.add(record_id)

    # Removing -------------------------------------------------------------------------

    def remove(self, record_id: int, *, with_dependents: bool = False) -> None:
        """Remove a record. References to it that may be empty are emptied.

        Raises HangsOnError when others hang on it, unless told to take them along.
        """
        kind, name, _ = self._registered(record_id)
        if kind.single:
            raise RequestError(
                f"a binder holds exactly one {kind.label.lower()}; change it instead"
            )
        order = removal_order(self._connection, Dependent(record_id, kind.name, name, ""))
        if len(order) > 1 and not with_dependents:
            raise HangsOnError(name, nearest_first(self._connection, order))
        going = {hanging.id for hanging in order}
        for hanging in order:
            self._clear_references(hanging, going)
        for hanging in order:
            self._drop(BY_NAME[hanging.kind], hanging.id)

    def _clear_references(self, hanging: Dependent, going: set[int]) -> None:
        for dependent, field in dependents(self._connection, hanging.kind, hanging.id):
            if field.on_removal is OnRemoval.CLEAR and dependent.id not in going:
                kind = BY_NAME[dependent.kind]
                self._set(kind, dependent.id, {field.name: hanging.id}, {field.name: None})

    def _drop(self, kind: Kind, record_id: int) -> None:
        before = self._row(kind, record_id)
        self._log_many("remove", [(record_id, None, _packed(before), None)])
        self._connection.execute(f"DELETE FROM {quoted(kind.table)} WHERE id = ?", (record_id,))
        self._touched.add(record_id)

    # Turning back ---------------------------------------------------------------------

    def turn_back(self, step_id: int) -> None:
        """Do the opposite of every change of a step, last first."""
        rows = self._connection.execute(
            "SELECT record_id, kind, act, field, before, after FROM change "
            "WHERE step_id = ? ORDER BY position DESC",
            (step_id,),
        ).fetchall()
        for (record_id, kind_name, act), group in itertools.groupby(rows, lambda row: row[:3]):
            kind, lines = BY_NAME[kind_name], list(group)
            if act == "remove":
                self.add(kind_name, _unpacked(kind, lines[0]["before"]), record_id=record_id)
            elif act == "add":
                self._expect(kind, record_id, _unpacked(kind, lines[0]["after"]))
                self._drop_touches(record_id)
                self._drop(kind, record_id)
            else:
                self._change_back(kind, record_id, lines)

    def _drop_touches(self, record_id: int) -> None:
        """That a call came by a record is no reason to keep one that was added by mistake.

        Where somebody has said that a log entry concerns it, that is one.
        """
        rows = self._connection.execute(
            "SELECT id FROM touch WHERE subject_id = ? AND how <> 'concerned'", (record_id,)
        )
        for row in rows.fetchall():
            self._drop(BY_NAME["touch"], row[0])

    def _change_back(self, kind: Kind, record_id: int, lines: Sequence[sqlite3.Row]) -> None:
        """Set fields changed one after the other back at once: a rule may need them together."""
        now: dict[str, Any] = {}
        then: dict[str, Any] = {}
        for line in lines:  # the last change first
            now.setdefault(line["field"], line["after"])
            then[line["field"]] = line["before"]
        self._expect(kind, record_id, now)
        self._set(kind, record_id, now, {f: v for f, v in then.items() if v != now[f]})

    def _expect(self, kind: Kind, record_id: int, expected: Mapping[str, Any]) -> None:
        """Refuse to turn back what someone has changed since."""
        registered = self._connection.execute(
            "SELECT name FROM record WHERE id = ?", (record_id,)
        ).fetchone()
        if registered is None:
            raise RequestError("a record of that step was removed since; undo its removal first")
        now = self._row(kind, record_id)
        theirs = {name: now[name] for name in expected if now[name] != expected[name]}
        if theirs:
            marks = ", ".join("?" * len(theirs))
            who = self._connection.execute(
                "SELECT s.who FROM change c JOIN step s ON s.id = c.step_id WHERE c.record_id = ? "
                f"AND (c.field IS NULL OR c.field IN ({marks})) ORDER BY c.position DESC LIMIT 1",
                (record_id, *theirs),
            ).fetchone()[0]
            mine = {name: expected[name] for name in theirs}
            raise ConflictError(registered[0], mine, theirs, who)

    # Shared ---------------------------------------------------------------------------

    @contextlib.contextmanager
    def _told(self, kind: Kind, rows: Iterable[tuple[int, Mapping[str, Any]]]) -> Iterator[None]:
        """What the database refuses of a rack, told with what is in the way and what is free."""
        try:
            yield
        except sqlite3.IntegrityError as error:
            from binder import rack_room

            if kind.name not in rack_room.KINDS:
                raise
            today = date.fromisoformat(self._line.at[:10])
            for record_id, values in rows:
                whole = self._row(kind, record_id) | dict(values)
                says = rack_room.refusal(self._connection, kind.name, record_id, whole, today)
                if says:
                    raise sqlite3.IntegrityError(says) from error
            raise

    def finish(self) -> None:
        """Bring the search index up to date. Called by the editor before it commits."""
        stale = set(self._touched)
        if self._renamed:
            stale |= search_index.mentioning(self._connection, self._renamed)
        search_index.refresh(self._connection, stale)

    def _registered(self, record_id: int) -> tuple[Kind, str, int]:
        row = self._connection.execute(
            "SELECT kind, name, position FROM record WHERE id = ?", (record_id,)
        ).fetchone()
        if row is None:
            raise RequestError("that record is not in the binder any more; undo brings it back")
        return BY_NAME[row[0]], row[1], row[2]

    def _row(self, kind: Kind, record_id: int) -> dict[str, Any]:
        columns = ", ".join(quoted(field.column) for field in kind.all_fields)
        row = self._connection.execute(
            f"SELECT {columns} FROM {quoted(kind.table)} WHERE id = ?", (record_id,)
        ).fetchone()
        return dict(zip((field.name for field in kind.all_fields), row or (), strict=bool(row)))

    def _log_many(self, act: str, rows: Sequence[tuple[int, str | None, Any, Any]]) -> None:
        """A line of the change log for each (id, field, before, after), under the name it has."""
        self._connection.executemany(
            "INSERT INTO change (step_id, record_id, kind, name, act, field, before, after) "
            "SELECT ?, id, kind, name, ?, ?, ?, ? FROM record WHERE id = ?",
            [(self.id, act, field, before, after, i) for i, field, before, after in rows],
        )
        if act != "remove":
            last = self._connection.execute("SELECT max(position) FROM change").fetchone()[0]
            self._connection.executemany(
                "UPDATE record SET position = ? WHERE id = ?",
                [(last - len(rows) + 1 + n, row[0]) for n, row in enumerate(rows)],
            )


def _checked_values(kind: Kind, values: Mapping[str, Any]) -> tuple[dict[str, Any], list[Fault]]:
    """The values in stored form, in the order given, and a fault for each that does not fit."""
    clean: dict[str, Any] = {}
    faults = []
    for name, value in values.items():
        try:
            field = kind.field(name)
            clean[name] = check(field, value)
        except KeyError as error:
            faults.append(Fault(kind.label, error.args[0]))
        except ValueError as error:
            given = "" if value in (None, "") else str(value)
            faults.append(Fault(kind.label, str(error), given))
    return clean, faults


def _packed(values: Mapping[str, Any]) -> str:
    """The values of a whole record as the change log keeps them; empty fields are left out."""
    kept = {name: value for name, value in values.items() if value is not None}
    return json.dumps(kept, ensure_ascii=False, separators=(",", ":"))


def _unpacked(kind: Kind, packed: str) -> dict[str, Any]:
    values = json.loads(packed)
    return {field.name: values.get(field.name) for field in kind.all_fields}
