"""A rack drawn from one side, a line a U. States are told by words and patterns.

18 │[ 1A-A  patch panel                     19 of 24 patched ]│   installed, one U
17 │┌ UPS1  UPS                                              ┐│   installed, two U
16 │└────────────────────────────────────────────────────────┘│
15 │: SRV1  server                                   planned :│   not there yet
14 │. reserved: storage server                               .│
13 │( SW9   access switch                              spare )│   there, in no use
12 │  (rear: PDU1)                                            │   free on this side
"""

from __future__ import annotations

from collections.abc import Hashable, Sequence
from dataclasses import dataclass

from binder.elevation import Block, Elevation, Mounted, Reserved, State, other
from tui.app.lines import Line, Part, line, spread, width_of

_EDGES = {  # of a stretch that is not simply there
    State.PLANNED: (":", ":"),
    State.SPARE: ("(", ")"),
    State.ABANDONED: ("x", "x"),
    State.RESERVED: (".", "."),
}


@dataclass(frozen=True, slots=True)
class Held:
    """Hardware in hand, and where it would be put down: its lowest U, and the side."""

    thing: Mounted
    u: int
    face: str

    def takes(self, u: int) -> bool:
        return self.u <= u < self.u + self.thing.height_u


@dataclass(frozen=True, slots=True)
class RackRow:
    """A drawn line of a rack: its U, if it is one, and the record that stands there."""

    key: Hashable
    parts: Line
    u: int | None = None
    target: int | None = None


def rack_rows(drawing: Elevation, side: str, width: int, held: Held | None = None) -> list[RackRow]:
    """A side from the top down, what is held where it would be, then what is in it at no U."""
    standing = drawing.without(held.thing.id) if held else drawing
    face = standing.face(side)
    rows: list[RackRow] = []
    for block in face.blocks:
        for u in block.span if drawing.from_top else reversed(block.span):
            rows.append(_row(drawing, u, block, side, width, held))
    if standing.loose:
        rows.append(RackRow("loose", line((" In this rack, in no U of their own:", "label"))))
    for one in standing.loose:
        place = f"at U {one.u}" if one.u is not None else ""
        status = one.status if one.status != "installed" else ""
        words = (f"  {'  '.join(filter(None, (one.what, place, status)))}", "label")
        rows.append(RackRow(one.id, line(f"      {one.name}", words), None, one.id))
    return rows


def _row(
    drawing: Elevation, u: int, block: Block, side: str, width: int, held: Held | None
) -> RackRow:
    if held and held.takes(u):
        mine = Block(held.u, held.thing.height_u, State.INSTALLED, held.thing)
        parts = _unit_line(drawing, u, mine, side, width, held)
        return RackRow(("u", u), parts, u, held.thing.id)
    is_here = block.thing is not None and block.state is not State.OTHER_FACE
    target = block.thing.id if block.thing and is_here else None
    return RackRow(("u", u), _unit_line(drawing, u, block, side, width), u, target)


def elevation_title(drawing: Elevation, side: str) -> tuple[Sequence[Part], Sequence[Part]]:
    """Which rack and side, and how much of it is taken."""
    face = drawing.face(side)
    left = (Part(f" {drawing.name}", "strong"), Part(f"  {drawing.height_u}U, {drawing.mount}"))
    kept = face.units(State.PLANNED, State.RESERVED)
    told = f", {kept} kept" if kept else ""
    used = face.units(State.INSTALLED, State.SPARE, State.ABANDONED)
    return left, (Part(f"{side}   {used} of {drawing.height_u} U used{told}"),)


def elevation_lines(
    drawing: Elevation, side: str, width: int, height: int, *, at: int | None = None
) -> list[Line]:
    """The drawing with its title, for a pane that is only looked at; `at` is marked and in view."""
    left, right = elevation_title(drawing, side)
    rows = rack_rows(drawing, side, width)
    marked = [n for n, row in enumerate(rows) if at is not None and row.target == at]
    room = max(height - 1, 1)
    first = max(0, min(marked[0] - room // 3, len(rows) - room)) if marked else 0
    drawn = [_marked(row.parts) if row.target == at and at else row.parts for row in rows]
    return [spread(left, right, width), *drawn[first : first + room]]


def side_of(drawing: Elevation, hardware_id: int) -> str:
    """The side from which hardware is seen; the front where it takes both."""
    one = drawing.hardware(hardware_id)
    return "rear" if one and one.face == "rear" else "front"


def _marked(parts: Line) -> Line:
    return (*parts[:2], *(Part(part.text, "here") for part in parts[2:-1]), parts[-1])


def _unit_line(
    drawing: Elevation, u: int, block: Block, side: str, width: int, held: Held | None = None
) -> Line:
    inner = max(width - 7, 10)
    number = Part(f" {u:>2} ", "label")
    rail = Part("│", "label")
    if block.state in (State.FREE, State.OTHER_FACE):
        says = f"  ({other(side)}: {block.thing.name})" if block.thing else ""
        return (number, rail, *spread([Part(says, "label")], (), inner), rail)
    return (number, rail, *_thing_line(drawing, u, block, inner, held), rail)


def _thing_line(
    drawing: Elevation, u: int, block: Block, inner: int, held: Held | None
) -> Sequence[Part]:
    top_u, bottom_u = block.span[-1], block.span[0]
    if drawing.from_top:
        top_u, bottom_u = bottom_u, top_u
    opening, closing = _edges(block, u == top_u, u == bottom_u, is_held=held is not None)
    if u != top_u:
        fill = "─" if opening == "└" else " "
        return (Part(f"{opening}{fill * (inner - 2)}{closing}"),)
    left, right = _words(block, held, inner - 4)
    body = spread([Part(" "), *left], [*right, Part(" ")], inner - 2)
    return (Part(opening), *body, Part(closing))


def _edges(block: Block, is_top: bool, is_bottom: bool, *, is_held: bool) -> tuple[str, str]:
    """The ends of a line: brackets for what is there, dots for what is not."""
    if is_held:
        return ">", "<"
    if block.state in _EDGES:
        return _EDGES[block.state]
    if is_top and is_bottom:
        return "[", "]"
    if is_top:
        return "┌", "┐"
    return ("└", "┘") if is_bottom else ("│", "│")


def _words(block: Block, held: Held | None, room: int) -> tuple[list[Part], list[Part]]:
    """What stands at the left, and as much at the right as leaves half the room to it."""
    thing = block.thing
    if isinstance(thing, Reserved):
        size = f" ({thing.height_u}U)" if thing.height_u > 1 else ""
        until = [Part(f"until {thing.until}", "label")] if thing.until else []
        return [Part(f"reserved: {thing.name}{size}")], until
    assert thing is not None
    if held is not None:
        right = [Part(f"to U {held.u}", "strong")]
    else:
        state = [Part(thing.status, "warn")] if thing.status != "installed" else []
        told = [*_power(thing), *_ports(thing), *state]
        left = width_of(f"{thing.name}  {thing.what}")
        most = max(room // 2, room - left - 2)
        while len(told) > 1 and sum(width_of(one.text) + 2 for one in told) - 2 > most:
            told.pop(0)
        right = [part for one in told for part in (Part("  "), one)][1:]
    return [Part(thing.name, "strong"), Part(f"  {thing.what}")], right


def _ports(thing: Mounted) -> list[Part]:
    return [Part(f"{thing.patched} of {thing.ports} patched")] if thing.ports > 1 else []


def _power(thing: Mounted) -> list[Part]:
    """Power over Ethernet, where it is supplied: what is drawn of what there is."""
    if not thing.poe_budget_w:
        return []
    if thing.poe_used_w is None:
        return [Part(f"{thing.poe_budget_w:.0f} W PoE")]
    look = "warn" if thing.poe_used_w > thing.poe_budget_w else ""
    return [Part(f"{thing.poe_used_w:.0f}/{thing.poe_budget_w:.0f} W PoE", look)]
