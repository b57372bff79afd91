"""A form made from the declaration of a record kind.

The rows are drawn; one input travels over them. So a form of sixty fields opens as fast as one
of six.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import ClassVar

from textual.app import ComposeResult
from textual.binding import BindingType
from textual.containers import Container
from textual.widgets import Input

from binder.errors import ConflictError, FaultsError
from binder.read import read
from binder.records.fields import Field, Type
from tui.app.actions import FORM, bindings
from tui.app.draft import Draft
from tui.app.filing import ChangeRecord, Filing
from tui.app.form_parts import FieldInput, FormLines
from tui.app.form_rows import FormRows, hint, one_line
from tui.app.line_list import Drawing, LineList, Rows
from tui.app.lines import Part, fit, line, width_of, wrapped
from tui.app.screen import BinderScreen
from tui.app.suggestions import Suggestion, next_option, options, suggest
from tui.app.typed_kept import Keeper


class FormScreen(BinderScreen[None]):
    """One draft, being typed."""

    PLACE = FORM
    BINDINGS: ClassVar[list[BindingType]] = bindings(FORM)
    AUTO_FOCUS = "#field"

    def __init__(self, draft: Draft, filing: Filing, *, start_at: str = "") -> None:
        super().__init__()
        self.draft = draft
        self.filing = filing
        self.rows = FormRows(draft)
        self.rows.current = self.rows.index(start_at) or self._first_empty()
        self.offered: tuple[Suggestion, ...] = ()
        self.keeper: Keeper | None = None

    def _first_empty(self) -> int:
        """Where to start: the first required field that is still to be filled."""
        for at, field in enumerate(self.rows.fields):
            if field.required and not self.draft.texts[field.name]:
                return at
        return 0

    def compose_body(self) -> ComposeResult:
        with Container(id="form"):
            yield FormLines(id="rows")
            yield FieldInput()
            yield LineList(id="choices")

    def compose_foot(self) -> ComposeResult:
        yield Drawing(id="hint")

    def on_mount(self) -> None:
        self.keeper = self.keeper or Keeper(self.binder_app, self)
        self.query_one("#choices", LineList).can_focus = False
        lines = self.query_one("#rows", FormLines)
        lines.show(self.rows, key=self.rows.key(self.rows.current))
        self.load_field()

    # Shown ------------------------------------------------------------------------------

    def title_parts(self) -> tuple[Sequence[Part], Sequence[Part]]:
        at, count = self.rows.current + 1, len(self.rows.fields)
        where = f"field {at} of {count}" if at <= count else "save"
        return (Part(f" {self.filing.title}", "strong"),), (Part(where),)

    @property
    def field(self) -> Field | None:
        return self.rows.field(self.rows.current)

    @property
    def input(self) -> FieldInput:
        return self.query_one(FieldInput)

    @property
    def form_lines(self) -> FormLines:
        return self.query_one("#rows", FormLines)

    def laid_out(self) -> None:
        super().laid_out()
        self.place_input()

    def load_field(self) -> None:
        """Put the text of the current field into the input."""
        self.settle_rows()
        field, box = self.field, self.input
        text = self.draft.texts[field.name] if field else ""
        box.field = field
        with box.prevent(Input.Changed):
            box.value = one_line(text)
        box.cursor_position = len(box.value)
        if field and (options(field) or field.is_reference):
            box.action_select_all()
        self.offer(())
        self.place_input()
        self.show_frame()

    def settle_rows(self) -> None:
        """Offer the fields that make sense for what is typed now."""
        if self.rows.settle():
            self.form_lines.show(self.rows, key=self.rows.key(self.rows.current))

    def place_input(self) -> None:
        """Lay the input over the current row, and the offers under it."""
        lines, box = self.form_lines, self.input
        row = self.rows.current - lines.top
        if self.field:
            box.styles.offset = (self.rows.label_width, row)
            box.styles.width = max(self.rows.value_width(self.rows.current, lines.size.width), 8)
        else:  # beside [ Save ], never hidden: what is hidden loses the keys, and for good
            box.styles.offset = (1, row)
            box.styles.width = 1
        self._place_choices(row)

    def _place_choices(self, row: int) -> None:
        choices = self.query_one("#choices", LineList)
        count = len(self.offered)
        choices.styles.display = "block" if count else "none"
        if count:
            below = self.form_lines.size.height - row - 1
            choices.styles.height = count
            choices.styles.max_width = self.size.width - self.rows.label_width
            at = row + 1 if below >= count else row - count
            choices.styles.offset = (self.rows.label_width - 1, at)

    def show_frame(self) -> None:
        super().show_frame()
        fault = self.draft.faults.get(self.field.name, "") if self.field else ""
        says = f"! {fault}" if fault else hint(self.field, self.draft.system)
        rows = wrapped(says, self.size.width - 2)[:2]
        look = "bad" if fault else "label"
        self.query_one("#hint", Drawing).show([line((f" {row}", look)) for row in rows])

    # Typing -----------------------------------------------------------------------------

    def on_input_changed(self, event: Input.Changed) -> None:
        field = self.field
        if field is None or event.value != self.input.value:  # told late, of another field
            return
        self.message = None
        if field.type is Type.LINES and "\n" in self.draft.texts[field.name]:
            self.open_text()  # never through the one-line input: it would lose the breaks
            return
        self.draft.put(field.name, event.value)
        self.keep()
        self.settle_rows()
        with self.binder_app.telling():
            self.offer(self._suggested(field, event.value))
        self.place_input()
        self.show_frame()

    def _suggested(self, field: Field, text: str) -> tuple[Suggestion, ...]:
        """What may be meant; last, for a reference, to add what is not in the binder."""
        draft = self.draft
        found = suggest(draft.binder, field, text, kind=draft.kind.name)
        if not field.is_reference or draft.binder is None or not text.strip():
            return found
        from tui.app.add_missing import offer_to_add

        add = offer_to_add(field, text, found)
        return (*found, add) if add else found

    def offer(self, offered: tuple[Suggestion, ...]) -> None:
        """Show what the field may hold under it."""
        self.offered = offered
        choices = self.query_one("#choices", LineList)
        choices.cursor = 0
        texts = max([width_of(one.text) for one in offered], default=0)
        notes = max([width_of(one.note) for one in offered], default=0)
        rows = [
            (one.text, line(f"│{fit(one.text, texts)}  ", (fit(one.note, notes), "label"), " │"))
            for one in offered
        ]
        choices.show(Rows(rows))
        choices.styles.width = texts + notes + 6
        self.place_input()

    def on_field_input_turned(self, event: FieldInput.Turned) -> None:
        if self.field and options(self.field):
            self.set_text(next_option(self.field, self.draft.texts[self.field.name], event.by))

    def set_text(self, text: str) -> None:
        """Put a text into the current field as if it had been typed, and offer nothing more."""
        if self.field:
            self.draft.put(self.field.name, text)
            self.keep()
            self.load_field()

    def keep(self) -> None:
        """What is typed outlives a dropped line."""
        if self.keeper:
            self.keeper.keep()

    def leave(self) -> None:
        """Leave the form; what was typed is not wanted, or saved."""
        if self.keeper:
            self.keeper.drop()
        self.app.pop_screen()

    def on_input_submitted(self, event: Input.Submitted) -> None:
        if self.offered and not self._is_complete:
            self.take(self.marked)
        elif self.field is None:
            self.action_save()
        elif self.field.type is Type.LINES and "\n" in self.draft.texts[self.field.name]:
            self.open_text()
        else:
            self.go_to(self.rows.current + 1)

    @property
    def marked(self) -> Suggestion:
        """The suggestion under the cursor."""
        return self.offered[self.query_one("#choices", LineList).cursor]

    def take(self, marked: Suggestion) -> None:
        """Take a suggestion and go on; one that adds a record goes on when it is there."""
        field = self.field
        if field is None:
            return
        if not marked.adds:
            self.set_text(marked.text)
            self.go_to(self.rows.current + 1)
            return
        from tui.app.add_missing import add_missing

        def taken(text: str) -> None:
            self.set_text(text)
            self.go_to(self.rows.current + 1)

        typed = self.input.value
        self.offer(())
        add_missing(self.binder_app, field, typed, taken)

    def action_open_page(self) -> None:
        if self.field and self.field.type is Type.LINES:
            self.open_text()

    def is_offered(self, action_id: str) -> bool:
        if action_id == "open_page":
            return self.field is not None and self.field.type is Type.LINES
        return super().is_offered(action_id)

    def open_text(self) -> None:
        """Edit text of several lines on a screen of its own."""
        from tui.app.text_screen import TextScreen

        field = self.field
        if field is None:
            return

        def done(text: str | None) -> None:
            if text is not None:
                self.set_text(text)
                self.form_lines.refresh()
            else:
                self.load_field()

        def typed(text: str) -> None:
            self.draft.put(field.name, text)
            self.keep()

        self.app.push_screen(TextScreen(field.label, self.draft.texts[field.name], typed), done)

    # Walking ----------------------------------------------------------------------------

    def go_to(self, index: int) -> None:
        """Go to another row; what is wrong in the one that is left is told beside it."""
        left = self.field
        if left is not None and self.draft.texts[left.name] != self.draft.start[left.name]:
            self.draft.look_at(left.name)
            self.keep()
        self.rows.current = max(0, min(index, len(self.rows) - 1))
        self.form_lines.move_to(self.rows.current)
        self.load_field()

    def on_line_list_moved(self, event: LineList.Moved) -> None:
        """A row was clicked on: with the keys the cursor is already where it tells of."""
        if event.source is self.form_lines and event.source.cursor != self.rows.current:
            self.go_to(event.source.cursor)

    def on_line_list_chosen(self, event: LineList.Chosen) -> None:
        if event.source.id == "choices" and self.offered:
            self.take(self.marked)

    def action_take_field(self) -> None:
        """Tab fills in what is marked under the field, if anything was typed, and goes on.

        It never leads to another form: a hand that types on would type there.
        """
        is_typed = bool(self.offered and self.input.value.strip()) and not self._is_complete
        if is_typed and not self.marked.adds:
            self.take(self.marked)
        else:
            self.go_to(self.rows.current + 1)

    @property
    def _is_complete(self) -> bool:
        """Whether what is typed is one of what is offered, whole."""
        typed = self.input.value.strip().casefold()
        return typed in (suggestion.text.casefold() for suggestion in self.offered)

    @property
    def _is_walked(self) -> bool:
        """Whether up and down go through what is offered: not where it is only to add."""
        return any(not suggestion.adds for suggestion in self.offered)

    def action_next_field(self) -> None:
        if self._is_walked and not self._is_complete:
            self.query_one("#choices", LineList).action_step(1)
        else:
            self.go_to(self.rows.current + 1)

    def action_previous_field(self) -> None:
        if self._is_walked:
            self.query_one("#choices", LineList).action_step(-1)
        else:
            self.go_to(self.rows.current - 1)

    def action_page_fields(self, direction: int) -> None:
        self.go_to(self.rows.current + direction * max(self.form_lines.height - 1, 1))

    # Leaving ----------------------------------------------------------------------------

    def action_leave_form(self) -> None:
        if self.offered:
            self.offer(())
        elif self.draft.is_touched:
            self._ask_to_drop(self.leave)
        else:
            self.leave()

    def action_leave(self) -> None:
        if self.draft.is_touched:
            self._ask_to_drop(self._leave_program)
        else:
            self._leave_program()

    def _leave_program(self) -> None:
        if self.keeper:
            self.keeper.drop()
        self.app.exit(0)

    def _ask_to_drop(self, leave: object) -> None:
        from tui.app.ask import Ask

        def answered(yes: bool | None) -> None:
            if yes and callable(leave):
                leave()

        self.app.push_screen(Ask("Drop what you typed in this form?"), answered)

    # Saving -----------------------------------------------------------------------------

    def action_save(self) -> None:
        with self.binder_app.telling():
            values = self.draft.values()
            if self.draft.faults:
                self._show_first_fault()
                return
            if not values:
                self.leave()
                return
            self._save(values)

    def _save(self, values: dict[str, object]) -> None:
        try:
            record_id = self.filing.save(self.binder_app, values)
        except ConflictError as error:
            self._settle(error)
        except FaultsError as error:
            self.draft.take_faults(error)
            self._show_first_fault()
            raise
        else:
            self.leave()
            self.binder_app.changed(written=record_id)
            self.filing.follow_up(self.binder_app, record_id)

    def _show_first_fault(self) -> None:
        names = [field.name for field in self.rows.fields]
        wrong = [names.index(name) for name in names if name in self.draft.faults]
        if wrong:
            self.rows.current = wrong[0]
            self.form_lines.move_to(wrong[0])
            self.form_lines.refresh()
            self.load_field()
            more = f", and {len(wrong) - 1} more" if len(wrong) > 1 else ""
            self.say(f"not saved: {self.rows.fields[wrong[0]].label}{more}", bad=True)

    def _settle(self, error: ConflictError) -> None:
        """Show both versions of what two people changed; save what is chosen."""
        from tui.app.clash import Clash

        filing = self.filing
        if not isinstance(filing, ChangeRecord):
            raise error

        def settled(mine: frozenset[str] | None) -> None:
            if mine is None:
                self.say("not saved; nothing you typed is lost")
                return
            with self.binder_app.telling():
                record = read(self.binder_app.binder, filing.record.id)
                untouched = {name for name in self.draft.texts if name not in error.theirs}
                self.draft.rebase(record.values, mine | untouched)
                self.filing = ChangeRecord(record)
                self.load_field()
                self.form_lines.refresh()
                self.action_save()

        self.app.push_screen(Clash(error, filing.record, self.binder_app), settled)
