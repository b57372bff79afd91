"""The review on the screen: where resources lead, what moved, what is asked, what was agreed."""

from __future__ import annotations

from collections.abc import Hashable, Iterator, Sequence
from dataclasses import dataclass
from typing import Final

from binder.headroom import Row
from binder.review.actions import Action
from binder.review.asked import Asked
from binder.review.compared import Comparison
from binder.review.exhaustion import Exhaustion, Point
from tui.app.lines import Line, fit, line, wrapped

_LEVELS: Final = "▁▂▃▄▅▆▇█"
_CHART_CELLS: Final = 12
_STATES: Final = {"over": "bad", "short": "bad", "tight": "warn"}


@dataclass(frozen=True, slots=True)
class ReviewRow:
    """A line; what Enter does to it: open a row's sum, decide an action, tick a duty."""

    key: Hashable
    parts: Line
    row: Row | None = None
    action: Action | None = None
    duty: Asked | None = None


@dataclass(frozen=True, slots=True)
class Told:
    """What the page is made of."""

    leads: tuple[Exhaustion, ...]
    moved: Comparison | None
    since: str  # the review it is compared with
    actions: tuple[Action, ...]
    asked: tuple[Asked, ...]


def review_rows(told: Told, width: int) -> list[ReviewRow]:
    """Every line of the page, drawn for a width."""
    return [
        *_leads(told.leads, width),
        *_asked(told.asked),
        *_actions(told.actions, width),
        *_moved(told, width),
    ]


def chart(points: Sequence[Point], limit: float | None, cells: int = _CHART_CELLS) -> str:
    """The latest points as bars, the limit being the full height; more than that is `!`."""
    values = [point.used for point in points][-cells:]
    top = limit or max(values, default=0.0)
    if not values or top <= 0:
        return " " * cells
    drawn = [
        "!" if value > top else _LEVELS[min(int(max(value, 0.0) / top * 8), 7)] for value in values
    ]
    return "".join(drawn).rjust(cells)


def _leads(leads: Sequence[Exhaustion], width: int) -> Iterator[ReviewRow]:
    dated = [one for one in leads if one.on is not None]
    yield _head("leads", "What is used up, and when (between)")
    for at, one in enumerate(dated):
        named = " ".join(filter(None, (one.row.resource, one.row.where.name, one.row.which)))
        is_range = not one.is_far and one.earliest_on != one.latest_on
        between = f" {one.earliest_on} to {one.latest_on or 'never'}" if is_range else ""
        yield ReviewRow(
            ("leads", at),
            line((f" {fit(one.when, 10)} ", _STATES.get(one.row.state, "strong")),
                 f"{chart(one.points, one.row.limit)} ", fit(named, max(width - 50, 24)),
                 (between, "label")),
            row=one.row,
        )  # fmt: skip
    few = sum(not one.enough for one in leads)
    says = f" {few} have too few readings to lead anywhere" if few else ""
    if not dated:
        says = f" nothing is, as far as is known;{says}"
    if says:
        yield ReviewRow("few", line((says, "label")))


def _asked(asked: Sequence[Asked]) -> Iterator[ReviewRow]:
    yield _head("asked", "The quarter asks for (Enter ticks)")
    for at, one in enumerate(asked):
        last = f"  last done {one.last_done_on}" if one.last_done_on else ""
        yield ReviewRow(
            ("asked", at), line((f" {one.due_on} ", "label"), one.name, (last, "label")), duty=one
        )
    if not asked:
        yield ReviewRow("nothing asked", line((" nothing now", "label")))


def _actions(actions: Sequence[Action], width: int) -> Iterator[ReviewRow]:
    yield _head("actions", "Actions (Enter decides)")
    for one in actions:
        look = "warn" if one.state == "proposed" else "" if one.is_open else "label"
        done = f"  {one.done_on}" if one.done_on else ""
        for piece, text in enumerate(wrapped(f"{one.what}{done}", max(width - 22, 20))):
            lead = f" {fit(one.state, 9)} {fit(one.review, 8)} "
            yield ReviewRow(
                ("action", one.id, piece),
                line((lead if not piece else " " * len(lead), look), text),
                action=one,
            )
    if not actions:
        says = " none yet; n takes a review and proposes them"
        yield ReviewRow("no actions", line((says, "label")))


def _moved(told: Told, width: int) -> Iterator[ReviewRow]:
    if told.moved is None:
        yield _head("moved", "No review was taken yet; n takes the first")
        return
    yield _head("moved", f"Moved since {told.since} of {told.moved.since}")
    for at, change in enumerate(told.moved.changes):
        mark = "!" if change.worse else " "
        text = f"{change.resource}, {change.name}: {change.says}"
        for piece, part in enumerate(wrapped(text, max(width - 5, 20))):
            lead = f" {mark} " if not piece else "   "
            look = "warn" if change.worse else ""
            yield ReviewRow(("moved", at, piece), line((lead, look), part), row=change.after)
    if not told.moved.changes:
        yield ReviewRow("nothing moved", line((" nothing", "label")))


def _head(key: str, text: str) -> ReviewRow:
    return ReviewRow((key, "head"), line((f" {text}", "head")))
