"""A secret on the screen, for a while."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import TYPE_CHECKING, ClassVar, Final

from rich.cells import chop_cells
from textual.app import ComposeResult
from textual.binding import BindingType

from binder.envelope.secret_value import SecretValue
from binder.text import visible_lines
from tui.app.actions import SHOWN, bindings
from tui.app.line_list import Drawing
from tui.app.lines import Line, Part, fit, line, width_of, wrapped
from tui.app.screen import BinderScreen

if TYPE_CHECKING:
    from binder.envelope.one_time import OneTimeCodes

SECONDS: Final = 20
COPY_S: Final = 30
_GOES = (
    "y copies through the terminal (OSC 52): nobody answers whether it arrived. tmux drops it "
    "unless set-clipboard is on; terminals and clipboard managers may keep it."
)


@dataclass(frozen=True, slots=True)
class Showing:
    """What is shown, and for how long. `facts` stand under it: a label and a text."""

    caption: str
    value: SecretValue
    facts: tuple[tuple[str, str], ...] = ()
    what: str = ""  # the kind of value and its version
    codes: OneTimeCodes | None = None
    join_text: SecretValue | None = None
    again: Callable[[], None] | None = None
    seconds: int = SECONDS


class SecretScreen(BinderScreen[None]):
    """Gone after its seconds, at a key, at a resize, and when anything else comes in front."""

    PLACE = SHOWN
    BINDINGS: ClassVar[list[BindingType]] = bindings(SHOWN)
    AUTO_FOCUS = ""
    HAS_MARKS = False  # how long it stays is what counts here

    def __init__(self, showing: Showing) -> None:
        super().__init__()
        self.showing: Showing | None = showing
        self.caption = showing.caption
        self.until: datetime | None = None
        self.view = ""  # nothing, "spell" or "code"
        self.top_row = 0

    def compose_body(self) -> ComposeResult:
        yield Drawing(id="shown")

    def on_mount(self) -> None:
        self.query_one("#shown").styles.height = "1fr"
        if self.showing:
            self.until = self.binder_app.clock() + timedelta(seconds=self.showing.seconds)
        self.set_interval(0.5, self.tick)

    @property
    def seconds_left(self) -> int:
        """By the clock on the wall; one that was set back hides what is shown."""
        if self.until is None or self.showing is None:
            return 0
        left = (self.until - self.binder_app.clock()).total_seconds()
        return round(left) if left <= self.showing.seconds + 1 else 0

    # Hiding -----------------------------------------------------------------------------

    def hide(self) -> None:
        """Take it off the screen, and forget it, before anything else is drawn."""
        self.forget()
        if self.is_ready:
            self.query_one("#shown", Drawing).show(())
        if self.is_in_front:
            self.dismiss(None)

    @property
    def is_in_front(self) -> bool:
        """Stricter than Textual's `is_current`, which holds under a screen of plain ground too."""
        return bool(self.app.screen_stack) and self.app.screen is self

    def forget(self) -> None:
        """Let go of what was shown."""
        showing, self.showing = self.showing, None
        if showing is not None:
            showing.value.forget()
            if showing.join_text is not None:
                showing.join_text.forget()

    def tick(self) -> None:
        if self.showing is not None and self.seconds_left <= 0:
            self.hide()
        elif self.showing is not None and self.is_in_front:
            self.show_frame()

    def on_screen_suspend(self) -> None:
        self.hide()

    def on_screen_resume(self) -> None:
        if self.showing is None and self.is_in_front:
            self.dismiss(None)

    def on_unmount(self) -> None:
        self.forget()

    def action_hide(self) -> None:
        self.hide()

    # Drawing ----------------------------------------------------------------------------

    def title_parts(self) -> tuple[Sequence[Part], Sequence[Part]]:
        what = f"  {self.showing.what}" if self.showing and self.showing.what else ""
        return (
            (Part(f" {self.caption}", "strong"), Part(what)),
            (Part(f"gone in {self.seconds_left} s"),),
        )

    def show_frame(self) -> None:
        if self.showing is None:
            return
        super().show_frame()
        drawing = self.query_one("#shown", Drawing)
        if not drawing.size.height:
            return
        rows = self._rows(drawing.size.width, drawing.size.height)
        self.top_row = max(0, min(self.top_row, len(rows) - drawing.size.height))
        drawing.show(rows[self.top_row : self.top_row + drawing.size.height])

    def on_drawing_sized(self, event: Drawing.Sized) -> None:
        if self.showing is not None:
            self.show_frame()

    def _rows(self, width: int, height: int) -> list[Line]:
        assert self.showing is not None
        if self.view == "code" and self.showing.join_text is not None:
            from tui.app.join_code import code_lines

            return code_lines(self.showing.join_text, width, height)
        rows: list[Line] = [(), *self._value_rows(width), ()]
        for label, text in self.showing.facts:
            pieces = wrapped(text, width - 16)
            rows += [
                line((fit(f"   {label}" if at == 0 else "", 14), "label"), piece)
                for at, piece in enumerate(pieces)
            ]
        rows.append(())
        return [*rows, *(line((f"   {row}", "label")) for row in wrapped(_GOES, width - 4))]

    def _value_rows(self, width: int) -> list[Line]:
        showing = self.showing
        assert showing is not None
        if showing.codes is not None:
            code = showing.codes.at(self.binder_app.clock())
            text, after = code.value.expose(), f"   good for {code.seconds_left} s"
            return [line((f"   {text}", "strong"), (after, "label"))]
        rows = _exactly(showing.value, width)
        if self.view == "spell":
            from binder.envelope.passwords import spelled

            words = wrapped(spelled(showing.value).expose(), width - 6)
            rows += [(), *(line(f"   {row}") for row in words)]
        return rows

    # Keys -------------------------------------------------------------------------------

    def is_offered(self, action_id: str) -> bool:
        showing = self.showing
        if showing is None:
            return False
        match action_id:
            case "join_code":
                return showing.join_text is not None
            case "spell":
                return showing.codes is None
            case "again":
                return showing.again is not None
            case "page_secret(1)":
                drawing = self.query_one("#shown", Drawing)
                return len(self._rows(*drawing.size)) > drawing.size.height
        return True

    def action_spell(self) -> None:
        if self.is_offered("spell"):
            self._turn("spell")

    def action_join_code(self) -> None:
        if self.is_offered("join_code"):
            self._turn("code")
        else:
            self.say("this is no wireless key; no code to join by")

    def _turn(self, view: str) -> None:
        self.view = "" if self.view == view else view
        self.top_row = 0
        self.show_frame()

    def action_page_secret(self, direction: int) -> None:
        self.top_row += direction * max(self.query_one("#shown", Drawing).size.height - 1, 1)
        self.show_frame()

    def action_again(self) -> None:
        if self.showing is not None and self.showing.again is not None:
            again = self.showing.again
            self.hide()
            again()

    def action_copy_secret(self) -> None:
        showing = self.showing
        if showing is not None:
            value = showing.value
            if showing.codes is not None:
                value = showing.codes.at(self.binder_app.clock()).value
            self.binder_app.copy_secret(value, COPY_S)
            self.say(
                f"sent to the terminal; it does not say whether it took it. In {COPY_S} s, or "
                "when you leave, an empty copy follows"
            )


def _exactly(value: SecretValue, width: int) -> list[Line]:
    """Every character of it. A row too long is broken anywhere, and its rest marked."""
    text = visible_lines(value.expose())
    rows: list[Line] = []
    for row in text.split("\n"):
        for at, piece in enumerate(chop_cells(row, max(width - 6, 1)) or [""]):
            rows.append(line(("   " if at == 0 else " … ", "label"), (piece, "strong")))
    if any(row != row.strip() for row in text.split("\n")):
        count = width_of(text) - width_of(text.strip())
        rows.append(line((f"   (blanks at an end belong to it: {count})", "label")))
    return rows
