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
    text = re.sub(r"[\s-]", "", value.expose()).upper().rstrip("=")
    if _BASE32.fullmatch(text):
        try:
            return base64.b32decode(text + "=" * (-len(text) % 8))
        except binascii.Error:
            pass  # told below: a length that no bytes have
    raise RequestError(
        "a one-time-code seed is base32 (letters A to Z and digits 2 to 7) or an "
        "otpauth://totp/ address; this is neither, or a part is missing"
    )


def _from_uri(value: SecretValue) -> OneTimeCodes:
    says = "an otpauth address is like otpauth://totp/NAME?secret=BASE32"
    try:
        parts = urlsplit(value.expose().strip())
        pairs = parse_qsl(parts.query, keep_blank_values=True)
    except ValueError:
        pairs = []  # told below, without the error that quotes the address
    given = dict(pairs)
    if not given.get("secret") or len(given) < len(pairs):
        raise RequestError(says)
    if parts.netloc.lower() != "totp":
        raise RequestError(f"{says}; codes by a counter (hotp) are not kept here")
    issuer, account = _label(parts.path)
    return OneTimeCodes(
        decode_base32(SecretValue(given["secret"])),
        _algorithm(given.get("algorithm", "SHA1")),
        _number("digits", given.get("digits", "6"), 6, 8),
        _number("period", given.get("period", "30"), 1, _MOST_PERIOD_S),
        given.get("issuer", issuer),
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
