"""The table of keyholders: who may open the envelope. Used by `opened.py`."""

from __future__ import annotations

import sqlite3
from collections.abc import Iterator, Sequence
from typing import TYPE_CHECKING, Any

from binder.envelope import passphrases, rows
from binder.envelope.ciphers import Unopened
from binder.envelope.keys import (
    MOST_KEYHOLDERS,
    KeyFile,
    Keyholder,
    Keys,
    Work,
    new_keyholder,
)
from binder.envelope.secret_value import SecretValue
from binder.envelope.values import words
from binder.errors import EnvelopeError, Fault, RequestError
from binder.read import client

if TYPE_CHECKING:
    from binder.envelope.opened import Envelope


def columns(keyholder: Keyholder) -> tuple[Any, ...]:
    """The row as the table has it."""
    work = keyholder.work
    return (
        keyholder.id,
        keyholder.name,
        keyholder.added_at,
        keyholder.added_by,
        keyholder.salt,
        work.memory_kib,
        work.passes,
        work.lanes,
        keyholder.key_file,
        keyholder.private_key,
        keyholder.data_key,
        keyholder.public_key,
    )


def _read(connection: sqlite3.Connection, tail: str, *parameters: Any) -> Iterator[Keyholder]:
    for row in rows.read(connection, "keyholder", tail, parameters):
        own, (memory_kib, passes, lanes), rest = row[:5], row[5:8], row[8:]
        yield Keyholder(*own, Work(memory_kib, passes, lanes), *rest)  # type: ignore[call-arg]


def named(connection: sqlite3.Connection, name: str) -> Keyholder:
    """Raises RequestError when there is no keyholder of that name."""
    for keyholder in _read(connection, "WHERE name = ?", name.strip()):
        return keyholder
    there = ", ".join(keyholder.name for keyholder in _read(connection, "ORDER BY name"))
    raise RequestError(f"no keyholder is named '{name}'; there are: {there}")


def count(connection: sqlite3.Connection) -> int:
    return int(connection.execute("SELECT count(*) FROM keyholder").fetchone()[0])


def insert(connection: sqlite3.Connection, keyholder: Keyholder) -> None:
    """Raises RequestError when the name is taken or there are as many as may be."""
    if count(connection) >= MOST_KEYHOLDERS:
        raise RequestError(f"an envelope has at most {MOST_KEYHOLDERS} keyholders")
    require_free(connection, keyholder.name, keyholder.id)
    rows.insert(connection, "keyholder", columns(keyholder))


def require_free(connection: sqlite3.Connection, name: str, keyholder_id: int) -> None:
    if any(other.id != keyholder_id for other in _read(connection, "WHERE name = ?", name)):
        raise RequestError(f"there is a keyholder named '{name}'; choose another name")


def unchanged(connection: sqlite3.Connection, keyholder: Keyholder) -> bool:
    """Whether nobody changed or removed it since it was read."""
    return list(_read(connection, "WHERE id = ?", keyholder.id)) == [keyholder]


def checked_new(
    envelope: Envelope,
    name: str,
    passphrase: SecretValue,
    key_file: KeyFile | None,
    work: Work,
    keyholder_id: int | None = None,
) -> Keyholder:
    """A new row, once the passphrase is found good. Raises RequestError, EnvelopeError."""
    name = words("name", name)
    sheet = client(envelope.binder)
    passphrases.require_good(passphrase, [name, sheet.name if sheet else ""])
    if not envelope.is_open:
        raise EnvelopeError("the envelope is sealed; open it first")
    return new_keyholder(
        envelope.keys,
        name,
        passphrase,
        key_file,
        work,
        added_at=envelope.moment(),
        added_by=envelope.who,
        keyholder_id=keyholder_id,
    )


# Opening. ---------------------------------------------------------------------------------


def candidates(
    connection: sqlite3.Connection, name: str, key_file: KeyFile | None
) -> list[Keyholder]:
    """Those whose passphrase it may be: the one named, or all that need no file not given.

    Raises EnvelopeError when there are more than there may be, each of which would cost work.
    """
    if not 1 <= count(connection) <= MOST_KEYHOLDERS:
        raise Unopened
    chosen = [named(connection, name)] if name else list(_read(connection, "ORDER BY added_at, id"))
    possible = [keyholder for keyholder in chosen if key_file or not keyholder.key_file]
    if not possible:
        raise RequestError(f"{chosen[0].name} opens with a key file too; give it")
    return possible


def first_opened(
    chosen: Sequence[Keyholder],
    state: rows.State,
    passphrase: SecretValue,
    key_file: KeyFile | None,
) -> tuple[Keyholder, Keys] | None:
    """The first keyholder that the passphrase opens, and the keys; None when it opens none."""
    for keyholder in chosen:
        try:
            return keyholder, keyholder.opened(state.id, state.key_number, passphrase, key_file)
        except Unopened:
            continue
    return None


def raised(
    envelope: Envelope,
    keyholder: Keyholder,
    passphrase: SecretValue,
    key_file: KeyFile | None,
    work: Work,
) -> Keyholder | None:
    """The row made anew with stronger parameters; None when those it has will do."""
    if not keyholder.work.weaker_than(work):
        return None
    return new_keyholder(
        envelope.keys,
        keyholder.name,
        passphrase,
        key_file if keyholder.key_file else None,
        keyholder.work.raised_to(work),
        added_at=keyholder.added_at,
        added_by=keyholder.added_by,
        keyholder_id=keyholder.id,
    )


# All of them. -----------------------------------------------------------------------------


def rewrap(connection: sqlite3.Connection, old: Keys, new: Keys) -> None:
    """Wrap a new data key to everyone. Raises EnvelopeError when a row was tampered with."""
    for keyholder in list(_read(connection, "")):
        try:
            row = keyholder.wrapping(old, new)
        except Unopened as error:
            raise EnvelopeError(
                f"the row of keyholder {keyholder.name} was altered; remove that keyholder first"
            ) from error
        rows.replace(connection, "keyholder", columns(row))


def check(connection: sqlite3.Connection, keys: Keys) -> Iterator[Fault]:
    """Rows that were altered, or not made by a holder of the data key."""
    for keyholder in _read(connection, "ORDER BY id"):
        try:
            keyholder.public(keys)
        except Unopened:
            yield Fault(f"keyholder {keyholder.name}", "was altered, or brought in from elsewhere")
