"""Uplinks: from hardware out of its ports toward a carrier, device by device, to the circuits.

What is reached is found by one recursive query; here it is put in order, nearest first, and what
does not lead on is told.
"""

from __future__ import annotations

import sqlite3
from collections import deque
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from graphlib import CycleError, TopologicalSorter
from typing import NamedTuple

from binder.runs import DEVICE_ID, FORM, PORT, ROLE, Device, Routes, Run

CARRIER = "carrier equipment"
_MOST_LOOPS = 5  # told by name


@dataclass(frozen=True, slots=True)
class CircuitReached:
    """A circuit at the end of the uplinks, and what support is asked with.

    `through` is its hand-off port, or the carrier's equipment where the port is not recorded.
    """

    id: int
    name: str
    service: str
    role: str
    provider: str
    circuit_id: str
    support_phone: str
    support_phone_24h: str
    status: str
    through: str


class Climb(NamedTuple):
    """What lies between some hardware and the carriers: runs in order, nearest first.

    `breaks` are sentences on loops, uplinks that lead nowhere and devices without any.
    """

    runs: tuple[Run, ...]
    circuits: tuple[CircuitReached, ...]
    breaks: tuple[str, ...]


def climb(
    connection: sqlite3.Connection,
    routes: Routes,
    devices: Sequence[Device],
    below: Sequence[Run] = (),
) -> Climb:
    """The uplinks of these devices. `below` are the runs by which they were reached."""
    way = _Way(routes, devices, below)
    ends = _circuit_ends(connection, way)
    breaks = [*way.dead_ends(ends)]
    if way.meets_itself:
        breaks += _loops(way.edges, way.reached)
    if not ends.circuits and not breaks:
        breaks.append("no circuit is reached")
    return Climb(tuple(way.runs), ends.circuits, tuple(breaks))


class _Way:
    """The routes followed device by device, nearest first."""

    def __init__(self, routes: Routes, devices: Sequence[Device], below: Sequence[Run]) -> None:
        self.routes = routes
        self.below = below
        self.runs: list[Run] = []
        self.edges: list[tuple[int, int]] = []
        self.meets_itself = False
        self.reached = {device.id: device for device in devices}
        self._follow()
        self.ports = {port for run in (*below, *self.runs) for port in run.port_ids()}

    def _follow(self) -> None:
        """Fill `reached`, `runs` and `edges`, nearest first."""
        for run in self.below:
            lower, upper, port = run.device_at(0), run.device_at(-1), run.ports[0]
            if lower and upper and run.cables and port is not None and port[ROLE] == "uplink":
                self.edges.append((lower.id, upper.id))
        asked = [lower for lower, _ in self.edges]
        seen = {run.key for run in self.below}
        waiting = deque(self.reached.values())
        while waiting:
            device = waiting.popleft()
            for run in self.routes.toward_carrier(device.id):
                if run.key in seen:  # from its other end, which is marked uplink too
                    continue
                seen.add(run.key)
                self.runs.append(run)
                far = run.device_at(-1) if run.cables else None
                if far is not None:
                    self.edges.append((device.id, far.id))
                    if far.id in self.reached:
                        self.meets_itself = True
                    else:
                        self.reached[far.id] = far
                        waiting.append(far)
        self.meets_itself |= not self.reached.keys().isdisjoint(asked)

    def dead_ends(self, ends: _CircuitEnds) -> Iterator[str]:
        """Devices without an uplink, and uplinks that lead nowhere; a circuit ends well."""
        for device in self.reached.values():
            if device.id in ends.devices or self.routes.leads_on(device.id):
                continue
            if device.form == CARRIER:
                yield f"{device.name} is carrier equipment, but no circuit names it"
            else:
                other = "other " if self._is_entered_by_uplink(device) else ""
                yield (
                    f"{device.name} has no {other}port marked uplink; give its port toward the "
                    "carrier the role uplink"
                )
        for run in (*self.below, *self.runs):
            if ends.ports.isdisjoint(run.port_ids()):
                yield from _dead_end(run)

    def _is_entered_by_uplink(self, device: Device) -> bool:
        return any(
            row is not None and row[DEVICE_ID] == device.id and row[ROLE] == "uplink"
            for run in (*self.below, *self.runs)
            for row in (run.ports[0], run.ports[-1])
        )


def _dead_end(run: Run) -> Iterator[str]:
    """A sentence on a run, its carrier's side last, that does not lead to another device."""
    lower, upper = run.device_at(0), run.device_at(-1) if run.cables else None
    port = run.ports[0]
    if lower and upper and lower.id == upper.id:
        yield f"loop: {port[PORT] if port else ''} comes back to {lower.name}"
    elif not any(device and device.rank for device in (lower, upper)):
        why = "; ".join(run.open_ends()[-1:]) or "there are end devices at both ends"
        yield f"no network hardware is reached: {why}"
    elif port is not None and port[ROLE] != "edge" and not upper and port[FORM] != CARRIER:
        yield f"{port[ROLE]} {port[PORT]} leads nowhere: {run.open_ends()[-1]}"


def _loops(edges: Sequence[tuple[int, int]], devices: Mapping[int, Device]) -> Iterator[str]:
    """A sentence on each way round by uplinks, as far as there are a few."""
    onward: dict[int, set[int]] = {}
    for lower, upper in edges:
        if lower != upper:
            onward.setdefault(lower, set()).add(upper)
    for _ in range(_MOST_LOOPS):
        try:
            TopologicalSorter(onward).prepare()
        except CycleError as error:
            cycle = error.args[1][::-1]  # given against the way of the uplinks
            yield "loop: " + " > ".join(devices[device].name for device in cycle)
            onward[cycle[0]].discard(cycle[1])
        else:
            return


# Circuits. --------------------------------------------------------------------------------

_CIRCUITS = """
SELECT c.id, r.name, c.service, coalesce(c.role, ''), coalesce(c.provider, ''),
  coalesce(c.circuit_id, ''), coalesce(c.support_phone, ''), coalesce(c.support_phone_24h, ''),
  c.status, coalesce(o.name, e.name, ''), c.handoff_port_id, p.hardware_id, c.carrier_equipment_id
FROM circuit c JOIN record r ON r.id = c.id LEFT JOIN port p ON p.id = c.handoff_port_id
LEFT JOIN record o ON o.id = c.handoff_port_id LEFT JOIN record e ON e.id = c.carrier_equipment_id
WHERE c.status <> 'removed' ORDER BY c.role = 'primary' DESC, r.name"""


class _CircuitEnds(NamedTuple):
    """The circuits reached, and the hand-off ports and devices where they are."""

    circuits: tuple[CircuitReached, ...]
    ports: frozenset[int]
    devices: frozenset[int]


def _circuit_ends(connection: sqlite3.Connection, way: _Way) -> _CircuitEnds:
    """Circuits handed off at a port on the way; where the way enters carrier equipment by a port
    of which no circuit is known, all circuits of that equipment."""
    rows = connection.execute(_CIRCUITS).fetchall() if way.reached or way.ports else []
    exact = [row for row in rows if row[10] in way.ports]
    settled = {device for row in exact for device in row[11:13] if device is not None}
    circuits, devices = [], set()
    for row in rows:
        at = {device for device in row[11:13] if device in way.reached}
        if row[10] in way.ports or any(
            way.reached[device].form != CARRIER or device not in settled for device in at
        ):
            circuits.append(CircuitReached(*row[:10]))
            devices |= at
    return _CircuitEnds(tuple(circuits), frozenset(row[10] for row in exact), frozenset(devices))
