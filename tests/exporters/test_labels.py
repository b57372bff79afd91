"""What stands on labels. ANSI/TIA-606: unique identifiers, both ends; places and never uses."""

from __future__ import annotations

import csv
import io
from collections.abc import Callable

import pytest

from binder.errors import RequestError
from binder.file import BinderFile
from exporters.documents import Options
from exporters.export import render
from tests.exporters.conftest import TODAY

Add = Callable[..., int]
Row = tuple[str, ...]


@pytest.fixture
def printed(binder: BinderFile) -> Callable[[str], list[Row]]:
    """`printed("cords")`: lines, QR text and copies of those labels, from the printer's CSV."""

    def printed(only: str = "") -> list[Row]:
        (text,) = render(
            binder, "labels", form="csv", today=TODAY, options=Options(only=only)
        ).values()
        rows = csv.DictReader(io.StringIO(str(text), newline=""), strict=True)
        return [
            (row["line1"], row["line2"], row["line3"], row["qr"], row["copies"]) for row in rows
        ]

    return printed


def test_a_cord_has_a_label_for_each_end_that_says_where_the_other_is(
    closet: BinderFile, printed: Callable[[str], list[Row]]
) -> None:
    assert printed("cords")[:2] == [
        ("C-0001", "TO SW1:01", "AT 1A-A:01", "C-0001", "1"),
        ("C-0001", "TO 1A-A:01", "AT SW1:01", "C-0001", "1"),
    ]


def test_a_panel_port_says_the_outlet_and_its_room_and_the_outlet_says_the_panel(
    closet: BinderFile, printed: Callable[[str], list[Row]]
) -> None:
    ports = {row[0]: row[1:3] for row in printed("ports")}
    assert ports["1A-A:01"] == ("TO 114-1:A", "ROOM 114")
    assert ports["114-1:A"] == ("TO 1A-A:01", "1A-R1 U18")
    assert ports["1A-A:05"] == ("", "")
    assert "SW1:01" not in ports  # its maker has marked it


def test_a_link_between_ports_is_named_from_the_end_its_label_is_at(
    closet: BinderFile, add: Add, change: Callable[..., None],
    printed: Callable[[str], list[Row]],
) -> None:  # fmt: skip
    """ANSI/TIA-606-B: near end first, so that the label of the far end swaps the two; the form is
    that of a public owner's guide, the swap is from memory."""
    change("link 1A-A01", identifier="4BK01-55:50/DC.C03-14:04")
    here, there = printed("4BK01-55:50/DC.C03-14:04,links")
    assert (here[0], there[0]) == ("4BK01-55:50/DC.C03-14:04", "DC.C03-14:04/4BK01-55:50")
    assert here[3] == there[3] == "4BK01-55:50/DC.C03-14:04"


def test_a_backbone_cable_keeps_its_identifier_at_both_ends(
    closet: BinderFile, change: Callable[..., None], printed: Callable[[str], list[Row]]
) -> None:
    change("link 1A-A01", identifier="1A/2A-1")
    assert [row[0] for row in printed("1A/2A-1,links")] == ["1A/2A-1", "1A/2A-1"]


def test_a_label_tells_places_and_never_what_is_served(
    closet: BinderFile, change: Callable[..., None], printed: Callable[[str], list[Row]]
) -> None:
    change("114-1:A", current_use="X-ray console", reserved_for="till")
    change("SW1", description="core switch", place="over the safe")
    change("client Quillmere Veterinary Clinic", critical_lines="Fire dialler on 1A-A:01")
    every = " ".join(" ".join(row) for row in printed("")).casefold()
    for use in ("x-ray", "till", "core", "safe", "fire", "dialler", "front desk"):
        assert use not in every


def test_power_is_labelled_from_breaker_to_inlet_at_both_ends_of_the_cord(
    closet: BinderFile, add: Add, printed: Callable[[str], list[Row]]
) -> None:
    add("hardware", identifier="UPS1", form="UPS", space="1A")
    add("branch_circuit", identifier="LP1-12", panel="LP1", breaker="12", rating_a=20,
        voltage_v=120, space="1A")  # fmt: skip
    add("inlet", hardware="UPS1", label="IN", branch_circuit="LP1-12")
    add("inlet", hardware="SW1", label="PS1", fed_by="UPS1", outlet="3")
    assert [row[:3] for row in printed("power")] == [
        ("LP1-12", "PANEL LP1 BREAKER 12", "20 A 120 V"),
        ("SW1 INLET PS1", "FROM UPS1 OUTLET 3", ""),
        ("UPS1 OUTLET 3", "TO SW1 INLET PS1", ""),
        ("UPS1 INLET IN", "FROM LP1-12", "PANEL LP1 BREAKER 12"),
        ("LP1-12", "TO UPS1 INLET IN", "PANEL LP1 BREAKER 12"),
    ]


def test_a_bonding_conductor_says_do_not_disconnect_at_both_ends(
    closet: BinderFile, add: Add, change: Callable[..., None],
    printed: Callable[[str], list[Row]],
) -> None:  # fmt: skip
    """ANSI/TIA-607 asks for such a warning; the number to call is the integrator's (wording from
    memory)."""
    change("client Quillmere Veterinary Clinic", integrator_phone="+1 312 555 0143")
    add("busbar", identifier="1A-TMGB", space="1A", form="primary")
    add("bonding_conductor", identifier="1A-RBC1", form="rack bonding", from_busbar="1A-TMGB",
        rack="1A-R1")  # fmt: skip
    call = "IF LOOSE CALL +1 312 555 0143"
    assert printed("do-not-disconnect") == [
        ("1A-TMGB", "DO NOT DISCONNECT", call, "1A-TMGB", "1"),
        ("1A-RBC1", "DO NOT DISCONNECT", call, "1A-RBC1", "2"),
    ]


def test_a_critical_line_is_marked_at_every_port_and_cord_on_its_way(
    closet: BinderFile, change: Callable[..., None], printed: Callable[[str], list[Row]]
) -> None:
    change("client Quillmere Veterinary Clinic", critical_lines="Camera CAM1: never unplug it.")
    cords = {row[0] for row in printed("cords") if "121-1:A" in row[1] or "SW1:03" in row[1]}
    marked = [row[0] for row in printed("do not disconnect")]
    assert {name for name in marked if ":" in name} == {"1A-A:03", "121-1:A", "CAM1:1", "SW1:03"}
    assert {name for name in marked if ":" not in name} == cords
    assert len(cords) == 2


def test_an_outlet_named_beside_a_port_does_not_mark_its_other_jacks(
    closet: BinderFile, change: Callable[..., None], printed: Callable[[str], list[Row]]
) -> None:
    change("client Quillmere Veterinary Clinic", critical_lines="Lift on outlet 114-1, 1A-A:01.")
    assert "114-1:B" not in {row[0] for row in printed("do not disconnect")}
    change("client Quillmere Veterinary Clinic", critical_lines="Lift on outlet 114-1.")
    assert "114-1:B" in {row[0] for row in printed("do not disconnect")}


def test_kinds_and_places_may_be_asked_for(
    closet: BinderFile, printed: Callable[[str], list[Row]]
) -> None:
    assert [row[0] for row in printed("ports, 114-1")] == ["114-1:A", "114-1:B"]
    assert {row[1] for row in printed("PH1,cords")} == {"TO PH1:1", "TO 114-1:A"}
    assert {row[0] for row in printed("links,cords,1A-A:03")} == {"1A-A03", "C-0002"}
    assert {row[0] for row in printed("racks")} == {"1A-R1"}
    with pytest.raises(RequestError, match="'nonsense' is no kind of label"):
        printed("nonsense")
    with pytest.raises(RequestError, match="there is nothing to label at 'firestops'"):
        printed("firestops")


def test_no_label_has_a_management_address(
    closet: BinderFile, change: Callable[..., None], printed: Callable[[str], list[Row]]
) -> None:
    change("SW1", identifier="switch 192.0.2.2")
    assert "192.0.2.2" not in str(printed(""))


def test_what_begins_as_a_formula_is_none_in_the_printer_s_file_either(
    closet: BinderFile, change: Callable[..., None], printed: Callable[[str], list[Row]]
) -> None:
    change("1A-R1", identifier="=1+2")
    ((first, _, _, code, _),) = printed("racks")
    assert (first, code) == ("'=1+2", "'=1+2")


def test_csv_has_no_sheet(closet: BinderFile) -> None:
    with pytest.raises(RequestError, match="CSV has no sheet: leave out --stock and --start"):
        render(closet, "labels", form="csv", today=TODAY, options=Options(start=3))
