"""A face drawn: ports as boxes under their labels, the sign in a box tells its state.

-- SW1  access switch, 24 port ---------------------- 1A-R1 U 16 --
01 03 05 07 09 11 13 15 17 19 21 23   25 27     upper row, labels above
[#][#][ ][X][#][.][#][#][#][#][#][#]  [#][ ]    # used, blank spare
[#][#][ ][#][ ][#][:][#][ ][#][#][#]  [ ][#]    . reserved, : planned
02 04 06 08 10 12 14 16 18 20 22 24   26 28     X bad, - unterminated
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from itertools import groupby
from typing import Final

from binder.faces import GROUP, SIGNS, Face, FacePort, Placed
from tui.app.lines import Line, Part, fit, spread, width_of

LOOKS: Final = {
    "used": "", "spare": "", "reserved": "warn", "planned": "label", "bad": "bad",
    "unterminated": "label",
}  # fmt: skip
REAR_SIGNS: Final = {"linked": "=", "planned": ":", "abandoned": "X", "no link": " "}
HELD: Final = "held"  # where the cord in hand begins
FAR: Final = "far"  # where the cord or link of the port pointed at ends
_EDGES: Final = {HELD: ("<", "*", ">"), FAR: ("{", "", "}")}
_LEAST, _MOST = 3, 9  # cells of a box and of a label
_LONG_LABEL: Final = 4


@dataclass(frozen=True, slots=True)
class Cell:
    """Where a port is drawn: its box on line `y`, its label on line `label_y`."""

    port_id: int
    x: int
    y: int
    label_y: int
    width: int


@dataclass(frozen=True, slots=True)
class DrawnFace:
    """The lines of a face, and where each port is on them."""

    lines: tuple[Line, ...] = ()
    cells: tuple[Cell, ...] = ()

    def cell(self, port_id: int | None) -> Cell | None:
        return next((cell for cell in self.cells if cell.port_id == port_id), None)

    def across(self, port_id: int | None, by: int) -> int | None:
        """The port so many places to the right (or left) in the same row of boxes."""
        here = self.cell(port_id)
        if here is None:
            return self.cells[0].port_id if self.cells else None
        row = sorted((c.x, c.port_id) for c in self.cells if c.y == here.y)
        at = row.index((here.x, here.port_id)) + by
        return row[max(0, min(at, len(row) - 1))][1]

    def along(self, port_id: int | None, by: int) -> int | None:
        """The nearest port in the row of boxes below (or above)."""
        here = self.cell(port_id)
        rows = sorted({cell.y for cell in self.cells})
        if here is None:
            return self.cells[0].port_id if self.cells else None
        at = rows.index(here.y) + by
        if not 0 <= at < len(rows):
            return port_id
        row = [cell for cell in self.cells if cell.y == rows[at]]
        return min(row, key=lambda cell: (abs(cell.x - here.x), cell.x)).port_id


def draw(
    face: Face, width: int, *, is_rear: bool = False, marks: Mapping[int, str] | None = None
) -> DrawnFace:
    """The face in so many cells. What does not fit in the width goes on below.

    The rear is drawn as it is seen from behind: the other way round.
    """
    ports, labels = {port.id: port for port in face.ports}, short_labels(face)
    lines: list[Line] = [_rule(face, width, is_rear=is_rear)]
    cells: list[Cell] = []
    for band in _bands(face, labels, width, is_rear=is_rear):
        for rows, is_over in _pairs(face):
            drawn_rows = [
                _row(band, row, ports, labels, marks or {}, is_rear=is_rear) for row in rows
            ]
            if not any(row.cells for row in drawn_rows):
                continue
            for at, row in enumerate(drawn_rows):
                is_lower = is_over and at == 1
                y = len(lines) if is_lower else len(lines) + 1
                lines += [row.boxes, row.labels] if is_lower else [row.labels, row.boxes]
                label_y = y + 1 if is_lower else y - 1
                cells += [Cell(port, x, y, label_y, band.box) for port, x in row.cells]
    if not cells:
        lines.append((Part(" no ports are recorded; n makes a series of them", "label"),))
    lines.append(())
    return DrawnFace(tuple(lines), tuple(cells))


def _rule(face: Face, width: int, *, is_rear: bool) -> Line:
    words = face.words or face.form
    where = f"{face.rack} U {face.u_position}" if face.rack and face.u_position else ""
    where = where or (face.rack or face.space)
    side = "seen from behind, " if is_rear else ""
    left = (Part("-- ", "label"), Part(face.name, "strong"), Part(f"  {words} "))
    right = (Part(f" {side}{where} --" if where else "--", "label"),)
    *head, fill, tail = spread(left, right, width)
    return (*head, Part("-" * width_of(fill.text), "label"), tail)


# Which columns stand where. ---------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class _Band:
    """Columns that stand side by side: the ports by row, and the x of each column."""

    columns: tuple[Mapping[int, Placed], ...]
    at: tuple[int, ...]
    box: int  # cells of a box with its label


def short_labels(face: Face) -> dict[int, str]:
    """The labels as they are drawn: of long ones that begin alike only the number that differs.

    Beside port 1/0/7 there is a 7, on most hardware.
    """
    shown: dict[int, str] = {}
    for bay in {where.bay for where in face.placed}:
        inside = {where.port_id for where in face.placed if where.bay == bay}
        labels = {port.id: port.label for port in face.ports if port.id in inside}
        stems = {text.rstrip("0123456789") for text in labels.values()}
        stem = stems.pop()
        if stems or stem in labels.values() or max(map(len, labels.values())) <= _LONG_LABEL:
            stem = ""
        shown |= {port_id: text.removeprefix(stem) for port_id, text in labels.items()}
    return shown


def _bands(face: Face, labels: Mapping[int, str], width: int, *, is_rear: bool) -> Iterator[_Band]:
    columns = _columns(face)
    if is_rear:
        columns.reverse()
    longest = max(map(width_of, labels.values()), default=1)
    box = max(_LEAST, min(longest + 1, _MOST))
    for wider, group in ((2, GROUP), (1, GROUP), (0, GROUP), (0, 2 * GROUP), (0, 0)):
        at = _positions(columns, box + wider, group)
        if not at or at[-1] + box + wider <= width:
            break
    else:
        wider, group = 0, GROUP
    start = 0
    while start < len(columns):
        end = len(columns)
        at = _positions(columns[start:end], box + wider, group)
        while end > start + 1 and at[end - start - 1] + box + wider > width:
            end -= 1
        if end < len(columns) and end - start > GROUP:
            end -= (end - start) % GROUP
        yield _Band(
            tuple(inside for _, _, inside in columns[start:end]), at[: end - start], box + wider
        )
        start = end


def _columns(face: Face) -> list[tuple[int, int, dict[int, Placed]]]:
    """Bay, column and what is in it by row, from the left."""
    found: dict[tuple[int, int], dict[int, Placed]] = {}
    for where in face.placed:
        found.setdefault((where.bay, where.column), {})[where.row] = where
    most = {bay: max(column for b, column in found if b == bay) for bay, _ in found}
    return [
        (bay, column, found.get((bay, column), {}))
        for bay in sorted(most)
        for column in range(most[bay] + 1)
    ]


def _positions(
    columns: Sequence[tuple[int, int, Mapping[int, Placed]]], box: int, group: int
) -> tuple[int, ...]:
    """The x of each column: a gap after each group, and before another bay."""
    at, x, before = [], 0, None
    for bay, column, _ in columns:
        if before is not None and bay != before[0]:
            x += 2 if group else 1
        elif before is not None and group and max(column, before[1]) % group == 0:
            x += 1
        at.append(x)
        x, before = x + box, (bay, column)
    return tuple(at)


def _pairs(face: Face) -> list[tuple[tuple[int, ...], bool]]:
    """The rows that belong together; whether the labels of the second stand under it."""
    rows = face.arrangement.rows
    if face.arrangement.order == "odd over even" and rows % 2 == 0:
        return [((row, row + 1), True) for row in range(0, rows, 2)]
    return [((row,), False) for row in range(rows)]


# What stands in them. ---------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class _Row:
    labels: Line
    boxes: Line
    cells: tuple[tuple[int, int], ...]  # port and its x


def _row(
    band: _Band,
    row: int,
    ports: Mapping[int, FacePort],
    named: Mapping[int, str],
    marks: Mapping[int, str],
    *,
    is_rear: bool,
) -> _Row:
    labels: list[Part] = []
    boxes: list[Part] = []
    cells = []
    end = 0
    for x, inside in zip(band.at, band.columns, strict=True):
        if row in inside:
            port = ports[inside[row].port_id]
            gap = " " * (x - end)
            labels.append(Part(f"{gap}{fit(named[port.id], band.box - 1)} ", "label"))
            boxes += [Part(gap), *_box(port, band.box, marks.get(port.id, ""), is_rear=is_rear)]
            cells.append((port.id, x))
            end = x + band.box
    return _Row(_merged(labels), _merged(boxes), tuple(cells))


def _merged(parts: Sequence[Part]) -> Line:
    """Neighbours of one look as one: each change of look is sent to the terminal."""
    runs = groupby(parts, key=lambda part: part.look)
    return tuple(Part("".join(part.text for part in run), look) for look, run in runs)


def _box(port: FacePort, width: int, mark: str, *, is_rear: bool) -> tuple[Part, ...]:
    sign, look = SIGNS[port.state], LOOKS[port.state]
    if is_rear:
        sign = REAR_SIGNS[rear_state(port)]
        look = "bad" if rear_state(port) == "abandoned" else ""
    opening, held, closing = _EDGES.get(mark, ("[", "", "]"))
    air = " " if width > _LEAST else ""
    inner = (held or sign) * (width - 2 - len(air))
    return Part(f"{opening}{inner}{closing}", look), Part(air)


def rear_state(port: FacePort) -> str:
    """How the rear of a port stands, in one word."""
    if port.link is None:
        return "no link"
    return port.link.status if port.link.status in REAR_SIGNS else "linked"


def legend(face: Face, width: int, *, is_rear: bool = False) -> list[Line]:
    """How many ports are in each state, with the sign each is drawn with."""
    if is_rear:
        states = [rear_state(port) for port in face.ports]
        told = [(sign, states.count(state), state) for state, sign in REAR_SIGNS.items()]
    else:
        told = [(SIGNS[state], count, state) for state, count in face.counts().items()]
    lines: list[Line] = []
    parts: list[Part] = []
    room = width
    for sign, count, word in told:
        if not count and word not in ("used", "spare", "linked"):
            continue
        text = f" [{sign}] {count} {word} "
        if width_of(text) > room and parts:
            lines.append(tuple(parts))
            parts, room = [], width
        parts += [Part(f" [{sign}]", "strong"), Part(f" {count} {word} ")]
        room -= width_of(text)
    return [*lines, tuple(parts)]
