"""What falls due in the quarters ahead: a line a thing, a mark with a letter on each day.

Read without colour: the letter says what falls due, and a mark in a square is overdue.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date
from html import escape
from typing import ClassVar, Final

from binder.text import visible
from exporters.cells import cut, padded

WIDTH: Final = 760
NAME_CELLS: Final = 25
_QUARTER_CELLS: Final = 4
_LINE: Final = 22
_LEFT, _RIGHT, _TOP = 210, 752, 42


@dataclass(frozen=True, slots=True)
class Mark:
    """What falls due on a day, by its letter; `says` it in words."""

    on: date
    letter: str
    says: str


@dataclass(frozen=True, slots=True)
class Lane:
    """A thing, and its marks in order."""

    name: str
    marks: tuple[Mark, ...]


@dataclass(frozen=True, slots=True)
class Timeline:
    """Marks before `today` are overdue. `quarters` are the first days of the quarters drawn."""

    form: ClassVar[str] = "timeline"
    title: str
    today: date
    quarters: tuple[date, ...]
    end: date
    lanes: tuple[Lane, ...]

    def text(self) -> str:
        return "\n".join(_text(self))

    def svg(self, key: str) -> str:
        height = _TOP + len(self.lanes) * _LINE + 10
        return "".join(
            (
                f'<svg class="timeline" viewBox="0 0 {WIDTH} {height}" width="{WIDTH}" '
                f'height="{height}" role="img" aria-labelledby="{key}-title" '
                f'font-family="Arial, Helvetica, sans-serif" font-size="12.5">'
                f'<title id="{key}-title">{escape(visible(self.title))}</title>',
                *_grid(self, height),
                *(part for at, lane in enumerate(self.lanes) for part in _lane(self, lane, at)),
                "</svg>",
            )
        )


# In text. ---------------------------------------------------------------------------------


def _text(chart: Timeline) -> Iterator[str]:
    """Overdue in the first column, then a column a quarter."""
    years = [
        f"'{first.year % 100:02}" if first.month == 1 or at == 0 else ""
        for at, first in enumerate(chart.quarters)
    ]
    yield _row("", ["", *years], " ")
    yield _row("", ["due", *(f"Q{(first.month + 2) // 3}" for first in chart.quarters)], " ")
    for lane in chart.lanes:
        cells = [""] * (len(chart.quarters) + 1)
        for mark in lane.marks:
            cells[_column(chart, mark)] += mark.letter
        yield _row(cut(visible(lane.name), NAME_CELLS), cells, ".")


def _row(name: str, cells: list[str], empty: str) -> str:
    told = "".join((cell or empty)[:_QUARTER_CELLS].ljust(_QUARTER_CELLS) for cell in cells)
    return f"{padded(name, NAME_CELLS)} {told}".rstrip()


def _column(chart: Timeline, mark: Mark) -> int:
    if mark.on < chart.today:
        return 0
    return sum(first <= mark.on for first in chart.quarters)


# As a picture. ----------------------------------------------------------------------------


def _x(chart: Timeline, day: date) -> float:
    """Where a day is; what is overdue stands before the first quarter."""
    if day < chart.today:
        return _LEFT + 16
    begins, whole = chart.quarters[0], (chart.end - chart.quarters[0]).days
    share = (day - begins).days / whole
    return round(_LEFT + 34 + share * (_RIGHT - _LEFT - 42), 1)


def _grid(chart: Timeline, height: int) -> Iterator[str]:
    bottom = height - 6
    yield f'<text class="ink" x="{_LEFT - 6}" y="{_TOP - 6}">overdue</text>'
    for at, first in enumerate(chart.quarters):
        across = round(
            _LEFT + 34 + (first - chart.quarters[0]).days
            / (chart.end - chart.quarters[0]).days * (_RIGHT - _LEFT - 42), 1,
        )  # fmt: skip
        heavy = "2" if first.month == 1 else "0.7"
        yield (
            f'<line class="grid" x1="{across:g}" y1="{_TOP - 20}" x2="{across:g}" y2="{bottom}" '
            f'stroke="#777777" stroke-width="{heavy}"/>'
        )
        if first.month == 1:
            yield f'<text class="ink" x="{across + 3:g}" y="{_TOP - 24}">{first.year}</text>'
        if at:
            quarter = (first.month + 2) // 3
            yield (
                f'<text class="soft" x="{across + 4:g}" y="{_TOP - 6}" fill="#333333">'
                f"Q{quarter}</text>"
            )
    now = _x(chart, chart.today)
    yield (
        f'<line class="today" x1="{now:g}" y1="{_TOP - 20}" x2="{now:g}" y2="{bottom}" '
        'stroke="#000000" stroke-width="1.5" stroke-dasharray="1.5 3"/>'
        f'<text class="ink" x="{now:g}" y="{_TOP - 24}" text-anchor="middle">today</text>'
    )


def _lane(chart: Timeline, lane: Lane, at: int) -> Iterator[str]:
    middle = _TOP + at * _LINE + _LINE / 2
    yield (
        f'<line class="lane" x1="{_LEFT}" y1="{middle:g}" x2="{_RIGHT}" y2="{middle:g}" '
        'stroke="#999999" stroke-width="0.7"/>'
        f'<text class="ink" x="4" y="{middle + 4:g}">'
        f"{escape(cut(visible(lane.name), 28))}</text>"
    )
    for mark in lane.marks:
        across, says = _x(chart, mark.on), escape(visible(f"{lane.name}: {mark.says}, {mark.on}"))
        shape = (
            f'<rect class="mark" x="{across - 8.5:g}" y="{middle - 8.5:g}" width="17" height="17" '
            'fill="#ffffff" stroke="#000000" stroke-width="2.4"/>'
            if mark.on < chart.today
            else f'<circle class="mark" cx="{across:g}" cy="{middle:g}" r="8.5" fill="#ffffff" '
            'stroke="#000000" stroke-width="1.3"/>'
        )
        yield (
            f"<g><title>{says}</title>{shape}"
            f'<text class="ink" x="{across:g}" y="{middle + 4.2:g}" text-anchor="middle" '
            f'font-size="11.5" font-weight="bold">{escape(mark.letter)}</text></g>'
        )
