"""Rows of heat: what a room has to get rid of, against its cooling or, closed, against its walls;
and how warm it was read to be."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from functools import partial
from typing import Final

from binder.engineering.figures import Budget, Step, plain
from binder.engineering.heat import (
    RoomHeat,
    btu_per_h,
    closed_limit_w,
    closed_rise_k,
    cooling_budget,
    room_heat,
    tons,
    ups_loss_w,
    walls_w_per_k,
)
from binder.headroom.attempt import attempt
from binder.headroom.feeds import PoeFeeds
from binder.headroom.mains import PowerTree
from binder.headroom.rows import Need, Row, row, unknown
from binder.headroom.source import Source, missing, need
from binder.headroom.tables import Hardware, Space

HEAT: Final = "heat"
WARMTH: Final = "temperature"
_ROOMS: Final = ("room", "outdoors")


@dataclass(frozen=True, slots=True)
class _Heat:
    now: RoomHeat
    kept_w: float
    missing: tuple[Need, ...]
    assumed: tuple[Need, ...]


def rows(source: Source, feeds: PoeFeeds, tree: PowerTree) -> Iterator[Row]:
    """A row of heat for each telecommunications space, and any room with cooling or closed; a row
    of temperature where one was read."""
    inside = _by_space(source)
    for space in source.spaces.values():
        where = source.where("space", space, space.id)
        if space.form not in _ROOMS or space.cooling_w is not None or space.closed:
            held = inside.get(space.id, [])
            yield attempt(HEAT, where, "W", partial(_heat_row, source, feeds, tree, space, held))
        if source.readings(space.id, "temperature C"):
            yield _warmth(source, space)


def _by_space(source: Source) -> dict[int, list[Hardware]]:
    inside: dict[int, list[Hardware]] = {}
    for hardware in source.hardware.values():
        if hardware.space_id is not None:
            inside.setdefault(hardware.space_id, []).append(hardware)
    return inside


def _heat_row(
    source: Source, feeds: PoeFeeds, tree: PowerTree, space: Space, held: list[Hardware]
) -> Row:
    where = source.where("space", space, space.id)
    basis = "power drawn in the room, UPS losses too; what PoE carries out ends elsewhere"
    if tree.problem:
        return unknown(HEAT, where, "W", (), says=tree.problem, basis=basis)
    if space.closed:
        lacking = missing("space", space, "ambient_max_c", "floor_area_m2")
    else:
        lacking = missing("space", space, "cooling_w")
    if lacking:
        return unknown(HEAT, where, "W", lacking, basis=basis)
    heat = _heat(source, feeds, tree, space, held)
    return (_closed if space.closed else _cooled)(source, space, heat, basis)


def _cooled(source: Source, space: Space, heat: _Heat, basis: str) -> Row:
    limit, cooling_w = source.limits["cooling percent"], space.cooling_w or 0.0
    total_w = heat.now.heat_w + heat.kept_w
    return row(
        HEAT, source.where("space", space, space.id),
        cooling_budget(cooling_w, heat.now, heat.kept_w, limit.share),
        rated=cooling_w, because=limit.because, basis=basis, tight=source.limits.tight,
        missing=heat.missing, assumed=heat.assumed,
        notes=[f"{plain(round(btu_per_h(total_w)))} Btu/h, {plain(tons(total_w))} tons, "
               "with what is planned"],
        fix=lambda b: f"{plain(-b.free)} W more cooling",
    )  # fmt: skip


def _closed(source: Source, space: Space, heat: _Heat, basis: str) -> Row:
    """A closed room: what its walls let through at the warmest it may get."""
    around = source.limits["air around C"]
    ua = walls_w_per_k(space.floor_area_m2 or 0.0)
    rise_k = (space.ambient_max_c or 0.0) - around.value
    if rise_k <= 0:
        says = f"its warmest, {plain(space.ambient_max_c or 0)} °C, is not above the air around it"
        return unknown(HEAT, source.where("space", space, space.id), "W", (), says=says)
    limit_w = closed_limit_w(rise_k, ua)
    total_w = heat.now.heat_w + heat.kept_w
    budget = Budget(limit_w, heat.now.heat_w, heat.kept_w, "W", (
        Step("through the walls", f"{plain(space.floor_area_m2 or 0)} m² of floor, 2.7 m high, "
             "gypsum", ua, "W/K", "ISO 6946, the least there can be"),
        Step("limit", f"{plain(ua)} W/K × {plain(rise_k)} K", limit_w, "W", around.because),
        *heat.now.steps,
        Step("rise with what is planned", f"{plain(total_w)} W / {plain(ua)} W/K",
             closed_rise_k(total_w, ua), "K", "steady state, an estimate"),
    ))  # fmt: skip
    return row(
        HEAT, source.where("space", space, space.id), budget, which="closed room",
        rated=limit_w, because=f"{plain(rise_k)} K above the rooms around", basis=basis,
        tight=source.limits.tight, missing=heat.missing, assumed=heat.assumed, bound="about",
        fix=lambda b: f"a fan or grille for {plain(-b.free)} W",
    )  # fmt: skip


def _heat(
    source: Source, feeds: PoeFeeds, tree: PowerTree, space: Space, held: list[Hardware]
) -> _Heat:
    missing_: list[Need] = []
    assumed: list[Need] = []
    for hardware in held:
        if hardware.is_planned:
            continue
        draw = tree.draw(hardware, planned=False)
        missing_ += draw.missing
        assumed += draw.assumed
        if hardware.form == "UPS" and hardware.ups_efficiency_percent is None:
            missing_.append(need("hardware", hardware, "ups_efficiency_percent"))
    now = _sum(feeds, tree, space.id, held, planned=False)
    then = _sum(feeds, tree, space.id, held, planned=True)
    kept_w = max(0.0, then.heat_w - now.heat_w)
    kept_w += sum(r.quantity for r in source.reserved(space.id, "cooling watts"))
    return _Heat(now, kept_w, tuple(missing_), tuple(dict.fromkeys(assumed)))


def _sum(
    feeds: PoeFeeds, tree: PowerTree, space_id: int, held: Iterable[Hardware], *, planned: bool
) -> RoomHeat:
    taken: dict[str, float] = {}
    here = {hardware.id for hardware in held}
    for hardware in held:
        if hardware.is_planned and not planned:
            continue
        if hardware.form == "UPS":
            taken[f"{hardware.name} loss"] = _ups_loss_w(tree, hardware, planned=planned)
        elif draw_w := tree.draw(hardware, planned=planned).power_w:
            taken[hardware.name] = draw_w
    for name, reserved_w in _reserved_on(tree, here) if planned else ():
        taken[name] = reserved_w
    sent_out: dict[str, float] = {}
    sent_in: dict[str, float] = {}
    for hardware in held:
        for fed in feeds.sent_from(hardware.id, planned=planned):
            if fed.device.space_id != space_id:
                sent_out[fed.device.name] = fed.drawn_w
        for fed in feeds.taken_by(hardware.id, planned=planned):
            if fed.way.hardware_id not in here:
                sent_in[hardware.name] = fed.drawn_w
    return room_heat(taken, sent_out, sent_in)


def _reserved_on(tree: PowerTree, here: set[int]) -> Iterator[tuple[str, float]]:
    """Watts reserved on a UPS of the room: whatever will draw them is taken to stand there."""
    for reservation in tree.source.reservations:
        if reservation.resource == "UPS watts" and reservation.subject_id in here:
            yield f"reserved: {reservation.name}", reservation.quantity


def _ups_loss_w(tree: PowerTree, ups: Hardware, *, planned: bool) -> float:
    carried = (tree.then if planned else tree.now).get(ups.name)
    if carried is None or ups.ups_efficiency_percent is None:
        return 0.0
    return ups_loss_w(carried.normal.out_w, ups.ups_efficiency_percent / 100)


def _near(most_c: float) -> float:
    """Tight within 2 °C of the limit: a share of degrees says nothing."""
    return 1 - 2 / most_c if most_c > 2 else 1.0


def _warmth(source: Source, space: Space) -> Row:
    """How warm a room was read to be, against the warmest it may get."""
    where, basis = source.where("space", space, space.id), "readings"
    measured = source.latest(space.id, "temperature C", "°C")
    if space.ambient_max_c is None or measured is None:
        lacking = missing("space", space, "ambient_max_c")
        return unknown(WARMTH, where, "°C", lacking, basis=basis, measured=measured)
    most = space.ambient_max_c
    steps = (
        Step("limit", "the warmest it may get", most, "°C"),
        Step("measured", measured.at[:10], measured.value, "°C"),
    )
    return row(
        WARMTH, where, Budget(most, measured.value, 0.0, "°C", steps), rated=most,
        because="the warmest recorded for it", basis=basis, tight=_near(most), measured=measured,
        fix=lambda b: "more air or cooling: look at what blocks it first",
    )  # fmt: skip
