"""The palette: every action of the place one is in, and every kind of record, by name."""

from __future__ import annotations

from collections.abc import Callable, Hashable, Iterator, Sequence
from functools import partial
from typing import TYPE_CHECKING, Any, ClassVar

from textual.binding import BindingType

from binder.records.catalog import BY_NAME, KINDS
from binder.records.fields import Kind
from tui.app.actions import ASKED, IN_BINDER, bindings, valid_in
from tui.app.kind_words import many
from tui.app.line_list import Rows
from tui.app.lines import Part, fit, line
from tui.app.query_screen import QueryScreen
from tui.app.screen import BinderScreen

if TYPE_CHECKING:
    from tui.app.binder_app import BinderApp


Command = tuple[str, str, Callable[[], Any]]  # a title, its key, and what it does


def commands(app: BinderApp, screen: BinderScreen[Any]) -> Iterator[Command]:
    """What is offered on a screen: every action that is valid there, and every kind of record by
    name; hardware also by what it is called, a camera or a phone."""
    place = screen.place()
    for action in valid_in(place, read_only=app.read_only):
        if action.id != "palette" and screen.is_offered(action.id):
            title = action.sentence.removesuffix(".")
            yield title, action.sign, partial(app.run_action, action.id, screen)
    for kind in KINDS if place in IN_BINDER else ():
        yield many(kind), "", partial(app.turn_to, kind)
        if not app.read_only and not kind.single:
            yield f"New {kind.label.lower()}", "", partial(_add, app, screen, kind, {})
    hardware = BY_NAME["hardware"]
    for form in hardware.field("form").choices if place in IN_BINDER else ():
        if not app.read_only and form != "other":
            yield f"New {form}", "", partial(_add, app, screen, hardware, {"form": form})


def _add(app: BinderApp, screen: BinderScreen[Any], kind: Kind, given: dict[str, Any]) -> None:
    """Open the form of a new record, over the list it is going to stand in, not over another."""
    from tui.app.dividers import DividerScreen

    if isinstance(screen, DividerScreen):
        app.turn_to(kind)
    app.open_new(kind, given)


class PaletteScreen(QueryScreen):
    """Type words of what is to be done; Enter does it where one came from."""

    PLACE = ASKED
    BINDINGS: ClassVar[list[BindingType]] = bindings(ASKED)
    ASKS = " do "

    def __init__(self, came_from: BinderScreen[Any]) -> None:
        super().__init__()
        self.came_from = came_from

    def title_parts(self) -> tuple[Sequence[Part], Sequence[Part]]:
        return (
            (Part(" Everything that can be done here", "strong"),),
            (Part(f"{len(self.main_list.lines)}"),),
        )

    def reload(self) -> None:
        words = self.typed.casefold().split()
        offered = commands(self.binder_app, self.came_from)
        found = [
            (title, sign) for title, sign, _ in offered if all(w in title.casefold() for w in words)
        ]
        found.sort(key=lambda pair: not pair[0].casefold().startswith(self.typed.casefold()))
        rows = [(title, line((f"  {fit(sign, 8)}", "strong"), title)) for title, sign in found]
        self.main_list.empty = f" nothing is called '{self.typed}'"
        self.main_list.show(Rows(rows))

    def choose(self, key: Hashable) -> None:
        self.app.pop_screen()
        for title, _, do in commands(self.binder_app, self.came_from):
            if title == key:
                self.app.call_later(do)
                return
