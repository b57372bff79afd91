"""`binder headroom` and `binder impact`, as a technician or a script uses them."""

from __future__ import annotations

import json
import shutil
from collections.abc import Callable
from datetime import date
from pathlib import Path

import pytest

from binder.edit import Editor
from binder.file import open_binder
from binder.headroom import STATES
from binder.read import resolve
from demo.write import write_demo
from tui.main import run

Run = Callable[..., tuple[int, str, str]]


@pytest.fixture(scope="session")
def demo_folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("demo")
    write_demo(folder, date(2026, 11, 25), lambda line: None)
    return folder


@pytest.fixture
def quillmere(demo_folder: Path, tmp_path: Path) -> Path:
    return Path(shutil.copy(demo_folder / "quillmere.binder", tmp_path))


@pytest.fixture
def ran(capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch) -> Run:
    monkeypatch.setenv("BINDER_WHO", "M. Osei")

    def call(*words: object) -> tuple[int, str, str]:
        capsys.readouterr()
        status = run([str(word) for word in words])
        out, err = capsys.readouterr()
        return status, out, err

    return call


# Headroom. --------------------------------------------------------------------------------


def test_headroom_fits_a_terminal_of_80_columns(ran: Run, quillmere: Path) -> None:
    _, out, _ = ran("headroom", quillmere, "--basis")
    assert [line for line in out.splitlines() if len(line) > 80] == []


def test_what_is_short_makes_the_status_1(ran: Run, quillmere: Path) -> None:
    status, out, _ = ran("headroom", quillmere)
    assert status == 1
    assert "short      PoE watts          SW3          ########===>" in out


def test_what_is_fine_makes_the_status_0(ran: Run, quillmere: Path) -> None:
    status, out, _ = ran("headroom", quillmere, "--state", "fine", "--space", "1E")
    assert (status, "UPS3" in out, "SW3" in out) == (0, True, False)


def test_what_is_not_known_makes_the_status_0_and_names_the_need(ran: Run, quillmere: Path) -> None:
    status, out, _ = ran("headroom", quillmere, "1K-R1", "--state", "not known")
    assert status == 0
    assert "not known: needs anchor tension of 1K-R1, anchor shear of 1K-R1" in out


def test_headroom_of_one_thing_shows_its_sum(ran: Run, quillmere: Path) -> None:
    _, out, _ = ran("headroom", quillmere, "UPS1", "--basis")
    assert "- SW1: 38 W + 37.71 W over PoE = 75.71 W" in out
    assert "only a test under load proves one" in " ".join(out.split())


def test_a_us_binder_shows_pounds_beside_the_metric_sum(ran: Run, quillmere: Path) -> None:
    _, out, _ = ran("headroom", quillmere, "anchors", "--basis")
    assert "= 89.3 kg (196.9 lb)" in out


def test_headroom_as_data_has_every_figure_of_a_row(ran: Run, quillmere: Path) -> None:
    _, out, _ = ran("headroom", quillmere, "PoE watts", "--json")
    rows = json.loads(out)["rows"]
    assert {row["where"]["name"] for row in rows} == {"SW1", "SW2", "SW3"}
    assert rows[0]["rated"] == 130
    assert rows[0]["state"] == "short"
    assert rows[0]["outlook"]["runs_out_on"]


@pytest.mark.parametrize(
    ("words", "says"),
    [
        (["--space", "9Z"], "no space is named '9Z'; there are: "),
        (["tea"], "no row of headroom is about 'tea'; name a record, or one of: rack units"),
        (["--state", "full"], "is not one of"),
    ],
)
def test_a_wrong_request_is_one_line(
    ran: Run, quillmere: Path, words: list[str], says: str
) -> None:
    status, out, err = ran("headroom", quillmere, *words)
    assert (status, out, err.count("\n")) == (2, "", 1)
    assert says in err


def test_help_offers_every_state(ran: Run) -> None:
    _, out, _ = ran("headroom", "--help")
    assert all(state in out for state in STATES)


def test_typed_names_leave_harmless(ran: Run, quillmere: Path) -> None:
    hostile = "x\x1b]52;c;cHduZWQ=\x07\u202e"
    with open_binder(quillmere) as binder, Editor(binder, "x").step("x") as step:
        step.change(resolve(binder, "UPS3").id, {"identifier": hostile})
    _, out, _ = ran("headroom", quillmere)
    assert "\x1b" not in out
    assert "\u202e" not in out
