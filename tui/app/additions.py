"""What can be added to a record: the kinds that can name it."""

from __future__ import annotations

from collections.abc import Hashable
from typing import TYPE_CHECKING

from binder.records.catalog import BY_NAME, references_to
from binder.records.fields import Field, Kind, Type
from binder.sheet import Sheet
from tui.app.ask import Choose
from tui.app.filing import TAKES_PORTS
from tui.app.lines import Line, line

if TYPE_CHECKING:
    from tui.app.binder_app import BinderApp

_SERIES = "ports in series"


def choose_addition(app: BinderApp, sheet: Sheet) -> None:
    """Ask what to add to the record of a sheet, then open its form with the record filled in."""
    choices: list[tuple[Hashable, Line]] = []
    if sheet.kind in TAKES_PORTS:
        choices.append((_SERIES, line(" Ports in series", ("  01..24 in one step", "label"))))
    fields = sorted(references_to(sheet.kind), key=lambda pair: _rank(*pair))
    for kind, field in fields:
        label = line(f" {kind.label}", (f"  as its '{field.label}'", "label"))
        choices.append(((kind.name, field.name), label))
    if not BY_NAME[sheet.kind].single:
        choices.append((sheet.kind, line(f" Another {BY_NAME[sheet.kind].label.lower()}")))

    def chosen(key: Hashable) -> None:
        with app.telling():
            if key == _SERIES:
                app.open_port_series(sheet.id)
            elif isinstance(key, tuple):
                app.open_new(BY_NAME[key[0]], {key[1]: sheet.id})
            elif isinstance(key, str):
                app.open_new(BY_NAME[key])

    app.push_screen(Choose(f"Add to {sheet.name}", choices), chosen)


def _rank(kind: Kind, field: Field) -> int:
    """Parts of the record first, then what names it, then what can concern anything."""
    if kind.owner is field:
        return 0
    return 1 if field.type is Type.REF else 2
