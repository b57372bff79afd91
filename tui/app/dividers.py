"""The dividers of the binder: the strip at the left, the list of a kind beside it."""

from __future__ import annotations

from collections.abc import Hashable, Sequence
from typing import TYPE_CHECKING, ClassVar

from textual import events
from textual.app import ComposeResult
from textual.binding import BindingType
from textual.containers import Vertical

from binder.read import client, read
from binder.records.catalog import DIVIDERS
from binder.records.fields import Kind
from tui.app.actions import LACKING, LIST, SCARCE, TREE, bindings
from tui.app.kind_words import DRAWN, IN_A_RACK, JOINED, TRACED
from tui.app.line_list import Drawing, LineList
from tui.app.lines import Line, Part, fit, line, width_of
from tui.app.pages import GAPS_PAGE, TOPOLOGY_PAGE, Page, first_page, page_of, pages_on
from tui.app.record_rows import RecordRows
from tui.app.screen import BROAD, WIDE
from tui.app.topology_page import TopologyPage

if TYPE_CHECKING:
    from tui.app.gap_lines import GapRows
    from tui.app.headroom_lines import HeadroomRows
    from tui.app.topology_lines import TreeRows

STRIP_WIDTH = 15
_EMPTY = " nothing here yet; n adds the first one"


class DividerScreen(TopologyPage):
    """Where a binder opens. Digits turn the dividers, left and right the pages of one."""

    PLACE = LIST
    HAS_DRAWING = True
    BINDINGS: ClassVar[list[BindingType]] = bindings(LIST, SCARCE, LACKING, TREE)

    def __init__(self, kind: Kind | None = None, divider: int | None = None) -> None:
        super().__init__()
        self.page = page_of(kind) if kind else first_page(DIVIDERS[divider or 0])
        self.client_name = ""
        self.last_page: dict[str, Page] = {}
        self.last_key: dict[Page, Hashable] = {}
        self.rows: RecordRows | HeadroomRows | GapRows | TreeRows | None = None

    @property
    def kind(self) -> Kind | None:
        """The kind that is listed; None on a page of computed rows."""
        return self.page.kind

    @property
    def on_gaps(self) -> bool:
        return self.page == GAPS_PAGE

    @property
    def on_topology(self) -> bool:
        return self.page == TOPOLOGY_PAGE

    def place(self) -> str:
        if self.kind:
            return LIST
        if self.on_topology:
            return TREE
        return LACKING if self.on_gaps else SCARCE

    @property
    def is_wide(self) -> bool:
        """Computed rows are longer than a list's: they need more room before they share it."""
        return self.app.size.width >= (WIDE if self.kind else BROAD)

    def is_drawn(self) -> bool:
        return self.on_topology or (self.kind is not None and self.kind.name in DRAWN)

    def compose_body(self) -> ComposeResult:
        yield Drawing(id="strip")
        with Vertical(id="main"):
            yield Drawing(id="kinds")
            yield Drawing(id="columns")
            yield LineList(id="list", empty=_EMPTY)
            yield Drawing(id="under")

    # What is shown ----------------------------------------------------------------------

    def title_parts(self) -> tuple[Sequence[Part], Sequence[Part]]:
        count = len(self.main_list.lines)
        where = f"{self.main_list.cursor + 1} of {count}" if count else "empty"
        if self.kind is None:
            where = f"{self.computed_told()}{where}"
        return (Part(f" {self.client_name}", "strong"),), (Part(where),)

    def subject(self) -> int | None:
        key = self.main_list.key
        if isinstance(self.rows, RecordRows):
            return key if isinstance(key, int) else None
        return self.computed_subject(key)

    def reload(self) -> None:
        binder = self.binder_app.binder
        sheet = client(binder)
        self.client_name = sheet.name if sheet else binder.path.stem
        self.set_class(self.kind is None, "-computed")
        today = self.binder_app.today
        self.show_rows(RecordRows(binder, self.kind, today) if self.kind else self.computed_rows())

    def show_chosen(self) -> None:
        self.last_key.pop(self.page, None)
        self.show_rows(self.rows_asked_for())
        self.main_list.move_to(0)
        self.show_frame()

    def show_folded(self) -> None:
        self.show_rows(self.rows_asked_for())
        self.show_frame()

    def show_rows(self, rows: RecordRows | HeadroomRows | GapRows | TreeRows) -> None:
        self.rows = rows
        self.main_list.empty = _EMPTY if self.kind else " nothing here"
        self.main_list.show(rows, key=self.last_key.get(self.page) or self.first_key())
        self.share_room()

    def laid_out(self) -> None:
        self.share_room()
        super().laid_out()

    def stand_on(self, record_id: int) -> None:
        if self.kind and self.binder_app.kind_of(record_id) == self.kind.name:
            self.last_key[self.page] = record_id

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
        self.query_one("#kinds", Drawing).show([pages_line(self.page, width)])
        if self.rows is not None:
            self.query_one("#columns", Drawing).show([self.rows.headings(width)])

    def show_frame(self) -> None:
        super().show_frame()
        self.show_heads()

    def _tab(self, at: int) -> Line:
        name = DIVIDERS[at]
        here = name == self.page.divider
        text = fit(f" {(at + 1) % 10} {name}", STRIP_WIDTH - 2)
        return line((text, "here" if here else ""), ("│", "label"))

    def is_offered(self, action_id: str) -> bool:
        if not super().is_offered(action_id):
            return False
        if self.kind is None:
            return True
        if action_id == "patch":
            return self.kind.name in ("port", "hardware")
        if action_id == "rack":
            return self.kind.name in IN_A_RACK
        if action_id == "trace":
            return self.kind.name in TRACED
        return True

    # Turning ----------------------------------------------------------------------------

    def turn_to(self, *, kind: Kind | None = None, divider: int | None = None) -> None:
        """Show the list of a kind, or the page last looked at on a divider."""
        if kind is not None:
            self.show_page(page_of(kind))
        else:
            name = DIVIDERS[divider or 0]
            self.show_page(self.last_page.get(name) or first_page(name))

    def show_page(self, page: Page) -> None:
        self._remember()
        self.page = page
        self.main_list.cursor = 0
        self.reload()
        self.show_frame()
        self.show_drawing()

    def _remember(self) -> None:
        self.last_page[self.page.divider] = self.page
        if self.main_list.key is not None:
            self.last_key[self.page] = self.main_list.key

    def action_divider(self, number: int) -> None:
        self.turn_to(divider=number)

    def action_next_kind(self) -> None:
        self._turn_page(1)

    def action_previous_kind(self) -> None:
        self._turn_page(-1)

    def _turn_page(self, by: int) -> None:
        pages = pages_on(self.page.divider)
        self.show_page(pages[(pages.index(self.page) + by) % len(pages)])

    # Acting -----------------------------------------------------------------------------

    def on_line_list_moved(self, event: LineList.Moved) -> None:
        self._remember()

    def on_line_list_chosen(self, event: LineList.Chosen) -> None:
        subject = self.subject()
        with self.binder_app.telling():
            if self.kind is None:
                self.open_row(event.source.key)
            elif subject is not None:
                self.binder_app.open_record(subject)

    def preview_lines(self, width: int, height: int) -> Sequence[Line]:
        if self.kind is None:
            return self.row_preview(self.main_list.key, width)[:height]
        return super().preview_lines(width, height)

    def action_new(self) -> None:
        if self.kind is None:
            return
        if self.kind.single and len(self.main_list.lines):
            self.say(f"a binder holds exactly one {self.kind.label.lower()}; e changes it")
        elif self.kind.name in JOINED:
            from tui.app.additions import choose_new

            choose_new(self.binder_app, self.kind)
        else:
            self.binder_app.open_new(self.kind)

    # Many at once -----------------------------------------------------------------------

    def action_change_many(self) -> None:
        if isinstance(self.rows, RecordRows) and self.rows.ids:
            from tui.app.many import change_many

            subject = self.subject()
            start = read(self.binder_app.binder, subject).name if subject else ""
            self.binder_app.errand(
                change_many(self.binder_app, self.rows.kind, self.rows.ids, start)
            )
        else:
            self.say("nothing here to change")

    def action_paste_lines(self) -> None:
        self._paste("")

    def on_paste(self, event: events.Paste) -> None:
        """Several lines are as many records, after a preview; never the keys that they spell."""
        event.stop()
        if self.binder_app.read_only:
            self.say("open read-only: nothing can be changed here", bad=True)
        elif "\n" in event.text.strip().replace("\r", "\n") or "\t" in event.text:
            self._paste(event.text)
        else:
            self.say("one line was pasted here; + takes lines, / finds")

    def _paste(self, text: str) -> None:
        if self.kind is None:
            self.say("lines are pasted on a list of records; : turns to one")
            return
        from tui.app.many import paste_lines

        self.binder_app.errand(paste_lines(self.binder_app, self.kind, text))

    def action_back(self) -> None:
        if len(self.app.screen_stack) > 1:
            super().action_back()
        else:
            self.say("this is the first page; q leaves the program")


def pages_line(current: Page, width: int) -> Line:
    """The pages of the divider of `current`, as many around it as fit."""
    pages = pages_on(current.divider)
    first, last = _span([width_of(_page_tab(page)) for page in pages], pages.index(current), width)
    parts = [Part("‹" if first > 0 else " ", "label")]
    for page in pages[first : last + 1]:
        parts.append(Part(_page_tab(page), "here" if page == current else "label"))
    parts.append(Part("›" if last < len(pages) - 1 else " ", "label"))
    return tuple(parts)


def _page_tab(page: Page) -> str:
    return f" {page.label} "


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
