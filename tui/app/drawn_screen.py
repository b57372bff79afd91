"""Screens of lines drawn for the width there is, and drawn anew for another."""

from __future__ import annotations

from collections.abc import Hashable, Sequence
from typing import Generic, Protocol, TypeVar

from tui.app.line_list import Rows
from tui.app.lines import Line
from tui.app.record_screen import RecordScreen


class DrawnScreen(RecordScreen):
    """Subclasses read in `reload`, which ends with `draw_rows`."""

    def __init__(self) -> None:
        super().__init__()
        self.drawn_width = 0

    def draw_rows(self) -> None:
        """Show the lines for `list_width`, and note that width."""
        raise NotImplementedError

    def laid_out(self) -> None:
        if self.drawn_width != self.list_width:
            self.draw_rows()
        super().laid_out()


class DrawnRow(Protocol):
    """A line under the key by which it is found again, with whatever else a screen keeps by it."""

    @property
    def key(self) -> Hashable: ...

    @property
    def parts(self) -> Line: ...


RowT = TypeVar("RowT", bound=DrawnRow)


class RowScreen(DrawnScreen, Generic[RowT]):
    """Lines that are about something: subclasses draw them in `drawn`."""

    def __init__(self) -> None:
        super().__init__()
        self.rows: dict[Hashable, RowT] = {}

    def drawn(self, width: int) -> Sequence[RowT]:
        """The lines, for a list of that many cells."""
        raise NotImplementedError

    def draw_rows(self) -> None:
        width = self.drawn_width = self.list_width
        drawn = self.drawn(width) if width else ()
        self.rows = {row.key: row for row in drawn}
        self.main_list.show(Rows([(row.key, row.parts) for row in drawn]), key=self.key_to_go_to())

    def key_to_go_to(self) -> Hashable | None:
        """The line to stand on once they are drawn; None stays with the one stood on."""
        return None

    @property
    def row(self) -> RowT | None:
        """The line one stands on."""
        return self.rows.get(self.main_list.key)
