"""Removing a record: one question that tells what goes with it and what loses a reference."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from typing import TYPE_CHECKING

from binder.dependents import Removal, removal
from binder.errors import Dependent
from binder.identifiers import natural_key
from binder.read import Record
from binder.records.catalog import BY_NAME
from tui.app.ask import Ask
from tui.app.kind_words import one

if TYPE_CHECKING:
    from tui.app.binder_app import BinderApp


def ask_to_remove(app: BinderApp, record: Record) -> None:
    """Ask, with a list of all that is concerned, then remove."""
    what = f"{one(record.kind)} {record.name}"
    concerned = removal(app.binder.connection, record.kind.name, record.id, record.name)

    def answered(yes: bool | None) -> None:
        if yes:
            with app.telling():
                _remove(app, record, what, with_dependents=bool(concerned.going))

    app.push_screen(Ask(_question(what, concerned), list(_told(concerned))), answered)


def _question(what: str, concerned: Removal) -> str:
    going, emptied = len(concerned.going), len(concerned.emptied)
    told = [f"Remove {what}?"]
    if going:
        hangs = "1 record hangs" if going == 1 else f"{going} records hang"
        told = [f"{hangs} on {what}. Remove all of them with it?"]
    if emptied:
        told.append(f"{'1 field is' if emptied == 1 else f'{emptied} fields are'} emptied.")
    return " ".join(told)


def _told(concerned: Removal) -> Iterator[str]:
    for each in _in_order(concerned.going):
        yield f"{BY_NAME[each.kind].label} {each.name}  (its {each.through.lower()})"
    for each in _in_order(concerned.emptied):
        kept = f"{BY_NAME[each.kind].label} {each.name}"
        yield f"{kept} stays: its {each.through.lower()} is emptied"


def _in_order(concerned: Iterable[Dependent]) -> list[Dependent]:
    order = list(BY_NAME)
    return sorted(concerned, key=lambda each: (order.index(each.kind), natural_key(each.name)))


def _remove(app: BinderApp, record: Record, what: str, *, with_dependents: bool) -> None:
    with app.editor.step(f"remove {what}") as step:
        step.remove(record.id, with_dependents=with_dependents)
    app.changed()
    app.say(f"removed {what}; u brings it back")
