"""What the envelope tells without being opened: who has seen what, what to rotate, who opened.

The log is read as it stands; whether it was tampered with is found when the envelope is opened
(`Envelope.check`). Needs no passphrase, and does not load `cryptography`.
"""

from __future__ import annotations

import functools
import ipaddress
from collections import Counter
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from datetime import date
from typing import Any

from binder.edit import Editor
from binder.envelope import rows
from binder.errors import RequestError
from binder.file import BinderFile

# Keyholders and openings. -----------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class KeyholderLine:
    """Who may open the envelope; `memory_mib` and `passes` are what a guess costs."""

    name: str
    added_at: str
    added_by: str
    key_file: bool
    memory_mib: float
    passes: int


def keyholders(binder: BinderFile) -> tuple[KeyholderLine, ...]:
    """All keyholders, by name."""
    return tuple(
        KeyholderLine(row[1], row[2], row[3], bool(row[8]), row[5] / 1024, row[6])
        for row in _read(binder, "keyholder", "ORDER BY name")
    )


@dataclass(frozen=True, slots=True)
class Opening:
    """Somebody opened the envelope, or failed to; then no keyholder is known."""

    at: str
    who: str
    keyholder: str
    opened: bool


def openings(binder: BinderFile, limit: int = 200) -> tuple[Opening, ...]:
    """The latest openings and failures, newest first."""
    opened = [
        Opening(line.at, line.who, line.keyholder, True)
        for line in _lines(binder, "WHERE act = 'open' ORDER BY number DESC LIMIT ?", limit)
    ]
    refused = [
        Opening(at, who, "", False)
        for at, who, _ in _read(binder, "refused_opening", "ORDER BY number DESC LIMIT ?", limit)
    ]
    return tuple(sorted([*opened, *refused], key=lambda one: one.at, reverse=True)[:limit])


@dataclass(frozen=True, slots=True)
class Refused:
    """Failed openings since the last that succeeded: what a growing delay goes by."""

    count: int
    last_at: str


def refused_since_opening(binder: BinderFile) -> Refused:
    """How many openings in a row failed, by anyone; `last_at` is empty when none."""
    row = binder.connection.execute(
        "SELECT count(*), max(at) FROM refused_opening WHERE after_line >= "
        "(SELECT coalesce(max(number), 0) FROM envelope_log WHERE act IN ('create', 'open'))"
    ).fetchone()
    return Refused(row[0], row[1] or "")


# The log. ---------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class LogLine:
    """A line of the envelope's log; the words for `act` are in FORMAT.md. Empty is ''."""

    number: int
    at: str
    who: str
    act: str
    seen_by: str
    secret_id: int | None
    secret: str
    version: int | None
    keyholder: str
    why: str
    log_entry_id: int | None


def log(binder: BinderFile, limit: int = 200, before: int = 2**53) -> tuple[LogLine, ...]:
    """The latest lines, newest first, from before a number."""
    return tuple(_lines(binder, "WHERE number < ? ORDER BY number DESC LIMIT ?", before, limit))


def log_of_secret(binder: BinderFile, secret_id: int, limit: int = 200) -> tuple[LogLine, ...]:
    """What was done with one secret, newest first."""
    tail = "WHERE secret_id = ? ORDER BY number DESC LIMIT ?"
    return tuple(_lines(binder, tail, secret_id, limit))


# Values that are kept. --------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class Version:
    """A value of a secret; the value itself takes an open envelope."""

    version: int
    form: str
    set_at: str
    set_by: str
    current: bool


def versions(binder: BinderFile, secret_id: int) -> tuple[Version, ...]:
    """The versions of a secret that are kept, newest first. The newest is current."""
    found = _read(binder, "secret_version", "WHERE secret_id = ? ORDER BY version DESC", secret_id)
    return tuple(
        Version(version, form, set_at, set_by, at == 0)
        for at, (_, version, form, set_at, set_by, _) in enumerate(found)
    )


def newest_versions(binder: BinderFile) -> dict[int, int]:
    """The current version of each secret that has a value, by id of the secret."""
    sql = "SELECT secret_id, max(version) FROM secret_version GROUP BY secret_id"
    return {row[0]: row[1] for row in binder.connection.execute(sql)}


def valued_by_log(binder: BinderFile) -> frozenset[int]:
    """The secrets that have a value, by id, as the log tells: it can be read as of a moment."""
    kept: set[tuple[int | None, int | None]] = set()
    for line in _lines(binder, "WHERE act IN ('set', 'discard') ORDER BY number"):
        (kept.add if line.act == "set" else kept.discard)((line.secret_id, line.version))
    return frozenset(secret_id for secret_id, _ in kept if secret_id is not None)


def keyholders_by_log(binder: BinderFile) -> tuple[str, ...]:
    """The names of the keyholders, in order, as the log tells."""
    found: set[str] = set()
    for line in _lines(binder, "WHERE act GLOB '* keyholder' ORDER BY number"):
        if line.act == "remove keyholder":
            found.discard(line.keyholder)
            continue
        if line.act == "rename keyholder":
            found.discard(line.why.removeprefix("was "))
        found.add(line.keyholder)
    return tuple(sorted(found, key=str.casefold))


@dataclass(frozen=True, slots=True)
class LeftBehind:
    """Values whose record was removed: kept for undo, until they are discarded."""

    secret_id: int
    secret: str
    versions: tuple[int, ...]


def left_behind(binder: BinderFile) -> tuple[LeftBehind, ...]:
    """The values of removed secrets."""
    found = binder.connection.execute(
        "SELECT v.secret_id, (SELECT secret_name FROM envelope_log l WHERE l.secret_id = "
        "v.secret_id ORDER BY number DESC LIMIT 1), group_concat(v.version) FROM secret_version v "
        "WHERE v.secret_id NOT IN (SELECT id FROM secret) GROUP BY v.secret_id ORDER BY 2"
    )
    return tuple(
        LeftBehind(row[0], row[1] or "?", tuple(sorted(int(v) for v in row[2].split(","))))
        for row in found
    )


# What a person has seen. ------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class Seen:
    """A value that somebody knows. `how` is 'set', 'reveal' or 'hand over'.

    `current`: the value was not replaced since. `removed`: its record is no longer there.
    """

    secret_id: int
    secret: str
    version: int
    how: str
    last_at: str
    why: str
    current: bool
    removed: bool


@dataclass(frozen=True, slots=True)
class Leaver:
    """What to do when somebody leaves.

    `to_rotate`: values they know that are still in use. `passphrases`: keyholders whose
    passphrase they set or opened with, and which was not changed since. `renew`: they held the
    data key that is still in use; change the passphrases first, then renew it. What they may
    have copied while the envelope was open for them, no log can tell.
    """

    person: str
    to_rotate: tuple[Seen, ...]
    passphrases: tuple[str, ...]
    renew: bool


def people(binder: BinderFile) -> tuple[str, ...]:
    """Everyone in the log who knows a value or opened the envelope."""
    names = {
        _person(name)
        for line in _lines(binder, "ORDER BY number")
        for name in (line.seen_by, line.who if line.act in ("open", "code") else "")
        if name
    }
    return tuple(sorted(names, key=str.casefold))


def in_use_by_person(binder: BinderFile) -> dict[str, int]:
    """How many values that are still in use each of `people` knows; reads the log once."""
    known = {
        (_person(line.seen_by).casefold(), line.secret_id)
        for line in _lines(
            binder,
            "WHERE seen_by IS NOT NULL AND secret_id IN (SELECT id FROM secret) AND version = ("
            "SELECT max(version) FROM secret_version v WHERE v.secret_id = envelope_log.secret_id)",
        )
    }
    counts = Counter(person for person, _ in known)
    return {person: counts[person.casefold()] for person in people(binder)}


def seen_by(binder: BinderFile, person: str) -> tuple[Seen, ...]:
    """Every value that a person set, was shown, or was handed; by name of the secret.

    Upper and lower case are one, and so are the addresses somebody came from.
    """
    newest = newest_versions(binder)
    there = {row[0] for row in binder.connection.execute("SELECT id FROM secret")}
    last: dict[tuple[int, int], LogLine] = {}
    for line in _lines(binder, "WHERE seen_by IS NOT NULL ORDER BY number"):
        if line.secret_id and line.version and _is(line.seen_by, person):
            last[line.secret_id, line.version] = line
    seen = [
        Seen(secret_id, line.secret, version, line.act, line.at, line.why,
             newest.get(secret_id) == version, secret_id not in there)
        for (secret_id, version), line in last.items()
    ]  # fmt: skip
    return tuple(sorted(seen, key=lambda one: (one.secret.casefold(), one.version)))


def leaver(binder: BinderFile, person: str) -> Leaver:
    """What must change when this person leaves. Empty once everything was rotated."""
    in_use = tuple(s for s in seen_by(binder, person) if s.current and not s.removed)
    passphrases, renew = _access(binder, person)
    return Leaver(person, in_use, passphrases, renew)


def _access(binder: BinderFile, person: str) -> tuple[tuple[str, ...], bool]:
    """Keyholders whose passphrase a person knows, and whether they held today's data key."""
    known: set[str] = set()
    held = False
    for line in _lines(binder, "ORDER BY number"):
        theirs = _is(line.who, person)
        match line.act:
            case "change keyholder" | "remove keyholder":
                known.discard(line.keyholder)
            case "rename keyholder" if line.why.removeprefix("was ") in known:
                known.remove(line.why.removeprefix("was "))
                known.add(line.keyholder)
            case "renew":
                held = False
        if theirs:
            held = True
            if line.act in ("open", "add keyholder", "change keyholder"):
                known.add(line.keyholder)
    return tuple(sorted(known, key=str.casefold)), held


def mark_for_rotation(
    editor: Editor, secret_ids: Iterable[int], rotate_by: date, reason: str
) -> int:
    """Mark all these secrets to be rotated, in one step; gives how many.

    Raises RequestError when the list is empty or a secret is not there.
    """
    ids = tuple(dict.fromkeys(secret_ids))
    if not ids:
        raise RequestError("there is nothing to rotate")
    with editor.step(f"rotate {len(ids)} secrets: {reason}") as step:
        for secret_id in ids:
            step.change(secret_id, {"rotate_by": rotate_by.isoformat(), "rotate_reason": reason})
    return len(ids)


@dataclass(frozen=True, slots=True)
class Overdue:
    """A secret whose day to be rotated has come; `days` late, 0 on the day."""

    secret_id: int
    secret: str
    rotate_by: str
    reason: str
    days: int


def overdue(binder: BinderFile, today: date) -> tuple[Overdue, ...]:
    """Secrets to be rotated by today or before, the longest overdue first."""
    found = binder.connection.execute(
        "SELECT s.id, r.name, s.rotate_by, coalesce(s.rotate_reason, '') FROM secret s "
        "JOIN record r ON r.id = s.id WHERE s.rotate_by <= ? AND s.status <> 'former' "
        "ORDER BY s.rotate_by, r.name",
        (today.isoformat(),),
    )
    return tuple(
        Overdue(secret_id, name, by, reason, (today - date.fromisoformat(by)).days)
        for secret_id, name, by, reason in found
    )


# Reading. ---------------------------------------------------------------------------------


def _read(binder: BinderFile, table: str, tail: str, *parameters: Any) -> Iterator[tuple[Any, ...]]:
    return rows.read(binder.connection, table, tail, parameters, errors="replace")


def _lines(binder: BinderFile, tail: str, *parameters: Any) -> Iterator[LogLine]:
    for row in _read(binder, "envelope_log", tail, *parameters):
        number, _, at, who, act, seen, secret_id, secret, version, keyholder, why, entry, _ = row
        yield LogLine(
            number, at, who, act, seen or "", secret_id, secret or "", version,
            keyholder or "", why or "", entry,
        )  # fmt: skip


@functools.cache
def _person(name: str) -> str:
    """Who it is, wherever they came from: 'dana from 192.0.2.7' is dana (see `binder.who`)."""
    login, _, address = name.rpartition(" from ")
    try:
        ipaddress.ip_address(address)
    except ValueError:
        return name.strip()
    return login.strip()


def _is(name: str, person: str) -> bool:
    return _person(name).casefold() == _person(person).casefold()
