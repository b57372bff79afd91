"""What the documents are made from: a whole binder, read in one consistent view.

One query a record kind, and as many again for what is reckoned from them, however large the
binder; no document asks SQLite again. For the client, internal fields and management addresses are
withheld here and nowhere else, so that no section can let one slip.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, fields, is_dataclass, replace
from datetime import date
from functools import cached_property
from ipaddress import ip_address
from types import MappingProxyType
from typing import Any, Final

from binder.changes_told import SELF_TOLD, RecordChange, changes_told
from binder.closeout import Closeout, gaps
from binder.closeout.acceptance import Acceptance, acceptance
from binder.elevation import Elevation, elevations
from binder.envelope.reports import keyholders_by_log, valued_by_log
from binder.file import BinderFile
from binder.headroom import Headroom, headroom
from binder.identifiers import natural_key
from binder.issues import issues_of
from binder.read import Named, Record, read_where
from binder.records.catalog import KINDS
from binder.records.fields import Field, Type
from binder.records.values import show
from binder.review.exhaustion import exhaustion, with_outlooks
from binder.start_order import Order, start_order
from binder.topology import Topology, topology
from exporters.outages import Outages, outages
from exporters.reviewed import Reviewed, reviewed
from exporters.sealing import Sealed

WITHHELD: Final = "[management address]"

# Kinds that hold the integrator's own arithmetic and not the client's network.
_NOT_TOLD: Final = frozenset({"template", "review", "action", "planning_limit"})
_ADDRESS_LIKE: Final = re.compile(
    r"(?<![0-9.])[0-9]{1,3}(?:\.[0-9]{1,3}){3}(?![0-9]|\.[0-9])"
    r"|(?<![0-9A-Za-z:])[0-9A-Fa-f]{0,4}:[0-9A-Fa-f:]*:[0-9A-Fa-f:]*"
)
_GONE: Final = ("removed", "former")

# Every device of a subnet is told these, so they are no secret even where the gateway is managed
# through the same address.
_TOLD_TO_ALL: Final = frozenset(
    {("subnet", "gateway"), ("subnet", "name_servers"), ("subnet", "cidr"),
     ("subnet", "dhcp_first"), ("subnet", "dhcp_last")}
)  # fmt: skip


@dataclass(frozen=True, slots=True)
class Changes:
    """What changed since issue `since` of `on`; None when no earlier one has a place in the log."""

    since: int | None
    on: str
    told: tuple[RecordChange, ...]


@dataclass(frozen=True, slots=True)
class End:
    """What is at the front or rear of a port: the cord or link, and the port at its far end."""

    cable_id: int
    far_port_id: int | None


@dataclass(frozen=True)
class Source:
    """A binder as read for a document of `today`. `internal`: for the technician's eyes too.

    `in_envelope` are the secrets that have a value there, `keyholders` who opens it, and `sealed`
    what this document carries of them.
    """

    today: date
    internal: bool
    system: str
    zone: str
    currency: str
    records: Mapping[str, tuple[Record, ...]]
    names: Mapping[int, Named]
    link_ends: Mapping[int, End]
    cord_ends: Mapping[int, End]
    management_addresses: frozenset[str]
    in_envelope: frozenset[int]
    keyholders: tuple[str, ...]
    sealed: Sealed | None
    outages: Outages
    changes: Changes
    closeout: Closeout
    acceptance: Acceptance
    elevations: Mapping[int, Elevation]  # by rack, names as stored: `name` clears them
    topology: Topology  # names as stored: `cleared` is for them too
    held: frozenset[str]  # SHA-256 of the attachments whose bytes the binder holds
    _headroom: Headroom
    _order: Order
    _reviewed: Reviewed | None = None

    def of(self, kind: str) -> tuple[Record, ...]:
        """The records of a kind that are still so, by name in the order people expect.

        For the client without the addresses that equipment is managed through.
        """
        return self._told_addresses if kind == "address" else self.records[kind]

    @cached_property
    def _told_addresses(self) -> tuple[Record, ...]:
        return tuple(a for a in self.records["address"] if not self.is_withheld(a["ip"]))

    @property
    def withheld_addresses(self) -> int:
        """How many addresses in use this document does not tell."""
        return len(self.records["address"]) - len(self._told_addresses)

    @cached_property
    def headroom(self) -> Headroom:
        """What is rated, used, reserved and free, in words that this document may tell."""
        told: Headroom = self._answer(self._headroom)
        return told

    @cached_property
    def order(self) -> Order:
        """In what order things are started, in words that this document may tell."""
        told: Order = self._answer(self._order)
        return told

    @cached_property
    def reviewed(self) -> Reviewed:
        """The last review and what follows from it, in words that this document may tell.

        Raises LookupError in a document for which it was not gathered.
        """
        if self._reviewed is None:
            raise LookupError("reviews are gathered for the review document only")
        told: Reviewed = self._answer(self._reviewed)
        return told

    def _answer(self, part: Any) -> Any:
        """An answer of the core with every text in it cleared."""
        if isinstance(part, str):
            return self.cleared(part)
        if isinstance(part, tuple):
            return tuple(self._answer(each) for each in part)
        if is_dataclass(part) and not isinstance(part, type):
            texts = ((f.name, getattr(part, f.name)) for f in fields(part))
            return replace(part, **{
                name: self._answer(value)
                for name, value in texts
                if isinstance(value, (str, tuple)) or is_dataclass(value)
            })  # fmt: skip
        return part

    @property
    def client(self) -> Record | None:
        clients = self.records["client"]
        return clients[0] if clients else None

    @cached_property
    def by_id(self) -> Mapping[int, Record]:
        return {record.id: record for records in self.records.values() for record in records}

    def get(self, record_id: int | None) -> Record | None:
        """The record of that id; None when there is none, or it is not so any more."""
        return self.by_id.get(record_id) if record_id is not None else None

    def belonging(self, kind: str, field: str) -> Mapping[int, tuple[Record, ...]]:
        """The records of a kind by the record their reference `field` names."""
        if (kind, field) not in self._grouped:
            self._grouped[kind, field] = self._group(kind, field)
        return self._grouped[kind, field]

    @cached_property
    def _grouped(self) -> dict[tuple[str, str], Mapping[int, tuple[Record, ...]]]:
        return {}

    def _group(self, kind: str, field: str) -> Mapping[int, tuple[Record, ...]]:
        found: dict[int, list[Record]] = {}
        for record in self.of(kind):
            if record[field] is not None:
                found.setdefault(record[field], []).append(record)
        return {target: tuple(records) for target, records in found.items()}

    def fields(self, record: Record) -> tuple[Field, ...]:
        """The fields of a record that this document may tell."""
        return tuple(f for f in record.kind.all_fields if self.internal or not f.internal)

    def shown(self, record: Record | None, name: str) -> str:
        """A field as people read it: a reference by its name, money with its currency.

        Empty for what is not recorded, and for what this document may not tell.
        """
        if record is None or record[name] is None:
            return ""
        field = record.kind.field(name)
        if field.internal and not self.internal:
            return ""
        if field.is_reference:
            return self.name(record[name])
        text = show(field, record[name], system=self.system, zone=self.zone)
        if field.type is Type.MONEY and self.currency:
            text = f"{self.currency} {text}"
        if (record.kind.name, name) in _TOLD_TO_ALL:
            return text
        if field.type in (Type.IP, Type.URL) and self.is_withheld(text):
            return ""
        return self.cleared(text)

    def name(self, what: Record | int | None) -> str:
        """The name of a record, also of one that is gone; empty for None."""
        if what is None:
            return ""
        if isinstance(what, Record):
            return self.cleared(what.name)
        named = self.names.get(what)
        return self.cleared(named.name) if named else ""

    def cleared(self, text: str) -> str:
        """The text with every management address taken out, unless this document may tell."""
        if self.internal or not self.management_addresses:
            return text
        return _ADDRESS_LIKE.sub(self._withhold, text)

    def _withhold(self, found: re.Match[str]) -> str:
        address = found[0].rstrip(":.")
        try:
            managed = str(ip_address(address)) in self.management_addresses
        except ValueError:  # a time of day, a MAC, a version number
            managed = False
        return WITHHELD + found[0][len(address) :] if managed else found[0]

    def is_withheld(self, address: str) -> bool:
        """Whether that address is one that this document does not tell."""
        return self.cleared(address) != address


def gather(
    binder: BinderFile,
    today: date,
    *,
    internal: bool,
    sealed: Sealed | None = None,
    document: str = "handoff",
    issue: int | None = None,
) -> Source:
    """Read a binder for a document of that day: as that issue, or as a draft."""
    with binder.reading() as connection:
        records = {
            kind.name: _in_order(read_where(binder, kind)) if kind.name not in _NOT_TOLD else ()
            for kind in KINDS
        }
        rows = connection.execute("SELECT id, kind, name FROM record")
        names = {row[0]: Named(row[0], row[1], row[2]) for row in rows}
        ends = {
            table: {
                row[0]: End(row[1], row[2])
                for row in connection.execute(
                    f"SELECT port_id, {table}_id, far_port_id FROM {table}_end"
                )
            }
            for table in ("link", "cord")
        }
        managed = connection.execute(
            "SELECT management_address FROM hardware WHERE management_address IS NOT NULL"
        )
        management = frozenset(row[0] for row in managed)
        in_envelope = valued_by_log(binder)
        opened_by = keyholders_by_log(binder)
        failing = outages(binder, today)
        room = headroom(binder, today=today)
        room = with_outlooks(room, exhaustion(binder, room, today))
        review = reviewed(binder, today, room) if document == "review" else None
        order = start_order(binder)
        changes = _changes(binder, document, issue)
        missing = gaps(binder, today)
        accepted = acceptance(binder, today, closeout=missing)
        racks = elevations(binder, today)
        joined_up = topology(binder)
        held = frozenset(row[0] for row in connection.execute("SELECT sha256 FROM content"))
    client = records["client"][0] if records["client"] else None
    return Source(
        today,
        internal,
        client["unit_system"] if client else "us",
        (client["time_zone"] if client else None) or "UTC",
        (client["currency"] if client else None) or "",
        MappingProxyType(records),
        names,
        ends["link"],
        ends["cord"],
        management,
        in_envelope,
        opened_by,
        sealed,
        failing,
        changes,
        missing,
        accepted,
        racks,
        joined_up,
        held,
        room,
        order,
        review,
    )


def _changes(binder: BinderFile, document: str, issue: int | None) -> Changes:
    """What changed since the issue before, as far as that has a place in the change log."""
    for earlier in issues_of(binder, document):
        if earlier.change_position is not None and (issue is None or earlier.number < issue):
            left_out = (*SELF_TOLD, *_NOT_TOLD)
            told = changes_told(binder, earlier.change_position, leave_out=left_out)
            return Changes(earlier.number, earlier.issued_on, told)
    return Changes(None, "", ())


def _in_order(records: Iterable[Record]) -> tuple[Record, ...]:
    return tuple(
        sorted(
            (r for r in records if r["status"] not in _GONE or r.kind.single),
            key=lambda record: natural_key(record.name),
        )
    )
