"""Whoever can write the file, but has no passphrase, opens nothing and fools nobody.

Each row of the envelope is altered byte by byte, moved, and brought in from elsewhere.
"""

from __future__ import annotations

import contextlib
import sqlite3
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest

from binder.edit import Editor
from binder.envelope.keys import weak_work_for_tests
from binder.envelope.opened import Envelope
from binder.envelope.rows import TABLES
from binder.envelope.secret_value import SecretValue
from binder.errors import BinderError, EnvelopeError
from binder.file import BinderFile, open_binder
from tests.binder.envelope.conftest import (
    ESCROW,
    PASSPHRASE,
    WRONG,
    add_secrets,
    make_envelope,
    open_again,
)

VALUE = SecretValue("first")


@contextlib.contextmanager
def tampering(connection: sqlite3.Connection) -> Iterator[sqlite3.Connection]:
    """Write as one who cares for no constraint and no trigger, and take it all back."""
    triggers = connection.execute(
        "SELECT name, sql FROM sqlite_master WHERE type = 'trigger' AND tbl_name = 'envelope_log'"
    ).fetchall()
    connection.execute("PRAGMA ignore_check_constraints = ON")
    connection.execute("SAVEPOINT tampering")
    for name, _ in triggers:
        connection.execute(f"DROP TRIGGER {name}")
    try:
        yield connection
    finally:
        connection.execute("ROLLBACK TO tampering")
        connection.execute("RELEASE tampering")
        connection.execute("PRAGMA ignore_check_constraints = OFF")


def flipped(value: int | str | bytes) -> Iterator[tuple[str, object]]:
    """The value with each byte altered in turn, as an SQL expression and its parameter."""
    if isinstance(value, int):
        for bit in range(0, 63, 4):
            yield "?", value ^ 1 << bit
        return
    data = value.encode() if isinstance(value, str) else value
    for at in range(len(data)):
        for mask in (0x01, 0x80):
            altered = bytearray(data)
            altered[at] ^= mask
            yield ("CAST(? AS TEXT)" if isinstance(value, str) else "?"), bytes(altered)


def each_alteration(
    connection: sqlite3.Connection, table: str, where: str = "1"
) -> Iterator[tuple[str, str, object]]:
    """Column, SQL and parameter of every alteration of one row."""
    for column in TABLES[table]:
        (value,) = connection.execute(f"SELECT {column.name} FROM {table} WHERE {where}").fetchone()
        if value is None:
            yield column.name, "?", 1 if column.type == "integer" else "x"
        else:
            for sql, parameter in flipped(value):
                yield column.name, sql, parameter


class OpensOnly:
    """Whether an envelope opens, and what a reveal gives, inside a tampered transaction.

    Openings and reveals write; here their transactions are part of the one taken back.
    """

    def __init__(self, binder: BinderFile, secret: int) -> None:
        self.binder = binder
        self.secret = secret

    def value(self) -> str:
        with nested(self.binder):
            return open_again(self.binder).reveal(self.secret, "attack").expose()

    def faults(self) -> list[str]:
        with nested(self.binder):
            envelope = open_again(self.binder)
            return [str(fault) for fault in (*envelope.faults, *envelope.check(every_value=True))]


@contextlib.contextmanager
def nested(binder: BinderFile) -> Iterator[None]:
    """Let the envelope write inside the transaction of the attack."""

    @contextlib.contextmanager
    def joined() -> Iterator[sqlite3.Connection]:
        yield binder.connection

    binder.writing = joined  # type: ignore[method-assign]
    try:
        yield
    finally:
        del binder.writing  # type: ignore[method-assign]


@pytest.fixture
def secret(binder: BinderFile, envelope: Envelope, password: int) -> int:
    envelope.put(password, VALUE)
    return password


@pytest.fixture
def opens(binder: BinderFile, secret: int) -> OpensOnly:
    return OpensOnly(binder, secret)


def test_untouched_it_opens(opens: OpensOnly, binder: BinderFile) -> None:
    with tampering(binder.connection):
        assert opens.value() == "first"
        assert opens.faults() == []


def test_no_byte_of_a_secrets_row_can_be_altered(opens: OpensOnly, binder: BinderFile) -> None:
    alterations = list(each_alteration(binder.connection, "secret_version"))
    assert len(alterations) > 250
    for column, sql, parameter in alterations:
        with tampering(binder.connection) as connection:
            connection.execute(f"UPDATE secret_version SET {column} = {sql}", (parameter,))
            with pytest.raises(BinderError):
                opens.value()
            assert opens.faults(), (column, parameter)


def test_no_byte_of_a_keyholders_row_can_be_altered(opens: OpensOnly, binder: BinderFile) -> None:
    alterations = list(each_alteration(binder.connection, "keyholder"))
    assert len(alterations) > 550
    for column, sql, parameter in alterations:
        with tampering(binder.connection) as connection:
            connection.execute(f"UPDATE keyholder SET {column} = {sql}", (parameter,))
            with pytest.raises(BinderError):
                opens.value()


def test_an_altered_row_of_another_keyholder_is_found_and_locks_nobody_out(
    opens: OpensOnly, binder: BinderFile, envelope: Envelope
) -> None:
    envelope.add_keyholder("Escrow", ESCROW, work=weak_work_for_tests())
    for column, sql, parameter in each_alteration(
        binder.connection, "keyholder", "name = 'Escrow'"
    ):
        with tampering(binder.connection) as connection:
            connection.execute(
                f"UPDATE keyholder SET {column} = {sql} WHERE name = 'Escrow'", (parameter,)
            )
            assert opens.value() == "first"
            assert opens.faults(), (column, parameter)


def test_no_byte_of_the_envelopes_own_row_can_be_altered_unseen(
    opens: OpensOnly, binder: BinderFile
) -> None:
    for column, sql, parameter in each_alteration(binder.connection, "envelope"):
        with tampering(binder.connection) as connection:
            connection.execute(f"UPDATE envelope SET {column} = {sql}", (parameter,))
            try:
                faults = opens.faults()
            except EnvelopeError:
                continue
            assert faults, (column, parameter)


def test_no_byte_of_a_line_of_the_log_can_be_altered_unseen(
    opens: OpensOnly, binder: BinderFile
) -> None:
    for column, sql, parameter in each_alteration(binder.connection, "envelope_log", "number = 3"):
        with tampering(binder.connection) as connection:
            connection.execute(
                f"UPDATE OR REPLACE envelope_log SET {column} = {sql} WHERE number = 3",
                (parameter,),
            )
            try:
                faults = opens.faults()
            except EnvelopeError:
                continue
            assert faults, (column, parameter)


# Rows moved. ------------------------------------------------------------------------------


def move(connection: sqlite3.Connection, from_: tuple[int, int], to: tuple[int, int]) -> None:
    """Put one version's whole row in another's place."""
    connection.execute("DELETE FROM secret_version WHERE (secret_id, version) = (?, ?)", to)
    connection.execute(
        "INSERT INTO secret_version SELECT ?, ?, form, set_at, set_by, sealed "
        "FROM secret_version WHERE (secret_id, version) = (?, ?)",
        (*to, *from_),
    )


def test_a_value_does_not_open_as_that_of_another_secret(
    opens: OpensOnly, binder: BinderFile, envelope: Envelope, secret: int, key: int
) -> None:
    envelope.put(key, SecretValue("known to the attacker"))
    with tampering(binder.connection) as connection:
        move(connection, (key, 1), (secret, 1))
        with pytest.raises(EnvelopeError, match="belongs elsewhere"):
            opens.value()


def test_an_old_value_does_not_open_as_the_new_one(
    opens: OpensOnly, binder: BinderFile, envelope: Envelope, secret: int
) -> None:
    envelope.put(secret, SecretValue("second"))
    with tampering(binder.connection) as connection:
        move(connection, (secret, 1), (secret, 2))
        with pytest.raises(EnvelopeError, match="belongs elsewhere"):
            opens.value()


def test_a_value_taken_away_or_put_back_is_found(
    opens: OpensOnly, binder: BinderFile, envelope: Envelope, secret: int
) -> None:
    """Taking the newest away would make the old one, which a leaver knows, current again."""
    envelope.put(secret, SecretValue("second"))
    with tampering(binder.connection) as connection:
        connection.execute("DELETE FROM secret_version WHERE version = 2")
        assert f"secret {secret}: version 2 was taken away" in opens.faults()
    row = tuple(binder.connection.execute("SELECT * FROM secret_version").fetchone())
    envelope.discard(secret, [1])
    with tampering(binder.connection) as connection:
        connection.execute("INSERT INTO secret_version VALUES (?, ?, ?, ?, ?, ?)", row)
        assert any("put back" in fault for fault in opens.faults())


def test_a_value_of_another_binder_does_not_open(
    opens: OpensOnly, binder: BinderFile, other_binder: BinderFile, secret: int
) -> None:
    """The same secret under the same id, the same passphrase: a binder made from a copy."""
    add_secrets(Editor(other_binder, "M. Osei"))
    with tampering(other_binder.connection):
        other_binder.connection.execute(
            "UPDATE secret SET id = ? WHERE form = 'password'", (secret,)
        )
        other_binder.connection.execute(
            "UPDATE record SET id = ? WHERE name LIKE 'SW1 a%'", (secret,)
        )
        with nested(other_binder):
            open_again(other_binder).put(secret, SecretValue("theirs"))
        theirs = tuple(other_binder.connection.execute("SELECT * FROM secret_version").fetchone())
    with tampering(binder.connection) as connection:
        connection.execute("DELETE FROM secret_version")
        connection.execute("INSERT INTO secret_version VALUES (?, ?, ?, ?, ?, ?)", theirs)
        with pytest.raises(EnvelopeError, match="belongs elsewhere"):
            opens.value()


# Keyholders brought in. -------------------------------------------------------------------


def test_a_keyholder_of_another_binder_opens_nothing_here(
    opens: OpensOnly, binder: BinderFile, other_binder: BinderFile
) -> None:
    theirs = tuple(other_binder.connection.execute("SELECT * FROM keyholder").fetchone())
    with tampering(binder.connection) as connection:
        connection.execute("DELETE FROM keyholder")
        connection.execute(f"INSERT INTO keyholder VALUES ({','.join('?' * 12)})", theirs)
        with pytest.raises(EnvelopeError, match="did not open"):
            opens.value()


def test_a_keyholder_brought_in_beside_the_others_is_found(
    opens: OpensOnly, binder: BinderFile, other_binder: BinderFile
) -> None:
    theirs = tuple(other_binder.connection.execute("SELECT * FROM keyholder").fetchone())
    with tampering(binder.connection) as connection:
        connection.execute(
            f"INSERT INTO keyholder VALUES ({','.join('?' * 12)})",
            (theirs[0], "Second shop", *theirs[2:]),
        )
        faults = opens.faults()
        assert "keyholder Second shop: was altered, or brought in from elsewhere" in faults
        assert any("head of the log" in fault for fault in faults)


def test_a_removed_keyholder_put_back_is_found(
    opens: OpensOnly, binder: BinderFile, envelope: Envelope
) -> None:
    """The row is genuine, of the same data key: the head of the log tells who belongs."""
    envelope.add_keyholder("Leaver", ESCROW, work=weak_work_for_tests())
    row = tuple(
        binder.connection.execute("SELECT * FROM keyholder WHERE name = 'Leaver'").fetchone()
    )
    envelope.remove_keyholder("Leaver")
    with tampering(binder.connection) as connection:
        connection.execute(f"INSERT INTO keyholder VALUES ({','.join('?' * 12)})", row)
        assert any("head of the log" in fault for fault in opens.faults())


# In the file itself, past SQLite. ---------------------------------------------------------


def varint(number: int) -> bytes:
    """SQLite's variable-length integer (SQLite, Database File Format, section 1.6)."""
    if number >= 1 << 56:
        raise ValueError(number)
    groups = [number & 0x7F]
    while number := number >> 7:
        groups.insert(0, number & 0x7F | 0x80)
    return bytes(groups)


def cell_of_keyholder(data: bytes, keyholder_id: int) -> range:
    """Where the row is: payload size (two bytes), row id, payload."""
    row_id = varint(keyholder_id)
    assert data.count(row_id) == 1
    start = data.index(row_id) - 2
    size = (data[start] & 0x7F) << 7 | data[start + 1]
    return range(start, start + 2 + len(row_id) + size)


def cell_of_version(data: bytes, row: tuple[int, int, str, str, str, bytes]) -> range:
    """Where the row is, in a table without row ids: payload size (two bytes), payload.

    The payload is a header of eight bytes (its size, and a type for each column) and the columns;
    a version of 1 takes no byte.
    """
    secret_id, _, *texts, sealed = row
    integer = next(size for size in (1, 2, 3, 4, 6, 8) if secret_id < 1 << 8 * size - 1)
    size = 8 + integer + sum(len(text) for text in texts) + len(sealed)
    assert data.count(sealed) == 1
    end = data.index(sealed) + len(sealed)
    start = end - size - 2
    assert (data[start] & 0x7F) << 7 | data[start + 1] == size
    return range(start, end)


def each_flip(path: Path, cell: range) -> Iterator[None]:
    whole = path.read_bytes()
    for at in cell:
        data = bytearray(whole)
        data[at] ^= 0x01
        path.write_bytes(data)
        yield
    path.write_bytes(whole)


def reveal_all(path: Path, secret: int) -> str:
    with open_binder(path) as binder:
        return open_again(binder).reveal(secret, "attack").expose()


@pytest.mark.parametrize("table", ["keyholder", "secret_version"])
def test_no_byte_of_a_row_can_be_flipped_in_the_file(
    binder: BinderFile, secret: int, table: str
) -> None:
    path = binder.path
    keyholder_id = binder.connection.execute("SELECT id FROM keyholder").fetchone()[0]
    row = tuple(binder.connection.execute("SELECT * FROM secret_version").fetchone())
    binder.close()
    data = path.read_bytes()
    find: Callable[[], range] = {
        "keyholder": lambda: cell_of_keyholder(data, keyholder_id),
        "secret_version": lambda: cell_of_version(data, row),
    }[table]
    count = 0
    for _ in each_flip(path, find()):
        count += 1
        with pytest.raises(BinderError) as caught:
            reveal_all(path, secret)
        assert "\n" not in str(caught.value)
    assert count > {"keyholder": 280, "secret_version": 140}[table]
    assert reveal_all(path, secret) == "first"


def test_neither_right_nor_wrong_passphrase_helps_on_a_damaged_row(
    opens: OpensOnly, binder: BinderFile
) -> None:
    with tampering(binder.connection) as connection:
        connection.execute("UPDATE keyholder SET salt = zeroblob(16)")
        for passphrase in (PASSPHRASE, WRONG):
            with nested(binder), pytest.raises(EnvelopeError, match="did not open"):
                open_again(binder, passphrase)


def test_an_envelope_whose_own_row_is_gone_is_damaged_and_not_made_anew(
    binder: BinderFile, secret: int
) -> None:
    with tampering(binder.connection) as connection:
        connection.execute("DELETE FROM envelope")
        for act in (open_again, make_envelope):
            with nested(binder), pytest.raises(EnvelopeError, match="damaged"):
                act(binder)
