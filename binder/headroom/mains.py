"""Mains: what feeds what, from branch circuit to inlet, and what that adds up to.

Reckoned twice, as things stand and with what is planned or reserved; the difference is what rows
call reserved. A reservation of watts, and what a reserved port may be asked for, load the switch,
its UPS, the branch circuit and the room alike.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from functools import cached_property
from typing import Final

from binder.engineering.power import Carried, Fed, Load, apparent_va, carried, loads
from binder.headroom.feeds import POWERED, PoeFeeds
from binder.headroom.rows import Need
from binder.headroom.source import Source, need
from binder.headroom.tables import Hardware, Inlet
from binder.records.kinds.hardware import DRESSING, PASSIVE

_NO_MAINS: Final = (*PASSIVE, *DRESSING, "power strip", "UPS", *POWERED)


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
