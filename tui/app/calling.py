"""The errands of a call: begin it, note a line, go on with it, close it."""

from __future__ import annotations

from functools import partial
from typing import TYPE_CHECKING

from binder import call
from binder.errors import RequestError
from binder.find import find
from binder.read import binder_id, read
from binder.records.dates import format_moment, local_moment
from binder.touched import touched
from binder.unsaved import Unsaved, drop, kept
from tui.app.ask import AskLine, AskLineOfKind
from tui.app.ask_offered import AskOffered
from tui.app.suggestions import MOST, Suggestion
from tui.app.typed_kept import keep_aside

if TYPE_CHECKING:
    from tui.app.binder_app import BinderApp

NOTE = "note"


async def begin(app: BinderApp, subject: int | None) -> None:
    """Begin a call. The caller is the contact one stands on, else asked; Enter alone: not known."""
    if app.kind_of(subject) == "contact":
        started = call.start(app.editor, caller_id=subject)
    else:
        says = "A name or a telephone number; Enter alone when nobody said."
        asked = AskOffered("Who is calling?", says, offers=partial(_callers, app))
        said = await app.ask(asked)
        if said is None:
            return
        is_as_said = said == _as_said(asked.typed)
        contact = None if is_as_said else call.contact_of(app.binder, said)
        note = "" if contact else asked.typed
        started = call.start(app.editor, caller_id=contact, caller_note=note)
    app.calls_met.add(started.id)
    app.changed()
    app.say(_greeting(app, started))


def _callers(app: BinderApp, said: str) -> list[Suggestion]:
    """The contacts that may be meant, by part of a name or by number; else what was said."""
    if not said:
        return []
    sure = call.contact_of(app.binder, said)
    if sure is not None:
        contact = read(app.binder, sure)
        return [Suggestion(contact.name, contact["role"] or contact["organisation"] or "")]
    hits = find(app.binder, f"contact {said}", MOST)
    found = [hit for hit in hits if hit.kind == "contact" and not hit.is_partly]
    if not found:
        return []
    as_said = Suggestion(_as_said(said), "as said; not one of the contacts")
    return [*(Suggestion(hit.name, hit.line) for hit in found), as_said]


def _as_said(said: str) -> str:
    """How what was said is offered beside the contacts; the same word alone would mean itself."""
    return f"'{said}'"


def _greeting(app: BinderApp, started: call.Call) -> str:
    """Who it is, and how to be sure of that."""
    record = read(app.binder, started.id)
    if record["caller"] is None:
        whom = f" with {started.caller}" if started.caller else ""
        return f"{started.name} began{whom}; j notes a line, c closes it"
    contact = read(app.binder, record["caller"])
    told = [contact.name, contact["role"] or ""]
    if contact["identity_check"]:
        told.append(f"to be sure: {contact['identity_check']}")
    if contact["may_approve"]:
        told.append(f"may approve: {contact['may_approve']}")
    return f"{started.name}: {', '.join(part for part in told if part)}; c closes it"


async def note(app: BinderApp) -> None:
    """Note a line of the call that runs. What is half typed outlives a dropped line."""
    running = app.call
    if running is None:
        raise RequestError("no call runs; c begins one")
    half = _half_typed(app, running)

    def typed(text: str) -> None:
        keep_aside(app, _unsaved(app, running, text))

    says = _last_notes(app, running)
    told = await app.ask(AskLine(f"Note on {running.name}", says, start=half, typed=typed))
    if told is None:
        return  # what was typed is there when j is pressed again
    call.jot(app.editor, running, told)
    drop(_unsaved(app, running, ""))
    app.changed()
    app.say(f"noted on {running.name}")


def _unsaved(app: BinderApp, running: call.Call, text: str) -> Unsaved:
    at = format_moment(app.clock())
    return Unsaved(binder_id(app.binder), app.who, NOTE, running.name, at, {"text": text})


def _half_typed(app: BinderApp, running: call.Call) -> str:
    found = kept(binder_id(app.binder), app.who)
    texts = [one.data.get("text") for one in found if (one.what, one.title) == (NOTE, running.name)]
    return str(texts[0]) if texts and texts[0] else ""


def _last_notes(app: BinderApp, running: call.Call) -> str:
    return "\n".join(running.body.split("\n")[-6:])


def goes_on(app: BinderApp, running: call.Call) -> str:
    """What to tell of a call that was open before this session: it goes on, with what was typed."""
    began = local_moment(format_moment(running.opened_at), app.zone)
    whom = f" with {running.caller}" if running.caller else ""
    half = _half_typed(app, running)
    typed = f"; j goes on with your note '{half}'" if half else ", j notes a line"
    return f"your {running.form} {running.name}{whom} of {began} goes on; c closes it{typed}"


async def finish(app: BinderApp) -> None:
    """Close the call that runs: one line, and what kind it was."""
    running = app.call
    if running is None:
        return
    app.write_attached()
    minutes = call.spent_min(app.binder, running, app.clock())
    names = [one.name for one in touched(app.binder, running.id)]
    told = f"{minutes} min. Touched: {', '.join(names[:12]) or 'nothing'}"
    summary = running.summary or _half_typed(app, running) or call.last_note(running)
    forms = [running.form, *(form for form in call.FORMS if form != running.form)]
    asked = AskLineOfKind(f"{running.name} in one line", told, forms, start=summary)
    line_of_it = await app.ask(asked)
    if line_of_it is None:
        return
    call.close(app.editor, running, line_of_it, asked.kind, spent_min=minutes)
    drop(_unsaved(app, running, ""))
    app.changed()
    app.say(f"{running.name} is closed: {minutes} min, {len(names)} records touched")
