"""What every screen has: a top line, a body, a bottom line, and the actions valid everywhere."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import TYPE_CHECKING, ClassVar, TypeVar, cast

from textual import events
from textual.app import ComposeResult
from textual.containers import Horizontal
from textual.screen import Screen
from textual.timer import Timer
from textual.widget import Widget

from tui.app.actions import BY_ID, may_run, valid_in
from tui.app.line_list import Drawing, LineList
from tui.app.lines import Line, Part, line, spread, width_of, wrapped

if TYPE_CHECKING:
    from tui.app.binder_app import BinderApp

Answer = TypeVar("Answer")
WIDE = 100  # from this width on there is a second pane
BROAD = 120  # and from this one on beside a trace too, whose lines are longer
VAST = 160  # and from this one on a third, with a drawing
REST_S = 0.08  # how long the cursor rests before the third pane is drawn: not while a key is held


class BinderScreen(Screen[Answer], inherit_bindings=False):
    """A place a person can be in. Subclasses say which, what is in the body, and its title."""

    PLACE: ClassVar[str]
    HAS_PREVIEW: ClassVar[bool] = False
    HAS_DRAWING: ClassVar[bool] = False
    HAS_MARKS: ClassVar[bool] = True  # tells at the right of the top line how the envelope is
    WIDE_FROM: ClassVar[int] = WIDE
    AUTO_FOCUS = "#list"

    def __init__(self) -> None:
        super().__init__()
        self.seen_revision = -1
        self.is_ready = False  # keys typed ahead can come before there is anything to draw on
        self.parts: tuple[Widget, ...] = ()
        self.message: tuple[str, str] | None = None
        self.resting: Timer | None = None

    @property
    def binder_app(self) -> BinderApp:
        return cast("BinderApp", self.app)

    def compose(self) -> ComposeResult:
        self.add_class(self.binder_app.breadth)  # before the first layout: it saves a repaint
        self.set_class(self.is_vast, "-vast")
        with Horizontal(id="head"):
            yield Drawing(id="top")
            yield Drawing(id="clock")  # of its own: a second that passes sends these cells alone
        with Horizontal(id="panes"):
            yield from self.compose_body()
            if self.HAS_PREVIEW:
                yield Drawing(id="preview")
            if self.HAS_DRAWING:
                yield Drawing(id="drawing")
        yield from self.compose_foot()
        yield Drawing(id="bottom")

    # For subclasses ---------------------------------------------------------------------

    def compose_body(self) -> Iterable[Widget]:
        """The widgets between the top and the bottom line."""
        return (LineList(id="list"),)

    def compose_foot(self) -> Iterable[Widget]:
        """What stands between the body and the bottom line."""
        return ()

    def title_parts(self) -> tuple[Sequence[Part], Sequence[Part]]:
        """What stands at the left and at the right of the top line."""
        raise NotImplementedError

    def reload(self) -> None:
        """Read again what is shown; the binder may have changed."""

    def looked_at(self) -> int | None:
        """The record that the second pane shows, if any."""
        return None

    def stand_on(self, record_id: int) -> None:
        """Put the cursor on a record when the screen is next read, if it shows that one."""

    def place(self) -> str:
        """Where we are, for the keys that are valid here."""
        return self.PLACE

    def check_action(self, action: str, parameters: tuple[object, ...]) -> bool | None:
        """A key does only what is valid where we are now."""
        return may_run(action, self.place())

    # Shown ------------------------------------------------------------------------------

    @property
    def main_list(self) -> LineList:
        return self.query_one("#list", LineList)

    @property
    def is_wide(self) -> bool:
        return self.HAS_PREVIEW and self.app.size.width >= self.WIDE_FROM

    @property
    def is_vast(self) -> bool:
        """Whether there is room, and reason, for a drawing beside list and sheet."""
        has_room = self.is_wide and self.app.size.width >= VAST
        return self.HAS_DRAWING and has_room and self.is_drawn()

    def is_drawn(self) -> bool:
        """Whether what is shown here is of a kind that a drawing can be made of."""
        return True

    @property
    def list_width(self) -> int:
        """The cells of a line of the list; before the first layout, what they are going to be."""
        width = self.app.size.width
        panes = 1 + self.is_wide + self.is_vast
        return self.main_list.size.width or width // panes

    def on_mount(self) -> None:
        self.is_ready = True
        self.parts = tuple(self.walk_children(Widget))
        self.bring_up_to_date()

    @property
    def is_standing(self) -> bool:
        """Whether all of it is there: neither still being made nor being taken down."""
        return self.is_ready and all(part.is_attached for part in self.parts)

    def on_screen_resume(self) -> None:
        self.bring_up_to_date()

    def on_resize(self, event: events.Resize) -> None:
        self.call_after_refresh(self.laid_out)

    def laid_out(self) -> None:
        """The size is known, or another one."""
        self.show_frame()
        self.show_preview()
        self.show_drawing()

    def bring_up_to_date(self) -> None:
        """Read again if the binder changed since this screen was last read."""
        if not self.is_standing:
            return
        if self.seen_revision != self.binder_app.revision:
            self.seen_revision = self.binder_app.revision
            with self.binder_app.telling():
                self.reload()
        self.show_frame()
        self.show_preview()
        self.show_drawing()

    def show_frame(self) -> None:
        """Draw the top and the bottom line."""
        width = self.size.width - self.show_clock()
        left, right = self.title_parts()
        marks = self.binder_app.marks() if self.HAS_MARKS else ()
        room = width - sum(width_of(part.text) for part in (*right, *marks)) - 2
        if sum(width_of(part.text) for part in left) > max(room, width // 2) and marks:
            right = ()  # whether secrets lie open is told before how old a sheet is
        gap = (Part(" | ", "label"),) if right and marks else ()
        told = (*right, *gap, *marks, Part(" "))
        self.query_one("#top", Drawing).show([spread(left, told, width)])
        width = self.size.width
        bottom = self.query_one("#bottom", Drawing)
        if self.message is None and bottom.size.height > 1:
            bottom.styles.height = 1
        lines = self._message_lines(width) if self.message else [self._keys_line(width)]
        if len(lines) > 1:
            bottom.styles.height = len(lines)
        bottom.show(lines)

    def show_clock(self) -> int:
        """Draw the clock of the call that runs; gives the cells it takes of the top line."""
        clock = self.query_one("#clock", Drawing)
        told = self.binder_app.clock_parts() if self.HAS_MARKS else ()
        taken = sum(width_of(part.text) for part in told)
        if sum(width_of(part.text) for row in clock.shown for part in row) != taken:
            clock.styles.width = taken
        clock.show([told])
        return taken

    def show_preview(self) -> None:
        """Draw the second pane: beside the list where the terminal is wide, else under it."""
        for pane in self.query("#preview" if self.is_wide else "#under").results(Drawing):
            width, height = pane.size
            if not width or not height:
                continue
            from tui.app.preview import edged

            with self.binder_app.telling():
                if pane.id == "under":
                    pane.show(self.preview_lines(width, height))
                else:
                    pane.show(edged(self.preview_lines(width - 1, height), height))

    def preview_lines(self, width: int, height: int) -> Sequence[Line]:
        """What the second pane shows."""
        from tui.app.preview import preview

        return preview(self.binder_app, self.looked_at(), width, height)

    def show_drawing(self) -> None:
        """Draw the third pane, where there is one."""
        if self.HAS_DRAWING:
            self.set_class(self.is_vast, "-vast")
        if not self.is_vast or not self.is_current:
            return
        from tui.app.preview import edged

        pane = self.query_one("#drawing", Drawing)
        width, height = pane.size
        if width and height:
            with self.binder_app.telling():
                pane.show(edged(self.drawing_lines(width - 1, height), height))

    def drawing_lines(self, width: int, height: int) -> Sequence[Line]:
        """What the third pane shows."""
        from tui.app.whereabouts import whereabouts

        return whereabouts(self.binder_app, self.drawn_about(), width, height)

    def drawn_about(self) -> int | None:
        """The record that the third pane shows the whereabouts of."""
        return self.looked_at()

    def on_drawing_sized(self, event: Drawing.Sized) -> None:
        if event.drawing.id in ("preview", "under") and self.is_current:
            self.show_preview()
        elif event.drawing.id == "drawing":
            self.show_drawing()

    def on_line_list_moved(self, event: LineList.Moved) -> None:
        if self.is_current:
            self.show_frame()
            self.show_preview()
            self.rest()

    def rest(self) -> None:
        """Draw the third pane when the cursor has come to rest."""
        if self.is_vast:
            if self.resting is not None:
                self.resting.stop()
            self.resting = self.set_timer(REST_S, self.show_drawing)

    def _keys_line(self, width: int) -> Line:
        """As many keys and their words as fit, the help key always last."""
        valid = valid_in(self.place(), read_only=self.binder_app.read_only)
        last = [Part(" ?", "strong"), Part(" help", "label")] if BY_ID["help"] in valid else []
        room, parts = width - width_of("".join(part.text for part in last)), list[Part]()
        for action in valid:
            if not action.word or action.id == "help" or not self.is_offered(action.id):
                continue
            taken = width_of(f" {action.sign} {action.word} ")
            if taken > room:
                break
            room -= taken
            parts += [Part(f" {action.sign}", "strong"), Part(f" {action.word} ", "label")]
        return (*parts, *last)

    def is_offered(self, action_id: str) -> bool:
        """Whether an action makes sense for what is under the cursor now."""
        return action_id != "jot" or self.binder_app.call is not None

    def _message_lines(self, width: int) -> list[Line]:
        text, look = self.message or ("", "")
        mark = "! " if look == "bad" else "  "
        rows = wrapped(text, max(width - 4, 10))[:4]
        return [line((f"{mark if n == 0 else '  '}{row}", look)) for n, row in enumerate(rows)]

    # Messages ---------------------------------------------------------------------------

    def say(self, text: str, *, bad: bool = False) -> None:
        """Tell something in the bottom line, until the next key; nothing takes it away."""
        self.message = (text, "bad" if bad else "strong") if text else None
        if self.is_ready:
            self.show_frame()

    def on_key(self, event: events.Key) -> None:
        if self.message:
            self.message = None
            self.show_frame()

    # Actions valid everywhere -----------------------------------------------------------

    def action_back(self) -> None:
        self.binder_app.go_back()

    def action_close(self) -> None:
        self.binder_app.go_back()

    def action_leave(self) -> None:
        self.binder_app.exit(0)

    def action_help(self) -> None:
        from tui.app.help_screen import HelpScreen

        self.app.push_screen(HelpScreen(self.place()))

    def action_call(self) -> None:
        from tui.app.calling import begin, finish

        app = self.binder_app
        app.errand(finish(app) if app.call else begin(app, self.called_about()))

    def called_about(self) -> int | None:
        """The record that a call begun here is about; a contact is who calls."""
        return self.looked_at()

    def action_jot(self) -> None:
        from tui.app.calling import note

        self.binder_app.errand(note(self.binder_app))

    def action_resume(self) -> None:
        from tui.app.typed_kept import resume

        self.binder_app.errand(resume(self.binder_app))

    def action_redraw(self) -> None:
        self.binder_app.redraw()

    def action_palette(self) -> None:
        from tui.app.palette_screen import PaletteScreen

        self.app.push_screen(PaletteScreen(self))
