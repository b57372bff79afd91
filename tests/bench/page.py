"""How long the handoff of the large binder holds up a browser, beside the page without scripts.

A pause is the longest task of the page's main thread, by the browser's own trace: for so long it
neither draws nor takes a key. All is done by mouse and keyboard, since what is evaluated within the
page would be a task too.
"""

from __future__ import annotations

import json
import re
import shutil
import statistics
from collections import defaultdict
from collections.abc import Callable
from dataclasses import dataclass
from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING, Final

from binder.file import open_binder
from exporters.export import export

if TYPE_CHECKING:
    from playwright.sync_api import Browser, Page

GOAL_MS: Final = 200.0
_REPEAT: Final = 7
_SETTLED_MS: Final = 1500
_KEY_MS: Final = 400  # between keys, so that each is answered in full
_LONG_TABLE: Final = "cabling"  # 4,000 links
_STEPS: Final = (
    "opening it",
    "going to a table of 4,000 rows",
    "filtering its column, a key",
    "clearing that filter",
    "finding in the document, a key",
    "clearing what is found",
)


@dataclass(frozen=True, slots=True)
class Pause:
    """The least and the median of several runs, in milliseconds; `floor` has no scripts."""

    what: str
    least_ms: float
    median_ms: float
    floor_least_ms: float
    floor_median_ms: float


def pauses(path: Path, folder: Path) -> tuple[list[Pause], float]:
    """Every pause, and the size of the page in MiB. The two pages are measured by turns."""
    from playwright.sync_api import sync_playwright

    with open_binder(path, read_only=True) as binder:
        ours = export(binder, "handoff", form="html", target=folder, today=date(2026, 11, 25))[0]
    bare = folder / "bare.html"
    html = ours.read_text(encoding="utf-8")
    bare.write_text(re.sub(r"<script[^>]*>.*?</script>", "", html, flags=re.DOTALL), "utf-8")
    chromium = shutil.which("chromium") or shutil.which("chromium-browser")
    taken: dict[Path, dict[str, list[float]]] = {page: defaultdict(list) for page in (ours, bare)}
    with sync_playwright() as playwright:
        for page in [ours, bare] * _REPEAT:
            browser = playwright.chromium.launch(executable_path=chromium, args=["--no-sandbox"])
            for step, pause_ms in _visit(browser, page).items():
                taken[page][step].append(pause_ms)
            browser.close()
    return [
        Pause(
            step,
            min(taken[ours][step]),
            statistics.median(taken[ours][step]),
            min(taken[bare][step]),
            statistics.median(taken[bare][step]),
        )
        for step in _STEPS
    ], len(html.encode()) / 2**20


def _visit(browser: Browser, path: Path) -> dict[str, float]:
    """One visit to the page: what each step held up."""
    page = browser.new_page(viewport={"width": 1280, "height": 900})

    def opened() -> None:
        page.goto(path.as_uri())

    took = [_longest(browser, page, opened)]
    # without scripts nothing listens: the same keys, typed into the same box
    page.evaluate("document.querySelector('.find').hidden = false")
    link = _middle(page, f"nav.wide a[href='#{_LONG_TABLE}']")
    took.append(_longest(browser, page, lambda: page.mouse.click(*link)))
    filters = page.locator(f"#{_LONG_TABLE} .filters input")
    if filters.count():
        page.mouse.click(*_middle(page, f"#{_LONG_TABLE} .filters input"))
    else:
        page.mouse.click(*_middle(page, "#find"))
    for word, box in (("1a-b39", ""), ("pp17:07", "#find")):
        if box:
            page.mouse.click(*_middle(page, box))
        took.append(_longest(browser, page, lambda word=word: _typed(page, word)))
        page.keyboard.press("Control+A")
        took.append(_longest(browser, page, lambda: page.keyboard.press("Backspace")))
    page.close()
    return dict(zip(_STEPS, took, strict=True))


def _typed(page: Page, word: str) -> None:
    for key in word:
        page.keyboard.press(key)
        page.wait_for_timeout(_KEY_MS)


def _middle(page: Page, selector: str) -> tuple[float, float]:
    box = page.locator(selector).first.bounding_box()
    if box is None:
        raise RuntimeError(f"{selector} is not on the page")
    return box["x"] + box["width"] / 2, box["y"] + box["height"] / 2


def _longest(browser: Browser, page: Page, act: Callable[[], object]) -> float:
    """Milliseconds of the longest task of a page's main thread, from an act until all is quiet."""
    browser.start_tracing(page=page, categories=["toplevel", "__metadata"])
    act()
    page.wait_for_timeout(_SETTLED_MS)
    events = json.loads(browser.stop_tracing())["traceEvents"]
    named = [event for event in events if event["name"] == "thread_name"]
    main = {(e["pid"], e["tid"]) for e in named if e["args"]["name"] == "CrRendererMain"}
    tasks = [e for e in events if e["name"] == "ThreadControllerImpl::RunTask" and "dur" in e]
    lengths = [e["dur"] / 1000 for e in tasks if (e["pid"], e["tid"]) in main]
    if not lengths:
        raise RuntimeError("the trace has no task of a page")
    return float(max(lengths))
