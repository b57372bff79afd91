"""Rack elevations, front and rear, and the equipment schedule."""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence

from binder.elevation import FACES, Elevation, Mounted, Reserved, State, other
from binder.elevation import Block as Stretch
from binder.read import Record
from binder.records.kinds.hardware import DRESSING, PASSIVE
from exporters.contents.parts import (
    Column,
    facts,
    joined,
    notes,
    particulars,
    schedule,
    table,
    told_by,
)
from exporters.contents.places import what_it_is, whereabouts
from exporters.drawings.elevation import Elevation as Drawn
from exporters.drawings.elevation import Slot
from exporters.model import NOTHING, Block, Drawing, Facts, Paragraph, Part, Section
from exporters.source import Source

_WORTH_A_TALLY = 5  # ports; how many of two are patched says little


def racks(source: Source) -> Section:
    parts = tuple(
        Part(source.name(rack), tuple(_rack_blocks(source, rack, number)))
        for number, rack in enumerate(source.of("rack"), start=1)
    )
    return Section("racks", "Rack elevations", parts)


def _rack_blocks(source: Source, rack: Record, number: int) -> Iterator[Block]:
    standing = source.elevations[rack.id]
    faces = [_drawn(source, standing, side) for side in FACES]
    for drawn in faces:
        yield Paragraph(drawn.caption)
    slug = re.sub(r"[^a-z0-9]+", "-", rack.name.lower()).strip("-")
    for drawn in faces:
        yield Drawing("-".join(filter(None, (f"rack{number}", slug, drawn.face))), drawn)
    if standing.loose:
        told = (joined(source.name(h.id), _what(source, h), by=" ") for h in standing.loose)
        yield Paragraph(f"Also in this rack, in no U of their own: {', '.join(told)}.")
    for kept in standing.reserved:
        if kept.u is None:
            yield Paragraph(
                f"{kept.height_u}U kept for {source.name(kept.id)}, at no particular U."
            )
    yield facts(source, rack, leave_out=rack.kind.named_by)
    yield from notes(source, (rack,))


def _drawn(source: Source, standing: Elevation, side: str) -> Drawn:
    """The drawing of the 'front' or 'rear' of a rack."""
    face = standing.face(side)
    slots = tuple(_slot(source, block, side) for block in face.blocks)
    name = source.name(standing.id)
    return Drawn(name, side, standing.height_u, standing.from_top, slots)


def _slot(source: Source, block: Stretch, side: str) -> Slot:
    name = words = tally = ""
    match block.thing:
        case Reserved():
            words = source.name(block.thing.id)
        case Mounted():
            name, words = source.name(block.thing.id), _what(source, block.thing)
            if block.state is State.OTHER_FACE:
                words = f"{other(side)}: {words}"
            elif block.thing.ports >= _WORTH_A_TALLY:
                tally = f"{block.thing.patched} of {block.thing.ports} patched"
    return Slot(block.first_u, block.height_u, block.state, name, words, tally)


def _what(source: Source, hardware: Mounted) -> str:
    return source.cleared(hardware.what)


# Equipment. -------------------------------------------------------------------------------


def equipment(source: Source) -> Section:
    """Active equipment with what a claim or a swap needs; then connecting hardware."""
    hardware = source.of("hardware")
    passive = [h for h in hardware if h["form"] in (*PASSIVE, *DRESSING)]
    active = [h for h in hardware if h["form"] not in (*PASSIVE, *DRESSING)]
    maker = Column(
        "Maker and model",
        lambda h: joined(source.shown(h, "maker"), source.shown(h, "model"), by=" "),
        ("maker", "model"),
    )
    what = Column("What it is", lambda h: what_it_is(source, h), ("description", "form"))
    place = Column(
        "Where", lambda h: whereabouts(source, h),
        ("rack", "u_position", "height_u", "face", "space", "place"),
    )  # fmt: skip
    copies = schedule(
        source, source.of("configuration_copy"), "hardware", "taken_on", "taken_by", "file_name",
        "kept_at", "restore_tried_on",
    )  # fmt: skip
    return Section(
        "equipment",
        "Equipment schedule",
        (
            Part(
                "Active equipment",
                _hardware_blocks(
                    source, active, (what, maker, "serial", "firmware", place, "status")
                ),
            ),
            Part(
                "Panels, outlets and dressing",
                _hardware_blocks(
                    source, passive, (what, maker, "serial", "category", place, "status")
                ),
            ),
            Part("Configuration copies", copies),
        ),
    )


_LIFE = (
    "asset_tag", "mac", "owner", "price", "installed_on", "support_ends_on", "expected_life_years",
)  # fmt: skip

# What one piece has and the next has not; an outlet has none of it, and no row in that table.
_OF_ITS_OWN = ("asset_tag", "mac", "price", "support_ends_on")


def _hardware_blocks(
    source: Source, hardware: Sequence[Record], columns: tuple[str | Column, ...]
) -> tuple[Block, ...]:
    """What each is and where; whose it is and for how long; what else is recorded."""
    if not hardware:
        return (NOTHING,)
    own = [h for h in hardware if any(h[name] is not None for name in _OF_ITS_OWN)]
    alike = [h for h in hardware if all(h[name] is None for name in _OF_ITS_OWN)]
    beyond = (
        *particulars(source, own, told_by(*columns, *_LIFE)),
        *particulars(source, alike, told_by(*columns)),
    )
    rows = tuple(row for told in beyond for row in told.rows)  # two lists would be set apart
    return (
        table(source, hardware, *columns),
        *((table(source, own, *_LIFE),) if own else ()),
        *((Facts(rows),) if rows else ()),
        *notes(source, hardware),
    )
