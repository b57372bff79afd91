"""The computed page of the divider Closeout: gaps by place, mended or waived where they stand."""

from __future__ import annotations

from collections.abc import Hashable, Sequence
from typing import TYPE_CHECKING

from tui.app.headroom_page import HeadroomPage
from tui.app.lines import Line

if TYPE_CHECKING:
    from binder.closeout import Gap
    from tui.app.binder_app import BinderApp
    from tui.app.gap_lines import GapRow, GapRows
    from tui.app.headroom_lines import HeadroomRows
    from tui.app.topology_lines import TreeRows


class GapsPage(HeadroomPage):
    """What the dividers do on the page of gaps. The rules are imported on the first visit."""

    def __init__(self) -> None:
        super().__init__()
        self.only_musts = False
        self.gap_rows: GapRows | None = None

    @property
    def on_gaps(self) -> bool:
        """Whether the page of gaps is shown, and not that of headroom."""
        raise NotImplementedError

    def computed_rows(self) -> HeadroomRows | GapRows | TreeRows:
        """The rows of the computed page, as the binder is now."""
        return self.gaps_now() if self.on_gaps else self.headroom_rows()

    def rows_asked_for(self) -> HeadroomRows | GapRows | TreeRows:
        """The same, when only what is asked for has changed."""
        return self.gaps_now() if self.on_gaps else self.chosen_rows()

    def first_key(self) -> Hashable | None:
        """Where the cursor begins when nobody stood here before: on the first gap."""
        rows = self.gap_rows if self.on_gaps else None
        return rows.key(rows.first_gap()) if rows else None

    def computed_told(self) -> str:
        return self.gaps_told() if self.on_gaps else self.headroom_told()

    def computed_subject(self, key: Hashable) -> int | None:
        """The record that a row is about."""
        if not self.on_gaps:
            told = self.chosen_rows().row(key) if self.headroom else None
            return told.where.id if told else None
        row = self.gap_row(key)
        return row.gap.subject.id if row and row.gap else None

    def open_row(self, key: Hashable) -> None:
        if self.on_gaps:
            self.mend(key)
        else:
            super().open_row(key)

    def row_preview(self, key: Hashable, width: int) -> Sequence[Line]:
        return self.gap_preview(key, width) if self.on_gaps else super().row_preview(key, width)

    def action_edit(self) -> None:
        if self.on_gaps:
            self.mend(self.main_list.key)
        else:
            super().action_edit()

    def gaps_now(self) -> GapRows:
        """The gaps as the binder is now, as far as they are asked for."""
        from binder.closeout import gaps
        from binder.closeout.acceptance import acceptance
        from tui.app.gap_lines import GapRows

        app = self.binder_app
        found = gaps(app.binder, app.today)
        accepted = acceptance(app.binder, app.today, closeout=found)
        self.gap_rows = GapRows(found, accepted, only_musts=self.only_musts)
        return self.gap_rows

    def gaps_told(self) -> str:
        """How many stand in the way."""
        if self.gap_rows is None:
            return ""
        found = self.gap_rows.closeout
        return f"{found.open_musts} must, {len(found.gaps) - found.open_musts} should | "

    def gap_row(self, key: Hashable) -> GapRow | None:
        return self.gap_rows.row(key) if self.gap_rows else None

    def gap_preview(self, key: Hashable, width: int) -> Sequence[Line]:
        from tui.app.gap_lines import behind

        row = self.gap_row(key)
        return behind(row, width) if row else ()

    def mend(self, key: Hashable) -> None:
        """Open the form on the field that mends a gap, or that of the record that is missing."""
        from binder.records.catalog import BY_NAME

        row, app = self.gap_row(key), self.binder_app
        if row is None or (row.gap is None and row.waived is None):
            self.say("stand on a gap; Enter mends it, x waives it")
        elif row.waived is not None:
            app.open_record(row.waived.waiver_id)
        elif row.gap is not None and app.read_only:
            app.open_record(row.gap.subject.id)
        elif row.gap is not None and row.gap.adds:
            app.open_new(BY_NAME[row.gap.adds], row.gap.given or {})
        elif row.gap is not None:
            app.open_edit(row.gap.subject.id, row.gap.field)

    def action_waive(self) -> None:
        row = self.gap_row(self.main_list.key)
        if row is None or row.gap is None:
            self.say("stand on a gap to waive it")
        else:
            self.binder_app.errand(waive(self.binder_app, row.gap))

    def action_only_musts(self) -> None:
        self.only_musts = not self.only_musts
        self.show_chosen()


async def waive(app: BinderApp, gap: Gap) -> None:
    """Let a gap through: asks the reason, and in whose name. Both are printed."""
    from tui.app.ask import AskLine

    says = f"{gap.says}. {gap.why} The reason is printed."
    reason = await app.ask(AskLine("Why is this let through?", says))
    if reason is None:
        return
    by = await app.ask(AskLine("Who lets it through?", "The name is printed beside the reason."))
    if by is None:
        return
    with app.editor.step(f"waive {gap.rule} of {gap.subject.name}") as step:
        step.add(
            "waiver",
            {
                "rule": gap.rule, "subject": gap.subject.id, "reason": reason, "waived_by": by,
                "waived_on": app.today.isoformat(),
            },
        )  # fmt: skip
    app.changed()
    app.say(f"waived: {gap.says}; u takes it back")
