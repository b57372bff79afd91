"""Tables in the page are those that markdown-it-py makes of the same Markdown, cell by cell."""

from __future__ import annotations

from functools import cache
from xml.etree.ElementTree import Element

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from markdown_it import MarkdownIt

from exporters import html
from exporters.markdown import md_table
from exporters.model import Table
from tests.exporters.reading import PAYLOADS, fragment, text_of

TEXTS = st.one_of(
    st.sampled_from(PAYLOADS),
    st.text(st.characters(exclude_categories=["Cs"]), max_size=24),
    st.text(st.sampled_from("ab |\\`*_~[]<>&\"'!:-#1."), max_size=12),
)


@cache
def library() -> MarkdownIt:
    """The library's own table rule (GitHub Flavored Markdown, tables; CommonMark 0.31.2 within)."""
    return MarkdownIt("commonmark", {"html": False}).enable(["table", "strikethrough"])


def ours(markdown: str) -> str:
    return str(
        html._renderer().render(markdown, {"name": "01-a.md", "drawings": {}, "columns": {}})
    )


def cells(markup: str) -> list[list[str]]:
    """Each row of the first table: its cells, tags within them and all."""
    table = fragment(markup).find(".//table")
    assert table is not None
    return [[inner(cell) for cell in row] for row in table.iter("tr")]


def inner(cell: Element) -> str:
    tags = [element.tag for element in cell.iter() if element is not cell]
    return f"{text_of(cell)}{tags}"


@settings(deadline=None)
@given(st.lists(st.lists(TEXTS, min_size=3, max_size=3), min_size=1, max_size=4))
def test_every_cell_is_what_the_library_makes_of_it(rows: list[list[str]]) -> None:
    written = md_table(Table(("One", "T|wo", "<b>"), tuple(tuple(row) for row in rows)))
    assert cells(ours(written)) == cells(library().render(written))


def test_a_long_table_is_one_table_in_groups_of_rows() -> None:
    rows = tuple((f"1A-A{n}", f"panel {n}") for n in range(250))
    written = md_table(Table(("Identifier", "From"), rows))
    made = ours(written)
    (table,) = fragment(made).iter("table")
    assert [len(body) for body in table.iter("tbody")] == [100, 100, 50]
    assert cells(made) == cells(library().render(written))


@pytest.mark.parametrize(
    "written",
    [
        "One | Two\n--- | ---\n1 | 2\n",  # as a house's template may write it
        "| One | Two |\n| :-- | --: |\n| 1 | 2 |\n",
        "| One | Two |\n| --- | --- |\n| 1 |\n",
        "| One | Two |\n| --- | --- |\n| 1 | 2 |\nand more\n",
        "> | One | Two |\n> | --- | --- |\n> | 1 | 2 |\n",
        "text\n| One | Two |\n| --- | --- |\n| 1 | `a` |\n\nand more\n",
    ],
)
def test_a_table_in_another_form_is_one_all_the_same(written: str) -> None:
    assert cells(ours(written)) == cells(library().render(written))


def test_a_link_in_a_cell_leads_to_our_section_and_tells_no_one_where_from() -> None:
    made = fragment(ours("| A | B |\n| --- | --- |\n| [x](02-power.md) | <https://a.example> |\n"))
    own, web = made.iter("a")
    assert own.get("href") == "#power"
    assert (web.get("href"), web.get("rel")) == ("https://a.example", "noreferrer noopener")
