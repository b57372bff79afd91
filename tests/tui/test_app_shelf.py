"""The shelf: which binders there are, which open, and why one does not."""

from __future__ import annotations

import json
from dataclasses import asdict
from pathlib import Path

import pytest

from binder.errors import FileError
from binder.file import create, open_binder
from binder.read import client
from binder.shelf import shelf
from tests.tui.screen_text import terminal
from tui.app.dividers import DividerScreen
from tui.app.shelf_screen import ShelfScreen


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    """Two binders, a text that calls itself one, and a text that does not."""
    for name, client_name in (("harrow-10", "Harrow Dental"), ("harrow-2", "Harrow Bakery")):
        create(tmp_path / f"{name}.binder", client_name).close()
    (tmp_path / "notes.binder").write_text("no binder at all")
    (tmp_path / "readme.txt").write_text("not looked at")
    return tmp_path


def test_binders_stand_in_natural_order_with_their_clients(folder: Path) -> None:
    found = shelf(folder)
    assert [(one.name, one.client) for one in found] == [
        ("harrow-2", "Harrow Bakery"),
        ("harrow-10", "Harrow Dental"),
        ("notes", ""),
    ]
    assert [one.opens for one in found] == [True, True, False]
    assert all(one.size_bytes == Path(one.path).stat().st_size for one in found)


def test_a_binder_that_does_not_open_says_why_in_one_line(folder: Path) -> None:
    problem = shelf(folder)[-1].problem
    assert problem.startswith("not a binder")
    assert "\n" not in problem
    assert str(folder) not in problem


def test_the_shelf_is_plain_data(folder: Path) -> None:
    assert json.loads(json.dumps([asdict(one) for one in shelf(folder)]))[0]["name"] == "harrow-2"


def test_a_folder_that_is_not_there_is_an_empty_shelf(tmp_path: Path) -> None:
    assert shelf(tmp_path / "none") == ()


def test_a_file_is_no_shelf(folder: Path) -> None:
    with pytest.raises(FileError, match="cannot be read"):
        shelf(folder / "readme.txt")


def test_looking_at_the_shelf_changes_no_binder(folder: Path) -> None:
    before = {path: path.read_bytes() for path in folder.iterdir()}
    shelf(folder)
    assert {path: path.read_bytes() for path in folder.iterdir()} == before


async def test_a_binder_is_opened_and_left_again(folder: Path) -> None:
    async with terminal(folder) as t:
        await t.sees("3 binders", "harrow-2", "Harrow Bakery", "! not a binder")
        await t.press("enter")
        await t.sees("1 Client", "Harrow Bakery")
        assert isinstance(t.app.screen, DividerScreen)
        await t.press("q")
        await t.sees("3 binders")
        await t.press("down", "enter")
        await t.sees("Harrow Dental", "1 Client")


async def test_a_binder_that_does_not_open_leaves_one_at_the_shelf(folder: Path) -> None:
    async with terminal(folder) as t:
        await t.sees("! not a binder")
        await t.press("end", "enter")
        await t.until(lambda: t.lines[-1].startswith("!") or "! " in t.lines[-2], "the reason")
        assert isinstance(t.app.screen, ShelfScreen)


async def test_a_new_binder_is_made_on_the_shelf(folder: Path) -> None:
    async with terminal(folder / "new shelf") as t:
        await t.sees("no binders on this shelf")
        await t.press("n")
        await t.sees("New binder")
        await t.type("Quillmere Veterinary Clinic")
        await t.press("enter")
        await t.type("Quillmere")
        await t.press("f2")
        await t.sees("made quillmere.binder", "1 Client")
        await t.press("q")
        await t.sees("1 binder", "Quillmere Veterinary Clinic")
    with open_binder(folder / "new shelf" / "quillmere.binder") as binder:
        sheet = client(binder)
        assert sheet is not None
        assert (sheet.name, sheet["short_name"]) == ("Quillmere Veterinary Clinic", "Quillmere")


async def test_a_new_binder_never_takes_the_place_of_one(folder: Path) -> None:
    before = (folder / "harrow-2.binder").read_bytes()
    async with terminal(folder) as t:
        await t.press("n")
        await t.type("Another Harrow")
        await t.press("enter")
        await t.type("harrow-2")
        await t.press("f2")
        await t.sees("there is a file of that name", "Another Harrow")
    assert (folder / "harrow-2.binder").read_bytes() == before


async def test_a_read_only_shelf_makes_nothing(folder: Path) -> None:
    async with terminal(folder, read_only=True) as t:
        await t.press("n")
        await t.sees("open read-only")
        await t.press("enter")
        await t.sees("read-only", "1 Client")
