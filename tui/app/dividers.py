"""The dividers of the binder: the strip at the left, the list of a kind beside it."""

from __future__ import annotations

from collections.abc import Sequence
from typing import ClassVar

from textual.app import ComposeResult
from textual.binding import BindingType
from textual.containers import Vertical

from binder.read import client
from binder.records.catalog import BY_NAME, DIVIDERS, kinds_on
from binder.records.fields import Kind
from tui.app.actions import LIST, bindings
from tui.app.kind_words import IN_A_RACK, TRACED, many
from tui.app.line_list import Drawing, LineList
from tui.app.lines import Line, Part, fit, line, width_of
from tui.app.record_rows import RecordRows
from tui.app.record_screen import RecordScreen

STRIP_WIDTH = 15
# What a divider opens on, where that is not its first kind.
_OPENS_ON = {"Racks": "rack"}


class DividerScreen(RecordScreen):
    """Where a binder opens. Digits turn the dividers, left and right the kinds on one."""

    PLACE = LIST
    BINDINGS: ClassVar[list[BindingType]] = bindings(LIST)

    def __init__(self) -> None:
        super().__init__()
        self.kind = BY_NAME["client"]
        self.client_name = ""
        self.last_kind: dict[str, Kind] = {}
        self.last_id: dict[str, int] = {}
        self.rows: RecordRows | None = None

    def compose_body(self) -> ComposeResult:
        yield Drawing(id="strip")
        with Vertical(id="main"):
            yield Drawing(id="kinds")
            yield Drawing(id="columns")
            yield LineList(id="list", empty=" nothing here yet; n adds the first one")
            yield Drawing(id="under")

    # What is shown ----------------------------------------------------------------------

    def title_parts(self) -> tuple[Sequence[Part], Sequence[Part]]:
        count = len(self.main_list.lines)
        where = f"{self.main_list.cursor + 1} of {count}" if count else "empty"
        return (Part(f" {self.client_name}", "strong"),), (Part(where),)

    def subject(self) -> int | None:
        key = self.main_list.key
        return key if isinstance(key, int) else None

    def reload(self) -> None:
        binder = self.binder_app.binder
        sheet = client(binder)
        self.client_name = sheet.name if sheet else binder.path.stem
        self.rows = RecordRows(self.binder_app.binder, self.kind)
        self.main_list.show(self.rows, key=self.last_id.get(self.kind.name))
        self.share_room()

    def laid_out(self) -> None:
        self.share_room()
        super().laid_out()

    def stand_on(self, record_id: int) -> None:
        if self.binder_app.kind_of(record_id) == self.kind.name:
            self.last_id[self.kind.name] = record_id

    def share_room(self) -> None:
        """A short list leaves room under it for the record pointed at, where no pane is beside."""
        room, count = self.query_one("#main").size.height - 2, len(self.main_list.lines)
        has_under = not self.is_wide and 0 < count <= room // 2
        self.main_list.styles.height = count + 1 if has_under else "1fr"
        self.query_one("#under").styles.display = "block" if has_under else "none"

    def show_heads(self) -> None:
        """Draw the strip, the kinds of the divider, and the heads of the columns."""
        self.query_one("#strip", Drawing).show([self._tab(at) for at in range(len(DIVIDERS))])
        width = self.main_list.size.width
        self.query_one("#kinds", Drawing).show([kinds_line(self.kind, width)])
        if self.rows is not None:
            self.query_one("#columns", Drawing).show([self.rows.headings(width)])

    def show_frame(self) -> None:
        super().show_frame()
        self.show_heads()

    def _tab(self, at: int) -> Line:
        name = DIVIDERS[at]
        here = name == self.kind.divider
        text = fit(f" {(at + 1) % 10} {name}", STRIP_WIDTH - 2)
        return line((text, "here" if here else ""), ("│", "label"))

    def is_offered(self, action_id: str) -> bool:
        if not super().is_offered(action_id):
            return False
        if action_id == "patch":
            return self.kind.name == "port"
        if action_id == "rack":
            return self.kind.name in IN_A_RACK
        if action_id == "trace":
            return self.kind.name in TRACED
        return True

    # Turning ----------------------------------------------------------------------------

    def turn_to(self, *, kind: Kind | None = None, divider: int | None = None) -> None:
        """Show the list of a kind, or the kind last looked at on a divider."""
        if kind is None:
            name = DIVIDERS[divider or 0]
            first = BY_NAME[_OPENS_ON[name]] if name in _OPENS_ON else kinds_on(name)[0]
            kind = self.last_kind.get(name, first)
        self._remember()
        self.kind = kind
        self.main_list.cursor = 0
        self.reload()
        self.show_frame()

    def _remember(self) -> None:
        subject = self.subject()
        self.last_kind[self.kind.divider] = self.kind
        if subject is not None:
            self.last_id[self.kind.name] = subject

    def action_divider(self, number: int) -> None:
        self.turn_to(divider=number)

    def action_next_kind(self) -> None:
        self._turn_kind(1)

    def action_previous_kind(self) -> None:
        self._turn_kind(-1)

    def _turn_kind(self, by: int) -> None:
        kinds = kinds_on(self.kind.divider)
        self.turn_to(kind=kinds[(kinds.index(self.kind) + by) % len(kinds)])

    # Acting -----------------------------------------------------------------------------

    def on_line_list_moved(self, event: LineList.Moved) -> None:
        self._remember()

    def on_line_list_chosen(self, event: LineList.Chosen) -> None:
        subject = self.subject()
        if subject is not None:
            with self.binder_app.telling():
                self.binder_app.open_record(subject)

    def action_new(self) -> None:
        if self.kind.single and len(self.main_list.lines):
            self.say(f"a binder holds exactly one {self.kind.label.lower()}; e changes it")
        else:
            self.binder_app.open_new(self.kind)

    def action_back(self) -> None:
        if len(self.app.screen_stack) > 1:
            super().action_back()
        else:
            self.say("this is the first page; q leaves the program")


def kinds_line(current: Kind, width: int) -> Line:
    """The kinds on the divider of `current`, as many around it as fit."""
    kinds = kinds_on(current.divider)
    first, last = _span([width_of(kind_tab(kind)) for kind in kinds], kinds.index(current), width)
    parts = [Part("‹" if first > 0 else " ", "label")]
    for kind in kinds[first : last + 1]:
        parts.append(Part(kind_tab(kind), "here" if kind is current else "label"))
    parts.append(Part("›" if last < len(kinds) - 1 else " ", "label"))
    return tuple(parts)


def kind_tab(kind: Kind) -> str:
    return f" {many(kind)} "


def _span(widths: Sequence[int], at: int, room: int) -> tuple[int, int]:
    """The first and last of the items around `at` that fit into `room`, two marks beside them."""
    first = last = at
    while True:
        sides = [(first, last + 1), (first - 1, last)]
        if at - first < last - at:
            sides.reverse()
        for start, end in sides:
            if start >= 0 and end < len(widths) and sum(widths[start : end + 1]) + 2 <= room:
                first, last = start, end
                break
        else:
            return first, last
