"""`python -m tests.pictures`: the pictures of the README, made from the program itself.

Needs chromium. Each screen is drawn by the app at 80x24 or 120x40 on the demo client, as of the
same day, so that a picture changes only when the screen does.
"""

from __future__ import annotations

import asyncio
import re
import subprocess
import tempfile
from datetime import UTC, date, datetime
from pathlib import Path

from demo.write import write_demo
from tests.tui.screen_text import Terminal
from tui.app.binder_app import BinderApp

TODAY = date(2026, 11, 25)
FOLDER = Path(__file__).parent.parent / "demo" / "pictures"
SMALL, LARGE = (80, 24), (120, 40)

NAMED = ("slash", "enter")

# name: size, then keys; a word that is no key's name is typed.
SCREENS = {
    "rack": (SMALL, ("2",)),
    "find": (SMALL, ("slash", "front desk")),
    "trace": (SMALL, ("slash", "1A-A01", "enter", "t")),
    "circuit": (LARGE, ("5",)),
    "headroom": (SMALL, ("9",)),
    "impact": (LARGE, ("slash", "SW2", "enter", "i")),
    "ports": (LARGE, ("3",)),
}


def main() -> None:
    """Draw every picture into `demo/pictures`."""
    FOLDER.mkdir(exist_ok=True)
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        demo = write_demo(folder, TODAY, lambda line: None)
        for screen, (size, keys) in SCREENS.items():
            svg = asyncio.run(_drawn(demo.binder, size, keys))
            page = folder / f"{screen}.html"
            width, height = _size(svg)
            page.write_text(f"<body style='margin:0'>{svg}</body>")
            _shot(page, FOLDER / f"{screen}.png", width, height)
        _shot(demo.handoff, FOLDER / "handoff.png", 1280, 900)


async def _drawn(path: Path, size: tuple[int, int], keys: tuple[str, ...]) -> str:
    """The screen after these keys, as SVG without anything fetched from outside."""
    noon = datetime(TODAY.year, TODAY.month, TODAY.day, 18, tzinfo=UTC)
    app = BinderApp(path, who="M. Osei", clock=lambda: noon)
    async with app.run_test(size=size) as pilot:
        terminal = Terminal(app, pilot)
        for key in keys:
            await (terminal.press(key) if key in NAMED or len(key) == 1 else terminal.type(key))
            await pilot.pause(0.4)
        svg = app.export_screenshot(title="binder")
    return re.sub(r"@font-face\s*\{.*?\}", "", svg, flags=re.DOTALL).replace(
        "Fira Code", "DejaVu Sans Mono"
    )


def _size(svg: str) -> tuple[int, int]:
    found = re.search(r'viewBox="0 0 ([\d.]+) ([\d.]+)"', svg)
    assert found is not None
    return round(float(found[1])), round(float(found[2]))


def _shot(page: Path, target: Path, width: int, height: int) -> None:
    subprocess.run(
        ["chromium", "--headless", "--no-sandbox", "--disable-gpu", "--hide-scrollbars",
         f"--window-size={width},{height}", f"--screenshot={target}", page.as_uri()],
        check=True, capture_output=True,
    )  # fmt: skip


if __name__ == "__main__":
    main()
