"""Schedules as a folder of CSV files, to sort and to count in a spreadsheet.

A file a record kind, its columns as declared, the unit in the heading; and two that put kinds
together: the patch map, and the cables with what stands on their labels. Internal fields and
management addresses are withheld where the documents are (`exporters.source`).
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from fractions import Fraction

from binder.read import Record
from binder.records.catalog import KINDS
from binder.records.fields import Field, Kind, Type
from binder.records.quantities import UNITS, decimal_text
from exporters.contents.log import CONCERNS
from exporters.contents.patching import far_port, hardware_of, path
from exporters.contents.places import room_name
from exporters.documents import Asked
from exporters.labels import labels
from exporters.source import Source
from exporters.spreadsheet import csv_text


def files(asked: Asked, form: str, stem: str) -> dict[str, str | bytes]:
    """The folder, the list of what is in it first. A kind of which there is nothing has no file."""
    source = asked.source
    made: dict[str, tuple[Sequence[str], Sequence[Sequence[str]]]] = {
        "patch-map": (_PATCH_MAP, list(_patch_map(source))),
        "cable-labels": (_CABLES, list(_cables(source))),
    }
    for kind in KINDS:
        if records := _told(source, kind):
            made[kind.plural.replace("_", "-")] = _schedule(source, kind, records)
    listed = [(f"{name}.{form}", str(len(rows))) for name, (_, rows) in made.items()]
    contents = csv_text(("File", "Rows"), [*listed, (f"{asked.release}, {asked.dated}", "")])
    written: dict[str, str | bytes] = {f"{stem}/00-contents.{form}": contents}
    for name, (header, rows) in made.items():
        written[f"{stem}/{name}.{form}"] = csv_text(header, rows)
    return written


def _told(source: Source, kind: Kind) -> Sequence[Record]:
    """The records of a kind that this document tells, as the log of the handoff does."""
    records = source.of(kind.name)
    if kind.name == "touch":
        return [touch for touch in records if touch["how"] in CONCERNS]
    return records


def _schedule(
    source: Source, kind: Kind, records: Sequence[Record]
) -> tuple[Sequence[str], Sequence[Sequence[str]]]:
    """The header and rows of a kind: the name where it is made of several fields, then each."""
    fields = source.fields(records[0])
    named = len(kind.named_by) > 1
    header = [kind.label] * named + [heading(source, field) for field in fields]
    rows = [
        [source.name(record)] * named + [cell(source, record, field) for field in fields]
        for record in records
    ]
    return header, rows


def heading(source: Source, field: Field) -> str:
    """A field's label, with the unit of its numbers."""
    if field.type is Type.MONEY and source.currency:
        return f"{field.label} ({source.currency})"
    if field.unit in UNITS:
        return f"{field.label} ({UNITS[field.unit].symbol(source.system)})"
    return f"{field.label} ({field.unit})" if field.unit else field.label


def cell(source: Source, record: Record, field: Field) -> str:
    """A field as shown, a number without its unit and without marks of thousands."""
    value = record[field.name]
    if value is None or field.type not in (Type.NUMBER, Type.INTEGER, Type.MONEY):
        return source.shown(record, field.name)
    if field.type is Type.MONEY:
        return f"{int(value) / 100:.2f}"
    if field.type is Type.INTEGER or field.unit not in UNITS:
        return decimal_text(float(value))
    unit = UNITS[field.unit]
    scale = unit.scale(unit.symbol(source.system))
    shown = round(scale.shown(Fraction(value)), unit.shown_decimals(source.system))
    return decimal_text(float(shown))


_PATCH_MAP = (
    "Panel", "Port", "Link", "Goes to", "Room", "Patched to", "Reaches", "VLAN", "Current use",
    "Condition",
)  # fmt: skip


def _patch_map(source: Source) -> Iterator[tuple[str, ...]]:
    """A row a port of a panel, in the order of its face."""
    of_hardware = source.belonging("port", "hardware")
    for panel in source.of("hardware"):
        if panel["form"] != "patch panel":
            continue
        for port in sorted(of_hardware.get(panel.id, ()), key=lambda p: p["position"] or 0):
            yield _patched(source, panel, port)


def _patched(source: Source, panel: Record, port: Record) -> tuple[str, ...]:
    far = far_port(source, port, ends=source.link_ends)
    patched = far_port(source, port, ends=source.cord_ends)
    onward = path(source, port, front=True)
    behind = path(source, port, front=False)
    use = next(filter(None, (source.shown(p, "current_use") for p in (port, *behind, *onward))), "")
    link = source.link_ends.get(port.id)
    reached = onward[-1] if onward else None
    vlan = source.shown(reached, "vlan") or source.shown(port, "vlan")
    return (
        source.name(panel), source.shown(port, "label"),
        source.name(link.cable_id if link else None), source.name(far),
        room_name(source, hardware_of(source, far)), source.name(patched), source.name(reached),
        vlan, use, source.shown(port, "condition"),
    )  # fmt: skip


_CABLES = (
    "Cable", "Kind", "Cable type", "Category", "End A", "Label at end A", "End B",
    "Label at end B",
)  # fmt: skip


def _cables(source: Source) -> Iterator[tuple[str, ...]]:
    """A row a link or cord, with what stands on the label of each end."""
    found = [" / ".join(label.lines) for label in labels(source, "links,cords")]
    cables = (*source.of("link"), *source.of("cord"))
    for cable, at_a, at_b in zip(cables, found[::2], found[1::2], strict=True):
        yield (
            source.name(cable), cable.kind.name, source.shown(cable, "cable"),
            source.shown(cable, "category"), source.shown(cable, "port_a"), at_a,
            source.shown(cable, "port_b"), at_b,
        )  # fmt: skip
