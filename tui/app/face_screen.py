"""The face of hardware, walked port by port: look, patch, unplug, set aside, mark."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import ClassVar, Final

from textual.binding import BindingType
from textual.containers import Horizontal, Vertical
from textual.widget import Widget

from binder.errors import RequestError
from binder.faces import Face, FacePort, beside, face, others
from binder.patching import mark_good, must_be_free
from binder.read import Record
from binder.sheet import sheet
from tui.app.actions import FACE, PLUGGING, bindings
from tui.app.face_about import LABELS, about
from tui.app.face_lines import FAR, HELD, draw, legend
from tui.app.face_view import ChangingLines, FaceView
from tui.app.line_list import Drawing
from tui.app.lines import Part
from tui.app.record_screen import RecordScreen
from tui.app.secrets_of import secrets_of

TWO_FACES_FROM: Final = 40  # rows: from here on the face at the other end is drawn too
_ABOUT: Final = 10  # rows kept for what is told of the port
_LEAST_FACE: Final = 6


class FaceScreen(RecordScreen):
    """The arrow keys walk the ports; what is told below is about the one under the cursor."""

    PLACE = FACE
    BINDINGS: ClassVar[list[BindingType]] = bindings(FACE) + bindings(PLUGGING)
    HAS_PREVIEW = False
    AUTO_FOCUS = "#face"
    NOTHING = "no port here; n makes a series of them"

    def __init__(self, hardware_id: int, *, at: int | None = None) -> None:
        super().__init__()
        self.hardware_id = hardware_id
        self.go_to = at
        self.is_rear = False
        self.face: Face | None = None
        self.far_id: int | None = None  # the hardware at the other end, shown below
        self.held: FacePort | None = None  # where the cord in hand begins
        self.held_on = 0
        self.cord_id: int | None = None  # plugged in just now: e is about it
        self.stood_on: dict[int, int] = {}  # the port last stood on, by hardware

    def compose_body(self) -> Iterable[Widget]:
        with Vertical(id="main"):
            yield FaceView(id="face")
            yield Drawing(id="legend")
            yield FaceView(id="far", is_walked=False)
            with Horizontal(id="told"):
                yield ChangingLines(id="labels")
                yield ChangingLines(id="about")

    # What is shown ----------------------------------------------------------------------

    def place(self) -> str:
        return PLUGGING if self.held else FACE

    def title_parts(self) -> tuple[Sequence[Part], Sequence[Part]]:
        if self.face is None:
            return (Part(" this hardware is not in the binder any more", "bad"),), ()
        if self.held:
            return (Part(f" Cord from {self.held.name}, to: {self.face.name}", "strong"),), ()
        side = "rear" if self.is_rear else "front"
        return (Part(" Face of "), Part(self.face.name, "strong")), (
            Part(f"{side}, {self.face.arrangement.words}"),
        )

    @property
    def view(self) -> FaceView:
        return self.query_one("#face", FaceView)

    @property
    def port(self) -> FacePort | None:
        """The port under the cursor."""
        return self.face.port(self.view.port_id) if self.face else None

    def reload(self) -> None:
        self.face = None
        self.face = self._face_of(self.hardware_id)
        self.draw_face()

    def _face_of(self, hardware_id: int) -> Face:
        app = self.binder_app
        return face(app.binder, hardware_id, app.arranged.get(hardware_id))

    def stand_on(self, record_id: int) -> None:
        if self.binder_app.kind_of(record_id) == "port":
            self.go_to = record_id

    def laid_out(self) -> None:
        self.draw_face()
        super().laid_out()

    def draw_face(self) -> None:
        """Draw the face for the room there is, then what hangs on the port under the cursor."""
        if self.face is None or not self.size.width:
            return
        width, marks = self.size.width, {}
        if self.held:
            marks[self.held.id] = HELD
        drawing = draw(self.face, width, is_rear=self.is_rear, marks=marks)
        told = legend(self.face, width, is_rear=self.is_rear)
        room = max(self.size.height - 2 - len(told) - _ABOUT, 4)
        self.view.styles.height = min(len(drawing.lines), room)
        self.view.show(drawing, self.go_to)
        self.go_to = None
        counts = self.query_one("#legend", Drawing)
        counts.styles.height = len(told)
        counts.show(told)
        self.show_port()

    def show_port(self) -> None:
        """Tell about the port under the cursor, and show its other end where there is room."""
        labels, lines = (
            self.query_one("#labels", ChangingLines),
            self.query_one("#about", ChangingLines),
        )
        if self.port is None:
            labels.show(())
            lines.show(())
            return
        self.stood_on[self.hardware_id] = self.port.id
        room, system = self.size.width - LABELS, self.binder_app.system
        named, told = about(self.port, room, system, is_rear=self.is_rear)
        labels.show(named)
        lines.show(told)
        self._show_far(self.port)

    def _show_far(self, port: FacePort) -> None:
        """The face at the other end; where the port has none, the one shown last stays."""
        far, end = self.query_one("#far", FaceView), port.link if self.is_rear else port.cord
        if self.size.height < TWO_FACES_FROM:
            far.display = False
            return
        mark = {end.far_id or 0: FAR} if end else {}
        if end and end.far_hardware_id:
            self.far_id = end.far_hardware_id
        if self.held:
            self.far_id, mark = self.held_on, {self.held.id: HELD}
        is_here = self.far_id == self.hardware_id and self.held is not None
        if self.far_id is None or is_here or not self.binder_app.kind_of(self.far_id):
            far.display = False
            return
        drawing = draw(self._face_of(self.far_id), self.size.width, marks=mark)
        height = max(len(drawing.lines), _LEAST_FACE)  # what is told below does not jump
        far.display = self.size.height - 3 - _ABOUT - len(self.view.face.lines) >= height
        far.styles.height = height
        far.show(drawing)

    def on_face_view_moved(self, event: FaceView.Moved) -> None:
        self.cord_id = None
        self.show_port()

    def on_face_view_chosen(self, event: FaceView.Chosen) -> None:
        with self.binder_app.telling():
            if self.held:
                self.action_plug_in()
            elif self.port is not None:
                self.binder_app.open_sheet(self.port.id)
            else:
                self.say(self.NOTHING)

    # What is pointed at -----------------------------------------------------------------

    def subject(self) -> int | None:
        return self.port.id if self.port else None

    def is_offered(self, action_id: str) -> bool:
        if action_id == "reveal":  # the login of the switch, wherever on it one stands
            app = self.binder_app
            return not app.read_only and bool(secrets_of(app.binder, self.hardware_id))
        if action_id == "turn_face":
            return self.face is not None and self.face.is_passive
        return super().is_offered(action_id)

    def action_reveal(self) -> None:
        from tui.app.revealing import reveal

        self.binder_app.errand(reveal(self.binder_app, self.hardware_id))

    def action_edit(self) -> None:
        if self.cord_id is not None:
            self.binder_app.open_edit(self.cord_id, "length_m")
        elif self.port is not None:
            self.binder_app.open_edit(self.port.id)
        else:
            self.say(self.NOTHING)

    def action_new(self) -> None:
        from tui.app.additions import choose_addition

        app = self.binder_app
        choose_addition(app, sheet(app.binder, self.hardware_id, app.today))

    def action_history(self) -> None:
        self.binder_app.open_history(self.subject() or self.hardware_id)

    # Turning ----------------------------------------------------------------------------

    def action_turn_face(self) -> None:
        if self.face is None or not self.face.is_passive:
            self.say("nothing is terminated at its rear: cable goes in at the front only")
            return
        self.is_rear = not self.is_rear
        self.reload()
        self.show_frame()

    def action_arrange(self) -> None:
        """Another number of rows, or another order, for this session."""
        if self.face is None:
            return
        known = others(len(self.face.ports))
        now = self.face.arrangement
        after = known[(known.index(now) + 1) % len(known)] if now in known else known[0]
        self.binder_app.arranged[self.hardware_id] = after
        self.go_to = self.subject()
        self.reload()
        self.show_frame()
        self.say(f"{after.words}, for now; its sheet keeps it: Face rows, Face order")

    def show_hardware(self, hardware_id: int, *, at: int | None = None) -> None:
        """Look at other hardware, at a port of it: with a cord in hand at the first that is spare,
        else where one stood last."""
        self.hardware_id, self.is_rear, self.cord_id = hardware_id, False, None
        self.go_to = at or self.stood_on.get(hardware_id)
        if self.held:
            ports = self._face_of(hardware_id).ports
            spare = (port.id for port in ports if port.state == "spare" and port.id != self.held.id)
            self.go_to = next(spare, self.go_to)
        self.reload()
        self.show_frame()
        self.binder_app.attach_to_call([hardware_id], "opened")

    def action_next_face(self, by: int) -> None:
        """The face below (or above) in the same rack, from the last to the first."""
        ids = [one.id for one in beside(self.binder_app.binder, self.hardware_id)]
        if len(ids) < 2:
            more = "; / goes to any other" if self.held else ""
            self.say(f"no other hardware with ports stands beside it{more}")
            return
        at = ids.index(self.hardware_id) if self.hardware_id in ids else -1
        self.show_hardware(ids[(at + by) % len(ids)])

    def action_other_end(self) -> None:
        port = self._port_here()
        end = port.link if self.is_rear else port.cord
        if end is None or end.far_hardware_id is None:
            which = "link behind" if self.is_rear else "cord in"
            raise RequestError(f"no {which} {port.name} leads anywhere")
        self.show_hardware(end.far_hardware_id, at=end.far_id)

    def action_other_face(self) -> None:
        from tui.app.face_work import go_elsewhere

        self.binder_app.errand(go_elsewhere(self))

    # Patching ---------------------------------------------------------------------------

    def _port_here(self) -> FacePort:
        if self.port is None:
            raise RequestError(self.NOTHING)
        return self.port

    def action_take_up(self) -> None:
        port = self._port_here()
        must_be_free(port)
        self.is_rear, self.held, self.held_on = False, port, self.hardware_id
        self.draw_face()
        self.show_frame()
        if len(beside(self.binder_app.binder, self.hardware_id)) < 2:  # Tab would lead nowhere
            self.action_other_face()

    def action_plug_in(self) -> None:
        from tui.app.face_work import plug

        if self.held:
            self.binder_app.errand(plug(self, self.held, self._port_here()))

    def plugged(self, near: FacePort, cord: Record) -> None:
        """The cord is in: back to where it was taken up."""
        back, self.held = self.held_on, None
        self.show_hardware(back, at=near.id)
        self.cord_id = cord.id

    def action_drop_cord(self) -> None:
        near, self.held = self.held, None
        if near is not None:
            self.show_hardware(self.held_on, at=near.id)

    def action_unplug(self) -> None:
        from tui.app.face_work import pull

        self.binder_app.errand(pull(self.binder_app, self._port_here()))

    def action_set_aside(self) -> None:
        from tui.app.face_work import reserve

        self.binder_app.errand(reserve(self.binder_app, self._port_here()))

    def action_mark_port(self) -> None:
        from tui.app.face_work import condemn

        app, port = self.binder_app, self._port_here()
        if port.condition != "bad":
            app.errand(condemn(app, port))
            return
        mark_good(app.editor, port, app.today)
        app.changed()
        app.say(f"{port.name} is good again; u takes that back")
