"""The one-shot commands, as a technician or a script uses them, on the invented client."""

from __future__ import annotations

import json
import os
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path

import pytest

from binder import call
from binder.edit import Editor
from binder.file import open_binder
from binder.read import resolve
from tui.main import COMMANDS, binder

Ran = tuple[int, str, str]
Run = Callable[..., Ran]

# ECMA-48 (5th ed.) controls, and marks that reorder or hide text: none may leave raw.
HOSTILE = "[/x] [A1] \x1b]52;c;cHduZWQ=\x07\x1b[2J\x9b31m\u202eevil\u202c\u200b |**<script>"
RAW = {chr(code) for code in (*range(9), *range(11, 32), *range(127, 160), 0x202E, 0x200B)}


# Finding and tracing. ---------------------------------------------------------------------


@pytest.mark.parametrize(
    ("typed", "answer"),
    [
        ("recept", "101"),  # part of a room's name
        ("3125550160", "circuit fibre"),  # a phone number without its punctuation
        ("LKF2203118QM", "fibre"),  # a circuit ID as the carrier reads it out
        ("recpetion", "101"),  # two letters the wrong way round
    ],
)
def test_what_a_caller_says_is_found(ran: Run, quillmere: Path, typed: str, answer: str) -> None:
    status, out, _ = ran("find", quillmere, typed)
    assert status == 0
    assert answer in out


def test_a_mac_is_found_in_whichever_form_a_switch_prints_it(ran: Run, quillmere: Path) -> None:
    with open_binder(quillmere, read_only=True) as opened:
        row = opened.connection.execute(
            "SELECT identifier, mac FROM hardware WHERE mac IS NOT NULL AND form = 'camera'"
        ).fetchone()
    bare = row["mac"].replace("-", "").lower()
    for form in (".".join((bare[:4], bare[4:8], bare[8:])), bare, row["mac"].replace("-", ":")):
        assert row["identifier"] in ran("find", quillmere, form)[1]


def test_nothing_found_is_the_answer_no(ran: Run, quillmere: Path) -> None:
    assert ran("find", quillmere, "zzzzqqqq")[0] == 1
    assert ran("find", quillmere, "zzzzqqqq", "--json")[:2] == (1, "[]\n")


def test_an_outlet_is_traced_to_the_carriers_circuit(ran: Run, quillmere: Path) -> None:
    status, out, _ = ran("trace", quillmere, "1A-A07")
    assert status == 0
    for step in ("1A-A:07", "SW1", "GW1", "ONT1", "fibre"):
        assert step in out
    answer = json.loads(ran("trace", quillmere, "1A-A07", "--json")[1])
    assert [circuit["name"] for circuit in answer["circuits"]][:1] == ["fibre"]


# Reading and writing. ---------------------------------------------------------------------


def test_every_record_and_every_kind_can_be_shown(ran: Run, quillmere: Path) -> None:
    with open_binder(quillmere, read_only=True) as opened:
        kinds = [row[0] for row in opened.connection.execute("SELECT DISTINCT kind FROM record")]
        first = [
            opened.connection.execute(
                "SELECT kind || ' ' || name FROM record WHERE kind = ? LIMIT 1", (kind,)
            ).fetchone()[0]
            for kind in kinds
        ]
    for words in (*kinds, *first):
        status, out, err = ran("show", quillmere, words)
        assert (status, err) == (0, ""), words
        assert out.strip()


def test_a_log_line_names_what_it_concerns(ran: Run, quillmere: Path) -> None:
    status, _, err = ran(
        "log", quillmere, "cord", "replaced", "--kind", "visit", "--about", "SW1", "--minutes", 12
    )
    assert (status, err) == (0, "logged as L-0040\n")
    assert "cord replaced" in ran("log", quillmere, "--limit", 1)[1]
    assert (
        "L-0040" in ran("show", quillmere, "SW1")[1] or "touch" in ran("show", quillmere, "SW1")[1]
    )
    assert "log entry L-0040" in ran("history", quillmere, "--limit", 3)[1]


def test_the_log_tells_which_calls_are_open_and_what_entries_touched(
    ran: Run, quillmere: Path
) -> None:
    with open_binder(quillmere) as binder:
        osei = Editor(binder, "M. Osei")
        started = call.start(osei, caller_note="kennels")
        call.attach(osei, started, [resolve(binder, "SW1", "hardware").id], "opened")
    assert " open" in ran("log", quillmere, "--limit", 1)[1]
    assert "[SW1]" in ran("log", quillmere, "--limit", 1, "--touched")[1]
    entry = json.loads(ran("log", quillmere, "--limit", 1, "--json")[1])[0]
    assert (entry["identifier"], entry["is_open"]) == (started.name, True)
    assert [(one["name"], one["how"]) for one in entry["touched"]] == [("SW1", ["opened"])]
    assert "hardware SW1  (opened)" in ran("show", quillmere, started.name)[1]


def test_a_read_only_session_writes_nothing(ran: Run, quillmere: Path) -> None:
    before = quillmere.read_bytes()
    status, _, err = ran("--read-only", "log", quillmere, "x")
    assert status == 2
    assert "read-only" in err
    assert quillmere.read_bytes() == before


def test_dump_and_load_rebuild_the_same_binder(ran: Run, quillmere: Path, tmp_path: Path) -> None:
    first, second = tmp_path / "first.json", tmp_path / "second.json"
    assert ran("dump", quillmere, "--to", first)[0] == 0
    assert ran("new", tmp_path / "again.binder", "--client", "x")[0] == 0
    assert ran("load", tmp_path / "again.binder", first)[0] == 0
    assert ran("dump", tmp_path / "again.binder", "--to", second)[0] == 0
    assert second.read_bytes() == first.read_bytes()
    assert ran("verify", tmp_path / "again.binder")[:2] == (0, "whole\n")


def test_every_fault_of_a_load_is_told_with_its_place(ran: Run, quillmere: Path) -> None:
    before = ran("dump", quillmere)[1]
    wrong = quillmere.with_name("wrong.json")
    wrong.write_text(
        '{"format": 1, "ports": [{"hardware": "SW1", "label": "99", "vlan": 4095}],'
        ' "racks": [{"identifier": "9Z-R1", "space": "nowhere", "height_u": 10}]}'
    )
    status, out, err = ran("load", quillmere, wrong)
    assert (status, out) == (2, "")
    assert "ports[0].vlan: VLAN is from 1 to 4094 (given: 4095)" in err
    assert "racks[0].space: no space of that name (given: nowhere)" in err
    assert ran("dump", quillmere)[1] == before


def test_a_backup_is_whole_and_never_overwrites(ran: Run, quillmere: Path, tmp_path: Path) -> None:
    copy = tmp_path / "copy.binder"
    assert ran("backup", quillmere, "--to", copy)[0] == 0
    assert ran("verify", copy)[0] == 0
    assert ran("dump", copy)[1] == ran("dump", quillmere)[1]
    status, _, err = ran("backup", quillmere, "--to", copy)
    assert (status, err.count("\n")) == (3, 1)


# Refusals. --------------------------------------------------------------------------------


def _damaged(path: Path) -> None:
    data = bytearray(path.read_bytes())
    data[3] ^= 0xFF
    path.write_bytes(data)


def _newer(path: Path) -> None:
    data = bytearray(path.read_bytes())
    data[60:64] = (99).to_bytes(4, "big")
    path.write_bytes(data)


@pytest.mark.parametrize(
    ("spoil", "says"),
    [
        (_damaged, "not a binder"),
        (lambda path: path.write_text("rack list\n"), "not a binder"),
        (_newer, "newer version"),
        (lambda path: path.unlink(), "no such file"),
    ],
    ids=["header byte", "text file", "newer", "missing"],
)
def test_a_file_that_is_no_binder_gets_one_line_and_status_3(
    ran: Run, quillmere: Path, spoil: Callable[[Path], None], says: str
) -> None:
    spoil(quillmere)
    for command in (("find", "x"), ("show",), ("verify",), ("dump",), ("log", "x")):
        status, out, err = ran(command[0], quillmere, *command[1:])
        assert (status, out, err.count("\n")) == (3, "", 1)
        assert says in err
        assert str(quillmere) in err


def test_switches_are_shown_though_they_are_hardware(ran: Run, quillmere: Path) -> None:
    _, listed, _ = ran("show", quillmere, "switches")
    names = {line.split()[0] for line in listed.splitlines()[1:]}
    _, told, _ = ran("show", quillmere, "Switch", "--json")
    with open_binder(quillmere) as opened:
        rows = opened.connection.execute("SELECT identifier FROM hardware WHERE form = 'switch'")
        there = {row[0] for row in rows}
    assert names == {one["identifier"] for one in json.loads(told)} == there
    assert len(there) > 1


def test_a_slip_of_the_keyboard_gets_one_line_and_status_2(ran: Run, quillmere: Path) -> None:
    for words, says in (
        (("finf", quillmere), "is it 'find'?"),
        (("find", quillmere), "Missing argument"),
        (("show", quillmere, "SW99"), "no record is named 'SW99'"),
        (("log", quillmere, "x", "--kind", "tea"), "'tea' is not one of"),
    ):
        status, out, err = ran(*words)
        assert (status, out, err.count("\n")) == (2, "", 1)
        assert says in err


def test_the_app_without_a_terminal_names_the_one_shot_commands(ran: Run, quillmere: Path) -> None:
    status, _, err = ran(quillmere)
    assert (status, err.count("\n")) == (2, 1)
    assert "one-shot" in err


# Text is data. ----------------------------------------------------------------------------


def test_no_stored_control_reaches_the_terminal(ran: Run, quillmere: Path) -> None:
    with open_binder(quillmere) as opened:
        switch = resolve(opened, "SW1").id
        with Editor(opened, HOSTILE).step(HOSTILE) as step:
            step.change(switch, {"identifier": HOSTILE, "notes": HOSTILE, "maker": HOSTILE})
            step.add("log_entry", {"opened_at": "2026-11-24T10:00:00Z", "summary": HOSTILE,
                                   "form": "call", "who": HOSTILE})  # fmt: skip
    shown = [
        ran("find", quillmere, "[/x]"), ran("find", quillmere, "evil", "--json"),
        ran("show", quillmere, HOSTILE), ran("show", quillmere, "hardware"),
        ran("show", quillmere, HOSTILE, "--json"), ran("log", quillmere),
        ran("history", quillmere), ran("trace", quillmere, "1A-A07"), ran("dump", quillmere),
        ran("show", quillmere, HOSTILE + "?"), ran("find", quillmere, HOSTILE),
    ]  # fmt: skip
    for _, out, err in shown:
        assert not RAW & set(out + err)
    assert "[/x] [A1]" in shown[0][1]


def test_finding_pays_for_no_screen_no_document_and_no_cryptography(quillmere: Path) -> None:
    code = (
        "import sys; from tui.main import run; run(['find', sys.argv[1], 'reception']);"
        "print(*{name.split('.')[0] for name in sys.modules}, file=sys.stderr)"
    )
    done = subprocess.run(
        [sys.executable, "-c", code, str(quillmere)], capture_output=True, text=True, check=True,
        env=os.environ | {"BINDER_WHO": "x"},
    )  # fmt: skip
    heavy = {"textual", "rich", "jinja2", "markdown_it", "cryptography", "sqlite_utils", "dateutil"}
    assert not heavy & set(done.stderr.split())


def test_every_command_shows_an_example_in_its_help(ran: Run) -> None:
    for name in COMMANDS:
        command = binder.get_command(None, name)  # type: ignore[arg-type]
        assert command is not None
        assert command.epilog
        assert f"binder {name}" in command.epilog
        assert COMMANDS[name][1]


def test_the_demo_is_refused_where_one_stands(ran: Run, demo_folder: Path) -> None:
    assert list(demo_folder.glob("*.html"))
    status, _, err = ran("demo", demo_folder, "--no-app")
    assert (status, err.count("\n")) == (3, 1)
