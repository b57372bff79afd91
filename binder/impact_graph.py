"""The network and its power as a graph, read at once: devices, the runs of cable between them, what
feeds what, and the carriers' circuits.

Impact and the order of starting ask it. Only what is there counts: planned, abandoned and removed
things carry nothing.
"""

from __future__ import annotations

import sqlite3
from collections import defaultdict
from collections.abc import Collection, Iterator, Mapping
from typing import Final, NamedTuple

from binder.path_sql import network_rank
from binder.records.kinds.hardware import DRESSING, PASSIVE

# Kinds that take their power from the cabling where no inlet is recorded.
_POWERED: Final = ("camera", "phone", "access point", "door controller")
_DATA: Final = ("internet access", "cellular", "private line")
_THERE: Final = "('installed', 'spare')"
_MOST_HOPS: Final = 200  # of passive hardware in one run; a loop in a damaged file ends here


class Device(NamedTuple):
    """Active hardware. `is_powered_by_cable`: it takes power over the cabling if it is offered."""

    id: int
    form: str
    space_id: int | None
    recorder_id: int | None
    is_powered_by_cable: bool


class Run(NamedTuple):
    """Cable from a port of one device to a port of another, or to a jack with nothing in it.

    `parts` are the ids of all it is made of, end ports too: it is cut when any of them fails.
    """

    device_id: int
    far_id: int  # the other device, or the port of a jack
    is_jack: bool
    supplies: bool  # the near port offers power to the far end
    accepts: bool  # the far port offers power to the near end
    parts: tuple[int, ...]

    def other(self, device_id: int) -> int:
        return self.far_id if device_id == self.device_id else self.device_id


class Circuit(NamedTuple):
    """A carrier circuit, the device it is handed off at, and what else it cannot do without."""

    id: int
    device_id: int
    role: str
    needs: tuple[int, ...]


class Network:
    """The graph. `roots` are where the outside world comes in: circuits, or, where no hand-off is
    recorded, gateways."""

    def __init__(self, connection: sqlite3.Connection) -> None:
        plain = connection.cursor()
        plain.row_factory = None  # tuples: rows are read often
        self.space_of: dict[int, int | None] = {}
        self.form_of: dict[int, str] = {}
        self.devices: dict[int, Device] = {}
        self.inlets: defaultdict[int, list[int]] = defaultdict(list)
        for hardware_id, feeder_id in plain.execute(_INLETS):
            if feeder_id is not None:
                self.inlets[hardware_id].append(feeder_id)
        self._read_hardware(plain)
        self.runs_of: defaultdict[int, list[Run]] = defaultdict(list)
        self._read_runs(plain)
        self.forwards = frozenset(self._forwarding())
        self.offered: dict[int, list[tuple[int, Run]]] = self._offers()
        self.circuits = tuple(self._circuits(plain))
        self.dhcp_subnets = plain.execute(_DHCP).fetchall()

    # Reading. -------------------------------------------------------------------------------

    def _read_hardware(self, plain: sqlite3.Cursor) -> None:
        for row in plain.execute(_HARDWARE):
            hardware_id, form, space_id, recorder_id, asks = row
            self.space_of[hardware_id] = space_id
            self.form_of[hardware_id] = form
            if form not in PASSIVE:
                by_cable = bool(asks) or (form in _POWERED and hardware_id not in self.inlets)
                self.devices[hardware_id] = Device(
                    hardware_id, form, space_id, recorder_id, by_cable
                )

    def _read_runs(self, plain: sqlite3.Cursor) -> None:
        owners = dict(plain.execute(_PORTS).fetchall())
        self.owner_of = owners
        self._offering = frozenset(row[0] for row in plain.execute(_OFFERING))
        self._uplinks = frozenset(row[0] for row in plain.execute(_UPLINKS))
        ends = {along: _ends(plain, along) for along in ("link", "cord")}
        devices = self.devices
        for along in ("link", "cord"):
            for port_id in ends[along]:
                if owners.get(port_id) in devices:
                    self._follow(port_id, along, ends)

    def _follow(
        self, port_id: int, along: str, ends: Mapping[str, Mapping[int, tuple[int, int | None]]]
    ) -> None:
        """Keep the run out of an active port: once for both its ends, by the lower port."""
        owners, parts, at = self.owner_of, [port_id], port_id
        for _ in range(_MOST_HOPS):
            step = ends[along].get(at)
            if step is None or step[1] is None:
                break
            cable_id, at = step[0], step[1]
            owner = owners.get(at)
            if owner is None or at == port_id:
                return
            parts += (cable_id, at)
            if owner in self.devices:
                if port_id < at:
                    self._keep(port_id, at, owner, parts, is_jack=False)
                return
            parts.append(owner)
            along = "cord" if along == "link" else "link"
        if len(parts) > 1 and self.form_of.get(owners[at]) == "outlet":
            self._keep(port_id, at, at, parts, is_jack=True)

    def _keep(
        self, port_id: int, far_port_id: int, far_id: int, parts: list[int], *, is_jack: bool
    ) -> None:
        near_id = self.owner_of[port_id]
        if near_id == far_id:
            return
        run = Run(
            near_id,
            far_id,
            is_jack,
            port_id in self._offering,
            far_port_id in self._offering,
            tuple(parts),
        )
        self.runs_of[near_id].append(run)
        if not is_jack:
            self.runs_of[far_id].append(run)

    def _forwarding(self) -> Iterator[int]:
        """Devices that pass data on: network hardware, and what has an uplink and another port in
        use, as a phone with a computer behind it."""
        for device in self.devices.values():
            if network_rank(device.form) or self._leads_on(device.id):
                yield device.id

    def _leads_on(self, device_id: int) -> bool:
        runs = self.runs_of.get(device_id, ())
        return len(runs) > 1 and any(
            part in self._uplinks and self.owner_of.get(part) == device_id
            for run in runs
            for part in (run.parts[0], run.parts[-1])
        )

    def _offers(self) -> dict[int, list[tuple[int, Run]]]:
        """Device -> who offers it power over which run."""
        found: defaultdict[int, list[tuple[int, Run]]] = defaultdict(list)
        for device_id, runs in self.runs_of.items():
            for run in runs:
                if run.is_jack or run.device_id != device_id:
                    continue
                for taker, giver, gives in (
                    (run.far_id, run.device_id, run.supplies),
                    (run.device_id, run.far_id, run.accepts),
                ):
                    if gives and self.devices[taker].is_powered_by_cable:
                        found[taker].append((giver, run))
        return found

    def _circuits(self, plain: sqlite3.Cursor) -> Iterator[Circuit]:
        rows = plain.execute(_CIRCUITS).fetchall()
        chosen = [row for row in rows if row[4] in _DATA] or rows
        for circuit_id, role, handoff_id, equipment_id, _ in chosen:
            device_id = self.owner_of.get(handoff_id, equipment_id)
            if device_id in self.devices:
                needs = tuple(n for n in (circuit_id, handoff_id, equipment_id) if n is not None)
                yield Circuit(circuit_id, device_id, role or "", needs)

    # Asking. --------------------------------------------------------------------------------

    def roots(self, lost: Collection[int] = ()) -> list[tuple[int, int]]:
        """(circuit id or 0, device id) of where the outside comes in, without those lost."""
        if self.circuits:
            return [
                (circuit.id, circuit.device_id)
                for circuit in self.circuits
                if not any(part in lost for part in (*circuit.needs, circuit.device_id))
            ]
        return [
            (0, d.id) for d in self.devices.values() if d.form == "gateway" and d.id not in lost
        ]


def _ends(plain: sqlite3.Cursor, table: str) -> dict[int, tuple[int, int | None]]:
    """Port -> (cable, port at the other end), of the cables that are there."""
    rows = plain.execute(
        f"SELECT id, port_a_id, port_b_id FROM {table} WHERE status IN {_THERE}"
    ).fetchall()
    found = {a: (cable_id, b) for cable_id, a, b in rows}
    found |= {b: (cable_id, a) for cable_id, a, b in rows}
    found.pop(None, None)  # ends that are not recorded
    return found


_HARDWARE = f"""
SELECT h.id, h.form, coalesce(k.space_id, h.space_id), h.recorder_id,
  h.poe_class IS NOT NULL OR h.poe_drawn_w IS NOT NULL
FROM hardware h LEFT JOIN rack k ON k.id = h.rack_id
WHERE h.status IN {_THERE} AND h.form NOT IN ({", ".join(f"'{form}'" for form in DRESSING)})"""
_PORTS = f"SELECT id, hardware_id FROM port WHERE status IN {_THERE}"
_OFFERING = f"SELECT id FROM port WHERE poe_type <> 'none' AND status IN {_THERE}"
_UPLINKS = "SELECT id FROM port WHERE role = 'uplink'"
_INLETS = f"""
SELECT i.hardware_id, coalesce(h.id, b.id) FROM inlet i
LEFT JOIN hardware h ON h.id = i.fed_by_id AND h.status IN {_THERE}
LEFT JOIN branch_circuit b ON b.id = i.branch_circuit_id AND b.status IN {_THERE}
WHERE i.status IN {_THERE}"""
_CIRCUITS = f"""
SELECT id, role, handoff_port_id, carrier_equipment_id, service FROM circuit
WHERE status IN {_THERE} ORDER BY role = 'primary' DESC, id"""
_DHCP = """
SELECT dhcp_server_id, id FROM subnet
WHERE dhcp_server_id IS NOT NULL AND dhcp_first IS NOT NULL AND status = 'current'"""
