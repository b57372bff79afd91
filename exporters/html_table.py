"""The tables that `markdown.md_table` writes, as HTML, without a token a cell.

A large document is nearly all tables, and the library makes some seven objects of each cell before
it writes one. This rule stands in its place for tables in the one form that we write (a bar at
either end of each line, the same number of cells in each); any other goes to the library. A test
holds the two against each other.

A long table is parted into groups of rows. A browser then draws on a screen the groups in sight
only (assets/page.css), for which the columns are as wide in each: their widths are reckoned here.
On paper, and to whoever reads the markup, it is one table.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator, MutableMapping, Sequence
from typing import TYPE_CHECKING, Any, Final, cast

if TYPE_CHECKING:
    from markdown_it import MarkdownIt
    from markdown_it.renderer import RendererHTML
    from markdown_it.rules_block.state_block import StateBlock
    from markdown_it.token import Token
    from markdown_it.utils import OptionsDict

KIND: Final = "whole_table"
_LINE: Final = re.compile(r"\|(?: [^\n]*)? \|")
_RULE: Final = re.compile(r"\|(?: -{3,} \|)+")
_BAR: Final = re.compile(r"(?<!\\)\|")
# All that CommonMark 0.31.2 and strikethrough act on within a line, and the end of one.
MARKS: Final = re.compile(r"[\\`*_~\[\]!<&\n]")
_NUMBERS: Final = re.compile(r"[+0-9][0-9 :-]{5,17}")  # telephone numbers, dates with times
_UNBROKEN: Final = re.compile(r"\S{41}")  # a digest; a name without a blank
_SHORT, _WORD, _LONG = 13, 30, 45  # characters of a table cell: with blanks, without, in all
GROUP: Final = 100  # rows
_LINK: Final = re.compile(r"\]\([^)]*\)")
_NARROWEST, _WIDEST, _EDGES = 6, 36, 3  # characters of a column, and of its padding

TurnLink = Callable[["Token"], None]


def enable(renderer: MarkdownIt, turn_link: TurnLink) -> None:
    """Put the rule before the library's own; `turn_link` is told each link within a cell."""

    def rule(state: StateBlock, start: int, end: int, silent: bool) -> bool:
        return _parse(state, start, end, silent, turn_link)

    renderer.block.ruler.before("table", KIND, rule, {"alt": ["paragraph", "reference"]})
    renderer.add_render_rule(KIND, _render)


def look(text: str) -> str:
    """The class of a cell: short texts stay on one line, long sentences are given room, and a
    word longer than a column is broken anywhere."""
    if len(text) <= (_SHORT if " " in text else _WORD) or _NUMBERS.fullmatch(text):
        return "word"
    if len(text) > _WORD and _UNBROKEN.search(text):
        return "unbroken"
    return "long" if len(text) > _LONG else ""


def opening(label: str, name: str = "") -> str:
    """A table in a box of its own that scrolls on a narrow screen, also by keyboard."""
    from markdown_it.common.utils import escapeHtml

    named = escapeHtml(label)
    table = f'<table class="grouped {name}">' if name else "<table>"
    return f'<div class="scroll" role="region" tabindex="0" aria-label="{named}">\n{table}\n'


def column_widths(rows: Sequence[Sequence[str]]) -> tuple[int, ...]:
    """How wide each column should be, in characters: what it holds, within reason."""
    return tuple(
        min(max(_NARROWEST, *(len(_LINK.sub("", text)) for text in column)), _WIDEST) + _EDGES
        for column in zip(*rows, strict=True)
    )


def column_style(widths: Sequence[int], name: str) -> str:
    """The style of the long tables that go by this name."""
    shares = " ".join(f"{width}fr" for width in widths)
    return (
        f"@media screen {{ .{name} {{ min-width: {sum(widths)}ch; }} "
        f".{name} tr {{ grid-template-columns: {shares}; }} }}\n"
    )


CLOSING: Final = "</table>\n</div>\n"


def _parse(state: StateBlock, start: int, end: int, silent: bool, turn_link: TurnLink) -> bool:
    lines = list(_lines(state, start, end))
    if len(lines) < 2 or not _RULE.fullmatch(lines[1]) or not all(map(_LINE.fullmatch, lines)):
        return False
    rows = [_cells(line) for line in lines]
    if len({len(row) for row in rows}) > 1:
        return False
    if not silent:
        head, _, *body = rows

        def html(text: str) -> str:
            return _within(state, text, turn_link)

        token = state.push(KIND, "", 0)
        token.map = [start, start + len(lines)]
        token.meta = {"label": ""}
        if len(body) > GROUP:
            token.meta["widths"] = column_widths([head, *body])
        token.content = "".join(_rows(head, body, html))
        state.line = start + len(lines)
    return True


def _lines(state: StateBlock, start: int, end: int) -> Iterator[str]:
    """The lines from here to the next blank one; none when they stand within something else."""
    if state.blkIndent or state.sCount[start]:
        return
    for line in range(start, end):
        text = state.src[state.bMarks[line] : state.eMarks[line]]
        if not text:
            return
        yield text


def _cells(line: str) -> list[str]:
    if "\\" not in line:
        return [cell.strip() for cell in line[1:-1].split("|")]
    return [cell.strip().replace("\\|", "|") for cell in _BAR.split(line[1:-1])]


def _rows(
    head: Sequence[str], body: Sequence[Sequence[str]], html: Callable[[str], str]
) -> Iterator[str]:
    yield "<thead>\n<tr>\n"
    for text in head:
        yield f'<th scope="col">{html(text)}</th>\n'
    yield "</tr>\n</thead>\n"
    for start in range(0, len(body), GROUP):
        yield "<tbody>\n"
        for row in body[start : start + GROUP]:
            yield "<tr>\n"
            for text in row:
                kind = look(text)
                yield (
                    f'<td class="{kind}">{html(text)}</td>\n'
                    if kind
                    else f"<td>{html(text)}</td>\n"
                )
            yield "</tr>\n"
        yield "</tbody>\n"


def _within(state: StateBlock, text: str, turn_link: TurnLink) -> str:
    """What stands in a cell; what holds no mark of Markdown is text as it stands."""
    if not MARKS.search(text):
        return text.replace(">", "&gt;").replace('"', "&quot;")
    children: list[Token] = []
    state.md.inline.parse(text, state.md, state.env, children)
    for child in children:
        if child.type == "text_special":  # an escaped mark, which a later rule would make text
            child.type = "text"
        elif child.type == "link_open":
            turn_link(child)
    renderer = cast("RendererHTML", state.md.renderer)
    return renderer.renderInline(children, state.md.options, state.env)


def _render(
    self: RendererHTML,
    tokens: Sequence[Token],
    at: int,
    options: OptionsDict,
    env: MutableMapping[str, Any],
) -> str:
    meta = tokens[at].meta
    name = ""
    if "widths" in meta:
        names: dict[tuple[int, ...], str] = env["columns"]
        name = names.setdefault(meta["widths"], f"columns-{len(names) + 1}")
    return opening(meta["label"], name) + tokens[at].content + CLOSING
