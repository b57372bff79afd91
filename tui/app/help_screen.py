"""What every key does: made from the table of actions."""

from __future__ import annotations

from collections.abc import Hashable, Sequence
from typing import ClassVar, Final

from textual.binding import BindingType

from tui.app.actions import (
    ASKED,
    BROKEN,
    FACE,
    FORM,
    FOUND,
    HELD,
    HELP,
    KNOWN,
    LACKING,
    LIST,
    LOST,
    MOVING,
    PAST,
    PATH,
    PLUGGING,
    QUARTER,
    RACK,
    REVIEWED,
    SCARCE,
    SHEET,
    SHELF,
    SHOWN,
    STAGED,
    SUPPOSED,
    TREE,
    WORKED,
    bindings,
    valid_in,
)
from tui.app.line_list import Rows
from tui.app.lines import Line, Part, fit, line
from tui.app.screen import BinderScreen

PLACES: Final = {
    LIST: "in a list",
    SHEET: "on a sheet",
    RACK: "at a rack",
    MOVING: "while carrying hardware",
    FORM: "in a form",
    FOUND: "while finding",
    ASKED: "in the palette",
    PATH: "on a trace",
    PAST: "in the history",
    SHOWN: "while a secret is shown",
    HELD: "at the envelope",
    KNOWN: "at what a person knows",
    TREE: "at the topology",
    SCARCE: "at the headroom",
    WORKED: "at a row of headroom",
    REVIEWED: "in a preview",
    QUARTER: "at the review",
    LACKING: "at the gaps",
    SUPPOSED: "in a what-if",
    LOST: "at an impact",
    BROKEN: "on a trouble page",
    STAGED: "at an order of starting",
    FACE: "at a face",
    PLUGGING: "with a cord in hand",
    SHELF: "at the shelf",
}
_WALKING: Final = (
    ("Up Down", "Walk the lines."),
    ("PgUp PgDn", "A page at a time; Home and End go to the ends."),
    ("Enter", "Open what the cursor stands on."),
)
# How to get anywhere, told before what is done there.
_FIRST: Final = {"divider(0)": 0, "next_kind": 1, "previous_kind": 2}
_WALKED_OTHERWISE: Final = (FORM, FOUND, ASKED, SHOWN, SUPPOSED, SHELF)
_WALKING_PORTS: Final = (
    ("Arrow keys", "Walk the ports; Home and End go to the first and the last."),
    ("Enter", "Open the sheet of the port."),
)


class HelpScreen(BinderScreen[None]):
    """The keys of the place one came from first, then those of the other places."""

    PLACE = HELP
    BINDINGS: ClassVar[list[BindingType]] = bindings(HELP)

    def __init__(self, came_from: str) -> None:
        super().__init__()
        self.came_from = came_from

    def title_parts(self) -> tuple[Sequence[Part], Sequence[Part]]:
        keys = self.main_list
        goes_on = keys.top + keys.height < len(keys.lines)
        told = "PgDn: more keys" if goes_on else "the last of them"
        return (Part(" What the keys do", "strong"),), (Part(told),)

    def reload(self) -> None:
        order = [self.came_from, *(place for place in PLACES if place != self.came_from)]
        rows: list[tuple[Hashable, Line]] = []
        for place in order:
            if place in PLACES:
                rows.append((place, line((f" Keys {PLACES[place]}", "head"))))
                rows += _rows(place, read_only=self.binder_app.read_only)
                rows.append(((place, "gap"), ()))
        self.main_list.show(Rows(rows))


def _rows(place: str, *, read_only: bool) -> list[tuple[Hashable, Line]]:
    others = {FACE: _WALKING_PORTS, PLUGGING: _WALKING_PORTS[:1], MOVING: _WALKING[:2]}
    told = list(others.get(place, _WALKING)) if place not in _WALKED_OTHERWISE else []
    valid = valid_in(place, read_only=read_only)
    for action in sorted(valid, key=lambda one: _FIRST.get(one.id, len(_FIRST))):
        if action.id == "divider(0)":
            told.append(("1..9, 0", "Turn to a divider of the binder."))
        elif not action.id.startswith("divider"):
            told.append((action.sign, action.sentence))
    return [
        ((place, at), line((f"  {fit(sign, 11)}", "strong"), sentence))
        for at, (sign, sentence) in enumerate(told)
    ]
