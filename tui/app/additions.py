"""What can be added to a record: the kinds that can name it."""

from __future__ import annotations

from collections.abc import Hashable
from typing import TYPE_CHECKING

from binder.records.catalog import BY_NAME, references_to
from binder.records.fields import Field, Kind, Type
from binder.sheet import Sheet
from tui.app.ask import Choose
from tui.app.filing import TAKES_PORTS
from tui.app.kind_words import JOINED, many
from tui.app.lines import Line, line

if TYPE_CHECKING:
    from tui.app.binder_app import BinderApp

_SERIES = "ports in series"
_FROM_HERE = "  from these ports to as many others"


def choose_addition(app: BinderApp, sheet: Sheet) -> None:
    """Ask what to add to the record of a sheet, then open its form with the record filled in."""
    choices: list[tuple[Hashable, Line]] = []
    if sheet.kind in TAKES_PORTS:
        choices.append((_SERIES, line(" Ports in series", ("  01..24 in one step", "label"))))
        if _has_ports(app, sheet.id):
            choices += [
                ((_SERIES, name), line(f" {many(BY_NAME[name])} in series", (_FROM_HERE, "label")))
                for name in JOINED
            ]
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
            elif isinstance(key, tuple) and key[0] == _SERIES:
                open_series(app, BY_NAME[key[1]], f"{sheet.name}:*")
            elif isinstance(key, tuple):
                app.open_new(BY_NAME[key[0]], {key[1]: sheet.id})
            elif isinstance(key, str):
                app.open_new(BY_NAME[key])

    app.push_screen(Choose(f"Add to {sheet.name}", choices), chosen)


def choose_new(app: BinderApp, kind: Kind) -> None:
    """Ask whether one link (or cord) is meant or many between two ranges of ports."""
    choices: list[tuple[Hashable, Line]] = [
        (False, line(f" One {kind.label.lower()}")),
        (True, line(f" {many(kind)} in series", ("  1A-A:01..24 to 201-1:A, ...", "label"))),
    ]

    def chosen(series: Hashable) -> None:
        with app.telling():
            if series:
                open_series(app, kind)
            elif series is not None:
                app.open_new(kind)

    app.push_screen(Choose(f"New {kind.label.lower()}", choices), chosen)


def open_series(app: BinderApp, kind: Kind, ports_a: str = "") -> None:
    """The form of links or cords in series."""
    app.open_join(kind, ports_a)


def _has_ports(app: BinderApp, hardware_id: int) -> bool:
    sql = "SELECT 1 FROM port WHERE hardware_id = ? LIMIT 1"
    return app.binder.connection.execute(sql, (hardware_id,)).fetchone() is not None


def _rank(kind: Kind, field: Field) -> int:
    """Parts of the record first, then what names it, then what can concern anything."""
    if kind.owner is field:
        return 0
    return 1 if field.type is Type.REF else 2
