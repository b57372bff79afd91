"""The sheet behind a row of headroom."""

from __future__ import annotations

from collections.abc import Hashable, Sequence
from typing import ClassVar

from textual.binding import BindingType

from binder.headroom import Row
from tui.app.actions import WORKED, bindings
from tui.app.fill_in import fill_in
from tui.app.headroom_lines import WorkedLine, title, worked
from tui.app.headroom_now import headroom_now
from tui.app.line_list import LineList, Rows
from tui.app.lines import Part
from tui.app.record_screen import RecordScreen
from tui.app.screen import BROAD


class HeadroomScreen(RecordScreen):
    """The sum worked through. Enter fills in what is missing, or opens what a line names."""

    PLACE = WORKED
    BINDINGS: ClassVar[list[BindingType]] = bindings(WORKED)
    WIDE_FROM = BROAD

    def __init__(self, row: Row) -> None:
        super().__init__()
        self.drawn_width = 0
        self.asked = row
        self.row: Row | None = row
        self.told: dict[Hashable, WorkedLine] = {}

    def title_parts(self) -> tuple[Sequence[Part], Sequence[Part]]:
        if self.row is None:
            gone = f" {self.asked.resource} of {self.asked.where.name}: not reckoned any more"
            return (Part(gone, "bad"),), ()
        return title(self.row)

    def reload(self) -> None:
        answer = headroom_now(self.binder_app)
        self.row = next((row for row in answer.rows if row.key == self.asked.key), None)
        self.draw_rows()

    def laid_out(self) -> None:
        if self.drawn_width != self.list_width:
            self.draw_rows()
        super().laid_out()

    def draw_rows(self) -> None:
        """Draw the sheet for the width there is."""
        width = self.drawn_width = self.list_width
        app = self.binder_app
        rows = worked(self.row, app.system, app.zone, width) if self.row and width else []
        self.told = {told.key: told for told in rows}
        self.main_list.show(Rows([(told.key, told.parts) for told in rows]))

    def subject(self) -> int | None:
        return self.row.where.id if self.row else None

    def looked_at(self) -> int | None:
        told = self.told.get(self.main_list.key)
        if told is None:
            return None
        return told.need.id if told.need else told.target

    def action_what_if(self) -> None:
        from tui.app.what_if_screen import WhatIfScreen

        self.app.push_screen(WhatIfScreen())

    def on_line_list_chosen(self, event: LineList.Chosen) -> None:
        told, app = self.told.get(event.source.key), self.binder_app
        with app.telling():
            if told and told.need and app.read_only:
                app.open_record(told.need.id)
            elif told and told.need:
                fill_in(app, told.need)
            elif told and told.target:
                app.open_record(told.target)
