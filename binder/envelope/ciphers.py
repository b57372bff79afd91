"""The few cryptographic functions the envelope is made of, in the words of FORMAT.md.

The algorithms are those of the `cryptography` library and of the standard library; what is ours
is how their inputs are bound together.
"""

from __future__ import annotations

import contextlib
import hashlib
import hmac
import os
import unicodedata

from cryptography.exceptions import InvalidTag
from cryptography.hazmat.primitives.asymmetric.x25519 import X25519PrivateKey, X25519PublicKey
from cryptography.hazmat.primitives.ciphers.aead import AESGCM
from cryptography.hazmat.primitives.hashes import SHA256
from cryptography.hazmat.primitives.kdf.argon2 import Argon2id
from cryptography.hazmat.primitives.kdf.hkdf import HKDF

from binder.envelope.secret_value import SecretValue
from binder.errors import EnvelopeError, RequestError

KEY_BYTES = 32
NONCE_BYTES = 12
TAG_BYTES = 16
DID_NOT_OPEN = (
    "the envelope did not open: wrong passphrase or key file, or the file was altered; "
    "try again, or restore a backup"
)
_LABEL = "binder-envelope/1"


class Unopened(EnvelopeError):
    """A key, bytes, or what they are bound to do not fit. Which of them is not told."""

    def __init__(self) -> None:
        super().__init__(DID_NOT_OPEN)


Member = str | int | bytes | None


def fields(*members: Member) -> bytes:
    """FIELDS: each member after its length in 4 bytes. Two different lists never give the same."""
    packed = bytearray()
    for member in members:
        if member is None:
            packed += b"\xff\xff\xff\xff"
            continue
        if isinstance(member, int):
            member = str(int(member))
        # A tampered file may hold bytes that are no UTF-8; they go round trip and fail the tag.
        data = member.encode(errors="surrogateescape") if isinstance(member, str) else member
        packed += len(data).to_bytes(4, "big") + data
    return bytes(packed)


def labelled(label: str, *members: Member) -> bytes:
    """FIELDS(LABEL label, ...): what a key, a sealed value or a MAC is bound to."""
    return fields(f"{_LABEL} {label}", *members)


def hkdf(key: bytes, *, salt: bytes, info: bytes, length: int = KEY_BYTES) -> bytes:
    """HKDF-SHA-256 (RFC 5869)."""
    return HKDF(algorithm=SHA256(), length=length, salt=salt, info=info).derive(key)


def mac(key: bytes, message: bytes) -> bytes:
    """HMAC-SHA-256 (RFC 2104)."""
    return hmac.digest(key, message, "sha256")


def seal(key: bytes, plaintext: bytes, associated: bytes) -> bytes:
    """SEAL: a fresh random nonce, then AES-256-GCM (NIST SP 800-38D) with its tag."""
    nonce = os.urandom(NONCE_BYTES)
    return nonce + AESGCM(key).encrypt(nonce, plaintext, associated)


def unseal(key: bytes, sealed: bytes, associated: bytes) -> bytes:
    """What was sealed. Raises Unopened when key, bytes or associated data are not those."""
    if len(sealed) >= NONCE_BYTES + TAG_BYTES:
        try:
            return AESGCM(key).decrypt(sealed[:NONCE_BYTES], sealed[NONCE_BYTES:], associated)
        except InvalidTag:
            pass  # told below, the same as a value cut short
    raise Unopened


def argon2id(passphrase: bytes, salt: bytes, *, memory_kib: int, passes: int, lanes: int) -> bytes:
    """Argon2id version 0x13 (RFC 9106), 32 bytes out. Raises EnvelopeError when memory is short."""
    derivation = Argon2id(
        salt=salt, length=KEY_BYTES, iterations=passes, lanes=lanes, memory_cost=memory_kib
    )
    with contextlib.suppress(
        MemoryError
    ):  # told below, without the frame that holds the passphrase
        return derivation.derive(passphrase)
    raise EnvelopeError(
        f"opening the envelope takes {memory_kib // 1024} MiB of memory, which is not there; "
        "close other programs"
    )


def pbkdf2(passphrase: bytes, salt: bytes, *, rounds: int, length: int = KEY_BYTES) -> bytes:
    """PBKDF2-HMAC-SHA-256 (RFC 8018): what browsers have, for values sealed into a document."""
    return hashlib.pbkdf2_hmac("sha256", passphrase, salt, rounds, length)


def passphrase_bytes(passphrase: SecretValue) -> bytes:
    """The passphrase as it is derived from: NFKC, so that every keyboard's way to type it is one.

    Normalisation before hashing: NIST SP 800-63B, 5.1.1.2 (value from memory).
    """
    data = utf8(unicodedata.normalize("NFKC", passphrase.expose()))
    if data is None:
        raise RequestError("the passphrase holds a broken character (half a pair)")
    return data


def utf8(text: str) -> bytes | None:
    """The text in UTF-8; None when it has none. (Python's own error would carry the text along.)"""
    try:
        return text.encode()
    except UnicodeEncodeError:
        return None


# A key pair between the passphrase and the data key. --------------------------------------


def new_private_key() -> bytes:
    """A random X25519 private key (RFC 7748)."""
    return X25519PrivateKey.generate().private_bytes_raw()


def public_key_of(private: bytes) -> bytes:
    return X25519PrivateKey.from_private_bytes(private).public_key().public_bytes_raw()


def wrap(public: bytes, data_key: bytes, bound: bytes) -> bytes:
    """The data key for the holder of the private key to `public`, and for nobody else."""
    ephemeral = X25519PrivateKey.generate()
    ours = ephemeral.public_key().public_bytes_raw()
    shared = ephemeral.exchange(X25519PublicKey.from_public_bytes(public))
    return ours + seal(hkdf(shared, salt=ours + public, info=bound), data_key, bound)


def unwrap(private: bytes, wrapped: bytes, bound: bytes) -> bytes:
    """The data key from what `wrap` made. Raises Unopened."""
    ephemeral, sealed = wrapped[:KEY_BYTES], wrapped[KEY_BYTES:]
    key_pair = X25519PrivateKey.from_private_bytes(private)
    try:
        shared = key_pair.exchange(X25519PublicKey.from_public_bytes(ephemeral))
    except ValueError:  # a low-order point: all secrets shared with it are zero
        shared = b""
    if not shared:
        raise Unopened
    public = key_pair.public_key().public_bytes_raw()
    return unseal(hkdf(shared, salt=ephemeral + public, info=bound), sealed, bound)
