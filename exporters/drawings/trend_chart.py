"""Where a resource leads: what was found on each day, the line through it, and when it meets the
limit; the days it may be as the line scatters, and today.

Read without colour: rings are readings or reviews, the heavy stroke is the limit, the hatched wedge
the interval, the dotted upright today. The line is dashed where it is ahead of today.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date
from html import escape
from typing import ClassVar, Final

from binder.text import visible
from exporters.cells import cut, padded

CELLS, LINES = 61, 11  # of the plot in text
_EDGE: Final = 16  # cells left of it, for the figures

WIDTH, HEIGHT = 460, 250
_LEFT, _RIGHT, _TOP, _BOTTOM = 104, 450, 48, 196
_SMALL: Final = 12.5
_CHARACTER: Final = 8.3  # mean width of a cell of bold text, with room to spare


@dataclass(frozen=True, slots=True)
class Slope:
    """A straight line: `at_zero` on the first day, and what it gains a day."""

    at_zero: float
    a_day: float

    def at(self, days: float) -> float:
        return self.at_zero + self.a_day * days


@dataclass(frozen=True, slots=True)
class Level:
    """A value that stands out, in words: a limit, or what was read last."""

    value: float
    says: str


@dataclass(frozen=True, slots=True)
class TrendChart:
    """`points` are days and values, in order; `first` to `last` is the span drawn. `low` and `high`
    bound the line. `kept` is what the limit leaves once what is planned is there, if anything is.
    """

    form: ClassVar[str] = "trend"
    title: str
    says: str
    points: tuple[tuple[date, float], ...]
    middle: Slope
    low: Slope
    high: Slope
    limit: Level
    kept: Level | None
    latest: Level
    today: date
    last: date

    @property
    def first(self) -> date:
        return self.points[0][0]

    @property
    def days(self) -> int:
        return max((self.last - self.first).days, 1)

    def bounds(self) -> tuple[float, float]:
        """The least and the greatest value that the plot shows, with a margin."""
        values = [value for _, value in self.points] + [self.limit.value]
        values += [self.kept.value] if self.kept else []
        least, most = min(values), max(values)
        margin = (most - least) * 0.12 or max(abs(most) * 0.1, 1.0)
        return least - margin, most + margin

    def text(self) -> str:
        return "\n".join(_text(self))

    def svg(self, key: str) -> str:
        return "".join(
            (
                f'<svg class="trend" viewBox="0 0 {WIDTH} {HEIGHT}" width="{WIDTH}" '
                f'height="{HEIGHT}" role="img" aria-labelledby="{key}-title" '
                f'font-family="Arial, Helvetica, sans-serif" font-size="{_SMALL}">'
                f'<title id="{key}-title">{escape(visible(f"{self.title}: {self.says}"))}</title>',
                *_svg(self, key),
                "</svg>",
            )
        )


# In text. ---------------------------------------------------------------------------------


def _text(chart: TrendChart) -> Iterator[str]:
    least, most = chart.bounds()
    plot = [[" "] * CELLS for _ in range(LINES)]

    def line_of(value: float) -> int | None:
        at = round((most - value) / (most - least) * (LINES - 1))
        return at if 0 <= at < LINES else None

    def cell_of(day: date) -> int:
        return min(round((day - chart.first).days / chart.days * (CELLS - 1)), CELLS - 1)

    now = cell_of(chart.today)
    for line in plot:
        line[now] = ":"
    for cell in range(CELLS):
        day = cell / (CELLS - 1) * chart.days
        for slope, sign in ((chart.low, "'"), (chart.high, "'"), (chart.middle, "-")):
            at = line_of(slope.at(day))
            if at is not None and (cell > now or sign == "-"):
                plot[at][cell] = sign
    limit = line_of(chart.limit.value)
    assert limit is not None  # the bounds hold it
    plot[limit] = ["=" if sign in " -':" else sign for sign in plot[limit]]
    for day_read, value in chart.points:
        at = line_of(value)
        if at is not None:
            plot[at][cell_of(day_read)] = "o"
    yield cut(visible(f"{chart.title}: {chart.says}"), CELLS + _EDGE + 1)
    latest = line_of(chart.latest.value)
    for number, line in enumerate(plot):
        edge = chart.limit.says if number == limit else ""
        if not edge and number == latest:
            edge = chart.latest.says
        yield f"{padded(cut(visible(edge), _EDGE - 1), _EDGE)}|{''.join(line)}".rstrip()
    yield " " * _EDGE + "+" + "-" * CELLS
    yield _dates(chart, now)


def _dates(chart: TrendChart, now: int) -> str:
    """The first day, today, the last, each near its place."""
    signs = [" "] * (CELLS + _EDGE + 1)
    for at, told in (
        (0, chart.first.isoformat()[:7]), (CELLS - 7, chart.last.isoformat()[:7]),
        (min(max(now - 2, 8), CELLS - 13), "today"),
    ):  # fmt: skip
        signs[_EDGE + 1 + at : _EDGE + 1 + at + len(told)] = told
    return "".join(signs).rstrip()


# As a picture. ----------------------------------------------------------------------------


def _svg(chart: TrendChart, key: str) -> Iterator[str]:
    least, most = chart.bounds()

    def x(day: float) -> float:
        return round(_LEFT + day / chart.days * (_RIGHT - _LEFT), 1)

    def y(value: float) -> float:
        return round(_TOP + (most - value) / (most - least) * (_BOTTOM - _TOP), 1)

    now = float((chart.today - chart.first).days)
    room = int((WIDTH - 10) / _CHARACTER)
    yield _definitions(key)
    yield (
        f'<text class="ink" x="4" y="16" font-size="14.5" font-weight="bold">'
        f"{escape(cut(visible(chart.title), room))}</text>"
        f'<text class="soft" x="4" y="35" fill="#333333">'
        f"{escape(cut(visible(chart.says), 70))}</text>"
        f'<rect class="frame" x="{_LEFT}" y="{_TOP}" width="{_RIGHT - _LEFT}" '
        f'height="{_BOTTOM - _TOP}" fill="#ffffff" stroke="#333333"/>'
        f'<g clip-path="url(#{key}-plot)">'
    )
    end = float(chart.days)
    ahead = [(x(now), y(chart.high.at(now))), (x(end), y(chart.high.at(end))),
             (x(end), y(chart.low.at(end))), (x(now), y(chart.low.at(now)))]  # fmt: skip
    corners = " ".join(f"{across:g},{down:g}" for across, down in ahead)
    yield f'<polygon class="interval" points="{corners}" fill="url(#{key}-interval)"/>'
    yield _line("middle", x(0), y(chart.middle.at(0)), x(now), y(chart.middle.at(now)), "2")
    yield _line(
        "middle", x(now), y(chart.middle.at(now)), x(end), y(chart.middle.at(end)), "2", "7 4"
    )
    for level, width, dashes in ((chart.limit, "4", ""), (chart.kept, "2", "2 3")):
        if level is not None:
            down = y(level.value)
            yield _line("limit", _LEFT, down, _RIGHT, down, width, dashes)
    yield _line("today", x(now), _TOP, x(now), _BOTTOM, "1.5", "1.5 3")
    for day, value in chart.points:
        across, down = x((day - chart.first).days), y(value)
        yield (
            f'<circle class="point" cx="{across:g}" cy="{down:g}" r="3.6" fill="#ffffff" '
            'stroke="#000000" stroke-width="1.6"/>'
        )
    yield "</g>"
    yield from _words(chart, x(now), y)


def _words(chart: TrendChart, now: float, y: object) -> Iterator[str]:
    """The figures at the left, the days below, and which stroke is the limit."""
    assert callable(y)
    taken: list[float] = []
    for level in filter(None, (chart.limit, chart.kept, chart.latest)):
        down = y(level.value)
        if all(abs(down - other) > 13 for other in taken):
            taken.append(down)
            yield (
                f'<text class="ink" x="{_LEFT - 5}" y="{down + 4:g}" text-anchor="end">'
                f"{escape(cut(visible(level.says), 15))}</text>"
            )
    below = _BOTTOM + 17
    middle = min(max(now, _LEFT + 92), _RIGHT - 92)
    for across, anchor, told in (
        (_LEFT, "start", chart.first.isoformat()), (_RIGHT, "end", chart.last.isoformat()),
        (middle, "middle", "today"),
    ):  # fmt: skip
        yield (f'<text class="ink" x="{across:g}" y="{below}" text-anchor="{anchor}">{told}</text>')
    yield (
        f'<text class="soft" x="4" y="{below + 24}" font-size="12" fill="#333333">heavy: limit; '
        "hatched: where the line may lie; dotted: today</text>"
    )


def _line(
    word: str, x1: float, y1: float, x2: float, y2: float, width: str, dashes: str = ""
) -> str:
    dashed = f' stroke-dasharray="{dashes}"' if dashes else ""
    return (
        f'<line class="{word}" x1="{x1:g}" y1="{y1:g}" x2="{x2:g}" y2="{y2:g}" '
        f'stroke="#000000" stroke-width="{width}"{dashed}/>'
    )


def _definitions(key: str) -> str:
    return (
        f'<defs><clipPath id="{key}-plot"><rect x="{_LEFT}" y="{_TOP}" '
        f'width="{_RIGHT - _LEFT}" height="{_BOTTOM - _TOP}"/></clipPath>'
        f'<pattern id="{key}-interval" width="6" height="6" patternUnits="userSpaceOnUse" '
        'patternTransform="rotate(45)"><line class="hatch" x1="0" y1="0" x2="0" y2="6" '
        'stroke="#777777" stroke-width="1.4"/></pattern></defs>'
    )
