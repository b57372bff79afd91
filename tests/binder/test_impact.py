"""What goes dark, on the invented client and on a small room with two UPSs."""

from __future__ import annotations

from collections.abc import Callable
from datetime import date

import pytest

from binder.edit import Editor
from binder.errors import RequestError
from binder.file import BinderFile
from binder.impact import Impact, failing, impact

Fails = Callable[..., Impact]


@pytest.fixture
def fails(demo: BinderFile, today: date) -> Fails:
    """`fails("SW3")`: the impact of it on the demo."""
    return lambda text, **more: impact(demo, failing(demo, text), today=today, **more)


def names(affected: tuple[object, ...]) -> set[str]:
    return {each.name for each in affected}  # type: ignore[attr-defined]


def chain(answer: Impact, name: str) -> str:
    (found,) = [each for each in answer.affected if each.name == name]
    return " > ".join(f"{cause.name} {cause.how}" for cause in found.chain)


# The demo. --------------------------------------------------------------------------------


def test_the_kennels_switch_takes_its_phones_cameras_and_access_points(fails: Fails) -> None:
    answer = fails("SW3")

    assert names(answer.power) == {
        "AP4", "AP5", "CAM8", "CAM9", "CAM10", "CAM11", "CAM12", "PH7", "PH8",
    }  # fmt: skip
    assert names(answer.data) == {"PR3", "WS13"}
    assert answer.redundancy == ()


def test_the_fibre_circuit_leaves_the_cellular_one_and_only_redundancy_is_lost(
    fails: Fails,
) -> None:
    answer = fails("fibre")

    assert (answer.circuits_lost, answer.circuits_left) == (("fibre",), ("cellular",))
    assert (answer.power, answer.data) == ((), ())
    assert {"SW1", "SW3", "GW1", "WS13"} <= names(answer.redundancy)


def test_the_carriers_terminal_takes_its_circuit_along(fails: Fails) -> None:
    assert fails("ONT1").circuits_lost == ("fibre",)
    assert fails("1A-B24").circuits_lost == ()  # the circuit is there, behind a cut cable
    assert "GW1" in names(fails("link 1A-B24").redundancy)


def test_a_ups_takes_what_it_feeds_and_spares_what_has_a_second_supply(fails: Fails) -> None:
    answer = fails("UPS1")

    assert {"SW1", "SW2", "REC1", "PH1", "CAM7", "MON1"} <= names(answer.power)
    assert {"GW1", "NAS1"}.isdisjoint(names(answer.power))
    assert "GW1" in names(answer.redundancy)
    assert "NAS1" in names(answer.data)  # its switch is dark
    assert chain(answer, "CAM7") == "UPS1 fails > SW2 has no power > CAM7 has no power"
    assert "REC1 records none of its 12 cameras" in answer.notes


def test_a_phone_dark_takes_the_computer_behind_it(fails: Fails) -> None:
    answer = fails("SW2")

    assert "PH6" in names(answer.power)
    assert chain(answer, "WS14") == "SW2 fails > PH6 has no power > WS14 is cut off"


def test_a_duct_between_buildings_takes_all_that_runs_in_it(fails: Fails) -> None:
    answer = fails("CD-02")

    assert answer.power == ()
    assert {"SW3", "CAM8", "PH7", "WS13"} <= names(answer.data)
    assert chain(answer, "CAM8") == "CD-02 fails > SW3 is cut off > CAM8 is cut off"


def test_a_cord_takes_the_one_thing_behind_it(fails: Fails, demo: BinderFile) -> None:
    cord_id = demo.connection.execute(
        "SELECT e.cord_id FROM cord_end e JOIN record r ON r.id = e.port_id WHERE r.name = 'SW1:13'"
    ).fetchone()[0]

    assert names(impact(demo, cord_id).affected) == {"WS4"}


def test_a_branch_circuit_is_felt_when_the_battery_is_empty(fails: Fails) -> None:
    """UPS1 lasts some 20 minutes; GW1 and NAS1 have a strip on another circuit, so that all of it
    is not on battery. After 10 minutes nothing is lost yet but a second feed."""
    soon, later = fails("LP1-12", within_min=10), fails("LP1-12")
    (ups,) = later.on_battery

    assert (soon.power, soon.data) == ((), ())
    assert {"GW1", "NAS1"} <= names(soon.redundancy)
    assert ups.name == "UPS1"
    assert 15 < (ups.minutes or 0) < 25
    assert {each.after_min for each in later.power} == {ups.minutes}
    assert chain(later, "SW1") == "LP1-12 fails > UPS1 is empty > SW1 has no power"


def test_a_battery_of_which_nothing_is_known_promises_nothing(
    demo: BinderFile, fails: Fails
) -> None:
    with Editor(demo, "M. Osei").step("forget") as step:
        step.change(failing(demo, "UPS1"), {"runtime_curve": None, "battery_wh": None})
    answer = fails("LP1-12", within_min=10)

    assert [ups.minutes for ups in answer.on_battery] == [None]
    assert "SW1" in names(answer.power)


def test_losses_are_counted_by_space_and_by_kind(fails: Fails) -> None:
    answer = fails("SW3")

    assert {t.name: (t.power, t.data) for t in answer.by_space} == {
        "201": (2, 2), "202": (2, 0), "203": (2, 0), "204": (2, 0), "206": (1, 0),
    }  # fmt: skip
    assert {t.name: t.power + t.data for t in answer.by_form} == {
        "access point": 2, "camera": 5, "phone": 2, "printer": 1, "workstation": 1,
    }  # fmt: skip


def test_the_gateway_takes_the_leases_with_it(fails: Fails) -> None:
    assert (
        "no DHCP lease is given or renewed in clinical, guest, management, staff, voice"
        in fails("GW1").notes
    )


def test_a_whole_closet_can_fail(fails: Fails) -> None:
    assert names(fails("1K-R1").affected) >= names(fails("SW3").affected)


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ("DC1", "DC1 is planned: nothing hangs on it"),
        ("Priya Nandakumar", "is a record of kind contact: what can fail is hardware, port"),
        ("SW99", "no record is named 'SW99'"),
    ],
)
def test_what_cannot_fail_is_told(fails: Fails, text: str, says: str) -> None:
    with pytest.raises(RequestError, match=says):
        fails(text)


def test_a_binder_without_circuits_reckons_to_the_gateway(demo: BinderFile, fails: Fails) -> None:
    with Editor(demo, "M. Osei").step("no circuits") as step:
        for name in ("circuit fibre", "circuit cellular"):
            nowhere = {"handoff_port": None, "carrier_equipment": None}
            step.change(failing(demo, name), nowhere)
    answer = fails("SW3")

    assert names(answer.data) == {"PR3", "WS13"}
    assert "no circuit's hand-off is recorded: ways are reckoned to the gateway" in answer.notes


# Two UPSs. --------------------------------------------------------------------------------


@pytest.fixture
def room(closet: BinderFile, add: Callable[..., int]) -> BinderFile:
    """The closet, its switch fed by UPSA and UPSB, each on a circuit of its own."""
    for letter in "AB":
        add("branch_circuit", identifier=f"LP1-{letter}", rating_a=20, voltage_v=120)
        add("hardware", identifier=f"UPS{letter}", form="UPS", space="1A")
        add("inlet", hardware=f"UPS{letter}", label="IN", branch_circuit=f"LP1-{letter}")
        add("inlet", hardware="SW1", label=f"PS{letter}", fed_by=f"UPS{letter}")
    add("inlet", hardware="GW1", label="PS", fed_by="UPSA")
    return closet


def test_of_two_upss_one_may_fail_and_only_redundancy_is_lost(room: BinderFile) -> None:
    answer = impact(room, failing(room, "UPSB"))

    assert (answer.power, answer.data) == ((), ())
    assert names(answer.redundancy) == {"SW1"}


def test_without_a_second_supply_the_gateway_and_all_data_go(room: BinderFile) -> None:
    answer = impact(room, failing(room, "UPSA"))

    assert names(answer.power) == {"GW1"}
    assert {"SW1", "PH1", "CAM1"} <= names(answer.data)
    assert chain(answer, "PH1") == "UPSA fails > GW1 has no power > SW1 is cut off > PH1 is cut off"


def test_a_jack_with_nothing_recorded_in_it_goes_dark_too(
    room: BinderFile, add: Callable[..., int]
) -> None:
    add("cord", port_a="1A-A:02", port_b="SW1:02", length_m=1)
    answer = impact(room, failing(room, "SW1"))

    assert "114-1:B" in names(answer.data)


def test_a_file_store_on_two_switches_passes_nothing_on_between_them(
    room: BinderFile, add: Callable[..., int]
) -> None:
    """SW2 hangs on SW1 by a cord; NAS1 on both: with the cord out SW2 is cut off, NAS1 is not."""
    for name, form in (("SW2", "switch"), ("NAS1", "storage")):
        add("hardware", identifier=name, form=form, space="1A")
    for hardware, label in (("SW2", "01"), ("SW2", "02"), ("NAS1", "1"), ("NAS1", "2")):
        add("port", hardware=hardware, label=label)
    cord = add("cord", port_a="SW1:04", port_b="SW2:01")
    add("cord", port_a="SW1:05", port_b="NAS1:1")
    add("cord", port_a="SW2:02", port_b="NAS1:2")
    answer = impact(room, cord)

    assert names(answer.data) == {"SW2"}
    assert names(answer.redundancy) == {"NAS1"}


def test_a_battery_feeds_nothing_through_a_strip_that_failed(
    room: BinderFile, add: Callable[..., int]
) -> None:
    """A rack burns out with the strip before a UPS and the strip behind it."""
    add("rack", identifier="1A-R2", space="1A", height_u=9)
    for name, form, values in (
        ("STRIPA", "power strip", {"rack": "1A-R2", "u_position": 1, "height_u": 1}),
        ("STRIPB", "power strip", {"rack": "1A-R2", "u_position": 2, "height_u": 1}),
        ("UPSC", "UPS", {"space": "1E", "runtime_curve": "10:60", "ups_rating_w": 100}),
        ("MON1", "other", {"space": "1E", "base_power_w": 10}),
        ("MON2", "other", {"space": "1E", "base_power_w": 10}),
    ):
        add("hardware", identifier=name, form=form, **values)
    add("inlet", hardware="STRIPA", label="IN", branch_circuit="LP1-A")
    add("inlet", hardware="UPSC", label="IN", fed_by="STRIPA")
    add("inlet", hardware="STRIPB", label="IN", fed_by="UPSC")
    add("inlet", hardware="MON1", label="IN", fed_by="STRIPB")
    add("inlet", hardware="MON2", label="IN", fed_by="UPSC")
    answer = impact(room, failing(room, "1A-R2"))
    after = {each.name: each.after_min for each in answer.power}

    assert after["MON1"] == 0
    assert after["MON2"] > 40
