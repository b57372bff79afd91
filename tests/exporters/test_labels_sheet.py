"""Sheets of labels in a real browser: true size, codes that an independent reader reads, no text
over an edge. QR codes are read by zxing-cpp; sizes are asked of the browser and of pdfinfo."""

from __future__ import annotations

import io
import re
import subprocess
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import TYPE_CHECKING, Any

import pytest

from binder.file import BinderFile
from exporters.documents import Options
from exporters.export import export, render
from exporters.html import source_hash
from exporters.label_stock import COMMON, stock_of
from exporters.labels import Label
from exporters.labels_sheet import page as sheet_of
from tests.exporters.conftest import TODAY
from tests.exporters.reading import PAYLOADS
from tests.system import needs

if TYPE_CHECKING:
    from playwright.sync_api import Browser, Page

MM = 96 / 25.4  # CSS pixels (CSS Values and Units Level 3, 5.2)


def label(*lines: str, code: str = "", wraps: bool = False) -> Label:
    return Label("cord", lines, code or lines[0], wraps, 1, frozenset())


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
def shown(browser: Browser, tmp_path: Path) -> Iterator[Callable[..., Page]]:
    """`shown(html)`: the page as a browser shows it, or as it prints."""
    pages = []

    def shown(html: str, media: str = "screen", scale: float = 1) -> Page:
        page = browser.new_page(device_scale_factor=scale)
        pages.append(page)
        page.emulate_media(media=media)
        path = tmp_path / f"sheet-{len(pages)}.html"
        path.write_text(html, "utf-8")
        page.goto(path.as_uri())
        return page

    yield shown
    for page in pages:
        page.close()


def codes_on(page: Page) -> list[str]:
    """What zxing-cpp reads on the first sheet, row by row."""
    import zxingcpp
    from PIL import Image

    picture = Image.open(io.BytesIO(page.locator(".sheet").first.screenshot()))
    found = zxingcpp.read_barcodes(picture, formats=zxingcpp.BarcodeFormat.QRCode)
    return [read.text for read in sorted(found, key=lambda r: (r.position.top_left.y // 20,
                                                               r.position.top_left.x))]  # fmt: skip


def html_of(binder: BinderFile, **options: Any) -> str:
    (made,) = render(
        binder, "labels", form="html", today=TODAY, options=Options(**options)
    ).values()
    assert isinstance(made, str)
    return made


@pytest.mark.parametrize("stock", ["63.5 x 38.1", "38.1 x 21.2", "44.5 x 12.7"])
def test_each_code_of_a_sheet_is_the_identifier(
    closet: BinderFile, shown: Callable[..., Page], stock: str
) -> None:
    read = codes_on(shown(html_of(closet, only="ports,cords,1A-A", stock=stock), scale=3))
    ports = [f"1A-A:{number:02}" for number in range(1, 7)]
    assert read == [*ports, "C-0001", "C-0001", "C-0002", "C-0002"]


@pytest.mark.parametrize("text", ["Küche 3 ✂", "1A-A07", "=1+1", "a" * 60, "<b>&amp;"])
def test_any_identifier_can_be_a_code(shown: Callable[..., Page], text: str) -> None:
    html = sheet_of(stock_of("99.1 x 38.1"), [label("X", code=text)], title="t")
    assert codes_on(shown(html, scale=3)) == [text]


@pytest.mark.parametrize("name", COMMON)
def test_a_label_lies_where_the_stock_has_it_at_true_size(
    closet: BinderFile, shown: Callable[..., Page], name: str
) -> None:
    stock = COMMON[name]
    page = shown(html_of(closet, only="cords", stock=name, start=2), "print")
    sheet = page.locator(".sheet").first.bounding_box()
    boxes = [found.bounding_box() for found in page.locator(".label").all()]
    assert sheet is not None
    for place, box in zip(stock.places(len(boxes), 2), boxes, strict=True):
        assert box is not None
        if place.sheet == 0:
            measured = (box["x"] - sheet["x"], box["y"] - sheet["y"], box["width"], box["height"])
            expected = (place.left_mm, place.top_mm, stock.label_width, stock.label_height)
            assert [px / MM for px in measured] == pytest.approx(expected, abs=0.05)


@pytest.mark.parametrize("name", COMMON)
def test_no_text_leaves_its_label(shown: Callable[..., Page], name: str) -> None:
    """The widest letters, the longest names, in whatever sans serif this machine has."""
    found = [
        label("WWWW-MM:07", "TO MWQ@-WWW:11", "AT 1A-A:07", wraps=True),
        label("1A-R1", "ROOM 1A"),
        label("QUILLMERE GUEST HOUSE, SECOND FLOOR" * 3, "TO X"),
        label("1A-RBC1", "DO NOT DISCONNECT", "IF LOOSE CALL", "+1 312 555 0143", wraps=True),
        label("診療所の配線盤", "TO ÄÖÜ ДЖШ"),
    ]
    page = shown(sheet_of(COMMON[name], found, title="t"), "print")
    over = page.evaluate(
        """() => [...document.querySelectorAll('.label')].flatMap(label => {
            const edge = label.getBoundingClientRect();
            return [...label.querySelectorAll('b, span, svg')].filter(part => {
                const range = document.createRange();
                range.selectNodeContents(part);
                const box = range.getBoundingClientRect();
                return box.left < edge.left - .5 || box.right > edge.right + .5
                    || box.top < edge.top - .5 || box.bottom > edge.bottom + .5;
            }).map(part => part.textContent);
        })"""
    )
    assert over == []


@pytest.mark.parametrize(
    ("stock", "points"),
    [("63.5 x 38.1", (595.3, 841.9)), ("66.7 x 25.4", (612, 792)),
     ("100 x 150 1x1 90x140", (283.5, 425.2))],
)  # fmt: skip
def test_it_prints_on_the_page_of_the_stock_and_on_no_page_more(
    closet: BinderFile, shown: Callable[..., Page], tmp_path: Path, stock: str,
    points: tuple[float, float],
) -> None:  # fmt: skip
    """ISO 216 A4 is 210 x 297 mm, Letter 8.5 x 11 in; a point is 1/72 in."""
    page = shown(html_of(closet, only="cords", stock=stock), "print")
    sheets = page.locator(".sheet").count()
    page.pdf(path=tmp_path / "labels.pdf", prefer_css_page_size=True)
    told = subprocess.run([needs("pdfinfo"), str(tmp_path / "labels.pdf")], check=True,
                          capture_output=True, text=True).stdout  # fmt: skip
    size = re.search(r"Page size: +([\d.]+) x ([\d.]+) pts", told)
    assert size is not None
    assert [float(side) for side in size.groups()] == pytest.approx(points, abs=0.6)
    assert re.search(rf"Pages: +{sheets}\n", told)


def test_a_cable_s_text_is_repeated_around_it(shown: Callable[..., Page]) -> None:
    wrapped, flat = label("C-0001", "TO SW1:01", wraps=True), label("1A-R1", "ROOM 1A")
    page = shown(sheet_of(stock_of("63.5 x 38.1"), [wrapped, flat], title="t"))
    assert [page.locator("b", has_text=text).count() for text in ("C-0001", "1A-R1")] == [3, 1]


def test_stock_too_small_for_a_code_says_so_and_the_text_stands_alone(
    shown: Callable[..., Page],
) -> None:
    html = sheet_of(stock_of("a4 5x20 30x6"), [label("1A-A:07")], title="t")
    page = shown(html)
    assert "1 label without a QR code: this stock is too small" in page.inner_text("header")
    assert page.locator("svg").count() == 0
    assert page.locator("header").is_visible()
    page.emulate_media(media="print")
    assert not page.locator("header").is_visible()


def test_nothing_that_was_typed_runs_and_nothing_is_asked_for(
    browser: Browser, closet: BinderFile, add: Callable[..., int], tmp_path: Path
) -> None:
    for number, payload in enumerate(PAYLOADS):
        typed = " ".join(f"{number} {payload}".split())[:200]
        add("hardware", identifier=typed, form="other", space="1A")
    (path,) = export(closet, "labels", form="html", target=tmp_path, today=TODAY,
                     options=Options(only="hardware"))  # fmt: skip
    page, heard, requests = browser.new_page(), [], []
    page.on("dialog", lambda dialog: heard.append(dialog.message))
    page.on("console", lambda message: heard.append(message.text))
    page.on("request", lambda request: requests.append(request.url))
    page.goto(path.as_uri())
    assert heard == []
    assert requests == [path.as_uri()]
    assert page.locator("script, a, img, iframe").count() == 0
    style = page.evaluate("() => document.querySelector('style').textContent")
    assert f"style-src {source_hash(style)};" in page.content()
    page.close()


def test_the_same_binder_gives_the_same_bytes(closet: BinderFile) -> None:
    assert html_of(closet) == html_of(closet)
