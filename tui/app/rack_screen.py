"""A rack, drawn and walked with the arrow keys."""

from __future__ import annotations

from collections.abc import Hashable, Sequence
from typing import ClassVar

from textual.binding import BindingType

from binder.errors import RequestError
from binder.read import read
from binder.records.catalog import BY_NAME
from binder.sheet import sheet
from tui.app.actions import MOVING, RACK, bindings
from tui.app.ask import Choose
from tui.app.elevation import (
    FACES,
    Elevation,
    Mounted,
    RackRow,
    elevation,
    elevation_title,
    held_at,
    rack_rows,
)
from tui.app.line_list import LineList, Rows
from tui.app.lines import Line, Part, line
from tui.app.record_screen import RecordScreen


class RackScreen(RecordScreen):
    """Enter opens the hardware at a U; f turns the rack; m carries hardware to another U."""

    PLACE = RACK
    BINDINGS: ClassVar[list[BindingType]] = bindings(RACK) + bindings(MOVING)

    def __init__(self, rack_id: int, *, at: int | None = None) -> None:
        super().__init__()
        self.drawn_width = 0
        self.rack_id = rack_id
        self.go_to = at
        self.face = FACES[0]
        self.drawing: Elevation | None = None
        self.rows: dict[Hashable, RackRow] = {}
        self.carried: Mounted | None = None

    # What is shown ----------------------------------------------------------------------

    def place(self) -> str:
        return MOVING if self.carried else RACK

    def title_parts(self) -> tuple[Sequence[Part], Sequence[Part]]:
        if self.drawing is None:
            return (Part(" this rack is not in the binder any more", "bad"),), ()
        if self.carried:
            return (Part(f" Carrying {self.carried.name}: arrows move it", "strong"),), ()
        return elevation_title(self.drawing)

    def reload(self) -> None:
        binder = self.binder_app.binder
        try:
            self.drawing = elevation(binder, self.rack_id, self.face)
        except RequestError:
            self.drawing = None
        self.draw_rows()

    def stand_on(self, record_id: int) -> None:
        self.go_to = record_id

    def laid_out(self) -> None:
        if self.drawn_width != self.list_width:
            self.draw_rows()
        super().laid_out()

    def draw_rows(self) -> None:
        """Draw the rack for the width there is."""
        width = self.drawn_width = self.list_width
        rows = rack_rows(self.drawing, width, self.carried) if self.drawing and width else []
        self.rows = {row.key: row for row in rows}
        key = None
        if rows and self.go_to is not None:
            key = self._first_row_of(self.go_to)
            self.go_to = None
        self.main_list.show(Rows([(row.key, row.parts) for row in rows]), key=key)

    def _first_row_of(self, hardware_id: int) -> Hashable | None:
        for face in (self.face, FACES[1]):
            if self.drawing and any(
                one.id == hardware_id and one.is_placed for one in self.drawing.on_face(face)
            ):
                if face != self.face:
                    self.turn(face)
                break
        return next((key for key, row in self.rows.items() if row.target == hardware_id), None)

    @property
    def row(self) -> RackRow | None:
        return self.rows.get(self.main_list.key)

    def subject(self) -> int | None:
        return self.row.target if self.row else None

    # Acting -----------------------------------------------------------------------------

    def on_line_list_moved(self, event: LineList.Moved) -> None:
        if self.carried and self.row and self.row.u and self.row.u != self.carried.u:
            self.carried = held_at(self.carried, self.row.u, self.face)
            self.draw_rows()

    def on_line_list_chosen(self, event: LineList.Chosen) -> None:
        with self.binder_app.telling():
            if self.carried:
                self.action_drop()
            elif self.subject() is not None:
                self.binder_app.open_sheet(self.subject() or 0)
            else:
                self.say("nothing at this U; n puts something here")

    def turn(self, face: str) -> None:
        self.face = face
        if self.carried and self.carried.u:
            self.carried = held_at(self.carried, self.carried.u, face)
        self.reload()

    def action_face(self) -> None:
        self.turn(FACES[1 - FACES.index(self.face)])

    def action_facts(self) -> None:
        self.binder_app.open_sheet(self.rack_id)

    def action_history(self) -> None:
        self.binder_app.open_history(self.subject() or self.rack_id)

    def action_new(self) -> None:
        app = self.binder_app
        if self.subject() is not None:
            from tui.app.additions import choose_addition

            choose_addition(app, sheet(app.binder, self.subject() or 0, app.today))
            return
        u = self.row.u if self.row else None
        choices: list[tuple[Hashable, Line]] = [
            ("hardware", line(" Hardware here")),
            ("reservation", line(" A reservation: keep these units for something")),
        ]

        def chosen(key: Hashable) -> None:
            with app.telling():
                if key == "hardware":
                    app.open_new(BY_NAME["hardware"], self._place_at(u))
                elif key == "reservation":
                    app.open_new(BY_NAME["reservation"], self._reserve_at(u))

        self.app.push_screen(Choose(f"U {u} is free on the {self.face}", choices), chosen)

    def _place_at(self, u: int | None) -> dict[str, object]:
        return {"rack": self.rack_id, "u_position": u, "height_u": 1, "face": self.face}

    def _reserve_at(self, u: int | None) -> dict[str, object]:
        return {"subject": self.rack_id, "resource": "rack units", "quantity": 1.0,
                "u_position": u, "face": self.face}  # fmt: skip

    # Carrying ---------------------------------------------------------------------------

    def action_move(self) -> None:
        held = None
        if self.drawing:
            held = next((one for one in self.drawing.mounted if one.id == self.subject()), None)
        if held is None or not held.height_u:
            self.say("stand on hardware that takes a U to move it")
            return
        self.carried = held if held.u else held_at(held, 1, self.face)
        self.draw_rows()
        self.main_list.show(self.main_list.lines, key=("u", self.carried.u))
        self.show_frame()

    def action_drop(self) -> None:
        """Put the carried hardware where it is held. It stays in hand when that cannot be."""
        held, app = self.carried, self.binder_app
        if held is None:
            return
        record = read(app.binder, held.id)
        place = {"u_position": held.u, "face": held.face}
        with app.editor.step(f"move {held.name} to U {held.u} of {self.title_name}") as step:
            step.change(held.id, place, seen=record.position)
        self.carried = None
        app.changed()
        self.reload()
        self.say(f"{held.name} is at U {held.u}; u takes it back")

    @property
    def title_name(self) -> str:
        return self.drawing.name if self.drawing else ""

    def action_let_go(self) -> None:
        self.carried = None
        self.reload()
        self.show_frame()
