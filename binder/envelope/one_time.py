"""One-time codes (RFC 6238) from a seed in base32 or in an `otpauth://totp/` URI.

The URI: Internet-Draft draft-linuxgemini-otpauth-uri-02, a work in progress, and the practice
before it, which puts the issuer before the account in the label too.
"""

from __future__ import annotations

import base64
import binascii
import re
from dataclasses import dataclass, field
from datetime import datetime
from urllib.parse import parse_qsl, unquote, urlsplit

from cryptography.hazmat.primitives.hashes import SHA1, SHA256, SHA512
from cryptography.hazmat.primitives.twofactor.totp import TOTP

from binder.envelope.secret_value import SecretValue
from binder.errors import RequestError

_HASHES: dict[str, type[SHA1] | type[SHA256] | type[SHA512]] = {
    "SHA1": SHA1,
    "SHA256": SHA256,
    "SHA512": SHA512,
}
_BASE32 = re.compile(r"[A-Z2-7]+")
_MOST_PERIOD_S = 3600


@dataclass(frozen=True, slots=True)
class Code:
    """A code, and for how many seconds it is still the one. The next follows at once."""

    value: SecretValue
    seconds_left: int


@dataclass(frozen=True, slots=True)
class OneTimeCodes:
    """What makes the codes. The seed is not shown by it."""

    seed: bytes = field(repr=False)
    algorithm: str = "SHA1"
    digits: int = 6
    period_s: int = 30
    issuer: str = ""
    account: str = ""

    def at(self, moment: datetime) -> Code:
        """The code of that moment."""
        seconds = int(moment.timestamp())
        codes = TOTP(
            self.seed,
            self.digits,
            _HASHES[self.algorithm](),
            self.period_s,
            enforce_key_length=False,  # many a site's seed has 80 bits; RFC 4226 asks for 128
        )
        code = codes.generate(seconds).decode()
        return Code(SecretValue(code), self.period_s - seconds % self.period_s)


def parse(value: SecretValue) -> OneTimeCodes:
    """The codes of a seed or URI. Raises RequestError, which does not quote it."""
    if value.expose().strip().lower().startswith("otpauth:"):
        return _from_uri(value)
    return OneTimeCodes(decode_base32(value))


def decode_base32(value: SecretValue) -> bytes:
    """Base32 (RFC 4648, section 6) as sites show it: padding, case, spaces, hyphens as may be."""
    seed = _decoded(value)
    if seed is None:
        raise RequestError(
            "a one-time-code seed is base32 (letters A to Z and digits 2 to 7) or an "
            "otpauth://totp/ address; this is neither, or a part is missing"
        )
    return seed


# What follows raises nothing while it holds a seed: a traceback may show the variables.


def _decoded(value: SecretValue) -> bytes | None:
    text = re.sub(r"[\s-]", "", value.expose()).upper().rstrip("=")
    if not _BASE32.fullmatch(text):
        return None
    try:
        return base64.b32decode(text + "=" * (-len(text) % 8))
    except binascii.Error:  # a length that no bytes have
        return None


@dataclass(frozen=True, slots=True)
class _Address:
    """An address taken apart; `given` are its other parameters."""

    type: str
    path: str
    secret: SecretValue
    given: dict[str, str]


def _taken_apart(value: SecretValue) -> _Address | None:
    try:
        parts = urlsplit(value.expose().strip())
        pairs = parse_qsl(parts.query, keep_blank_values=True)
    except ValueError:  # it would quote the address
        return None
    given = dict(pairs)
    secret = given.pop("secret", "")
    if not secret or len(given) + 1 < len(pairs):
        return None
    return _Address(parts.netloc.lower(), parts.path, SecretValue(secret), given)


def _from_uri(value: SecretValue) -> OneTimeCodes:
    address = _taken_apart(value)
    if address is None or address.type != "totp":
        raise RequestError(
            "an otpauth address is like otpauth://totp/NAME?secret=BASE32; codes by a counter "
            "(hotp) are not kept here"
        )
    issuer, account = _label(address.path)
    return OneTimeCodes(
        decode_base32(address.secret),
        _algorithm(address.given.get("algorithm", "SHA1")),
        _number("digits", address.given.get("digits", "6"), 6, 8),
        _number("period", address.given.get("period", "30"), 1, _MOST_PERIOD_S),
        address.given.get("issuer", issuer),
        account,
    )


def _label(path: str) -> tuple[str, str]:
    """Issuer, which may be empty, and account."""
    before, colon, after = unquote(path.lstrip("/")).partition(":")
    return (before.strip(), after.strip()) if colon else ("", before.strip())


def _algorithm(name: str) -> str:
    plain = name.upper().replace("-", "")
    if plain not in _HASHES:
        raise RequestError(f"the algorithm of one-time codes is one of: {', '.join(_HASHES)}")
    return plain


def _number(what: str, text: str, least: int, most: int) -> int:
    if not (text.isascii() and text.isdecimal() and least <= int(text[:9]) <= most):
        raise RequestError(f"{what} of one-time codes: {least} to {most} is accepted")
    return int(text)
