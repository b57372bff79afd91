"""A place in trouble: what can hurt, where it is cut off, how to get in, what is there."""

from __future__ import annotations

import json
from collections import defaultdict
from collections.abc import Iterable, Iterator, Mapping
from typing import Final

from binder.engineering.cautions import MAINS
from binder.identifiers import natural_key
from binder.read import Record, read, read_where
from binder.records.catalog import BY_NAME
from binder.trouble_facts import Block, Facts, Told

_THESE: Final = "IN (SELECT value FROM json_each(?))"


def space_blocks(facts: Facts, space: Record) -> tuple[Block, ...]:
    """The page of a space."""
    places = _Places(facts, (space,))
    return (
        Block("Mind", tuple(places.mind(space))),
        Block("Getting in", tuple(places.access(space))),
        Block("Power", tuple(places.breakers(space))),
        Block("Circuits that come in here", tuple(places.circuits(space))),
        Block("What is in it", tuple(places.held(space))),
    )


def building_blocks(facts: Facts, building: Record) -> tuple[Block, ...]:
    """The page of a building: its own access, then each telecommunications space."""
    spaces = facts.of("space", "t.building_id = ?", building.id)
    spaces.sort(key=lambda space: natural_key(space.name))
    places = _Places(facts, spaces)
    telecom = [space for space in spaces if space["form"] not in ("room", "outdoors")]
    blocks = [
        Block(
            "Getting in",
            facts.fields(building, "address", "access_contact", "access_hours"),
        )
    ]
    for space in telecom:
        lines = [
            *places.mind(space), *places.access(space), *places.breakers(space),
            *places.circuits(space), *places.held(space),
        ]  # fmt: skip
        title = " ".join(filter(None, (space.name, space["name"])))
        blocks.append(Block(title, tuple(lines)))
    rooms = [line for space in spaces if space not in telecom for line in places.held(space)]
    return (*blocks, Block("In the rooms", tuple(rooms)))


def rack_blocks(facts: Facts, rack: Record) -> tuple[Block, ...]:
    """The page of a rack: that of the space it stands in, its own hardware first."""
    space = read(facts.binder, rack["space"])
    places = _Places(facts, (space,))
    return (
        Block("Mind", tuple(places.mind(space))),
        Block("Getting in", tuple(places.access(space))),
        Block("Power", tuple(places.breakers(space))),
        Block("What is in it", tuple(places.in_rack(rack.id))),
    )


class _Places:
    """What stands in some spaces and what belongs to them: each kind asked once for all."""

    def __init__(self, facts: Facts, spaces: Iterable[Record]) -> None:
        self.facts = facts
        ids = json.dumps([space.id for space in spaces])
        self.racks = self._by("rack", "space", ids)
        rack_ids = json.dumps([rack.id for racks in self.racks.values() for rack in racks])
        self.loose = self._by("hardware", "space", ids)
        self.mounted = self._by("hardware", "rack", rack_ids, "t.u_position DESC")
        self.branches = self._by("branch_circuit", "space", ids)
        self.fed = self._fed()
        self.entering = self._by("circuit", "demarc_space", ids)
        self.keys = self._by("key", "space", ids)
        self.holders = self._holders()

    def _by(
        self, kind: str, field: str, ids: str, order_by: str = "r.name"
    ) -> Mapping[int, list[Record]]:
        found: defaultdict[int, list[Record]] = defaultdict(list)
        for record in self.facts.of(kind, f"t.{field}_id {_THESE}", ids, order_by=order_by):
            found[record[field]].append(record)
        return found

    def _fed(self) -> Mapping[int, str]:
        ids = [branch.id for branches in self.branches.values() for branch in branches]
        rows = self.facts.binder.connection.execute(
            "SELECT branch_circuit_id, group_concat(name, ', ') FROM (SELECT DISTINCT "
            "i.branch_circuit_id, r.name FROM inlet i JOIN record r ON r.id = i.hardware_id "
            f"WHERE i.branch_circuit_id {_THESE}) GROUP BY branch_circuit_id",
            (json.dumps(ids),),
        )
        return dict(rows)

    def _holders(self) -> Mapping[int, Record]:
        ids = json.dumps([key["holder"] for keys in self.keys.values() for key in keys])
        kind = BY_NAME["contact"]
        people = read_where(self.facts.binder, kind, f"t.id {_THESE}", (ids,))
        return {person.id: person for person in people}

    # What is told of a space ------------------------------------------------------------

    def mind(self, space: Record) -> Iterator[Told]:
        for name in ("hazards", "shut_offs"):
            line = self.facts.field(space, name, state="warn" if name == "hazards" else "")
            if line:
                yield line

    def access(self, space: Record) -> Iterator[Told]:
        yield from self.facts.fields(space, "access_hours", "escort", "alarm")
        for key in self.keys.get(space.id, ()):
            if key["returned_on"] is None:
                holder = self.holders.get(key["holder"])
                by = self.facts.reached(holder) if holder else "holder not known"
                yield Told("Key", f"{key.name}, {key['form']}: {by}", key.id)

    def breakers(self, space: Record) -> Iterator[Told]:
        for branch in self.branches.get(space.id, ()):
            self.facts.caution(MAINS)
            rating = f"{branch['rating_a']:g} A" if branch["rating_a"] else ""
            generator = "on the generator" if branch["generator_backed"] else ""
            feeds = f"feeds {self.fed.get(branch.id, 'nothing recorded')}"
            told = ", ".join(filter(None, (branch.name, rating, generator, feeds)))
            yield Told("Breaker", told, branch.id)

    def circuits(self, space: Record) -> Iterator[Told]:
        for circuit in self.entering.get(space.id, ()):
            told = [circuit.name, circuit["provider"], circuit["circuit_id"],
                    circuit["demarc_position"]]  # fmt: skip
            yield Told("Circuit", ", ".join(filter(None, told)), circuit.id)

    def held(self, space: Record) -> Iterator[Told]:
        for rack in self.racks.get(space.id, ()):
            yield Told("Rack", rack.name, rack.id)
            yield from self.in_rack(rack.id)
        loose = self.loose.get(space.id, ())
        for hardware in sorted(loose, key=lambda one: natural_key(one.name)):
            yield _thing(hardware, space.name)

    def in_rack(self, rack_id: int) -> Iterator[Told]:
        for hardware in self.mounted.get(rack_id, ()):
            unit = f"U {hardware['u_position']}" if hardware["u_position"] else "no U"
            yield _thing(hardware, unit)


def _thing(hardware: Record, where: str) -> Told:
    status = hardware["status"] if hardware["status"] != "installed" else ""
    told = [hardware.name, hardware["form"], hardware["description"], status]
    return Told(where, ", ".join(filter(None, told)), hardware.id)
