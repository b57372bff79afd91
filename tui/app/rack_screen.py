"""A rack, drawn and walked with the arrow keys."""

from __future__ import annotations

from collections.abc import Hashable, Sequence
from dataclasses import replace
from typing import ClassVar

from textual.binding import BindingType

from binder.elevation import FACES, Elevation, elevation, other
from binder.errors import RequestError
from binder.read import read
from binder.sheet import sheet
from tui.app.actions import MOVING, RACK, bindings
from tui.app.drawn_screen import RowScreen
from tui.app.elevation import Held, RackRow, elevation_lines, elevation_title, rack_rows
from tui.app.line_list import LineList
from tui.app.lines import Line, Part


class RackScreen(RowScreen[RackRow]):
    """Enter opens the hardware at a U; f turns the rack; m carries hardware to another U, n puts
    something in, x takes it out."""

    PLACE = RACK
    HAS_DRAWING = True
    BINDINGS: ClassVar[list[BindingType]] = bindings(RACK) + bindings(MOVING)

    def __init__(self, rack_id: int, *, at: int | None = None) -> None:
        super().__init__()
        self.rack_id = rack_id
        self.go_to = at
        self.face = FACES[0]
        self.drawing: Elevation | None = None
        self.carried: Held | None = None

    # What is shown ----------------------------------------------------------------------

    def place(self) -> str:
        return MOVING if self.carried else RACK

    def title_parts(self) -> tuple[Sequence[Part], Sequence[Part]]:
        if self.drawing is None:
            return (Part(" this rack is not in the binder any more", "bad"),), ()
        if self.carried:
            return (Part(f" Carrying {self.carried.thing.name}: arrows move it", "strong"),), ()
        return elevation_title(self.drawing, self.face)

    def reload(self) -> None:
        app = self.binder_app
        try:
            self.drawing = elevation(app.binder, self.rack_id, app.today, with_power=True)
        except RequestError:
            self.drawing = None
        self.draw_rows()

    def stand_on(self, record_id: int) -> None:
        self.go_to = record_id

    def drawn(self, width: int) -> Sequence[RackRow]:
        if self.drawing is None:
            return ()
        sought = self.drawing.hardware(self.go_to)
        if sought and sought.is_placed and not sought.is_on(self.face):
            self._show_face(sought.face)
        return rack_rows(self.drawing, self.face, width, self.carried)

    def key_to_go_to(self) -> Hashable | None:
        if not self.rows or self.go_to is None:
            return None
        sought, self.go_to = self.go_to, None
        return next((key for key, row in self.rows.items() if row.target == sought), None)

    def drawing_lines(self, width: int, height: int) -> Sequence[Line]:
        """The other side of the rack."""
        if self.drawing is None:
            return ()
        return elevation_lines(self.drawing, other(self.face), width, height, at=self.subject())

    def subject(self) -> int | None:
        return self.row.target if self.row else None

    # Acting -----------------------------------------------------------------------------

    def on_line_list_moved(self, event: LineList.Moved) -> None:
        if self.carried and self.row and self.row.u and self.row.u != self.carried.u:
            self.carried = replace(self.carried, u=self.row.u)
            self.draw_rows()

    def on_line_list_chosen(self, event: LineList.Chosen) -> None:
        with self.binder_app.telling():
            if self.carried:
                self.action_drop()
            elif self.subject() is not None:
                self.binder_app.open_sheet(self.subject() or 0)
            else:
                self.say("nothing at this U; n puts something here")

    def _show_face(self, face: str) -> None:
        self.face = face
        if self.carried and self.carried.face != "both":
            self.carried = replace(self.carried, face=face)

    def action_face(self) -> None:
        self._show_face(other(self.face))
        self.reload()

    def action_facts(self) -> None:
        self.binder_app.open_sheet(self.rack_id)

    def action_history(self) -> None:
        self.binder_app.open_history(self.subject() or self.rack_id)

    def action_new(self) -> None:
        app = self.binder_app
        if app.kind_of(self.subject()) == "hardware":
            from tui.app.additions import choose_addition

            choose_addition(app, sheet(app.binder, self.subject() or 0, app.today))
        elif self.drawing and self.row and self.row.u:
            from tui.app.rack_work import put_in

            app.errand(put_in(app, self.drawing, self.row.u, self.face))

    def action_take_out(self) -> None:
        thing = self.drawing.hardware(self.subject()) if self.drawing else None
        if thing is None or self.drawing is None:
            self.say("stand on hardware to take it out of the rack")
            return
        from tui.app.rack_work import take_out

        self.binder_app.errand(take_out(self.binder_app, self.drawing, thing))

    # Carrying ---------------------------------------------------------------------------

    def action_move(self) -> None:
        thing = self.drawing.hardware(self.subject()) if self.drawing else None
        if thing is None or not thing.height_u:
            self.say("stand on hardware that takes a U to move it")
            return
        face = "both" if thing.face == "both" else self.face
        self.carried = Held(thing, thing.u or 1, face)
        self.draw_rows()
        self.main_list.show(self.main_list.lines, key=("u", self.carried.u))
        self.show_frame()

    def action_drop(self) -> None:
        """Put the carried hardware where it is held. It stays in hand when that cannot be."""
        held, app = self.carried, self.binder_app
        if held is None:
            return
        record = read(app.binder, held.thing.id)
        place = {"u_position": held.u, "face": held.face}
        with app.editor.step(f"move {record.name} to U {held.u} of {self.title_name}") as step:
            step.change(record.id, place, seen=record.position)
        self.carried = None
        app.changed()
        self.reload()
        self.say(f"{record.name} is at U {held.u}; u takes it back")

    @property
    def title_name(self) -> str:
        return self.drawing.name if self.drawing else ""

    def action_let_go(self) -> None:
        self.carried = None
        self.reload()
        self.show_frame()
