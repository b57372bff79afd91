"""The key of a wireless network as the QR code that phones join by.

Two ways of writing are in use: that of the Wi-Fi Alliance (WPA3 Specification, section 7), which
percent-encodes, and the older one, which most phones read, with backslashes. Where neither has
anything to escape they agree.
"""

from __future__ import annotations

import re
from typing import TYPE_CHECKING

from binder.envelope.secret_value import SecretValue
from binder.errors import RequestError

if TYPE_CHECKING:
    from segno import QRCode

_SPECIAL = re.compile(r'([\\;,":])')
_NOT_PRINTED_AS_IS = re.compile(rb"[^\x20-\x7e]|[;%]")
_PASSPHRASE = re.compile(r"[\x20-\x7e]{8,63}|[0-9A-Fa-f]{64}")  # IEEE 802.11i, annex H.4
_MOST_SSID_BYTES = 32


def join_text(
    ssid: str,
    key: SecretValue | None,
    *,
    security: str = "WPA2-Personal",
    hidden: bool = False,
    alliance_form: bool = False,
) -> SecretValue:
    """The text in the QR code. `key` is None for an open network.

    `alliance_form` percent-encodes where there is something to escape. Raises RequestError when
    the network cannot be joined by such a code, or the key cannot be one.
    """
    if not 1 <= len(ssid.encode(errors="replace")) <= _MOST_SSID_BYTES:
        raise RequestError(f"an SSID has 1 to {_MOST_SSID_BYTES} bytes")
    if security.endswith("Enterprise"):
        raise RequestError("a network with accounts of its own cannot be joined by a QR code")
    escape = _percent if alliance_form else _backslash
    end = "H:true;" if hidden else ""
    if security == "open":
        kind = "" if alliance_form else "T:nopass;"
        return SecretValue(f"WIFI:{kind}S:{escape(ssid)};{end};")
    if key is None or not _PASSPHRASE.fullmatch(key.expose()):
        raise RequestError("a pre-shared key has 8 to 63 printable characters, or 64 hex digits")
    if alliance_form:
        return SecretValue(f"WIFI:T:WPA;S:{escape(ssid)};{end}P:{escape(key.expose())};;")
    return SecretValue(f"WIFI:T:WPA;S:{escape(ssid)};P:{escape(key.expose())};{end};")


def qr_code(text: SecretValue) -> QRCode:
    """The QR code of a join text; its quiet zone is four modules wide (ISO/IEC 18004).

    Beyond ASCII it says that it is UTF-8 (ECI 26): else decoders guess, and some guess Shift JIS.
    """
    import segno

    beyond_ascii = not text.expose().isascii()
    return segno.make(text.expose(), micro=False, error="m", encoding="utf-8", eci=beyond_ascii)


def _backslash(text: str) -> str:
    return _SPECIAL.sub(r"\\\1", text)


def _percent(text: str) -> str:
    return _NOT_PRINTED_AS_IS.sub(
        lambda match: b"%%%02X" % match[0][0], text.encode(errors="replace")
    ).decode()
