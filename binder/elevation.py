"""A rack as it stands: what takes each U of its front and of its rear, and what is free.

The screen and the documents draw the same elevation. A U is taken by hardware on that face, else by
a reservation, else by hardware that stands on the other face only; what is none of these is free.
"""

from __future__ import annotations

import enum
import sqlite3
from collections.abc import Collection, Iterable, Iterator, Mapping
from dataclasses import dataclass, replace
from datetime import date
from itertools import groupby
from typing import Final

from binder.errors import RequestError
from binder.file import BinderFile

FACES: Final = ("front", "rear")


class State(enum.StrEnum):
    """What is so of a stretch of a rack's face, in the word that is shown."""

    INSTALLED = "installed"
    PLANNED = "planned"
    SPARE = "spare"
    ABANDONED = "abandoned"
    RESERVED = "reserved"
    OTHER_FACE = "other face"
    FREE = "free"


@dataclass(frozen=True, slots=True)
class Mounted:
    """Hardware in a rack. `u` is the lowest U it takes; None when not told.

    `patched` of its `ports` have a cord. `poe_used_w` is what the devices on them ask for at the
    port, where that was reckoned.
    """

    id: int
    name: str
    form: str
    description: str
    status: str
    u: int | None
    height_u: int
    face: str  # 'front', 'rear' or 'both'
    ports: int = 0
    patched: int = 0
    poe_budget_w: float | None = None
    poe_used_w: float | None = None

    @property
    def what(self) -> str:
        return what_it_is(self.form, self.description)

    @property
    def is_placed(self) -> bool:
        return self.u is not None and self.height_u > 0

    def is_on(self, face: str) -> bool:
        return self.face in (face, "both")

    def takes(self, u: int) -> bool:
        return self.u is not None and self.u <= u < self.u + self.height_u


@dataclass(frozen=True, slots=True)
class Reserved:
    """Units kept for a named use; `u` is None where no particular ones are."""

    id: int
    name: str
    u: int | None
    height_u: int
    face: str
    until: str  # an ISO date, or nothing

    def is_on(self, face: str) -> bool:
        return self.face in (face, "both")


@dataclass(frozen=True, slots=True)
class Block:
    """A stretch of a face. `first_u` is its lowest number; `thing` is None where it is free.

    Where two overlap, it is the part of the thing that shows.
    """

    first_u: int
    height_u: int
    state: State
    thing: Mounted | Reserved | None = None

    @property
    def span(self) -> range:
        return range(self.first_u, self.first_u + self.height_u)


@dataclass(frozen=True, slots=True)
class Face:
    """One side of a rack: blocks that cover every U once, from the top of the rack down."""

    side: str
    blocks: tuple[Block, ...]

    def at(self, u: int) -> Block:
        """What takes a U. Raises KeyError for one that the rack has not."""
        for block in self.blocks:
            if u in block.span:
                return block
        raise KeyError(u)

    def units(self, *states: State) -> int:
        """How many U are in any of these states."""
        return sum(block.height_u for block in self.blocks if block.state in states)

    @property
    def largest_free_u(self) -> int:
        """The longest stretch of free U that lie together."""
        free = (block.height_u for block in self.blocks if block.state is State.FREE)
        return max(free, default=0)

    @property
    def open_u(self) -> frozenset[int]:
        """The U where hardware can be put on this side, as far as what is behind leaves room."""
        is_open = (State.FREE, State.OTHER_FACE)
        return frozenset(u for b in self.blocks if b.state in is_open for u in b.span)


@dataclass(frozen=True, slots=True)
class Elevation:
    """A rack, front and rear. `from_top` says that U 1 is the topmost."""

    id: int
    name: str
    mount: str
    height_u: int
    from_top: bool
    mounted: tuple[Mounted, ...]
    reserved: tuple[Reserved, ...]
    front: Face
    rear: Face

    def face(self, side: str) -> Face:
        return self.rear if side == "rear" else self.front

    @property
    def units(self) -> range:
        """The numbers of the units, from the top of the rack down."""
        return range(1, self.height_u + 1) if self.from_top else range(self.height_u, 0, -1)

    @property
    def loose(self) -> tuple[Mounted, ...]:
        """What is in the rack at no U."""
        return tuple(one for one in self.mounted if not one.is_placed)

    def hardware(self, hardware_id: int | None) -> Mounted | None:
        return next((one for one in self.mounted if one.id == hardware_id), None)

    def without(self, hardware_id: int) -> Elevation:
        """The rack as it is when that hardware is taken out."""
        mounted = tuple(one for one in self.mounted if one.id != hardware_id)
        front, rear = faces(self.height_u, self.from_top, mounted, self.reserved)
        return replace(self, mounted=mounted, front=front, rear=rear)


def other(side: str) -> str:
    """The other side of a rack."""
    return FACES[1 - FACES.index(side)]


def what_it_is(form: str, description: str) -> str:
    """What hardware is in a few words: its kind before a description that does not name it."""
    if not description or form == "other":
        return description or form
    named = form.split()[-1].casefold() in description.casefold()
    return description if named else f"{form}, {description}"


# Every U once. ----------------------------------------------------------------------------


def faces(
    height_u: int,
    from_top: bool,
    mounted: Collection[Mounted],
    reserved: Collection[Reserved],
) -> tuple[Face, Face]:
    """Front and rear of a rack; what lies beyond it is left out.

    The first of two that overlap is shown, hardware before reservations.
    """
    front, rear = (
        Face(side, _covered(height_u, from_top, _placed(side, mounted, reserved))) for side in FACES
    )
    return front, rear


def _placed(
    side: str, mounted: Collection[Mounted], reserved: Collection[Reserved]
) -> Iterator[Block]:
    """What takes units of a side, the most certain first."""
    standing = [one for one in mounted if one.is_placed]
    for one in standing:
        if one.is_on(side):
            yield Block(one.u or 1, one.height_u, State(one.status), one)
    for kept in reserved:
        if kept.u is not None and kept.is_on(side):
            yield Block(kept.u, kept.height_u, State.RESERVED, kept)
    for one in standing:
        if not one.is_on(side):
            yield Block(one.u or 1, one.height_u, State.OTHER_FACE, one)


def _covered(height_u: int, from_top: bool, placed: Iterable[Block]) -> tuple[Block, ...]:
    taken: dict[int, Block] = {}
    for block in placed:
        for u in block.span:
            if 1 <= u <= height_u:
                taken.setdefault(u, block)
    numbers = range(1, height_u + 1) if from_top else range(height_u, 0, -1)
    blocks = []
    for _, group in groupby(numbers, key=lambda u: id(taken.get(u))):
        stretch = list(group)
        block = taken.get(stretch[0], Block(stretch[0], 1, State.FREE))
        blocks.append(replace(block, first_u=min(stretch), height_u=len(stretch)))
    return tuple(blocks)


# Reading. ---------------------------------------------------------------------------------

_RACKS = """
SELECT k.id, r.name, k.mount, k.height_u, k.numbering = 'top'
FROM rack k JOIN record r ON r.id = k.id WHERE ? IN (k.id, 0)"""
_MOUNTED = """
SELECT h.rack_id, h.id, h.identifier, h.form, coalesce(h.description, ''), h.status, h.u_position,
  coalesce(h.height_u, 0), coalesce(h.face, 'front'),
  (SELECT count(*) FROM port p WHERE p.hardware_id = h.id AND p.status <> 'removed'),
  (SELECT count(*) FROM port p JOIN cord_end e ON e.port_id = p.id
   WHERE p.hardware_id = h.id AND p.status <> 'removed'),
  h.poe_budget_w
FROM hardware h WHERE h.status <> 'removed' AND h.rack_id IS NOT NULL AND ? IN (h.rack_id, 0)
ORDER BY h.u_position, h.identifier"""
_RESERVED = """
SELECT subject_id, id, identifier, u_position, max(1, CAST(round(quantity) AS INTEGER)),
  coalesce(face, 'front'), coalesce(until, '')
FROM reservation WHERE resource = 'rack units' AND status = 'current' AND ? IN (subject_id, 0)
  AND (until IS NULL OR until >= ?) ORDER BY u_position, identifier"""
_EVERY: Final = 0  # in place of a rack's id


def elevation(
    binder: BinderFile, rack_id: int, today: date, *, with_power: bool = False
) -> Elevation:
    """A rack as it stands on a day. Raises RequestError when it is not in the binder (any more).

    `with_power` reckons what the powered devices draw from each source of power over Ethernet: it
    takes 0.1 s in a binder of 10,000 ports.
    """
    found = read_elevations(binder.connection, today, rack_id).get(rack_id)
    if found is None:
        raise RequestError("that rack is not in the binder any more; undo brings it back")
    if with_power and any(one.poe_budget_w for one in found.mounted):
        return _powered(binder, found, today)
    return found


def elevations(binder: BinderFile, today: date) -> Mapping[int, Elevation]:
    """Every rack by its id, as `elevation` reads it."""
    return read_elevations(binder.connection, today)


def read_elevations(
    connection: sqlite3.Connection, today: date, rack_id: int = _EVERY
) -> dict[int, Elevation]:
    """One rack or all of them, within whatever transaction is open."""
    mounted: dict[int, list[Mounted]] = {}
    for row in connection.execute(_MOUNTED, (rack_id,)):
        mounted.setdefault(row[0], []).append(Mounted(*tuple(row)[1:]))
    reserved: dict[int, list[Reserved]] = {}
    for row in connection.execute(_RESERVED, (rack_id, today.isoformat())):
        reserved.setdefault(row[0], []).append(Reserved(*tuple(row)[1:]))
    found = {}
    for rack, name, mount, height_u, from_top in connection.execute(_RACKS, (rack_id,)):
        inside, kept = tuple(mounted.get(rack, ())), tuple(reserved.get(rack, ()))
        front, rear = faces(height_u, bool(from_top), inside, kept)
        found[rack] = Elevation(
            rack, name, mount, height_u, bool(from_top), inside, kept, front, rear
        )
    return found


def _powered(binder: BinderFile, found: Elevation, today: date) -> Elevation:
    from binder.headroom.feeds import PoeFeeds
    from binder.headroom.source import Source

    feeds = PoeFeeds(Source(binder, today))
    mounted = tuple(
        replace(one, poe_used_w=feeds.now_w(one.id)) if one.poe_budget_w else one
        for one in found.mounted
    )
    front, rear = faces(found.height_u, found.from_top, mounted, found.reserved)
    return replace(found, mounted=mounted, front=front, rear=rear)
