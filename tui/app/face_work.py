"""The errands at a face: what asks a question before it is written."""

from __future__ import annotations

from collections.abc import Sequence
from functools import partial
from typing import TYPE_CHECKING

from binder.errors import RequestError
from binder.faces import FacePort, beside
from binder.patching import doubts, mark_bad, plug_in, set_aside, unplug
from binder.read import Record, resolve
from binder.records.catalog import BY_NAME
from tui.app.ask import Ask, AskLine
from tui.app.ask_offered import AskOffered
from tui.app.suggestions import Suggestion, suggest

if TYPE_CHECKING:
    from tui.app.binder_app import BinderApp
    from tui.app.face_screen import FaceScreen

_HARDWARE = BY_NAME["port"].field("hardware")


async def plug(screen: FaceScreen, near: FacePort, far: FacePort) -> None:
    """Plug the cord in, once what speaks against it is agreed to."""
    app = screen.binder_app
    against = doubts(near, far)
    if against and not await app.ask(Ask("Plug it in all the same?", against)):
        return
    cord: Record = plug_in(app.editor, near, far, app.today)
    screen.plugged(near, cord)
    app.changed()
    app.say(f"{cord.name}: {near.name} to {far.name}; e: its length and colour, u takes it out")


async def pull(app: BinderApp, port: FacePort) -> None:
    """Unplug what is in a port, once it is agreed to."""
    cord = port.cord
    if cord is None:
        raise RequestError(f"no cord is in {port.name}")
    used = f" ({port.current_use})" if port.current_use else ""
    ends = f"between {port.name}{used} and {cord.far_name}"
    if await app.ask(Ask(f"Unplug cord {cord.name} {ends}?")):
        unplug(app.editor, cord)
        app.changed()
        app.say(f"{cord.name} is out; {port.name} and {cord.far_name} are free; u plugs it in")


async def reserve(app: BinderApp, port: FacePort) -> None:
    """Ask what a port is kept for; an empty answer sets it free."""
    says = "Empty: for nothing any more." if port.reserved_for else ""
    asked = AskLine(
        f"Reserve {port.name} for what?", says,
        start=port.reserved_for, may_be_empty=bool(port.reserved_for),
    )  # fmt: skip
    purpose = await app.ask(asked)
    if purpose is None:
        return
    set_aside(app.editor, port, purpose)
    app.changed()
    told = f"reserved for {purpose}" if purpose else "not reserved any more"
    app.say(f"{port.name} is {told}; u takes that back")


async def condemn(app: BinderApp, port: FacePort) -> None:
    """Ask what is wrong with a port, then mark it bad."""
    asked = AskLine(f"What is wrong with {port.name}?", "Such as: bent contact, pin 4")
    reason = await app.ask(asked)
    if reason:
        mark_bad(app.editor, port, reason, app.today)
        app.changed()
        app.say(f"{port.name} is bad: {reason}; m: good again")


async def go_elsewhere(screen: FaceScreen) -> None:
    """Ask for other hardware, to plug the cord in there."""
    app = screen.binder_app
    question = AskOffered(
        "Plug it in at which hardware?",
        "Part of its name: a switch, a panel, an outlet.",
        offers=partial(_hardware, app, screen.hardware_id),
        check=partial(_wrong, app),
    )
    answer = await app.ask(question)
    if answer:
        screen.show_hardware(resolve(app.binder, answer, "hardware").id)


def _hardware(app: BinderApp, here: int, typed: str) -> Sequence[Suggestion]:
    if typed:
        return suggest(app.binder, _HARDWARE, typed)
    near = [one for one in beside(app.binder, here) if one.id != here]
    return [Suggestion(one.name, f"{one.form}, {one.ports} ports") for one in near]


def _wrong(app: BinderApp, answer: str) -> str:
    try:
        found = resolve(app.binder, answer, "hardware")
    except RequestError as error:
        return str(error)
    sql = "SELECT 1 FROM port WHERE hardware_id = ? AND status <> 'removed' LIMIT 1"
    has_ports = app.binder.connection.execute(sql, (found.id,)).fetchone()
    return "" if has_ports else f"{found.name} has no ports recorded"
