"""Headroom on the screen: a line a row, and the sheet behind one."""

from __future__ import annotations

from collections.abc import Hashable, Iterator, Sequence
from dataclasses import dataclass, replace

from binder.headroom import Headroom, Need, Row
from binder.headroom.words import bar, figures, free, in_system, left, shown, step_line
from binder.records.dates import local_moment
from tui.app.lines import Line, Part, fit, line, shares, width_of, wrapped

LOOKS = {"over": "bad", "short": "bad", "tight": "warn"}
_STATE_CELLS = 9
_LEAST_CELLS = (18, 8, 7)  # of resource, where and what is free
_WHOLE_FREE_CELLS = 15  # with which a figure keeps its unit, where there is room
_FIGURES_FROM = 90  # cells, from where the figures stand beside the bar
_LABEL_CELLS = 12


class HeadroomRows:
    """The rows of an answer that are shown, the scarcest first, and its notes at the end."""

    def __init__(self, answer: Headroom, rows: Sequence[Row], system: str) -> None:
        self.rows = rows
        self.system = system
        self.notes = answer.notes if len(rows) == len(answer.rows) else ()
        self._drawn_widths: dict[int, tuple[int, int, int, int, bool]] = {}
        self._places: dict[Hashable, int] = {row.key: at for at, row in enumerate(rows)}

    def __len__(self) -> int:
        return len(self.rows) + len(self.notes)

    def key(self, index: int) -> Hashable:
        if index < len(self.rows):
            return self.rows[index].key
        return "note", index - len(self.rows)

    def index(self, key: Hashable) -> int | None:
        return self._places.get(key)

    def row(self, key: Hashable) -> Row | None:
        """The row with that key; None for a note."""
        at = self.index(key)
        return None if at is None else self.rows[at]

    def line(self, index: int, width: int) -> Line:
        if index >= len(self.rows):
            return line((f" note: {self.notes[index - len(self.rows)]}", "label"))
        row = self.rows[index]
        resource, placed, left_over, drawn, figured = self._widths(width)
        look = LOOKS.get(row.state, "")
        parts = [
            Part(f" {fit(row.state, _STATE_CELLS)} ", look),
            Part(f"{fit(row.resource, resource)} "),
            Part(f"{fit(where(row), placed)} ", "strong"),
        ]
        if row.limit is None:
            return (*parts, Part(row.told.removeprefix("not known: "), "label"))
        parts += [Part(f"{bar(row, drawn)} ", look), Part(self._left(row, left_over))]
        if figured:
            parts.append(Part(f" {figures(row, self.system)}"))
        return tuple(parts)

    def _left(self, row: Row, room: int) -> str:
        """What is free; the unit is left out before a figure is cut."""
        told = left(row, self.system)
        return fit(told if width_of(told) <= room else told.rpartition(" ")[0], room)

    def headings(self, width: int) -> Line:
        """The line above the list: what each column is."""
        resource, placed, left_over, drawn, figured = self._widths(width)
        cells = (fit("state", _STATE_CELLS), fit("resource", resource), fit("where", placed),
                 fit("#used =kept" if drawn > 10 else "#used", drawn), fit("free", left_over),
                 "of the limit" if figured else "")  # fmt: skip
        return line((" " + " ".join(cells), "label"))

    def _widths(self, width: int) -> tuple[int, int, int, int, bool]:
        """Cells of resource, where, what is left and the bar; whether figures are told."""
        if width not in self._drawn_widths:
            self._drawn_widths[width] = self._measured(width)
        return self._drawn_widths[width]

    def _measured(self, width: int) -> tuple[int, int, int, int, bool]:
        figured = width >= _FIGURES_FROM
        drawn = 12 if width >= 70 else 8
        known = [row for row in self.rows if row.limit is not None]
        wanted = [
            max([width_of(row.resource) for row in self.rows], default=0),
            max([width_of(where(row)) for row in self.rows], default=0),
            max([width_of(left(row, self.system)) for row in known], default=4),
        ]
        room = width - _STATE_CELLS - drawn - 6 - (24 if figured else 0)
        least = list(_LEAST_CELLS)
        if room >= sum(least[:2]) + _WHOLE_FREE_CELLS:
            least[2] = _WHOLE_FREE_CELLS
        resource, placed, left_over = shares(wanted, least, room)
        return resource, placed, left_over, drawn, figured


def where(row: Row) -> str:
    """The thing a row is about, and which of its resources where there are several."""
    return f"{row.where.name} {row.which}".rstrip()


# The sheet behind a row. --------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class WorkedLine:
    """A line of the sheet; `need` is what Enter fills in, `target` the record it opens."""

    key: Hashable
    parts: Line
    need: Need | None = None
    target: int | None = None


def title(row: Row) -> tuple[Sequence[Part], Sequence[Part]]:
    """The head of the sheet: what is counted, of what, and its state."""
    return (
        (Part(f" {row.resource} of "), Part(where(row), "strong")),
        (Part(row.state, LOOKS.get(row.state, "")),),
    )


def worked(row: Row, system: str, zone: str, width: int) -> list[WorkedLine]:
    """The sum worked through: what is asked for, what is missing, and what it stands on."""
    made: list[WorkedLine] = []
    for at, (label, text, look, need, target) in enumerate(_told(row, system, zone)):
        mark = " ›" if need or target else ""
        pieces = wrapped(text, max(width - _LABEL_CELLS - 1 - len(mark), 20))
        for n, piece in enumerate(pieces):
            parts = line(
                (fit(f" {label}" if n == 0 else "", _LABEL_CELLS), "label"), (piece, look),
                (mark if n == len(pieces) - 1 else "", "label"),
            )  # fmt: skip
            made.append(WorkedLine((at, n), parts, need, target))
    return made


_Told = tuple[str, str, str, Need | None, int | None]


def _told(row: Row, system: str, zone: str) -> Iterator[_Told]:
    """Label, text, look, what to fill in, and what to open."""
    at_place = f", in {row.where.space}" if row.where.space else ""
    of = f"{row.where.kind.replace('_', ' ')} {row.where.name}{at_place}"
    yield "of", of, "", None, row.where.id
    if row.limit is not None:
        yield "", f"{bar(row, 30)}  {figures(row, system)}", LOOKS.get(row.state, ""), None, None
        yield "", free(row, system), "strong", None, None
    elif row.state == "not known" and not row.needs:
        yield "", row.told, "strong", None, None
    if row.fix:
        yield "mend", in_system(row.fix, system), "strong", None, None
    yield from _needs(row)
    yield from _figures(row, system)
    yield from _read(row, system, zone)
    yield from _sum(row, system)
    if row.basis:
        yield "basis", row.basis, "", None, None
    for note in row.notes:
        yield "note", in_system(note, system), "", None, None
    if row.caution:
        yield "caution", row.caution, "warn", None, None


def _needs(row: Row) -> Iterator[_Told]:
    for at, need in enumerate(row.needs):
        label = "" if at else ("needs" if row.state == "not known" else "not known")
        yield label, f"{need}: Enter fills it in", "warn", need, None


def _figures(row: Row, system: str) -> Iterator[_Told]:
    if row.limit is not None:
        for label, value in (("rated", row.rated), ("limit", row.limit), ("used", row.used),
                             ("reserved", row.reserved), ("free", row.free)):  # fmt: skip
            because = f": {row.limit_because}" if label == "limit" and row.limit_because else ""
            if value is None:
                continue
            is_gap = label in ("reserved", "free")
            yield label, shown(value, row.unit, system, difference=is_gap) + because, "", None, None
    elif row.rated is not None:
        yield "rated", shown(row.rated, row.unit, system), "", None, None


def _sum(row: Row, system: str) -> Iterator[_Told]:
    for at, step in enumerate(row.steps):
        text = step_line(replace(step, basis=""), system)
        yield "" if at else "the sum", text, "", None, None
        if step.basis:
            yield "", f"  by {step.basis}", "label", None, None


def _read(row: Row, system: str, zone: str) -> Iterator[_Told]:
    if row.measured:
        read = shown(row.measured.value, row.measured.unit, system)
        when = local_moment(row.measured.at, zone)
        yield "measured", f"{read} ({row.measured.quantity}), {when}", "", None, row.measured.id
    if row.outlook:
        yield "trend", in_system(row.outlook.says, system), "", None, None
