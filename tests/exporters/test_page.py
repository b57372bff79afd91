"""The page: valid, closed to the outside, and the same words as the Markdown."""

from __future__ import annotations

import re
from collections.abc import Callable
from importlib.resources import files
from itertools import pairwise
from xml.etree.ElementTree import Element

import pytest

from binder.file import BinderFile
from exporters.export import render
from exporters.html import policy, source_hash, with_pauses
from tests.exporters.conftest import TODAY
from tests.exporters.reading import PAYLOADS, fragment, page, squeezed, text_of

Page = Callable[[], str]
ASSETS = files("exporters").joinpath("assets")


@pytest.fixture
def hostile(closet: BinderFile, change: Callable[..., None], add: Callable[..., int]) -> str:
    """The page of a binder in which every name and note tries to be something else."""
    change("client Quillmere Veterinary Clinic", identifier="<script>alert(1)</script> | **Vet**")
    for number, payload in enumerate(PAYLOADS):
        one_line = payload.replace("\n", " ").replace("\r", "\r ")
        add("hardware", identifier=f"{number} {one_line}", form="other", description=one_line,
            space="114", notes=payload)  # fmt: skip
        add("known_issue", identifier=f"issue {number} {one_line}", effect=payload)
    return next(iter(render(closet, "handoff", form="html", today=TODAY).values()))


def test_the_page_is_valid_html(closet: BinderFile, page_text: Page) -> None:
    """Parsed strictly by the algorithm of the HTML standard (html5lib): any fault raises."""
    assert page(page_text()).tag == "html"


def test_hostile_names_leave_the_page_valid_and_say_what_was_typed(hostile: str) -> None:
    document = page(hostile)
    assert "<script>alert(1)</script> | **Vet**" in text_of(document)
    assert len(list(document.iter("script"))) == 1
    assert len(list(document.iter("style"))) == 1
    assert not list(document.iter("img"))
    names = squeezed(text_of(document))
    assert squeezed('"><img src=x onerror=alert(1)>') in names


def test_no_control_character_leaves_in_either_form(hostile: str, closet: BinderFile) -> None:
    """CWE-150: `cat` of an export must send nothing to the terminal but text."""
    markdown = "".join(render(closet, "handoff", form="markdown", today=TODAY).values())
    for text in (hostile, markdown):
        assert re.findall(r"[\x00-\x09\x0b-\x1f\x7f-\x9f\u202a-\u202e\u2066-\u2069]", text) == []


def test_the_policy_comes_first_and_allows_only_the_page_s_own_code(
    closet: BinderFile, page_text: Page
) -> None:
    """Content Security Policy Level 3, 'The meta element': what precedes it is not covered."""
    document = page(page_text())
    head = document.find("head")
    assert head is not None
    first = head[0]
    assert first.get("http-equiv") == "Content-Security-Policy"
    style, script = document.find(".//style"), document.find(".//script")
    assert style is not None
    assert script is not None
    assert first.get("content") == policy(text_of(style), text_of(script))
    assert "default-src 'none'" in (first.get("content") or "")
    assert "base-uri 'none'; form-action 'none'" in (first.get("content") or "")


@pytest.mark.parametrize(
    ("text", "hash_source"),
    [
        # Content Security Policy Level 2 (W3C, 2016), section 7.18, its example
        ("alert('Hello, world.');", "'sha256-qznLcsROx4GACP2dm0UCKCzCG+HiZ1guq6ZZDob/Tng='"),
        # Content Security Policy Level 3, section on 'unsafe-hashes', its example
        ("doSubmit()", "'sha256-jzgBGA4UWFFmpOBq0JpdsySukE1FrEN5bUpoK8Z29fY='"),
    ],
)
def test_a_hash_source_is_that_of_the_standard(text: str, hash_source: str) -> None:
    assert source_hash(text) == hash_source


def test_nothing_in_the_page_refers_to_the_outside(hostile: str) -> None:
    """No attribute loads anything; links are our sections or plain web and mail addresses."""
    for element in page(hostile).iter():
        names = set(element.keys())
        assert not names & {"style", "src", "srcset", "action", "formaction", "background", "ping"}
        assert not {name for name in names if name.startswith("on")}
        if "href" in names:
            assert re.match(r"#|https?://|mailto:", element.get("href") or "")
        assert element.tag not in ("link", "iframe", "object", "embed", "base", "form", "img")


def test_every_link_within_the_page_leads_somewhere(closet: BinderFile, page_text: Page) -> None:
    document = page(page_text())
    ids = [e.get("id") for e in document.iter() if e.get("id")]
    assert len(ids) == len(set(ids))
    inner = [e.get("href") for e in document.iter("a") if (e.get("href") or "").startswith("#")]
    assert len(inner) > 60  # the contents stand there three times
    assert {href[1:] for href in inner if href} <= set(ids)


def test_headings_step_down_one_level_at_a_time(closet: BinderFile, page_text: Page) -> None:
    levels = [int(e.tag[1]) for e in page(page_text()).iter() if re.fullmatch("h[1-6]", e.tag)]
    assert levels[0] == 1
    assert levels.count(1) == 1
    assert all(after <= before + 1 for before, after in pairwise(levels))


def test_tables_scroll_in_their_own_box_and_name_their_columns(
    closet: BinderFile, page_text: Page
) -> None:
    document = page(page_text())
    boxes = [e for e in document.iter("div") if e.get("class") == "scroll"]
    assert len(boxes) == len(list(document.iter("table")))
    for box in boxes:
        assert box.get("tabindex") == "0"  # WCAG 2.2, 2.1.1: scrolled by keyboard too
        assert box.get("aria-label")
    assert {th.get("scope") for th in document.iter("th")} == {"col"}


def test_drawings_are_pictures_in_the_page_and_lines_in_markdown(
    closet: BinderFile, page_text: Page
) -> None:
    document = page(page_text())
    pictures = [e.get("class") for e in document.iter() if e.tag.endswith("svg")]
    assert pictures.count("elevation") == 2
    assert "═" not in text_of(document)
    markdown = "".join(render(closet, "handoff", form="markdown", today=TODAY).values())
    assert markdown.count("╔═") == 2


def test_the_page_says_what_the_markdown_says(closet: BinderFile, page_text: Page) -> None:
    """Every word of a section's tables stands in both."""
    files = render(closet, "handoff", form="markdown", today=TODAY)
    words = squeezed(text_of(page(page_text())))
    for text in files.values():
        for written in text.splitlines():
            line = re.sub(r"\[([^]]+)\]\([^)]+\)", r"\1", written)  # a link says its text
            for cell in re.findall(r"(?<=\| )[^|\\]+(?= \|)", line):
                assert set(cell.strip()) <= {"-"} or squeezed(cell).strip("<>") in words


def test_a_portal_and_an_e_mail_address_can_be_followed(
    closet: BinderFile, page_text: Page, change: Callable[..., None]
) -> None:
    change("fibre", portal="https://portal.larkfen.example/a_b")
    change("Priya Nandakumar", email="priya@quillmere.example")
    links: dict[str, Element] = {e.get("href") or "": e for e in page(page_text()).iter("a")}
    assert text_of(links["https://portal.larkfen.example/a_b"]) == (
        "https://portal.larkfen.example/a_b"
    )
    assert text_of(links["mailto:priya@quillmere.example"]) == "priya@quillmere.example"
    assert links["https://portal.larkfen.example/a_b"].get("rel") == "noreferrer noopener"


def test_a_large_section_is_parted_by_scripts_that_hold_nothing() -> None:
    """Allowed within a tbody: HTML Standard, 4.9.5, content model, script-supporting elements.

    That a browser ends its turn there has no published source: `tests/bench` measures it.
    """
    rows = "<tr>\n<td>1A-A01</td>\n</tr>\n" * 100
    groups = f"<tbody>\n{rows}</tbody>\n" * 40
    table = f"<h3>Links</h3>\n<table>\n{groups}</table>\n"
    parted = with_pauses(table * 3)
    pause = "<script></script>\n"
    assert parted.replace(pause, "") == table * 3
    assert max(map(len, parted.split(pause))) < 40_000
    assert {element.text for element in fragment(parted).iter("script")} == {None}


def test_a_small_section_is_not_parted() -> None:
    body = "<h3>Links</h3>\n<p>none</p>\n" * 20
    assert with_pauses(body) == body


@pytest.mark.parametrize("name", ["page.js", "sealed.js"])
def test_the_script_writes_text_and_never_markup(name: str) -> None:
    """OWASP Cross Site Scripting Prevention: only safe sinks."""
    script = ASSETS.joinpath(name).read_text(encoding="utf-8")
    unsafe = (
        "innerHTML", "outerHTML", "insertAdjacentHTML", "document.write", "eval(", "Function(",
        "setTimeout(", "fetch(", "XMLHttpRequest", "import(",
    )  # fmt: skip
    assert [word for word in unsafe if word in script] == []


def test_no_template_lets_typed_text_through_unescaped() -> None:
    """Each expression of a Markdown template ends in an escaping filter, or is our own word."""
    own = {"number", "name", "write(block)", "write(inner)", "block.path"}
    templates = files("exporters").joinpath("templates")
    found = 0
    for folder in (templates, templates.joinpath("handoff")):
        for template in folder.iterdir():
            if template.name.endswith(".md.j2"):
                for expression in re.findall(r"\{\{(.*?)\}\}", template.read_text("utf-8")):
                    found += 1
                    assert "| md" in expression or expression.strip() in own, expression
    assert found > 15
