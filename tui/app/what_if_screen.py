"""What if these were added: a list typed at the top, what becomes of headroom under it."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import ClassVar

from textual.app import ComposeResult
from textual.binding import BindingType
from textual.containers import Vertical
from textual.message import Message
from textual.timer import Timer
from textual.widgets import TextArea

from binder.errors import RequestError
from binder.headroom.additions import Addition, parse
from binder.headroom.what_if import WhatIf, keep, what_if
from binder.headroom.words import figures, free, in_system, left
from binder.read import read_where
from binder.records.catalog import BY_NAME
from tui.app.actions import SUPPOSED, bindings
from tui.app.ask import Ask
from tui.app.headroom_lines import LOOKS, where
from tui.app.line_list import Drawing, LineList, Rows
from tui.app.lines import Line, Part, fit, line, shares, width_of, wrapped
from tui.app.screen import BinderScreen
from tui.app.text_screen import SafeTextArea

_TITLE_FROM = 72  # cells, from where the top line has room for all of its title
_PAUSE_S = 0.3  # without a key, from when what is typed is reckoned
_HOW = (
    "A line a thing, like:  2 x storage server: 2U, 150 W each",
    "                       4 x door controller: 802.3bt type 3, on SW2",
    "Also: 18 kg, class 4, 12 W PoE, 2 ports, 4 Mb/s, in 1A-R1, from UPS1, to REC1.",
    "What is not said is chosen where there is most room, and told.",
)


class Additions(SafeTextArea):
    """The list being typed. Pages are those of the answer: the list itself is short."""

    class Paged(Message):
        """A page of the answer is asked for, on or back."""

        def __init__(self, direction: int) -> None:
            super().__init__()
            self.direction = direction

    def action_cursor_page_down(self) -> None:
        self.post_message(self.Paged(1))

    def action_cursor_page_up(self) -> None:
        self.post_message(self.Paged(-1))


class AnswerLines(LineList, can_focus=False):
    """The answer, turned a page at a time; the keys stay with the list being typed."""

    def is_selected(self, index: int) -> bool:
        return False

    def turn(self, direction: int) -> None:
        """Bring the lines after the last one shown into view, or those before the first."""
        self.move_to(self.top + self.height if direction > 0 else self.top - 1)


class WhatIfScreen(BinderScreen[None]):
    """Letters go into the list; the answer follows when the typing pauses."""

    PLACE = SUPPOSED
    BINDINGS: ClassVar[list[BindingType]] = bindings(SUPPOSED)
    AUTO_FOCUS = "#additions"

    def __init__(self) -> None:
        super().__init__()
        self.answer: WhatIf | None = None
        self.fault = ""
        self._waiting: Timer | None = None

    def compose_body(self) -> ComposeResult:
        with Vertical(id="main"):
            area = Additions(id="additions", compact=True, soft_wrap=False)
            area.cursor_blink = False
            yield area
            yield Drawing(id="rule")
            yield AnswerLines(id="list")

    # What is shown ----------------------------------------------------------------------

    def title_parts(self) -> tuple[Sequence[Part], Sequence[Part]]:
        said = Part("")
        if self.fault:
            said = Part("not understood yet", "warn")
        elif self.answer is not None:
            said = Part("it fits") if self.answer.fits else Part("it does not fit", "bad")
        if self.size.width < _TITLE_FROM:
            return (Part(" What if", "strong"),), (said,)
        return (Part(" What if", "strong"), Part(" these were added", "label")), (said,)

    @property
    def typed(self) -> str:
        return self.query_one("#additions", TextArea).text

    def additions(self) -> tuple[Addition, ...]:
        """What the list stands for. Raises RequestError naming the line that is not understood."""
        app = self.binder_app
        return parse(app.binder, self.typed, system=app.system)

    def reload(self) -> None:
        """Reckon what is typed, in a copy of the binder as it is now."""
        self.answer, self.fault = None, ""
        if self.typed.strip():
            app = self.binder_app
            try:
                self.answer = what_if(app.binder, self.additions(), today=app.today)
            except RequestError as error:
                self.fault = str(error)
        self.draw_rows()

    def laid_out(self) -> None:
        super().laid_out()
        self.draw_rows()

    def draw_rows(self) -> None:
        width = self.list_width
        self.query_one("#rule", Drawing).show([line(("─" * width, "label"))])
        if self.answer is not None:
            rows = list(what_if_rows(self.answer, self.binder_app.system, width))
        else:
            told = (
                [(self.fault, "warn")] if self.fault else [(text, "label") for text in self._how()]
            )
            rows = [line((f" {piece}", look)) for text, look in told
                    for piece in wrapped(text, width - 2)]  # fmt: skip
        self.main_list.show(Rows(list(enumerate(rows))))

    def _how(self) -> Iterator[str]:
        yield from _HOW
        named = read_where(self.binder_app.binder, BY_NAME["template"], "t.status = 'current'")
        if named:
            yield f"Templates: {', '.join(record.name for record in named)}"

    # Typing -----------------------------------------------------------------------------

    def on_text_area_changed(self, event: TextArea.Changed) -> None:
        self.message = None
        if self._waiting is not None:
            self._waiting.stop()
        self._waiting = self.set_timer(_PAUSE_S, self.reckon)

    def reckon(self) -> None:
        """Answer what is typed now."""
        with self.binder_app.telling():
            self.reload()
        self.show_frame()

    def on_additions_paged(self, event: Additions.Paged) -> None:
        self.action_scroll_answer(event.direction)

    def action_scroll_answer(self, direction: int) -> None:
        self.query_one(AnswerLines).turn(direction)

    # Keeping and dropping ---------------------------------------------------------------

    def action_keep_plan(self) -> None:
        additions = self.additions()
        self.reckon()
        if self.answer is None:
            return
        if self.answer.fits:
            self.keep(additions)
            return
        first = self.answer.first or next(iter(self.answer.worse), None)
        short = f": {first.resource} of {where(first)}" if first else ""
        question = f"It does not fit{short}. Keep it as planned all the same?"
        self.app.push_screen(Ask(question), lambda yes: self.keep(additions) if yes else None)

    def keep(self, additions: Sequence[Addition]) -> None:
        """Plan it in one step, and go back to the rows it moved."""
        app = self.binder_app
        with app.telling():
            keep(app.binder, app.who, additions, today=app.today)
            app.pop_screen()
            app.changed()
            app.say(f"kept as planned: {', '.join(map(str, additions))}; u takes it back")

    def action_drop_plan(self) -> None:
        self.app.pop_screen()


def what_if_rows(answer: WhatIf, system: str, width: int) -> Iterator[Line]:
    """What runs out first and its mending, then every row that moves."""
    for text, look in _told(answer, system):
        yield from (line((f" {piece}", look)) for piece in wrapped(text, width - 2))
    if answer.moved:
        yield from _moved(answer, system, width)
    for text in (*answer.placed, *(f"note: {note}" for note in answer.notes)):
        yield from (line((f" {piece}", "label")) for piece in wrapped(text, width - 2))


def _told(answer: WhatIf, system: str) -> Iterator[tuple[str, str]]:
    for cannot in answer.cannot:
        yield f"cannot: {cannot}", "bad"
    row = answer.first
    if row is not None:
        yield f"runs out first: {row.resource} of {where(row)}", "bad"
        yield f"  {figures(row, system)}, {free(row, system)}", ""
        if row.fix:
            yield f"  smallest change: {in_system(row.fix, system)}", "strong"
    elif not answer.cannot:
        yield "nothing new runs out", "good"
    for row in answer.worse:
        yield f"was short already: {row.resource} of {where(row)}", "warn"


def _moved(answer: WhatIf, system: str, width: int) -> Iterator[Line]:
    """A table: state, resource, where, free before and after."""
    heads = ("state", "resource", "where", "free before", "after")
    table = [
        (moved.after.state, moved.after.resource, where(moved.after),
         left(moved.before, system), left(moved.after, system))
        for moved in answer.moved
    ]  # fmt: skip
    wanted = [max(width_of(row[at]) for row in (heads, *table)) for at in range(len(heads))]
    widths = shares(wanted, (5, 12, 6, 8, 8), width - 6)
    yield line((" " + " ".join(fit(*cell) for cell in zip(heads, widths, strict=True)), "label"))
    for moved, row in zip(answer.moved, table, strict=True):
        state, *cells = (fit(*cell) for cell in zip(row, widths, strict=True))
        yield line((f" {state} ", LOOKS.get(moved.after.state, "")), " ".join(cells))
