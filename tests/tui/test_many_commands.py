"""Many records at once from a shell: `binder change`, `binder load --kind`."""

from __future__ import annotations

import io
import json
from collections.abc import Callable
from pathlib import Path

import pytest

from binder.file import open_binder
from binder.history import position, recent
from binder.read import read, resolve

Ran = Callable[..., tuple[int, str, str]]


def value(path: Path, name: str, field: str) -> object:
    with open_binder(path) as binder:
        return read(binder, resolve(binder, name).id)[field]


def last_position(path: Path) -> int:
    with open_binder(path) as binder:
        return position(binder)


def test_without_yes_a_script_sees_what_would_become_and_nothing_is_written(
    quillmere: Path, ran: Ran
) -> None:
    before = last_position(quillmere)
    status, out, err = ran("change", quillmere, "ports", "SW1:01..03,05", "vlan=30")
    assert status == 1  # the answer is 'no'
    assert out.splitlines()[0].split() == ["Port", "What", "becomes", "of", "it"]
    assert "SW1:03  VLAN 20 -> 30" in out
    assert "--yes" in err
    assert last_position(quillmere) == before


def test_with_yes_it_is_one_step(quillmere: Path, ran: Ran) -> None:
    status, _, err = ran(
        "change", quillmere, "port", "SW1:01..03", "vlan=30", "current use=desk {07}", "--yes"
    )
    assert (status, err) == (0, "3 changed\n")
    assert value(quillmere, "SW1:03", "current_use") == "desk 09"
    with open_binder(quillmere) as binder:
        assert recent(binder)[0].summary == "change 3 ports: vlan, current use"


@pytest.mark.parametrize(("answer", "status", "vlan"), [("y\n", 0, 30), ("n\n", 1, 20)])
def test_at_a_terminal_it_asks(
    quillmere: Path, ran: Ran, monkeypatch: pytest.MonkeyPatch, answer: str, status: int, vlan: int
) -> None:
    monkeypatch.setattr("tui.commands.change.is_terminal", lambda: True)
    monkeypatch.setattr("sys.stdin", io.StringIO(answer))
    told, _, err = ran("change", quillmere, "ports", "SW1:01", "vlan=30")
    assert told == status
    assert "1 to change. Write it?" in err
    assert value(quillmere, "SW1:01", "vlan") == vlan


def test_the_preview_is_data_too(quillmere: Path, ran: Ran) -> None:
    status, out, _ = ran("change", quillmere, "ports", "SW1:01", "vlan=30", "--json")
    assert status == 1
    first = json.loads(out)["records"][0]
    assert first["settings"] == [{"label": "VLAN", "before": "20", "after": "30"}]


@pytest.mark.parametrize(
    ("words", "says"),
    [
        (("ports", "SW1:27..31", "vlan=30"), "no port is named SW1:29, SW1:30, SW1:31"),
        (("ports", "SW1:01", "speed=30"), "a port has no field 'speed'"),
        (("ports", "SW1:01", "vlan"), "'vlan' is no FIELD=VALUE"),
        (("prots", "SW1:01", "vlan=30"), "no record kind 'prots'; there are: ports"),
        (("ports", "SW1:01", "vlan=4095", "--yes"), "SW1:01: VLAN is from 1 to 4094"),
    ],
)
def test_what_cannot_be_is_told_and_nothing_is_written(
    quillmere: Path, ran: Ran, words: tuple[str, ...], says: str
) -> None:
    before = last_position(quillmere)
    status, _, err = ran("change", quillmere, *words)
    assert status == 2
    assert says in err
    assert last_position(quillmere) == before


# Lines. -----------------------------------------------------------------------------------


def test_a_spreadsheet_is_loaded_in_one_step(quillmere: Path, ran: Ran, tmp_path: Path) -> None:
    """The comma-separated form of RFC 4180."""
    lines = tmp_path / "ports.csv"
    lines.write_text('Port,VLAN,Current use\r\nSW1:40,30,"desk, north"\r\nSW1:41,,=1+1\r\n')
    status, _, err = ran("load", quillmere, lines, "--kind", "ports")
    assert (status, err.splitlines()) == (0, ["line 1 names the columns", "2 added"])
    assert value(quillmere, "SW1:40", "current_use") == "desk, north"
    assert value(quillmere, "SW1:41", "current_use") == "=1+1"


def test_lines_come_from_standard_input(
    quillmere: Path, ran: Ran, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("sys.stdin", io.TextIOWrapper(io.BytesIO(b"SW1:40\tedge\t30\n")))
    status, out, err = ran("load", quillmere, "-", "--kind", "ports", "--preview")
    assert (status, "SW1:40" in out) == (0, True)
    assert err.splitlines()[-1] == "1 to add; nothing was written"


def test_faults_are_told_by_line_and_what_exists_can_be_changed(
    quillmere: Path, ran: Ran, tmp_path: Path
) -> None:
    lines = tmp_path / "ports.csv"
    lines.write_text("Port,VLAN\nSW1:01,30\nSW1:40,30\n")
    status, _, err = ran("load", quillmere, lines, "--kind", "ports")
    assert status == 2
    assert "line 2: is in the binder already (given: SW1:01)" in err
    assert "--change-existing" in err
    status, _, err = ran("load", quillmere, lines, "--kind", "ports", "--change-existing")
    assert (status, err.splitlines()[-1]) == (0, "1 added, 1 changed")
    assert value(quillmere, "SW1:01", "vlan") == 30


def test_a_file_of_lines_without_its_kind_says_what_is_missing(
    quillmere: Path, ran: Ran, tmp_path: Path
) -> None:
    lines = tmp_path / "ports.csv"
    lines.write_text("Port,VLAN\nSW1:40,30\n")
    status, _, err = ran("load", quillmere, lines)
    assert status == 2
    assert "--kind ports" in err
