"""What one person knows of the envelope's secrets: the list to work through when they leave."""

from __future__ import annotations

from collections.abc import Hashable, Iterator, Sequence
from typing import TYPE_CHECKING, ClassVar

from textual.binding import BindingType

from binder.envelope import reports
from binder.envelope.reports import Leaver, Seen, mark_for_rotation
from binder.records.dates import parse_date
from tui.app.actions import KNOWN, bindings
from tui.app.ask import AskLine
from tui.app.line_list import LineList, Rows
from tui.app.lines import Line, Part, fit, line, width_of
from tui.app.record_screen import RecordScreen
from tui.app.secret_rows import when

if TYPE_CHECKING:
    from tui.app.binder_app import BinderApp

Row = tuple[Hashable, Line]
_BESIDE_NAME = 50  # cells that when and how they know it take, whatever a secret is called
_HOW = {"set": "set it", "reveal": "was shown it", "hand over": "was handed it"}


class PersonScreen(RecordScreen):
    """What to rotate, which passphrases to change, and what was replaced since."""

    PLACE = KNOWN
    HAS_PREVIEW = False
    NOTHING = "stand on a line that names a secret"
    BINDINGS: ClassVar[list[BindingType]] = bindings(KNOWN)

    def __init__(self, person: str) -> None:
        super().__init__()
        self.person = person
        self.leaver = Leaver(person, (), (), False)
        self.targets: dict[Hashable, int] = {}

    def title_parts(self) -> tuple[Sequence[Part], Sequence[Part]]:
        count = len(self.leaver.to_rotate)
        return (Part(" What "), Part(self.person, "strong"), Part(" knows")), (
            Part(f"{count} in use", "warn" if count else ""),
        )

    def reload(self) -> None:
        binder = self.binder_app.binder
        self.leaver = reports.leaver(binder, self.person)
        seen = reports.seen_by(binder, self.person)
        others = [one for one in seen if one not in self.leaver.to_rotate]
        self.targets = {}
        gap: Row = ("gap", ())
        self.main_list.show(
            Rows([*self._to_rotate(), gap, *self._access(), gap, *self._replaced(others)])
        )

    def _to_rotate(self) -> Iterator[Row]:
        found = self.leaver.to_rotate
        hint = "m marks all of them to be rotated" if found else "nothing to rotate"
        yield "rotate", line((f" In use ({len(found)})", "strong"), (f"  {hint}", "label"))
        yield from self._rows(found, "in use")

    def _access(self) -> Iterator[Row]:
        yield "access", line((" The envelope itself", "strong"))
        for name in self.leaver.passphrases:
            yield (
                ("passphrase", name),
                line(f"   knows the passphrase of {name}",
                     ("  `binder envelope change` gives a new one", "label")),
            )  # fmt: skip
        if self.leaver.renew:
            yield (
                "renew",
                line("   held the data key",
                     ("  `binder envelope renew`, after the passphrases", "label")),
            )  # fmt: skip
        if not self.leaver.passphrases and not self.leaver.renew:
            yield "nothing", line("   knows no passphrase and holds no key that still opens it")

    def _replaced(self, found: Sequence[Seen]) -> Iterator[Row]:
        if found:
            yield "replaced", line((f" Replaced since, or removed ({len(found)})", "strong"))
            yield from self._rows(found, "replaced")

    def _rows(self, found: Sequence[Seen], part: str) -> Iterator[Row]:
        widest = max([width_of(one.secret) for one in found], default=0)
        names = min(widest, max(self.list_width - _BESIDE_NAME, 12))
        for one in found:
            key = (part, one.secret_id, one.version)
            if not one.removed:
                self.targets[key] = one.secret_id
            how = f"{_HOW.get(one.how, one.how)}, version {one.version}"
            moment = when(one.last_at, self.binder_app.zone)
            yield (
                key,
                line(f"   {fit(one.secret, names)}  {moment}  {how}", (f"  {one.why}", "label")),
            )

    # Acting -----------------------------------------------------------------------------

    def looked_at(self) -> int | None:
        return self.targets.get(self.main_list.key or "")

    def subject(self) -> int | None:
        return self.looked_at()

    def is_offered(self, action_id: str) -> bool:
        if action_id == "mark_known":
            return bool(self.leaver.to_rotate)
        return super().is_offered(action_id)

    def on_line_list_chosen(self, event: LineList.Chosen) -> None:
        target = self.looked_at()
        if target is not None:
            with self.binder_app.telling():
                self.binder_app.open_record(target)

    def action_mark_known(self) -> None:
        if self.leaver.to_rotate:
            self.binder_app.errand(_mark(self.binder_app, self.leaver))
        else:
            self.say(f"{self.person} knows nothing that is in use")


async def _mark(app: BinderApp, leaver: Leaver) -> None:
    """Mark all that a leaver knows to be rotated by a day that is asked for."""
    ids = [one.secret_id for one in leaver.to_rotate]
    says = "A day, as 2026-04-01, today or +7d. The envelope's page lists what is due."
    while True:
        answer = await app.ask(
            AskLine(f"{len(ids)} secrets that {leaver.person} knows: rotate by when?", says,
                    start="+7d")
        )  # fmt: skip
        if answer is None:
            return
        try:
            day = parse_date(answer, app.today)
        except ValueError as error:
            says = f"! {error}"
        else:
            break
    count = mark_for_rotation(app.editor, ids, day, f"{leaver.person} left")
    app.changed()
    app.say(f"{count} secrets are to be rotated by {day.isoformat()}; u takes it back")
