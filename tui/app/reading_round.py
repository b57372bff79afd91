"""A round of readings: all that is usually read, one after the other, saved in one step."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from binder.engineering.figures import plain
from binder.readings import Taken, Usual, add, doubts, usual, value_of
from binder.records.dates import format_moment, local_moment
from tui.app.ask import Ask, AskLine

if TYPE_CHECKING:
    from tui.app.binder_app import BinderApp


async def walk(app: BinderApp) -> None:
    """Ask for each value; nothing skips, Esc ends the round. What is read is saved at the end."""
    asked = usual(app.binder)
    if not asked:
        app.say("nothing is usually read here: no UPS, switch, circuit or rack is recorded")
        return
    taken: list[Taken] = []
    for at, one in enumerate(asked, 1):
        read, goes_on = await _value(app, one, f"{at} of {len(asked)}")
        if read is not None:
            taken.append(read)
        if not goes_on:
            break
    if not taken:
        app.say("nothing was read; nothing is saved")
        return
    count = f"{len(taken)} reading{'s' if len(taken) > 1 else ''}"
    names = {(one.subject_id, one.quantity): one.subject for one in asked}
    about = [
        f"{names[one.subject_id, one.quantity]}, {one.quantity}: {plain(one.value)}"
        for one in taken
    ]
    if not await app.ask(Ask(f"Save {count}?", about)):
        app.say(f"{count} dropped; nothing is saved")
        return
    ids = add(app.editor, taken)
    app.changed(written=ids[0])
    app.say(f"{count} saved; u takes all of it back")


async def _value(app: BinderApp, one: Usual, where: str) -> tuple[Taken | None, bool]:
    """The value typed, None for skipped, and whether the round goes on. A doubt asks once."""
    last = "never read before"
    if one.last_value is not None:
        on = local_moment(one.last_at, app.zone)[:10]
        last = f"last {plain(one.last_value)}, {on}"
    says = f"{where}; {last}. Enter on nothing skips it, Esc ends the round."
    start, wrong = "", ""
    while True:
        answer = await app.ask(
            AskLine(f"{one.subject}: {one.quantity}", wrong or says, start=start, may_be_empty=True)
        )
        if not answer:
            return None, answer is not None
        try:
            value = value_of(one.quantity, answer, app.system)
        except ValueError as error:
            start, wrong = answer, str(error)
            continue
        made = Taken(one.subject_id, one.quantity, value, format_moment(app.editor.clock()))
        doubt = doubts(app.binder, [made])
        if not doubt or await app.ask(Ask(f"{doubt[0].says}. Is it so?")):
            return replace(made, read_by=app.editor.who), True
        start, wrong = answer, says
