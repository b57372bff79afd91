"""The shelf: which binders there are, which open, and why one does not; whose number that is."""

from __future__ import annotations

import json
from dataclasses import asdict
from pathlib import Path

import pytest

from binder.edit import Editor
from binder.errors import FileError
from binder.file import create, open_binder
from binder.read import client, resolve
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
        await t.press("pagedown", "enter")
        await t.until(lambda: t.lines[-1].startswith("!") or "! " in t.lines[-2], "the reason")
        assert isinstance(t.app.screen, ShelfScreen)


async def test_a_new_binder_is_made_on_the_shelf(folder: Path) -> None:
    async with terminal(folder / "new shelf") as t:
        await t.sees("no binders on this shelf")
        await t.press("ctrl+n")
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
        await t.press("ctrl+n")
        await t.type("Another Harrow")
        await t.press("enter")
        await t.type("harrow-2")
        await t.press("f2")
        await t.sees("there is a file of that name", "Another Harrow")
    assert (folder / "harrow-2.binder").read_bytes() == before


# Finding from the shelf. ------------------------------------------------------------------


@pytest.fixture
def clients(folder: Path, quillmere: Path) -> Path:
    """The same shelf, the demo's client on it too."""
    assert quillmere.parent == folder
    return quillmere.parent


async def test_the_internet_is_down_at_the_kennels(clients: Path) -> None:
    """From the caller's number alone to the circuit's trouble page: three keys after typing it."""
    async with terminal(clients) as t:
        await t.sees("4 binders", "Quillmere")
        await t.type("312 555 0105")
        await t.sees("Tomás Reyes", "kennel supervisor", "Quillmere Vet", "1 found in 4 binders")
        await t.press("enter", "b", "enter")
        await t.sees("Trouble with circuit fibre", "Look, in this order")


async def test_the_answer_stands_in_full_at_the_foot(clients: Path) -> None:
    async with terminal(clients) as t:
        await t.sees("Quillmere")
        await t.type("312-555-0105")
        await t.sees("kennel supervisor, office +1 312 555 0105, mobile +1 312 555 0106")
        await t.sees("binder quillmere  contact Tomás Reyes")


async def test_back_from_what_was_found_the_text_stands_and_typing_replaces_it(
    clients: Path,
) -> None:
    async with terminal(clients) as t:
        await t.sees("Quillmere")
        await t.type("5550105")
        await t.sees("Tomás Reyes")
        await t.press("enter")
        await t.sees("Contact Tomás Reyes")
        await t.press("q")
        await t.sees("find  5550105", "1 found in 4 binders")
        assert not t.app.has_binder
        await t.type("bakery")
        await t.sees("find  bakery", "Harrow Bakery")


async def test_a_client_is_found_by_part_of_its_name_once(clients: Path) -> None:
    async with terminal(clients) as t:
        await t.sees("Quillmere")
        await t.type("dental")
        await t.sees("1 found in 4 binders")
        await t.press("enter")
        await t.sees("1 Client", "Harrow Dental")


async def test_the_dividers_are_a_digit_away_from_what_was_found(clients: Path) -> None:
    async with terminal(clients) as t:
        await t.sees("Quillmere")
        await t.type("5550105")
        await t.press("enter", "5")
        await t.sees("5 Circuits", "LKF-2203-118-QM")
        assert isinstance(t.app.screen, DividerScreen)
        await t.press("q")
        await t.sees("find  5550105")


async def test_words_typed_ahead_of_the_index_are_found_when_it_stands(clients: Path) -> None:
    async with terminal(clients) as t:
        await t.burst(*"00005e005338")
        await t.sees("Kennel office", "PR3")


async def test_escape_clears_and_then_leaves(clients: Path) -> None:
    async with terminal(clients) as t:
        await t.sees("Quillmere")
        await t.type("zzzz")
        await t.sees("nothing on the shelf has 'zzzz' in it")
        await t.press("escape")
        await t.sees("4 binders", "harrow-2")
        assert t.app.is_running
        await t.press("escape")
        assert t.app.return_value == 0


async def test_the_shelf_has_its_help_and_palette_while_nothing_is_typed(clients: Path) -> None:
    async with terminal(clients) as t:
        await t.sees("Quillmere")
        await t.press("question_mark")
        await t.sees("Keys at the shelf", "Make a binder for a new client.")
        await t.press("q")
        await t.press("colon")
        await t.sees("Everything that can be done here")
        await t.press("escape")
        await t.type("who?")
        await t.sees("find  who?")
        await t.press("f1")
        await t.sees("Keys at the shelf")


async def test_what_was_removed_since_it_was_found_is_told(clients: Path) -> None:
    async with terminal(clients) as t:
        await t.sees("Quillmere")
        await t.type("5550105")
        await t.sees("Tomás Reyes")
        with (
            open_binder(clients / "quillmere.binder") as binder,
            Editor(binder, "M. Osei").step("remove") as step,
        ):
            step.remove(resolve(binder, "Tomás Reyes").id, with_dependents=True)
        await t.press("enter")
        await t.sees("not in the binder any more")
        assert isinstance(t.app.screen, ShelfScreen)
        assert not t.app.has_binder


async def test_what_people_typed_is_shown_as_text_only(folder: Path) -> None:
    hostile = "[bold red]x[/] \x1b[31m\u202e"
    with (
        open_binder(folder / "harrow-2.binder") as binder,
        Editor(binder, "M. Osei").step("add") as step,
    ):
        step.add("contact", {"identifier": f"{hostile} Ines", "role": hostile * 20})
    async with terminal(folder) as t:
        await t.sees("Harrow Bakery")
        await t.type("ines")
        await t.sees("[bold red]x[/]", "␛[31m", "<U+202E>")
        assert "\x1b" not in t.text
        assert all(len(row) <= 80 for row in t.lines)


async def test_a_read_only_shelf_makes_nothing(folder: Path) -> None:
    async with terminal(folder, read_only=True) as t:
        await t.press("ctrl+n")
        await t.sees("open read-only")
        await t.press("enter")
        await t.sees("read-only", "1 Client")
