"""Widgets that draw their own lines: a list with a cursor, and a drawing without one.

A cursor step repaints two lines, whatever the length of the list: over a slow line that is
what makes it usable. Rows are asked for when they come into view.
"""

from __future__ import annotations

from collections.abc import Hashable, Sequence
from typing import ClassVar, Protocol

from textual import events
from textual.binding import Binding, BindingType
from textual.geometry import Region
from textual.message import Message
from textual.strip import Strip
from textual.widget import Widget

from tui.app.lines import Line, drawn, line


class Lines(Protocol):
    """What a list shows: rows by index, each with a key by which the cursor finds it again."""

    def __len__(self) -> int: ...

    def line(self, index: int, width: int) -> Line: ...

    def key(self, index: int) -> Hashable: ...

    def index(self, key: Hashable) -> int | None: ...


class Rows:
    """Lines that are all at hand, each with its key."""

    def __init__(self, rows: Sequence[tuple[Hashable, Line]]) -> None:
        self.rows = rows

    def __len__(self) -> int:
        return len(self.rows)

    def line(self, index: int, width: int) -> Line:
        return self.rows[index][1]

    def key(self, index: int) -> Hashable:
        return self.rows[index][0]

    def index(self, key: Hashable) -> int | None:
        return next((at for at, row in enumerate(self.rows) if row[0] == key), None)


class Drawing(Widget):
    """Lines that are only looked at: the strip of dividers, the top and bottom lines, a preview."""

    DEFAULT_CSS = "Drawing { height: 1; width: 1fr; }"

    class Sized(Message):
        """The room for the drawing is another: what is drawn may have to be drawn anew."""

        def __init__(self, drawing: Drawing) -> None:
            super().__init__()
            self.drawing = drawing

    def __init__(self, *, id: str | None = None) -> None:
        super().__init__(id=id)
        self.shown: Sequence[Line] = ()

    def show(self, lines: Sequence[Line]) -> None:
        if lines != self.shown:
            self.shown = lines
            self.refresh()

    def on_resize(self, event: events.Resize) -> None:
        self.post_message(self.Sized(self))

    def render_line(self, y: int) -> Strip:
        parts = self.shown[y] if y < len(self.shown) else ()
        return drawn(parts, self.size.width)


class LineList(Widget, can_focus=True):
    """A list walked with the arrow keys; messages tell where the cursor is and what was chosen."""

    DEFAULT_CSS = "LineList { height: 1fr; width: 1fr; }"
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("up", "step(-1)", show=False),
        Binding("down", "step(1)", show=False),
        Binding("pageup", "page(-1)", show=False),
        Binding("pagedown,space", "page(1)", show=False),
        Binding("home", "move_to(0)", show=False),
        Binding("end", "move_to(-1)", show=False),
        Binding("enter", "choose", show=False),
    ]

    class Told(Message):
        """Something about one list; `source` is that list."""

        def __init__(self, source: LineList) -> None:
            super().__init__()
            self.source = source

        @property
        def control(self) -> LineList:
            return self.source

    class Moved(Told):
        """The cursor stands on another row, or on another record in the same row."""

    class Chosen(Told):
        """Enter was pressed on a row."""

    def __init__(self, *, id: str | None = None, empty: str = "") -> None:
        super().__init__(id=id)
        self.lines: Lines = Rows(())
        self.cursor = 0
        self.top = 0
        self.empty = empty

    # What is shown ----------------------------------------------------------------------

    def show(self, lines: Lines, *, key: Hashable | None = None) -> None:
        """Show other lines. The cursor goes to `key`, or stays with the row it was on."""
        if key is None and self.cursor < len(self.lines):
            key = self.lines.key(self.cursor)
        self.lines = lines
        found = lines.index(key) if key is not None else None
        self.cursor = self._clamped(self.cursor if found is None else found)
        self._bring_into_view()
        self.refresh()
        self.post_message(self.Moved(self))

    @property
    def key(self) -> Hashable | None:
        """The key of the row under the cursor; None when there are no rows."""
        return self.lines.key(self.cursor) if self.cursor < len(self.lines) else None

    @property
    def height(self) -> int:
        return max(self.size.height, 1)

    def render_line(self, y: int) -> Strip:
        width, at = self.size.width, self.top + y
        if at < len(self.lines):
            return drawn(self.lines.line(at, width), width, selected=self.is_selected(at))
        if y == 0 and self.empty:
            return drawn(line((self.empty, "label")), width)
        return Strip.blank(width)

    def is_selected(self, index: int) -> bool:
        return index == self.cursor

    # Walking ----------------------------------------------------------------------------

    def move_to(self, index: int) -> None:
        before, self.cursor = self.cursor, self._clamped(index)
        if self.cursor == before:
            return
        if self._bring_into_view():
            self.refresh()
        else:
            for row in (before, self.cursor):
                self.refresh(Region(0, row - self.top, self.size.width, 1))
        self.post_message(self.Moved(self))

    def action_step(self, by: int) -> None:
        self.move_to(self.cursor + by)

    def action_page(self, direction: int) -> None:
        self.move_to(self.cursor + direction * max(self.height - 1, 1))

    def action_move_to(self, index: int) -> None:
        self.move_to(index if index >= 0 else len(self.lines) + index)

    def action_choose(self) -> None:
        if len(self.lines):
            self.post_message(self.Chosen(self))

    def _clamped(self, index: int) -> int:
        return max(0, min(index, len(self.lines) - 1))

    def _bring_into_view(self) -> bool:
        """Scroll so that the cursor shows; a third of a page at a time, to repaint less often."""
        if not self.size.height:  # not laid out yet: on_resize comes here again
            return False
        before, last = self.top, max(len(self.lines) - self.height, 0)
        if self.cursor < self.top:
            self.top = self.cursor - self.height // 3
        elif self.cursor >= self.top + self.height:
            self.top = self.cursor - self.height + 1 + self.height // 3
        self.top = max(0, min(self.top, last))
        return self.top != before

    def on_resize(self, event: events.Resize) -> None:
        if self._bring_into_view():
            self.refresh()

    def on_mouse_scroll_down(self, event: events.MouseScrollDown) -> None:
        self.move_to(self.cursor + 3)

    def on_mouse_scroll_up(self, event: events.MouseScrollUp) -> None:
        self.move_to(self.cursor - 3)

    def on_click(self, event: events.Click) -> None:
        if self.top + event.y < len(self.lines):
            again = self.cursor == self.top + event.y
            self.move_to(self.top + event.y)
            if again:
                self.action_choose()
