"""Removing a record, and what hangs on it when that is agreed to."""

from __future__ import annotations

from typing import TYPE_CHECKING

from binder.errors import HangsOnError
from binder.identifiers import natural_key
from binder.read import Record
from binder.records.catalog import BY_NAME
from tui.app.ask import Ask

if TYPE_CHECKING:
    from tui.app.binder_app import BinderApp


def ask_to_remove(app: BinderApp, record: Record) -> None:
    """Ask, then remove; when others hang on it, list them and ask again."""
    what = f"{record.kind.label.lower()} {record.name}"

    def answered(yes: bool | None) -> None:
        if yes:
            with app.telling():
                try:
                    _remove(app, record, what, with_dependents=False)
                except HangsOnError as error:
                    _ask_for_all(app, record, what, error)

    app.push_screen(Ask(f"Remove {what}?"), answered)


def _ask_for_all(app: BinderApp, record: Record, what: str, error: HangsOnError) -> None:
    def answered(yes: bool | None) -> None:
        if yes:
            with app.telling():
                _remove(app, record, what, with_dependents=True)

    order = list(BY_NAME)
    sorted_ones = sorted(
        error.dependents, key=lambda one: (order.index(one.kind), natural_key(one.name))
    )
    hanging = [
        f"{BY_NAME[one.kind].label} {one.name}  (its {one.through.lower()})" for one in sorted_ones
    ]
    count = "1 record hangs" if len(hanging) == 1 else f"{len(hanging)} records hang"
    app.push_screen(Ask(f"{count} on {what}. Remove all of them with it?", hanging), answered)


def _remove(app: BinderApp, record: Record, what: str, *, with_dependents: bool) -> None:
    with app.editor.step(f"remove {what}") as step:
        step.remove(record.id, with_dependents=with_dependents)
    app.changed()
    app.say(f"removed {what}; u brings it back")
