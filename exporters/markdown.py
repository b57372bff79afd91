"""A document as Markdown: a folder of files that reads well as plain text too.

Everything typed goes through `md` (CommonMark 0.31.2, "Backslash escapes": any ASCII punctuation
may be escaped by a backslash), which escapes what could act as markup and nothing else.
"""

from __future__ import annotations

import re
import textwrap
from collections.abc import Iterable, Iterator
from functools import cache
from itertools import pairwise
from typing import TYPE_CHECKING, Final

from binder.text import visible, visible_lines
from exporters.cells import width
from exporters.house import NO_HOUSE, House, environment, faults_told
from exporters.model import Cell, Document, Drawing, Link, Section, Table

if TYPE_CHECKING:
    from jinja2 import Environment

COVER: Final = "00-cover.md"
_PROSE_CELLS: Final = 88
_COLUMN_CELLS: Final = 44  # a longer cell overflows its column in its own row only

# Where each character could begin or end markup; elsewhere it stands as typed.
_ACTIVE: Final = re.compile(
    r"""
      \\(?=[!-/:-@\[-`{-~]|$)     # would escape the next character, or break the line
    | [`*\[\]|~]                  # code, emphasis, links, table cells, strikethrough
    | <(?![0-9\s])                # an HTML tag or an autolink
    | &(?=\#?\w+;)                # a character reference
    | (?<![^\W_])(?<!_)_+         # emphasis; an underscore within a word is none
    | _++(?![^\W_])
    | (?<!\S)\#(?=\#*$)           # the closing marks of a heading
    | ^(?:\#|>|[-+](?=\s|$)|-(?=[-\s]+$)|=(?==*$)|:(?=[-\s]|$))   # a line's leading mark
    """,
    re.VERBOSE,
)
# What none of these can be, as most cells are: words, names and figures.
_PLAIN: Final = re.compile(
    r"[A-Za-z][A-Za-z0-9 .,:;/()%'+-]*|[0-9]+(?:[A-Za-z ,:/%'-][A-Za-z0-9 .,:;/()%'+-]*)?"
)
_LEADING_NUMBER: Final = re.compile(r"^([0-9]{1,9})([.)])(?=\s|$)")
_SAFE_ADDRESS: Final = re.compile(r"[A-Za-z0-9+./:?&=%#@_~,;-]+")


def md(text: str) -> str:
    """Typed text as Markdown that renders as exactly that text, on one line.

    Controls and reordering marks are shown as signs (`binder.text.visible`). Good at the start
    of a line, within one, in a heading and in a table cell.
    """
    plain = visible(text).strip()
    escaped = _ACTIVE.sub(lambda found: "".join(f"\\{c}" for c in found[0]), plain)
    return _LEADING_NUMBER.sub(r"\1\\\2", escaped)


def md_lines(text: str, lead: str = "") -> str:
    """Typed text of several lines; each stays a line, and each but the first begins with `lead`.

    A blank line parts paragraphs.
    """
    lines = [md(line) for line in _lines(text)]
    ends = ["  " if line and after else "" for line, after in pairwise([*lines, ""])]  # hard break
    return f"\n{lead}".join(line + end for line, end in zip(lines, ends, strict=True))


def _lines(text: str) -> list[str]:
    return visible_lines(text).expandtabs().strip().split("\n")


def md_prose(text: str, lead: int = 0) -> str:
    """A paragraph, wrapped for reading as plain text; so many characters stand before it."""
    lines = textwrap.wrap(
        visible(text), _PROSE_CELLS, initial_indent=" " * min(lead, _PROSE_CELLS // 2),
        break_long_words=False, break_on_hyphens=False,
    )  # fmt: skip
    return "\n".join(md(line) for line in lines)


def md_cell(cell: Cell) -> str:
    """A text, or a link whose address was checked to be plain; lines are joined by semicolons."""
    if not isinstance(cell, Link):
        if _PLAIN.fullmatch(cell):
            return cell.strip()
        return md("; ".join(line.strip() for line in _lines(cell) if line.strip()))
    if not _SAFE_ADDRESS.fullmatch(cell.address):
        return md(cell.text)
    if cell.text in (cell.address, cell.address.removeprefix("mailto:")):
        return f"<{cell.text}>"
    return f"[{md(cell.text)}]({cell.address})"


def md_fact(cell: Cell) -> str:
    """A fact under its label in a list: lines stay lines, empty ones are left out."""
    if isinstance(cell, Link):
        return md_cell(cell)
    return md_lines("\n".join(line for line in _lines(cell) if line.strip()), "  ")


def md_table(table: Table) -> str:
    """A table whose columns line up in plain text."""
    rows = [[md(label) for label in table.head], *([md_cell(c) for c in row] for row in table.rows)]
    widths = [
        max(3, *(min(width(row[column]), _COLUMN_CELLS) for row in rows))
        for column in range(len(table.head))
    ]
    rule = [["-" * cells for cells in widths]]
    return "\n".join(_row(cells, widths) for cells in rows[:1] + rule + rows[1:])


def _row(cells: Iterable[str], widths: Iterable[int]) -> str:
    filled = (cell + " " * (w - width(cell)) for cell, w in zip(cells, widths, strict=True))
    return f"| {' | '.join(filled)} |"


def md_drawing(drawing: Drawing) -> str:
    """A drawing as a fenced block that names it, so that HTML can put the picture there."""
    text = drawing.of.text()
    longest = max((len(run) for run in re.findall("`+", text)), default=0)
    fence = "`" * max(3, longest + 1)
    return f"{fence}{drawing.of.form} {drawing.key}\n{text}\n{fence}"


def files(document: Document, house: House = NO_HOUSE) -> dict[str, str]:
    """The document's Markdown by file name: the cover, then a file a section.

    Raises RequestError for a template of the house that fails.
    """
    with faults_told(house):
        return _files(document, _environment(house))


def _files(document: Document, templates: Environment) -> dict[str, str]:
    cover = templates.select_template([f"{document.slug}/cover.md.j2", "cover.md.j2"])
    section = templates.get_template("section.md.j2")
    sections = tuple(_numbered(document))
    made = {COVER: _tidy(cover.render(document=document, sections=sections))}
    for name, number, content in sections:
        made[name] = _tidy(section.render(section=content, number=number))
    return made


def _numbered(document: Document) -> Iterator[tuple[str, int, Section]]:
    for number, section in enumerate(document.sections, start=1):
        yield f"{number:02d}-{section.name}.md", number, section


def _tidy(text: str) -> str:
    """One blank line between blocks, one line feed at the end."""
    return re.sub(r"\n{3,}", "\n\n", text).strip("\n") + "\n"


@cache
def _environment(house: House) -> Environment:
    # HTML is made from the Markdown, by a renderer that escapes
    made = environment(house, autoescape=False)
    made.filters.update(
        md=md, md_lines=md_lines, md_prose=md_prose, md_cell=md_cell, md_fact=md_fact,
        md_table=md_table, md_drawing=md_drawing,
    )  # fmt: skip
    return made
