"""Widgets of the face screen: a face walked by the arrow keys, and the lines under it.

A step repaints the two ports it concerns and, of the lines, the stretches that differ.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import ClassVar

from textual import events
from textual.binding import Binding, BindingType
from textual.geometry import Region
from textual.message import Message
from textual.strip import Strip
from textual.widget import Widget

from tui.app.face_lines import Cell, DrawnFace
from tui.app.line_list import Drawing
from tui.app.lines import LOOKS, Line, drawn, width_of


class FaceView(Widget):
    """A drawn face with a cursor on one of its ports."""

    DEFAULT_CSS = "FaceView { height: 6; width: 1fr; }"
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("left", "across(-1)", show=False),
        Binding("right", "across(1)", show=False),
        Binding("up", "along(-1)", show=False),
        Binding("down", "along(1)", show=False),
        Binding("home", "end(0)", show=False),
        Binding("end", "end(-1)", show=False),
        Binding("enter", "choose", show=False),
    ]

    class Told(Message):
        """Something about one view; `source` is that view."""

        def __init__(self, source: FaceView) -> None:
            super().__init__()
            self.source = source

        @property
        def control(self) -> FaceView:
            return self.source

    class Moved(Told):
        """The cursor stands on another port."""

    class Chosen(Told):
        """Enter was pressed, or a port clicked twice."""

    def __init__(self, *, id: str, is_walked: bool = True) -> None:
        super().__init__(id=id)
        self.can_focus = is_walked
        self.is_walked = is_walked
        self.face = DrawnFace()
        self.port_id: int | None = None
        self.top = 0

    def show(self, face: DrawnFace, port_id: int | None = None) -> None:
        """Show another drawing; the cursor goes to a port, else stays on its own or the first.

        Of the same lines as before only those ports are painted that look otherwise.
        """
        before, self.face = self.face, face
        if face.cell(port_id) is None:
            port_id = self.port_id if face.cell(self.port_id) else None
        if port_id is None and face.cells:
            port_id = face.cells[0].port_id
        if before.cells != face.cells or len(before.lines) != len(face.lines):
            self.port_id = port_id
            self._bring_into_view()
            self.refresh()
            return
        for y, (was, now) in enumerate(zip(before.lines, face.lines, strict=True)):
            if was != now:
                self._refresh(y, *changed(was, now))
        self.go_to(port_id)

    def go_to(self, port_id: int | None) -> None:
        if port_id == self.port_id:
            return
        ports, self.port_id = (self.port_id, port_id), port_id
        if self._bring_into_view():
            self.refresh()
            return
        for port in ports:
            cell = self.face.cell(port)
            if cell is not None:
                self._refresh(cell.y, cell.x, cell.width)
                self._refresh(cell.label_y, cell.x, cell.width)

    def _refresh(self, y: int, x: int, width: int) -> None:
        self.refresh(Region(x, y - self.top, width, 1))

    def render_line(self, y: int) -> Strip:
        width, at = self.size.width, self.top + y
        if at >= len(self.face.lines):
            return Strip.blank(width)
        strip = drawn(self.face.lines[at], width)
        cell = self.face.cell(self.port_id) if self.is_walked else None
        if cell is None or at not in (cell.y, cell.label_y):
            return strip
        end = cell.x + cell.width - (cell.width > 3)
        here = strip.crop(cell.x, end).apply_style(LOOKS["here"])
        return Strip.join([strip.crop(0, cell.x), here, strip.crop(end, width)])

    # Walking ----------------------------------------------------------------------------

    def move_to(self, port_id: int | None) -> None:
        if port_id is not None and port_id != self.port_id:
            self.go_to(port_id)
            self.post_message(self.Moved(self))

    def action_across(self, by: int) -> None:
        self.move_to(self.face.across(self.port_id, by))

    def action_along(self, by: int) -> None:
        self.move_to(self.face.along(self.port_id, by))

    def action_end(self, at: int) -> None:
        if self.face.cells:
            self.move_to(self.face.cells[at].port_id)

    def action_choose(self) -> None:
        self.post_message(self.Chosen(self))

    def on_click(self, event: events.Click) -> None:
        cell = self._cell_at(event.x, event.y + self.top)
        if cell is not None and self.is_walked:
            again = cell.port_id == self.port_id
            self.move_to(cell.port_id)
            if again:
                self.action_choose()

    def _cell_at(self, x: int, y: int) -> Cell | None:
        return next(
            (c for c in self.face.cells if y in (c.y, c.label_y) and c.x <= x < c.x + c.width),
            None,
        )

    def _bring_into_view(self) -> bool:
        """Scroll so that the port shows with its label, and the head of the face where it can."""
        before, height = self.top, self.size.height
        cell = self.face.cell(self.port_id)
        if not height or cell is None or len(self.face.lines) <= height:
            self.top = 0
            return self.top != before
        first, last = min(cell.y, cell.label_y), max(cell.y, cell.label_y)
        if last < height:
            self.top = 0
        elif first < self.top or last >= self.top + height:
            self.top = min(first, len(self.face.lines) - height)
        return self.top != before

    def on_resize(self, event: events.Resize) -> None:
        if self._bring_into_view():
            self.refresh()


class ChangingLines(Drawing):
    """Lines of which only those stretches are painted that differ from what stood there."""

    DEFAULT_CSS = "ChangingLines { height: 1fr; width: 1fr; }"

    def show(self, lines: Sequence[Line]) -> None:
        before, self.shown = self.shown, lines
        for y in range(max(len(before), len(lines))):
            was = before[y] if y < len(before) else ()
            now = lines[y] if y < len(lines) else ()
            if was != now:
                x, width = changed(was, now)
                self.refresh(Region(x, y, width, 1))


def changed(was: Line, now: Line) -> tuple[int, int]:
    """Where two lines differ, as the first cell and the number of cells."""
    one, other = _looked(was), _looked(now)
    same = 0
    while same < min(len(one), len(other)) and one[same] == other[same]:
        same += 1
    ends = _cells(one), _cells(other)
    tail = 0
    if ends[0] == ends[1]:  # what is alike from the end stands where it stood
        most = min(len(one), len(other)) - same
        while tail < most and one[-1 - tail] == other[-1 - tail]:
            tail += 1
    x = _cells(one[:same])
    return x, max(max(ends) - x - _cells(one[len(one) - tail :]), 1)


def _looked(line: Line) -> list[tuple[str, str]]:
    return [(letter, part.look) for part in line for letter in part.text]


def _cells(letters: list[tuple[str, str]]) -> int:
    return width_of("".join(letter for letter, _ in letters))
