"""Power over the cabling: which device hangs on which port, and what it asks of it.

Reckoned as things stand, and with what is planned or reserved.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator
from dataclasses import dataclass
from functools import cached_property
from itertools import groupby
from typing import Final

from binder.engineering import poe
from binder.engineering.copper import Run
from binder.headroom.rows import Need
from binder.headroom.source import Source, need
from binder.headroom.tables import Hardware, Hop
from binder.records.kinds.hardware import PASSIVE

# Kinds that take their power from the cabling unless an inlet says otherwise.
POWERED: Final = ("camera", "phone", "access point", "door controller")


@dataclass(frozen=True, slots=True)
class Way:
    """From an active port along its cabling to the active port at the other end.

    `runs` is None where a length is not recorded. `is_planned`: a cable, a port or the hardware at
    an end is planned.
    """

    port_id: int
    port: str
    hardware_id: int
    poe_type: str
    far_port: str
    far_hardware_id: int
    far_vlan: int | None
    runs: tuple[Run, ...] | None
    unmeasured: tuple[int, ...]
    is_planned: bool


@dataclass(frozen=True, slots=True)
class Powered:
    """A device on a port that supplies it: what it asks for, in W at the port and as drawn."""

    way: Way
    device: Hardware
    demand: poe.Demand
    drawn_w: float


class PoeFeeds:
    """What every source of power over Ethernet supplies, and what is planned or kept on it."""

    def __init__(self, source: Source) -> None:
        self.source = source
        self.ways = tuple(_ways(source))
        self.now: defaultdict[int, list[Powered]] = defaultdict(list)
        self.planned: defaultdict[int, list[Powered]] = defaultdict(list)
        self.assumed: defaultdict[int, list[Need]] = defaultdict(list)
        self.faults: defaultdict[int, list[str]] = defaultdict(list)
        self._kept: dict[int, dict[str, poe.Demand]] = {}
        inlets = {inlet.hardware_id for inlet in source.inlets}
        for way in self.ways:
            if way.poe_type != "none":
                self._take(way, has_inlet=way.far_hardware_id in inlets)

    def _take(self, way: Way, *, has_inlet: bool) -> None:
        device = self.source.hardware.get(way.far_hardware_id)
        if device is None or device.form in ("switch", "gateway"):
            return
        says_nothing = device.poe_class is None and device.poe_drawn_w is None
        if says_nothing and (has_inlet or device.form not in POWERED):
            return
        try:
            demand = poe.demand(
                drawn_w=device.poe_drawn_w,
                poe_class=device.poe_class,
                source_type=int(way.poe_type),
                runs=way.runs,
            )
        except ValueError as error:  # odd figures of one device: told on its source's row
            self.faults[way.hardware_id].append(f"{device.name}: {error}")
            self.assumed[way.hardware_id].append(need("hardware", device, "poe_class"))
            return
        if says_nothing:
            self.assumed[way.hardware_id].append(need("hardware", device, "poe_class"))
        self.faults[way.hardware_id] += [f"{device.name}: {p}" for p in demand.problems]
        fed = Powered(way, device, demand, _drawn_w(device, demand))
        (self.planned if way.is_planned else self.now)[way.hardware_id].append(fed)

    def now_w(self, hardware_id: int) -> float:
        return sum(fed.demand.source_w for fed in self.now.get(hardware_id, ()))

    def kept(self, hardware_id: int) -> dict[str, poe.Demand]:
        """What planned devices, reserved ports and reservations ask for, by name.

        Watts reserved and ports marked as reserved are taken to be for the same: the greater of
        the two counts. A marked port asks for the most that its type supplies.
        """
        if hardware_id not in self._kept:
            self._kept[hardware_id] = self._found_kept(hardware_id)
        return self._kept[hardware_id]

    def _found_kept(self, hardware_id: int) -> dict[str, poe.Demand]:
        found = {f.device.name: f.demand for f in self.planned.get(hardware_id, ())}
        marked = {
            f"reserved port {number} of type {group.poe_type}": poe.demand(
                source_type=int(group.poe_type)
            )
            for group in self.source.ports_of.get(hardware_id, ())
            if group.state == "marked" and group.poe_type != "none"
            for number in range(1, group.ports + 1)
        }
        reserved = self.source.reserved(hardware_id, "PoE watts")
        marked_w = sum(demand.source_w for demand in marked.values())
        if sum(r.quantity for r in reserved) >= marked_w:
            return found | {r.name: poe.Demand(r.quantity, 0.0, ()) for r in reserved}
        return found | marked

    def kept_w(self, hardware_id: int) -> float:
        return sum(demand.source_w for demand in self.kept(hardware_id).values())

    @cached_property
    def sources(self) -> tuple[Hardware, ...]:
        """Standing hardware that supplies power: it has a budget, or a port that says so."""
        supplying = {g.hardware_id for g in self.source.ports if g.poe_type != "none"}
        supplying |= {way.hardware_id for way in self.ways if way.poe_type != "none"}
        return tuple(
            hardware
            for hardware in self.source.hardware.values()
            if hardware.status in ("installed", "spare")
            and (hardware.poe_budget_w is not None or hardware.id in supplying)
        )

    def sent_from(self, hardware_id: int, *, planned: bool) -> Iterator[Powered]:
        """The devices that a source feeds, the planned ones too when asked."""
        yield from self.now.get(hardware_id, ())
        if planned:
            yield from self.planned.get(hardware_id, ())

    def taken_by(self, device_id: int, *, planned: bool) -> Iterator[Powered]:
        """What feeds a device over the cabling, planned sources too when asked."""
        for found in self._taken.get(device_id, ()):
            if planned or not found.way.is_planned:
                yield found

    @cached_property
    def _taken(self) -> dict[int, list[Powered]]:
        taken: defaultdict[int, list[Powered]] = defaultdict(list)
        for fed in (*self.now.values(), *self.planned.values()):
            for found in fed:
                taken[found.device.id].append(found)
        return taken


def _ways(source: Source) -> Iterator[Way]:
    for _, steps in groupby(source.hops, key=lambda hop: hop.start):
        start, *onward = steps
        for _, way in groupby(onward, key=lambda hop: hop.way):
            hops = list(way)
            found = _way(source, start, hops)
            if found is not None:
                yield found


def _way(source: Source, start: Hop, hops: list[Hop]) -> Way | None:
    last = hops[-1]
    if last.hardware_id is None or last.form in PASSIVE or last.port_id == start.start:
        return None
    if any(hop.cable_status == "abandoned" for hop in hops):
        return None
    ends = [source.hardware.get(i) for i in (start.hardware_id, last.hardware_id) if i is not None]
    if len(ends) < 2 or None in ends:
        return None
    unmeasured = tuple(
        hop.cable_id for hop in hops if hop.length_m is None and hop.cable_id is not None
    )
    runs = tuple(Run(h.length_m or 0.0, h.gauge_awg, h.along == "cord") for h in hops)
    return Way(
        port_id=start.start,
        port=start.port_name or "",
        hardware_id=start.hardware_id or 0,
        poe_type=start.poe_type or "none",
        far_port=last.port_name or "",
        far_hardware_id=last.hardware_id,
        far_vlan=last.vlan,
        runs=None if unmeasured else runs,
        unmeasured=unmeasured,
        is_planned=any(hop.cable_status == "planned" for hop in hops)
        or "planned" in (start.port_status, last.port_status)
        or any(end is not None and end.is_planned for end in ends),
    )


def _drawn_w(device: Hardware, demand: poe.Demand) -> float:
    """What the device draws, as far as known the most: it is heat where the device is."""
    if device.poe_drawn_w is not None:
        return device.poe_drawn_w
    if device.poe_class is not None:
        return min(poe.class_limits(device.poe_class).device_w, demand.source_w)
    return demand.source_w
