"""The quarterly review: taken here, compared, its actions decided, its duties ticked."""

from __future__ import annotations

from collections.abc import Hashable, Sequence
from typing import TYPE_CHECKING, ClassVar

from textual.binding import BindingType

from binder.review.actions import actions, decide, propose
from binder.review.asked import asked, tick
from binder.review.compared import compared
from binder.review.cures import ailing
from binder.review.taken import Review, last_review, take
from tui.app.actions import QUARTER, bindings
from tui.app.ask import Ask, AskLine, Choose
from tui.app.drawn_screen import RowScreen
from tui.app.headroom_now import headroom_now, leads_now
from tui.app.line_list import LineList
from tui.app.lines import Part, line
from tui.app.review_lines import ReviewRow, Told, review_rows

if TYPE_CHECKING:
    from binder.review.actions import Action
    from binder.review.asked import Asked
    from tui.app.binder_app import BinderApp

_DECISIONS = (
    ("agreed", "agreed to"), ("done", "done"), ("dropped", "dropped"), ("proposed", "open again"),
)  # fmt: skip


class ReviewScreen(RowScreen[ReviewRow]):
    """What fills next and when; what the quarter asks for; what was agreed."""

    PLACE = QUARTER
    HAS_PREVIEW = False
    BINDINGS: ClassVar[list[BindingType]] = bindings(QUARTER)

    def __init__(self) -> None:
        super().__init__()
        self.told: Told | None = None
        self.last: Review | None = None

    def title_parts(self) -> tuple[Sequence[Part], Sequence[Part]]:
        last = self.last
        since = f"last taken {last.taken_on}, {last.name}" if last else "none taken yet"
        return (Part(" Review of the quarter", "strong"),), (Part(since),)

    def reload(self) -> None:
        app = self.binder_app
        computed, last = headroom_now(app), last_review(app.binder)
        self.last = last
        self.told = Told(
            leads_now(app),
            compared(last.headroom, computed) if last else None,
            last.name if last else "",
            actions(app.binder),
            asked(app.binder, app.today),
            app.system,
        )
        self.draw_rows()

    def drawn(self, width: int) -> Sequence[ReviewRow]:
        return review_rows(self.told, width) if self.told else ()

    def subject(self) -> int | None:
        row = self.row
        if row is None:
            return None
        return row.row.where.id if row.row else row.action.id if row.action else None

    def on_line_list_chosen(self, event: LineList.Chosen) -> None:
        row, app = self.row, self.binder_app
        if row is None:
            return
        if row.action is not None:
            app.errand(_decide(app, row.action))
        elif row.duty is not None:
            app.errand(_tick(app, row.duty))
        elif row.row is not None:
            from tui.app.headroom_screen import HeadroomScreen

            self.app.push_screen(HeadroomScreen(row.row))
        else:
            self.say("stand on a resource, a duty or an action")

    def action_take_review(self) -> None:
        self.binder_app.errand(_take(self.binder_app))


async def _take(app: BinderApp) -> None:
    """Store the review of today, and propose what would cure what is tight."""
    question = f"Take the review of {app.today.isoformat()}? It is kept for good, never altered."
    if not await app.ask(Ask(question)):
        return
    taken = take(app.editor, app.today)
    ids = propose(app.editor, taken.id, ailing(app.binder, taken.headroom))
    app.changed()
    app.say(f"{taken.name} is taken; {len(ids)} actions proposed")


async def _decide(app: BinderApp, action: Action) -> None:
    rows: list[tuple[Hashable, tuple[Part, ...]]] = [
        (state, line(f" {words}")) for state, words in _DECISIONS if state != action.state
    ]
    state = await app.ask(Choose(f"What became of: {action.what}?", rows))
    if state is None:
        return
    by = await app.ask(AskLine("By whom?", "It stands beside the action.", start=app.who))
    if by is None:
        return
    decide(app.editor, action.id, str(state), by=by, on=app.today)
    app.changed()
    app.say(f"{action.name} is {state}; u takes it back")


async def _tick(app: BinderApp, duty: Asked) -> None:
    says = "What came of it; Enter alone when there is nothing to say."
    result = await app.ask(AskLine(f"Done today: {duty.name}?", says, may_be_empty=True))
    if result is None:
        return
    tick(app.editor, duty, app.today, by=app.who, result=result)
    app.changed()
    app.say(f"done: {duty.name}; u takes it back")
