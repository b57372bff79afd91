"""The page in a real browser, from the disk as a client opens it."""

from __future__ import annotations

import re
import subprocess
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import TYPE_CHECKING

import pytest

from binder.edit import Editor
from binder.file import BinderFile
from exporters.export import export
from tests.exporters.conftest import TODAY
from tests.exporters.reading import PAYLOADS
from tests.system import needs

if TYPE_CHECKING:
    from playwright.sync_api import Browser, Page

NAME = "<script>alert(1)</script> | **Vet** \u202eclinic"


class Watched:
    """A page, and everything it did that a document must not do."""

    def __init__(self, page: Page, path: Path) -> None:
        self.page = page
        self.requests: list[str] = []
        self.complaints: list[str] = []
        page.on("request", lambda request: self.requests.append(request.url))
        page.on("dialog", lambda dialog: self.complaints.append(f"dialog: {dialog.message}"))
        page.on("console", lambda message: self.complaints.append(message.text))
        page.on("pageerror", lambda error: self.complaints.append(str(error)))
        page.goto(path.as_uri())


@pytest.fixture(scope="module")
def browser() -> Iterator[Browser]:
    from playwright.sync_api import sync_playwright

    chromium = needs("chromium", "chromium-browser")
    with sync_playwright() as playwright:
        # run as root in a container: its sandbox needs rights that are not given there
        browser = playwright.chromium.launch(executable_path=chromium, args=["--no-sandbox"])
        yield browser
        browser.close()


@pytest.fixture
def path(
    closet: BinderFile, change: Callable[..., None], add: Callable[..., int], tmp_path: Path
) -> Path:
    change("client Quillmere Veterinary Clinic", identifier=NAME)
    for number, payload in enumerate(PAYLOADS):
        add("known_issue", identifier=f"issue {number} {payload}".replace("\n", " "),
            effect=payload)  # fmt: skip
    return export(closet, "handoff", form="html", target=tmp_path, today=TODAY)[0]


@pytest.fixture
def opened(browser: Browser, path: Path) -> Iterator[Callable[..., Watched]]:
    contexts = []

    def opened(width: int = 1280, height: int = 900, scheme: str = "light") -> Watched:
        context = browser.new_context(
            viewport={"width": width, "height": height}, color_scheme=scheme
        )
        contexts.append(context)
        return Watched(context.new_page(), path)

    yield opened
    for context in contexts:
        context.close()


def test_it_asks_for_nothing_and_runs_nothing_that_was_typed(
    opened: Callable[..., Watched], path: Path
) -> None:
    watched = opened()
    watched.page.wait_for_selector(".find:not([hidden])")  # the page's own script did run
    assert watched.requests == [path.as_uri()]
    assert watched.complaints == []  # no dialog, no violation of the policy, no error


def test_it_would_notice_a_violation_of_the_policy(opened: Callable[..., Watched]) -> None:
    watched = opened()
    watched.page.evaluate(
        "() => { const s = document.createElement('script'); s.textContent = 'alert(2)';"
        " document.body.append(s); }"
    )
    assert any("Content Security Policy" in complaint for complaint in watched.complaints)


def test_the_name_is_shown_as_it_was_typed(opened: Callable[..., Watched]) -> None:
    page = opened().page
    shown = "<script>alert(1)</script> | **Vet** <U+202E>clinic"
    assert page.inner_text("h1") == shown
    assert page.title().startswith(shown)


@pytest.mark.parametrize("width", [320, 390, 768, 1280, 1920])
def test_the_page_itself_never_scrolls_sideways(opened: Callable[..., Watched], width: int) -> None:
    """WCAG 2.2, success criterion 1.4.10 (reflow): 320 CSS pixels, tables excepted."""
    page = opened(width=width).page
    assert page.evaluate("document.documentElement.scrollWidth") <= width


def test_the_contents_are_at_hand_on_a_desk_and_on_a_phone(
    opened: Callable[..., Watched],
) -> None:
    desk = opened(1280).page
    assert desk.is_visible("nav.wide")
    assert not desk.is_visible("details.narrow")
    phone = opened(390, 844).page
    assert not phone.is_visible("nav.wide")
    phone.evaluate("window.scrollTo(0, document.body.scrollHeight / 2)")
    assert phone.evaluate("document.querySelector('summary').getBoundingClientRect().top") < 40
    phone.click("details.narrow summary")
    phone.click("details.narrow a[href='#power']")
    assert phone.evaluate("document.getElementById('power').getBoundingClientRect().top") < 100
    assert not phone.is_visible("details.narrow nav")


def test_finding_shows_the_rows_that_hold_the_words(opened: Callable[..., Watched]) -> None:
    from playwright.sync_api import expect

    page = opened().page
    page.fill("#find", "front desk 1A-A01")
    rows = page.locator("#patch-map tbody tr:visible")
    expect(rows).to_have_count(1)
    expect(rows).to_contain_text("114-1:A")
    expect(page.locator("#circuits")).to_be_hidden()
    page.fill("#find", "no such words")
    expect(page.locator("#found")).to_have_text("Not found")
    page.fill("#find", "")
    expect(page.locator("#circuits")).to_be_visible()


def test_a_column_is_filtered_in_a_long_table(opened: Callable[..., Watched]) -> None:
    from playwright.sync_api import expect

    page = opened().page
    page.fill("#patch-map [aria-label='Rows whose Role contains'] >> nth=0", "uplink")
    ports = page.locator("#patch-map table:has(th:text('Role')) >> nth=0")
    expect(ports.locator("tbody tr:visible td:first-child")).to_have_text(["09"])


@pytest.fixture
def many(closet: BinderFile, editor: Editor, id_of: Callable[[str], int], tmp_path: Path) -> Path:
    """The page of the closet with 250 spare cameras: a table in three groups of rows."""
    with editor.step("cameras") as step:
        step.add_many(
            "hardware",
            [
                {"identifier": f"SPARE{n}", "form": "camera", "space": id_of("114"),
                 "description": "a dome " + "for the yard " * (n % 3)}
                for n in range(1, 251)
            ],
        )  # fmt: skip
    return export(closet, "handoff", form="html", target=tmp_path / "many", today=TODAY)[0]


def test_the_columns_of_a_table_of_hundreds_of_rows_line_up(many: Path, browser: Browser) -> None:
    page = Watched(browser.new_page(), many).page
    places = page.evaluate(
        """() => [...document.querySelectorAll('#equipment .grouped tr:not(.filters)')].map(row =>
             [...row.cells].map(cell => cell.getBoundingClientRect())
               .map(box => Math.round(box.left) + ' to ' + Math.round(box.right)).join(', '))"""
    )
    assert len(places) > 250
    assert len(set(places)) == 1
    page.close()


def test_a_filter_of_hundreds_of_rows_leaves_no_room_where_none_is_shown(
    many: Path, browser: Browser
) -> None:
    from playwright.sync_api import expect

    page = Watched(browser.new_page(), many).page
    page.locator("#equipment .grouped .filters input").first.fill("SPARE24")
    rows = page.locator("#equipment .grouped tbody tr:visible")
    expect(rows).to_have_count(11)  # SPARE24, SPARE240 to 249
    expect(rows.first).to_contain_text("SPARE24")
    box = page.locator("#equipment .grouped").bounding_box()
    assert box is not None
    assert box["height"] < 900
    page.close()


def test_a_table_of_hundreds_of_rows_is_one_table_to_those_who_hear_it(
    many: Path, browser: Browser
) -> None:
    """HTML Accessibility API Mappings 1.0: table, tr, th and td are a table's, however styled."""
    from playwright.sync_api import expect

    page = Watched(browser.new_page(), many).page
    page.locator("#equipment .grouped").scroll_into_view_if_needed()
    first = page.locator("#equipment .grouped tbody td").first
    expect(first).to_have_text(re.compile(r"\S"), use_inner_text=True)  # it is drawn
    session = page.context.new_cdp_session(page)
    document = session.send("DOM.getDocument")["root"]["nodeId"]
    wanted = {"nodeId": document, "selector": "#equipment .grouped"}
    table = session.send("DOM.querySelector", wanted)
    nodes = session.send("Accessibility.queryAXTree", table)["nodes"]
    roles = [node["role"]["value"] for node in nodes if not node["ignored"]]
    assert roles.count("table") == 1
    assert {"row", "columnheader", "cell"} <= set(roles)
    page.close()


def test_a_table_of_hundreds_of_rows_is_printed_as_one_with_its_heading_on_each_page(
    many: Path, browser: Browser
) -> None:
    """CSS 2.2, 17.2: a table's header group is what a browser may repeat on each page."""
    page = Watched(browser.new_page(), many).page
    page.emulate_media(media="print")
    shown = page.evaluate(
        """() => ['', ' thead', ' tbody', ' tbody tr', ' td'].map(part =>
             getComputedStyle(document.querySelector('#equipment .grouped' + part)).display)"""
    )
    assert shown == ["table", "table-header-group", "table-row-group", "table-row", "table-cell"]
    page.close()


def test_what_the_search_hides_is_printed_all_the_same(opened: Callable[..., Watched]) -> None:
    page = opened().page
    page.fill("#find", "no such words")
    page.emulate_media(media="print")
    assert page.is_visible("#circuits")
    assert not page.is_visible(".find")
    assert not page.is_visible("nav.wide")


@pytest.mark.parametrize(
    ("paper", "text_width_px"),
    [("A4", 661), ("Letter", 683)],  # 210 mm and 8.5 in, less margins of 20 and 15 mm, at 96 / in
)
def test_it_prints_on_either_paper_within_its_width(
    opened: Callable[..., Watched], paper: str, text_width_px: int, tmp_path: Path
) -> None:
    page = opened().page
    printed = tmp_path / "handoff.pdf"
    page.pdf(path=printed, format=paper)
    command = [needs("pdftotext"), "-layout", str(printed), "-"]
    pages = subprocess.run(command, capture_output=True, text=True, check=True).stdout.split("\f")
    assert len(pages) > 5
    for number, text in enumerate(pages[:-1], start=1):
        assert "DRAFT, not issued" in text
        assert f"Page {number} of {len(pages) - 1}" in text
    page.emulate_media(media="print")
    page.set_viewport_size({"width": text_width_px, "height": 900})
    assert page.evaluate("document.documentElement.scrollWidth") <= text_width_px
