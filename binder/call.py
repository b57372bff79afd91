"""A call: the log entry being written while the client is on the phone.

It is a log entry that nobody has closed yet, in one technician's name; so two technicians' calls
stay apart, each binder has its own, and a crash loses none. What is opened, traced, changed or
revealed meanwhile is attached to it, each record once a way.
"""

from __future__ import annotations

import re
from collections.abc import Collection
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from typing import Final, Literal

from binder.edit import Editor
from binder.errors import RequestError
from binder.file import BinderFile
from binder.numbering import new_id
from binder.read import Record, read, read_where, time_zone
from binder.records.catalog import BY_NAME
from binder.records.dates import format_moment, local_moment
from binder.step import Step

LOG_ENTRY: Final = BY_NAME["log_entry"]
FORMS: Final = LOG_ENTRY.field("form").choices
How = Literal["concerned", "opened", "traced", "changed", "revealed"]
# Nobody is on the phone that long without a thing looked up: the call was left open.
UNATTENDED = timedelta(hours=4)
_STEPS_OF = """
FROM step s WHERE s.log_entry_id = :call
AND s.id >= (SELECT min(c.step_id) FROM change c WHERE c.record_id = :call)
"""


@dataclass(frozen=True, slots=True)
class Call:
    """A log entry that is open. `caller` is who called, in words; empty when nobody said."""

    id: int
    name: str
    form: str
    opened_at: datetime
    who: str
    caller: str
    summary: str
    body: str


def open_calls(binder: BinderFile) -> dict[str, str]:
    """The name of the entry that each person is writing, by the person in lower case."""
    found = read_where(
        binder, LOG_ENTRY, "t.closed_at IS NULL AND t.status = 'current' AND t.who IS NOT NULL",
        order_by="t.opened_at, t.id DESC",
    )  # fmt: skip
    return {entry["who"].lower(): entry.name for entry in found}


def open_call(binder: BinderFile, who: str) -> Call | None:
    """The entry that this person is writing: the latest of theirs that is not closed.

    A name with the address somebody came from (`login from 192.0.2.7`) is also the bare one.
    """
    login, _, _ = who.rpartition(" from ")
    found = read_where(
        binder, LOG_ENTRY,
        "t.closed_at IS NULL AND t.status = 'current' AND lower(t.who) IN (lower(?), lower(?))",
        (who, login or who), order_by="t.opened_at DESC, t.id LIMIT 1",
    )  # fmt: skip
    return _call(binder, found[0]) if found else None


def start(editor: Editor, *, caller_id: int | None = None, caller_note: str = "") -> Call:
    """Open a call. The caller is a contact, or what was said of them, or not known yet.

    Raises RequestError when this person has one open already.
    """
    standing = open_call(editor.binder, editor.who)
    if standing is not None:
        raise RequestError(f"{standing.name} is open already; close it first")
    entry_id = new_id()
    with editor.step("start a call", log_entry_id=entry_id) as step:
        step.add(
            "log_entry",
            {
                "opened_at": _stamp(editor), "form": "call", "who": editor.who,
                "caller": caller_id, "caller_note": caller_note or None,
            },
            record_id=entry_id,
        )  # fmt: skip
        if caller_id is not None:
            _attach(step, editor, entry_id, {caller_id}, "concerned")
    return _call(editor.binder, read(editor.binder, entry_id))


def jot(editor: Editor, call: Call, note: str) -> None:
    """Add a line to what is written of the call, with the time on the client's wall."""
    note = " ".join(note.split())
    if not note:
        return
    zone = time_zone(editor.binder)
    at = local_moment(_stamp(editor), zone).split(" ")[1][:5]
    with editor.step(f"note on {call.name}", log_entry_id=call.id) as step:
        before = read(editor.binder, call.id)["body"]
        step.change(call.id, {"body": f"{before}\n{at} {note}" if before else f"{at} {note}"})


def last_note(call: Call) -> str:
    """The last line noted of a call, without its time; nothing when none was."""
    last = call.body.rpartition("\n")[2]
    return re.sub(r"^\d\d:\d\d ", "", last)


def attach(editor: Editor, call: Call, records: Collection[int], how: How) -> None:
    """Note that records were opened, traced, changed or revealed during the call.

    What the call knows already, and what is not in the binder any more, is passed over.
    """
    fresh = set(records) - _attached(editor.binder, call.id, how) - {call.id}
    fresh = {one for one in fresh if _may_be_attached(editor.binder, one)}
    if fresh:
        with editor.step(f"{how} during {call.name}", log_entry_id=call.id) as step:
            _attach(step, editor, call.id, fresh, how)


def attach_changes(editor: Editor, call: Call) -> None:
    """Attach every record that a step of the call changed and that is still there."""
    rows = editor.binder.connection.execute(
        "SELECT DISTINCT record_id FROM change WHERE kind NOT IN ('touch', 'log_entry') "
        f"AND step_id IN (SELECT s.id {_STEPS_OF})",
        {"call": call.id},
    )
    attach(editor, call, {row[0] for row in rows}, "changed")


def spent_min(binder: BinderFile, call: Call, now: datetime) -> int:
    """How long a call took, in whole minutes; one that just began counts as one.

    One that was left open ended with the last thing done in it.
    """
    row = binder.connection.execute(f"SELECT max(s.at) {_STEPS_OF}", {"call": call.id}).fetchone()
    last = _moment(row[0]) if row[0] else call.opened_at
    until = last if now - last > UNATTENDED else now
    return max(round((until - call.opened_at).total_seconds() / 60), 1)


def close(editor: Editor, call: Call, summary: str, form: str, *, spent_min: float) -> None:
    """Close a call with one line that says what it was. Raises FaultsError for a wrong form."""
    attach_changes(editor, call)
    with editor.step(f"close {call.name}: {summary}", log_entry_id=call.id) as step:
        step.change(
            call.id,
            {
                "closed_at": _stamp(editor), "summary": summary, "form": form,
                "spent_min": float(spent_min),
            },
        )  # fmt: skip


def contact_of(binder: BinderFile, said: str) -> int | None:
    """The one contact that a telephone number or a name means; None for none or several."""
    digits = "".join(filter(str.isdigit, said))
    contacts = read_where(binder, BY_NAME["contact"])
    found = [
        contact.id
        for contact in contacts
        if contact.name.casefold() == said.strip().casefold()
        or (len(digits) >= 7 and any(_ends_alike(digits, number) for number in _numbers(contact)))
    ]
    return found[0] if len(found) == 1 else None


def _numbers(contact: Record) -> list[str]:
    fields = ("office_phone", "mobile_phone", "anytime_phone")
    return ["".join(filter(str.isdigit, contact[name] or "")) for name in fields]


def _ends_alike(dialled: str, kept: str) -> bool:
    """Whether two numbers are one, with and without the country's code or a leading zero."""
    short, long = sorted((dialled.lstrip("0"), kept.lstrip("0")), key=len)
    return len(short) >= 7 and long.endswith(short)


def _call(binder: BinderFile, entry: Record) -> Call:
    caller = entry["caller_note"] or ""
    if entry["caller"] is not None:
        caller = read(binder, entry["caller"]).name
    return Call(
        entry.id, entry.name, entry["form"],
        _moment(entry["opened_at"]),
        entry["who"], caller, entry["summary"] or "", entry["body"] or "",
    )  # fmt: skip


def _moment(stored: str) -> datetime:
    return datetime.strptime(stored, "%Y-%m-%dT%H:%M:%SZ").replace(tzinfo=UTC)


def _stamp(editor: Editor) -> str:
    return format_moment(editor.clock().astimezone(UTC))


def _attached(binder: BinderFile, entry_id: int, how: How) -> set[int]:
    rows = binder.connection.execute(
        "SELECT subject_id FROM touch WHERE log_entry_id = ? AND how = ?", (entry_id, how)
    )
    return {row[0] for row in rows}


def _may_be_attached(binder: BinderFile, record_id: int) -> bool:
    row = binder.connection.execute("SELECT kind FROM record WHERE id = ?", (record_id,)).fetchone()
    return row is not None and row[0] not in ("touch", "client")


def _attach(step: Step, editor: Editor, entry_id: int, records: Collection[int], how: How) -> None:
    at = _stamp(editor)
    step.add_many(
        "touch",
        [{"log_entry": entry_id, "subject": one, "how": how, "at": at} for one in sorted(records)],
    )
