"""The table of secret versions: values, encrypted. Used by `opened.py`."""

from __future__ import annotations

import sqlite3
from collections.abc import Iterator, Sequence
from dataclasses import replace
from typing import TYPE_CHECKING, Any

from binder.envelope import ciphers, rows
from binder.envelope.ciphers import Unopened, labelled, utf8
from binder.envelope.keys import Keys
from binder.envelope.log import Entry
from binder.envelope.secret_value import SecretValue
from binder.errors import EnvelopeError, Fault, RequestError
from binder.file import BinderFile
from binder.read import read

if TYPE_CHECKING:
    from binder.envelope.opened import Envelope

SEED = "one-time-code seed"
MOST_BYTES = 65_536
_BLOCK_BYTES = 64
_MOST_WORDS = 500


def words(what: str, text: str) -> str:
    """One line of text for the log or a name. Raises RequestError when there is none in it."""
    text = " ".join(text.split())
    if not text or utf8(text) is None or "\x00" in text or len(text) > _MOST_WORDS:
        raise RequestError(f"{what}: a line of 1 to {_MOST_WORDS} characters is needed")
    return text


def named(binder: BinderFile, secret_id: int) -> tuple[str, str]:
    """Name and kind of a secret. Raises RequestError when there is none of that id."""
    record = read(binder, secret_id)
    if record.kind.name != "secret":
        raise RequestError(f"{record.name} ({record.kind.label.lower()}) is not a secret")
    return record.name, record["form"]


def name_then(connection: sqlite3.Connection, secret_id: int) -> str:
    """What a secret is called, or was when last in the log; its record may be gone."""
    row = connection.execute(
        "SELECT coalesce((SELECT name FROM record WHERE id = :id), (SELECT secret_name "
        "FROM envelope_log WHERE secret_id = :id ORDER BY number DESC LIMIT 1), '?')",
        {"id": secret_id},
    ).fetchone()
    return str(row[0])


def about(entry: Entry, secret_id: int, name: str, version: int) -> Entry:
    return replace(entry, secret_id=secret_id, secret_name=name, version=version)


# What may be a value. ---------------------------------------------------------------------


def require_fit(form: str, value: SecretValue) -> None:
    """Raises RequestError, which never quotes the value."""
    if not 1 <= len(utf8(value.expose()) or b"") <= MOST_BYTES:
        raise RequestError(
            f"a secret is text of 1 to {MOST_BYTES} bytes, without broken characters"
        )
    if form == SEED:
        from binder.envelope import one_time

        one_time.parse(value)


def _padded(value: SecretValue) -> bytes:
    """ISO/IEC 7816-4 padding: the ciphertext does not tell how long a value is."""
    data = value.expose().encode() + b"\x80"
    return data + bytes(-len(data) % _BLOCK_BYTES)


def _unpadded(plaintext: bytes) -> SecretValue:
    return SecretValue(plaintext.rstrip(b"\x00")[:-1].decode())


# Rows. ------------------------------------------------------------------------------------


def _bound(keys: Keys, row: Sequence[Any]) -> bytes:
    """`row` is the columns but the sealed one."""
    return labelled("secret", keys.envelope_id, keys.key_number, *row)


def insert(envelope: Envelope, secret_id: int, form: str, value: SecretValue) -> int:
    """Add the next version; its number was never used before."""
    connection, keys = envelope.binder.connection, envelope.keys
    version = 1 + int(
        connection.execute(
            "SELECT max(coalesce((SELECT max(version) FROM secret_version WHERE secret_id = :id), "
            "0), coalesce((SELECT max(version) FROM envelope_log WHERE secret_id = :id), 0))",
            {"id": secret_id},
        ).fetchone()[0]
    )
    row = (secret_id, version, form, envelope.moment(), envelope.who)
    sealed = ciphers.seal(keys.secrets, _padded(value), _bound(keys, row))
    rows.insert(connection, "secret_version", (*row, sealed))
    return version


def opened(
    envelope: Envelope, secret_id: int, name: str, version: int | None
) -> tuple[int, SecretValue]:
    """A version and its value; the newest when none is named."""
    tail = "WHERE secret_id = ? AND (version = ? OR ? IS NULL) ORDER BY version DESC LIMIT 1"
    found = rows.read(
        envelope.binder.connection, "secret_version", tail, (secret_id, version, version)
    )
    for row in found:
        return row[1], _value(envelope.keys, row, name)
    which = f"version {version}" if version is not None else "value"
    raise RequestError(f"{name} has no {which} in the envelope")


def _value(keys: Keys, row: Sequence[Any], name: str) -> SecretValue:
    *own, sealed = row
    try:
        return _unpadded(ciphers.unseal(keys.secrets, sealed, _bound(keys, own)))
    except Unopened as error:
        raise EnvelopeError(
            f"{name}, version {row[1]}, did not open: it was altered or belongs elsewhere; "
            "restore a backup, or set it anew and discard this version"
        ) from error


def delete(
    connection: sqlite3.Connection, secret_id: int, name: str, versions: Sequence[int]
) -> None:
    for version in versions:
        done = connection.execute(
            "DELETE FROM secret_version WHERE secret_id = ? AND version = ?", (secret_id, version)
        )
        if done.rowcount != 1:
            raise RequestError(f"{name} has no version {version} in the envelope")


def reencrypt(connection: sqlite3.Connection, old: Keys, new: Keys) -> None:
    """Every value under the new keys. Raises EnvelopeError when one does not open."""
    for row in list(rows.read(connection, "secret_version")):
        own = row[:-1]
        value = _value(old, row, name_then(connection, row[0]))
        sealed = ciphers.seal(new.secrets, _padded(value), _bound(new, own))
        connection.execute(
            "UPDATE secret_version SET sealed = ? WHERE secret_id = ? AND version = ?",
            (sealed, row[0], row[1]),
        )


def check(connection: sqlite3.Connection, keys: Keys) -> Iterator[Fault]:
    """Values that do not open."""
    for row in rows.read(connection, "secret_version"):
        name = name_then(connection, row[0])
        try:
            _value(keys, row, name)
        except EnvelopeError as error:
            yield Fault(f"secret {name}", str(error))


def marks_of_rotation(envelope: Envelope, secret_id: int, version: int) -> dict[str, Any]:
    """What its record says after a secret was set: today, by whom, nothing left to rotate."""
    today = envelope.clock().astimezone().date().isoformat()
    marks: dict[str, Any] = {
        "set_on": today,
        "set_by": envelope.who,
        "rotate_by": None,
        "rotate_reason": None,
    }
    if version > 1 and read(envelope.binder, secret_id)["default_value"]:
        marks["default_value"] = 0
    return marks
