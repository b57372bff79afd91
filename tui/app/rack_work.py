"""The errands at a rack: put in what is in the binder already, take hardware out."""

from __future__ import annotations

from collections.abc import Hashable, Iterator, Sequence
from typing import TYPE_CHECKING, Final

from binder.elevation import Elevation, Mounted, Reserved, what_it_is
from binder.errors import RequestError
from binder.file import BinderFile
from binder.rack_room import units
from binder.read import Record, read, resolve
from binder.records.catalog import BY_NAME
from tui.app.ask import Ask, Choose
from tui.app.ask_offered import AskOffered
from tui.app.lines import Line, line
from tui.app.suggestions import MOST, Suggestion, suggest

if TYPE_CHECKING:
    from tui.app.binder_app import BinderApp

_CHOICES: Final[Sequence[tuple[Hashable, Line]]] = (
    ("new", line(" New hardware here")),
    ("there", line(" Hardware that is in the binder already", ("  choose by typing", "label"))),
    ("keep", line(" A reservation: keep these units for something")),
)
# What stands nowhere, or in this rack at no U: offered before anything is typed.
_AT_HAND = """
SELECT id FROM hardware WHERE status <> 'removed' AND u_position IS NULL
  AND (rack_id = ?1 OR (rack_id IS NULL AND height_u > 0)
       OR (rack_id IS NULL AND space_id IS NULL AND place IS NULL))
ORDER BY coalesce(rack_id, 0) = ?1 DESC, coalesce(height_u, 0) > 0 DESC, identifier LIMIT ?2"""


async def put_in(app: BinderApp, rack: Elevation, u: int, side: str) -> None:
    """Ask what goes to a U, and put it there."""
    kept = rack.face(side).at(u).thing
    told = f"U {u} is free on the {side}"
    if isinstance(kept, Reserved):
        told = f"U {u} is kept for {kept.name}"
    match await app.ask(Choose(told, _CHOICES)):
        case "new":
            place = {"rack": rack.id, "u_position": u, "height_u": 1, "face": side}
            app.open_new(BY_NAME["hardware"], place)
        case "keep":
            place = {"subject": rack.id, "resource": "rack units", "quantity": 1.0,
                     "u_position": u, "face": side}  # fmt: skip
            app.open_new(BY_NAME["reservation"], place)
        case "there":
            await _put_existing(app, rack, u, side)


async def _put_existing(app: BinderApp, rack: Elevation, u: int, side: str) -> None:
    def offers(text: str) -> Sequence[Suggestion]:
        return tuple(_offered(app, rack, text))[:MOST]

    def fault(answer: str) -> str:
        try:
            resolve(app.binder, answer, "hardware")
        except RequestError as error:
            return str(error)
        return ""

    asked = AskOffered(
        f"Put what at U {u} of {rack.name} {side}?",
        "Its name, or part of it. It leaves the place it has now.",
        offers=offers,
        check=fault,
    )
    answer = await app.ask(asked)
    if not answer:
        return
    record = read(app.binder, resolve(app.binder, answer, "hardware").id)
    height_u = record["height_u"] or 1
    place = {"rack": rack.id, "u_position": u, "height_u": height_u, "face": side, "space": None}
    with app.editor.step(f"put {record.name} at U {u} of {rack.name}") as step:
        step.change(record.id, place, seen=record.position)
    app.changed(written=record.id)
    where = units(u, u + height_u - 1)
    app.say(f"{record.name} is at U {where} of {rack.name}; u takes it back")


def _offered(app: BinderApp, rack: Elevation, text: str) -> Iterator[Suggestion]:
    binder = app.binder
    if text:
        field = BY_NAME["inlet"].field("fed_by")  # any field that takes hardware
        found = (resolve(binder, one.text, "hardware").id for one in suggest(binder, field, text))
    else:
        rows = binder.connection.execute(_AT_HAND, (rack.id, MOST)).fetchall()
        found = (row[0] for row in rows)
    for hardware_id in found:
        record = read(binder, hardware_id)
        what = what_it_is(record["form"], record["description"] or "")
        yield Suggestion(record.name, f"{what}, {_place(binder, record)}")


def _place(binder: BinderFile, hardware: Record) -> str:
    """Where hardware is now, in a few words."""
    if hardware["rack"] is not None:
        rack, u = read(binder, hardware["rack"]).name, hardware["u_position"]
        return f"in {rack} at no U" if u is None else f"in {rack} U {u}"
    if hardware["space"] is not None:
        return f"in {read(binder, hardware['space']).name}"
    return hardware["place"] or "in no place"


async def take_out(app: BinderApp, rack: Elevation, thing: Mounted) -> None:
    """Take hardware out of its rack; its record, its ports and its cords stay."""
    patched = f" {thing.patched} of its {thing.ports} ports are patched: the cords stay in them."
    told = patched if thing.patched else ""
    question = f"Take {thing.name} out of {rack.name}? Its record stays, in no place.{told}"
    if not await app.ask(Ask(question)):
        return
    seen = read(app.binder, thing.id).position
    with app.editor.step(f"take {thing.name} out of {rack.name}") as step:
        step.change(thing.id, {"rack": None, "u_position": None}, seen=seen)
    app.changed()
    app.say(f"{thing.name} is out of {rack.name}; u takes it back, n at a free U puts it in")
