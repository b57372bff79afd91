"""The review on the screen: where resources lead, what moved, what is asked, what was agreed."""

from __future__ import annotations

from collections.abc import Hashable, Iterator, Sequence
from dataclasses import dataclass
from typing import Final

from binder.headroom import Row
from binder.headroom.words import in_system
from binder.review.actions import Action
from binder.review.asked import Asked
from binder.review.compared import Comparison
from binder.review.exhaustion import FALLING, Exhaustion, Point
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
    system: str  # 'us' or 'metric'


def review_rows(told: Told, width: int) -> list[ReviewRow]:
    """Every line of the page, drawn for a width."""
    return [
        *_leads(told, width),
        *_asked(told.asked),
        *_actions(told.actions, width),
        *_moved(told, width),
    ]


def chart(
    points: Sequence[Point], limit: float | None, cells: int = _CHART_CELLS, *, falls: bool = False
) -> str:
    """The latest points as bars, the limit being the full height; what is beyond it is `!`.

    Of what `falls` toward its limit the most there was is the full height.
    """
    values = [point.used for point in points][-cells:]
    most = max(values, default=0.0)
    top = most if falls else limit or most
    if not values or top <= 0:
        return " " * cells

    def beyond(value: float) -> bool:
        return value < (limit or 0.0) if falls else value > top

    drawn = [
        "!" if beyond(value) else _LEVELS[min(int(max(value, 0.0) / top * 8), 7)]
        for value in values
    ]
    return "".join(drawn).rjust(cells)


def _chart_of(one: Exhaustion) -> str:
    falls = one.row.resource in FALLING
    return chart(one.points, one.row.used if falls else one.row.limit, falls=falls)


def _leads(told: Told, width: int) -> Iterator[ReviewRow]:
    dated = [one for one in told.leads if one.on is not None]
    yield _head("leads", "What is used up, and when (between)")
    for at, one in enumerate(dated):
        yield ReviewRow(
            ("leads", at),
            line((f" {fit(one.when, 10)} ", _STATES.get(one.row.state, "strong")),
                 f"{_chart_of(one)} ", fit(_named(one), max(width - 50, 24)),
                 (f" {one.between}".rstrip(), "label")),
            row=one.row,
        )  # fmt: skip
    if not dated:
        yield ReviewRow("none dated", line((" nothing is, as far as is known", "label")))
    yield from _too_few([one for one in told.leads if not one.enough], told.system, width)


def _too_few(few: Sequence[Exhaustion], system: str, width: int) -> Iterator[ReviewRow]:
    """What begins its line anew, and what is read, with how often; of the rest how many."""
    told = [one for one in few if one.step or (one.points and one.points[0].by == "reading")]
    for at, one in enumerate(told):
        says = f"{_named(one)}: {in_system(one.says, system)}"
        for piece, text in enumerate(wrapped(says, max(width - 3, 20))):
            lead = " " if not piece else "   "
            yield ReviewRow(("few", at, piece), line(lead, (text, "label")), row=one.row)
    if rest := len(few) - len(told):
        more = " more" if told else ""
        says = f" {rest}{more} have too few readings to lead anywhere"
        yield ReviewRow("few", line((says, "label")))


def _named(one: Exhaustion) -> str:
    return " ".join(filter(None, (one.row.resource, one.row.where.name, one.row.which)))


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
        text = f"{change.resource}, {change.name}: {in_system(change.says, told.system)}"
        for piece, part in enumerate(wrapped(text, max(width - 5, 20))):
            lead = f" {mark} " if not piece else "   "
            look = "warn" if change.worse else ""
            yield ReviewRow(("moved", at, piece), line((lead, look), part), row=change.after)
    if not told.moved.changes:
        yield ReviewRow("nothing moved", line((" nothing", "label")))


def _head(key: str, text: str) -> ReviewRow:
    return ReviewRow((key, "head"), line((f" {text}", "head")))
