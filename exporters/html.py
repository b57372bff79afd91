"""A document as one HTML file that asks the network for nothing, made from its Markdown.

The Markdown is the source: what renders here is what the folder of files holds. Raw HTML is off,
links lead only where our own code sends them, and the page allows by hash just its own style and
script (Content Security Policy Level 3, hashes in a meta element).
"""

from __future__ import annotations

import base64
import hashlib
import re
from collections.abc import Mapping, MutableMapping, Sequence
from dataclasses import dataclass
from functools import cache
from importlib.resources import files as package_files
from typing import TYPE_CHECKING, Any, Final

from binder.errors import RequestError
from binder.text import visible
from exporters import html_table, markdown
from exporters.house import NO_HOUSE, House, environment, faults_told
from exporters.model import Document

if TYPE_CHECKING:
    from jinja2 import Environment
    from markdown_it import MarkdownIt
    from markdown_it.renderer import RendererHTML
    from markdown_it.token import Token
    from markdown_it.utils import OptionsDict

_OWN_PHOTO: Final = re.compile(r"photos/[0-9]{2,}-[a-z0-9-]*\.(jpg|png)")
_OWN_FILE: Final = re.compile(r"[0-9]{2}-([a-z-]+)\.md")
_LONG_LABEL: Final = re.compile(r"\*\*.{48,}?:\*\*")  # of a fact: more than its column holds
# What stands there until the script puts a form in its place; and all there is without scripts.
_SEALED: Final = (
    '<div id="sealed" class="sealed">\n'
    '<p role="status">They open in a browser that runs scripts, from this file on a disk; and with '
    "the command <code>binder unseal</code>.</p>\n</div>\n"
)
_UNSAFE_IN_CSS: Final = re.compile(r"[^A-Za-z0-9 ,.:·-]")
# Where the page may be parted, and after how many characters: see `with_pauses`.
_PARTS: Final = re.compile(r"^(?=<h3\b)|(?<=^<tbody>\n)", re.MULTILINE)
_PAUSE_AFTER: Final = 32_768
_PAUSE: Final = "<script></script>\n"
_ADDRESS: Final = re.compile(r"(https?://|mailto:)[!-~]+")


@dataclass(frozen=True, slots=True)
class RenderedSection:
    """A section of the page: its anchor, its entry in the contents, its body as HTML."""

    anchor: str
    title: str
    body: str


def page(document: Document, house: House = NO_HOUSE) -> str:
    """The whole document as one HTML text, in the look of the house.

    Raises RequestError for a template of the house that fails.
    """
    drawings, photos = document.drawings(), document.photos()
    texts = markdown.files(document, house)
    renderer = _renderer()
    columns: dict[tuple[int, ...], str] = {}
    env = {"drawings": drawings, "photos": photos, "columns": columns}
    bodies = {
        name: with_pauses(renderer.render(text, {**env, "name": name}))
        for name, text in texts.items()
    }
    style, script = _style(document, house, columns), _asset("page.js")
    sealed_script = _asset("sealed.js") if document.sealed else ""
    allowed = policy(style, script, *filter(None, (sealed_script,)))
    with faults_told(house):
        made = _environment(house).get_template("page.html.j2").render(
            document=document,
            title=visible(f"{document.client}: {document.title.lower()}, {document.release}"),
            policy=allowed,
            style=style,
            script=script,
            sealed_script=sealed_script,
            logo=house.logo,
            cover=bodies.pop(markdown.COVER),
            sections=[
                RenderedSection(anchor(name), section.title, body)
                for (name, body), section in zip(bodies.items(), document.sections, strict=True)
            ],
        )  # fmt: skip
    if house.templates:
        _require_policy(made, allowed)
    return made


def with_pauses(body: str) -> str:
    """The body of a large section, parted by scripts that hold nothing.

    A browser takes in a page of megabytes in turns of up to half a second, in which it neither
    draws nor takes a key; where a script stood, it ends its turn early, and goes on afterwards.
    """
    parts, start = [], 0
    for place in _PARTS.finditer(body):
        if place.start() - start >= _PAUSE_AFTER:
            parts.append(body[start : place.start()])
            start = place.start()
    return _PAUSE.join([*parts, body[start:]])


def _require_policy(made: str, allowed: str) -> None:
    """Raises RequestError when a template of the house leaves out what closes the page."""
    from markupsafe import escape

    if f'<meta http-equiv="Content-Security-Policy" content="{escape(allowed)}">' not in made:
        raise RequestError(
            "templates/page.html.j2 of the house: leaves out the line of the policy; take the "
            "first meta element over from binder/page.html.j2 as it stands"
        )


def anchor(file_name: str) -> str:
    """The id under which a file of the Markdown folder stands in the page."""
    found = _OWN_FILE.fullmatch(file_name)
    return found[1] if found else ""


def source_hash(text: str) -> str:
    """A Content Security Policy hash source: the base64 SHA-256 of the exact UTF-8 text."""
    digest = hashlib.sha256(text.encode()).digest()
    return f"'sha256-{base64.b64encode(digest).decode()}'"


def policy(style: str, *scripts: str) -> str:
    """The page's Content Security Policy: its own style and scripts, and nothing else."""
    return (
        f"default-src 'none'; style-src {source_hash(style)}; "
        f"script-src {' '.join(map(source_hash, scripts))}; "
        "img-src data:; base-uri 'none'; form-action 'none'"
    )


def _style(document: Document, house: House, columns: Mapping[tuple[int, ...], str]) -> str:
    """The look of every document, its running titles, its long tables, what that document has of
    its own; then the house's."""
    own = f"{document.slug}.css"
    has_own = package_files("exporters").joinpath("assets", own).is_file()
    long_tables = (html_table.column_style(widths, name) for widths, name in columns.items())
    parts = (_asset("page.css"), running(document, house), *long_tables)
    return "".join((*parts, _asset(own) if has_own else "", house.style))


def running(document: Document, house: House = NO_HOUSE) -> str:
    """The style of the head of each printed page: whose document it is, which, and its issue."""
    client, title = css_string(document.client), css_string(f" · {document.title}")
    release = css_string(
        "DRAFT, not issued" if document.is_draft else f"{document.release}, {document.dated}"
    )
    logo = (
        "@page { @top-center { content: ''; height: 8mm; width: 30mm; "
        f"background: url('{house.logo}') no-repeat center / contain; }} }}\n"
    )
    return (
        f"@page {{ @top-left {{ content: {client} {title}; }} "
        f"@top-right {{ content: {release}; }} }}\n{logo if house.logo else ''}"
    )


def css_string(text: str) -> str:
    """A string of CSS that says this text and nothing else.

    CSS Syntax Level 3, 4.3.7: an escape has up to six digits, and takes one space after it.
    """
    return f'"{_UNSAFE_IN_CSS.sub(lambda found: f"{chr(92)}{ord(found[0]):06x} ", visible(text))}"'


@cache
def _asset(name: str) -> str:
    """A style or script as it will stand between its tags."""
    text = package_files("exporters").joinpath("assets", name).read_text(encoding="utf-8")
    if "</" in text:
        raise ValueError(f"{name} would close its own element")
    return text


@cache
def _environment(house: House) -> Environment:
    made = environment(house, autoescape=True)
    made.filters["visible"] = visible
    return made


# From Markdown. ---------------------------------------------------------------------------


@cache
def _renderer() -> MarkdownIt:
    from markdown_it import MarkdownIt

    made = MarkdownIt("commonmark", {"html": False}).enable(["table", "strikethrough"])
    made.validateLink = _is_allowed  # type: ignore[method-assign,assignment]
    made.core.ruler.at("inline", _inline)
    made.core.ruler.push("binder", _shape)
    html_table.enable(made, _turn_link)
    made.add_render_rule("fence", _fence)
    made.add_render_rule("image", _image)
    made.add_render_rule("table_open", _table_open)
    made.add_render_rule("table_close", _table_close)
    return made


def _is_allowed(address: str) -> bool:
    """Whether a link may lead there: our own sections and photos, the web, an e-mail address."""
    return any(own.fullmatch(address) for own in (_OWN_FILE, _OWN_PHOTO, _ADDRESS))


def _inline(state: Any) -> None:
    """Parse what is within a block; what holds no mark of Markdown is text as it stands.

    Most lines are such, and the parser takes as long for them as for others.
    """
    from markdown_it.token import Token

    for token in state.tokens:
        if token.type != "inline":
            continue
        if html_table.MARKS.search(token.content):
            state.md.inline.parse(token.content, state.md, state.env, token.children)
        elif token.content:
            token.children.append(Token("text", "", 0, content=token.content))


def _shape(state: Any) -> None:
    """Fit the tokens of a file into the page: heading levels, anchors, roles, links."""
    name = state.env["name"]
    parts, heading = 0, ""
    before, before_that = "", ""
    for at, token in enumerate(state.tokens):
        kind = token.type
        if kind == "inline":
            _shape_inline(token, before_that)
            if before_that == "list_item_open" and _LONG_LABEL.match(token.content):
                state.tokens[at - 2].attrSet("class", "long")
        elif kind == "td_open":
            if look := html_table.look(state.tokens[at + 1].content):
                token.attrSet("class", look)
        elif kind in ("heading_open", "heading_close"):
            if name != markdown.COVER:
                token.tag = f"h{int(token.tag[1]) + 1}"
            if kind == "heading_open":
                heading = "".join(c.content for c in state.tokens[at + 1].children or ())
                if token.tag == "h3":
                    parts += 1
                    token.attrSet("id", f"{anchor(name)}-{parts}")
        elif kind == "th_open":
            token.attrSet("scope", "col")
        elif kind == "bullet_list_open":
            token.attrSet("class", "facts")
        elif kind in ("table_open", html_table.KIND):
            token.meta["label"] = heading
        before_that, before = before, kind


def _shape_inline(token: Token, container: str) -> None:
    children = token.children or ()
    if len(children) < 2:
        return
    for child in children:
        if child.type == "link_open":
            _turn_link(child)
    if container == "list_item_open":
        _part_label_and_value(token)


def _part_label_and_value(token: Token) -> None:
    """In a list of facts, wrap what follows the label, so that the two can stand side by side."""
    from markdown_it.token import Token

    children = token.children or []
    ends = [at for at, child in enumerate(children) if child.type == "strong_close"]
    if ends:
        children.insert(ends[0] + 1, Token("value_open", "span", 1))
        children.append(Token("value_close", "span", -1))


def _turn_link(token: Token) -> None:
    address = str(token.attrGet("href"))
    if _OWN_FILE.fullmatch(address):
        token.attrSet("href", f"#{anchor(address)}")
    else:
        token.attrSet("rel", "noreferrer noopener")


def _fence(
    self: RendererHTML,
    tokens: Sequence[Token],
    at: int,
    options: OptionsDict,
    env: MutableMapping[str, Any],
) -> str:
    """A fenced drawing: its picture where it has one, else its lines."""
    form, _, key = tokens[at].info.partition(" ")
    if form == "sealed":
        return _SEALED
    drawable = env["drawings"].get(key)
    picture = drawable.svg(key) if drawable else ""
    if picture:
        return f'<figure class="{form}">{picture}</figure>\n'
    return str(self.fence(tokens, at, options, env))


def _image(
    self: RendererHTML,
    tokens: Sequence[Token],
    at: int,
    options: OptionsDict,
    env: MutableMapping[str, Any],
) -> str:
    """A photo of the binder, within the page; of anything else its words only."""
    from markdown_it.common.utils import escapeHtml

    words = escapeHtml(self.renderInlineAsText(tokens[at].children, options, env))
    photo = env["photos"].get(tokens[at].attrs["src"])
    if photo is None:
        return words
    data = base64.b64encode(photo.data).decode()
    return f'<img class="photo" alt="{words}" src="data:{photo.media_type};base64,{data}">'


def _table_open(
    self: RendererHTML,
    tokens: Sequence[Token],
    at: int,
    options: OptionsDict,
    env: MutableMapping[str, Any],
) -> str:
    return html_table.opening(tokens[at].meta["label"])


def _table_close(
    self: RendererHTML,
    tokens: Sequence[Token],
    at: int,
    options: OptionsDict,
    env: MutableMapping[str, Any],
) -> str:
    return html_table.CLOSING
