"""Every document before judges of others: the Nu HTML checker, a browser's network log, a scale.

The checker is the W3C's (validator.w3.org/nu), as `npm install vnu-jar` brings it; its jar is named
by VNU_JAR, which `.ci/run` sets.
"""

from __future__ import annotations

import json
import os
import re
import subprocess
from datetime import date
from pathlib import Path

import pytest

from binder.file import BinderFile, create
from binder.intake import json_form
from binder.review.shelf import review_shelf
from demo.build import client_data
from exporters.documents import DOCUMENTS
from exporters.export import export
from exporters.shelf_page import write_page
from tests.system import needs

ON = date(2026, 11, 25)
PAGES = [name for name, kind in DOCUMENTS.items() if "html" in (kind.forms or ("html",))]


@pytest.fixture(scope="module")
def pages(tmp_path_factory: pytest.TempPathFactory) -> dict[str, Path]:
    """Every document of the demo that is a page, by its name; and the review of its shelf."""
    folder = tmp_path_factory.mktemp("demo")
    with create(folder / "demo.binder", "") as binder:
        json_form.load(binder, client_data(ON), "M. Osei")
        made = {name: _page(binder, name, folder) for name in PAGES}
    made["shelf"] = folder / "shelf.html"
    write_page(review_shelf(folder, ON), made["shelf"])
    return made


def _page(binder: BinderFile, name: str, folder: Path) -> Path:
    return export(binder, name, form="html", target=folder, today=ON)[0]


def checker() -> str:
    """The jar of the checker; without it the test is skipped, or fails where it is required."""
    jar = os.environ.get("VNU_JAR", "")
    if not jar and os.environ.get("BINDER_TEST_SYSTEM") != "required":
        pytest.skip("VNU_JAR does not name the Nu HTML checker")
    assert Path(jar).is_file(), f"VNU_JAR={jar}: no such file"
    return jar


def test_the_nu_checker_accepts_every_document_and_its_style(pages: dict[str, Path]) -> None:
    java, jar = needs("java"), checker()
    command = [java, "-jar", jar, "--errors-only", "--format", "json", *map(str, pages.values())]
    said = subprocess.run(command, capture_output=True, text=True, timeout=110).stderr
    faults = json.loads(said)["messages"]
    assert [(fault["message"], fault.get("extract")) for fault in faults] == []


def test_the_nu_checker_would_notice_a_fault(tmp_path: Path) -> None:
    java, jar = needs("java"), checker()
    bad = tmp_path / "bad.html"
    bad.write_text("<!DOCTYPE html><html lang=en><title>a</title><style>p {colr: 1}</style><p></b>")
    command = [java, "-jar", jar, "--errors-only", "--format", "json", str(bad)]
    said = subprocess.run(command, capture_output=True, text=True, timeout=110).stderr
    assert len(json.loads(said)["messages"]) >= 2


def test_no_document_asks_the_network_for_anything(pages: dict[str, Path]) -> None:
    """What the page asks for, by the browser's own log of its requests (DevTools, Network)."""
    from playwright.sync_api import sync_playwright

    chromium = needs("chromium", "chromium-browser")
    with sync_playwright() as playwright:
        browser = playwright.chromium.launch(executable_path=chromium, args=["--no-sandbox"])
        for name, path in pages.items():
            asked: list[str] = []
            page = browser.new_page()
            page.on("request", lambda request, asked=asked: asked.append(request.url))
            page.goto(path.as_uri(), wait_until="load")
            page.emulate_media(media="print")
            outside = [url for url in asked if not url.startswith(("data:", path.as_uri()))]
            assert outside == [], name
            page.close()
        browser.close()


def test_no_list_is_a_loose_one(pages: dict[str, Path]) -> None:
    """CommonMark 0.31.2, 5.3: blank lines between its items make each a paragraph, set apart; so
    would two lists of facts that follow each other."""
    for name, path in pages.items():
        assert re.findall(r"<li[^>]*>\s*<p>.{0,40}", path.read_text(encoding="utf-8")) == [], name


def test_the_handoff_of_the_demo_is_under_a_megabyte(pages: dict[str, Path]) -> None:
    """Small enough for any mailbox, the photographs apart."""
    assert pages["handoff"].stat().st_size < 1_000_000
