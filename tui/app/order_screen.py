"""In what order to start things, and to stop them."""

from __future__ import annotations

from collections.abc import Hashable, Iterator, Sequence
from typing import ClassVar

from textual.binding import BindingType

from binder.errors import RequestError
from binder.start_order import Item, Order, order_of
from tui.app.actions import STAGED, bindings
from tui.app.drawn_screen import DrawnScreen
from tui.app.line_list import LineList, Rows
from tui.app.lines import Line, Part, fit, line, width_of, wrapped
from tui.app.screen import BROAD


class OrderScreen(DrawnScreen):
    """Stages, each when the one before it is done. Enter opens a thing."""

    PLACE = STAGED
    BINDINGS: ClassVar[list[BindingType]] = bindings(STAGED)
    WIDE_FROM = BROAD

    def __init__(self, about: int | None) -> None:
        super().__init__()
        self.about = about
        self.stopping = False
        self.order: Order | None = None

    def title_parts(self) -> tuple[Sequence[Part], Sequence[Part]]:
        if self.order is None:
            return (Part(" no order: what it hung on is gone", "bad"),), ()
        stages = len(self.order.stages)
        of = f"{self.order.about} and what hangs on it" if self.order.about else "everything"
        head = (Part(" Stop " if self.stopping else " Start "), Part(of, "strong"))
        return head, (Part(f"{stages} stage{'' if stages == 1 else 's'}"),)

    def reload(self) -> None:
        self.order = None
        try:
            self.order = order_of(self.binder_app.binder, self.about)
        except RequestError:
            self.draw_rows()
            raise
        self.draw_rows()

    def draw_rows(self) -> None:
        """Draw the stages for the width there is."""
        width = self.drawn_width = self.list_width
        self.main_list.empty = " nothing here is started or stopped"
        rows = order_rows(self.order, self.stopping, width) if self.order and width else ()
        self.main_list.show(Rows(list(rows)))

    def subject(self) -> int | None:
        key = self.main_list.key
        return key if isinstance(key, int) else None

    def on_line_list_chosen(self, event: LineList.Chosen) -> None:
        subject = self.subject()
        if subject is not None:
            with self.binder_app.telling():
                self.binder_app.open_record(subject)

    def action_turn_order(self) -> None:
        self.stopping = not self.stopping
        self.draw_rows()
        self.main_list.move_to(0)
        self.show_frame()

    def action_whole_order(self) -> None:
        self.about = None
        self.reload()
        self.show_frame()


def order_rows(order: Order, stopping: bool, width: int) -> Iterator[tuple[Hashable, Line]]:
    """What waits for itself, then the stages from the first to the last."""
    for at, ring in enumerate(order.rings):
        for n, piece in enumerate(wrapped(f"ring: {ring}", width - 2)):
            yield ("ring", at, n), line((f" {piece}", "warn"))
    items = [item for stage in order.stages for item in stage]
    names = min(max([width_of(item.name) for item in items], default=0), 20)
    forms = min(max([width_of(item.form) for item in items], default=0), 14)
    stages = tuple(reversed(order.stages)) if stopping else order.stages
    for number, stage in enumerate(stages, 1):
        for at, item in enumerate(stage):
            head = Part(f"{f'{number}.' if at == 0 else '':>4} ", "strong")
            yield item.id, (head, *_item(item, stopping, names, forms))


def _item(item: Item, stopping: bool, names: int, forms: int) -> Line:
    after = ", ".join(item.after)
    waits = f"before {after}" if stopping else f"after {after}"
    return line(
        f"{fit(item.name, names)}  ", (f"{fit(item.form, forms)}  ", "label"),
        fit(item.space, 6), (f"  {waits}" if after else "", "label"),
    )  # fmt: skip
