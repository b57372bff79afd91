"""`python -m tests.pictures`: the pictures of the README, made from the program itself.

Needs chromium. Each screen is drawn by the app at 80x24 and at 120x40 on the demo client, as of the
same day, so that a picture changes only when the screen does.
"""

from __future__ import annotations

import asyncio
import contextlib
import os
import re
import shutil
import subprocess
import tempfile
from collections.abc import Callable
from datetime import UTC, date, datetime
from pathlib import Path

from PIL import Image

from binder.edit import Editor
from binder.file import open_binder
from binder.read import resolve
from demo.write import write_demo
from exporters.export import export
from tests.tui.screen_text import Terminal
from tui.app.binder_app import BinderApp

TODAY = date(2026, 11, 25)
FOLDER = Path(__file__).resolve().parent.parent / "demo" / "pictures"
SMALL, LARGE = (80, 24), (120, 40)

NAMED = (
    "slash",
    "enter",
    "down",
    "right",
    "escape",
    "question_mark",
    "colon",
    "f2",
    "equals_sign",
    "plus",
    "left",
)
SHELF = "shelf"  # stands on the shelf, not in the binder


def somebody_else(path: Path) -> None:
    """Another technician changes the switch meanwhile."""
    with open_binder(path) as binder, Editor(binder, "K. Brandt").step("firmware") as step:
        step.change(resolve(binder, "hardware SW1").id, {"firmware": "5.0.0"})


Key = str | Callable[[Path], None]

# name: what it shows, and the keys that lead there; what is no key's name is typed.
SCREENS: dict[str, tuple[str, tuple[Key, ...]]] = {
    "shelf": ("The shelf: type a caller's number, and Enter opens what it is", ("312 555 0105",)),
    "find": ("Find: part of anything, with the answer beside it", ("slash", "front desk")),
    "ports": ("The list of a kind", ("3",)),
    "sheet": ("The sheet of a record", ("slash", "hardware SW1", "enter")),
    "rack": ("A rack, drawn", ("2",)),
    "face": ("The face of a switch", ("slash", "hardware SW1", "enter", "f")),
    "trace": ("A trace, from the jack to the carrier", ("slash", "1A-A01", "enter", "t")),
    "trouble": ("A circuit in trouble", ("slash", "LKF-2203-118-QM", "enter", "b")),
    "impact": ("What goes dark when SW2 fails", ("slash", "hardware SW2", "enter", "i")),
    "topology": ("The network, from the circuit to the edge", ("5", "left")),
    "order": ("In what order to start", ("slash", "hardware UPS1", "enter", "i", "s")),
    "call": ("A call, closed with one line", ("c", "Priya", "enter", "slash", "front desk", "down",
                                               "enter", "c", "phone dead; cord reseated")),
    "form": ("A form", ("slash", "hardware SW1", "enter", "e")),
    "range": ("A range changed at once: what becomes of each", (
        "3", "equals_sign", "..10", "enter", "current use", "enter", "desk {n}", "enter")),
    "lines": ("Lines pasted: what becomes of each", ("1", "right", "plus",
        "Ana Ruiz  front desk", "enter", "Tomas Lind  kennels", "f2")),
    "clash": ("Two changed the same: both versions", (
        "slash", "hardware SW1", "enter", "e", *["down"] * 7, ".7", somebody_else, "f2")),
    "headroom": ("Headroom, the scarcest first", ("9",)),
    "sum": ("One of them, worked through", ("9", "enter")),
    "what-if": ("What if: what is typed, and what runs out first", (
        "9", "w", "6 x camera: class 3")),
    "readings": ("A round of readings, the last value beside each", ("9", "n")),
    "quarter": ("The quarter's review", ("9", "v")),
    "gaps": ("What is missing before handing over", ("0",)),
    "envelope": ("Who holds the envelope, and who has seen what", ("l",)),
    "leaver": ("What to change because somebody left", ("l", *["down"] * 11, "enter")),
    "history": ("Who changed what", ("h",)),
    "palette": ("Everything by name", ("colon",)),
    "help": ("What the keys do", ("question_mark",)),
}  # fmt: skip


def main() -> None:
    """Draw every picture into `demo/pictures`."""
    FOLDER.mkdir(exist_ok=True)
    with tempfile.TemporaryDirectory() as name, contextlib.chdir(name):
        folder = Path(name)
        os.environ["XDG_STATE_HOME"] = str(folder / "state")
        demo = write_demo(folder, TODAY, lambda line: None)
        for screen, (_, keys) in SCREENS.items():
            for size in (SMALL, LARGE):
                copy = Path("binders")  # as the shelf is called in the picture
                for used in (copy, folder / "state"):  # nothing unsaved from the picture before
                    shutil.rmtree(used, ignore_errors=True)
                copy.mkdir()
                binder = Path(shutil.copy(demo.binder, copy))
                svg = asyncio.run(_drawn(copy if screen == SHELF else binder, size, keys))
                page = folder / f"{screen}.html"
                page.write_text(f"<body style='margin:0'>{svg}</body>")
                _shot(page, FOLDER / f"{screen}-{size[0]}.png", *_size(svg))
        _shot(demo.handoff, FOLDER / "handoff.png", 1280, 900)
        with open_binder(demo.binder) as binder:
            for document in ("review", "door sheet"):
                made = export(binder, document, form="html", target=folder, today=TODAY)[0]
                _shot(made, FOLDER / f"{document.replace(' ', '-')}.png", 1280, 1000)


async def _drawn(path: Path, size: tuple[int, int], keys: tuple[Key, ...]) -> str:
    """The screen after these keys, as SVG without anything fetched from outside."""
    noon = datetime(TODAY.year, TODAY.month, TODAY.day, 18, tzinfo=UTC)
    app = BinderApp(path, who="M. Osei", clock=lambda: noon)
    async with app.run_test(size=size) as pilot:
        terminal = Terminal(app, pilot)
        for key in keys:
            if not isinstance(key, str):
                key(path)
            else:
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
    with Image.open(target) as picture:  # a screen has few colours
        picture.convert("RGB").quantize(48).save(target, optimize=True)


if __name__ == "__main__":
    main()
