"""The log of the envelope: who did what, chained so that no line can be changed unseen."""

from __future__ import annotations

import hmac
import sqlite3
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Literal

from binder.envelope import ciphers, rows
from binder.envelope.ciphers import labelled
from binder.envelope.keys import Keys
from binder.errors import EnvelopeError, Fault

Act = Literal[
    "create",
    "open",
    "set",
    "reveal",
    "code",
    "hand over",
    "discard",
    "add keyholder",
    "rename keyholder",
    "change keyholder",
    "raise keyholder",
    "remove keyholder",
    "renew",
    "fault",
]
_WHERE = "envelope log"
_HEAD_BROKEN = "the head of the log did not verify; lines may have been taken away"


@dataclass(frozen=True, slots=True)
class Entry:
    """What a line tells. `seen_by` is who knows the value from now on."""

    act: Act
    who: str
    seen_by: str | None = None
    secret_id: int | None = None
    secret_name: str | None = None
    version: int | None = None
    keyholder: str | None = None
    why: str | None = None
    log_entry_id: int | None = None


def _line_mac(key: bytes, envelope_id: str, before: bytes, line: tuple[object, ...]) -> bytes:
    """`line` is the columns of the line but the MAC."""
    return ciphers.mac(key, labelled("line", envelope_id, before, *line))  # type: ignore[arg-type]


def _head_mac(connection: sqlite3.Connection, keys: Keys, count: int, last: bytes) -> bytes:
    ids = ",".join(
        str(row[0]) for row in connection.execute("SELECT id FROM keyholder ORDER BY id")
    )
    head = labelled("head", keys.envelope_id, keys.key_number, count, last, ids)
    return ciphers.mac(keys.log, head)


def begin(connection: sqlite3.Connection, keys: Keys) -> None:
    """Write the row of a new envelope, whose log is empty yet."""
    head = _head_mac(connection, keys, 0, b"")
    rows.insert(connection, "envelope", (1, keys.envelope_id, keys.key_number, 0, b"", head))


class Writer:
    """Adds lines inside the transaction of what they tell; `finish` makes the head anew.

    Make it before anything else is changed in the transaction: it looks at the head first.
    """

    def __init__(self, connection: sqlite3.Connection, keys: Keys, at: str, who: str) -> None:
        self._connection = connection
        self._keys = keys
        self._at = at
        state = require_current(connection, keys)
        number, last = _last_line(connection)
        if _head_is_sound(connection, keys, state, number, last):
            # Lines missing at the end leave a gap that is told for ever.
            self._number, self._mac = state.log_count, state.log_mac
        else:
            self._number, self._mac = number, last
            self.write(Entry("fault", who, why=_HEAD_BROKEN))

    def write(self, entry: Entry) -> None:
        self._number += 1
        if self._number >= 2**53:
            raise EnvelopeError("the log of the envelope is damaged; restore a backup")
        line = (
            self._number,
            self._keys.key_number,
            self._at,
            entry.who,
            entry.act,
            entry.seen_by,
            entry.secret_id,
            entry.secret_name,
            entry.version,
            entry.keyholder,
            entry.why,
            entry.log_entry_id,
        )
        self._mac = _line_mac(self._keys.log, self._keys.envelope_id, self._mac, line)
        rows.insert(self._connection, "envelope_log", (*line, self._mac))

    def finish(self, keys: Keys | None = None) -> None:
        """Write the head; `keys` when the data key was renewed meanwhile."""
        keys = keys or self._keys
        head = _head_mac(self._connection, keys, self._number, self._mac)
        row = (1, keys.envelope_id, keys.key_number, self._number, self._mac, head)
        rows.replace(self._connection, "envelope", row)


def require_current(connection: sqlite3.Connection, keys: Keys) -> rows.State:
    """Raises EnvelopeError when sealed, or when someone renewed the data key since."""
    if not keys:
        raise EnvelopeError("the envelope is sealed; open it first")
    state = rows.state(connection)
    if state is None or (state.id, state.key_number) != (keys.envelope_id, keys.key_number):
        raise EnvelopeError("the data key was renewed since you opened the envelope; open it again")
    return state


def _last_line(connection: sqlite3.Connection) -> tuple[int, bytes]:
    for row in rows.read(connection, "envelope_log", "ORDER BY number DESC LIMIT 1"):
        return row[0], row[-1]
    return 0, b""


def _head_is_sound(
    connection: sqlite3.Connection, keys: Keys, state: rows.State, number: int, last: bytes
) -> bool:
    expected = _head_mac(connection, keys, state.log_count, state.log_mac)
    if not hmac.compare_digest(expected, state.head_mac) or state.log_count < number:
        return False
    return state.log_count > number or state.log_mac == last


# Is it whole? -----------------------------------------------------------------------------


def check(connection: sqlite3.Connection, keys: Keys) -> Iterator[Fault]:
    """Every sign that the log, the keyholders, or the set of values was tampered with."""
    state = require_current(connection, keys)
    log_keys = {keys.key_number: keys.log}
    for key_number, sealed in rows.read(connection, "old_log_key"):
        try:
            bound = old_log_key_bound(keys, key_number)
            log_keys[key_number] = ciphers.unseal(keys.secrets, sealed, bound)
        except ciphers.Unopened:
            yield Fault(_WHERE, f"the key of lines under key number {key_number} does not open")
    yield from _check_lines(connection, keys, log_keys)
    number, last = _last_line(connection)
    if state.log_count > number:
        yield Fault(_WHERE, _missing(number + 1, state.log_count))
    if not _head_is_sound(connection, keys, state, number, last):
        yield Fault(_WHERE, _HEAD_BROKEN)
    yield from _check_versions(connection)


def _check_lines(
    connection: sqlite3.Connection, keys: Keys, log_keys: dict[int, bytes]
) -> Iterator[Fault]:
    number, key_number, before = 0, 1, b""
    for *line, mac in rows.read(connection, "envelope_log", "ORDER BY number"):
        gap = line[0] != number + 1
        if gap:
            yield Fault(_WHERE, _missing(number + 1, line[0] - 1))
        key = log_keys.get(line[1])
        if key is None or line[1] < key_number:
            yield Fault(f"{_WHERE} line {line[0]}", f"is under key number {line[1]}")
        elif not gap and mac != _line_mac(key, keys.envelope_id, before, tuple(line)):
            yield Fault(f"{_WHERE} line {line[0]}", "was altered, added, or moved")
        if line[4] == "fault":
            yield Fault(f"{_WHERE} line {line[0]}", f"on {line[2]} {line[10]}")
        number, key_number, before = line[0], line[1], mac


def _missing(first: int, last: int) -> str:
    return f"line {first} is missing" if first == last else f"lines {first} to {last} are missing"


_VERSIONS = "SELECT secret_id, version FROM secret_version"
_LOGGED = (
    "SELECT secret_id, version FROM envelope_log WHERE act = 'set' "
    "EXCEPT SELECT secret_id, version FROM envelope_log WHERE act = 'discard'"
)


def _check_versions(connection: sqlite3.Connection) -> Iterator[Fault]:
    """The values that are there are those that were set and not discarded."""
    for secret_id, version in connection.execute(f"{_LOGGED} EXCEPT {_VERSIONS}"):
        yield Fault(f"secret {secret_id}", f"version {version} was taken away")
    for secret_id, version in connection.execute(f"{_VERSIONS} EXCEPT SELECT * FROM ({_LOGGED})"):
        yield Fault(f"secret {secret_id}", f"version {version} was put back, or was never set")


def keep_old_key(connection: sqlite3.Connection, old: Keys, new: Keys) -> None:
    """Keep the key of the lines so far, under the new data key, with those of earlier ones."""
    try:
        earlier = [
            (key_number, ciphers.unseal(old.secrets, sealed, old_log_key_bound(old, key_number)))
            for key_number, sealed in rows.read(connection, "old_log_key")
        ]
    except ciphers.Unopened as error:
        raise EnvelopeError(
            "a key of earlier lines of the log was altered; restore a backup"
        ) from error
    connection.execute("DELETE FROM old_log_key")
    for key_number, key in (*earlier, (old.key_number, old.log)):
        sealed = ciphers.seal(new.secrets, key, old_log_key_bound(new, key_number))
        rows.insert(connection, "old_log_key", (key_number, sealed))


def old_log_key_bound(keys: Keys, key_number: int) -> bytes:
    return labelled("old log key", keys.envelope_id, keys.key_number, key_number)
