"""Many records at once: a range changed, lines made into records, two ranges joined.

Each is an errand: questions, a preview, one step. What was typed is kept when going back.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from functools import partial
from typing import TYPE_CHECKING

from binder.cells import Cells, field_called, letters
from binder.errors import BinderError, RequestError
from binder.file import told
from binder.intake.lines import propose
from binder.proposal import Proposal, rehearsed, write
from binder.ranges import chosen, counted, set_fields
from binder.read import binder_id
from binder.records.dates import format_moment
from binder.records.fields import Field, Kind
from binder.unsaved import Unsaved, drop, kept
from tui.app.ask_offered import AskOffered
from tui.app.form import FormScreen
from tui.app.form_rows import hint
from tui.app.join_ports import JoinPorts
from tui.app.kind_words import many, one
from tui.app.lines_screen import LinesScreen
from tui.app.proposal_screen import EXISTING, MEND, MORE, WRITE, Chosen, ProposalScreen
from tui.app.suggestions import Suggestion, suggest
from tui.app.typed_kept import keep_aside

if TYPE_CHECKING:
    from tui.app.binder_app import BinderApp

LINES = "lines"
_RANGE_HELP = (
    "A range like 1A-A:01..24 or SW1:01..12,17; from one to another, 1A-A01..1A-B12; "
    "1A-A* for all that begin so; * for the whole list. Ctrl+U empties the line."
)


async def review(
    app: BinderApp, make: Callable[[], Proposal], offers: frozenset[str] = frozenset()
) -> Chosen | None:
    """Show a proposal and write it when told to; gives what else was chosen, None to drop it."""
    says = ""
    while True:
        proposal = rehearsed(app.editor, make())
        able = offers - (set() if _has_taken(proposal) else {EXISTING})
        answer = await app.ask(ProposalScreen(proposal, able, says))
        if answer is None or answer.word != WRITE:
            return answer
        try:
            with told(app.binder.path):
                ids = write(app.editor, proposal)
        except BinderError as error:  # someone else was there first: made anew, and looked at anew
            says = str(error)
            continue
        app.changed(written=ids[0])
        app.say(f"{proposal.done}; u takes all of it back")
        return answer


def _has_taken(proposal: Proposal) -> bool:
    return any(record.is_taken for record in proposal.records)


# A range changed. -------------------------------------------------------------------------


async def change_many(app: BinderApp, kind: Kind, listed: Sequence[int], start: str) -> None:
    """Ask which, which field and to what; show what becomes of each; write it in one step."""

    def fault(range_: str) -> str:
        return _said(lambda: chosen(app.binder, kind, range_, listed))

    question = f"Change which {many(kind).lower()}?"
    range_: str | None = start
    while range_ is not None:
        range_ = await app.ask(AskOffered(question, _RANGE_HELP, start=range_, check=fault))
        if range_ is not None:
            ids = chosen(app.binder, kind, range_, listed)
            if await _set_fields(app, kind, ids):
                return


def _said(do: Callable[[], object]) -> str:
    try:
        do()
    except RequestError as error:
        return str(error)
    return ""


async def _set_fields(app: BinderApp, kind: Kind, ids: Sequence[int]) -> bool:
    """Ask for fields until it is written (True) or one goes back to the range (False)."""
    count = f"{len(ids):,} {many(kind).lower() if len(ids) > 1 else one(kind)}"
    typed: dict[str, str] = {}
    word = ""
    while True:
        name = await app.ask(_field_question(kind, f"{count}: change which field?", word))
        if name is None:
            return False
        field = field_called(kind, name)
        answer = await _set_field(app, kind, ids, field, typed)
        if answer is not None and answer.word == WRITE:
            return True
        word = "" if answer is not None else name


async def _set_field(
    app: BinderApp, kind: Kind, ids: Sequence[int], field: Field, typed: dict[str, str]
) -> Chosen | None:
    """Ask for the value of one more field and look at all; None when it is not to be set."""
    count = f"{len(ids):,} {many(kind).lower() if len(ids) > 1 else one(kind)}"
    while True:
        start = typed.get(field.name, "")
        value = await app.ask(_value_question(app, kind, field, count, start))
        if value is None:
            typed.pop(field.name, None)
            return None
        typed[field.name] = value
        make = partial(set_fields, app.binder, kind, ids, typed, now=app.clock())
        answer = await review(app, make, frozenset({MORE}))
        if answer is not None:
            return answer


def _field_question(kind: Kind, question: str, start: str) -> AskOffered:
    def offers(typed: str) -> list[Suggestion]:
        wanted = letters(typed)
        begins = [f for f in kind.all_fields if letters(f.label).startswith(wanted)]
        holds = [
            f for f in kind.all_fields
            if f not in begins and wanted in f"{letters(f.label)} {letters(f.name)}"
        ]  # fmt: skip
        return [Suggestion(_called(kind, field), field.help) for field in (*begins, *holds)]

    def fault(word: str) -> str:
        return _said(lambda: field_called(kind, word))

    return AskOffered(question, start=start, offers=offers, check=fault)


def _called(kind: Kind, field: Field) -> str:
    """The label; with the unit where two share it."""
    alike = [other for other in kind.all_fields if other.label == field.label]
    return f"{field.label} ({field.unit})" if alike[1:] and field.unit else field.label


def _value_question(app: BinderApp, kind: Kind, field: Field, count: str, start: str) -> AskOffered:
    cells = Cells(app.binder, app.clock())

    def fault(typed: str) -> str:
        """What is the same for all is told here, before the preview."""
        try:
            cells.read(field, counted(typed, 0))
        except ValueError as error:
            return str(error)
        return ""

    says = hint(field, app.system).replace("Left and right go through the choices; or type. ", "")
    if field.choices:
        says = f"One of: {', '.join(field.choices)}."
    says += " Typing nothing empties it. {n} counts 1, 2, 3; {07} counts from 07."
    return AskOffered(
        f"{count}: {field.label} to what?",
        says,
        start=start,
        offers=lambda typed: suggest(app.binder, field, typed, kind=kind.name),
        check=fault,
    )


# Lines made into records. -----------------------------------------------------------------


async def paste_lines(app: BinderApp, kind: Kind, pasted: str = "") -> None:
    """Make a record of each line; without lines, ask for them on a page of text."""
    if kind.single:
        raise RequestError(f"a binder holds exactly one {one(kind)}; e changes it")
    before = _kept_lines(app, kind)
    lines: str | None = pasted or await app.ask(_lines_question(app, kind, before, ""))
    while lines:
        says, at = "", 0
        try:
            answer = await _review_lines(app, kind, lines)
        except RequestError as error:  # there are no columns to be seen in it
            says = str(error)
        else:
            if answer is None and lines == pasted:
                app.say("dropped; nothing was written")
                return
            if answer is not None and answer.word == WRITE:
                if lines != pasted:  # else what was typed another time still waits
                    drop(_unsaved(app, kind, ""))
                return
            at = answer.line if answer else 0
        lines = await app.ask(_lines_question(app, kind, lines, says, at))
    drop(_unsaved(app, kind, ""))


async def _review_lines(app: BinderApp, kind: Kind, lines: str) -> Chosen | None:
    """Look at them as new records and, when that is chosen, as changes of those that are there."""
    while True:
        make = partial(propose, app.binder, kind, lines, now=app.clock())
        answer = await review(app, make, frozenset({MEND, EXISTING}))
        if answer is None or answer.word != EXISTING:
            return answer
        answer = await review(app, partial(make, change_existing=True), frozenset({MEND}))
        if answer is not None:
            return answer


def _lines_question(app: BinderApp, kind: Kind, lines: str, says: str, at: int = 0) -> LinesScreen:
    heads = ", ".join((kind.label, *(kind.field(name).label for name in kind.columns)))
    how = f"! {says}" if says else f"Columns: {heads}; or name others on the first line."
    return LinesScreen(
        f"{many(kind)}, a line each", how, lines, at, typed=partial(_keep, app, kind)
    )


def _keep(app: BinderApp, kind: Kind, lines: str) -> None:
    """Keep what is typed aside, so that a dropped line loses none of it."""
    keep_aside(app, _unsaved(app, kind, lines))


def _unsaved(app: BinderApp, kind: Kind, lines: str) -> Unsaved:
    at = format_moment(app.clock())
    return Unsaved(binder_id(app.binder), app.who, LINES, kind.name, at, {"text": lines})


def _kept_lines(app: BinderApp, kind: Kind) -> str:
    """Lines of the kind that were typed and not written when the program ended."""
    found = kept(binder_id(app.binder), app.who)
    texts = [one.data.get("text") for one in found if (one.what, one.title) == (LINES, kind.name)]
    return str(texts[0]) if texts and texts[0] else ""


# Two ranges joined. -----------------------------------------------------------------------


class JoinForm(FormScreen):
    """A form that is looked at as a whole before it is written."""

    def _save(self, values: dict[str, object]) -> None:
        self.binder_app.errand(self._reviewed(values))

    async def _reviewed(self, values: dict[str, object]) -> None:
        app, filing = self.binder_app, self.filing
        assert isinstance(filing, JoinPorts)
        answer = await review(app, lambda: filing.propose(app, values))
        if answer is not None:
            says = self.message
            self.leave()
            app.changed()
            if says:
                app.say(says[0])
