"""Secrets sealed into a document under a passphrase of their own: the block that holds them.

FORMAT.md, 'Sealed documents', has every byte. A browser opens it too, hence PBKDF2.
"""

from __future__ import annotations

import base64
import binascii
import contextlib
import json
import os
import re
from dataclasses import dataclass
from typing import Any, Final

from cryptography.exceptions import InvalidTag
from cryptography.hazmat.primitives.ciphers.aead import AESGCM

from binder.envelope import ciphers
from binder.envelope.secret_value import SecretValue
from binder.envelope.values import SEED
from binder.errors import EnvelopeError, RequestError

FORMAT: Final = 1
KDF: Final = "PBKDF2-HMAC-SHA-256"
CIPHER: Final = "AES-256-GCM"
ITERATIONS: Final = 600_000  # OWASP, Password Storage Cheat Sheet, 2026
MOST_ITERATIONS: Final = 10_000_000
ELEMENT: Final = '<script type="application/json" id="sealed-secrets">'
DID_NOT_OPEN: Final = (
    "the secrets did not open: wrong passphrase, or the file was altered or made by a newer "
    "program; try again, or ask for the document anew"
)
_LABEL: Final = "binder-sealed-document/1"
_SALT_BYTES: Final = 16
_PADDING_BYTES: Final = 1024
_MOST_CHARACTERS: Final = 16 * 2**20
_BLOCK: Final = re.compile(re.escape(ELEMENT) + "(.*?)</script>", re.DOTALL)
_HASHES: Final = {"SHA1": "SHA-1", "SHA256": "SHA-256", "SHA512": "SHA-512"}


class NotUnsealed(EnvelopeError):
    """A sealed document did not open. Why is not told."""

    def __init__(self) -> None:
        super().__init__(DID_NOT_OPEN)


@dataclass(frozen=True, slots=True)
class SealedSecret:
    """A secret as its recipient is told it.

    `qr` is the QR code of a wireless network: rows from the top, '1' for a dark module.
    """

    name: str
    kind: str
    belongs_to: str
    value: SecretValue
    qr: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Contents:
    """What is sealed into one document, for whom, and when ('2026-03-14')."""

    client: str
    sealed_on: str
    recipient: str
    secrets: tuple[SealedSecret, ...]


def seal(contents: Contents, passphrase: SecretValue) -> str:
    """The block for a document: one line of ASCII that holds no '<'.

    Raises RequestError when it is more than a document can carry.
    """
    salt, iv = os.urandom(_SALT_BYTES), os.urandom(ciphers.NONCE_BYTES)
    key = ciphers.pbkdf2(_passphrase_bytes(passphrase), salt, rounds=ITERATIONS)
    header = _Block(ITERATIONS, salt, iv, b"")
    sealed = AESGCM(key).encrypt(iv, _plaintext(contents).expose().encode(), header.associated)
    block = _Block(ITERATIONS, salt, iv, sealed).text()
    if len(block) > _MOST_CHARACTERS:
        raise RequestError("that is more than a document can carry sealed; choose fewer secrets")
    return block


def unseal(page: str, passphrase: SecretValue) -> Contents:
    """What is sealed into a page of HTML.

    Raises RequestError when nothing is, and NotUnsealed when it does not open.
    """
    found = _BLOCK.findall(page)
    if not found:
        raise RequestError("no secrets are sealed in this file")
    block = _read_block(found[0]) if len(found) == 1 else None
    contents = _opened(block, passphrase) if block else None
    if contents is None:
        raise NotUnsealed
    return contents


def _passphrase_bytes(passphrase: SecretValue) -> bytes:
    """As for a keyholder, but for white space at the ends, which comes along when it is pasted."""
    return ciphers.passphrase_bytes(passphrase).strip(b" \t\r\n")


# The block. -------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class _Block:
    """The members of a block."""

    iterations: int
    salt: bytes
    iv: bytes
    sealed: bytes

    @property
    def associated(self) -> bytes:
        return ciphers.fields(_LABEL, KDF, self.iterations, CIPHER, self.salt, self.iv)

    def text(self) -> str:
        members = {
            "format": FORMAT,
            "kdf": KDF,
            "iterations": self.iterations,
            "cipher": CIPHER,
            "salt": _base64(self.salt),
            "iv": _base64(self.iv),
            "sealed": _base64(self.sealed),
        }
        return json.dumps(members, separators=(",", ":"))

    def within_bounds(self) -> bool:
        """Whether it may be computed: a hostile file could ask for hours, or for nothing."""
        return (
            ITERATIONS <= self.iterations <= MOST_ITERATIONS
            and len(self.salt) == _SALT_BYTES
            and len(self.iv) == ciphers.NONCE_BYTES
            and len(self.sealed) >= ciphers.TAG_BYTES
        )


def _base64(data: bytes) -> str:
    return base64.b64encode(data).decode()


def _read_block(text: str) -> _Block | None:
    """The block, when it is byte for byte what we would write, and within bounds."""
    if len(text) > _MOST_CHARACTERS:
        return None
    try:
        members = json.loads(text)
        block = _Block(
            int(members["iterations"]),
            *(base64.b64decode(members[name]) for name in ("salt", "iv", "sealed")),
        )
    except (ValueError, TypeError, KeyError, OverflowError, RecursionError, binascii.Error):
        return None  # told by `unseal`, in the words for a wrong passphrase
    return block if block.within_bounds() and block.text() == text else None


# The plaintext. What follows raises nothing while it holds a value: a traceback would show it.


def _plaintext(contents: Contents) -> SecretValue:
    members = {
        "client": contents.client,
        "sealed_on": contents.sealed_on,
        "recipient": contents.recipient,
        "secrets": [_members(secret) for secret in contents.secrets],
    }
    text = json.dumps(members)  # ASCII: as many bytes as characters
    return SecretValue(text + " " * (-len(text) % _PADDING_BYTES))


def _members(secret: SealedSecret) -> dict[str, Any]:
    members: dict[str, Any] = {
        "name": secret.name,
        "kind": secret.kind,
        "belongs_to": secret.belongs_to,
        "value": secret.value.expose(),
    }
    if secret.kind == SEED:
        members |= _codes(secret.value)
    if secret.qr:
        members["qr"] = secret.qr
    return members


def _codes(seed: SecretValue) -> dict[str, Any]:
    """How the page makes codes. Nothing of a value set while the secret was of another kind."""
    from binder.envelope import one_time

    with contextlib.suppress(RequestError):
        codes = one_time.parse(seed)
        return {
            "codes": {
                "seed": _base64(codes.seed),
                "hash": _HASHES[codes.algorithm],
                "digits": codes.digits,
                "period_s": codes.period_s,
            }
        }
    return {}


def _opened(block: _Block, passphrase: SecretValue) -> Contents | None:
    key = ciphers.pbkdf2(_passphrase_bytes(passphrase), block.salt, rounds=block.iterations)
    try:
        plaintext = AESGCM(key).decrypt(block.iv, block.sealed, block.associated)
        members = json.loads(plaintext.decode())
        client, sealed_on, recipient = (
            _text(members[name]) for name in ("client", "sealed_on", "recipient")
        )
        secrets = tuple(_secret(secret) for secret in members["secrets"])
        return Contents(client, sealed_on, recipient, secrets)
    except (InvalidTag, ValueError, TypeError, KeyError, RecursionError):
        return None


def _secret(members: dict[str, Any]) -> SealedSecret:
    name, kind, belongs_to, value = (
        _text(members[name]) for name in ("name", "kind", "belongs_to", "value")
    )
    rows = tuple(_text(row) for row in members.get("qr", ()))
    return SealedSecret(name, kind, belongs_to, SecretValue(value), rows)


def _text(member: object) -> str:
    if not isinstance(member, str):
        raise TypeError
    return member
