"""The sheet behind a row of headroom."""

from __future__ import annotations

from collections.abc import Sequence
from typing import ClassVar

from textual.binding import BindingType

from binder.headroom import Row
from tui.app.actions import WORKED, bindings
from tui.app.drawn_screen import RowScreen
from tui.app.fill_in import fill_in
from tui.app.headroom_lines import WorkedLine, title, worked
from tui.app.headroom_now import headroom_now
from tui.app.line_list import LineList
from tui.app.lines import Part
from tui.app.screen import BROAD


class HeadroomScreen(RowScreen[WorkedLine]):
    """The sum worked through. Enter fills in what is missing, or opens what a line names."""

    PLACE = WORKED
    BINDINGS: ClassVar[list[BindingType]] = bindings(WORKED)
    WIDE_FROM = BROAD

    def __init__(self, row: Row) -> None:
        super().__init__()
        self.asked = row
        self.reckoned: Row | None = row

    def title_parts(self) -> tuple[Sequence[Part], Sequence[Part]]:
        if self.reckoned is None:
            gone = f" {self.asked.resource} of {self.asked.where.name}: not reckoned any more"
            return (Part(gone, "bad"),), ()
        return title(self.reckoned)

    def reload(self) -> None:
        answer = headroom_now(self.binder_app)
        self.reckoned = next((row for row in answer.rows if row.key == self.asked.key), None)
        self.draw_rows()

    def drawn(self, width: int) -> Sequence[WorkedLine]:
        app = self.binder_app
        return worked(self.reckoned, app.system, app.zone, width) if self.reckoned else ()

    def subject(self) -> int | None:
        return self.reckoned.where.id if self.reckoned else None

    def looked_at(self) -> int | None:
        told = self.row
        if told is None:
            return None
        return told.need.id if told.need else told.target

    def action_what_if(self) -> None:
        from tui.app.what_if_screen import WhatIfScreen

        self.app.push_screen(WhatIfScreen())

    def on_line_list_chosen(self, event: LineList.Chosen) -> None:
        told, app = self.row, self.binder_app
        with app.telling():
            if told and told.need and app.read_only:
                app.open_record(told.need.id)
            elif told and told.need:
                fill_in(app, told.need)
            elif told and told.target:
                app.open_record(told.target)
