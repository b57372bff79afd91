"""Rows of a rack: its units, its depth, what it carries, and what its anchors hold."""

from __future__ import annotations

from collections.abc import Iterator
from functools import partial
from typing import Final

from binder.engineering.anchors import SAFETY_FACTOR, AnchorGroup, check_anchors
from binder.engineering.cautions import ANCHORS, LIFTING
from binder.engineering.figures import Budget, Step, plain
from binder.engineering.rack import (
    Face,
    Mounted,
    Occupancy,
    blanks_to_order,
    occupancy,
    occupied_units,
    weight_budget,
)
from binder.headroom.attempt import attempt
from binder.headroom.rows import Need, Row, row, unknown
from binder.headroom.source import Source, missing, need
from binder.headroom.tables import Hardware, Rack

UNITS: Final = "rack units"
DEPTH: Final = "rack depth"
WEIGHT: Final = "rack weight"
ANCHORS_HOLD: Final = "anchors"

_LIGHT: Final = ("blank",)
_BLANKS_U: Final = (1, 2)


def rows(source: Source) -> Iterator[Row]:
    """Four rows a rack; anchors only where it hangs on a wall."""
    for rack in source.racks.values():
        where = source.where("rack", rack, rack.space_id)
        held = source.in_rack.get(rack.id, [])
        yield attempt(UNITS, where, "U", partial(_units, source, rack, held))
        yield attempt(DEPTH, where, "mm", partial(_depth, source, rack, held))
        yield attempt(WEIGHT, where, "kg", partial(_weight, source, rack, held), LIFTING)
        if rack.mount != "floor":
            yield attempt(ANCHORS_HOLD, where, "kg", partial(_anchors, source, rack, held), ANCHORS)


def mounted(source: Source, rack: Rack, *, blanks: bool = False) -> list[Mounted]:
    """What takes units of a rack: hardware at its place, and units reserved at one.

    Blanks take none for what may still come; hardware of 0 U stands on something else.
    """
    found = [
        Mounted(h.name, h.u_position, h.height_u, _face(h.face), h.depth_mm, h.status)
        for h in source.in_rack.get(rack.id, ())
        if h.u_position and h.height_u and (blanks or h.form != "blank")
    ]
    for kept in source.reserved(rack.id, UNITS):
        if kept.u_position is not None and kept.quantity >= 1:
            size_u = int(kept.quantity)
            found.append(
                Mounted(kept.name, kept.u_position, size_u, _face(kept.face), None, "reserved")
            )
    return found


def _face(stored: str | None) -> Face:
    return "rear" if stored == "rear" else "both" if stored == "both" else "front"


def _units(source: Source, rack: Rack, held: list[Hardware]) -> Row:
    limit = source.limits["rack units percent"]
    front = occupancy(rack.height_u, mounted(source, rack), "front")
    rear = occupancy(rack.height_u, mounted(source, rack), "rear")
    unplaced = [
        h for h in held
        if h.u_position is None and h.height_u and h.form != "blank" and h.face != "rear"
    ]  # fmt: skip
    waiting_u = sum(h.height_u or 0 for h in unplaced if h.is_planned)
    waiting_u += sum(
        int(r.quantity) for r in source.reserved(rack.id, UNITS) if r.u_position is None
    )
    most = int(rack.height_u * limit.share + 1e-9)
    budget = Budget(most, front.used_u, front.reserved_u + waiting_u, "U", (
        Step("limit", f"{rack.height_u} U × {plain(limit.share)}, whole units", most, "U"),
        Step("used, front", _spans(front, kept=False), front.used_u, "U"),
        Step("planned or reserved", _spans(front, kept=True), front.reserved_u, "U"),
        Step("planned, without a place", _waiting(unplaced), waiting_u, "U"),
    ))  # fmt: skip
    placeless = [need("hardware", h, "u_position") for h in unplaced if not h.is_planned]
    return row(
        UNITS, source.where("rack", rack, rack.space_id), budget,
        rated=rack.height_u, because=limit.because, tight=source.limits.tight,
        basis="hardware by its lowest U, on the front; blanks can be taken out",
        missing=placeless, notes=[*_block_notes(front, rear), *_blank_notes(source, rack)],
        fix=lambda b: f"{plain(-b.free)} U more: another rack, or hardware moved to one",
    )  # fmt: skip


def _spans(found: Occupancy, *, kept: bool) -> str:
    parts = [
        f"{status} {len(units)}"
        for status, units in found.units.items()
        if (status in ("planned", "reserved")) is kept
    ]
    return " + ".join(parts) or "nothing"


def _waiting(unplaced: list[Hardware]) -> str:
    return " + ".join(f"{h.name} {h.height_u}" for h in unplaced if h.is_planned) or "nothing"


def _block_notes(front: Occupancy, rear: Occupancy) -> Iterator[str]:
    if front.blocks:
        block = max(front.blocks, key=lambda b: (b.size_u, b.first_u))
        top = block.first_u + block.size_u - 1
        at = f"U{block.first_u}" if block.size_u == 1 else f"U{block.first_u} to U{top}"
        yield f"largest free block {block.size_u} U, {at}; {len(front.free)} U free in all"
    else:
        yield "no free unit at the front"
    if rear.used_u:
        yield f"{rear.used_u} U taken at the rear"


def _blank_notes(source: Source, rack: Rack) -> Iterator[str]:
    """Blanks to order for what is open at the front, so that air goes through the hardware."""
    open_u = occupancy(rack.height_u, mounted(source, rack, blanks=True), "front").blocks
    blanks = blanks_to_order([block.size_u for block in open_u], _BLANKS_U)
    if blanks:
        told = ", ".join(f"{count} of {size_u} U" for size_u, count in blanks.items())
        yield f"blanks that would close the front: {told}"


def _depth(source: Source, rack: Rack, held: list[Hardware]) -> Row:
    where, basis = source.where("rack", rack, rack.space_id), "deepest hardware, both faces of a U"
    if rack.usable_depth_mm is None or rack.bend_room_mm is None:
        lacking = missing("rack", rack, "usable_depth_mm", "bend_room_mm")
        return unknown(DEPTH, where, "mm", lacking, basis=basis)
    now = [h for h in held if not h.is_planned]
    used_mm, at = _deepest(now, rack.bend_room_mm)
    grown_mm, then_at = _deepest(held, rack.bend_room_mm)
    limit_mm = rack.usable_depth_mm - rack.bend_room_mm
    depth, room = plain(rack.usable_depth_mm), plain(rack.bend_room_mm)
    budget = Budget(limit_mm, used_mm, max(0.0, grown_mm - used_mm), "mm", (
        Step("limit", f"{depth} mm - {room} mm of bend room", limit_mm, "mm"),
        Step("deepest now", at, used_mm, "mm"),
        Step("deepest with what is planned", then_at, grown_mm, "mm"),
    ))  # fmt: skip
    return row(
        DEPTH, where, budget, rated=rack.usable_depth_mm, tight=1.0 + 1e-6,
        because="bend room kept behind hardware for plugs and cables", basis=basis,
        missing=[
            need("hardware", h, "depth_mm") for h in held if h.height_u and h.depth_mm is None
        ],
        fix=lambda b: f"a rack {plain(-b.free)} mm deeper, or shallower hardware",
    )  # fmt: skip


def _deepest(held: list[Hardware], bend_mm: float) -> tuple[float, str]:
    """The greatest depth asked for at any U, and by what: both faces, with the bends of one."""
    at_u: dict[tuple[int, str], Hardware] = {}
    for hardware in held:
        if hardware.u_position and hardware.height_u and hardware.depth_mm is not None:
            for unit in occupied_units(hardware.u_position, hardware.height_u):
                for side in ("front", "rear"):
                    if _face(hardware.face) in (side, "both"):
                        at_u[unit, side] = hardware
    best, says = 0.0, "nothing"
    for (unit, _), hardware in sorted(at_u.items()):
        front, rear = at_u.get((unit, "front")), at_u.get((unit, "rear"))
        depth_mm = hardware.depth_mm or 0.0
        working = f"{hardware.name} {plain(depth_mm)}"
        if front and rear and front.id != rear.id:
            depth_mm = (front.depth_mm or 0.0) + (rear.depth_mm or 0.0) + bend_mm
            working = f"{front.name} + {rear.name} + bends at U{unit}"
        if depth_mm > best:
            best, says = depth_mm, working
    return best, says


def _weights(
    source: Source, rack: Rack, held: list[Hardware]
) -> tuple[dict[str, float], dict[str, float], list[Need]]:
    """Kilograms in the rack, those planned or reserved, and what has no weight recorded."""
    now = {h.name: h.weight_kg for h in held if not h.is_planned and h.weight_kg is not None}
    kept = {h.name: h.weight_kg for h in held if h.is_planned and h.weight_kg is not None}
    for reservation in source.reserved(rack.id, "weight kg"):
        kept[f"reserved: {reservation.name}"] = reservation.quantity
    lacking = [
        need("hardware", h, "weight_kg")
        for h in held
        if h.weight_kg is None and h.form not in _LIGHT
    ]
    return now, kept, lacking


def _weight(source: Source, rack: Rack, held: list[Hardware]) -> Row:
    where, basis = source.where("rack", rack, rack.space_id), "weights recorded, rack itself apart"
    if rack.load_rating_kg is None:
        lacking = missing("rack", rack, "load_rating_kg")
        return unknown(WEIGHT, where, "kg", lacking, basis=basis, caution=LIFTING)
    limit = source.limits["rack weight percent"]
    now, kept, lacking_kg = _weights(source, rack, held)
    return row(
        WEIGHT, where, weight_budget(rack.load_rating_kg * limit.share, now, kept),
        rated=rack.load_rating_kg, because=limit.because, basis=basis,
        tight=source.limits.tight, missing=lacking_kg, caution=LIFTING,
        fix=lambda b: f"{plain(-b.free)} kg moved to a floor rack",
    )  # fmt: skip


def _anchors(source: Source, rack: Rack, held: list[Hardware]) -> Row:
    where = source.where("rack", rack, rack.space_id)
    basis = "cantilever; centre of gravity taken at half the depth, planning assumption"
    lacking = _anchor_needs(rack)
    if lacking:
        return unknown(ANCHORS_HOLD, where, "kg", lacking, basis=basis, caution=ANCHORS)
    now, kept, lacking_kg = _weights(source, rack, held)
    used_kg = sum(now.values()) + (rack.empty_weight_kg or 0.0)
    kept_kg = sum(kept.values())
    group = AnchorGroup(
        rack.anchors or 0, rack.anchor_rows or 0, rack.anchor_spacing_mm or 0.0,
        rack.anchor_tension_n or 0.0, rack.anchor_shear_n or 0.0,
        rack.substrate or "unknown", rack.safety_factor or SAFETY_FACTOR,
    )  # fmt: skip
    offset_mm = (rack.usable_depth_mm or 0.0) / 2
    check = check_anchors(group, used_kg + kept_kg, offset_mm, _open_offset_mm(rack))
    worst = max(check.loads, key=lambda load: load.linear)
    steps = (
        Step("rack and hardware", f"{plain(rack.empty_weight_kg or 0.0)} kg empty + hardware",
             used_kg, "kg"),
        Step("planned or reserved", " + ".join(kept) or "nothing", kept_kg, "kg"),
        *worst.steps,
        Step("first anchor is full at", f"rack {worst.position}", check.limit_kg, "kg"),
    )  # fmt: skip
    return row(
        ANCHORS_HOLD, where, Budget(check.limit_kg, used_kg, kept_kg, "kg", steps),
        rated=check.limit_kg, tight=source.limits.tight, basis=basis,
        because=f"safety factor {plain(group.safety_factor)}, straight-line interaction",
        missing=lacking_kg, notes=check.notes, caution=check.caution,
        fix=lambda b: f"{plain(-b.free)} kg taken out, or stronger anchors by a licensed person",
    )  # fmt: skip


def _anchor_needs(rack: Rack) -> tuple[Need, ...]:
    fields = ["anchors", "anchor_rows", "anchor_spacing_mm", "anchor_tension_n", "anchor_shear_n",
              "empty_weight_kg", "usable_depth_mm"]  # fmt: skip
    if rack.mount == "swing-out wall":
        fields.append("swing_offset_mm")
    return missing("rack", rack, *fields)


def _open_offset_mm(rack: Rack) -> float | None:
    return rack.swing_offset_mm if rack.mount == "swing-out wall" else None
