"""The face of a panel or switch as a block, made of what was read for the document."""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping, Sequence
from typing import Literal

from binder.faces import FacePort, Plugged, placed, usual
from binder.read import Record
from binder.records.kinds.hardware import PASSIVE
from exporters.drawings.face import Face, Jack
from exporters.model import Block, Drawing, Paragraph
from exporters.source import End, Source

_WORTH_A_DRAWING = 5  # ports; a table of four rows says it sooner


def face(source: Source, hardware: Record, ports: Sequence[Record], number: int) -> Iterator[Block]:
    """How the face of this hardware stands, in a sentence and drawn; nothing for a few ports.

    `number` is its own among the faces of a document.
    """
    if len(ports) < _WORTH_A_DRAWING:
        return
    is_passive = hardware["form"] in PASSIVE
    faced = [_port(source, port, is_passive=is_passive) for port in ports]
    arrangement = usual(hardware["form"], faced, hardware["face_rows"], hardware["face_order"])
    by_id = {port.id: port for port in faced}
    jacks = tuple(
        Jack(source.cleared(by_id[at.port_id].label), by_id[at.port_id].state, at.bay, at.row,
             at.column)
        for at in placed(hardware["form"], faced, arrangement)
    )  # fmt: skip
    drawn = Face(source.name(hardware), jacks)
    slug = re.sub("[^a-z0-9]+", "-", hardware.name.lower()).strip("-")
    yield Paragraph(drawn.caption)
    yield Drawing("-".join(filter(None, (f"face{number}", slug))), drawn)


def _port(source: Source, port: Record, *, is_passive: bool) -> FacePort:
    cord = _plugged(source, source.cord_ends, port, "cord")
    link = _plugged(source, source.link_ends, port, "link")
    return FacePort(
        port.id, 0, port.name, port["label"], port["position"], port["connector"] or "",
        port["role"] or "edge", port["rate_mbps"], port["poe_type"] or "none", port["vlan"],
        port["tagged_vlans"] or "", port["current_use"] or "", port["condition"] or "unknown",
        port["condition_reason"] or "", port["condition_on"] or "", port["reserved_for"] or "",
        port["status"], is_passive, cord, link,
    )  # fmt: skip


def _plugged(
    source: Source, ends: Mapping[int, End], port: Record, kind: Literal["cord", "link"]
) -> Plugged | None:
    end = ends.get(port.id)
    cable = source.get(end.cable_id) if end else None
    if end is None or cable is None:
        return None
    colour = (cable["colour"] or "") if kind == "cord" else ""
    return Plugged(
        cable.id, kind, cable.name, cable["status"], cable["length_m"], colour, end.far_port_id,
        source.name(end.far_port_id), None, "",
    )  # fmt: skip
