"""The palette: every action of the place one is in, and every kind of record, by name."""

from __future__ import annotations

from collections.abc import Hashable, Sequence
from typing import Any, ClassVar

from textual.binding import BindingType

from tui.app.actions import ASKED, bindings
from tui.app.line_list import Rows
from tui.app.lines import Part, fit, line
from tui.app.query_screen import QueryScreen
from tui.app.screen import BinderScreen


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
        offered = self.binder_app.commands(self.came_from)
        found = [
            (title, sign) for title, sign, _ in offered if all(w in title.casefold() for w in words)
        ]
        found.sort(key=lambda pair: not pair[0].casefold().startswith(self.typed.casefold()))
        rows = [(title, line((f"  {fit(sign, 8)}", "strong"), title)) for title, sign in found]
        self.main_list.empty = f" nothing is called '{self.typed}'"
        self.main_list.show(Rows(rows))

    def choose(self, key: Hashable) -> None:
        self.app.pop_screen()
        for title, _, do in self.binder_app.commands(self.came_from):
            if title == key:
                self.app.call_later(do)
                return
