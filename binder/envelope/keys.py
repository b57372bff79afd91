"""Keys: from a passphrase to the data key, and from the data key to all others."""

from __future__ import annotations

import hashlib
import hmac
import os
import secrets
from dataclasses import dataclass, field, replace
from pathlib import Path
from typing import Self

from binder.envelope import ciphers
from binder.envelope.ciphers import Unopened, labelled
from binder.envelope.secret_value import SecretValue
from binder.errors import FileError, RequestError
from binder.numbering import new_id

SALT_BYTES = 16
MOST_KEYHOLDERS = 16
_KEY_FILE_BYTES = (32, 2**20)  # least and most


@dataclass(frozen=True, slots=True)
class Work:
    """What deriving a key from a passphrase costs: the parameters of Argon2id (RFC 9106)."""

    memory_kib: int
    passes: int
    lanes: int
    may_be_weak: bool = field(default=False, compare=False)

    def weaker_than(self, other: Work) -> bool:
        return self.memory_kib < other.memory_kib or self.passes < other.passes

    def raised_to(self, other: Work) -> Work:
        """The greater of each. Lanes only spread the work, and come along with it."""
        return Work(
            max(self.memory_kib, other.memory_kib),
            max(self.passes, other.passes),
            other.lanes,
            other.may_be_weak,
        )

    def within_bounds(self) -> bool:
        """Whether it may be computed: a hostile file could ask for hours or all of memory."""
        return (
            1 <= self.passes <= MOST.passes
            and 1 <= self.lanes <= MOST.lanes
            and 8 * self.lanes <= self.memory_kib <= MOST.memory_kib
        )


# RFC 9106, section 4, second option, and one pass more: a tenth of a second on a small machine.
RECOMMENDED = Work(memory_kib=65_536, passes=4, lanes=4)
MOST = Work(memory_kib=524_288, passes=10, lanes=16)


def weak_work_for_tests() -> Work:
    """Parameters that take no time and protect nothing: for the tests, and for nothing else."""
    return Work(memory_kib=32, passes=1, lanes=4, may_be_weak=True)


def require_enough(work: Work) -> None:
    """Raises RequestError when the parameters are below what is recommended, or out of bounds."""
    if not work.within_bounds():
        raise RequestError(
            f"Argon2id takes up to {MOST.memory_kib} KiB, {MOST.passes} passes and "
            f"{MOST.lanes} lanes here"
        )
    if work.weaker_than(RECOMMENDED) and not work.may_be_weak:
        raise RequestError(
            f"Argon2id takes at least {RECOMMENDED.memory_kib} KiB and {RECOMMENDED.passes} "
            "passes here (RFC 9106)"
        )


@dataclass(frozen=True, slots=True)
class KeyFile:
    """A file that is needed beside the passphrase. Any file does, as long as it never changes."""

    digest: bytes = field(repr=False)

    @classmethod
    def read(cls, path: Path) -> Self:
        """Raises FileError when it cannot be read, or is too short or long for a key file."""
        least, most = _KEY_FILE_BYTES
        try:
            with path.open("rb") as file:
                content = file.read(most + 1)
        except OSError as error:
            raise FileError(f"{path}: cannot be read: {error.strerror}") from error
        if not least <= len(content) <= most:
            raise FileError(f"{path}: a key file holds {least} bytes to {most // 2**20} MiB")
        return cls(hashlib.sha256(content).digest())

    @classmethod
    def make(cls, path: Path) -> Self:
        """Write a new one of 32 random bytes, readable by its owner only. Raises FileError."""
        try:
            with os.fdopen(os.open(path, os.O_CREAT | os.O_EXCL | os.O_WRONLY, 0o600), "wb") as out:
                out.write(os.urandom(32))
                out.flush()
                os.fsync(out.fileno())
        except OSError as error:
            raise FileError(f"{path}: cannot be made: {error.strerror}") from error
        return cls.read(path)


class Keys:
    """The data key of an open envelope and the keys that follow from it, until forgotten."""

    __slots__ = ("_data_key", "envelope_id", "key_number", "keyholders", "log", "secrets")

    def __init__(self, envelope_id: str, key_number: int, data_key: bytes) -> None:
        self.envelope_id = envelope_id
        self.key_number = key_number
        self._data_key = data_key
        self.secrets = self._derived("secrets")
        self.log = self._derived("log")
        self.keyholders = self._derived("keyholders")

    @classmethod
    def new(cls, envelope_id: str, key_number: int) -> Self:
        return cls(envelope_id, key_number, secrets.token_bytes(ciphers.KEY_BYTES))

    def _derived(self, purpose: str) -> bytes:
        info = labelled(purpose, self.envelope_id, self.key_number)
        return ciphers.hkdf(self._data_key, salt=b"", info=info)

    def wrapped_to(self, public: bytes, keyholder_id: int) -> bytes:
        """The data key, for the holder of the private key to `public`."""
        bound = _data_key_bound(self.envelope_id, self.key_number, keyholder_id)
        return ciphers.wrap(public, self._data_key, bound)

    def become(self, other: Keys) -> None:
        """Take over another's keys: the same open envelope after its data key was renewed."""
        for name in Keys.__slots__:
            setattr(self, name, getattr(other, name))

    def forget(self) -> None:
        """Let go of the keys. Their bytes may remain in memory; see FORMAT.md."""
        self._data_key = self.secrets = self.log = self.keyholders = b""

    def __bool__(self) -> bool:
        return bool(self._data_key)

    def __repr__(self) -> str:
        return "<keys>"

    def __reduce_ex__(self, protocol: object) -> str:
        raise TypeError("keys are neither copied nor stored")


def _data_key_bound(envelope_id: str, key_number: int, keyholder_id: int) -> bytes:
    return labelled("data key", envelope_id, key_number, keyholder_id)


@dataclass(frozen=True, slots=True)
class Keyholder:
    """A row of the table of keyholders: who may open the envelope, and how."""

    id: int
    name: str
    added_at: str
    added_by: str
    salt: bytes = field(repr=False)
    work: Work
    key_file: int
    private_key: bytes = field(repr=False)
    data_key: bytes = field(repr=False)
    public_key: bytes = field(repr=False)

    # Opening. -------------------------------------------------------------------------

    def opened(
        self, envelope_id: str, key_number: int, passphrase: SecretValue, key_file: KeyFile | None
    ) -> Keys:
        """The keys that this keyholder's passphrase gives. Raises Unopened."""
        if not self.work.within_bounds():
            raise Unopened
        key = self._passphrase_key(envelope_id, passphrase, key_file)
        private = ciphers.unseal(key, self.private_key, self._private_bound(envelope_id))
        bound = _data_key_bound(envelope_id, key_number, self.id)
        keys = Keys(envelope_id, key_number, ciphers.unwrap(private, self.data_key, bound))
        if not hmac.compare_digest(self.public(keys), ciphers.public_key_of(private)):
            raise Unopened
        return keys

    def public(self, keys: Keys) -> bytes:
        """The public key. Raises Unopened when anything in the row was altered."""
        return ciphers.unseal(keys.keyholders, self.public_key, self._row_bound(keys))

    def _passphrase_key(
        self, envelope_id: str, passphrase: SecretValue, key_file: KeyFile | None
    ) -> bytes:
        stretched = ciphers.argon2id(
            ciphers.passphrase_bytes(passphrase),
            self.salt,
            memory_kib=self.work.memory_kib,
            passes=self.work.passes,
            lanes=self.work.lanes,
        )
        if self.key_file:
            stretched += key_file.digest if key_file else b""
        return ciphers.hkdf(stretched, salt=b"", info=labelled("passphrase", envelope_id, self.id))

    def _private_bound(self, envelope_id: str) -> bytes:
        return labelled("private key", envelope_id, self.id, *self._parameters())

    def _parameters(self) -> tuple[bytes, int, int, int, int]:
        work = self.work
        return self.salt, work.memory_kib, work.passes, work.lanes, self.key_file

    def _row_bound(self, keys: Keys) -> bytes:
        own = (self.id, self.name, self.added_at, self.added_by, *self._parameters())
        return labelled(
            "keyholder", keys.envelope_id, keys.key_number, *own, self.private_key, self.data_key
        )

    # Making and changing; each gives another row. -------------------------------------

    def renamed(self, keys: Keys, name: str) -> Keyholder:
        return replace(self, name=name)._sealed(keys, self.public(keys))

    def wrapping(self, old: Keys, new: Keys) -> Keyholder:
        """The same keyholder with another data key; no passphrase is needed."""
        public = self.public(old)
        return replace(self, data_key=new.wrapped_to(public, self.id))._sealed(new, public)

    def _sealed(self, keys: Keys, public: bytes) -> Keyholder:
        sealed = ciphers.seal(keys.keyholders, public, self._row_bound(keys))
        return replace(self, public_key=sealed)


def new_keyholder(
    keys: Keys,
    name: str,
    passphrase: SecretValue,
    key_file: KeyFile | None,
    work: Work,
    *,
    added_at: str,
    added_by: str,
    keyholder_id: int | None = None,
) -> Keyholder:
    """A keyholder's row with a fresh salt and key pair, also for one who changes a passphrase."""
    require_enough(work)
    keyholder = Keyholder(
        id=keyholder_id or new_id(),
        name=name,
        added_at=added_at,
        added_by=added_by,
        salt=os.urandom(SALT_BYTES),
        work=work,
        key_file=int(key_file is not None),
        private_key=b"",
        data_key=b"",
        public_key=b"",
    )
    private = ciphers.new_private_key()
    public = ciphers.public_key_of(private)
    key = keyholder._passphrase_key(keys.envelope_id, passphrase, key_file)
    bound = keyholder._private_bound(keys.envelope_id)
    keyholder = replace(
        keyholder,
        private_key=ciphers.seal(key, private, bound),
        data_key=keys.wrapped_to(public, keyholder.id),
    )
    return keyholder._sealed(keys, public)
