"""What headroom is computed from, read in a fixed number of SELECTs, whatever the binder holds.

What is removed is left out. Rows come as the named tuples of `binder.headroom.tables`.
"""

from __future__ import annotations

import sqlite3
from collections import defaultdict
from collections.abc import Iterable
from datetime import date
from functools import cached_property
from typing import NamedTuple, Protocol, TypeVar

from binder.file import BinderFile
from binder.headroom.limits import Limits
from binder.headroom.rows import Measured, Need, Where
from binder.headroom.tables import (
    Address,
    BranchCircuit,
    Circuit,
    Fibre,
    Hardware,
    Hop,
    Inlet,
    Laid,
    Licence,
    Loss,
    Pathway,
    PortGroup,
    Rack,
    Reading,
    Reservation,
    Space,
    Subnet,
)
from binder.path_sql import WALK
from binder.records.catalog import BY_NAME


class Named(Protocol):
    @property
    def id(self) -> int: ...

    @property
    def name(self) -> str: ...


_Record = TypeVar("_Record", bound=Named)


class Source:
    """Everything headroom asks of a binder on one day, read at once."""

    def __init__(self, binder: BinderFile, today: date) -> None:
        self.today = today
        with binder.reading() as connection:
            self._read(connection)

    def _read(self, connection: sqlite3.Connection) -> None:
        def rows(sql: str, *given: object) -> list[sqlite3.Row]:
            return connection.execute(sql, given).fetchall()

        own = rows(_LIMITS)
        self.limits = Limits({name: (value, because or "") for name, value, because in own})
        self.spaces = _by_id(map(Space._make, rows(_select(Space, "space"))))
        self.racks = _by_id(map(Rack._make, rows(_select(Rack, "rack"))))
        self.hardware = _by_id(map(Hardware._make, rows(_HARDWARE)))
        self.branch_circuits = _by_id(
            map(BranchCircuit._make, rows(_select(BranchCircuit, "branch_circuit")))
        )
        self.inlets = list(map(Inlet._make, rows(_select(Inlet, "inlet"))))
        self.subnets = _by_id(map(Subnet._make, rows(_select(Subnet, "subnet", _CURRENT))))
        self.addresses = list(map(Address._make, rows(_select(Address, "address", _CURRENT))))
        self.circuits = _by_id(map(Circuit._make, rows(_select(Circuit, "circuit"))))
        self.pathways = _by_id(map(Pathway._make, rows(_select(Pathway, "pathway"))))
        self.reservations = list(map(Reservation._make, rows(_RESERVATIONS, self.today)))
        self.ports = list(map(PortGroup._make, rows(_PORTS)))
        self.laid = list(map(Laid._make, rows(_LAID)))
        self.fibres = list(map(Fibre._make, rows(_FIBRES)))
        self.losses = list(map(Loss._make, rows(_LOSSES)))
        self.hops = list(map(Hop._make, rows(_HOPS)))
        self.licences = list(map(Licence._make, rows(_LICENCES)))
        self._readings: defaultdict[tuple[int, str], list[Reading]] = defaultdict(list)
        for reading in map(Reading._make, rows(_READINGS)):
            self._readings[reading.subject_id, reading.quantity].append(reading)

    # Asked by the rows. -------------------------------------------------------------------

    def standing(self, *forms: str) -> list[Hardware]:
        """Hardware of those kinds that is there: not what is planned or abandoned."""
        return [h for h in self.hardware.values() if h.form in forms and h.status in _THERE]

    def where(self, kind: str, found: Named, space_id: int | None = None) -> Where:
        space = self.spaces.get(space_id) if space_id is not None else None
        return Where(found.id, kind, found.name, space.name if space else "")

    def of_hardware(self, found: Hardware) -> Where:
        return self.where("hardware", found, found.space_id)

    def readings(self, subject_id: int, quantity: str) -> list[Reading]:
        """Readings of a quantity, the earliest first; those corrected since are left out."""
        return self._readings.get((subject_id, quantity), [])

    def latest(self, subject_id: int, quantity: str, unit: str) -> Measured | None:
        found = self.readings(subject_id, quantity)
        if not found:
            return None
        last = found[-1]
        return Measured(last.id, last.value, unit, last.read_at, quantity)

    @cached_property
    def _reserved(self) -> dict[tuple[int, str], list[Reservation]]:
        found: defaultdict[tuple[int, str], list[Reservation]] = defaultdict(list)
        for reservation in self.reservations:
            found[reservation.subject_id, reservation.resource].append(reservation)
        return found

    def reserved(self, subject_id: int, resource: str) -> list[Reservation]:
        """The reservations of a resource in a record that have not fallen away."""
        return self._reserved.get((subject_id, resource), [])

    @cached_property
    def in_rack(self) -> dict[int, list[Hardware]]:
        """Rack id -> all that is in it or planned for it."""
        found: defaultdict[int, list[Hardware]] = defaultdict(list)
        for hardware in self.hardware.values():
            if hardware.rack_id is not None:
                found[hardware.rack_id].append(hardware)
        return found

    @cached_property
    def recorded_by(self) -> dict[int, list[Hardware]]:
        """Recorder id -> the cameras it records, planned ones too."""
        found: defaultdict[int, list[Hardware]] = defaultdict(list)
        for hardware in self.hardware.values():
            if hardware.recorder_id is not None and hardware.status != "abandoned":
                found[hardware.recorder_id].append(hardware)
        return found

    @cached_property
    def ports_of(self) -> dict[int, list[PortGroup]]:
        """Hardware id -> its ports, gathered."""
        found: defaultdict[int, list[PortGroup]] = defaultdict(list)
        for group in self.ports:
            found[group.hardware_id].append(group)
        return found


def need(kind: str, found: Named, field: str) -> Need:
    """A field that is not filled in."""
    declared = BY_NAME[kind].field(field)
    label = declared.label if declared.label.isupper() else _lower_first(declared.label)
    return Need(found.id, kind, found.name, field, label)


def need_reading(kind: str, found: Named, quantity: str) -> Need:
    """A reading that nobody took."""
    label = f"a reading ({quantity})"
    return Need(found.id, kind, found.name, quantity, label, add="reading")


def missing(kind: str, found: Named, *fields: str) -> tuple[Need, ...]:
    """Those of the fields that are empty."""
    return tuple(need(kind, found, f) for f in fields if getattr(found, f) is None)


def _lower_first(label: str) -> str:
    """'PoE budget' stays, 'Cooling' becomes 'cooling'."""
    first, *_ = label.split()
    return label if any(letter.isupper() for letter in first[1:]) else label[0].lower() + label[1:]


def _by_id(found: Iterable[_Record]) -> dict[int, _Record]:
    return {record.id: record for record in found}


# SQL. ---------------------------------------------------------------------------------------

_CURRENT = "t.status <> 'former'"
_THERE = ("installed", "spare", "abandoned")


def _select(kind: type[NamedTuple], table: str, where: str = "t.status <> 'removed'") -> str:
    columns = ", ".join(f"t.{column}" for column in kind._fields[2:])
    return (
        f"SELECT t.id, r.name, {columns} FROM {table} t JOIN record r ON r.id = t.id "
        f"WHERE {where} ORDER BY r.name"
    )


_LIMITS = "SELECT identifier, value, because FROM planning_limit WHERE status = 'current'"

# What has a place in a rack, draws power, or records; outlets and the like are counted as ports.
_HARDWARE = _select(
    Hardware,
    "hardware",
    "t.status <> 'removed' AND (t.form NOT IN ('outlet', 'coupler') OR t.rack_id IS NOT NULL)",
).replace("t.space_id", "coalesce((SELECT k.space_id FROM rack k WHERE k.id = t.rack_id), "
          "t.space_id)")  # fmt: skip

_RESERVATIONS = _select(
    Reservation, "reservation", "t.status = 'current' AND (t.until IS NULL OR t.until >= ?)"
)

_READINGS = """
SELECT t.id, t.subject_id, t.quantity, t.value, t.read_at FROM reading t
WHERE t.status = 'current' AND NOT EXISTS (SELECT 1 FROM reading c WHERE c.corrects_id = t.id)
ORDER BY t.read_at, t.id"""

_LICENCES = """
SELECT t.id, r.name, t.entitled, t.used FROM renewal t JOIN record r ON r.id = t.id
WHERE t.status = 'current' AND (t.entitled IS NOT NULL OR t.used IS NOT NULL) ORDER BY r.name"""

# A port of a panel is taken by the cable at its rear, one of a switch by any cable. An abandoned
# cable takes its port until it is taken out.
_PORTS = """
SELECT p.hardware_id, coalesce(p.role, 'edge') AS role, p.rate_mbps,
  coalesce(p.poe_type, 'none') AS poe_type, coalesce(p.connector, '') AS connector,
  CASE
    WHEN h.form = 'patch panel' AND l.status <> 'planned'
      THEN CASE WHEN coalesce(c.status, 'planned') = 'planned' THEN 'idle' ELSE 'used' END
    WHEN h.form <> 'patch panel' AND (l.status <> 'planned' OR c.status <> 'planned') THEN 'used'
    WHEN p.condition = 'bad' OR p.status = 'abandoned' THEN 'bad'
    WHEN l.id IS NOT NULL OR (h.form <> 'patch panel' AND c.id IS NOT NULL)
      OR p.status = 'planned' THEN 'planned'
    WHEN p.reserved_for IS NOT NULL THEN 'marked'
    ELSE 'free' END AS state,
  count(*), min(p.id)
FROM hardware h JOIN port p ON p.hardware_id = h.id
LEFT JOIN link_end le ON le.port_id = p.id LEFT JOIN link l ON l.id = le.link_id
LEFT JOIN cord_end ce ON ce.port_id = p.id LEFT JOIN cord c ON c.id = ce.cord_id
WHERE h.form IN ('patch panel', 'switch') AND h.status IN ('installed', 'spare')
  AND p.status <> 'removed'
GROUP BY 1, 2, 3, 4, 5, 6"""

_LAID = """
SELECT n.pathway_id, l.id, coalesce(l.cable_name, r.name), l.outside_diameter_mm, l.status
FROM run n JOIN link l ON l.id = n.link_id JOIN record r ON r.id = l.id
WHERE l.status <> 'removed' AND n.status <> 'removed'"""

_FIBRES = """
SELECT l.id, r.name, l.cable_name, l.status, l.category, l.length_m, l.strands, l.mated_pairs,
  l.splices, coalesce(k.space_id, h.space_id),
  coalesce(a.condition = 'bad' OR b.condition = 'bad', 0) OR l.status = 'abandoned',
  coalesce(ca.status <> 'planned', 0) OR coalesce(cb.status <> 'planned', 0),
  coalesce(ca.status = 'planned', 0) OR coalesce(cb.status = 'planned', 0)
    OR l.status = 'planned',
  a.reserved_for IS NOT NULL OR b.reserved_for IS NOT NULL
FROM link l JOIN record r ON r.id = l.id
LEFT JOIN port a ON a.id = l.port_a_id LEFT JOIN port b ON b.id = l.port_b_id
LEFT JOIN cord_end ea ON ea.port_id = a.id LEFT JOIN cord ca ON ca.id = ea.cord_id
LEFT JOIN cord_end eb ON eb.port_id = b.id LEFT JOIN cord cb ON cb.id = eb.cord_id
LEFT JOIN hardware h ON h.id = a.hardware_id LEFT JOIN rack k ON k.id = h.rack_id
WHERE l.cable IN ('singlemode fibre', 'multimode fibre') AND l.status <> 'removed'
ORDER BY r.name"""

# The worst loss of each wavelength among the tests that no later test follows.
_LOSSES = """
SELECT t.link_id, o.wavelength_nm, max(o.loss_db), min(o.limit_db)
FROM loss o JOIN test t ON t.id = o.test_id
WHERE t.status = 'current' AND NOT EXISTS (SELECT 1 FROM test f WHERE f.follows_id = t.id)
GROUP BY 1, 2"""

# From every port that supplies power, and every port of planned hardware, along its cables.
_HOPS = f"""
WITH RECURSIVE start (id) AS (
  SELECT p.id FROM port p JOIN hardware h ON h.id = p.hardware_id
  WHERE (p.poe_type <> 'none' OR h.status = 'planned') AND p.status <> 'removed'
    AND h.status IN ('installed', 'spare', 'planned')
    AND h.form NOT IN ('patch panel', 'outlet', 'coupler')
), {WALK}
SELECT w.start, w.way, w.step, w.port_id, p.hardware_id, w.along, w.cable_id,
  coalesce(l.length_m, c.length_m), coalesce(l.gauge_awg, c.gauge_awg),
  coalesce(l.status, c.status), r.name, coalesce(p.poe_type, 'none'), p.vlan, h.form, p.status
FROM walk w
LEFT JOIN port p ON p.id = w.port_id LEFT JOIN hardware h ON h.id = p.hardware_id
LEFT JOIN record r ON r.id = p.id
LEFT JOIN link l ON w.along = 'link' AND l.id = w.cable_id
LEFT JOIN cord c ON w.along = 'cord' AND c.id = w.cable_id
ORDER BY w.start, w.way, w.step"""
