"""`binder headroom` and `binder impact`, as a technician or a script uses them."""

from __future__ import annotations

import io
import json
from collections.abc import Callable
from pathlib import Path

import pytest

from binder.edit import Editor
from binder.file import open_binder
from binder.headroom import STATES
from binder.read import resolve

Run = Callable[..., tuple[int, str, str]]


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
    assert rows[0]["outlook"]["says"].endswith("the limit went from 52 to 104 W")
    assert rows[0]["outlook"]["runs_out_on"] is None


@pytest.mark.parametrize(
    ("words", "says"),
    [
        (["--space", "9Z"], "no space is named '9Z'; `binder show BINDER spaces` lists them"),
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


# Impact. ----------------------------------------------------------------------------------


def test_impact_names_what_goes_dark_and_why(ran: Run, quillmere: Path) -> None:
    status, out, _ = ran("impact", quillmere, "UPS1")
    assert status == 1
    assert "20 lose power" in out
    assert "CAM7 (camera)  UPS1 fails > SW2 has no power" in out
    assert [line for line in out.splitlines() if len(line) > 80] == []


def test_impact_that_costs_only_redundancy_has_status_0(ran: Run, quillmere: Path) -> None:
    status, out, _ = ran("impact", quillmere, "fibre")
    assert status == 0
    assert "circuit lost: fibre; left: cellular" in out


def test_impact_in_time(ran: Run, quillmere: Path) -> None:
    soon, _, _ = ran("impact", quillmere, "LP1-12", "--minutes", 10)
    later, out, _ = ran("impact", quillmere, "LP1-12")
    assert (soon, later) == (0, 1)
    assert "UPS1 goes on battery for" in out


def test_a_tab_in_a_name_stands_as_a_sign(ran: Run, quillmere: Path) -> None:
    """It would part columns for whoever pastes the answer (CWE-150)."""
    with open_binder(quillmere) as binder, Editor(binder, "M. Osei").step("renamed") as step:
        step.change(resolve(binder, "hardware CAM1").id, {"identifier": "CAM\t1"})
    out = ran("impact", quillmere, "SW1")[1]
    assert "CAM\N{SYMBOL FOR HORIZONTAL TABULATION}1" in out
    assert "\t" not in out


def test_impact_as_data(ran: Run, quillmere: Path) -> None:
    _, out, _ = ran("impact", quillmere, "SW3", "--json")
    answer = json.loads(out)
    assert {each["name"] for each in answer["data"]} == {"PR3", "WS13"}
    assert answer["power"][0]["chain"][0]["how"] == "fails"


def test_the_order_to_start_and_stop(ran: Run, quillmere: Path) -> None:
    status, out, _ = ran("impact", quillmere, "UPS2", "--order")
    started, stopped = out.split("stop")
    assert status == 0
    assert started.index("UPS2") < started.index("SW3") < started.index("CAM8")
    assert stopped.index("CAM8") < stopped.index("SW3") < stopped.index("UPS2")


def test_the_order_of_everything_needs_no_name(ran: Run, quillmere: Path) -> None:
    status, out, _ = ran("impact", quillmere, "--order", "--json")
    assert status == 0
    assert json.loads(out)["stages"][0]


def test_impact_without_a_name_says_what_to_do(ran: Run, quillmere: Path) -> None:
    status, _, err = ran("impact", quillmere)
    assert (status, "name what fails" in err) == (2, True)


# What if. ---------------------------------------------------------------------------------


def test_what_if_reads_a_file_or_standard_input(
    ran: Run, quillmere: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    listed = tmp_path / "plan.txt"
    listed.write_text("3 x outdoor camera: on SW2\n")
    status, out, _ = ran("headroom", quillmere, "--what-if", listed)
    monkeypatch.setattr("sys.stdin", io.TextIOWrapper(io.BytesIO(listed.read_bytes())))
    piped = ran("headroom", quillmere, "--what-if", "-")

    assert (status, out) == piped[:2]
    assert status == 1
    assert "runs out first: recorder cameras of REC1" in out
    assert "smallest change: a recorder rated for 20 cameras or more" in out
    assert [line for line in out.splitlines() if len(line) > 80] == []


def test_what_if_that_fits_has_status_0(ran: Run, quillmere: Path, tmp_path: Path) -> None:
    listed = tmp_path / "plan.txt"
    listed.write_text("thing: 1U, 1 kg, in 1K-R1\n")
    status, out, _ = ran("headroom", quillmere, "--what-if", listed)
    assert (status, "nothing new runs out" in out) == (0, True)


def test_keep_plans_it_in_the_binder(ran: Run, quillmere: Path, tmp_path: Path) -> None:
    listed = tmp_path / "plan.txt"
    listed.write_text("thing: 1U, 1 kg, in 1K-R1\n")
    _, _, err = ran("headroom", quillmere, "--what-if", listed, "--keep")
    _, out, _ = ran("show", quillmere, "thing 1")
    assert "kept as planned: 1 x thing" in err
    assert "planned" in out


def test_keep_alone_and_keep_read_only_are_refused(
    ran: Run, quillmere: Path, tmp_path: Path
) -> None:
    listed = tmp_path / "plan.txt"
    listed.write_text("thing: 1U, in 1K-R1\n")
    alone = ran("headroom", quillmere, "--keep")
    read_only = ran("--read-only", "headroom", quillmere, "--what-if", listed, "--keep")
    assert (alone[0], read_only[0]) == (2, 2)
    assert "give both" in alone[2]


def test_what_if_of_no_text_is_one_line(ran: Run, quillmere: Path, tmp_path: Path) -> None:
    listed = tmp_path / "plan.txt"
    listed.write_bytes(b"\xff\xfe\x00")
    status, out, err = ran("headroom", quillmere, "--what-if", listed)
    assert (status, out, err.count("\n")) == (2, "", 1)
