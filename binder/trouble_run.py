"""A port or cable in trouble: the run it is part of, end by end, in the order of looking."""

from __future__ import annotations

from collections.abc import Iterator

from binder.channel import COPPER, Cable, Channel, Hop
from binder.engineering.cautions import LASERS
from binder.errors import RequestError
from binder.read import Record
from binder.trace import trace
from binder.trouble_facts import Block, Facts, State, Told


def run_blocks(facts: Facts, record: Record) -> tuple[Block, ...]:
    """The page of a port, link or cord."""
    try:
        found = trace(facts.binder, record.id)
    except RequestError as error:  # a cable without ends: that is what there is to tell
        return (Block("Look, in this order", (Told("", str(error), record.id, "warn"),)),)
    lines = [line for channel in found.channels for line in parts_told(facts, channel)]
    breaks = [Told("Break", text, state="bad") for text in found.breaks]
    reaches = [Told("Reaches", circuit.name, circuit.id, "good") for circuit in found.circuits]
    if not reaches:
        reaches = [Told("Reaches", "no circuit", record.id, "bad")]
    issues = facts.known_issues(
        record.id, *(part.id for channel in found.channels for part in channel.parts)
    )
    return (Block("Look, in this order", (*breaks, *lines, *issues, *reaches)),)


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
