"""The sheet of one record."""

from __future__ import annotations

from collections.abc import Sequence
from typing import ClassVar

from textual.binding import BindingType

from binder.read import read
from binder.sheet import Sheet, sheet
from tui.app.actions import SHEET, bindings
from tui.app.drawn_screen import RowScreen
from tui.app.kind_words import DRAWN, IN_A_RACK, TRACED
from tui.app.line_list import LineList
from tui.app.lines import Part
from tui.app.secret_rows import CURRENT, secret_rows
from tui.app.sheet_lines import EVENTS, SheetRow, Shown, sheet_rows, title


class SheetScreen(RowScreen[SheetRow]):
    """Every field with its value, and what refers to the record. Enter follows a reference."""

    PLACE = SHEET
    HAS_DRAWING = True
    BINDINGS: ClassVar[list[BindingType]] = bindings(SHEET)

    def __init__(self, record_id: int) -> None:
        super().__init__()
        self.record_id = record_id
        self.sheet: Sheet | None = None
        self.all_fields = False
        self.turned: frozenset[str] = frozenset()

    def title_parts(self) -> tuple[Sequence[Part], Sequence[Part]]:
        if self.sheet is None:
            return (Part(" this record is not in the binder any more", "bad"),), ()
        return title(self.sheet)

    def reload(self) -> None:
        app = self.binder_app
        self.sheet = None
        if app.kind_of(self.record_id):
            self.sheet = sheet(app.binder, self.record_id, app.today, most_events=EVENTS)
        self.draw_rows()

    def drawn(self, width: int) -> Sequence[SheetRow]:
        if self.sheet is None:
            return ()
        app = self.binder_app
        rows = sheet_rows(app.binder, self.sheet, Shown(width, self.all_fields, self.turned))
        if self.sheet.kind == "secret":
            at = sum(bool(row.field) for row in rows)
            rows[at:at] = secret_rows(app.binder, self.record_id, app.zone, width)
        return rows

    def subject(self) -> int | None:
        return self.record_id if self.sheet else None

    def looked_at(self) -> int | None:
        return self.row.target if self.row else None

    def is_drawn(self) -> bool:
        return self.binder_app.kind_of(self.record_id) in DRAWN

    def drawn_about(self) -> int | None:
        return self.record_id

    def field_here(self) -> str:
        return self.row.field if self.row else ""

    def is_offered(self, action_id: str) -> bool:
        kind = self.sheet.kind if self.sheet else ""
        if not super().is_offered(action_id):
            return False
        if action_id == "patch":
            return kind == "hardware" or self.port_here() is not None
        if action_id == "rack":
            return kind in ("rack", *IN_A_RACK)
        return action_id != "trace" or kind in TRACED

    def stand_on(self, record_id: int) -> None:
        """What was written here is another of the kind, a copy perhaps: its sheet is shown, so
        that the next key is about it. What names this record leaves this sheet standing."""
        if self.sheet is None or self.binder_app.kind_of(record_id) != self.sheet.kind:
            return
        record = read(self.binder_app.binder, record_id)
        named = (record[field.name] for field in record.kind.all_fields if field.is_reference)
        if self.record_id not in named:
            self.record_id = record_id

    # Acting -----------------------------------------------------------------------------

    def on_line_list_chosen(self, event: LineList.Chosen) -> None:
        row = self.row
        if row is None:
            return
        if row.group:
            self.turned = self.turned ^ {row.group}
            self.draw_rows()
        elif row.version:
            self.look_at_version(row)
        elif row.target is not None:
            with self.binder_app.telling():
                self.binder_app.open_record(row.target)
        elif row.field:
            self.say("e changes this field")

    def look_at_version(self, row: SheetRow) -> None:
        from tui.app.giving import look_at_version

        app = self.binder_app
        app.errand(look_at_version(app, self.record_id, row.version, current=row.field == CURRENT))

    def action_all_fields(self) -> None:
        self.all_fields = not self.all_fields
        self.draw_rows()

    def action_new(self) -> None:
        if self.sheet is not None:
            from tui.app.additions import choose_addition

            choose_addition(self.binder_app, self.sheet)
