"""Two people changed the same fields: both versions, and a choice for each."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any, ClassVar

from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import Vertical
from textual.content import Content
from textual.screen import ModalScreen
from textual.widgets import Static

from binder.errors import ConflictError
from binder.read import Record, names
from binder.records.values import show
from tui.app.ask import plain
from tui.app.line_list import LineList, Rows
from tui.app.lines import Line, fit, line

if TYPE_CHECKING:
    from tui.app.binder_app import BinderApp


class Clash(ModalScreen["frozenset[str] | None"], inherit_bindings=False):
    """Gives the names of the fields in which one's own version is to stand; None to leave."""

    AUTO_FOCUS = "#list"
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("left,m", "take(True)", show=False),
        Binding("right,t", "take(False)", show=False),
        Binding("f2,s", "save", show=False),
        Binding("escape,q,backspace", "leave", show=False),
    ]

    def __init__(self, error: ConflictError, record: Record, app: BinderApp) -> None:
        super().__init__()
        self.error = error
        self.record = record
        self.kind = record.kind
        self.mine: set[str] = set(error.theirs)
        self.system, self.zone = app.system, app.zone
        ids = [value for side in (error.mine, error.theirs) for value in side.values()]
        self.named = names(app.binder, [value for value in ids if isinstance(value, int)])

    def compose(self) -> ComposeResult:
        says = (
            f"{self.error.who} changed {self.record.name} while you were typing. "
            "For each field: whose version stands?"
        )
        with Vertical(id="question"):
            yield Static(plain(says), id="says")
            yield LineList(id="list")
            yield Static(Content("m mine   t theirs   F2 save so   Esc back to the form"))

    def on_mount(self) -> None:
        self.draw_rows()

    def draw_rows(self) -> None:
        rows = [(name, self._line(name)) for name in self.error.theirs]
        versions = self.query_one(LineList)
        versions.styles.height = min(len(rows), 12)
        versions.show(Rows(rows))

    def _line(self, name: str) -> Line:
        label = self.kind.field(name).label
        mine, theirs = (self._shown(name, side) for side in (self.error.mine, self.error.theirs))
        own = name in self.mine
        return line(
            fit(f" {label}", 18),
            (fit(f"{'(*)' if own else '( )'} mine: {mine}", 27), "strong" if own else "label"),
            (fit(f" {'( )' if own else '(*)'} theirs: {theirs}", 28), "label" if own else "strong"),
        )

    def _shown(self, name: str, side: dict[str, Any]) -> str:
        field, value = self.kind.field(name), side[name]
        if field.is_reference:
            return self.named[value].name if value in self.named else "nothing"
        return show(field, value, system=self.system, zone=self.zone) or "nothing"

    def action_take(self, mine: bool) -> None:
        name = str(self.query_one(LineList).key)
        self.mine = self.mine | {name} if mine else self.mine - {name}
        self.draw_rows()

    def on_line_list_chosen(self, event: LineList.Chosen) -> None:
        self.action_take(str(event.source.key) not in self.mine)

    def action_save(self) -> None:
        self.dismiss(frozenset(self.mine))

    def action_leave(self) -> None:
        self.dismiss(None)
