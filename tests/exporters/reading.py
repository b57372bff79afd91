"""Reading rendered Markdown and pages back, strictly, as a browser would."""

from __future__ import annotations

from xml.etree.ElementTree import Element

import html5lib

# Payloads for terminals, pages, Markdown and markup libraries. The terminal ones: CWE-150 and the
# control sets of ECMA-48; the reordering ones: Unicode bidirectional controls.
PAYLOADS = (
    "\x1b]52;c;cHduZWQ=\x07",
    "\x1b[2J\x1b[H",
    "\x1b]0;title\x07",
    "\x1b]8;;http://example.com\x1b\\x\x1b]8;;\x1b\\",
    "\x9b31m",
    "\x9d52;c;eA==\x9c",
    "\x1bP...\x1b\\",
    "\x1b_...\x1b\\",
    "abc\rXYZ",
    "abc\b\b\bXYZ",
    "\x85",
    "\u202eevil\u202c",
    "\u2066",
    "\u200b",
    "[bold]x[/bold]",
    "[@click=app.bell]x",
    "<script>alert(1)</script>",
    "</style><script>alert(1)</script>",
    '"><img src=x onerror=alert(1)>',
    "[x](javascript:alert(1))",
    "<javascript:alert(1)>",
    "![x](//example.com/x.png)",
    "| a | b |",
    "**bold** _it_ `code` ~~gone~~",
    "# heading",
    "```",
    "- item",
    "1. item",
    "> quote",
    "---",
    "&lt;b&gt;&#60;",
    "C:\\folder\\",
    "{{ 7 * 7 }}{% raw %}",
)


def page(html: str) -> Element:
    """The document element of a page. Raises ParseError on the first fault of the HTML."""
    parser = html5lib.HTMLParser(strict=True, namespaceHTMLElements=False)
    return parser.parse(html)


def fragment(html: str) -> Element:
    """The elements of a piece of a page, strictly parsed."""
    parser = html5lib.HTMLParser(strict=True, namespaceHTMLElements=False)
    return parser.parseFragment(html)


def text_of(element: Element) -> str:
    """All the text of an element."""
    return "".join(element.itertext())


def tags(element: Element) -> set[str]:
    """The names of all elements below this one."""
    return {str(e.tag) for e in element.iter() if isinstance(e.tag, str)} - {str(element.tag)}


def squeezed(text: str) -> str:
    """The text without white space."""
    return "".join(text.split())
