"""What changed between two places in the change log, in words: the net of it, record by record.

What was added and removed again, or changed and changed back, is not told. Nor is what a document
says of itself: its issues and copies, and the book-keeping of the log.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from typing import Any, Final, Literal

from binder.file import BinderFile
from binder.history import Change, since
from binder.identifiers import natural_key
from binder.read import names, time_zone, unit_system
from binder.records.catalog import BY_NAME, KINDS
from binder.records.fields import Field, Kind
from binder.records.values import show

# Records of handing over, and rows that only keep the books of another record.
SELF_TOLD: Final = ("issue", "copy", "touch", "review")
_LOOKING: Final = ("verified_on", "verified_by")


@dataclass(frozen=True, slots=True)
class FieldChange:
    """A field by its name and label, as it was and as it is, as people read it; '' for empty."""

    field: str
    label: str
    before: str
    after: str
    internal: bool


@dataclass(frozen=True, slots=True)
class RecordChange:
    """What became of a record. `name` is what it is called now, or was last; `by` who did it."""

    id: int
    kind: str
    label: str
    name: str
    act: Literal["added", "removed", "changed"]
    fields: tuple[FieldChange, ...]
    on: str
    by: str


@dataclass(slots=True)
class _Net:
    kind: Kind
    first: Change
    last: Change
    was_there: bool
    is_there: bool
    before: dict[str, Any] = field(default_factory=dict)
    after: dict[str, Any] = field(default_factory=dict)


def changes_told(
    binder: BinderFile, after_position: int, *, leave_out: Sequence[str] = SELF_TOLD
) -> tuple[RecordChange, ...]:
    """What changed after a place in the change log, kind by kind as the binder has them, by name.

    Records that somebody only looked at are left out.
    """
    found: dict[int, _Net] = {}
    for change in since(binder, after_position):
        if change.kind not in leave_out:
            _take(found, change)
    nets = [net for net in found.values() if _tells(net)]
    called = _called(binder, nets)
    called |= {i: named.name for i, named in names(binder, found).items()}
    system, zone = unit_system(binder), time_zone(binder)
    told = [_told(net, called, system, zone) for net in nets]
    order = [kind.name for kind in KINDS]
    return tuple(sorted(told, key=lambda one: (order.index(one.kind), natural_key(one.name))))


def _take(found: dict[int, _Net], change: Change) -> None:
    net = found.get(change.record_id)
    if net is None:
        kind = BY_NAME[change.kind]
        net = found[change.record_id] = _Net(kind, change, change, change.act != "add", True)
    net.last = change
    if change.act == "change":
        assert change.field is not None
        net.before.setdefault(change.field, change.before)
        net.after[change.field] = change.after
    elif change.act == "remove":
        net.is_there = False
    else:
        net.is_there = True


def _tells(net: _Net) -> bool:
    if net.was_there != net.is_there:
        return True
    return net.was_there and any(
        net.before[name] != net.after[name] for name in net.before if name not in _LOOKING
    )


def _called(binder: BinderFile, nets: Iterable[_Net]) -> dict[int, str]:
    """What the records that references name are called now; those that are gone, what last."""
    ids = {
        value
        for net in nets
        for values in (net.before, net.after)
        for name, value in values.items()
        if value is not None and net.kind.field(name).is_reference
    }
    called = {record_id: named.name for record_id, named in names(binder, ids).items()}
    missing = ids - set(called)
    for record_id in missing:
        row = binder.connection.execute(
            "SELECT name FROM change WHERE record_id = ? ORDER BY position DESC LIMIT 1",
            (record_id,),
        ).fetchone()
        called[record_id] = row[0] if row else ""
    return called


def _told(net: _Net, called: dict[int, str], system: str, zone: str) -> RecordChange:
    act: Literal["added", "removed", "changed"] = "changed"
    if net.was_there != net.is_there:
        act = "removed" if net.was_there else "added"

    def shown(declared: Field, value: Any) -> str:
        if value is None:
            return ""
        if declared.is_reference:
            return called.get(value, "")
        return show(declared, value, system=system, zone=zone)

    fields = []
    if act == "changed":
        for declared in net.kind.all_fields:
            name = declared.name
            if name in net.before and name not in _LOOKING and net.before[name] != net.after[name]:
                before, after = shown(declared, net.before[name]), shown(declared, net.after[name])
                fields.append(FieldChange(name, declared.label, before, after, declared.internal))
    return RecordChange(
        net.last.record_id, net.kind.name, net.kind.label,
        called.get(net.last.record_id, net.last.name), act, tuple(fields),
        net.last.at[:10], net.last.who,
    )  # fmt: skip
