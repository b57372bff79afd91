"""Putting additions into a binder as planned hardware: where they go, what they plug into, what
feeds them.

Whatever the line does not say is chosen where there is most room, and told, so that it can be said
otherwise. What finds no place is planned all the same, without one, so that it shows in the rows.
"""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Iterable, Iterator
from datetime import date
from typing import Final, NamedTuple

from binder.engineering.poe import class_limits
from binder.engineering.rack import Places, places
from binder.errors import RequestError
from binder.file import BinderFile
from binder.headroom.additions import Addition
from binder.headroom.feeds import PoeFeeds
from binder.headroom.mains import PowerTree
from binder.headroom.power import loads_of
from binder.headroom.rack import mounted
from binder.headroom.source import Source
from binder.headroom.tables import PLANNED, Hardware, Rack
from binder.read import resolve
from binder.step import Step

_FREE_PORTS: Final = """
SELECT p.id, p.hardware_id, coalesce(p.poe_type, 'none') FROM port p
JOIN hardware h ON h.id = p.hardware_id
WHERE h.form = 'switch' AND h.status = 'installed' AND p.status = 'installed'
  AND coalesce(p.role, 'edge') = 'edge' AND coalesce(p.connector, '8P8C') = '8P8C'
  AND coalesce(p.condition, '') <> 'bad' AND p.reserved_for IS NULL
  AND NOT EXISTS (SELECT 1 FROM cord_end e WHERE e.port_id = p.id)
  AND NOT EXISTS (SELECT 1 FROM link_end e WHERE e.port_id = p.id)
ORDER BY p.hardware_id, p.position, p.id"""


class _Port(NamedTuple):
    id: int
    hardware_id: int
    poe_type: str


class Placing:
    """One binder, and additions put into it one after another within one step."""

    def __init__(self, binder: BinderFile, step: Step, today: date) -> None:
        self.binder, self.step, self.today = binder, step, today
        self.says: list[str] = []
        self.cannot: list[str] = []
        self._refused: Counter[str] = Counter()
        self._given_w: Counter[int] = Counter()
        self._look()
        self._free: defaultdict[int, list[_Port]] = defaultdict(list)
        for row in binder.connection.execute(_FREE_PORTS):
            self._free[row[1]].append(_Port(*row))

    def _look(self) -> None:
        self.source = Source(self.binder, self.today)
        self.feeds = PoeFeeds(self.source)
        self.tree = PowerTree(self.source, self.feeds)

    def add(self, addition: Addition) -> None:
        """Plan all of one addition. Raises RequestError for a name that is not in the binder."""
        self._take_up_reservations(addition)
        self._look()
        placed: Counter[str] = Counter()
        for _ in range(addition.count):
            placed.update(self._one(addition))
            if addition.values.get("height_u") or addition.values.get("base_power_w"):
                self._look()  # units and watts are taken one after another
        self._reserve_addresses(addition)
        self.says += _counted(addition, placed)
        self.cannot += _counted(addition, self._refused)
        self._refused.clear()

    def _take_up_reservations(self, addition: Addition) -> None:
        """What was kept under the addition's name is kept for it: it takes the place of that."""
        name = addition.name.casefold()
        for kept in self.source.reservations:
            told = kept.name.casefold()
            if told == name or told.startswith(f"{name},"):
                self.step.change(kept.id, {"status": "former"})
                self.says.append(f"{addition}: takes up the reservation '{kept.name}'")

    def _one(self, addition: Addition) -> list[str]:
        values = {**addition.values, "identifier": self._identifier(addition.name)}
        values |= {"form": addition.form, "status": PLANNED}
        where, told = self._where(addition)
        values |= where
        if addition.form == "camera":
            recorder = self._recorder(addition)
            if recorder is not None:
                values["recorder"] = recorder.id
                values.setdefault("recorded_hours_a_day", 24.0)
                told.append(f"recorded by {recorder.name}")
        hardware_id = self.step.add("hardware", values)
        told += self._plug_in(addition, hardware_id, where)
        told += self._feed(addition, hardware_id, where)
        return told

    def _identifier(self, name: str) -> str:
        """The name with the next number that no hardware has."""
        taken = {
            row[0].casefold()
            for row in self.binder.connection.execute(
                "SELECT name FROM record WHERE kind = 'hardware'"
            )
        }
        number = 1
        while f"{name} {number}".casefold() in taken:
            number += 1
        return f"{name} {number}"

    # Places. ----------------------------------------------------------------------------------

    def _where(self, addition: Addition) -> tuple[dict[str, int | None], list[str]]:
        size_u = addition.values.get("height_u") or 0
        if addition.place:
            named = resolve(self.binder, addition.place)
            if named.kind == "space":
                racks = [r for r in self.source.racks.values() if r.space_id == named.id]
                if not size_u or not racks:
                    return {"space": named.id}, [f"in {named.name}"]
            elif named.kind == "rack":
                racks = [self.source.racks[named.id]]
            else:
                raise RequestError(f"'{addition.place}' is no rack and no space")
        else:
            racks = list(self.source.racks.values())
        if not size_u or not racks:
            return {}, []
        return self._in_rack(addition, racks, size_u)

    def _in_rack(
        self, addition: Addition, racks: list[Rack], size_u: int
    ) -> tuple[dict[str, int | None], list[str]]:
        """The lowest place that surely fits, of the rack with most of them; else one that may."""
        tall = [rack for rack in racks if rack.height_u >= size_u]
        if not tall:
            self._refused[f"no rack has {size_u} U"] += 1
            return {}, []
        fits = {rack.id: self._places(addition, rack, size_u, blanks=True) for rack in tall}

        def room(rack: Rack) -> tuple[int, int]:
            return len(fits[rack.id].sure), len(fits[rack.id].unsure)

        rack = max(tall, key=room)
        found = fits[rack.id]
        if found.sure:
            return {"rack": rack.id, "u_position": found.sure[0]}, [f"in {rack.name}"]
        if found.unsure:
            u_position = found.unsure[0]
            return {"rack": rack.id, "u_position": u_position}, [
                f"in {rack.name}, if its depth allows"
            ]
        behind = self._places(addition, rack, size_u, blanks=False)
        if behind.sure or behind.unsure:
            return {"rack": rack.id}, [f"in {rack.name}, where a blank is now"]
        why = "too deep for" if found.too_deep or behind.too_deep else f"no {size_u} U together in"
        self._refused[f"{why} {rack.name}"] += 1
        return {"rack": rack.id}, []

    def _places(self, addition: Addition, rack: Rack, size_u: int, *, blanks: bool) -> Places:
        return places(
            rack.height_u,
            mounted(self.source, rack, blanks=blanks),
            size_u=size_u,
            depth_mm=addition.values.get("depth_mm"),
            clear_depth_mm=rack.usable_depth_mm,
            bend_room_mm=rack.bend_room_mm or 0.0,
        )

    def _space_of(self, where: dict[str, int | None]) -> int | None:
        rack = self.source.racks.get(where.get("rack") or 0)
        return rack.space_id if rack else where.get("space")

    # Cables. ----------------------------------------------------------------------------------

    def _plug_in(
        self, addition: Addition, hardware_id: int, where: dict[str, int | None]
    ) -> list[str]:
        told = []
        for number in range(1, addition.ports + 1):
            port = self._port_for(addition, where)
            if port is None:
                told += self._without_port(addition)
                continue
            own = self.step.add(
                "port", {"hardware": hardware_id, "label": str(number), "status": PLANNED}
            )
            self.step.add("cord", {"port_a": own, "port_b": port.id, "status": PLANNED})
            told.append(f"on {self.source.hardware[port.hardware_id].name}")
        return list(dict.fromkeys(told))

    def _switches(self, addition: Addition) -> list[Hardware]:
        if addition.switch:
            return [self._hardware(addition.switch)]
        return self.source.standing("switch")

    def _port_for(self, addition: Addition, where: dict[str, int | None]) -> _Port | None:
        """A free port of the switch named, or of the one with most left; in the same space first.

        What takes its power from it goes where most watts are left, the rest where most ports are.
        """
        space = self._space_of(where)
        chosen: tuple[tuple[bool, float], _Port] | None = None
        for switch in self._switches(addition):
            ports = [p for p in self._free.get(switch.id, ()) if _serves(p.poe_type, addition)]
            if ports:
                left = self._left_w(switch) if addition.is_powered_by_cable else len(ports)
                key = (switch.space_id == space and space is not None, left)
                if chosen is None or key > chosen[0]:
                    chosen = key, ports[0]
        if chosen is None:
            return None
        port = chosen[1]
        self._free[port.hardware_id].remove(port)
        if addition.is_powered_by_cable:
            self._given_w[port.hardware_id] += round(_asked_w(addition))
        return port

    def _left_w(self, switch: Hardware) -> float:
        taken_w = self.feeds.now_w(switch.id) + self.feeds.kept_w(switch.id)
        return (switch.poe_budget_w or 0.0) - taken_w - self._given_w[switch.id]

    def _without_port(self, addition: Addition) -> list[str]:
        """No port is free: kept by number in the switch, so that its row comes out short."""
        serving = [
            switch
            for switch in self._switches(addition)
            if any(
                port.role == "edge" and _serves(port.poe_type, addition)
                for port in self.source.ports_of.get(switch.id, ())
            )
        ]
        if not serving:
            self._tell_unserved(addition)
            return []
        switch = max(serving, key=self._left_w)
        kept = {"ports": 1.0}
        if addition.is_powered_by_cable:
            kept["PoE watts"] = _asked_w(addition)
        for resource, quantity in kept.items():
            self._reserve(f"{addition.name}, {resource}", switch.id, resource, quantity)
        return [f"no port is free; kept by number in {switch.name}"]

    def _tell_unserved(self, addition: Addition) -> None:
        poe_class = addition.values.get("poe_class")
        what = f"of PoE type {class_limits(poe_class).type} or better" if poe_class else "for it"
        self._refused[f"no switch has a port {what}; another switch is needed"] += 1

    def _reserve(self, name: str, subject: int, resource: str, quantity: float) -> None:
        row = self.binder.connection.execute(
            "SELECT t.id, t.quantity, t.subject_id FROM reservation t WHERE t.identifier = ?",
            (name,),
        ).fetchone()
        if row is None:
            self.step.add("reservation", {
                "identifier": name, "subject": subject, "resource": resource, "quantity": quantity,
            })  # fmt: skip
        else:
            before = row[1] if row[2] == subject else 0.0
            self.step.change(
                row[0], {"quantity": before + quantity, "subject": subject, "status": "current"}
            )

    # Power, recorders, addresses. ---------------------------------------------------------------

    def _feed(
        self, addition: Addition, hardware_id: int, where: dict[str, int | None]
    ) -> list[str]:
        if not addition.values.get("base_power_w"):
            return []
        if addition.feed:
            named = resolve(self.binder, addition.feed)
            if named.kind not in ("hardware", "branch_circuit"):
                raise RequestError(f"'{addition.feed}' is no UPS, strip or branch circuit")
            field = "fed_by" if named.kind == "hardware" else "branch_circuit"
            feeder_id, name = named.id, named.name
        else:
            ups = self._ups(self._space_of(where))
            if ups is None:
                return ["what feeds it is not told: no UPS counts it"]
            field, feeder_id, name = "fed_by", ups.id, ups.name
        self.step.add(
            "inlet", {"hardware": hardware_id, "label": "PS1", field: feeder_id, "status": PLANNED}
        )
        return [f"fed by {name}"]

    def _ups(self, space_id: int | None) -> Hardware | None:
        """The UPS of the same space that has most watts left."""

        def left_w(ups: Hardware) -> float:
            worst, added, _ = loads_of(self.tree, ups.name)
            return (ups.ups_rating_w or ups.ups_rating_va or 0.0) - worst.out_w - added.out_w

        there = [u for u in self.source.standing("UPS") if u.space_id == space_id]
        return max(there, key=left_w, default=None)

    def _recorder(self, addition: Addition) -> Hardware | None:
        if addition.recorder:
            return self._hardware(addition.recorder)
        recorders = self.source.standing("recorder")
        return max(recorders, key=lambda r: r.rated_cameras or 0, default=None)

    def _reserve_addresses(self, addition: Addition) -> None:
        wanted = addition.addresses * addition.count
        if not wanted:
            return
        subnet = self._subnet(addition)
        if subnet is None:
            self.says.append(f"{addition}: no subnet is known for it; say one, like 'subnet staff'")
            return
        subnet_id, name = subnet
        self._reserve(f"{addition.name}, addresses", subnet_id, "addresses", wanted)
        self.says.append(f"{addition}: {wanted} addresses kept in {name}")

    def _subnet(self, addition: Addition) -> tuple[int, str] | None:
        """The subnet named, or the one where most of its kind have their addresses."""
        if addition.subnet:
            named = resolve(self.binder, addition.subnet, "subnet")
            return named.id, named.name
        forms = self.source.hardware
        counts = Counter(
            address.subnet_id
            for address in self.source.addresses
            if address.hardware_id in forms
            and forms[address.hardware_id].form == addition.form
            and address.subnet_id in self.source.subnets
        )
        if not counts:
            return None
        subnet_id = counts.most_common(1)[0][0]
        return (subnet_id, self.source.subnets[subnet_id].name) if subnet_id else None

    def _hardware(self, name: str) -> Hardware:
        found = self.source.hardware.get(resolve(self.binder, name, "hardware").id)
        if found is None:
            raise RequestError(f"'{name}' is an outlet: nothing can be planned on it")
        return found


def _counted(addition: Addition, said: Counter[str]) -> Iterator[str]:
    """A sentence on each, with how many of the addition it is true of."""
    for what, times in said.items():
        some = f" ({times} of {addition.count})" if times < addition.count else ""
        yield f"{addition}: {what}{some}"


def _serves(poe_type: str, addition: Addition) -> bool:
    if not addition.is_powered_by_cable:
        return True
    if poe_type == "none":
        return False
    poe_class = addition.values.get("poe_class")
    return poe_class is None or class_limits(poe_class).type <= int(poe_type)


def _asked_w(addition: Addition) -> float:
    poe_class = addition.values.get("poe_class")
    if addition.values.get("poe_drawn_w") is not None:
        return float(addition.values["poe_drawn_w"])
    return class_limits(poe_class if poe_class is not None else 0).source_w


class Placed(NamedTuple):
    """Sentences on where things went, and on what cannot go anywhere whatever the figures."""

    says: tuple[str, ...]
    cannot: tuple[str, ...]


def place_all(binder: BinderFile, step: Step, additions: Iterable[Addition], today: date) -> Placed:
    """Plan every addition within a step."""
    placing = Placing(binder, step, today)
    for addition in additions:
        placing.add(addition)
    return Placed(tuple(placing.says), tuple(placing.cannot))
