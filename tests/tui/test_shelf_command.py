"""`binder shelf`: the list, and finding across all binders, as one-shot commands."""

from __future__ import annotations

import json
from collections.abc import Callable
from pathlib import Path

import pytest

from binder.edit import Editor
from binder.file import create, open_binder

Ran = Callable[..., tuple[int, str, str]]


@pytest.fixture
def shelf(quillmere: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """The demo's client and another one."""
    folder = quillmere.parent
    create(folder / "harrow.binder", "Harrow Bakery").close()
    monkeypatch.setenv("BINDER_SHELF", str(folder))
    monkeypatch.setenv("XDG_STATE_HOME", str(folder / "state"))
    return folder


def test_without_words_the_shelf_is_listed(shelf: Path, ran: Ran) -> None:
    status, out, _ = ran("shelf")
    assert status == 0
    assert "Harrow Bakery" in out
    assert "Quillmere Veterinary Clinic" in out


def test_a_callers_number_finds_client_person_and_what_to_call_back(shelf: Path, ran: Ran) -> None:
    status, out, err = ran("shelf", "(312)", "555-0105")
    assert (status, err) == (0, "")
    assert out.splitlines() == [
        "quillmere: contact Tomás Reyes, Quillmere Veterinary Clinic  (+1 312 555 0105)",
        "    kennel supervisor, office +1 312 555 0105, mobile +1 312 555 0106",
    ]


def test_the_answer_as_data(shelf: Path, ran: Ran) -> None:
    _, out, _ = ran("shelf", "5550105", "--json")
    answer = json.loads(out)
    assert answer["hits"][0]["client"] == "Quillmere Veterinary Clinic"
    assert answer["hits"][0]["path"] == str(shelf / "quillmere.binder")
    assert answer["problems"] == []


def test_nothing_found_is_status_1(shelf: Path, ran: Ran) -> None:
    status, out, _ = ran("shelf", "zzzz")
    assert status == 1
    assert "nothing on the shelf has 'zzzz' in it" in out


def test_a_binder_that_does_not_open_is_told_beside_the_answer(shelf: Path, ran: Ran) -> None:
    (shelf / "notes.binder").write_text("no binder at all")
    status, out, err = ran("shelf", "bakery")
    assert status == 0
    assert out.startswith("harrow: client Harrow Bakery")
    assert err.startswith("notes: not looked into: not a binder")
    assert err.count("\n") == 1


def test_words_that_no_record_has_all_of_are_told_as_such(shelf: Path, ran: Ran) -> None:
    status, out, err = ran("shelf", "bakery", "nonsense")
    assert status == 0
    assert "these come nearest" in err
    assert "Harrow Bakery" in out


def test_no_control_of_a_name_reaches_the_terminal(shelf: Path, ran: Ran) -> None:
    with (
        open_binder(shelf / "harrow.binder") as binder,
        Editor(binder, "M. Osei").step("add") as step,
    ):
        step.add("contact", {"identifier": "\x1b[31mInes\u202e", "role": "owner"})
    _, out, _ = ran("shelf", "ines")
    assert "Ines" in out
    assert "\x1b" not in out
    assert "\u202e" not in out


def test_the_folder_may_be_another(shelf: Path, ran: Ran, tmp_path: Path) -> None:
    status, out, _ = ran("shelf", "--folder", tmp_path / "none", "bakery")
    assert status == 1
    assert "nothing on the shelf" in out
