"""Passphrases of keyholders: NIST SP 800-63B-4, 3.1.1.2."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from binder.envelope import passphrases
from binder.envelope.passphrases import new_passphrase, weakness
from binder.envelope.secret_value import SecretValue

CLIENT = "Quillmere Veterinary Clinic"


def test_fifteen_characters_are_the_least() -> None:
    """The length where a passphrase is the only factor."""
    assert "at least 15" in weakness(SecretValue("kettle ladder!"))
    assert weakness(SecretValue("kettle ladder!!")) == ""


def test_length_counts_characters_and_not_bytes() -> None:
    assert "this one has 14" in weakness(
        SecretValue("\u00fc\u00f6\u00e4 \u6c34\u706b\u91d1\u571f \u00e9\u00e8\u00ea\u00eb\u0103")
    )


@pytest.mark.parametrize(
    "typed",
    [
        "mostly small letters",
        "NOTHING BUT CAPITALS HERE",
        "8 4026 55 91733 20 6",
        "\u6c34\u706b\u91d1\u571f\u6728 \u6708\u65e5 \u5c71\u5ddd\u68ee\u6797\u82b1\u9ce5\u96e8",
        "word " * 2 + "kettle ladder moonrise " * 20,
    ],
)
def test_no_composition_is_asked_for(typed: str) -> None:
    assert weakness(SecretValue(typed)) == ""


@pytest.mark.parametrize(
    "typed",
    [
        "passwordpassword",
        "P@ssw0rd!P@ssw0rd!",
        "P@ssw0rd-S3cr3t-Adm1n",
        "Welcome123Welcome123",
        "correct horse battery staple",
        "123456789012345",
        "aaaaaaaaaaaaaaaaaaaa",
        "qwertyuiopasdfghjkl",
        "abcdefghijklmnopqrstuvwxyz",
        "kx9kx9kx9kx9kx9kx9",
        "Quillmere Veterinary Clinic",
        "quillmere-veterinary-2026",
        "Lowfield Shop! Lowfield Shop!",
        "admin admin admin root 1",
        "               ",
    ],
)
def test_what_is_guessed_first_is_refused(typed: str) -> None:
    says = weakness(SecretValue(typed), [CLIENT, "Lowfield shop"])
    assert "common words" in says
    assert typed not in says


def test_a_name_from_the_binder_may_be_part_of_a_good_one() -> None:
    assert weakness(SecretValue("quillmere trombone lichen harbour"), [CLIENT]) == ""


@given(st.integers(3, 12))
def test_a_new_passphrase_is_good_and_says_its_strength(groups: int) -> None:
    """Crockford's base 32: 5 bits a character, none of i, l, o, u."""
    made = new_passphrase(groups)
    letters = made.value.expose().replace("-", "")
    assert len(letters) == 5 * groups
    assert set(letters) <= set("0123456789abcdefghjkmnpqrstvwxyz")
    assert made.bits == 25 * groups
    assert weakness(made.value) == ""


def test_no_two_new_ones_are_alike() -> None:
    assert len({new_passphrase().value.expose() for _ in range(50)}) == 50


@given(st.text(max_size=40), st.lists(st.text(max_size=20), max_size=3))
def test_any_text_gets_an_answer_in_one_line(typed: str, names: list[str]) -> None:
    assert "\n" not in weakness(SecretValue(typed), names)


def test_the_list_of_common_ones_is_shipped() -> None:
    assert {"password", "qwerty", "letmein"} <= passphrases._common()
