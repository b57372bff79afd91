"""Text that people typed never acts on a terminal, a log or a plain file (CWE-150)."""

from __future__ import annotations

import unicodedata

import pytest
from hypothesis import given
from hypothesis import strategies as st

from binder.text import visible, visible_lines

any_text = st.text(st.characters(exclude_categories=[]))

# ECMA-48, 5th edition (1991): C0 is 00-1F, DEL 7F, C1 80-9F (values from memory).
C0 = [chr(code) for code in range(0x20)]
C1 = [chr(code) for code in range(0x80, 0xA0)]
CONTROLS = [*C0, "\x7f", *C1]

# Format characters that are seen: signs written around the digits that follow them, of Arabic,
# Syriac, Kaithi and Egyptian (Unicode 15, "prepended concatenation marks"; value from memory).
SEEN_FORMAT = (*range(0x600, 0x606), 0x6DD, 0x70F, 0x890, 0x891, 0x8E2, 0x110BD, 0x110CD)


@pytest.mark.parametrize(
    ("typed", "shown"),
    [
        ("\x1b]52;c;cHduZWQ=\x07", "␛]52;c;cHduZWQ=␇"),  # writes the clipboard
        ("\x1b[2J\x1b[H", "␛[2J␛[H"),  # clears the screen
        ("\x1b]0;title\x07", "␛]0;title␇"),
        ("\x1b]8;;http://example.com\x1b\\x\x1b]8;;\x1b\\", "␛]8;;http://example.com␛\\x␛]8;;␛\\"),
        ("\x9b31m", "\\x9b31m"),  # CSI in one byte
        ("\x9d52;c;eA==\x9c", "\\x9d52;c;eA==\\x9c"),
        ("\x1bP1$r\x1b\\", "␛P1$r␛\\"),
        ("\x1b_x\x1b\\", "␛_x␛\\"),
        ("abc\rXYZ", "abc␍XYZ"),
        ("abc\b\b\bXYZ", "abc␈␈␈XYZ"),
        ("\x85", "\\x85"),
        ("\x7f", "␡"),
        ("\u202eevil\u202c", "<U+202E>evil<U+202C>"),  # CVE-2021-42574
        ("\u2066", "<U+2066>"),
        ("a\u200bb", "a<U+200B>b"),
        ("\ufeff", "<U+FEFF>"),
        ("\U000e0041", "<U+E0041>"),  # a tag character
        ("\u3164", "<U+3164>"),  # Hangul filler: a name that looks empty
        ("one\ntwo\tthree", "one␊two␉three"),
        ("[bold]x[/bold] [@click=app.bell]x", "[bold]x[/bold] [@click=app.bell]x"),
        ("Zürich 北 🜨 ½ µ", "Zürich 北 🜨 ½ µ"),
    ],
)
def test_payloads_become_signs(typed: str, shown: str) -> None:
    assert visible(typed) == shown


def test_every_control_becomes_a_sign() -> None:
    for control in CONTROLS:
        assert control not in visible(f"a{control}b")
        assert visible(f"a{control}b") != "ab"


def test_every_character_that_is_not_seen_becomes_a_sign() -> None:
    # Reference: general categories of the Unicode character database in Python.
    unseen = ("Cc", "Cf", "Cs", "Zl", "Zp")
    for code in range(0x110000):
        character = chr(code)
        if unicodedata.category(character) in unseen and code not in SEEN_FORMAT:
            if 0x13430 <= code <= 0x1345F:  # joins Egyptian hieroglyphs; no order, no width
                continue
            assert visible(character) != character, f"U+{code:04X}"


@given(any_text)
def test_nothing_left_acts_on_a_terminal(text: str) -> None:
    shown = visible(text)
    assert not set(CONTROLS) & set(shown)
    assert len(shown.splitlines()) <= 1
    shown.encode()  # no half of a surrogate pair, which no terminal takes


@given(any_text)
def test_lines_keep_line_feeds_and_tabs_only(text: str) -> None:
    shown = visible_lines(text)
    assert set(CONTROLS) & set(shown) <= {"\n", "\t"}
    assert shown.count("\n") == text.count("\n")


def test_line_ends_of_another_system_are_line_ends() -> None:
    assert visible_lines("one\r\ntwo\rthree") == "one\ntwo␍three"


@given(any_text)
def test_signs_stay_signs(text: str) -> None:
    assert visible(visible(text)) == visible(text)
    assert visible_lines(visible_lines(text)) == visible_lines(text)


@given(st.text(st.characters(categories=["L", "N", "P", "S", "Zs"])))
def test_letters_digits_and_marks_are_left_alone(text: str) -> None:
    seen = text.translate(
        dict.fromkeys(map(ord, "\u115f\u1160\u3164\uffa0"))
    )  # fillers are letters
    assert visible(seen) == seen
