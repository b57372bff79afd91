"""A round of readings: all that is usually read, one after the other, saved in one step.

What is read is kept aside as it is typed: a line that drops in a plant room loses none of it.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import asdict, dataclass, field, replace
from typing import TYPE_CHECKING, Any, Final

from binder.read import binder_id
from binder.readings import Taken, Usual, add, doubts, shown, symbol, usual, value_of
from binder.records.dates import format_moment, local_moment
from binder.unsaved import Unsaved, drop
from tui.app.ask import Ask, AskLine, Choose
from tui.app.lines import line
from tui.app.typed_kept import ROUND, keep_aside, waiting

if TYPE_CHECKING:
    from tui.app.binder_app import BinderApp

_TITLE: Final = "a round of readings"
_KEYS: Final = "Enter takes it, or skips it when nothing is typed   Esc ends the round"


@dataclass(slots=True)
class Round:
    """What was read so far; what is asked for now (None: all was) and what is typed there."""

    taken: list[Taken] = field(default_factory=list)
    now: tuple[int, str] | None = None
    typed: str = ""


async def walk(app: BinderApp) -> None:
    """Begin a round, or go on with one that was cut off."""
    before = next((one for one in waiting(app) if one.what == ROUND), None)
    if before is None:
        await _go_through(app, Round())
        return
    count = _count(len(_kept_round(before.data).taken))
    rows = [
        (True, line(" Go on with it ", (f" {count}, not saved yet", "label"))),
        (False, line(" Begin anew    ", (f" {count} dropped", "label"))),
    ]
    when = local_moment(before.at, app.zone)
    chosen = await app.ask(Choose(f"Your round of {when} was cut off.", rows))
    if chosen is True:
        await go_on(app, before)
    elif chosen is False:
        drop(before)
        await _go_through(app, Round())


async def go_on(app: BinderApp, before: Unsaved) -> None:
    """Go on with a round that was cut off, where it was."""
    await _go_through(app, _kept_round(before.data))


async def _go_through(app: BinderApp, tour: Round) -> None:
    """Ask for each value; nothing skips, Esc ends the round. What is read is saved at the end."""
    asked = usual(app.binder)
    if not asked:
        app.say("nothing is usually read here: no UPS, switch, circuit or rack is recorded")
        return
    keys = [(one.subject_id, one.quantity) for one in asked]
    for at in range(_first(keys, tour), len(asked)):
        tour.now = keys[at]
        _keep(app, tour)
        read, goes_on = await _value(app, tour, asked[at], f"{at + 1} of {len(asked)}")
        tour.typed = ""
        if read is not None:
            tour.taken.append(read)
        if not goes_on:
            break
    tour.now = None
    _keep(app, tour)
    await _save(app, tour, dict(zip(keys, asked, strict=True)))


def _first(keys: Sequence[tuple[int, str]], tour: Round) -> int:
    """Where to go on: where it was, or, where that is asked for no more, at what is not read."""
    if tour.now in keys:
        return keys.index(tour.now)
    if tour.taken and tour.now is None:
        return len(keys)
    read = {(one.subject_id, one.quantity) for one in tour.taken}
    return next((at for at, key in enumerate(keys) if key not in read), len(keys))


async def _save(app: BinderApp, tour: Round, asked: Mapping[tuple[int, str], Usual]) -> None:
    """Show what was read, and save it when told to."""
    taken = [one for one in tour.taken if (one.subject_id, one.quantity) in asked]
    gone = len(tour.taken) - len(taken)
    if not taken:
        drop(_unsaved(app, tour))
        app.say("nothing was read; nothing is saved")
        return
    about = [
        f"{asked[one.subject_id, one.quantity].subject}, {one.quantity}: "
        f"{shown(one.quantity, one.value, app.system)}"
        for one in taken
    ]
    left = f" {_count(gone)} of what is not here any more is left out." if gone else ""
    count = _count(len(taken))
    is_wanted = await app.ask(Ask(f"Save {count}?{left}", about))
    if is_wanted:
        ids = add(app.editor, taken)
        app.changed(written=ids[0])
    drop(_unsaved(app, tour))
    app.say(
        f"{count} saved; u takes all of it back"
        if is_wanted
        else f"{count} dropped; nothing is saved"
    )


async def _value(app: BinderApp, tour: Round, one: Usual, where: str) -> tuple[Taken | None, bool]:
    """The value typed, None for skipped, and whether the round goes on. A doubt asks once."""
    says = f"{where}; {_last(app, one)}"
    start, wrong = tour.typed, ""
    while True:
        question = AskLine(
            f"{one.subject}: {one.quantity}", wrong or says,
            start=start, may_be_empty=True, typed=_keeper(app, tour), keys=_KEYS,
        )  # fmt: skip
        answer = await app.ask(question)
        if not answer:
            return None, answer is not None
        try:
            value = value_of(one.quantity, answer, app.system)
        except ValueError as error:
            start, wrong = answer, f"! {error}"
            continue
        made = Taken(one.subject_id, one.quantity, value, format_moment(app.editor.clock()))
        doubt = doubts(app.binder, [made])
        if not doubt or await app.ask(Ask(f"{doubt[0].says}. Is it so?")):
            return replace(made, read_by=app.editor.who), True
        start, wrong = answer, ""


def _last(app: BinderApp, one: Usual) -> str:
    """What was read last, with the unit that a bare number is taken in."""
    if one.last_value is None:
        unit = symbol(one.quantity, app.system)
        return f"never read before{f'; a bare number is {unit}' if unit else ''}"
    on = local_moment(one.last_at, app.zone)[:10]
    return f"last {shown(one.quantity, one.last_value, app.system)}, {on}"


# Kept aside. ------------------------------------------------------------------------------


def _keeper(app: BinderApp, tour: Round) -> Callable[[str], None]:
    def typed(text: str) -> None:
        tour.typed = text
        _keep(app, tour)

    return typed


def _keep(app: BinderApp, tour: Round) -> None:
    if tour.taken or tour.typed:
        keep_aside(app, _unsaved(app, tour))
    else:
        drop(_unsaved(app, tour))


def _unsaved(app: BinderApp, tour: Round) -> Unsaved:
    at = format_moment(app.clock())
    return Unsaved(binder_id(app.binder), app.who, ROUND, _TITLE, at, asdict(tour))


def _kept_round(data: Mapping[str, Any]) -> Round:
    now = data["now"]
    taken = [Taken(**one) for one in data["taken"]]
    return Round(taken, (now[0], now[1]) if now else None, data["typed"])


def _count(readings: int) -> str:
    return f"{readings} reading{'s' if readings != 1 else ''}"
