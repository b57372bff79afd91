"""The face of hardware with ports: which port is where as one looks at it, and how each stands.

The screen and the documents draw the same face: where a port is (bay, row, column) and its state
are told here. How ports are numbered on a face is common practice, no published source.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any, Final, Literal

from binder.errors import RequestError
from binder.file import BinderFile
from binder.identifiers import natural_key
from binder.path_sql import WALK
from binder.records.kinds.hardware import PASSIVE

State = Literal["used", "spare", "reserved", "planned", "bad", "unterminated"]
Order = Literal["in order", "odd over even"]

# How a state is drawn where there are only letters: never by colour alone.
SIGNS: Final[Mapping[State, str]] = {
    "used": "#", "spare": " ", "reserved": ".", "planned": ":", "bad": "X", "unterminated": "-",
}  # fmt: skip
GROUP: Final = 6  # columns that stand together, with a gap after them
_ROW_OF_PANEL: Final = 24
_LONGEST_SINGLE_ROW: Final = 12  # of active hardware; what has more ports has two rows
_APART: Final = ("SFP", "LC", "SC", "ST", "MPO")  # at the right of a switch, in a bay of their own


@dataclass(frozen=True, slots=True)
class Plugged:
    """A cord at the front of a port or a link at its rear, and where it leads.

    `far_id` is None where the far end is not documented. `last_test` is like '2026-02-02 pass'.
    """

    id: int
    kind: Literal["cord", "link"]
    name: str
    status: str
    length_m: float | None
    colour: str
    far_id: int | None
    far_name: str
    far_hardware_id: int | None
    far_space: str
    last_test: str = ""


@dataclass(frozen=True, slots=True)
class Reached:
    """Where the way from a port leads beyond its own cable: the jacks in rooms, and its end."""

    hardware_id: int
    port_name: str
    hardware_name: str
    form: str
    space: str
    vlan: int | None
    tagged_vlans: str
    poe_type: str
    poe_class: int | None
    poe_drawn_w: float | None


@dataclass(frozen=True, slots=True)
class FacePort:
    """One port: how it stands, why, and what is plugged in.

    `seen` is its record's place in the change log, for the door of writing.
    """

    id: int
    seen: int
    name: str
    label: str
    position: int | None
    connector: str
    role: str
    rate_mbps: float | None
    poe_type: str
    vlan: int | None
    tagged_vlans: str
    current_use: str
    condition: str
    condition_reason: str
    condition_on: str
    reserved_for: str
    status: str
    is_passive: bool = False
    cord: Plugged | None = None
    link: Plugged | None = None
    reached: tuple[Reached, ...] = ()

    @property
    def why(self) -> str:
        """Why it is not to be used; nothing when it may be."""
        if self.condition == "bad":
            return self.condition_reason or "no reason was noted"
        if self.status == "abandoned":
            return "abandoned"
        if self.link is not None and self.link.status == "abandoned":
            return f"link {self.link.name} behind it is abandoned"
        return ""

    @property
    def state(self) -> State:
        """One word for it. What is wrong comes first; what is written as its use is no spare."""
        if self.why:
            return "bad"
        if self.status == "planned" or (self.cord is not None and self.cord.status == "planned"):
            return "planned"
        if self.cord is not None or self.current_use or (self.link and not self.is_passive):
            return "used"
        if self.reserved_for:
            return "reserved"
        if self.is_passive and self.link is None:
            return "unterminated"
        if self.link is not None and self.link.status == "planned":
            return "planned"
        return "spare"


@dataclass(frozen=True, slots=True)
class Arrangement:
    """How the ports of a face are put: in how many rows, and how these are numbered."""

    rows: int
    order: Order

    @property
    def words(self) -> str:
        return "one row" if self.rows == 1 else f"{self.rows} rows, {self.order}"


@dataclass(frozen=True, slots=True)
class Placed:
    """Where a port is, seen from the front: rows from the top, columns from the left of a bay."""

    port_id: int
    bay: int  # 0 the main one; 1 at its right, for pluggable and fibre ports
    row: int
    column: int


@dataclass(frozen=True, slots=True)
class Face:
    """The face of one piece of hardware; `ports` in order, each placed once."""

    id: int
    name: str
    form: str
    words: str
    rack: str
    u_position: int | None
    space: str
    arrangement: Arrangement
    ports: tuple[FacePort, ...]
    placed: tuple[Placed, ...]

    @property
    def is_passive(self) -> bool:
        """Whether cable passes through from front to rear, so that it has a rear to look at."""
        return self.form in PASSIVE

    def port(self, port_id: int | None) -> FacePort | None:
        """One of the ports by its id."""
        return next((port for port in self.ports if port.id == port_id), None)

    def counts(self) -> dict[State, int]:
        """How many ports are in each state."""
        states = [port.state for port in self.ports]
        return {state: states.count(state) for state in SIGNS}


@dataclass(frozen=True, slots=True)
class Beside:
    """Hardware with a face, in the list of those that stand together."""

    id: int
    name: str
    form: str
    u_position: int | None
    ports: int


_HARDWARE = """
SELECT h.id, n.name, h.form, coalesce(h.description, ''), coalesce(k.identifier, ''), h.u_position,
  coalesce(s.name, ''), h.face_rows, h.face_order
FROM hardware h JOIN record n ON n.id = h.id LEFT JOIN rack k ON k.id = h.rack_id
LEFT JOIN record s ON s.id = coalesce(k.space_id, h.space_id) WHERE h.id = ?"""

# The last test of a link, the worst of its day: the greatest text of a group needs no sorting.
_TEST = """(SELECT max(t.tested_on || CASE t.result WHEN 'fail' THEN ' 3 '
    WHEN 'marginal' THEN ' 2 ' ELSE ' 1 ' END || t.result) FROM test t
  WHERE t.link_id = x.id AND t.status = 'current'
    AND NOT EXISTS (SELECT 1 FROM test f WHERE f.follows_id = t.id))"""

_PORTS = """
SELECT p.id, r.position, r.name, p.label, p.position, coalesce(p.connector, ''),
  coalesce(p.role, 'edge'), p.rate_mbps, coalesce(p.poe_type, 'none'), p.vlan,
  coalesce(p.tagged_vlans, ''),
  coalesce(p.current_use, ''), coalesce(p.condition, 'unknown'), coalesce(p.condition_reason, ''),
  coalesce(p.condition_on, ''), coalesce(p.reserved_for, ''), p.status
FROM port p JOIN record r ON r.id = p.id WHERE p.hardware_id = ? AND p.status <> 'removed'"""


def _ends_sql(kind: str) -> str:
    colour, test = ("coalesce(x.colour, '')", "''") if kind == "cord" else ("''", _TEST)
    return f"""
SELECT p.id, x.id, '{kind}', n.name, x.status, x.length_m, {colour}, e.far_port_id,
  coalesce(f.name, ''), g.hardware_id, coalesce(s.name, ''), {test}
FROM port p JOIN {kind}_end e ON e.port_id = p.id JOIN {kind} x ON x.id = e.{kind}_id
JOIN record n ON n.id = x.id LEFT JOIN port g ON g.id = e.far_port_id
LEFT JOIN record f ON f.id = g.id LEFT JOIN hardware h ON h.id = g.hardware_id
LEFT JOIN rack k ON k.id = h.rack_id LEFT JOIN record s ON s.id = coalesce(k.space_id, h.space_id)
WHERE p.hardware_id = :hardware AND p.status <> 'removed'"""


_PLUGGED = _ends_sql("cord") + "\nUNION ALL" + _ends_sql("link")
_REACHED = f"""
WITH RECURSIVE start (id) AS
  (SELECT id FROM port WHERE hardware_id = ? AND status <> 'removed'), {WALK}
SELECT w.start, w.way, w.step, h.id, r.name, n.name, h.form, coalesce(s.name, ''), p.vlan,
  coalesce(p.tagged_vlans, ''), coalesce(p.poe_type, 'none'), h.poe_class, h.poe_drawn_w
FROM walk w CROSS JOIN port p ON p.id = w.port_id CROSS JOIN hardware h ON h.id = p.hardware_id
CROSS JOIN record r ON r.id = p.id CROSS JOIN record n ON n.id = h.id
LEFT JOIN rack k ON k.id = h.rack_id LEFT JOIN record s ON s.id = coalesce(k.space_id, h.space_id)
WHERE w.port_id <> w.start ORDER BY w.start, w.way, w.step"""

_BESIDE = """
SELECT h.id, n.name, h.form, h.u_position, count(*)
FROM hardware o JOIN hardware h ON h.rack_id = o.rack_id
  OR (o.rack_id IS NULL AND h.rack_id IS NULL AND h.space_id = o.space_id) OR h.id = o.id
JOIN record n ON n.id = h.id JOIN port p ON p.hardware_id = h.id AND p.status <> 'removed'
WHERE o.id = ? AND h.status <> 'removed' GROUP BY h.id
ORDER BY h.u_position IS NULL, h.u_position DESC, n.name"""


def face(binder: BinderFile, hardware_id: int, arrangement: Arrangement | None = None) -> Face:
    """The face of hardware, its ports put as `arrangement`, its own fields or habit have them.

    Raises RequestError when the hardware is not in the binder.
    """
    row = binder.connection.execute(_HARDWARE, (hardware_id,)).fetchone()
    if row is None:
        raise RequestError("that hardware is not in the binder any more; undo brings it back")
    form, face_rows, face_order = row[2], row[7], row[8]
    ports = _ports(binder, hardware_id, is_passive=form in PASSIVE)
    if arrangement is None:
        arrangement = usual(form, ports, face_rows, face_order)
    facts: tuple[Any, ...] = tuple(row)[:7]
    facts += (arrangement, ports, tuple(placed(form, ports, arrangement)))
    return Face(*facts)


def beside(binder: BinderFile, hardware_id: int) -> tuple[Beside, ...]:
    """The hardware with ports in the same rack, from the top; where there is no rack, in the
    same space. This one is among them."""
    return tuple(Beside(*row) for row in binder.connection.execute(_BESIDE, (hardware_id,)))


def _ports(binder: BinderFile, hardware_id: int, *, is_passive: bool) -> tuple[FacePort, ...]:
    plugged: dict[tuple[int, str], Plugged] = {}
    facts: list[Any]
    for port_id, *facts, test in binder.connection.execute(_PLUGGED, {"hardware": hardware_id}):
        day, _, result = test.split(" ") if test else ("", "", "")
        facts.append(f"{day} {result}".strip())
        plugged[port_id, facts[1]] = Plugged(*facts)
    reached = _reached(binder, hardware_id)
    ports = []
    for row in binder.connection.execute(_PORTS, (hardware_id,)):
        ends = plugged.get((row[0], "cord")), plugged.get((row[0], "link"))
        facts = [*row, is_passive, *ends, tuple(reached[row[0]])]
        ports.append(FacePort(*facts))
    return tuple(sorted(ports, key=_in_order))


def _reached(binder: BinderFile, hardware_id: int) -> defaultdict[int, list[Reached]]:
    """By port what stands beyond the first cable; of panels on the way nothing is told."""
    reached: defaultdict[int, list[Reached]] = defaultdict(list)
    rows = binder.connection.execute(_REACHED, (hardware_id,)).fetchall()
    for at, (port_id, way, step, *facts) in enumerate(rows):
        hop = Reached(*facts)
        is_last = [tuple(row)[:2] for row in rows[at + 1 : at + 2]] != [(port_id, way)]
        if hop.form not in PASSIVE or (step > 1 and (is_last or hop.form == "outlet")):
            reached[port_id].append(hop)
    return reached


def _in_order(port: FacePort) -> tuple[bool, int, object]:
    return port.position is None, port.position or 0, natural_key(port.label)


# Where each port is. --------------------------------------------------------------------------


def usual(
    form: str,
    ports: Sequence[FacePort],
    face_rows: int | None = None,
    face_order: str | None = None,
) -> Arrangement:
    """How such hardware mostly is: what is told of it counts, habit says the rest.

    A panel has rows of 24, numbered in order; a switch of more than 12 copper ports has two rows,
    odd over even. Common practice, no published source.
    """
    count = max(_slots(_bays(form, ports)[0]), default=-1) + 1
    if form in PASSIVE:
        rows = face_rows or max(-(-count // _ROW_OF_PANEL), 1)
        return Arrangement(rows, "odd over even" if face_order == "odd over even" else "in order")
    rows = face_rows or (2 if count > _LONGEST_SINGLE_ROW else 1)
    order: Order = "in order" if face_order == "in order" or rows == 1 else "odd over even"
    return Arrangement(rows, order)


def others(count: int) -> tuple[Arrangement, ...]:
    """The arrangements a face of that many ports may have, to go through by hand."""
    two: tuple[Arrangement, ...] = (Arrangement(2, "odd over even"), Arrangement(2, "in order"))
    more = (Arrangement(4, "odd over even"), Arrangement(4, "in order")) if count > 48 else ()
    return (Arrangement(1, "in order"), *(two if count > 1 else ()), *more)


def placed(form: str, ports: Sequence[FacePort], arrangement: Arrangement) -> Iterable[Placed]:
    """Where each port is; every port once, no two in one place."""
    for bay, inside in enumerate(_bays(form, ports)):
        slots = _slots(inside, is_paired=arrangement.order == "odd over even")
        if slots:
            columns = _columns(form, max(slots) + 1, arrangement)
            for port, slot in zip(inside, slots, strict=True):
                yield Placed(port.id, bay, *_row_and_column(slot, columns, arrangement))


def _bays(form: str, ports: Sequence[FacePort]) -> tuple[list[FacePort], list[FacePort]]:
    """The ports in the main bay and those apart. A role moves no port: it is a use, not a place."""
    apart = [port for port in ports if port.connector in _APART and form not in PASSIVE]
    if len(apart) == len(ports):
        return list(ports), []
    return [port for port in ports if port not in apart], apart


def _slots(ports: Sequence[FacePort], *, is_paired: bool = False) -> list[int]:
    """The place of each port in the order of the bay, from 0.

    Ports that are not documented leave their places empty where positions, or labels that are
    numbers, tell so.
    """
    numbers = [_number(port) for port in ports]
    told = [number for number in numbers if number is not None]
    if not told or len(set(told)) < len(ports):
        return list(range(len(ports)))
    first = min(told)
    if is_paired and first % 2 == 0:
        first -= 1
    if max(told) - first >= max(2 * len(ports), _ROW_OF_PANEL):
        return list(range(len(ports)))
    return [number - first for number in told]


def _number(port: FacePort) -> int | None:
    if port.position is not None:
        return port.position
    is_number = port.label.isascii() and port.label.isdecimal() and len(port.label) < 6
    return int(port.label) if is_number else None


def _columns(form: str, slots: int, arrangement: Arrangement) -> int:
    columns = -(-slots // arrangement.rows)
    if form in PASSIVE and arrangement.order == "in order":
        full = _ROW_OF_PANEL * arrangement.rows
        if full - _ROW_OF_PANEL < slots <= full:
            return _ROW_OF_PANEL  # the last row of a panel is the one that is not full
    return columns


def _row_and_column(slot: int, columns: int, arrangement: Arrangement) -> tuple[int, int]:
    if arrangement.order == "in order":
        return divmod(slot, columns)
    deep = 2 if arrangement.rows % 2 == 0 else arrangement.rows
    band, inside = divmod(slot, columns * deep)
    column, row = divmod(inside, deep)
    return band * deep + row, column
