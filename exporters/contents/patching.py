"""The patch map, by panel, by device and by room: what each jack feeds and what feeds it."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from functools import partial

from binder.identifiers import natural_key
from binder.read import Record
from binder.records.kinds.hardware import PASSIVE
from exporters.contents.faces import face
from exporters.contents.parts import (
    Column,
    bare_table,
    joined,
    notes,
    particulars,
    told_by,
)
from exporters.contents.places import room_name, space_of, title_of, what_it_is
from exporters.model import NOTHING, Block, Paragraph, Part, Section
from exporters.source import End, Source

_NAMED = ("hardware", "label", "position")  # position is the order of the rows
_MANY_PORTS = 4  # a device with more has a table of its own


def by_panel(source: Source) -> Section:
    """Each panel's face and ports: link, outlet and room, cable, patched to; then devices."""
    ports = _ports(source)
    panels = [h for h in source.of("hardware") if h["form"] == "patch panel"]
    active = [h for h in source.of("hardware") if h["form"] not in PASSIVE and h.id in ports]
    large = [h for h in active if len(ports[h.id]) > _MANY_PORTS]
    small = [port for h in active if h not in large for port in ports[h.id]]
    panel_columns, device_columns = _panel_columns(source), _device_columns(source)
    parts = [
        Part(_title(source, h), _faced(source, h, number, ports.get(h.id, ()), panel_columns))
        for number, h in enumerate(panels, start=1)
    ]
    parts += [
        Part(_title(source, h), _faced(source, h, number, ports[h.id], device_columns))
        for number, h in enumerate(large, start=1 + len(panels))
    ]
    if small:
        name = Column("Port", source.name, _NAMED)
        parts.append(
            Part("Other devices", _port_blocks(source, small, (name, *device_columns[1:])))
        )
    return Section("patch-map", "Patch map, by panel and device", tuple(parts))


def by_room(source: Source) -> Section:
    """The same seen from the rooms: each outlet, and what else is there."""
    ports, columns = _ports(source), _outlet_columns(source)
    here: dict[int, list[Record]] = {}
    for hardware in source.of("hardware"):
        space = space_of(source, hardware)
        if space is not None and hardware["rack"] is None:
            here.setdefault(space.id, []).append(hardware)
    parts, every = [], []
    for space in source.of("space"):
        found = here.get(space.id, [])
        if not found:
            continue
        outlets = [port for h in found if h["form"] in PASSIVE for port in ports.get(h.id, ())]
        others = [h for h in found if h["form"] not in PASSIVE]
        blocks: tuple[Block, ...] = ()
        if outlets:
            blocks = (bare_table(source, outlets, *columns), *notes(source, outlets))
            every += outlets
        if others:
            listed = ", ".join(f"{source.name(h)} ({source.shown(h, 'form')})" for h in others)
            blocks += (Paragraph(f"Equipment here: {listed}."),)
        parts.append(Part(title_of(source, space), blocks or (NOTHING,)))
    if beyond := particulars(source, every, told_by(*columns)):
        parts.append(Part("Outlets, further particulars", beyond))
    return Section("rooms", "Patch map, by room", tuple(parts))


def _faced(
    source: Source,
    hardware: Record,
    number: int,
    ports: Sequence[Record],
    columns: tuple[Column, ...],
) -> tuple[Block, ...]:
    """The face, drawn, and what is at each of its ports."""
    return (*face(source, hardware, ports, number), *_port_blocks(source, ports, columns))


def _port_blocks(
    source: Source, ports: Sequence[Record], columns: tuple[Column, ...]
) -> tuple[Block, ...]:
    if not ports:
        return (NOTHING,)
    return (
        bare_table(source, ports, *columns),
        *particulars(source, ports, told_by(*columns)),
        *notes(source, ports),
    )


def _ports(source: Source) -> Mapping[int, tuple[Record, ...]]:
    """Ports by the hardware they are on, in the order of its face."""
    grouped = source.belonging("port", "hardware")
    return {
        hardware: tuple(sorted(ports, key=lambda p: (p["position"] or 0, natural_key(p["label"]))))
        for hardware, ports in grouped.items()
    }


def _title(source: Source, hardware: Record) -> str:
    return joined(source.name(hardware), what_it_is(source, hardware))


# Columns. ---------------------------------------------------------------------------------


def _panel_columns(source: Source) -> tuple[Column, ...]:
    far = partial(far_port, source, ends=source.link_ends)
    return (
        Column("Port", lambda p: source.shown(p, "label"), _NAMED),
        Column("Link", partial(_cable_name, source, ends=source.link_ends)),
        Column("Goes to", lambda p: source.name(far(p))),
        Column("Room", lambda p: room_name(source, hardware_of(source, far(p)))),
        Column("Cable", partial(_cable, source)),
        Column("Patched to", lambda p: _patched_to(source, p)),
        Column("VLAN", partial(_vlan, source), ("vlan",)),
        Column("Current use", partial(_use, source), ("current_use", "reserved_for")),
        _condition_column(source),
    )


def _outlet_columns(source: Source) -> tuple[Column, ...]:
    far = partial(far_port, source, ends=source.link_ends)
    return (
        Column("Outlet", source.name, _NAMED),
        Column("Link", partial(_cable_name, source, ends=source.link_ends)),
        Column("Panel port", lambda p: source.name(far(p))),
        Column("Patched to", lambda p: _patched_to(source, far(p))),
        Column("VLAN", lambda p: _vlan(source, far(p) or p), ("vlan",)),
        Column("Serves", partial(_use, source), ("current_use", "reserved_for")),
        Column("Plugged in", lambda p: source.name(far_port(source, p, ends=source.cord_ends))),
        _condition_column(source),
    )


def _device_columns(source: Source) -> tuple[Column, ...]:
    return (
        Column("Port", lambda p: source.shown(p, "label"), _NAMED),
        Column("Role", lambda p: source.shown(p, "role"), ("role",)),
        Column("Patched to", lambda p: _patched_to(source, p)),
        Column("Reaches", partial(_reaches, source)),
        Column("VLAN", partial(_vlans, source), ("vlan", "tagged_vlans")),
        Column(
            "Current use", partial(_use, source), ("current_use", "reserved_for"),
        ),
        _condition_column(source),
    )  # fmt: skip


def _condition_column(source: Source) -> Column:
    return Column(
        "Condition",
        lambda p: joined(
            source.shown(p, "condition"),
            source.shown(p, "condition_reason"),
            source.shown(p, "condition_on"),
        ),
        ("condition", "condition_reason", "condition_on"),
    )


def _cable_name(source: Source, port: Record, *, ends: Mapping[int, End]) -> str:
    end = ends.get(port.id)
    return source.name(end.cable_id) if end else "none"


def _cable(source: Source, port: Record) -> str:
    end = source.link_ends.get(port.id)
    link = source.get(end.cable_id) if end else None
    return joined(source.shown(link, "category"), source.shown(link, "length_m"))


def _patched_to(source: Source, port: Record | None) -> str:
    if port is None:
        return ""
    return source.name(far_port(source, port, ends=source.cord_ends)) or "not patched"


def _vlan(source: Source, port: Record) -> str:
    far = far_port(source, port, ends=source.cord_ends)
    return source.shown(far, "vlan") or source.shown(port, "vlan")


def _vlans(source: Source, port: Record) -> str:
    tagged = source.shown(port, "tagged_vlans")
    return joined(source.shown(port, "vlan"), f"tagged {tagged}" if tagged else "")


def _use(source: Source, port: Record) -> str:
    """What the path through a port serves today, said at whichever of its ports it was noted."""
    ports = (port, *path(source, port, front=False), *path(source, port, front=True))
    use = next(filter(None, (source.shown(p, "current_use") for p in ports)), "")
    reserved = next(filter(None, (source.shown(p, "reserved_for") for p in ports)), "")
    return joined(use, f"reserved for {reserved}" if reserved else "", by="; ")


def _reaches(source: Source, port: Record) -> str:
    ports = path(source, port, front=True)
    if not ports:
        return ""
    return joined(source.name(ports[-1]), room_name(source, hardware_of(source, ports[-1])))


# Paths. -----------------------------------------------------------------------------------


def far_port(source: Source, port: Record, *, ends: Mapping[int, End]) -> Record | None:
    """The port at the other end of what is at the front (cords) or rear (links) of a port."""
    end = ends.get(port.id)
    return source.get(end.far_port_id) if end else None


def hardware_of(source: Source, port: Record | None) -> Record | None:
    return source.get(port["hardware"]) if port else None


def path(source: Source, port: Record, *, front: bool) -> tuple[Record, ...]:
    """The ports one comes to from the front (cord first) or rear (link first) of a port, in order.

    It ends at the first hardware that is not passive, or where nothing is plugged in.
    """
    found: list[Record] = []
    seen = {port.id}
    at: Record | None = port
    while at is not None:
        at = far_port(source, at, ends=source.cord_ends if front else source.link_ends)
        if at is None or at.id in seen:
            break
        seen.add(at.id)
        found.append(at)
        hardware = hardware_of(source, at)
        if hardware is None or hardware["form"] not in PASSIVE:
            break
        front = not front
    return tuple(found)
