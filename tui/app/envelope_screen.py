"""The envelope: who holds it, who knows what, what is to be rotated, who opened it."""

from __future__ import annotations

from collections.abc import Hashable, Iterator, Sequence
from typing import ClassVar

from textual.binding import BindingType

from binder.envelope import has_envelope, reports
from binder.read import kind_of
from tui.app.actions import HELD, bindings
from tui.app.drawn_screen import DrawnScreen
from tui.app.line_list import LineList, Rows
from tui.app.lines import Line, Part, fit, line, width_of
from tui.app.secret_rows import entry_names, log_lines, when

_FEW = 12  # openings and log lines shown at first
_MANY = 2_000
_BESIDE_NAME = 30  # cells beside a person: how many values are in use
Row = tuple[Hashable, Line]


class EnvelopeScreen(DrawnScreen):
    """Needs no passphrase. Enter opens the secret, or what a person knows."""

    PLACE = HELD
    HAS_PREVIEW = False
    NOTHING = "stand on a line that names a secret"
    BINDINGS: ClassVar[list[BindingType]] = bindings(HELD)

    def __init__(self) -> None:
        super().__init__()
        self.limit = _FEW
        self.targets: dict[Hashable, int] = {}

    def title_parts(self) -> tuple[Sequence[Part], Sequence[Part]]:
        return (Part(" The envelope", "strong"),), ()

    def reload(self) -> None:
        self.draw_rows()

    def draw_rows(self) -> None:
        self.targets = {}
        self.drawn_width = self.list_width
        if not has_envelope(self.binder_app.binder):
            self.main_list.empty = " this binder has no envelope yet; o makes one"
            self.main_list.show(Rows(()))
            return
        parts = (
            self._overdue(), self._people(), self._keyholders(), self._left_behind(),
            self._openings(), self._log(),
        )  # fmt: skip
        rows: list[Row] = []
        for at, part in enumerate(parts):
            rows += [*part, (("gap", at), ())]
        self.main_list.show(Rows(rows))

    # Parts ------------------------------------------------------------------------------

    def _overdue(self) -> Iterator[Row]:
        found = reports.overdue(self.binder_app.binder, self.binder_app.today)
        yield "overdue", _head("To be rotated", len(found), "" if found else "nothing is due")
        names = max([width_of(one.secret) for one in found], default=0)
        for one in found:
            late = f"{one.days} day{'' if one.days == 1 else 's'} late" if one.days else "today"
            self.targets["overdue", one.secret_id] = one.secret_id
            yield (
                ("overdue", one.secret_id),
                line(
                    f"   {fit(one.secret, names)}  ",
                    (f"by {one.rotate_by}, {late}", "warn"),
                    (f"  {one.reason}", "label"),
                ),
            )

    def _people(self) -> Iterator[Row]:
        people = reports.in_use_by_person(self.binder_app.binder)
        yield "people", _head("Who knows what", len(people), "Enter: what to do when they leave")
        widest = max([width_of(person) for person in people], default=0)
        room = min(widest, max(self.list_width - _BESIDE_NAME, 12))
        for person, count in people.items():
            known = "1 value in use" if count == 1 else f"{count} values in use"
            yield ("person", person), line(f"   {fit(person, room)}  {known}", (" ›", "label"))

    def _keyholders(self) -> Iterator[Row]:
        found = reports.keyholders(self.binder_app.binder)
        yield (
            "keyholders",
            _head(
                "Keyholders",
                len(found),
                "outside the app: `binder envelope add`, change, rename, remove",
            ),
        )
        for one in found:
            since = when(one.added_at, self.binder_app.zone)
            key_file = ", with a key file" if one.key_file else ""
            yield (
                ("keyholder", one.name),
                line(
                    f"   {one.name}{key_file}",
                    (f"  passphrase set {since} by {one.added_by}", "label"),
                ),
            )

    def _left_behind(self) -> Iterator[Row]:
        found = reports.left_behind(self.binder_app.binder)
        if found:
            hint = "kept for undo; `binder envelope discard` destroys them"
            yield "left", _head("Of secrets that were removed", len(found), hint)
        for one in found:
            yield ("left", one.secret_id), line(f"   {one.secret}")

    def _openings(self) -> Iterator[Row]:
        found = reports.openings(self.binder_app.binder, self.limit)
        failed = sum(not one.opened for one in found)
        says = f"{failed} did not open it" if failed else ""
        yield "openings", _head("Latest openings", len(found), says)
        for at, one in enumerate(found):
            how = (
                (f"with the passphrase of {one.keyholder}", "label")
                if one.opened
                else ("! wrong passphrase", "bad")
            )
            moment = when(one.at, self.binder_app.zone)
            yield ("opening", at), line((f"   {moment}  ", "label"), f"{one.who}  ", how)
        yield from self._more("openings", len(found))

    def _log(self) -> Iterator[Row]:
        binder = self.binder_app.binder
        found = reports.log(binder, self.limit)
        entries, width = entry_names(binder, found), self.drawn_width
        yield "log", _head("Log of the envelope", len(found), "newest first")
        for one in found:
            key = ("log", one.number)
            if one.secret_id and kind_of(binder, one.secret_id):
                self.targets[key] = one.secret_id
            lines = log_lines(one, entries, self.binder_app.zone, width, secret=one.secret)
            for at, parts in enumerate(lines):
                yield (*key, at), parts
        yield from self._more("log", len(found))

    def _more(self, name: str, count: int) -> Iterator[Row]:
        if count == self.limit:
            yield ("more", name), line(("   older ones: Enter shows them", "label"))

    # Acting -----------------------------------------------------------------------------

    def looked_at(self) -> int | None:
        key = self.main_list.key
        return self.targets.get(key[:2]) if isinstance(key, tuple) else None

    def subject(self) -> int | None:
        return self.looked_at()

    def on_line_list_chosen(self, event: LineList.Chosen) -> None:
        key = event.source.key
        if isinstance(key, tuple) and key[0] == "more":
            self.limit = _MANY
            self.reload()
        elif isinstance(key, tuple) and key[0] == "person":
            self.binder_app.open_person(key[1])
        elif (target := self.looked_at()) is not None:
            with self.binder_app.telling():
                self.binder_app.open_record(target)


def _head(name: str, count: int, says: str) -> Line:
    return line((f" {name} ({count})", "strong"), (f"  {says}" if says else "", "label"))
