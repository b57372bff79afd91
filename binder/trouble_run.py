"""A port or cable in trouble: the run it is part of, end by end, in the order of looking."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace

from binder.channel import COPPER, Cable, Channel, Hop
from binder.engineering.cautions import LASERS, MAINS
from binder.errors import RequestError
from binder.read import Record, read
from binder.trace import trace
from binder.trouble_facts import Block, Facts, State, Told


def run_blocks(facts: Facts, record: Record) -> tuple[Block, ...]:
    """The page of a port, link or cord."""
    try:
        found = trace(facts.binder, record.id)
    except RequestError as error:  # a cable without ends: that is what there is to tell
        return (Block("Look, in this order", (Told("", str(error), record.id, "warn"),)),)
    lines = [
        line
        for channel in found.channels
        for line in (*_ends(facts, channel), *parts_told(facts, channel))
    ]
    breaks = [Told("Break", text, state="bad") for text in found.breaks]
    reaches = [Told("Reaches", circuit.name, circuit.id, "good") for circuit in found.circuits]
    if not reaches:
        reaches = [Told("Reaches", "no circuit", record.id, "bad")]
    issues = facts.known_issues(
        record.id, *(part.id for channel in found.channels for part in channel.parts)
    )
    onward = [line for channel in found.uplinks for line in uplink_told(facts, channel)]
    return (
        Block("Look, in this order", (*breaks, *lines, *issues)),
        Block("What feeds the far end", tuple(_fed(facts, found.channels))),
        Block("On from there", (*onward, *reaches)),
    )


def uplink_told(facts: Facts, channel: Channel) -> Iterator[Told]:
    """A run on the way to the carrier in one line, and whatever about it is not well."""
    told = " - ".join(part.name for part in channel.parts)
    yield Told("Uplink", told, channel.parts[0].id)
    yield from (line for line in parts_told(facts, channel) if line.state)


def _ends(facts: Facts, channel: Channel) -> Iterator[Told]:
    """The lamps at both ends, and whether power comes along: seen before anything is unplugged."""
    ends = [hop for hop in channel.hops if not hop.is_passive]
    if len(ends) < 2:
        return
    told = f"lit at {ends[0].name} and {ends[-1].name}? dark at both: power, cord, then cable"
    yield Told("Lamps", told, ends[0].id)
    draws = read(facts.binder, ends[0].hardware_id)["poe_class"]
    offers = ends[-1].poe_type not in ("", "none")
    if draws is not None:
        gives = f"offers type {ends[-1].poe_type}" if offers else "offers none"
        told = f"{ends[0].hardware} draws class {draws}; {ends[-1].name} {gives}"
        yield Told("PoE", told, ends[-1].id, "" if offers else "warn")


def _fed(facts: Facts, channels: Sequence[Channel]) -> Iterator[Told]:
    last = [channel.hops[-1] for channel in channels if channel.hops]
    for hop in {hop.hardware_id: hop for hop in last if not hop.is_passive}.values():
        feeds = list(facts.feeds(hop.hardware_id))
        if feeds:
            facts.caution(MAINS)
        yield from (replace(line, label=f"Power of {hop.hardware}") for line in feeds)


def parts_told(facts: Facts, channel: Channel) -> Iterator[Told]:
    """The ports and cables of a run in order, and what is to be minded about it."""
    for part in channel.parts:
        yield _port(part) if isinstance(part, Hop) else _cable(facts, part)
    for text in (*channel.flags, *channel.open_ends):
        yield Told("Mind", text, state="warn")


def _port(hop: Hop) -> Told:
    told = [hop.name, hop.form]
    if hop.current_use:
        told.append(hop.current_use)
    if not hop.is_passive:
        told += [f"VLAN {hop.vlan}"] if hop.vlan is not None else []
        told += [f"PoE type {hop.poe_type}"] if hop.poe_type not in ("", "none") else []
    where = " ".join(filter(None, (hop.rack or hop.space, f"U {hop.u_position}"
                                   if hop.u_position else hop.room)))  # fmt: skip
    if where:
        told.append(f"in {where}")
    state: State = ""
    if hop.condition == "bad":
        told.append(f"marked bad: {hop.condition_reason or 'no reason given'}")
        state = "bad"
    elif hop.status != "installed" or hop.hardware_status != "installed":
        told.append(hop.status if hop.status != "installed" else hop.hardware_status)
        state = "warn"
    return Told("Port", ", ".join(told), hop.id, state)


def _cable(facts: Facts, cable: Cable) -> Told:
    told = [cable.name]
    state: State = ""
    if cable.kind == "link":
        if cable.tested_on:
            told.append(f"tested {cable.tested_on}: {cable.test_result}")
            state = "bad" if cable.test_result == "fail" else ""
        else:
            told.append("never tested")
            state = "warn"
        if cable.cable != COPPER:
            facts.caution(LASERS)
    return Told(cable.kind.capitalize(), ", ".join(told), cable.id, state)
