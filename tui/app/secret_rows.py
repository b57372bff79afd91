"""What a secret's sheet tells of its values and of who was shown them; lines of the log."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Final

from binder.envelope import reports
from binder.envelope.reports import LogLine
from binder.file import BinderFile
from binder.read import names
from binder.records.dates import local_moment
from tui.app.lines import Line, line, width_of, wrapped
from tui.app.sheet_lines import SheetRow

CURRENT: Final = "current"  # in `field` of the row of the value in use
MOST = 100  # lines of the log on a sheet
_ACTS: Final = {
    "reveal": "was shown",
    "code": "was shown a code of",
    "set": "set",
    "discard": "discarded",
    "create": "made the envelope",
    "open": "opened the envelope by the passphrase of",
    "add keyholder": "added the keyholder",
    "rename keyholder": "renamed the keyholder",
    "change keyholder": "gave a new passphrase to",
    "raise keyholder": "made guesses dearer at the passphrase of",
    "remove keyholder": "removed the keyholder",
    "renew": "renewed the data key",
    "fault": "found the log's head amiss",
}


def when(stored: str, zone: str) -> str:
    """A moment by the clock on the client's wall; as it stands when it was tampered with."""
    try:
        return local_moment(stored, zone)
    except ValueError:
        return stored


def secret_rows(binder: BinderFile, secret_id: int, zone: str, width: int) -> list[SheetRow]:
    """The values that the envelope holds of a secret, and its log, newest first."""
    return [*_version_rows(binder, secret_id, zone), *_log_rows(binder, secret_id, zone, width)]


def _version_rows(binder: BinderFile, secret_id: int, zone: str) -> Iterator[SheetRow]:
    versions = reports.versions(binder, secret_id)
    says = f" Values in the envelope ({len(versions)})"
    hint = "  k shows it, g gives a new one" if versions else "  none yet: g gives it one"
    yield SheetRow(("versions", 0), line((says, "strong"), (hint, "label")))
    for one in versions:
        state = "in use  " if one.current else "replaced"
        yield SheetRow(
            ("version", one.version),
            line(
                f"   version {one.version}  {state}",
                (f"  {when(one.set_at, zone)} by {one.set_by} ›", "label"),
            ),
            field=CURRENT if one.current else "",
            version=one.version,
        )


def _log_rows(binder: BinderFile, secret_id: int, zone: str, width: int) -> Iterator[SheetRow]:
    lines = reports.log_of_secret(binder, secret_id, MOST)
    if not lines:
        return
    entries = entry_names(binder, lines)
    count = f"{len(lines)}" if len(lines) < MOST else f"the latest {MOST}"
    yield SheetRow(("log", 0), line((f" Who was shown it ({count})", "strong")))
    for one in lines:
        target = one.log_entry_id if one.log_entry_id in entries else None
        for at, parts in enumerate(log_lines(one, entries, zone, width, secret="")):
            yield SheetRow(("log", one.number, at), parts, target=target)


def entry_names(binder: BinderFile, lines: tuple[LogLine, ...]) -> dict[int, str]:
    """The log entries that lines of the envelope's log belong to, by id."""
    found = names(binder, {one.log_entry_id for one in lines if one.log_entry_id})
    return {record_id: named.name for record_id, named in found.items()}


def log_lines(
    one: LogLine, entries: dict[int, str], zone: str, width: int, *, secret: str
) -> list[Line]:
    """Who did what, to which secret, in which log entry and why; in as many lines as it takes."""
    moment = f"   {when(one.at, zone)}  "
    what = f"handed {one.seen_by}" if one.act == "hand over" else _ACTS.get(one.act, one.act)
    version = f"version {one.version}" if one.version else ""
    did = " ".join(part for part in (one.who, what, secret or one.keyholder, version) if part)
    entry = entries.get(one.log_entry_id or 0, "")
    why = ": ".join(part for part in (entry, one.why) if part)
    texts = [did]
    if why and width_of(f"{did}  {why}") <= width - len(moment):
        texts = [f"{did}  {why}"]
    elif why:
        texts.append(why)
    room = width - len(moment) - 1
    pieces = [piece for text in texts for piece in wrapped(text, room)]
    return [
        line((moment if at == 0 else " " * len(moment), "label"), piece)
        for at, piece in enumerate(pieces)
    ]
