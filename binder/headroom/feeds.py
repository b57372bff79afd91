"""What feeds what: power over the cabling from switch to device, and mains from circuit to inlet.

Both are reckoned twice, as things stand and with what is planned or reserved; the difference is
what rows call reserved. A reservation of watts, and what a reserved port may be asked for, load the
switch, its UPS, the branch circuit and the room alike.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from functools import cached_property
from itertools import groupby
from typing import Final

from binder.engineering import poe
from binder.engineering.copper import Run
from binder.engineering.power import Carried, Fed, Load, apparent_va, carried, loads
from binder.headroom.rows import Need
from binder.headroom.source import Source, need
from binder.headroom.tables import Hardware, Hop, Inlet
from binder.records.kinds.hardware import DRESSING, PASSIVE

# Kinds that take their power from the cabling unless an inlet says otherwise.
POWERED: Final = ("camera", "phone", "access point", "door controller")
_NO_MAINS: Final = (*PASSIVE, *DRESSING, "power strip", "UPS", *POWERED)


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


# Mains. -------------------------------------------------------------------------------------


def circuit_key(name: str) -> str:
    """A branch circuit in the tree of power, apart from hardware of the same name."""
    return f"circuit {name}"


@dataclass(frozen=True, slots=True)
class Draw:
    """What hardware draws itself, and what is not known of it."""

    power_w: float
    power_va: float
    missing: tuple[Need, ...]
    assumed: tuple[Need, ...]


class PowerTree:
    """The tree of mains: hardware, UPSs, strips and branch circuits, now and with what is planned.

    `problem` says why there is none (feeds that run in a ring).
    """

    def __init__(self, source: Source, feeds: PoeFeeds) -> None:
        self.source = source
        self.feeds = feeds
        self.inlets: defaultdict[int, list[Inlet]] = defaultdict(list)
        for inlet in source.inlets:
            self.inlets[inlet.hardware_id].append(inlet)
        self._draws: dict[tuple[int, bool], Draw] = {}
        self.problem = ""
        self.now: dict[str, Carried] = {}
        self.then: dict[str, Carried] = {}
        self.things_now = self._things(planned=False)
        self.things_then = self._things(planned=True)
        try:
            self.now, self.then = carried(self.things_now), carried(self.things_then)
        except ValueError as error:
            self.problem = str(error)

    # What is drawn. -------------------------------------------------------------------------

    def draw(self, hardware: Hardware, *, planned: bool) -> Draw:
        """What hardware draws itself: its base power and what it supplies over the cabling."""
        key = hardware.id, planned
        if key not in self._draws:
            self._draws[key] = self._found_draw(hardware, planned=planned)
        return self._draws[key]

    def _found_draw(self, hardware: Hardware, *, planned: bool) -> Draw:
        missing: tuple[Need, ...] = ()
        assumed = tuple(self.feeds.assumed.get(hardware.id, ()))
        supplied_w = self.feeds.now_w(hardware.id)
        if planned:
            supplied_w += self.feeds.kept_w(hardware.id)
        if hardware.base_power_w is not None:
            power_w = hardware.base_power_w + supplied_w
        elif hardware.maximum_power_w is not None:
            power_w = hardware.maximum_power_w
            assumed += (need("hardware", hardware, "base_power_w"),)
        else:
            power_w = supplied_w
            if draws_mains(hardware):
                missing = (need("hardware", hardware, "base_power_w"),)
        factor = hardware.power_factor or self.source.limits["power factor"].value
        return Draw(power_w, apparent_va(power_w, factor), missing, assumed)

    def is_fed(self, hardware: Hardware) -> bool:
        """Whether an inlet of it leads somewhere."""
        return any(self.feeder(inlet) for inlet in self.inlets.get(hardware.id, ()))

    def feeder(self, inlet: Inlet) -> str | None:
        """The key in the tree of what feeds an inlet; None when nobody recorded it."""
        if inlet.branch_circuit_id is not None:
            circuit = self.source.branch_circuits.get(inlet.branch_circuit_id)
            return circuit_key(circuit.name) if circuit else None
        if inlet.fed_by_id is not None:
            hardware = self.source.hardware.get(inlet.fed_by_id)
            return hardware.name if hardware else None
        return None

    def _things(self, *, planned: bool) -> list[Fed]:
        feeding = {inlet.fed_by_id for inlet in self.source.inlets}
        things = []
        for hardware in self.source.hardware.values():
            if hardware.id in self.inlets or hardware.id in feeding:
                things.append(self._thing(hardware, planned=planned))
        for circuit in self.source.branch_circuits.values():
            other_w = circuit.other_load_w or 0.0
            things.append(Fed(circuit_key(circuit.name), other_w, other_w))
        if planned:
            things += self._reserved()
        return things

    def _thing(self, hardware: Hardware, *, planned: bool) -> Fed:
        """Planned hardware stands in the tree now too, drawing nothing yet."""
        draws = not hardware.is_planned or planned
        draw = self.draw(hardware, planned=planned)
        efficiency = (hardware.ups_efficiency_percent or 100.0) / 100
        return Fed(
            hardware.name,
            draw.power_w if draws else 0.0,
            draw.power_va if draws else 0.0,
            tuple(f for f in map(self.feeder, self.inlets.get(hardware.id, ())) if f),
            efficiency,
        )

    def _reserved(self) -> Iterator[Fed]:
        factor = self.source.limits["power factor"].value
        for reservation in self.source.reservations:
            hardware = self.source.hardware.get(reservation.subject_id)
            if hardware and reservation.resource == "UPS watts":
                yield Fed(
                    f"reserved: {reservation.name} ({reservation.id})",
                    reservation.quantity,
                    apparent_va(reservation.quantity, factor),
                    (hardware.name,),
                )

    # What is not known. ---------------------------------------------------------------------

    @cached_property
    def below(self) -> dict[str, list[Hardware]]:
        """What each thing feeds directly, by its key."""
        below: defaultdict[str, list[Hardware]] = defaultdict(list)
        for hardware in self.source.hardware.values():
            for inlet in self.inlets.get(hardware.id, ()):
                feeder = self.feeder(inlet)
                if feeder:
                    below[feeder].append(hardware)
        return below

    def fed_through(self, key: str) -> tuple[Hardware, ...]:
        """All hardware fed by this, through strips and UPSs too."""
        found: dict[int, Hardware] = {}
        waiting = [key]
        while waiting:
            for hardware in self.below.get(waiting.pop(), ()):
                if hardware.id not in found:
                    found[hardware.id] = hardware
                    waiting.append(hardware.name)
        return tuple(found.values())

    def doubts(self, key: str) -> tuple[tuple[Need, ...], tuple[Need, ...]]:
        """What is missing, and what is assumed, of all that this feeds."""
        missing: list[Need] = []
        assumed: list[Need] = []
        for hardware in self.fed_through(key):
            draw = self.draw(hardware, planned=False)
            missing += draw.missing
            assumed += draw.assumed
            if hardware.form == "UPS" and hardware.ups_efficiency_percent is None:
                missing.append(need("hardware", hardware, "ups_efficiency_percent"))
            assumed += [
                Need(inlet.id, "inlet", inlet.name, "fed_by", "what feeds")
                for inlet in self.inlets[hardware.id]
                if self.feeder(inlet) is None
            ]
        return tuple(missing), tuple(assumed)

    def outage(self, *, planned: bool) -> dict[str, Load]:
        """The loads on battery: every branch circuit dead, every UPS giving from its battery."""
        return self._outage_then if planned else self._outage_now

    @cached_property
    def _outage_now(self) -> dict[str, Load]:
        return self._on_battery(self.things_now)

    @cached_property
    def _outage_then(self) -> dict[str, Load]:
        return self._on_battery(self.things_then)

    def _on_battery(self, things: Iterable[Fed]) -> dict[str, Load]:
        on_battery = {h.name for h in self.source.hardware.values() if h.form == "UPS"}
        circuits = {circuit_key(c.name) for c in self.source.branch_circuits.values()}
        alone = [
            Fed(t.name, t.own_w, t.own_va, (), t.efficiency) if t.name in on_battery else t
            for t in things
        ]
        return loads(alone, circuits)


def draws_mains(hardware: Hardware) -> bool:
    """Whether hardware of that kind takes mains power, unless something else feeds it."""
    return (
        hardware.form not in _NO_MAINS
        and hardware.poe_class is None
        and hardware.poe_drawn_w is None
        and hardware.status not in ("spare", "abandoned")
    )


def names_of(found: Iterable[Hardware]) -> str:
    return ", ".join(hardware.name for hardware in found)
