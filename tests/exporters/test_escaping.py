"""Typed text in Markdown: it renders as itself, wherever it stands.

Source: CommonMark 0.31.2 (2024-01-28), section 2.4 "Backslash escapes": any ASCII punctuation
character may be backslash-escaped, and then stands for itself.
"""

from __future__ import annotations

import pytest
from hypothesis import example, given
from hypothesis import strategies as st
from markdown_it import MarkdownIt

from binder.text import visible, visible_lines
from exporters.markdown import md, md_fact, md_lines, md_prose, md_table
from exporters.model import Link, Table
from tests.exporters.reading import PAYLOADS, fragment, page, squeezed, tags, text_of

_ACTIVE = "\\`*_[]()<>|~#&;:=-+.!\"'$^{}@/ \t\n01aé"
TYPED = st.text(st.sampled_from(_ACTIVE) | st.characters(codec="utf-8"), max_size=60)

# One renderer that passes HTML through as the specification says, one that does not.
RENDERERS = {
    "specification": MarkdownIt("commonmark", {"html": True}).enable(["table", "strikethrough"]),
    "careful": MarkdownIt("js-default", {"linkify": False}),
}


def examples(test):  # noqa: ANN001, ANN201 - a decorator of decorators
    for payload in PAYLOADS:
        test = example(payload)(test)
    return test


@pytest.mark.parametrize("renderer", RENDERERS.values(), ids=RENDERERS)
@examples
@given(TYPED)
def test_a_paragraph_renders_as_exactly_the_text(renderer: MarkdownIt, text: str) -> None:
    made = fragment(renderer.render(md(text)))
    assert squeezed(text_of(made)) == squeezed(visible(text))
    assert tags(made) <= {"p"}


@pytest.mark.parametrize("renderer", RENDERERS.values(), ids=RENDERERS)
@examples
@given(TYPED)
def test_a_table_cell_renders_as_exactly_the_text(renderer: MarkdownIt, text: str) -> None:
    table = f"| {md(text)} | last |\n| --- | --- |\n| {md(text)} | last |\n"
    made = fragment(renderer.render(table))
    cells = [text_of(cell) for cell in made.iter() if cell.tag in ("th", "td")]
    assert [squeezed(cell) for cell in cells] == [squeezed(visible(text)), "last"] * 2
    assert tags(made) <= {"table", "thead", "tbody", "tr", "th", "td"}


@pytest.mark.parametrize("renderer", RENDERERS.values(), ids=RENDERERS)
@pytest.mark.parametrize(
    ("written", "wrapping"),
    [
        ("## {}", {"h2"}),
        ("- {}", {"ul", "li"}),
        ("1. {}", {"ol", "li"}),
        ("> {}", {"blockquote", "p"}),
        ("- **Label:** {}", {"ul", "li", "strong"}),
        ("words before {}", {"p"}),
    ],
)
@examples
@given(TYPED)
def test_in_every_other_place_it_adds_no_markup(
    renderer: MarkdownIt, written: str, wrapping: set[str], text: str
) -> None:
    made = fragment(renderer.render(written.format(md(text))))
    assert tags(made) <= wrapping
    assert squeezed(text_of(made)).endswith(squeezed(visible(text)))


@given(TYPED)
def test_several_lines_stay_lines_in_a_quotation(text: str) -> None:
    made = fragment(RENDERERS["specification"].render(f"> {md_lines(text, '> ')}"))
    assert tags(made) <= {"blockquote", "p", "br"}
    shown = visible_lines(text).expandtabs()
    assert squeezed(text_of(made)) == squeezed(shown)


@given(TYPED)
def test_wrapping_a_paragraph_makes_no_line_into_markup(text: str) -> None:
    made = fragment(RENDERERS["specification"].render(md_prose(text * 8)))
    assert tags(made) <= {"p"}
    assert squeezed(text_of(made)) == squeezed(visible(text * 8))


@pytest.mark.parametrize(
    "plain",
    [
        "Quillmere Veterinary Clinic",
        "R. Adeyemi, on-call (24 h)",
        "1A-A07",
        "1-FSL01(2)",
        "192.0.2.0/26",
        "00-00-5E-00-53-01",
        "+1 312 555 0100 x12",
        "x-ray_archive on file_server_2",
        "-19.5 dBm",
        "2026-03-14: 4.2 dB margin",
        "Paws & Claws",
        "R&D <2 ms, 50 % = half; why?",
        "C:\\folder",
        "priya@quillmere.example",
        "cost: $5 or 'less'",
        "Ürün 北",
    ],
)
def test_text_that_needs_no_escape_is_written_as_it_is(plain: str) -> None:
    assert md(plain) == plain


@pytest.mark.parametrize(
    ("typed", "written"),
    [
        ("a | b", "a \\| b"),
        ("**now**", "\\*\\*now\\*\\*"),
        ("_now_", "\\_now\\_"),
        ("# 5", "\\# 5"),
        ("12. do this", "12\\. do this"),
        ("- dash", "\\- dash"),
        ("<script>", "\\<script>"),
        ("&amp;", "\\&amp;"),
        ("[x](y)", "\\[x\\](y)"),
    ],
)
def test_what_would_be_markup_is_escaped(typed: str, written: str) -> None:
    assert md(typed) == written


def test_controls_are_shown_and_never_sent() -> None:
    for payload in PAYLOADS:
        shown = md(payload)
        assert not any(ord(c) < 0x20 or 0x7F <= ord(c) < 0xA0 for c in shown)


def test_a_table_lines_up_in_plain_text_also_with_wide_characters() -> None:
    table = Table(("Port", "Use"), (("01", "診察室"), ("02", "café"), ("03", "a | b")))
    assert md_table(table) == (
        "| Port | Use    |\n"
        "| ---- | ------ |\n"
        "| 01   | 診察室 |\n"
        "| 02   | café   |\n"
        "| 03   | a \\| b |"
    )


def test_lines_of_a_table_cell_are_joined_and_those_of_a_fact_stay() -> None:
    address = "12 Alder Row\nQuillmere"
    assert md_table(Table(("Address",), ((address,),))).endswith("| 12 Alder Row; Quillmere |")
    assert md_fact(address) == "12 Alder Row  \n  Quillmere"


def test_a_link_leads_only_to_a_plain_address() -> None:
    portal = "https://portal.larkfen.example/a_b"
    assert md_fact(Link(portal, portal)) == f"<{portal}>"
    assert "](" not in md_fact(Link("x", "https://example.com/) [y](z"))


def test_the_strict_parser_of_these_tests_does_refuse() -> None:
    with pytest.raises(Exception, match="Expected DOCTYPE"):
        page("<p>no doctype</p>")
