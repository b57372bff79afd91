"""Rack elevations, front and rear, and the equipment schedule."""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence

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
from exporters.drawings.elevation import Elevation, Slot, State, elevation
from exporters.model import NOTHING, Block, Drawing, Paragraph, Part, Section
from exporters.source import Source

_WORTH_A_TALLY = 5  # ports; how many of two are patched says little
_STATES = {
    "installed": State.INSTALLED,
    "planned": State.PLANNED,
    "spare": State.SPARE,
    "abandoned": State.ABANDONED,
}


def racks(source: Source) -> Section:
    parts = tuple(
        Part(source.name(rack), tuple(_rack_blocks(source, rack, number)))
        for number, rack in enumerate(source.of("rack"), start=1)
    )
    return Section("racks", "Rack elevations", parts)


def _rack_blocks(source: Source, rack: Record, number: int) -> Iterator[Block]:
    faces = [rack_elevation(source, rack, face) for face in ("front", "rear")]
    for drawn in faces:
        yield Paragraph(drawn.caption)
    slug = re.sub(r"[^a-z0-9]+", "-", rack.name.lower()).strip("-")
    for drawn in faces:
        yield Drawing("-".join(filter(None, (f"rack{number}", slug, drawn.face))), drawn)
    beside = [h for h in source.of("hardware") if h["rack"] == rack.id and not _is_drawn(h)]
    if beside:
        told = (joined(source.name(h), what_it_is(source, h), by=" ") for h in beside)
        yield Paragraph(f"Also in this rack, in no U of their own: {', '.join(told)}.")
    for reservation in _reservations(source, rack):
        if reservation["u_position"] is None:
            yield Paragraph(
                f"{reservation['quantity']:g}U kept for {source.name(reservation)}, "
                "at no particular U."
            )
    yield facts(source, rack, leave_out=rack.kind.named_by)
    yield from notes(source, (rack,))


def rack_elevation(source: Source, rack: Record, face: str) -> Elevation:
    """The elevation of the 'front' or 'rear' of a rack."""
    hardware = [h for h in source.of("hardware") if h["rack"] == rack.id and _is_drawn(h)]
    here = [_slot(source, h, face) for h in hardware if _faces(h["face"], face)]
    kept = [
        Slot(
            reservation["u_position"],
            max(1, round(reservation["quantity"])),
            State.RESERVED,
            "",
            source.name(reservation),
        )
        for reservation in _reservations(source, rack)
        if reservation["u_position"] is not None and _faces(reservation["face"], face)
    ]
    behind = [_slot(source, h, face) for h in hardware if not _faces(h["face"], face)]
    return elevation(
        source.name(rack),
        face,
        rack["height_u"],
        (*here, *kept, *behind),
        from_top=rack["numbering"] == "top",
    )


def _slot(source: Source, hardware: Record, face: str) -> Slot:
    here = _faces(hardware["face"], face)
    what = what_it_is(source, hardware)
    if not here:
        what = f"{'front' if face == 'rear' else 'rear'}: {what}"
    return Slot(
        hardware["u_position"],
        hardware["height_u"],
        _STATES[hardware["status"]] if here else State.OTHER_FACE,
        source.name(hardware),
        what,
        _patched(source, hardware) if here else "",
    )


def _faces(which: str | None, face: str) -> bool:
    return (which or "front") in ("both", face)


def _is_drawn(hardware: Record) -> bool:
    return hardware["u_position"] is not None and bool(hardware["height_u"])


def _patched(source: Source, hardware: Record) -> str:
    ports = source.belonging("port", "hardware").get(hardware.id, ())
    if len(ports) < _WORTH_A_TALLY:
        return ""
    patched = sum(1 for port in ports if port.id in source.cord_ends)
    return f"{patched} of {len(ports)} patched"


def _reservations(source: Source, rack: Record) -> list[Record]:
    today = source.today.isoformat()
    return [
        reservation
        for reservation in source.of("reservation")
        if reservation["subject"] == rack.id
        and reservation["resource"] == "rack units"
        and (reservation["until"] is None or reservation["until"] >= today)
    ]


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


def _hardware_blocks(
    source: Source, hardware: Sequence[Record], columns: tuple[str | Column, ...]
) -> tuple[Block, ...]:
    """What each is and where; whose it is and for how long; what else is recorded."""
    if not hardware:
        return (NOTHING,)
    life = [h for h in hardware if any(h[name] is not None for name in _LIFE)]
    return (
        table(source, hardware, *columns),
        *((table(source, life, *_LIFE),) if life else ()),
        *particulars(source, hardware, told_by(*columns, *_LIFE)),
        *notes(source, hardware),
    )
