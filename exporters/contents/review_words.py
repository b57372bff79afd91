"""Each resource in the words of whoever owns the place: what it is, what happens when it is used
up, and what is then asked for. No word of the trade stands here; a test holds it.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Final

from binder.headroom import (
    Row,
    State,
    addressing,
    battery,
    circuits,
    conduit,
    heat,
    optics,
    poe,
    ports,
    power,
    rack,
    recording,
    uplinks,
)
from exporters.contents.parts import joined
from exporters.source import Source


@dataclass(frozen=True, slots=True)
class Plain:
    """`what` it is, what happens `otherwise`, and what we `ask` for."""

    what: str
    otherwise: str
    ask: str


PLAIN: Final[Mapping[str, Plain]] = {
    rack.UNITS: Plain(
        "room in the equipment cabinet", "nothing more can be put in",
        "room in the cabinet, or another",
    ),
    rack.DEPTH: Plain(
        "depth of the equipment cabinet", "doors or cables are squeezed", "a deeper cabinet",
    ),
    rack.WEIGHT: Plain(
        "weight the equipment cabinet may carry", "it may come off or tip over",
        "take weight off the cabinet",
    ),
    rack.ANCHORS_HOLD: Plain(
        "how the cabinet is fixed to the wall", "it may come off the wall",
        "have the fixing looked at",
    ),
    ports.PANEL: Plain(
        "places for cables to rooms", "no further outlet can be connected",
        "room for more cables, before the next outlet is wanted",
    ),
    ports.SWITCH: Plain(
        "connections for devices", "no further device can be plugged in",
        "more connections for devices",
    ),
    poe.POE: Plain(
        "power for cameras and telephones", "the next one does not start",
        "equipment that gives more power",
    ),
    uplinks.UPLINK: Plain(
        "speed between the cabinets", "all slows down at busy hours",
        "a faster connection between the cabinets",
    ),
    power.UPS_LOAD: Plain(
        "load on the battery backup", "it switches off when the mains fails",
        "a larger battery backup, or less on it",
    ),
    battery.MINUTES: Plain(
        "time the battery backup lasts", "the network stops in an outage",
        "more battery, or less on it",
    ),
    battery.LIFE: Plain(
        "age of the backup batteries", "they fail when the mains does", "new batteries",
    ),
    power.BRANCH: Plain(
        "load on the mains circuit", "the breaker trips and all on it goes dark",
        "an electrician to look at the circuit",
    ),
    heat.HEAT: Plain(
        "cooling of the equipment room", "equipment overheats and stops", "more cooling or air",
    ),
    heat.WARMTH: Plain(
        "warmth of the equipment room", "equipment ages early, or stops",
        "more air or cooling",
    ),
    recording.CAMERAS: Plain(
        "places for cameras on the recorder", "no further camera can be recorded",
        "a larger recorder, before the next camera is wanted",
    ),
    recording.RATE: Plain(
        "what the recorder can take in", "pictures are lost", "a larger recorder",
    ),
    recording.DAYS: Plain(
        "days of pictures kept", "older pictures are gone sooner than you asked",
        "a larger disk, or fewer days",
    ),
    recording.DISK: Plain(
        "room on the disks", "nothing more can be stored, backups among it", "larger disks",
    ),
    addressing.DHCP: Plain(
        "how many devices may join at once", "the next visitor cannot get on",
        "room for more devices: a setting",
    ),
    addressing.FIXED: Plain(
        "room for fixed equipment on the network", "no further device can be set up",
        "a change of settings",
    ),
    conduit.FILL: Plain(
        "room in the cable ways", "no further cable can be drawn", "another cable way",
    ),
    optics.STRANDS: Plain(
        "spare glass fibres", "no further connection between buildings", "another fibre cable",
    ),
    optics.LOSS: Plain(
        "quality of the glass fibres", "the connection may fail",
        "cleaning or mending of the fibre",
    ),
    optics.LIGHT: Plain(
        "signal on the provider's fibre", "the internet may fail", "a call to the provider",
    ),
    circuits.RATE: Plain(
        "speed of the internet", "all online slows down at busy hours", "a faster line",
    ),
    circuits.CLIENTS: Plain(
        "devices on the wireless", "wireless is slow where many are", "one more wireless point",
    ),
    ports.LICENCES: Plain(
        "licences", "nobody further can be added", "more licences",
    ),
}  # fmt: skip

STANDS: Final[Mapping[State, str]] = {
    "over": "beyond its limit",
    "short": "too little for plans",
    "tight": "full, or nearly",
    "not known": "cannot be told",
    "fine": "fine",
}


def plain_of(resource: str) -> Plain:
    """Its plain words; a resource of an earlier version of the program by its own name."""
    return PLAIN.get(resource) or Plain(resource, "", "look at it together")


def where(source: Source, row: Row) -> str:
    """Which one it is and where, for somebody who knows the rooms and not the names."""
    name = row.where.name
    if row.where.kind == "subnet":
        return f"{name} network"
    if row.where.kind == "circuit":
        return f"{name} line"
    rooms = {source.name(room): source.shown(room, "name") for room in source.of("space")}
    room = rooms.get(row.where.space, "") or row.where.space
    if row.where.kind == "space":
        return room or name
    return f"{room} ({name})" if room else joined(name, row.which)
