"""The QR code that phones join a wireless network by."""

from __future__ import annotations

import numpy as np
import pytest
import zxingcpp
from hypothesis import given, settings
from hypothesis import strategies as st

from binder.envelope import wifi
from binder.envelope.secret_value import SecretValue
from binder.errors import RequestError


def text(ssid: str, key: str | None, **options: object) -> str:
    secret = None if key is None else SecretValue(key)
    return wifi.join_text(ssid, secret, **options).expose()  # type: ignore[arg-type]


def drawn_and_read(joined: str) -> str:
    """What a decoder of other making reads from the drawn code."""
    code = wifi.qr_code(SecretValue(joined))
    drawn = np.array(list(code.matrix_iter(scale=3, border=4)), dtype=np.uint8)
    (found,) = zxingcpp.read_barcodes((1 - drawn) * 255)
    return str(found.text)


@pytest.mark.parametrize("alliance_form", [True, False])
def test_without_anything_to_escape_both_forms_agree(alliance_form: bool) -> None:
    """Wi-Fi Alliance, WPA3 Specification, section 7; and the older practice."""
    joined = text("mynetwork", "mypass12", alliance_form=alliance_form)
    assert joined == "WIFI:T:WPA;S:mynetwork;P:mypass12;;"


def test_the_older_form_escapes_with_backslashes() -> None:
    """Common practice, no published standard."""
    assert text("My;Net", 'a:b,c"d\\e') == 'WIFI:T:WPA;S:My\\;Net;P:a\\:b\\,c\\"d\\\\e;;'


def test_the_alliances_form_percent_encodes() -> None:
    """The same specification; that `%` itself is encoded follows from it (inference)."""
    joined = text("Caf\u00e9;1", "a%b;cdef", alliance_form=True)
    assert joined == "WIFI:T:WPA;S:Caf%C3%A9%3B1;P:a%25b%3Bcdef;;"


def test_an_open_network_has_no_key() -> None:
    assert text("open", None, security="open") == "WIFI:T:nopass;S:open;;"
    assert text("open", None, security="open", alliance_form=True) == "WIFI:S:open;;"


def test_a_hidden_network_is_told_and_the_text_still_ends_in_two_semicolons() -> None:
    assert text("attic", "mypass12", hidden=True) == "WIFI:T:WPA;S:attic;P:mypass12;H:true;;"
    joined = text("attic", "mypass12", hidden=True, alliance_form=True)
    assert joined == "WIFI:T:WPA;S:attic;H:true;P:mypass12;;"


@pytest.mark.parametrize(
    ("ssid", "key", "security"),
    [
        ("", "mypass12", "WPA2-Personal"),
        ("x" * 33, "mypass12", "WPA2-Personal"),
        ("staff", "short", "WPA2-Personal"),
        ("staff", "x" * 64, "WPA2-Personal"),
        ("staff", "p\u00e4ssword", "WPA2-Personal"),
        ("staff", None, "WPA3-Personal"),
        ("staff", "mypass12", "WPA2-Enterprise"),
    ],
)
def test_what_no_phone_can_join_is_refused(ssid: str, key: str | None, security: str) -> None:
    """IEEE 802.11: 1 to 32 bytes of SSID; 8 to 63 printable characters or 64 hex digits."""
    with pytest.raises(RequestError) as caught:
        text(ssid, key, security=security)
    assert key is None or key not in str(caught.value)


def test_sixty_four_hex_digits_are_a_key() -> None:
    key = "f42c6fc52df0ebef9ebb4b90b38a5f902e83fe1b135a70e23aed762e9710a12e"
    assert text("IEEE", key) == f"WIFI:T:WPA;S:IEEE;P:{key};;"


def test_a_name_beyond_ascii_is_read_as_it_is_and_not_guessed() -> None:
    """Without ECI 26 a decoder took these two for half-width Japanese."""
    assert (
        drawn_and_read(text("\u00a1\u00a1", "00000000")) == "WIFI:T:WPA;S:\u00a1\u00a1;P:00000000;;"
    )


@settings(max_examples=40, deadline=None)
@given(
    st.text(st.characters(exclude_categories=["Cs", "Cc"]), min_size=1, max_size=8),
    st.text(st.characters(min_codepoint=0x20, max_codepoint=0x7E), min_size=8, max_size=63),
)
def test_another_decoder_reads_what_was_drawn(ssid: str, key: str) -> None:
    for alliance_form in (True, False):
        joined = text(ssid, key, alliance_form=alliance_form)
        assert drawn_and_read(joined) == joined
