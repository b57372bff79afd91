"""Buildings, spaces; what a thing is and where, in words."""

from __future__ import annotations

from binder import elevation
from binder.read import Record
from exporters.contents.parts import card, joined, schedule
from exporters.model import NOTHING, Block, Part, Section
from exporters.source import Source


def places(source: Source) -> Section:
    """Every building; a card for each telecommunications space, a table of the other rooms."""
    spaces = source.of("space")
    rooms = [space for space in spaces if space["form"] == "room"]
    blocks: list[Block | Part] = [
        Part(
            "Buildings",
            schedule(
                source, source.of("building"), "name", "address", "access_contact", "access_hours"
            ),
        )
    ]
    blocks += [card(source, space, title_of(source, space)) for space in spaces
               if space["form"] != "room"]  # fmt: skip
    blocks.append(
        Part("Rooms", schedule(source, rooms, "name", "building", "floor", "access_hours"))
    )
    return Section("places", "Buildings and spaces", tuple(blocks) if spaces else (NOTHING,))


def title_of(source: Source, space: Record) -> str:
    """A space as people ask for it: `1A, Wiring closet`."""
    return joined(source.name(space), source.shown(space, "name"))


def space_of(source: Source, hardware: Record | None) -> Record | None:
    """The space a piece of hardware is in, its own or its rack's."""
    if hardware is None:
        return None
    rack = source.get(hardware["rack"])
    return source.get(rack["space"] if rack else hardware["space"])


def room_name(source: Source, hardware: Record | None) -> str:
    """The room a piece of hardware is in, by number and name; empty when not recorded."""
    space = space_of(source, hardware)
    return "" if space is None else joined(source.name(space), source.shown(space, "name"), by=" ")


def what_it_is(source: Source, hardware: Record) -> str:
    """What it is in a few words, without what this document does not tell."""
    return elevation.what_it_is(
        source.shown(hardware, "form"), source.shown(hardware, "description")
    )


def whereabouts(source: Source, hardware: Record) -> str:
    """Where a piece of hardware is: rack and U, or room and place."""
    place = source.shown(hardware, "place")
    if hardware["rack"] is not None:
        return joined(source.shown(hardware, "rack"), _units(hardware), place)
    return joined(room_name(source, hardware), place)


def _units(hardware: Record) -> str:
    first, height = hardware["u_position"], hardware["height_u"] or 0
    if first is None:
        return "" if height else "no U"
    side = "" if hardware["face"] in (None, "front") else f" {hardware['face']}"
    return f"U{first}{side}" if height < 2 else f"U{first} to U{first + height - 1}{side}"
