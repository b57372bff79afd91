"""Many records to be added or changed in one step, looked at before anything is written.

    proposal = rehearsed(editor, ranges.set_fields(...))
    for one in proposal.records:
        print(one.name, one.settings, one.faults)
    write(editor, proposal)

A proposal with a fault is not written at all.
"""

from __future__ import annotations

import sqlite3
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from functools import cached_property
from typing import Final

from binder.collector import collector_at_rest
from binder.edit import Editor
from binder.errors import Fault, FaultsError, RequestError
from binder.file import integrity_sentence
from binder.records.catalog import BY_NAME
from binder.records.fields import Kind
from binder.records.values import Stored
from binder.step import Step

ADD: Final = "add"
CHANGE: Final = "change"
KEEP: Final = "keep"  # it holds what is asked for already
_PART: Final = 1000  # records tried at a time


@dataclass(frozen=True, slots=True)
class Setting:
    """What becomes of one field, as people read it. `before` is empty in a new record."""

    label: str
    before: str
    after: str

    @property
    def change(self) -> str:
        """`VLAN 20 -> 30`."""
        return f"{self.label} {self.before or '(empty)'} -> {self.after or '(empty)'}"


@dataclass(frozen=True, slots=True)
class Proposed:
    """What becomes of one record."""

    id: int
    name: str
    act: str  # ADD, CHANGE or KEEP
    values: Mapping[str, Stored]  # all fields of a new record, else those that change
    settings: tuple[Setting, ...]
    faults: tuple[Fault, ...] = ()
    line: int = 0  # of the text it was read from
    seen: int | None = None  # position in the change log when it was read

    @property
    def words(self) -> str:
        """What becomes of it, on one line."""
        if self.act == KEEP:
            return "left alone: holds it already"
        if self.act == ADD:
            return ", ".join(f"{one.label} {one.after}" for one in self.settings)
        return ", ".join(one.change for one in self.settings)

    @property
    def is_taken(self) -> bool:
        """Whether a record of that name, which was to be added, is in the binder already."""
        return self.act == ADD and self.seen is not None


@dataclass(frozen=True)
class Proposal:
    """One step over many records of a kind, not yet taken."""

    kind: str
    summary: str  # the step's line in the history
    records: tuple[Proposed, ...]
    notes: tuple[str, ...] = ()  # how what was typed was understood
    faults_at_large: tuple[Fault, ...] = ()  # that belong to no one record

    @cached_property
    def faults(self) -> tuple[Fault, ...]:
        of_records = (fault for one in self.records for fault in one.faults)
        return (*self.faults_at_large, *of_records)

    @cached_property
    def counts(self) -> dict[str, int]:
        """How many records are added, changed, kept as they are."""
        counted = {ADD: 0, CHANGE: 0, KEEP: 0}
        for one in self.records:
            counted[one.act] += 1
        return counted

    @property
    def done(self) -> str:
        """What was written, in words: '24 added, 2 changed'."""
        words = {ADD: "added", CHANGE: "changed"}
        counts = ((self.counts[act], word) for act, word in words.items())
        return ", ".join(f"{count:,} {word}" for count, word in counts if count)

    @property
    def told(self) -> str:
        """The counts in words: '24 to add, 2 left alone'."""
        words = {ADD: "to add", CHANGE: "to change", KEEP: "left alone"}
        said = [f"{count:,} {words[act]}" for act, count in self.counts.items() if count]
        count = len(self.faults)
        if count:
            said.append("1 fault" if count == 1 else f"{count:,} faults")
        return ", ".join(said) or "nothing to do"


@collector_at_rest()
def write(editor: Editor, proposal: Proposal) -> tuple[int, ...]:
    """Take the step; gives the ids of what was added or changed, in order.

    Raises FaultsError when the proposal has faults, RequestError when it does nothing or the
    database refuses, ConflictError when a field was changed since; nothing is changed then.
    """
    if proposal.faults:
        raise FaultsError(proposal.faults)
    written = tuple(one for one in proposal.records if one.act != KEEP)
    if not written:
        raise RequestError("nothing to change: every one holds it already")
    kind = BY_NAME[proposal.kind]
    with editor.step(proposal.summary) as step:
        _add(step, kind, [one for one in written if one.act == ADD])
        for one in written:
            if one.act == CHANGE:
                step.change(one.id, one.values, seen=one.seen)
    return tuple(one.id for one in written)


def counted_records(kind: Kind, count: int) -> str:
    """`24 ports`, `1 port`."""
    word = kind.name if count == 1 else kind.plural
    return f"{count:,} {word.replace('_', ' ')}"


class _Over(Exception):
    """The rehearsal is over; what it did is taken back."""


@collector_at_rest()
def rehearsed(editor: Editor, proposal: Proposal) -> Proposal:
    """The proposal, with what the database would refuse told beside the record.

    The step is taken and taken back before anyone can see it: a taken name, a port with a cord
    in it already, a rule of the kind.
    """
    tried = [one for one in proposal.records if one.act != KEEP and not one.faults]
    refused: dict[int, str] = {}
    try:
        with editor.step(proposal.summary) as step:
            refused.update(_refused(editor.binder.connection, step, proposal.kind, tried))
            raise _Over
    except _Over:
        pass
    if not refused:
        return proposal
    return replace(
        proposal,
        records=tuple(
            replace(one, faults=(*one.faults, Fault(_place(one), refused[one.id])))
            if one.id in refused
            else one
            for one in proposal.records
        ),
    )


def _place(one: Proposed) -> str:
    return f"line {one.line}" if one.line else one.name


def _refused(
    connection: sqlite3.Connection, step: Step, kind_name: str, tried: Sequence[Proposed]
) -> Iterator[tuple[int, str]]:
    """Ids of what the database refuses, and why; a part at a time, one by one where it must."""
    kind = BY_NAME[kind_name]
    added = [one for one in tried if one.act == ADD]
    for start in range(0, len(added), _PART):
        part = added[start : start + _PART]
        connection.execute("SAVEPOINT part")
        try:
            _add(step, kind, part)
        except sqlite3.IntegrityError:
            connection.execute("ROLLBACK TO part")
            yield from _refused_alone(part, lambda one: _add(step, kind, [one]))
        finally:
            connection.execute("RELEASE part")
    changed = (one for one in tried if one.act == CHANGE)
    yield from _refused_alone(changed, lambda one: step.change(one.id, one.values))


def _refused_alone(
    records: Iterable[Proposed], do: Callable[[Proposed], None]
) -> Iterator[tuple[int, str]]:
    for one in records:
        try:
            do(one)
        except sqlite3.IntegrityError as error:
            yield one.id, integrity_sentence(str(error))
        except FaultsError as error:
            yield one.id, "; ".join(fault.says for fault in error.faults)


def _add(step: Step, kind: Kind, records: Sequence[Proposed]) -> None:
    if records:
        ids, rows = [one.id for one in records], [one.values for one in records]
        step.add_checked(kind.name, ids, rows)
