"""Find across a shelf: whose number, address or name it is, among all clients.

What a caller gives and what should come first is common practice, no published source. Forms of a
MAC address: IEEE 802 (hyphens), and the colon and dotted forms in use. Numbers are of the ranges
kept for examples: RFC 5737 addresses, RFC 7042 MACs, 555-01xx telephones.
"""

from __future__ import annotations

import json
import os
import shutil
import sqlite3
import stat
import tempfile
import threading
from collections.abc import Iterator
from contextlib import closing
from dataclasses import asdict
from datetime import date
from importlib.resources import files
from pathlib import Path
from typing import Any

import pytest

from binder.edit import Editor
from binder.file import BinderFile, create, open_binder
from binder.intake import json_form
from binder.read import resolve
from binder.shelf_find import ShelfHit, find_on_shelf
from binder.shelf_index import ShelfIndex
from binder.shelf_index_file import FILE
from demo.build import client_data
from demo.envelope import fill_envelope
from tests.conftest import add_by_name
from tests.system import as_nobody

LONG_AGO_NS = 1_700_000_000_000_000_000


def settle(folder: Path) -> None:
    """The binders were last changed long ago, not in this very second."""
    for path in folder.glob("*.binder"):
        os.utime(path, ns=(LONG_AGO_NS, LONG_AGO_NS))


def add(path: Path, kind: str, **values: Any) -> None:
    with open_binder(path) as binder, Editor(binder, "M. Osei").step("add") as step:
        add_by_name(binder, step, kind, **values)


@pytest.fixture
def folder(closet: BinderFile, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A shelf of three clients: Quillmere's closet, and two with a person and a circuit each."""
    monkeypatch.setenv("XDG_STATE_HOME", str(tmp_path / "state"))
    shelf = tmp_path / "shelf"
    shelf.mkdir()
    shutil.copy(closet.path, shelf / "quillmere.binder")
    for name, client, person, number in (
        ("harrow", "Harrow Bakery", "Ines Calder", "0171"),
        ("tarn", "Tarn & Fell Solicitors", "Owen Pryce", "0182"),
    ):
        path = shelf / f"{name}.binder"
        create(path, client).close()
        add(path, "contact", identifier=person, role="owner", mobile_phone=f"+1 312 555 {number}")
        add(path, "circuit", identifier="fibre", service="internet access",
            circuit_id=f"FF/{number}/TRN", account_number=f"88-{number}")  # fmt: skip
        add(path, "building", identifier="B1", name="Shop", address=f"{int(number)} Mill Lane")
        add(path, "hardware", identifier="SW1", form="switch", serial=f"NVX-{number}")
        add(path, "hardware", identifier="PR1", form="printer")
    settle(shelf)
    return shelf


@pytest.fixture
def index(folder: Path) -> Iterator[ShelfIndex]:
    with ShelfIndex.open(folder) as index:
        yield index


def found(folder: Path, text: str) -> list[tuple[str, str, str]]:
    """Binder, kind and name of each hit."""
    return [(hit.binder, hit.kind, hit.name) for hit in find_on_shelf(folder, text).hits]


@pytest.mark.parametrize(
    ("typed", "first"),
    [
        ("+1 312 555 0182", ("tarn", "contact", "Owen Pryce")),
        ("(312) 555-0182", ("tarn", "contact", "Owen Pryce")),
        ("5550171", ("harrow", "contact", "Ines Calder")),
        ("00:00:5e:00:53:01", ("quillmere", "hardware", "SW1")),
        ("0000.5e00.5301", ("quillmere", "hardware", "SW1")),
        ("00005E005301", ("quillmere", "hardware", "SW1")),
        ("192.0.2.20", ("quillmere", "address", "192.0.2.20")),
        ("192-0-2-20", ("quillmere", "address", "192.0.2.20")),
        ("LKF-2203-118-QM", ("quillmere", "circuit", "fibre")),
        ("ff0182trn", ("tarn", "circuit", "fibre")),
        ("88 0171", ("harrow", "circuit", "fibre")),
        ("nvx 0182", ("tarn", "hardware", "SW1")),
        ("tarn fell", ("tarn", "client", "Tarn & Fell Solicitors")),
        ("owen", ("tarn", "contact", "Owen Pryce")),
        ("171 mill lane", ("harrow", "building", "B1")),
        ("reception", ("quillmere", "space", "114")),
        ("quillmere guest", ("quillmere", "ssid", "Quillmere Guest")),
    ],
)
def test_a_caller_is_known_by_any_of_these(
    folder: Path, typed: str, first: tuple[str, str, str]
) -> None:
    assert found(folder, typed)[0] == first


def test_the_answer_says_whose_it_is_and_what_to_do_next(folder: Path) -> None:
    hit = find_on_shelf(folder, "555 0171").hits[0]
    with open_binder(folder / "harrow.binder", read_only=True) as binder:
        person = resolve(binder, "Ines Calder").id
    assert hit == ShelfHit(
        "Harrow Bakery", "harrow", str(folder / "harrow.binder"), person, "contact", "Ines Calder",
        "+1 312 555 0171", "owner, mobile +1 312 555 0171",
    )  # fmt: skip
    assert json.loads(json.dumps(asdict(hit)))["client"] == "Harrow Bakery"


def test_a_clients_name_among_the_words_looks_there_first(folder: Path) -> None:
    assert found(folder, "harrow printer")[0] == ("harrow", "hardware", "PR1")
    assert found(folder, "the printer at tarn fell")[0] == ("tarn", "hardware", "PR1")
    assert {binder for binder, _, name in found(folder, "printer") if name == "PR1"} == {
        "harrow",
        "tarn",
    }


def test_a_slip_of_the_keyboard_is_forgiven(folder: Path) -> None:
    assert found(folder, "nandakumer")[0] == ("quillmere", "contact", "Priya Nandakumar")


def test_ports_and_cables_which_all_clients_have_alike_are_left_out(folder: Path) -> None:
    assert found(folder, "SW1:01") == []


def test_what_is_former_comes_last(folder: Path) -> None:
    add(folder / "tarn.binder", "contact", identifier="Owen Abbot", status="former")
    assert [name for _, _, name in found(folder, "owen")] == ["Owen Pryce", "Owen Abbot"]


# Kept true. -------------------------------------------------------------------------------


def test_what_was_added_a_moment_ago_is_found(folder: Path) -> None:
    """Twice within the time in which a file system may give one moment to two changes."""
    for number in range(3):
        add(folder / "tarn.binder", "contact", identifier=f"Newcomer {number}")
        assert found(folder, f"newcomer {number}")[0][2] == f"Newcomer {number}"


def test_what_was_renamed_or_removed_is_found_no_more(folder: Path) -> None:
    path = folder / "tarn.binder"
    assert found(folder, "owen")
    with open_binder(path) as binder, Editor(binder, "M. Osei").step("rename") as step:
        step.change(resolve(binder, "Owen Pryce").id, {"identifier": "Rhys Pryce"})
    assert found(folder, "rhys") == [("tarn", "contact", "Rhys Pryce")]
    assert not any(name == "Owen Pryce" for _, _, name in found(folder, "owen"))


def test_only_a_binder_that_changed_is_read_again(index: ShelfIndex) -> None:
    assert {one.name for one in index.refresh()} == {"harrow", "quillmere", "tarn"}
    assert index.refresh() == ()
    add(index.folder / "tarn.binder", "contact", identifier="Somebody New")
    assert [one.name for one in index.refresh()] == ["tarn"]


def test_of_a_changed_binder_only_what_differs_is_written(index: ShelfIndex) -> None:
    index.refresh()
    kept = {row[0] for row in index.connection.execute("SELECT id FROM record")}
    add(index.folder / "quillmere.binder", "contact", identifier="Somebody New")
    index.refresh()
    now = {row[0] for row in index.connection.execute("SELECT id FROM record")}
    assert kept < now
    assert len(now - kept) == 1


def test_a_binder_taken_off_the_shelf_leaves_nothing_in_the_index(folder: Path) -> None:
    assert found(folder, "owen")
    (folder / "tarn.binder").unlink()
    assert not any(binder == "tarn" for binder, _, _ in found(folder, "owen pryce"))
    held = (folder / FILE).read_bytes()
    assert b"Owen" not in held
    assert b"Calder" in held


def test_an_index_is_what_a_fresh_one_would_be(index: ShelfIndex, tmp_path: Path) -> None:
    index.refresh()
    add(index.folder / "tarn.binder", "contact", identifier="Somebody New")
    (index.folder / "harrow.binder").unlink()
    index.refresh()
    copy = shutil.copytree(index.folder, tmp_path / "copy", ignore=lambda *_: [FILE])
    with ShelfIndex.open(Path(copy)) as fresh:
        fresh.refresh()
        assert _held(index) == _held(fresh)


def _held(index: ShelfIndex) -> list[tuple[Any, ...]]:
    return sorted(
        tuple(row)
        for row in index.connection.execute(
            "SELECT b.file, b.client, r.record_id, r.kind, r.line, r.is_gone, s.name, s.body, "
            "s.compact FROM record r JOIN search s ON s.rowid = r.id "
            "JOIN binder b ON b.id = r.binder_id"
        )
    )


# What can go wrong. -----------------------------------------------------------------------


def test_what_does_not_open_is_told_in_a_line_and_stops_nothing(folder: Path) -> None:
    (folder / "notes.binder").write_text("no binder at all")
    shutil.copy(folder / "tarn.binder", folder / "newer.binder")
    with closing(sqlite3.connect(folder / "newer.binder")) as connection:
        connection.execute("PRAGMA user_version = 9999")
    shutil.copy(folder / "tarn.binder", folder / "locked.binder")
    with closing(sqlite3.connect(folder / "locked.binder", isolation_level=None)) as other:
        other.execute("BEGIN EXCLUSIVE")
        answer = find_on_shelf(folder, "owen")
    assert [hit.name for hit in answer.hits] == ["Owen Pryce"]
    problems = {one.name: one.problem for one in answer.problems}
    assert set(problems) == {"notes", "newer", "locked"}
    assert problems["notes"].startswith("not a binder")
    assert problems["newer"].startswith("made by a newer version")
    assert "someone else is writing" in problems["locked"]
    assert not any("\n" in problem for problem in problems.values())
    assert {hit.binder for hit in find_on_shelf(folder, "owen").hits} == {"locked", "tarn"}


def test_a_damaged_index_is_made_anew(folder: Path) -> None:
    assert found(folder, "owen")
    whole = (folder / FILE).read_bytes()
    for damaged in (b"no index at all", whole[:5000], whole[:4096] + b"\xff" * 60_000):
        (folder / FILE).write_bytes(damaged)
        assert found(folder, "owen") == [("tarn", "contact", "Owen Pryce")]


def test_an_index_of_another_make_is_made_anew(folder: Path) -> None:
    assert found(folder, "owen")
    with closing(sqlite3.connect(folder / FILE)) as connection:
        connection.execute("PRAGMA user_version = 77")
        connection.execute("DROP TABLE record")
    assert found(folder, "owen") == [("tarn", "contact", "Owen Pryce")]


def test_sessions_that_refresh_at_once_do_each_other_no_harm(folder: Path) -> None:
    for number in range(30):
        shutil.copy(folder / "tarn.binder", folder / f"copy-{number}.binder")
    settle(folder)
    answers: list[int] = []
    sessions = [
        threading.Thread(target=lambda: answers.append(len(found(folder, "owen"))))
        for _ in range(4)
    ]
    for session in sessions:
        session.start()
    for session in sessions:
        session.join()
    assert answers == [31] * 4
    with closing(sqlite3.connect(folder / FILE)) as connection:
        assert connection.execute("PRAGMA integrity_check").fetchone()[0] == "ok"
        assert connection.execute("SELECT count(*) FROM binder").fetchone()[0] == 33


def test_looking_changes_no_binder(folder: Path) -> None:
    before = {path: path.read_bytes() for path in folder.glob("*.binder")}
    found(folder, "owen")
    assert {path: path.read_bytes() for path in folder.glob("*.binder")} == before


def test_a_folder_without_binders_has_nothing_and_gets_nothing(tmp_path: Path) -> None:
    assert found(tmp_path / "none", "owen") == []
    assert find_on_shelf(tmp_path, "owen").hits == ()
    assert list(tmp_path.iterdir()) == []


def test_a_name_of_a_file_that_is_no_text_is_no_obstacle(folder: Path) -> None:
    odd = os.fsdecode(os.fsencode(folder) + b"/tarn\xff\x1b[31m.binder")
    shutil.copy(folder / "tarn.binder", odd)
    assert {hit.path for hit in find_on_shelf(folder, "owen").hits} == {
        str(folder / "tarn.binder"),
        odd,
    }


@pytest.mark.parametrize("typed", ["", " ", '"', "%", "*", "\x00", "a" * 3000, "OR", "\udcff"])
def test_no_text_is_an_error(folder: Path, typed: str) -> None:
    find_on_shelf(folder, typed)


# Who may read it. -------------------------------------------------------------------------


def test_the_index_is_its_owners_alone(folder: Path) -> None:
    (folder / "tarn.binder").chmod(0o660)
    found(folder, "owen")
    assert stat.S_IMODE((folder / FILE).stat().st_mode) == 0o600


def test_a_group_that_may_read_and_write_all_binders_shares_the_index(folder: Path) -> None:
    for path in folder.glob("*.binder"):
        path.chmod(0o660)
    found(folder, "owen")
    assert stat.S_IMODE((folder / FILE).stat().st_mode) == 0o660
    (folder / "tarn.binder").chmod(0o600)
    found(folder, "owen")
    assert stat.S_IMODE((folder / FILE).stat().st_mode) == 0o600


@pytest.mark.parametrize("obstacle", ["link", "folder"])
def test_where_the_shelf_takes_no_index_it_is_kept_with_the_persons_state(
    folder: Path, tmp_path: Path, obstacle: str
) -> None:
    elsewhere = tmp_path / "elsewhere"
    if obstacle == "link":  # laid there by somebody, to have another file overwritten
        elsewhere.write_text("of somebody else")
        (folder / FILE).symlink_to(elsewhere)
    else:
        (folder / FILE).mkdir()
    assert found(folder, "owen") == [("tarn", "contact", "Owen Pryce")]
    kept = list((tmp_path / "state" / "binder" / "shelves").iterdir())
    assert [stat.S_IMODE(path.stat().st_mode) for path in kept] == [0o600]
    assert not elsewhere.exists() or elsewhere.read_text() == "of somebody else"


def test_a_shelf_one_may_only_read_is_searched_all_the_same(
    folder: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    with tempfile.TemporaryDirectory() as state:  # of that person's own
        os.chmod(state, 0o777)
        monkeypatch.setenv("XDG_STATE_HOME", state)
        for path in folder.glob("*.binder"):
            path.chmod(0o444)
        folder.chmod(0o555)

        def finds(shelf: Path) -> str:
            client, kind, name = found(shelf, "owen")[0]
            return f"{client}: {kind} {name}; {[path.name for path in shelf.glob(f'{FILE}*')]}"

        assert as_nobody(folder, finds) == "tarn: contact Owen Pryce; []"


def test_no_secret_enters_it(tmp_path: Path) -> None:
    """The demo's secrets are in `envelope.json`, for all to read; none is in the index."""
    today = date(2026, 11, 25)
    with create(tmp_path / "demo.binder", "") as binder:
        json_form.load(binder, client_data(today), "demo")
        fill_envelope(binder, today)
    with ShelfIndex.open(tmp_path) as index:
        index.refresh()
        index.connection.execute("INSERT INTO search (search) VALUES ('optimize')")
    told = files("demo").joinpath("envelope.json").read_text(encoding="utf-8")
    values = {
        act["to"]
        for opening in json.loads(told)["openings"]
        for act in opening["did"]
        if "set" in act
    }
    held = (tmp_path / FILE).read_bytes()
    assert b"Priya Nandakumar" in held
    assert len(values) > 10
    for value in values - {"hearth"}:  # a maker's default, the same as the login, which is told
        for line in value.splitlines():
            assert line.encode() not in held, value
