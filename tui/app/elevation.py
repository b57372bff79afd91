"""A rack drawn from one side, a line a U. States are told by words and patterns.

18 │[ 1A-A  patch panel                     19 of 24 patched ]│   installed, one U
17 │┌ UPS1  UPS                                              ┐│   installed, two U
16 │└────────────────────────────────────────────────────────┘│
15 │: SRV1  server                                   planned :│   not there yet
14 │. reserved: storage server                               .│
13 │  (rear: PDU1)                                            │   free on this side
"""

from __future__ import annotations

from collections.abc import Hashable, Iterator, Sequence
from dataclasses import dataclass, replace

from binder.file import BinderFile
from binder.read import read
from tui.app.lines import Line, Part, line, spread

FACES = ("front", "rear")


@dataclass(frozen=True, slots=True)
class Mounted:
    """A piece of hardware in the rack. `u` is the lowest U it takes; None when not told."""

    id: int
    name: str
    words: str
    form: str
    status: str
    u: int | None
    height_u: int
    face: str
    ports: int
    patched: int

    @property
    def is_placed(self) -> bool:
        return self.u is not None and self.height_u > 0

    def takes(self, u: int) -> bool:
        return self.u is not None and self.u <= u < self.u + self.height_u


@dataclass(frozen=True, slots=True)
class Reserved:
    """Units kept for a named use."""

    id: int
    name: str
    u: int
    height_u: int
    until: str

    def takes(self, u: int) -> bool:
        return self.u <= u < self.u + self.height_u


@dataclass(frozen=True, slots=True)
class Elevation:
    """One side of a rack."""

    id: int
    name: str
    mount: str
    height_u: int
    numbering: str
    face: str
    mounted: tuple[Mounted, ...]
    reserved: tuple[Reserved, ...]

    @property
    def units(self) -> list[int]:
        """The numbers of the units, from the top of the rack down."""
        upward = range(1, self.height_u + 1)
        return list(upward if self.numbering == "top" else reversed(upward))

    def on_face(self, face: str) -> Iterator[Mounted]:
        for one in self.mounted:
            if one.is_placed and one.face in (face, "both"):
                yield one

    def at(self, u: int) -> Mounted | Reserved | None:
        """What stands on this side at a U, hardware before reservations."""
        for one in self.on_face(self.face):
            if one.takes(u):
                return one
        return next((kept for kept in self.reserved if kept.takes(u)), None)

    def behind(self, u: int) -> Mounted | None:
        """What stands on the other side at that U."""
        other = FACES[1 - FACES.index(self.face)]
        return next((one for one in self.on_face(other) if one.takes(u)), None)

    @property
    def used_u(self) -> int:
        return sum(one.height_u for one in self.on_face(self.face))


_MOUNTED = """
SELECT h.id, h.identifier, coalesce(h.description, h.form), h.form, h.status, h.u_position,
       coalesce(h.height_u, 0), coalesce(h.face, 'front'),
       (SELECT count(*) FROM port p WHERE p.hardware_id = h.id),
       (SELECT count(*) FROM port p JOIN cord_end e ON e.port_id = p.id WHERE p.hardware_id = h.id)
FROM hardware h WHERE h.rack_id = ? AND h.status <> 'removed' ORDER BY h.u_position, h.identifier
"""
_RESERVED = """
SELECT id, identifier, u_position, CAST(quantity AS INTEGER), coalesce(until, '')
FROM reservation WHERE subject_id = ? AND resource = 'rack units' AND u_position IS NOT NULL
  AND status = 'current' AND coalesce(face, 'front') IN (?, 'both')
"""


def elevation(binder: BinderFile, rack_id: int, face: str) -> Elevation:
    """One side of a rack as it stands. Raises RequestError when the rack is gone."""
    rack = read(binder, rack_id)
    mounted = binder.connection.execute(_MOUNTED, (rack_id,))
    reserved = binder.connection.execute(_RESERVED, (rack_id, face))
    return Elevation(
        rack_id,
        rack.name,
        rack["mount"],
        rack["height_u"],
        rack["numbering"],
        face,
        tuple(Mounted(*row) for row in mounted),
        tuple(Reserved(*row) for row in reserved),
    )


@dataclass(frozen=True, slots=True)
class RackRow:
    """A drawn line of a rack: its U, if it is one, and the record that stands there."""

    key: Hashable
    parts: Line
    u: int | None = None
    target: int | None = None


def rack_rows(drawing: Elevation, width: int, carried: Mounted | None = None) -> list[RackRow]:
    """The rack from the top down, `carried` where it is held, then what is in it at no U."""
    rows = []
    for u in drawing.units:
        thing: Mounted | Reserved | None = drawing.at(u)
        if carried is not None and (carried.takes(u) or thing == _same(drawing, carried)):
            thing = carried if carried.takes(u) else None
        target = thing.id if thing else None
        rows.append(RackRow(("u", u), _unit_line(drawing, u, thing, width, carried), u, target))
    loose = [one for one in drawing.mounted if not one.is_placed]
    if loose:
        rows.append(RackRow("loose", line((" In this rack, at no U:", "label"))))
    for one in loose:
        words = (f"  {one.words}  {one.status if one.status != 'installed' else ''}", "label")
        rows.append(RackRow(one.id, line(f"      {one.name}", words), None, one.id))
    return rows


def elevation_title(drawing: Elevation) -> tuple[Sequence[Part], Sequence[Part]]:
    """Which rack and side, and how much of it is taken."""
    left = (Part(f" {drawing.name}", "strong"), Part(f"  {drawing.height_u}U, {drawing.mount}"))
    right = Part(f"{drawing.face}   {drawing.used_u} of {drawing.height_u} U used")
    return left, (right,)


def elevation_lines(drawing: Elevation, width: int) -> list[Line]:
    """The drawing with its title, for a pane that is only looked at."""
    left, right = elevation_title(drawing)
    return [spread(left, right, width), *(row.parts for row in rack_rows(drawing, width))]


def _same(drawing: Elevation, carried: Mounted) -> Mounted | None:
    """The carried hardware as it still stands in the binder."""
    return next((one for one in drawing.mounted if one.id == carried.id), None)


def _unit_line(
    drawing: Elevation,
    u: int,
    thing: Mounted | Reserved | None,
    width: int,
    carried: Mounted | None,
) -> Line:
    inner = max(width - 7, 10)
    number = Part(f" {u:>2} ", "label")
    rail = Part("│", "label")
    if thing is None:
        behind = drawing.behind(u)
        other = FACES[1 - FACES.index(drawing.face)]
        says = f"  ({other}: {behind.name})" if behind else ""
        return (number, rail, *spread([Part(says, "label")], (), inner), rail)
    return (number, rail, *_thing_line(drawing, u, thing, inner, is_held=thing is carried), rail)


def _thing_line(
    drawing: Elevation, u: int, thing: Mounted | Reserved, inner: int, *, is_held: bool
) -> Line:
    top_u, bottom_u = thing.u or 0, (thing.u or 0) + thing.height_u - 1
    if drawing.numbering != "top":
        top_u, bottom_u = bottom_u, top_u
    opening, closing = _edges(thing, u == top_u, u == bottom_u, is_held=is_held)
    if u != top_u:
        fill = "─" if opening == "└" else " "
        return (Part(f"{opening}{fill * (inner - 2)}{closing}"),)
    left, right = _words(thing, is_held=is_held)
    body = spread([Part(" "), *left], [*right, Part(" ")], inner - 2)
    return (Part(opening), *body, Part(closing))


def _edges(
    thing: Mounted | Reserved, is_top: bool, is_bottom: bool, *, is_held: bool
) -> tuple[str, str]:
    """The ends of a line: brackets for what is there, dots for what is not."""
    if is_held:
        return ">", "<"
    if isinstance(thing, Reserved):
        return ".", "."
    if thing.status != "installed":
        return ":", ":"
    if is_top and is_bottom:
        return "[", "]"
    if is_top:
        return "┌", "┐"
    return ("└", "┘") if is_bottom else ("│", "│")


def _words(thing: Mounted | Reserved, *, is_held: bool) -> tuple[list[Part], list[Part]]:
    if isinstance(thing, Reserved):
        size = f" ({thing.height_u}U)" if thing.height_u > 1 else ""
        until = [Part(f"until {thing.until}", "label")] if thing.until else []
        return [Part(f"reserved: {thing.name}{size}")], until
    right = []
    if thing.ports > 1 and not is_held:
        right.append(Part(f"{thing.patched} of {thing.ports} patched"))
    if thing.status != "installed":
        right.append(Part(f"  {thing.status}", "warn"))
    if is_held:
        right = [Part(f"to U {thing.u}", "strong")]
    return [Part(thing.name, "strong"), Part(f"  {thing.words}")], right


def held_at(thing: Mounted, u: int, face: str) -> Mounted:
    """The hardware as it would stand at another U and side."""
    return replace(thing, u=u, face="both" if thing.face == "both" else face)
