"""A place in trouble: what can hurt, where it is cut off, how to get in, what is there."""

from __future__ import annotations

from collections.abc import Iterator

from binder.engineering.cautions import MAINS
from binder.identifiers import natural_key
from binder.read import Record, read
from binder.trouble_facts import Block, Facts, Told


def space_blocks(facts: Facts, space: Record) -> tuple[Block, ...]:
    """The page of a space."""
    return (
        Block("Mind", tuple(_mind(facts, space))),
        Block("Getting in", tuple(_access(facts, space))),
        Block("Power", tuple(_breakers(facts, space))),
        Block("Circuits that come in here", tuple(_circuits(facts, space))),
        Block("What is in it", tuple(_held(facts, space))),
    )


def building_blocks(facts: Facts, building: Record) -> tuple[Block, ...]:
    """The page of a building: its own access, then each telecommunications space."""
    spaces = facts.of("space", "t.building_id = ?", building.id)
    spaces.sort(key=lambda space: (space["form"] in ("room", "outdoors"), natural_key(space.name)))
    telecom = [space for space in spaces if space["form"] not in ("room", "outdoors")]
    blocks = [
        Block(
            "Getting in",
            facts.fields(building, "address", "access_contact", "access_hours"),
        )
    ]
    for space in telecom:
        lines = [
            *_mind(facts, space), *_access(facts, space), *_breakers(facts, space),
            *_circuits(facts, space), *_held(facts, space),
        ]  # fmt: skip
        title = " ".join(filter(None, (space.name, space["name"])))
        blocks.append(Block(title, tuple(lines)))
    rooms = [line for space in spaces if space not in telecom for line in _held(facts, space)]
    return (*blocks, Block("In the rooms", tuple(rooms)))


def rack_blocks(facts: Facts, rack: Record) -> tuple[Block, ...]:
    """The page of a rack: that of the space it stands in, its own hardware first."""
    space = read(facts.binder, rack["space"])
    return (
        Block("Mind", tuple(_mind(facts, space))),
        Block("Getting in", tuple(_access(facts, space))),
        Block("Power", tuple(_breakers(facts, space))),
        Block("What is in it", tuple(_in_rack(facts, rack.id))),
    )


def _mind(facts: Facts, space: Record) -> Iterator[Told]:
    for name in ("hazards", "shut_offs"):
        line = facts.field(space, name, state="warn" if name == "hazards" else "")
        if line:
            yield line


def _access(facts: Facts, space: Record) -> Iterator[Told]:
    yield from facts.fields(space, "access_hours", "escort", "alarm")
    for key in facts.of("key", "t.space_id = ? AND t.returned_on IS NULL", space.id):
        holder = facts.contact(key["holder"]) if key["holder"] is not None else "holder not known"
        yield Told("Key", f"{key.name}, {key['form']}: {holder}", key.id)


def _breakers(facts: Facts, space: Record) -> Iterator[Told]:
    for branch in facts.of("branch_circuit", "t.space_id = ?", space.id):
        facts.caution(MAINS)
        fed = facts.binder.connection.execute(
            "SELECT group_concat(DISTINCT r.name) FROM inlet i JOIN record r "
            "ON r.id = i.hardware_id WHERE i.branch_circuit_id = ?",
            (branch.id,),
        ).fetchone()[0]
        rating = f"{branch['rating_a']:g} A" if branch["rating_a"] else ""
        generator = "on the generator" if branch["generator_backed"] else ""
        feeds = f"feeds {fed.replace(',', ', ')}" if fed else "feeds nothing recorded"
        told = ", ".join(filter(None, (branch.name, rating, generator, feeds)))
        yield Told("Breaker", told, branch.id)


def _circuits(facts: Facts, space: Record) -> Iterator[Told]:
    for circuit in facts.of("circuit", "t.demarc_space_id = ?", space.id):
        told = [circuit.name, facts.shown(circuit, "provider"), facts.shown(circuit, "circuit_id"),
                facts.shown(circuit, "demarc_position")]  # fmt: skip
        yield Told("Circuit", ", ".join(filter(None, told)), circuit.id)


def _held(facts: Facts, space: Record) -> Iterator[Told]:
    for rack in facts.of("rack", "t.space_id = ?", space.id):
        yield Told("Rack", rack.name, rack.id)
        yield from _in_rack(facts, rack.id)
    loose = facts.of("hardware", "t.space_id = ?", space.id)
    for hardware in sorted(loose, key=lambda one: natural_key(one.name)):
        yield _thing(facts, hardware, facts.name(space.id))


def _in_rack(facts: Facts, rack_id: int) -> Iterator[Told]:
    held = facts.of("hardware", "t.rack_id = ?", rack_id, order_by="t.u_position DESC")
    for hardware in held:
        unit = f"U {hardware['u_position']}" if hardware["u_position"] else "no U"
        yield _thing(facts, hardware, unit)


def _thing(facts: Facts, hardware: Record, where: str) -> Told:
    told = [hardware.name, hardware["form"], facts.shown(hardware, "description")]
    return Told(where, ", ".join(filter(None, told)), hardware.id)
