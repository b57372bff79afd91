"""Runs: rows of `binder.path_sql` put in order, from one end of the cabling to the other.

Which end of a run is nearer the carrier follows from the ports there (a port marked uplink looks
toward the carrier, a hand-off port is the carrier's) and, where neither is marked, from what they
are on.
"""

from __future__ import annotations

import json
import sqlite3
from collections.abc import Iterable, Iterator
from typing import NamedTuple

from binder.channel import Cable, Channel, Hop, Part, channel
from binder.path_sql import ROUTES, network_rank
from binder.records.kinds.hardware import PASSIVE

Row = sqlite3.Row

# Places of the columns of `binder.path_sql.DETAIL`, by number: rows are read often.
ALONG, CABLE_ID, FROM_ID, PORT_ID, PORT, ROLE = range(6)
DEVICE_ID, DEVICE, FORM = 15, 16, 17
_PORT_SHIELDED, _CABLE, _CABLE_SHIELDED = 24, 25, 32
_LAST_TEST, _LEADS_ON, _AMONG_CARRIERS = 33, 34, 35


class Device(NamedTuple):
    """Hardware that a way leads to. `rank` is 0 for end devices."""

    id: int
    name: str
    form: str
    rank: int


class Run:
    """Rows of ports and of the cables between them; a port is None where it is not recorded.

    A loop of passive hardware is a run whose last cable comes back to its first port.
    """

    __slots__ = ("cables", "is_loop", "ports")

    def __init__(self, ports: list[Row | None], cables: list[Row]) -> None:
        self.ports = ports
        self.cables = cables
        self.is_loop = False

    @property
    def key(self) -> frozenset[int]:
        """The same for a run read from either end: its cables, or the port that has none."""
        return frozenset([row[CABLE_ID] for row in self.cables] or self.port_ids())

    def port_ids(self) -> Iterable[int]:
        return (row[PORT_ID] for row in self.ports if row is not None)

    def reverse(self) -> None:
        self.ports.reverse()
        self.cables.reverse()

    def device_at(self, end: int) -> Device | None:
        """The active hardware at the first (0) or last (-1) port."""
        row = self.ports[end]
        if row is None or row[FORM] in PASSIVE:
            return None
        return Device(row[DEVICE_ID], row[DEVICE], row[FORM], _rank(row))

    def open_ends(self) -> tuple[str, ...]:
        """Sentences on where the run ends without active hardware."""
        if self.is_loop and self.ports[0] is not None:
            return (f"loop: the cabling from {self.ports[0][PORT]} comes back to it",)
        ends = (0, -1) if self.cables else (0,)
        return tuple(sentence for end in ends for sentence in self._open_end(end))

    def _open_end(self, end: int) -> Iterable[str]:
        row = self.ports[end]
        if row is None:
            cable = self.cables[end]
            yield f"the far end of {cable[ALONG]} {cable[_CABLE]} is not recorded"
        elif row[FORM] not in PASSIVE:
            if not self.cables:
                yield f"nothing is plugged into {row[PORT]}"
        elif not self.cables:
            yield f"nothing is plugged into {row[PORT]}, front or rear"
        elif self.cables[end][ALONG] == "link":
            yield f"nothing is plugged into the front of {row[PORT]}"
        else:
            yield f"the rear of {row[PORT]} is not linked"

    def channel(self, system: str) -> Channel:
        """The run judged against the limits of its cabling."""
        parts: list[Part] = []
        side = ""
        for place, port in enumerate(self.ports):
            if port is not None:
                parts.append(_hop(port, side))
            if place < len(self.cables):
                cable = self.cables[place]
                parts.append(_cable(cable))
                side = "rear" if cable[ALONG] == "link" else "front"
        return channel(parts, system=system, open_ends=self.open_ends())


class Routes:
    """The steps from some ports and devices to the carriers, as one query found them."""

    def __init__(
        self, connection: sqlite3.Connection, ports: Iterable[int], devices: Iterable[int] = ()
    ) -> None:
        self._asked: dict[int, Row] = {}
        self._toward: dict[int, list[Row]] = {}
        self._onward: dict[tuple[int, str], Row] = {}
        asked = {"ports": json.dumps(list(ports)), "devices": json.dumps(list(devices))}
        for row in connection.execute(ROUTES, asked):
            along = row[ALONG]
            if along == "":
                self._toward.setdefault(row[DEVICE_ID], []).append(row)
            elif along == "start":
                self._asked[row[PORT_ID]] = row
            else:
                self._onward[row[FROM_ID], along] = row

    def through(self, ports: Iterable[int]) -> list[Run]:
        """The runs through ports that were asked about, each run once, in their order."""
        runs: dict[frozenset[int], Run] = {}
        for port in ports:
            for run in self._through(self._asked[port]):
                runs.setdefault(run.key, run)
        return list(runs.values())

    def _through(self, start: Row) -> Iterable[Run]:
        if start[FORM] not in PASSIVE:
            return self._out_of(start)
        back, ahead = self._along(start, "link"), self._along(start, "cord")
        if back.is_loop:
            return [back]
        back.reverse()
        return [Run(back.ports + ahead.ports[1:], back.cables + ahead.cables)]

    def toward_carrier(self, device_id: int) -> Iterator[Run]:
        """The runs out of a device's ports toward a carrier, in the order of the ports."""
        ports = self._toward.get(device_id, [])
        for port in sorted(ports, key=lambda row: (len(row[PORT]), row[PORT])):
            for run in self._out_of(port):
                far = run.device_at(-1) if run.cables else None
                if not port[_AMONG_CARRIERS] or (far and far.form == "carrier equipment"):
                    yield run

    def leads_on(self, device_id: int) -> bool:
        """Whether the device has a port toward a carrier besides the one it was entered by."""
        return device_id in self._toward

    def _out_of(self, port: Row) -> list[Run]:
        """The run of an active port; two when it has a cord and a link, so that none is hidden."""
        runs = [self._along(port, side) for side in ("link", "cord")]
        return [run for run in runs if run.cables] or runs[:1]

    def _along(self, start: Row, side: str) -> Run:
        run = Run([start], [])
        at, along = start[PORT_ID], side
        for _ in range(len(self._onward)):  # no more, even in a damaged file
            row = self._onward.get((at, along))
            if row is None:
                break
            run.cables.append(row)
            at = row[PORT_ID]
            if at is None or at == start[PORT_ID]:
                run.ports.append(None)
                run.is_loop = at is not None
                break
            run.ports.append(row)
            if row[FORM] not in PASSIVE:
                break
            along = "cord" if along == "link" else "link"
        return run


def turn_upward(run: Run) -> list[Device]:
    """Turn the run so that the end nearer the carrier is last; gives the hardware to go on from.

    Two devices when nothing tells which of the two is nearer.
    """
    first, last = _nearness(run.ports[0]), _nearness(run.ports[-1])
    if first > last:
        run.reverse()
        first, last = last, first
    ends = [(run.device_at(0), first), (run.device_at(-1), last)][-len(run.ports) :]
    network = [(device, nearness) for device, nearness in ends if device and device.rank]
    if len(network) == 2 and last > max(first, 0):
        network = network[1:]
    return list(dict.fromkeys(device for device, _ in network))


def _nearness(row: Row | None) -> int:
    """How near the carrier the end of a run is: open ends between end devices and the network."""
    if row is None or row[FORM] in PASSIVE:
        return -1 if row is not None and row[FORM] == "outlet" else 0
    rank = _rank(row)
    if row[ROLE] == "hand-off":
        return 10 + rank
    if row[ROLE] == "uplink":
        return rank - 10
    return rank or -2


def _rank(row: Row) -> int:
    return network_rank(row[FORM], row[_LEADS_ON])


def _hop(row: Row, side: str) -> Hop:
    shielded = _yes_no(row[_PORT_SHIELDED])
    return Hop("port", row[PORT_ID], row[PORT], side, shielded, *row[ROLE:_PORT_SHIELDED])


def _cable(row: Row) -> Cable:
    name, *recorded = row[_CABLE:_CABLE_SHIELDED]
    shielded = _yes_no(row[_CABLE_SHIELDED])
    tested_on, _, ranked = (row[_LAST_TEST] or "").partition(" ")
    return Cable(row[ALONG], row[CABLE_ID], name, shielded, ranked[2:], tested_on, *recorded)


def _yes_no(stored: int | None) -> bool | None:
    return None if stored is None else bool(stored)
