"""The computed page of the divider Headroom: which of its rows are shown, and what opens them."""

from __future__ import annotations

from collections import Counter
from collections.abc import Hashable, Sequence
from typing import TYPE_CHECKING

from tui.app.lines import Line, line
from tui.app.record_screen import RecordScreen

if TYPE_CHECKING:
    from binder.headroom import Headroom, Row
    from tui.app.headroom_lines import HeadroomRows

# As `binder.headroom.STATES` has them; told here so that starting up costs no engineering.
_STATES = ("over", "short", "tight", "not known", "fine")
_ALL = "everywhere"
_COUNTED_FROM = 80  # cells, from where the top line has room for counts


class HeadroomPage(RecordScreen):
    """What the dividers do on their computed page. The engineering is imported on the first visit.

    One state or one space can be asked for; the answer itself is always whole.
    """

    def __init__(self) -> None:
        super().__init__()
        self.headroom: Headroom | None = None
        self.only_state = ""
        self.only_space = ""

    def headroom_rows(self) -> HeadroomRows:
        """Headroom as the binder is now, as far as it is asked for."""
        from tui.app.headroom_now import headroom_now

        self.headroom = headroom_now(self.binder_app)
        return self.chosen_rows()

    def chosen_rows(self) -> HeadroomRows:
        from tui.app.headroom_lines import HeadroomRows

        assert self.headroom is not None
        rows = [row for row in self.headroom.rows if self._is_asked(row)]
        return HeadroomRows(self.headroom, rows, self.binder_app.system)

    def _is_asked(self, row: Row) -> bool:
        return (not self.only_state or row.state == self.only_state) and (
            not self.only_space or row.where.space == self.only_space
        )

    def headroom_told(self) -> str:
        """How many rows ask for attention, or which are shown."""
        if self.only_state or self.only_space:
            where = f"in {self.only_space}" if self.only_space else ""
            return f"only {' '.join(filter(None, (self.only_state, where)))} | "
        if self.size.width < _COUNTED_FROM:
            return ""
        rows = self.headroom.rows if self.headroom else ()
        counts = Counter(row.state for row in rows if row.state in ("over", "short"))
        told = [f"{count} {state}" for state, count in counts.items()]
        return f"{', '.join(told)} | " if told else ""

    def show_chosen(self) -> None:
        """Show the rows that are asked for now."""
        raise NotImplementedError

    def action_filter_state(self) -> None:
        """All, then each state that some row shown is in, the worst first."""
        if self.headroom is None:
            return
        here = {row.state for row in self.headroom.rows
                if not self.only_space or row.where.space == self.only_space}  # fmt: skip
        order = ["", *(state for state in _STATES if state in here)]
        at = order.index(self.only_state) if self.only_state in order else 0
        self.only_state = order[(at + 1) % len(order)]
        self.show_chosen()

    def action_filter_space(self) -> None:
        if self.headroom is None:
            return
        from tui.app.ask import Choose

        counts = Counter(row.where.space for row in self.headroom.rows if row.where.space)
        rows: list[tuple[Hashable, Line]] = [(_ALL, line(f" {_ALL}"))]
        rows += [(name, line(f" {name}", (f"  {n} rows", "label"))) for name, n in counts.items()]

        def chosen(space: Hashable) -> None:
            if space is not None:
                self.only_space = "" if space == _ALL else str(space)
                self.only_state = ""
                self.show_chosen()

        self.app.push_screen(Choose("Headroom of which space?", rows), chosen)

    def action_review(self) -> None:
        from tui.app.review_screen import ReviewScreen

        self.app.push_screen(ReviewScreen())

    def action_read_round(self) -> None:
        from tui.app.reading_round import walk

        self.binder_app.errand(walk(self.binder_app))

    def action_what_if(self) -> None:
        from tui.app.what_if_screen import WhatIfScreen

        self.app.push_screen(WhatIfScreen())

    def open_row(self, key: Hashable) -> None:
        """Open the sheet behind a row."""
        from tui.app.headroom_screen import HeadroomScreen

        row = self.chosen_rows().row(key)
        if row is not None:
            self.app.push_screen(HeadroomScreen(row))

    def row_preview(self, key: Hashable, width: int) -> Sequence[Line]:
        """The sheet behind a row, for the second pane."""
        from tui.app.headroom_lines import worked

        row = self.chosen_rows().row(key) if self.headroom else None
        app = self.binder_app
        return [told.parts for told in worked(row, app.system, app.zone, width)] if row else ()
