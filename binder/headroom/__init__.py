"""Headroom: what is rated, used, reserved and free, recomputed from the binder.

`headroom` reads the binder once (`source`), asks a module a family of resources for its rows, and
gives them scarcest first. Formulae are those of `binder.engineering`; margins those of `limits`.
"""

from __future__ import annotations

import difflib
from collections.abc import Iterator
from dataclasses import replace
from datetime import UTC, date, datetime

from binder.errors import RequestError
from binder.file import BinderFile
from binder.headroom import (
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
from binder.headroom.feeds import PoeFeeds
from binder.headroom.mains import PowerTree, draws_mains
from binder.headroom.planned import planned_days
from binder.headroom.rows import STATES, Headroom, Need, Row, State, scarcest_first
from binder.headroom.source import Source

__all__ = ["RESOURCES", "STATES", "Headroom", "Need", "Row", "State", "headroom", "of"]

# Every resource, in the order of a walk from the rack to the carrier.
RESOURCES = (
    rack.UNITS,
    rack.DEPTH,
    rack.WEIGHT,
    rack.ANCHORS_HOLD,
    ports.PANEL,
    ports.SWITCH,
    poe.POE,
    uplinks.UPLINK,
    power.UPS_LOAD,
    battery.MINUTES,
    battery.LIFE,
    power.BRANCH,
    heat.HEAT,
    heat.WARMTH,
    recording.CAMERAS,
    recording.RATE,
    recording.DAYS,
    recording.DISK,
    addressing.DHCP,
    addressing.FIXED,
    conduit.FILL,
    optics.STRANDS,
    optics.LOSS,
    optics.LIGHT,
    circuits.RATE,
    circuits.CLIENTS,
    ports.LICENCES,
)


def headroom(
    binder: BinderFile,
    *,
    space: str | None = None,
    state: str | None = None,
    today: date | None = None,
) -> Headroom:
    """Every resource of the binder, the scarcest first; of one space, or in one state, when asked.

    Raises RequestError for a space or a state that is not known.
    """
    if state is not None and state not in STATES:
        raise RequestError(f"no state '{state}'; there are: {', '.join(STATES)}")
    source = Source(binder, today or datetime.now(UTC).date())
    if space is not None:
        space = _space_named(source, space)
    feeds = PoeFeeds(source)
    tree = PowerTree(source, feeds)
    days = planned_days(source, tree)
    chosen = [
        replace(row, planned_on=days.get(row.where.id, "")) if days and row.reserved else row
        for row in _rows(source, feeds, tree)
        if (space is None or row.where.space == space) and (state is None or row.state == state)
    ]
    notes = tuple(_notes(source, feeds, tree)) if space is None else ()
    return Headroom(source.today.isoformat(), tuple(sorted(chosen, key=scarcest_first)), notes)


def of(answer: Headroom, text: str) -> Headroom:
    """The rows of one thing or one resource, by name. Raises RequestError when there is none."""
    word = text.strip().casefold()
    chosen = tuple(
        row for row in answer.rows if word in (row.where.name.casefold(), row.resource.casefold())
    )
    if not chosen:
        raise RequestError(
            f"no row of headroom is about '{text}'; name a record, or one of: "
            f"{', '.join(RESOURCES)}"
        )
    return Headroom(answer.on, chosen)


def _rows(source: Source, feeds: PoeFeeds, tree: PowerTree) -> Iterator[Row]:
    yield from rack.rows(source)
    yield from ports.rows(source)
    yield from poe.rows(source, feeds)
    yield from uplinks.rows(source)
    yield from power.rows(source, tree)
    yield from battery.rows(source, tree)
    yield from heat.rows(source, feeds, tree)
    yield from recording.rows(source)
    yield from addressing.rows(source, feeds)
    yield from conduit.rows(source)
    yield from optics.rows(source)
    yield from circuits.rows(source)


def _space_named(source: Source, text: str) -> str:
    names = {found.name.casefold(): found.name for found in source.spaces.values()}
    found = names.get(text.strip().casefold())
    if found is None:
        near = ", ".join(difflib.get_close_matches(text, names.values(), 3))
        hint = f"; is it {near}?" if near else "; `binder show BINDER spaces` lists them"
        raise RequestError(f"no space is named '{text}'{hint}")
    return found


def _notes(source: Source, feeds: PoeFeeds, tree: PowerTree) -> Iterator[str]:
    """What stands in no row: hardware whose feed is not recorded, planned things without a port,
    and planning limits of no known name."""
    for hardware in source.hardware.values():
        draw_w = tree.draw(hardware, planned=True).power_w
        if draw_w and draws_mains(hardware) and not tree.is_fed(hardware):
            yield f"{hardware.name}: what feeds it is not recorded; no UPS or circuit counts it"
    placed = {way.hardware_id for way in feeds.ways}
    for hardware in source.hardware.values():
        if hardware.is_planned and hardware.poe_class is not None and hardware.id not in placed:
            yield f"{hardware.name} is planned without a port: no switch counts it"
    for name in source.limits.strangers():
        yield f"planning limit '{name}' is of no known name and counts for nothing"
