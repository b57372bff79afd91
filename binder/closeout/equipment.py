"""Gaps of the equipment register: place, serial, owner, warranty, power, support."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator
from typing import Final

from binder.closeout.facts import Facts
from binder.closeout.gap import Found, rule

_SERIALLED: Final = (
    "switch", "gateway", "access point", "camera", "recorder", "door controller", "server",
    "storage", "UPS",
)  # fmt: skip
_REGISTER: Final = "NIST SP 800-53 rev. 5, CM-8 (component inventory)"


@rule(
    "hardware-placed", "must",
    why="What cannot be found cannot be repaired.",
    mend="Give it a rack and U, or a space.",
    basis=_REGISTER,
)  # fmt: skip
def hardware_placed(facts: Facts) -> Iterator[Found]:
    """Hardware in neither a rack nor a space."""
    for one in facts.of("hardware"):
        if one["rack"] is None and one["space"] is None:
            yield Found(one, f"{one.name} has no place", "space")


@rule(
    "hardware-serial", "must",
    why="The serial number is what warranty, support and theft reports ask for.",
    mend="Read it off the device.",
    basis=_REGISTER,
)  # fmt: skip
def hardware_serial(facts: Facts) -> Iterator[Found]:
    """Active equipment without a serial number."""
    for one in facts.active:
        if one["form"] in _SERIALLED and not one["serial"]:
            yield Found(one, f"{one.name} has no serial number", "serial")


@rule(
    "serial-unique", "must",
    why="Two devices with one serial number: one of the records is wrong.",
    mend="Read both off the devices again.",
    basis=_REGISTER,
)  # fmt: skip
def serial_unique(facts: Facts) -> Iterator[Found]:
    """Serial numbers and MAC addresses that several devices have."""
    for field, called in (("serial", "serial number"), ("mac", "MAC address")):
        counts = Counter(one[field] for one in facts.of("hardware") if one[field])
        for one in facts.of("hardware"):
            if one[field] and counts[one[field]] > 1:
                yield Found(one, f"{one.name}: {called} {one[field]} is also another's", field)


@rule(
    "hardware-owner", "should",
    why="Who owns it decides who replaces it, and who takes it along.",
    mend="Record the owner.",
    basis="CIS Controls v8.1, 1.1 (value from memory)",
)  # fmt: skip
def hardware_owner(facts: Facts) -> Iterator[Found]:
    """Active equipment without an owner."""
    for one in facts.active:
        if not one["owner"]:
            yield Found(one, f"{one.name} has no owner", "owner")


@rule(
    "hardware-warranty", "should",
    why="A warranty that nobody wrote down is not claimed.",
    mend="Add the warranty, or waive it where there is none.",
    basis="WSU construction guide specification 27 05 00, 1.12 (warranties)",
)  # fmt: skip
def hardware_warranty(facts: Facts) -> Iterator[Found]:
    """Equipment of ours to answer for that no warranty covers."""
    covered = {warranty["covers"] for warranty in facts.of("warranty")}
    for one in facts.active:
        if one["form"] in _SERIALLED and one.id not in covered and one["owner"] != "carrier":
            given = {"covers": one.id, "form": "maker"}
            yield Found(one, f"{one.name} has no warranty recorded", adds="warranty", given=given)


@rule(
    "hardware-powered", "must",
    why="Nobody can say what a breaker or a UPS takes down when its loads are not recorded.",
    mend="Add an inlet that says what feeds it, or its PoE class when the cable does.",
    basis="WSU telecommunications design guide, 4.3.6.4 (electrical load of each piece)",
)  # fmt: skip
def hardware_powered(facts: Facts) -> Iterator[Found]:
    """Active equipment with no inlet, and no PoE class that says the cable feeds it."""
    fed = facts.by("inlet", "hardware")
    for one in facts.active:
        if one.id not in fed and one["poe_class"] is None and one["form"] != "workstation":
            given = {"hardware": one.id, "label": "PS1"}
            yield Found(one, f"{one.name}: what feeds it is not recorded", adds="inlet",
                        given=given)  # fmt: skip
    for inlets in fed.values():
        for inlet in inlets:
            if inlet["fed_by"] is None and inlet["branch_circuit"] is None:
                yield Found(inlet, f"{inlet.name}: what feeds it is not recorded", "fed_by")


@rule(
    "breaker-identified", "must",
    why="In a fire or a flood the breaker has to be found at once.",
    mend="Record panel and breaker, and mark the outlet; a licensed electrician confirms it.",
    basis="WSU construction guide specification 26 05 53, 1.01 (panel schedules)",
)  # fmt: skip
def breaker_identified(facts: Facts) -> Iterator[Found]:
    """Branch circuits without panel, breaker or rating."""
    for branch in facts.of("branch_circuit"):
        for field in ("panel", "breaker", "rating_a"):
            if branch[field] is None:
                label = branch.kind.field(field).label.lower()
                yield Found(branch, f"{branch.name}: no {label} recorded", field)


@rule(
    "hardware-supported", "should",
    why="What its maker no longer mends is replaced or kept away from the outside.",
    mend="Plan its replacement, or record a later day.",
    basis="NIST SP 800-53 rev. 5, SA-22 (unsupported components)",
)  # fmt: skip
def hardware_supported(facts: Facts) -> Iterator[Found]:
    """Equipment whose maker's support has ended."""
    for one in facts.active:
        ends = one["support_ends_on"]
        if ends and ends < facts.today.isoformat():
            yield Found(one, f"{one.name}: the maker's support ended {ends}", "support_ends_on")


@rule(
    "rack-anchors", "must",
    why="A wall rack that comes off the wall can kill. This is no engineer's approval.",
    mend="Record anchors and substrate; local codes and a licensed person decide.",
    basis="caution owed: common practice, no published source",
)  # fmt: skip
def rack_anchors(facts: Facts) -> Iterator[Found]:
    """Wall racks whose anchors or substrate are not recorded."""
    for rack in facts.of("rack"):
        if rack["mount"] == "floor":
            continue
        for field in ("anchors", "substrate"):
            if rack[field] in (None, "unknown"):
                label = rack.kind.field(field).label.lower()
                yield Found(rack, f"{rack.name} hangs on a wall: {label} not recorded", field)
