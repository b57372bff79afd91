"""Trace: the way from a jack to the circuit, and what stands in it.

Length limits are those of ANSI/TIA-568: 100 m channel, 90 m permanent link, cords by
C = (102 - H)/(1 + D) with D of TIA/EIA-568-B.1 clause 6.4.1.4 (24 and 26 AWG) and TIA-568.2-D
(28 AWG). What is connected to what is checked against networkx on generated cabling. Where no
source is named, the check is common practice without a published source.
"""

from __future__ import annotations

from collections.abc import Callable

import pytest
from wcwidth import wcswidth

from binder.errors import RequestError
from binder.file import BinderFile
from binder.find import find
from binder.path_drawing import COLUMNS
from binder.trace import Trace, path_lines, starting_point, trace

Ids = Callable[[str], int]
Add = Callable[..., int]
Change = Callable[..., None]
Traced = Callable[[str], Trace]


@pytest.fixture
def traced(closet: BinderFile, id_of: Ids) -> Traced:
    return lambda text: trace(closet, id_of(text))


def names(trace: Trace) -> list[list[str]]:
    return [[part.name for part in run.parts] for run in trace.channels]


def flags(trace: Trace) -> str:
    return "\n".join(flag for run in trace.channels for flag in run.flags)


# The way. ---------------------------------------------------------------------------------

WAY = ["PH1:1", "C-0006", "114-1:A", "1A-A01", "1A-A:01", "C-0001", "SW1:01"]


@pytest.mark.parametrize(
    "start",
    ["114-1:A", "1A-A:01", "SW1:01", "PH1:1", "link 1A-A01", "cord C-0001", "cord C-0006", "PH1"],
)
def test_from_anywhere_on_a_run_the_same_run_is_traced_the_carrier_last(
    traced: Traced, start: str
) -> None:
    assert names(traced(start)) == [WAY]


def test_a_link_arrives_at_the_rear_of_a_port_and_a_cord_at_its_front(traced: Traced) -> None:
    sides = {hop.name: hop.side for hop in traced("114-1:A").channels[0].hops}
    assert sides == {"PH1:1": "", "114-1:A": "front", "1A-A:01": "rear", "SW1:01": "front"}


def test_the_way_goes_on_by_uplinks_to_every_circuit(traced: Traced) -> None:
    answer = traced("114-1:A")
    assert [[part.name for part in run.parts] for run in answer.uplinks] == [
        ["SW1:09", "C-0003", "GW1:LAN1"],
        ["GW1:WAN1", "C-0004", "ONT1:1"],
        ["GW1:WAN2", "C-0005", "LTE1:1"],
    ]
    assert [circuit.name for circuit in answer.circuits] == ["fibre", "cellular"]
    assert answer.breaks == ()


def test_a_technician_reads_who_lives_there_the_vlan_and_the_poe_of_the_switch_port(
    traced: Traced,
) -> None:
    run = traced("1A-A:01").channels[0]
    assert (run.fed_by, run.vlan, run.poe_type) == ("SW1:01", 20, "2")
    assert run.serves == "114 Reception, front desk phone"


def test_a_circuit_is_given_with_what_support_asks_for(traced: Traced, change: Change) -> None:
    change("circuit fibre", circuit_id="LKF-2203-118-QM", support_phone="+1 312 555 0160")
    fibre = traced("SW1").circuits[0]
    assert (fibre.circuit_id, fibre.support_phone) == ("LKF-2203-118-QM", "+1 312 555 0160")
    assert fibre.through == "ONT1:1"


def test_of_an_outlet_every_cabled_jack_is_traced(traced: Traced) -> None:
    ends = [(run[0], run[-1]) for run in names(traced("114-1"))]
    assert ends == [("PH1:1", "SW1:01"), ("114-1:B", "1A-A:02")]


def test_of_a_switch_the_uplinks_are_traced(traced: Traced) -> None:
    answer = traced("SW1")
    assert answer.channels == ()
    assert [run.hops[-1].hardware for run in answer.uplinks] == ["GW1", "ONT1", "LTE1"]


def test_of_a_circuit_the_run_to_its_hand_off_port_is_traced(traced: Traced) -> None:
    answer = traced("circuit fibre")
    assert names(answer) == [["GW1:WAN1", "C-0004", "ONT1:1"]]
    assert [circuit.name for circuit in answer.circuits] == ["fibre"]


def test_carrier_equipment_with_two_circuits_gives_the_one_of_the_port_entered(
    traced: Traced, add: Add
) -> None:
    add("port", hardware="ONT1", label="2", role="hand-off")
    add(
        "circuit", identifier="voice", service="voice", handoff_port="ONT1:2",
        carrier_equipment="ONT1",
    )  # fmt: skip
    assert [circuit.name for circuit in traced("GW1:WAN1").circuits] == ["fibre"]
    assert {circuit.name for circuit in traced("ONT1:2").circuits} == {"voice"}


def test_circuits_are_reached_by_their_equipment_when_no_hand_off_port_is_recorded(
    traced: Traced, change: Change
) -> None:
    change("circuit fibre", handoff_port=None)
    assert [circuit.name for circuit in traced("GW1:WAN1").circuits] == ["fibre"]


def test_a_second_carrier_box_behind_the_first_is_followed_but_never_back_to_the_client(
    traced: Traced, add: Add, change: Change
) -> None:
    change("circuit fibre", handoff_port=None, carrier_equipment=None)
    add("hardware", identifier="ONT2", form="carrier equipment")
    add("hardware", identifier="PHONE-BOX", form="gateway")
    for name in ("ONT1:line", "ONT1:voice", "ONT2:1", "PHONE-BOX:1", "PHONE-BOX:2"):
        hardware, label = name.split(":")
        add("port", hardware=hardware, label=label)
    add("cord", port_a="ONT1:line", port_b="ONT2:1")
    add("cord", port_a="ONT1:voice", port_b="PHONE-BOX:1")
    add("circuit", identifier="line", service="internet access", carrier_equipment="ONT2")
    answer = traced("GW1:WAN1")
    assert [circuit.name for circuit in answer.circuits] == ["line"]
    assert [run.hops[-1].name for run in answer.uplinks] == ["ONT2:1"]


def test_a_telephone_with_a_second_port_leads_its_computer_on(traced: Traced, add: Add) -> None:
    add("port", hardware="PH1", label="PC")
    add("hardware", identifier="WS1", form="workstation")
    add("port", hardware="WS1", label="1")
    add("cord", port_a="WS1:1", port_b="PH1:PC")
    answer = traced("WS1")
    assert names(answer) == [["WS1:1", "C-0008", "PH1:PC"]]
    assert [part.name for part in answer.uplinks[0].parts] == WAY
    assert len(answer.circuits) == 2


# Lengths. ---------------------------------------------------------------------------------


def test_lengths_are_summed(traced: Traced) -> None:
    lengths = traced("114-1:A").channels[0].lengths
    assert (lengths.links_m, lengths.cords_m, lengths.total_m) == (38.5, 4.0, 42.5)
    assert lengths.limit_m == 100


def test_a_length_nobody_recorded_is_not_taken_as_nothing(traced: Traced, change: Change) -> None:
    change("cord C-0006", length_m=None)
    run = traced("114-1:A").channels[0]
    assert run.lengths.unknown == ("cord C-0006",)
    assert "length not recorded of cord C-0006: 39.5 m is the least" in run.flags
    assert "at least 39.5 m" in "\n".join(path_lines(traced("114-1:A"), "metric"))


@pytest.mark.parametrize(
    ("link_m", "cord_m", "says"),
    [
        (90.0, 9.0, ""),
        (90.0, 9.1, "channel 100.1 m exceeds 100 m by 0.1 m"),
        (90.1, 1.0, "link 1A-A01 90.1 m exceeds 90 m by 0.1 m"),
        (95.0, 7.2, "channel 103.2 m exceeds 100 m by 3.2 m"),
    ],
)
def test_100_m_of_channel_and_90_m_of_link_are_the_limits(
    traced: Traced, change: Change, link_m: float, cord_m: float, says: str
) -> None:
    change("link 1A-A01", length_m=link_m)
    change("cord C-0001", length_m=1.0, gauge_awg=24)
    change("cord C-0006", length_m=cord_m, gauge_awg=24)
    assert (says in flags(traced("114-1:A"))) if says else not flags(traced("114-1:A"))


@pytest.mark.parametrize(
    ("link_m", "gauge_awg", "limit_m"),
    [
        (90, 24, 10.0),  # TIA/EIA-568-B.1, 6.4.1.4
        (70, 24, 26.667),  # the same, before rounding to 27
        (90, 26, 8.0),  # the same
        (82.5, 28, 10.0),  # TIA-568.2-D, its example
        (90, 28, 6.154),  # the same formula, arithmetic
    ],
)
def test_cords_have_a_limit_by_their_gauge(
    traced: Traced, change: Change, link_m: float, gauge_awg: int, limit_m: float
) -> None:
    change("link 1A-A01", length_m=float(link_m))
    change("cord C-0001", length_m=2.0, gauge_awg=gauge_awg)
    change("cord C-0006", length_m=limit_m - 2.01, gauge_awg=gauge_awg)
    run = traced("114-1:A").channels[0]
    assert run.lengths.cords_limit_m == pytest.approx(limit_m, abs=0.001)
    assert run.flags == ()
    change("cord C-0006", length_m=limit_m - 1.9)
    assert f"total of cords of {gauge_awg} AWG" in flags(traced("114-1:A"))


def test_of_cords_of_several_gauges_the_thinnest_rules(traced: Traced, change: Change) -> None:
    change("cord C-0001", gauge_awg=24)
    change("cord C-0006", gauge_awg=28)
    assert traced("114-1:A").channels[0].lengths.cords_gauge_awg == 28


def test_a_us_binder_reads_feet(closet: BinderFile, traced: Traced, change: Change) -> None:
    change("link 1A-A01", length_m=95.0)
    change("Quillmere Veterinary Clinic", unit_system="us")
    assert "link 1A-A01 311.7 ft exceeds 295.3 ft" in flags(traced("114-1:A"))
    assert "link 1A-A01, 311.7 ft" in "\n".join(path_lines(traced("114-1:A"), "us"))


def test_no_100_m_limit_is_laid_on_fibre(traced: Traced, change: Change) -> None:
    change("link 1A-A01", cable="singlemode fibre", category="OS2", length_m=420.0)
    for cord in ("cord C-0001", "cord C-0006"):
        change(cord, cable="singlemode fibre", category="OS2", gauge_awg=None)
    change("1A-A", category=None)
    run = traced("114-1:A").channels[0]
    assert run.lengths.limit_m is None
    assert run.flags == ()
    assert run.category == "OS2"


# Category, shield, state. -----------------------------------------------------------------


def test_a_channel_is_of_its_weakest_category_and_the_weakest_part_is_named(
    traced: Traced, change: Change
) -> None:
    assert traced("114-1:A").channels[0].category == "6A"
    change("cord C-0006", category="Cat 5e")
    run = traced("114-1:A").channels[0]
    assert run.category == "5e"
    assert "categories are mixed: the whole is 5e, weakest at cord C-0006" in run.flags


def test_a_weak_panel_counts_too(traced: Traced, change: Change) -> None:
    change("1A-A", category="5e")
    assert "weakest at patch panel 1A-A" in flags(traced("114-1:A"))


def test_copper_patched_to_fibre_is_flagged(traced: Traced, change: Change) -> None:
    change("cord C-0001", cable="multimode fibre")
    assert "cable types are mixed: " in flags(traced("114-1:A"))


def test_shield_continuity_is_broken_by_one_bare_cord(traced: Traced, change: Change) -> None:
    for part in ("1A-A", "link 1A-A01", "cord C-0006"):
        change(part, shielded=True)
    assert "shield" not in flags(traced("114-1:A"))
    change("cord C-0001", shielded=False)
    says = "shield continuity is broken: not shielded at cord C-0001"
    assert says in traced("114-1:A").channels[0].flags


@pytest.mark.parametrize(
    ("named", "values", "says"),
    [
        ("link 1A-A01", {"status": "abandoned"}, "link 1A-A01 is abandoned"),
        ("cord C-0001", {"status": "planned"}, "cord C-0001 is planned"),
        ("1A-A", {"status": "planned"}, "patch panel 1A-A is planned"),
        ("1A-A:01", {"status": "removed"}, "port 1A-A:01 is removed"),
        ("1A-A:01", {"condition": "bad", "condition_reason": "bent contact, pin 4"},
         "port 1A-A:01 is bad: bent contact, pin 4"),
        ("link 1A-A01", {"termination": "mixed"},
         "link 1A-A01 has T568A at one end and T568B at the other"),
    ],
)  # fmt: skip
def test_a_doubtful_part_is_flagged(
    traced: Traced, change: Change, named: str, values: dict[str, str], says: str
) -> None:
    assert flags(traced("114-1:A")) == ""
    change(named, **values)
    assert flags(traced("114-1:A")) == says


def test_a_cord_taken_out_is_no_way(traced: Traced, change: Change) -> None:
    change("cord C-0001", status="removed")
    assert names(traced("114-1:A")) == [WAY[:5]]


def test_the_last_test_of_a_link_is_told_and_a_retest_replaces_a_failure(
    traced: Traced, add: Add
) -> None:
    def link(answer: Trace) -> tuple[str, str]:
        cable = answer.channels[0].cables[1]
        return cable.test_result, cable.tested_on

    assert link(traced("114-1:A")) == ("pass", "2026-02-02")
    failed = add("test", link="1A-A01", tested_on="2026-03-01", result="fail")
    assert link(traced("114-1:A")) == ("fail", "2026-03-01")
    assert flags(traced("114-1:A")) == "link 1A-A01 failed its last test, 2026-03-01"
    add("test", link="1A-A01", tested_on="2026-03-01", result="pass", follows=failed)
    assert link(traced("114-1:A")) == ("pass", "2026-03-01")


def test_of_strands_tested_on_one_day_the_worst_is_told(traced: Traced, add: Add) -> None:
    for strand, result in (("1", "pass"), ("2", "marginal"), ("3", "pass")):
        add("test", link="1A-A01", strand=strand, tested_on="2026-03-01", result=result)
    assert traced("114-1:A").channels[0].cables[1].test_result == "marginal"


# Breaks and loops. ------------------------------------------------------------------------


def test_a_jack_that_is_not_patched_says_where_the_way_ends(traced: Traced) -> None:
    answer = traced("114-1:B")
    assert answer.circuits == ()
    assert answer.breaks == (
        "no network hardware is reached: nothing is plugged into the front of 1A-A:02",
    )
    assert answer.channels[0].open_ends[0] == "nothing is plugged into the front of 114-1:B"


def test_a_panel_port_whose_rear_is_bare_is_told(traced: Traced, add: Add) -> None:
    add("cord", port_a="1A-A:05", port_b="SW1:05")
    assert traced("SW1:05").channels[0].open_ends == ("the rear of 1A-A:05 is not linked",)


def test_a_link_whose_far_end_nobody_recorded_ends_the_way_there(
    traced: Traced, change: Change
) -> None:
    change("link 1A-A02", port_b=None)
    answer = traced("link 1A-A02")
    assert "the far end of link 1A-A02 is not recorded" in answer.channels[0].open_ends
    assert [part.name for part in answer.channels[0].parts] == ["1A-A02", "1A-A:02"]


def test_a_switch_without_a_marked_uplink_is_told(traced: Traced, change: Change) -> None:
    change("SW1:09", role="edge")
    answer = traced("114-1:A")
    assert answer.breaks == (
        "SW1 has no port marked uplink; give its port toward the carrier the role uplink",
    )
    assert answer.circuits == ()


def test_a_switch_entered_by_its_only_uplink_has_no_other(
    traced: Traced, add: Add, change: Change
) -> None:
    change("SW1:09", role="edge")
    change("SW1:08", role="uplink")
    add("hardware", identifier="SW2", form="switch")
    for label, role in (("01", "edge"), ("02", "uplink")):
        add("port", hardware="SW2", label=label, role=role)
    add("cord", port_a="SW2:02", port_b="SW1:08")
    add("cord", port_a="SW2:01", port_b="SW1:07")
    assert any("SW1 has no other port marked uplink" in one for one in traced("SW2").breaks)


def test_an_uplink_that_leads_nowhere_is_told_though_another_leads_on(
    traced: Traced, change: Change
) -> None:
    change("SW1:08", role="uplink")
    answer = traced("114-1:A")
    assert answer.breaks == ("uplink SW1:08 leads nowhere: nothing is plugged into SW1:08",)
    assert len(answer.circuits) == 2


def test_carrier_equipment_of_no_circuit_is_told(traced: Traced, change: Change) -> None:
    change("circuit cellular", handoff_port=None)
    says = "LTE1 is carrier equipment, but no circuit names it"
    assert traced("114-1:A").breaks == (says,)


def test_switches_uplinked_in_a_ring_are_a_loop_told_once(
    traced: Traced, add: Add, change: Change
) -> None:
    for name in ("SW2", "SW3"):
        add("hardware", identifier=name, form="switch")
        add("port", hardware=name, label="in")
        add("port", hardware=name, label="up", role="uplink")
    change("cord C-0003", status="removed")
    add("cord", port_a="SW1:09", port_b="SW2:in")
    add("cord", port_a="SW2:up", port_b="SW3:in")
    add("cord", port_a="SW3:up", port_b="SW1:07")
    for start in ("114-1:A", "SW1", "SW1:09"):
        answer = traced(start)
        loops = [says for says in answer.breaks if says.startswith("loop: ")]
        assert len(loops) == 1
        assert {"SW1", "SW2", "SW3"} == set(loops[0].removeprefix("loop: ").split(" > "))
        assert answer.circuits == ()


def test_two_switches_uplinked_to_each_other_by_one_cord_are_no_loop(
    traced: Traced, add: Add
) -> None:
    add("hardware", identifier="SW2", form="switch")
    add("port", hardware="SW2", label="01", role="uplink")
    add("port", hardware="SW1", label="10", role="uplink")
    add("cord", port_a="SW2:01", port_b="SW1:10")
    answer = traced("SW2")
    assert len(answer.circuits) == 2
    assert not any("loop" in says for says in answer.breaks)


def test_cabling_that_comes_back_to_its_jack_is_a_loop_and_ends(traced: Traced, add: Add) -> None:
    add("link", identifier="BACK", port_a="1A-A:04", port_b="1A-A:05")
    add("cord", port_a="1A-A:04", port_b="1A-A:05")
    answer = traced("1A-A:04")
    assert names(answer) == [["1A-A:04", "BACK", "1A-A:05", "C-0008"]]
    assert "loop: the cabling from 1A-A:04 comes back to it" in answer.channels[0].open_ends


def test_cabling_damaged_so_that_it_leads_round_is_not_followed_for_ever(
    closet: BinderFile, id_of: Ids, traced: Traced
) -> None:
    one, two, three = (id_of(f"1A-A:{label}") for label in ("04", "05", "06"))
    with closet.writing() as connection:  # what the triggers of the file would never leave
        connection.executemany(
            "INSERT INTO link_end VALUES (?, ?, ?)",
            [(one, id_of("link 1A-A01"), two), (three, id_of("link 1A-A02"), two)],
        )
        connection.executemany(
            "INSERT INTO cord_end VALUES (?, ?, ?)",
            [(two, id_of("cord C-0001"), three), (three, id_of("cord C-0001"), two)],
        )
    assert traced("1A-A:04").circuits == ()
    assert [hit.name for hit in find(closet, "1A-A:04")] == ["1A-A:04"]


def test_a_switch_patched_to_itself_is_a_loop(traced: Traced, add: Add, change: Change) -> None:
    change("SW1:08", role="uplink")
    add("cord", port_a="SW1:08", port_b="SW1:07")
    assert "loop: SW1:08 comes back to SW1" in traced("114-1:A").breaks


# What cannot be traced. -------------------------------------------------------------------


def test_a_panel_with_many_cabled_ports_asks_for_one_of_them(traced: Traced, add: Add) -> None:
    for number in range(7, 16):
        add("port", hardware="1A-A", label=f"{number:02}")
        add("link", identifier=f"1A-A{number:02}", port_a=f"1A-A:{number:02}")
    with pytest.raises(RequestError, match=r"1A-A has 12 cabled ports; trace one .* 1A-A:01"):
        traced("hardware 1A-A")


@pytest.mark.parametrize("what", ["Priya Nandakumar", "1A-R1", "space 114"])
def test_what_is_not_of_the_cabling_is_refused_in_one_sentence(traced: Traced, what: str) -> None:
    with pytest.raises(RequestError, match="a trace begins at a port, link, cord, circuit"):
        traced(what)


@pytest.mark.parametrize("form", ["UPS", "outlet"])
def test_hardware_without_a_cable_is_refused(traced: Traced, add: Add, form: str) -> None:
    add("hardware", identifier="NEW1", form=form)
    with pytest.raises(RequestError, match="NEW1 has no port with a link or a cord"):
        traced("NEW1")


def test_a_record_that_is_gone_is_refused(closet: BinderFile) -> None:
    with pytest.raises(RequestError, match="not in the binder"):
        trace(closet, 1)


def test_what_is_typed_names_a_port_before_what_cannot_be_traced(
    closet: BinderFile, id_of: Ids, add: Add
) -> None:
    add("key", identifier="SW1")
    assert starting_point(closet, "sw1") == id_of("hardware SW1")
    assert starting_point(closet, "1a-a01") == id_of("link 1A-A01")


# The drawing. -----------------------------------------------------------------------------


def test_the_drawing_has_a_line_for_each_port_and_cable_in_order(traced: Traced) -> None:
    lines = path_lines(traced("114-1:A"), "metric")
    text = "\n".join(lines)
    places = [text.index(f" {name}") for name in WAY]
    assert places == sorted(places)
    assert "o SW1:01    switch, 1A-R1 U16, VLAN 20, PoE type 2" in lines
    assert "|   link 1A-A01, 38.5 m, 6A, 23 AWG, pass 2026-02-02" in lines


def test_a_use_that_every_port_repeats_is_drawn_once(traced: Traced, change: Change) -> None:
    for port in ("114-1:A", "1A-A:01", "SW1:01"):
        change(port, current_use="front desk phone")
    text = "\n".join(path_lines(traced("114-1:A"), "metric"))
    assert text.count("front desk phone") == 1


@pytest.mark.parametrize(
    "typed",
    [
        "\x1b]52;c;cHduZWQ=\x07",  # CWE-150: would overwrite the clipboard
        "\x9b31m red \x85 next",
        "\u202egnp.exe\u202c",
        "x" * 300,
        "\u6771\u4eac\u652f\u5e97 " * 20,  # two columns each
        "a\tb",
    ],
)
def test_no_typed_text_breaks_out_of_the_drawing(
    traced: Traced, change: Change, typed: str
) -> None:
    change("114-1:A", current_use=typed)
    change("cord C-0006", identifier=f"cord {typed}")
    change("1A-A:01", condition="bad", condition_reason=typed)
    change("PH1", identifier=f"PH {typed}")
    lines = path_lines(traced("114-1:A"), "metric")
    # wcswidth is -1 for anything a terminal would act on
    assert all(0 <= wcswidth(line) <= COLUMNS for line in lines)
    assert not any("\u202e" in line for line in lines)
