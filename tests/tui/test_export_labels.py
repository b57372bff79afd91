"""`binder export` of what is no pages of text: labels, the calendar, schedules."""

from __future__ import annotations

import hashlib
from collections.abc import Callable
from pathlib import Path

import pytest

from binder.file import BinderFile

Run = Callable[..., tuple[int, str, str]]


@pytest.mark.parametrize(
    ("words", "name"),
    [
        (("labels",), "labels-draft.html"),
        (("labels", "--format", "csv"), "labels-draft.csv"),
        (("labels", "--only", "cords,1A-A"), "labels-cords-1a-a-draft.html"),
        (("calendar",), "calendar-draft.ics"),
        (("schedules",), "schedules-draft/00-contents.csv"),
    ],
)
def test_each_has_its_own_usual_form(
    closet: BinderFile, ran: Run, tmp_path: Path, words: tuple[str, ...], name: str
) -> None:
    _, told, _ = ran("export", closet.path, *words, "--to", tmp_path)
    assert told.splitlines()[0].endswith(name)
    assert Path(told.splitlines()[0]).stat().st_size > 100


@pytest.mark.parametrize(
    ("words", "says"),
    [
        (("calendar", "--format", "html"), "no form of the calendar is called 'html'"),
        (("handoff", "--format", "ics"), "no form of the handoff is called 'ics'"),
        (("calendar", "--start", "3"), "the calendar takes no --start"),
        (("labels", "--stock", "round"), "'round' is no sheet of labels"),
        (("labels", "--start", "99"), "this sheet has labels 1 to"),
    ],
)
def test_what_cannot_be_is_told_in_one_line(
    closet: BinderFile, ran: Run, tmp_path: Path, words: tuple[str, ...], says: str
) -> None:
    status, _, told = ran("export", closet.path, *words, "--to", tmp_path)
    assert status == 2
    assert says in told
    assert told.count("\n") == 1
    assert list(tmp_path.glob("*.html")) == []


@pytest.mark.parametrize("document", ["labels", "calendar"])
def test_an_issue_made_again_is_the_same_bytes_after_the_binder_went_on(
    closet: BinderFile, ran: Run, tmp_path: Path, add: Callable[..., int], document: str
) -> None:
    _, told, digest = ran("export", closet.path, document, "--issue", "--to", tmp_path / "a")
    released = Path(told.strip()).read_bytes()
    assert hashlib.sha256(released).hexdigest() in digest
    add("duty", identifier="look", rule="FREQ=DAILY", starts_on="2026-03-14")
    add("rack", identifier="1A-R2", space="1A", height_u=9)
    _, told, says = ran("export", closet.path, document, "--issue", "1", "--to", tmp_path / "b")
    assert Path(told.strip()).read_bytes() == released
    assert "the same bytes" in says
