"""The review of a shelf: every client, a damaged, a locked and a newer binder among them.

Batteries, notice periods and stale records in one table: common practice, no published source.
"""

from __future__ import annotations

import shutil
import sqlite3
from collections.abc import Callable, Iterator
from datetime import date
from pathlib import Path

import pytest

from binder.file import BinderFile
from binder.review.shelf import ClientReview, review_client, review_shelf

TODAY = date(2026, 3, 14)


@pytest.fixture(autouse=True)
def _state(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("XDG_STATE_HOME", str(tmp_path / "state"))


@pytest.fixture
def shelf(closet: BinderFile, tmp_path: Path, add: Callable[..., int]) -> Path:
    """Three clients whose closets are alike."""
    add("hardware", identifier="UPS1", form="UPS", space="1A", battery_installed_on="2020-01-01",
        battery_life_years=4.0, ups_rating_w=900.0)  # fmt: skip
    add("duty", identifier="UPS battery test", rule="FREQ=MONTHLY;INTERVAL=6",
        starts_on="2025-03-20", done_on="2025-03-21")  # fmt: skip
    add("circuit", identifier="voice", service="voice", contract_ends_on="2026-03-30",
        notice_days=30)  # fmt: skip
    add("secret", identifier="PIN", belongs_to=add("contact", identifier="Ann"),
        rotate_by="2026-01-01")  # fmt: skip
    folder = tmp_path / "shelf"
    folder.mkdir()
    closet.close()
    for name in ("alder", "birch", "cedar"):
        shutil.copy(closet.path, folder / f"{name}.binder")
    return folder


def test_a_client_is_told_with_what_asks_for_attention(shelf: Path) -> None:
    told = review_client(shelf / "alder.binder", TODAY)
    assert told.client == "Quillmere Veterinary Clinic"
    assert [one.partition(",")[0] for one in told.batteries_due] == ["UPS1"]
    assert told.overdue_duties == ("UPS battery test, 2025-09-20",)
    assert told.circuits_past_notice == ("voice, ends 2026-03-30",)
    assert told.secrets_to_rotate == 1
    assert told.stale_percent == 100


def test_a_second_run_reads_only_what_has_changed(shelf: Path) -> None:
    first = review_shelf(shelf, TODAY, processes=2)
    assert first.read_again == 3
    again = review_shelf(shelf, TODAY)
    assert again.read_again == 0
    assert again.clients == first.clients
    with sqlite3.connect(shelf / "birch.binder") as connection:
        connection.execute("UPDATE duty SET done_on = '2026-03-01'")
    changed = review_shelf(shelf, TODAY)
    assert changed.read_again == 1
    assert by_name(changed.clients)["birch"].overdue_duties == ()
    assert review_shelf(shelf, date(2026, 3, 15)).read_again == 3


def by_name(clients: tuple[ClientReview, ...]) -> dict[str, ClientReview]:
    return {one.name: one for one in clients}


@pytest.fixture
def locked(shelf: Path) -> Iterator[Path]:
    """A binder that somebody is writing."""
    path = shelf / "locked.binder"
    shutil.copy(shelf / "alder.binder", path)
    connection = sqlite3.connect(path, isolation_level=None)
    connection.execute("BEGIN EXCLUSIVE")
    yield path
    connection.close()


def test_what_cannot_be_read_is_named_and_stops_nothing(shelf: Path, locked: Path) -> None:
    (shelf / "damaged.binder").write_bytes(b"SQLite format 3\0" + b"\xff" * 9000)
    shutil.copy(shelf / "alder.binder", shelf / "newer.binder")
    with sqlite3.connect(shelf / "newer.binder") as connection:
        connection.execute("PRAGMA user_version = 99")
    told = review_shelf(shelf, TODAY, processes=2)
    assert {one.name for one in told.problems} == {"damaged", "locked", "newer"}
    assert all(one.problem and "\n" not in one.problem for one in told.problems)
    assert {one.name for one in told.clients[:3]} == {"alder", "birch", "cedar"}
    assert review_shelf(shelf, TODAY).read_again == 3  # those three are tried again


def test_progress_is_told_to_the_end(shelf: Path) -> None:
    seen: list[tuple[int, int]] = []
    review_shelf(shelf, TODAY, progress=lambda done, of: seen.append((done, of)))
    assert seen[0] == (0, 3)
    assert seen[-1] == (3, 3)
