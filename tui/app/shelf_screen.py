"""The shelf: the binders of a folder."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import ClassVar

from textual import work
from textual.binding import BindingType
from textual.message import Message
from textual.worker import get_current_worker

from binder.shelf import Shelved, binders_in, shelved
from tui.app.actions import SHELF, bindings
from tui.app.line_list import LineList, Rows
from tui.app.lines import Line, Part, fit, line, width_of
from tui.app.screen import BinderScreen


class ShelfScreen(BinderScreen[None]):
    """Names stand at once; whether each opens, and for which client, follows as it is read."""

    PLACE = SHELF
    BINDINGS: ClassVar[list[BindingType]] = bindings(SHELF)

    class LookedInto(Message):
        """One binder of the shelf was looked into."""

        def __init__(self, found: Shelved) -> None:
            super().__init__()
            self.found = found

    def __init__(self, folder: Path) -> None:
        super().__init__()
        self.folder = folder
        self.paths: tuple[Path, ...] = ()
        self.known: dict[str, Shelved] = {}

    def title_parts(self) -> tuple[Sequence[Part], Sequence[Part]]:
        count = len(self.paths)
        return (
            (Part(f" Shelf {self.folder}", "strong"),),
            (Part(f"{count} binder{'' if count == 1 else 's'}"),),
        )

    def reload(self) -> None:
        self.paths = binders_in(self.folder)
        self.main_list.empty = " no binders on this shelf; n makes the first one"
        self.draw_rows()
        self.look_into()

    def on_screen_resume(self) -> None:
        if self.app.screen is not self:  # another binder was opened before this was told
            return
        self.binder_app.close_binder()
        with self.binder_app.telling():
            self.reload()

    @work(thread=True, exclusive=True, description="look into the binders of the shelf")
    def look_into(self) -> None:
        worker = get_current_worker()
        for path in self.paths:
            if worker.is_cancelled:
                return
            self.post_message(self.LookedInto(shelved(path, self.binder_app.who)))

    def on_shelf_screen_looked_into(self, event: LookedInto) -> None:
        self.known[event.found.path] = event.found
        self.draw_rows()

    def draw_rows(self) -> None:
        room = max([width_of(path.stem) for path in self.paths], default=0)
        rows = [(str(path), self._line(path, min(room, 24))) for path in self.paths]
        self.main_list.show(Rows(rows))
        self.show_frame()

    def _line(self, path: Path, room: int) -> Line:
        name = (f" {fit(path.stem, room)}  ", "strong")
        found = self.known.get(str(path))
        if found is None:
            return line(name, ("...", "label"))
        if not found.opens:
            return line(name, (f"! {found.problem}", "bad"))
        changed = found.changed.replace("T", " ")[:16]
        size = f"{max(found.size_bytes // 1000, 1):,} kB"
        last = (f"{found.open_call} open", "here") if found.open_call else (f"{size:>10}", "label")
        return line(name, fit(found.client, 30), (f"  {changed}  ", "label"), last)

    def on_line_list_chosen(self, event: LineList.Chosen) -> None:
        with self.binder_app.telling():
            self.binder_app.open_from_shelf(Path(str(event.source.key)))

    def action_new(self) -> None:
        self.binder_app.open_new_binder(self.folder)
