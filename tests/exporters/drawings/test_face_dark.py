"""The face of a panel on a dark screen: its boxes are dark too, and their letters light."""

from __future__ import annotations

import io
from pathlib import Path

import pytest
from PIL import Image

from binder.file import BinderFile
from exporters.export import export
from tests.exporters.conftest import TODAY
from tests.system import needs


@pytest.mark.parametrize(("scheme", "light"), [("dark", False), ("light", True)])
def test_a_face_follows_the_colours_of_the_screen(
    closet: BinderFile, tmp_path: Path, scheme: str, light: bool
) -> None:
    """Media Queries Level 5, prefers-color-scheme. Most of a drawing is paper, whatever stands on
    it: a box that stayed white would show."""
    from playwright.sync_api import sync_playwright

    chromium = needs("chromium", "chromium-browser")
    path = export(closet, "handoff", form="html", target=tmp_path, today=TODAY)[0]
    with sync_playwright() as playwright:
        browser = playwright.chromium.launch(executable_path=chromium, args=["--no-sandbox"])
        page = browser.new_page(color_scheme="dark" if scheme == "dark" else "light")
        page.goto(path.as_uri())
        page.locator("figure.face").first.scroll_into_view_if_needed()
        box = page.locator("figure.face use").first.bounding_box()
        assert box is not None
        shot = page.screenshot(clip={"x": box["x"], "y": box["y"], "width": 120, "height": 18})
        browser.close()
    greys = Image.open(io.BytesIO(shot)).convert("L")
    counts = greys.histogram()
    bright = sum(counts[128:]) / sum(counts)
    assert bright > 0.8 if light else bright < 0.3
