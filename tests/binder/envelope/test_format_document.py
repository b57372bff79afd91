"""Another program opens an envelope, written from FORMAT.md alone.

Nothing of ours is imported to open it: `hashlib`, `sqlite3`, `cryptography`. (Ours is used to
make one.) The names are those of the document.
"""

from __future__ import annotations

import hashlib
import hmac
import sqlite3
import unicodedata
from pathlib import Path
from typing import get_args

import pytest
from cryptography.exceptions import InvalidTag
from cryptography.hazmat.primitives.asymmetric.x25519 import X25519PrivateKey, X25519PublicKey
from cryptography.hazmat.primitives.ciphers.aead import AESGCM
from cryptography.hazmat.primitives.kdf.argon2 import Argon2id

from binder.envelope.keys import KeyFile
from binder.envelope.opened import Envelope
from binder.envelope.secret_value import SecretValue
from binder.file import BinderFile
from tests.binder.envelope import conftest as ours


def FIELDS(*members):  # type: ignore[no-untyped-def]  # noqa: ANN002, ANN201
    out = b""
    for member in members:
        if member is None:
            out += bytes.fromhex("FFFFFFFF")
            continue
        if isinstance(member, int):
            member = str(member)
        if isinstance(member, str):
            member = member.encode("utf-8")
        out += len(member).to_bytes(4, "big") + member
    return out


def LABEL(word: str) -> str:
    return "binder-envelope/1 " + word


def MAC(key: bytes, message: bytes) -> bytes:
    return hmac.new(key, message, hashlib.sha256).digest()


def HKDF(key: bytes, salt: bytes, info: bytes) -> bytes:
    """RFC 5869, section 2; one block is what 32 bytes take."""
    return MAC(MAC(salt or bytes(32), key), info + b"\x01")


def OPEN(key: bytes, sealed: bytes, associated: bytes) -> bytes:
    """What SEAL made."""
    return AESGCM(key).decrypt(sealed[:12], sealed[12:], associated)


class OtherProgram:
    """Opens `path` with one keyholder's passphrase; raises InvalidTag when it cannot."""

    def __init__(self, path: Path, name: str, passphrase: str, key_file: bytes = b"") -> None:
        self.db = sqlite3.connect(f"{path.as_uri()}?mode=ro", uri=True)
        _, self.envelope_id, self.key_number, *self.head = self.db.execute(
            "SELECT one, id, key_number, log_count, log_mac, head_mac FROM envelope"
        ).fetchone()
        row = self.db.execute(
            "SELECT id, name, added_at, added_by, salt, memory_kib, passes, lanes, key_file, "
            "private_key, data_key, public_key FROM keyholder WHERE name = ?",
            (name,),
        ).fetchone()
        self.data_key = self.unwrapped(row, passphrase, key_file)
        self.secret, self.log, keyholder = (
            HKDF(self.data_key, b"", FIELDS(LABEL(word), self.envelope_id, self.key_number))
            for word in ("secrets", "log", "keyholders")
        )
        bound = FIELDS(LABEL("keyholder"), self.envelope_id, self.key_number, *row[:-1])
        assert OPEN(keyholder, row[-1], bound) == self.public

    def unwrapped(self, row: tuple, passphrase: str, key_file: bytes) -> bytes:  # type: ignore[type-arg]
        (keyholder_id, _, _, _, salt, memory_kib, passes, lanes, has_file, private_key,
         data_key, _) = row  # fmt: skip
        stretched = Argon2id(
            salt=salt, length=32, iterations=passes, lanes=lanes, memory_cost=memory_kib
        ).derive(unicodedata.normalize("NFKC", passphrase).encode("utf-8"))
        if has_file:
            stretched += hashlib.sha256(key_file).digest()
        key = HKDF(stretched, b"", FIELDS(LABEL("passphrase"), self.envelope_id, keyholder_id))
        bound = FIELDS(
            LABEL("private key"), self.envelope_id, keyholder_id, salt, memory_kib, passes, lanes,
            has_file,
        )  # fmt: skip
        private = X25519PrivateKey.from_private_bytes(OPEN(key, private_key, bound))
        self.public = private.public_key().public_bytes_raw()
        E, sealed = data_key[:32], data_key[32:]
        bound = FIELDS(LABEL("data key"), self.envelope_id, self.key_number, keyholder_id)
        shared = private.exchange(X25519PublicKey.from_public_bytes(E))
        return OPEN(HKDF(shared, E + self.public, bound), sealed, bound)

    def values(self) -> dict[tuple[int, int], str]:
        found = {}
        for secret_id, version, form, set_at, set_by, sealed in self.db.execute(
            "SELECT secret_id, version, form, set_at, set_by, sealed FROM secret_version"
        ):
            bound = FIELDS(
                LABEL("secret"), self.envelope_id, self.key_number, secret_id, version, form,
                set_at, set_by,
            )  # fmt: skip
            plaintext = OPEN(self.secret, sealed, bound)
            assert len(plaintext) % 64 == 0
            value, end = plaintext.rstrip(b"\x00")[:-1], plaintext.rstrip(b"\x00")[-1:]
            assert end == b"\x80"
            found[secret_id, version] = value.decode("utf-8")
        return found

    def check_log(self) -> int:
        """Every MAC of the chain and the head; gives how many lines there are."""
        log_keys = {self.key_number: self.log}
        for key_number, sealed in self.db.execute("SELECT key_number, sealed FROM old_log_key"):
            bound = FIELDS(LABEL("old log key"), self.envelope_id, self.key_number, key_number)
            log_keys[key_number] = OPEN(self.secret, sealed, bound)
        before, number = b"", 0
        for *line, mac in self.db.execute(
            "SELECT number, key_number, at, who, act, seen_by, secret_id, secret_name, version, "
            "keyholder, why, log_entry_id, mac FROM envelope_log ORDER BY number"
        ):
            number += 1
            assert line[0] == number
            message = FIELDS(LABEL("line"), self.envelope_id, before, *line)
            assert mac == MAC(log_keys[line[1]], message)
            before = mac
        log_count, log_mac, head_mac = self.head
        ids = ",".join(str(i) for (i,) in self.db.execute("SELECT id FROM keyholder ORDER BY id"))
        message = FIELDS(LABEL("head"), self.envelope_id, self.key_number, log_count, log_mac, ids)
        assert (log_count, log_mac, head_mac) == (number, before, MAC(self.log, message))
        return number


@pytest.fixture
def expected(
    binder: BinderFile, envelope: Envelope, password: int, pin: int, tmp_path: Path
) -> dict[tuple[int, int], str]:
    """An envelope with a past: two keyholders, one with a key file, a renewal, a discard."""
    envelope.put(password, SecretValue("first"))
    envelope.put(password, SecretValue("s\u00e9cond " * 20))
    envelope.renew()
    envelope.add_keyholder(
        "Escrow", ours.ESCROW, key_file=KeyFile.make(tmp_path / "escrow.key"),
        work=ours.weak_work_for_tests(),
    )  # fmt: skip
    envelope.put(pin, SecretValue("4410"))
    envelope.put(pin, SecretValue("x" * 63))
    envelope.discard(pin, [1])
    envelope.reveal(pin, "call")
    envelope.renew("yearly")
    envelope.reveal(password, "call")
    return {(password, 1): "first", (password, 2): "s\u00e9cond " * 20, (pin, 2): "x" * 63}


def test_the_shops_passphrase_opens_it(
    binder: BinderFile, expected: dict[tuple[int, int], str]
) -> None:
    other = OtherProgram(binder.path, ours.SHOP, ours.PASSPHRASE.expose())
    assert other.values() == expected
    assert other.check_log() == 12


def test_escrow_opens_it_with_its_key_file(
    binder: BinderFile, expected: dict[tuple[int, int], str], tmp_path: Path
) -> None:
    key_file = (tmp_path / "escrow.key").read_bytes()
    other = OtherProgram(binder.path, "Escrow", ours.ESCROW.expose(), key_file)
    assert other.values() == expected
    with pytest.raises(InvalidTag):
        OtherProgram(binder.path, "Escrow", ours.ESCROW.expose(), key_file + b"\n")


def test_a_wrong_passphrase_opens_it_for_no_program(
    binder: BinderFile, expected: dict[tuple[int, int], str]
) -> None:
    with pytest.raises(InvalidTag):
        OtherProgram(binder.path, ours.SHOP, ours.WRONG.expose())


def test_the_document_names_every_table_and_column_and_act() -> None:
    """What is not described cannot be read by another program."""
    import binder.envelope
    from binder.envelope.log import Act
    from binder.envelope.rows import TABLES

    text = (Path(binder.envelope.__file__).parent / "FORMAT.md").read_text("utf-8")
    for table, columns in TABLES.items():
        for name in (table, *(column.name for column in columns)):
            assert f"`{name}`" in text, name
    for act in get_args(Act):
        assert f"`{act}`" in text, act
