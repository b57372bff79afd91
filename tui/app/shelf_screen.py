"""The shelf: the binders of a folder, and finding in all of them at once."""

from __future__ import annotations

from collections.abc import Hashable, Sequence
from pathlib import Path
from typing import ClassVar, Final

from textual import work
from textual.binding import BindingType
from textual.message import Message
from textual.worker import get_current_worker

from binder.errors import BinderError
from binder.records.catalog import BY_NAME
from binder.shelf import Shelved, binders_in
from binder.shelf_find import ShelfHit, find_in
from binder.shelf_index import ShelfIndex
from tui.app.actions import SHELF, bindings
from tui.app.line_list import Rows
from tui.app.lines import Line, Part, fit, line, width_of, wrapped
from tui.app.query_screen import Query, QueryScreen

MOST: Final = 60
_Row = tuple[Hashable, Line]


_KEYS: Final = {"?": "help", ":": "palette"}


class ShelfQuery(Query):
    """While nothing is typed, `?` and `:` are the keys that they are everywhere."""

    def replace(self, text: str, start: int, end: int) -> None:
        if not self.value and text in _KEYS:
            self.call_later(self.app.run_action, _KEYS[text], self.screen)
        else:
            super().replace(text, start, end)


class ShelfScreen(QueryScreen):
    """Names stand at once; which client each is follows as it is read. What is typed is looked for
    in the names of clients, then in the index of the shelf."""

    PLACE = SHELF
    BINDINGS: ClassVar[list[BindingType]] = bindings(SHELF)
    QUERY = ShelfQuery

    class LookedInto(Message):
        """Binders of the shelf were looked into; `problem` is why it ended early."""

        def __init__(self, found: Sequence[Shelved], *, is_last: bool, problem: str = "") -> None:
            super().__init__()
            self.found = found
            self.is_last = is_last
            self.problem = problem

    def __init__(self, folder: Path) -> None:
        super().__init__()
        self.folder = folder
        self.paths: tuple[Path, ...] = ()
        self.known: dict[str, Shelved] = {}
        self.hits: tuple[ShelfHit, ...] = ()
        self.is_looking = False
        self._index: ShelfIndex | None = None

    def title_parts(self) -> tuple[Sequence[Part], Sequence[Part]]:
        count = len(self.paths)
        told = f"{count} binder{'' if count == 1 else 's'}"
        if self.is_looking and len(self.known) < count:
            told = f"looked into {len(self.known)} of {told}"
        elif self.typed:
            partly = "not all words: " if self.hits and self.hits[0].is_partly else ""
            told = f"{partly}{len(self.main_list.lines)} found in {told}"
        return (Part(f" Shelf {self.folder}", "strong"),), (Part(told),)

    # The binders ------------------------------------------------------------------------

    def reload(self) -> None:
        self.paths = binders_in(self.folder)
        self.known = {str(path): one for path in self.paths if (one := self.known.get(str(path)))}
        self._close_index()
        self.draw_rows()
        self.is_looking = True
        self.look_into()

    def on_screen_resume(self) -> None:
        if self.app.screen is not self:  # another binder was opened before this was told
            return
        self.binder_app.close_binder()
        with self.binder_app.telling():
            self.reload()
        self.query_one(Query).select_all()  # the next thing typed takes the place of the last

    def on_unmount(self) -> None:
        self._close_index()

    def _close_index(self) -> None:
        if self._index is not None:
            self._index.connection.close()
            self._index = None

    @work(thread=True, exclusive=True, group="shelf", description="look into the binders")
    def look_into(self) -> None:
        """Bring the index up to date, and tell of each binder as soon as it is known."""
        worker = get_current_worker()

        def go_on(some: Sequence[Shelved]) -> bool:
            self.post_message(self.LookedInto(some, is_last=False))
            return not worker.is_cancelled

        problem = ""
        try:
            with ShelfIndex.open(self.folder, self.binder_app.who) as index:
                go_on(tuple(index.mended(index.known).values()))
                index.mended(lambda: index.refresh(go_on))
        except BinderError as error:
            problem = str(error)
        if not worker.is_cancelled:
            self.post_message(self.LookedInto((), is_last=True, problem=problem))

    def on_shelf_screen_looked_into(self, event: LookedInto) -> None:
        self.known |= {one.path: one for one in event.found}
        self.is_looking = self.is_looking and not event.is_last
        if event.problem:
            self.say(event.problem, bad=True)
        if event.found or event.is_last:
            with self.binder_app.telling():
                self.draw_rows()

    # What is shown ----------------------------------------------------------------------

    def answer(self) -> None:
        self.draw_rows()

    def draw_rows(self) -> None:
        words = self.typed.casefold().split()
        binders = [path for path in self.paths if self._is_called(path, words)]
        shown = {str(path) for path in binders}
        self.hits = self._found(shown) if words else ()
        room = max([width_of(path.stem) for path in binders], default=0)
        rows: list[_Row] = [
            ((str(path), None), self._line(path, min(room, 24))) for path in binders
        ]
        rows += self._hit_rows()
        self.main_list.empty = self._nothing()
        self.set_class(bool(words), "-asking")
        self.main_list.show(Rows(rows))
        self.show_frame()

    def _nothing(self) -> str:
        if not self.paths:
            return " no binders on this shelf; ctrl+n makes the first one"
        looking = "; still looking into the binders" if self.is_looking else ""
        return f" nothing on the shelf has '{self.typed}' in it{looking}"

    def _is_called(self, path: Path, words: Sequence[str]) -> bool:
        known = self.known.get(str(path))
        called = f"{path.stem} {known.client if known else ''}".casefold()
        return all(word in called for word in words)

    def _found(self, shown: set[str]) -> tuple[ShelfHit, ...]:
        """What the index has, without the sheets of clients that are shown by name."""
        if self._index is None:
            self._index = ShelfIndex.open(self.folder, self.binder_app.who)
        hits = find_in(self._index, self.typed, MOST)
        return tuple(hit for hit in hits if hit.kind != "client" or hit.path not in shown)

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

    def _hit_rows(self) -> list[_Row]:
        """Whose it is, what it is, and the answer: on a narrow line its end is in the foot."""
        most = 20 if self.app.size.width < 100 else 32
        client = min(max([width_of(hit.client) for hit in self.hits], default=0), most)
        name = min(max([width_of(hit.name) for hit in self.hits], default=0), most)
        return [
            (
                (hit.path, hit.id),
                line(
                    (f" {fit(hit.client, client)}  ", "strong"),
                    (f"{fit(BY_NAME[hit.kind].label, 8)} ", "label"),
                    (fit(hit.name, name), "strong"), f"  {hit.line}",
                ),
            )
            for hit in self.hits
        ]  # fmt: skip

    def preview_lines(self, width: int, height: int) -> Sequence[Line]:
        """What is marked, in full."""
        hit = next((hit for hit in self.hits if (hit.path, hit.id) == self.main_list.key), None)
        if hit is None:
            return ()
        head = line(
            (f" {hit.client}", "strong"), (f"  binder {hit.binder}", "label"),
            f"  {BY_NAME[hit.kind].label.lower()} {hit.name}",
        )  # fmt: skip
        is_told = hit.value in (hit.name, "") or hit.value in hit.line
        text = hit.line if is_told else f"{hit.line}  ({hit.value})"
        return [(), head, *(line(f" {row}") for row in wrapped(text, max(width - 2, 10)))][:height]

    # What is done -----------------------------------------------------------------------

    def choose(self, key: Hashable) -> None:
        path, record_id = key if isinstance(key, tuple) else (key, None)
        self.binder_app.open_from_shelf(Path(str(path)), record_id)

    def action_new_binder(self) -> None:
        self.binder_app.open_new_binder(self.folder)

    def action_leave_shelf(self) -> None:
        if self.query_one(Query).value:
            self.query_one(Query).clear()
        else:
            self.binder_app.go_back()
