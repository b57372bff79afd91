"""The rack: units, panel heights, what is taken, where a thing fits, weight, and blanks to order.

Source: EIA/ECA-310-E, which IEC 60297-3-100 follows. Units are counted from 1 at the bottom; a rack
numbered from the top gives the same answers in its own numbers. The standard sets no depth between
rails: depths are entered for each rack. What counts as taken is common practice.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable, Mapping
from dataclasses import dataclass
from itertools import groupby
from typing import Final, Literal

from binder.engineering.figures import Budget, Step, plain, require, require_above

RACK_UNIT_MM: Final = 44.45
PANEL_GAP_MM: Final = 0.79  # 1/32 in, so that panels of neighbouring units clear (IEC: 0.8)
PANEL_WIDTH_MM: Final = 482.6
HOLE_COLUMNS_MM: Final = 465.1  # centre to centre
CLEAR_OPENING_MM: Final = 450.85
HOLE_SPACING_MM: Final = (15.875, 15.875, 12.7)  # within one unit

Side = Literal["front", "rear"]
Face = Literal["front", "rear", "both"]

# What takes units, the most certain first. Abandoned hardware takes its units until it is removed.
STATUSES: Final = ("installed", "spare", "abandoned", "planned", "reserved")
KEPT: Final = ("planned", "reserved")


@dataclass(frozen=True, slots=True)
class Mounted:
    """Hardware in a rack, or units kept for something (`status` is then 'reserved').

    `depth_mm` is None when nobody recorded it; `status` is one of `STATUSES`.
    """

    name: str
    u_position: int
    size_u: int
    face: Face = "front"
    depth_mm: float | None = None
    status: str = "installed"


@dataclass(frozen=True, slots=True)
class Block:
    """Free units next to each other, the lowest first."""

    first_u: int
    size_u: int


@dataclass(frozen=True, slots=True)
class Occupancy:
    """The units of one side of a rack, each once, by the most certain status that takes it."""

    side: Side
    height_u: int
    units: Mapping[str, tuple[int, ...]]
    free: tuple[int, ...]
    blocks: tuple[Block, ...]

    @property
    def used_u(self) -> int:
        return sum(len(units) for status, units in self.units.items() if status not in KEPT)

    @property
    def reserved_u(self) -> int:
        return sum(len(units) for status, units in self.units.items() if status in KEPT)

    @property
    def largest_block_u(self) -> int:
        return max((block.size_u for block in self.blocks), default=0)


@dataclass(frozen=True, slots=True)
class Places:
    """Lowest units where a thing can start: surely, if unrecorded depths allow, or too deep."""

    sure: tuple[int, ...]
    unsure: tuple[int, ...]
    too_deep: tuple[int, ...]


def panel_height_mm(size_u: int) -> float:
    """The height of a front panel of that many units, in mm: 44.45 n - 0.79 (EIA/ECA-310-E).

    Raises ValueError below 1 U.
    """
    _require_units("panel", size_u)
    return RACK_UNIT_MM * size_u - PANEL_GAP_MM


def top_start_u(height_u: int, size_u: int) -> int:
    """The highest U at which hardware of `size_u` can start in a rack of `height_u`.

    Raises ValueError below 1 U, or when it is taller than the rack.
    """
    _require_units("rack", height_u)
    _require_units("hardware", size_u)
    if size_u > height_u:
        raise ValueError(f"hardware of {size_u} U is taller than the rack of {height_u} U")
    return height_u - size_u + 1


def occupied_units(u_position: int, size_u: int) -> tuple[int, ...]:
    """The units that hardware takes whose lowest is `u_position`: 2 U at U10 takes 10 and 11.

    Raises ValueError below U1 or 1 U.
    """
    _require_units("hardware", size_u)
    if u_position < 1:
        raise ValueError(f"position U{u_position}: units are counted from U1")
    return tuple(range(u_position, u_position + size_u))


def occupancy(height_u: int, mounted: Iterable[Mounted], side: Side) -> Occupancy:
    """What takes the units of one side of a rack, and the free blocks left.

    Leave out blanks to learn what hardware can take, and give them to learn what is open. Raises
    ValueError for hardware outside the rack or a status that is none of `STATUSES`.
    """
    taken = _taken(height_u, mounted, side)
    units = {
        status: tuple(u for u in sorted(taken) if taken[u] == status)
        for status in STATUSES
        if status in taken.values()
    }
    free = tuple(u for u in range(1, height_u + 1) if u not in taken)
    return Occupancy(side, height_u, units, free, free_blocks(free))


def free_blocks(free_u: Iterable[int]) -> tuple[Block, ...]:
    """Units next to each other gathered into blocks, from the lowest up."""
    runs = groupby(enumerate(sorted(set(free_u))), key=lambda pair: pair[1] - pair[0])
    blocks = [[u for _, u in run] for _, run in runs]
    return tuple(Block(block[0], len(block)) for block in blocks)


def depth_left_mm(clear_depth_mm: float, depth_mm: float, bend_room_mm: float) -> float:
    """Depth left behind hardware, in mm, once its plugs and cable bends have their room.

    `clear_depth_mm` is from the front rail to the rear rail or door. Negative when it is too deep.
    Arithmetic. Raises ValueError for a depth that is not above 0 mm or bend room below 0 mm.
    """
    require_above("clear depth", clear_depth_mm, "mm")
    require_above("hardware depth", depth_mm, "mm")
    require("bend room", bend_room_mm, "mm")
    return clear_depth_mm - depth_mm - bend_room_mm


def places(
    height_u: int,
    mounted: Collection[Mounted],
    *,
    size_u: int,
    depth_mm: float | None,
    face: Face = "front",
    clear_depth_mm: float | None,
    bend_room_mm: float = 0.0,
) -> Places:
    """Where a thing of `size_u` and `depth_mm` can be mounted on that face of a rack.

    Its units must be free, and the thing with its bend room must clear what is mounted at the same
    units on the other side with its own. A depth of None leaves the places unsure, unless what is
    known is already too deep. Raises ValueError as `occupancy` and `depth_left_mm` do, and when the
    thing is taller than the rack.
    """
    sides: tuple[Side, ...] = ("front", "rear") if face == "both" else (face,)
    taken: set[int] = set()
    for side in sides:
        taken |= _taken(height_u, mounted, side).keys()
    found: dict[bool | None, list[int]] = {True: [], None: [], False: []}
    for start in range(1, top_start_u(height_u, size_u) + 1):
        units = set(occupied_units(start, size_u))
        if units & taken:
            continue
        opposite = [m for m in mounted if units & set(occupied_units(m.u_position, m.size_u))]
        behind = [m.depth_mm for m in opposite]
        found[_clears(depth_mm, behind, clear_depth_mm, bend_room_mm)].append(start)
    return Places(tuple(found[True]), tuple(found[None]), tuple(found[False]))


def weight_budget(
    rating_kg: float, carried_kg: Mapping[str, float], kept_kg: Mapping[str, float] | None = None
) -> Budget:
    """What a rack still carries, in kg: the maker's rating less what is in it and kept for.

    Arithmetic; the rating excludes the rack itself. Leave out what has no recorded weight and say
    so: the result is then the most that can be free. Raises ValueError for a rating that is not
    above 0 kg, or a weight below 0 kg.
    """
    require_above("load rating", rating_kg, "kg")
    kept = kept_kg or {}
    for name, weight_kg in [*carried_kg.items(), *kept.items()]:
        require(f"weight of {name}", weight_kg, "kg")
    return Budget(
        rating_kg,
        sum(carried_kg.values()),
        sum(kept.values()),
        "kg",
        (
            Step("limit", "maker's load rating", rating_kg, "kg"),
            _sum_of("in the rack", carried_kg),
            _sum_of("planned or kept", kept),
        ),
    )


def blanks_to_order(open_blocks_u: Iterable[int], sizes_u: Collection[int]) -> dict[int, int]:
    """The fewest blank panels that close those open blocks: how many of each size, in U.

    Raises ValueError for a size below 1 U, or a block that no set of those sizes closes.
    """
    for size_u in sizes_u:
        _require_units("blank panel", size_u)
    counts = dict.fromkeys(sorted(sizes_u), 0)
    for block_u in open_blocks_u:
        for size_u in _fewest(block_u, tuple(sorted(sizes_u, reverse=True))):
            counts[size_u] += 1
    return {size_u: count for size_u, count in counts.items() if count}


def _taken(height_u: int, mounted: Iterable[Mounted], side: Side) -> dict[int, str]:
    """Unit -> the most certain status that takes it on that side."""
    _require_units("rack", height_u)
    taken: dict[int, str] = {}
    for thing in mounted:
        units = occupied_units(thing.u_position, thing.size_u)
        if units[-1] > height_u:
            raise ValueError(f"{thing.name} reaches U{units[-1]}: the rack has {height_u} U")
        if thing.status not in STATUSES:
            known = ", ".join(STATUSES)
            raise ValueError(f"{thing.name} has status {thing.status!r}: takes units as {known}")
        if thing.face in (side, "both"):
            for unit in units:
                taken[unit] = min(taken.get(unit, KEPT[-1]), thing.status, key=STATUSES.index)
    return taken


def _clears(
    depth_mm: float | None,
    behind_mm: Collection[float | None],
    clear_depth_mm: float | None,
    bend_room_mm: float,
) -> bool | None:
    """Whether a thing clears the back and each thing opposite; None when that is not known."""
    if clear_depth_mm is None or depth_mm is None:
        return None
    left_mm = depth_left_mm(clear_depth_mm, depth_mm, bend_room_mm)
    if left_mm < 0 or any(d is not None and d + bend_room_mm > left_mm for d in behind_mm):
        return False
    return None if None in behind_mm else True


def _fewest(block_u: int, sizes_u: tuple[int, ...]) -> tuple[int, ...]:
    """The shortest tuple of sizes that adds up to the block."""
    best: list[tuple[int, ...] | None] = [()]
    for total in range(1, block_u + 1):
        ways = [
            (*way, size)
            for size in sizes_u
            if size <= total and (way := best[total - size]) is not None
        ]
        best.append(min(ways, key=len, default=None))
    if (found := best[block_u]) is None:
        raise ValueError(f"open block of {block_u} U: no blanks of {sizes_u} U close it")
    return found


def _sum_of(what: str, parts: Mapping[str, float]) -> Step:
    working = " + ".join(f"{name} {plain(value)}" for name, value in parts.items()) or "nothing"
    return Step(what, working, sum(parts.values()), "kg")


def _require_units(what: str, units: int) -> None:
    if units < 1:
        raise ValueError(f"{what} of {units} U: must be 1 U or more")
