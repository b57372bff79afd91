"""New passwords for devices, and reading them out."""

from __future__ import annotations

import itertools
import math
import string

import pytest
from hypothesis import given
from hypothesis import strategies as st

from binder.envelope.passwords import STYLES, Style, _bits, new_password, spelled
from binder.envelope.secret_value import SecretValue
from binder.errors import RequestError


@given(st.sampled_from(sorted(STYLES)), st.integers(4, 40))
def test_every_class_of_characters_occurs_and_no_other(style: str, length: int) -> None:
    characters = new_password(style, length).value.expose().replace("-", "")
    if style == "mixed":  # the hyphen is one of its own
        characters = new_password(style, length).value.expose()
    assert len(characters) == length
    for one in STYLES[style].classes:
        assert set(one) & set(characters)
    assert set(characters) <= set("".join(STYLES[style].classes))


def test_bits_are_those_of_all_passwords_that_could_have_been_made() -> None:
    """Counted one by one: three characters, with at least one letter and one digit."""
    style = Style("small", "", ("ab", "012"), 3)
    ways = sum(
        bool(set("ab") & set(word)) and bool(set("012") & set(word))
        for word in itertools.product("ab012", repeat=3)
    )
    assert _bits(style, 3) == pytest.approx(math.log2(ways))


def test_a_password_for_the_phone_has_nothing_to_be_mistaken() -> None:
    """Neither capitals nor 0, o, 1, l, i (common practice, no published source)."""
    text = "".join(new_password("phone").value.expose() for _ in range(200))
    assert not set(text) & set("0o1li" + string.ascii_uppercase)
    assert {len(group) for group in new_password("phone").value.expose().split("-")} == {4}


def test_strengths_are_fit_for_their_use() -> None:
    """Arithmetic: 31 characters, 16 of them: 16 log2 31."""
    assert new_password("phone").bits == pytest.approx(79.27, abs=0.01)
    assert new_password("mixed").bits > 120
    assert new_password("digits", 4).bits == pytest.approx(13.29, abs=0.01)


@pytest.mark.parametrize(
    ("style", "length"), [("mixed", 3), ("plain", 0), ("digits", 129), ("x", 9)]
)
def test_a_password_that_cannot_be_is_refused(style: str, length: int) -> None:
    with pytest.raises(RequestError):
        new_password(style, length)


def test_a_password_is_spelled_in_the_words_of_radiotelephony() -> None:
    """ICAO Annex 10, volume II, 5.2.1.3 (value from memory)."""
    words = spelled(SecretValue("k7-Qx 0.\u00e9"))
    assert words.expose() == (
        "kilo, seven, hyphen, capital quebec, x-ray, space, zero, dot, "
        "latin small letter e with acute"
    )
    assert repr(words) == "<secret>"


@given(st.text(st.characters(min_codepoint=0x20, max_codepoint=0x7E), min_size=1, max_size=12))
def test_every_printed_character_has_a_word_of_its_own(text: str) -> None:
    words = {character: spelled(SecretValue(character)).expose() for character in text}
    assert len(set(words.values())) == len(words)
    assert all(word.isascii() and word for word in words.values())
