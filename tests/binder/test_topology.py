"""Topology: every device once, under what it is reached by, from the circuit to the edge."""

from __future__ import annotations

from collections.abc import Hashable

from hypothesis import given

from binder.file import BinderFile
from binder.topology import Node, Topology, topology, topology_lines, walk
from tests.binder.test_impact_graphs import (
    Site,
    built,
    hardware_in,
    random_sites,
    reached,
    sites,
    ways,
)
from tests.conftest import Add


def nodes(roots: tuple[Node, ...]) -> list[Node]:
    return [node for _, node, _ in walk(roots)]


def named(answer: Topology, name: str) -> Node:
    (found,) = [node for node in nodes(answer.trees + answer.apart) if node.name == name]
    return found


@given(site=sites())
@random_sites
def test_in_the_trees_is_what_the_graph_reaches_each_once(binder: BinderFile, site: Site) -> None:
    """Against networkx, a reference library for graphs, on the ways of data of random sites."""
    with built(binder, site):
        answer = topology(binder)
        trees = [node.id for node in nodes(answer.trees) if node.kind == "hardware"]
        apart = [node.id for node in nodes(answer.apart) if node.kind == "hardware"]
        things: set[Hashable] = {("hardware", n) for n in range(len(site.forms))}
        devices = {n + 1 for n in hardware_in(things, site)}
        assert sorted(trees + apart) == sorted(devices)
        if site.handoffs:
            assert {each - 1 for each in trees} == hardware_in(reached(ways(site)), site)
        circuits = [n.id for n in nodes(answer.trees + answer.apart) if n.kind == "circuit"]
        assert sorted(circuits) == sorted(4000 + port for port in site.handoffs)


def test_the_closet_from_the_fibre_to_the_camera(closet: BinderFile) -> None:
    answer = topology(closet)
    assert [
        (node.name, [each.name for each in node.below])
        for node in nodes(answer.trees)
        if node.below
    ] == [
        ("fibre", ["ONT1"]),
        ("ONT1", ["GW1"]),
        ("GW1", ["SW1"]),
        ("SW1", ["CAM1", "PH1"]),
        ("cellular", ["LTE1"]),
    ]
    assert answer.apart == ()
    camera = named(answer, "CAM1")
    assert camera.through == ("SW1:03", "1A-A:03", "121-1:A", "CAM1:1")
    assert (camera.form, camera.space) == ("camera", "121")


def test_what_is_reached_a_second_way_says_so_and_stands_once(closet: BinderFile) -> None:
    answer = topology(closet)
    assert named(answer, "GW1").also_via == ("LTE1",)
    assert named(answer, "LTE1").also_to == ("GW1",)


def test_the_second_circuit_of_one_device(closet: BinderFile, add: Add) -> None:
    add("circuit", identifier="fibre 2", service="internet access", handoff_port="ONT1:1")
    answer = topology(closet)
    assert named(answer, "fibre 2").also_to == ("ONT1",)
    assert named(answer, "ONT1").also_via == ("fibre 2",)


def test_a_loop_of_switches_is_one_way_and_a_second(closet: BinderFile, add: Add) -> None:
    for name in ("SW2", "SW3"):
        add("hardware", identifier=name, form="switch", space="1A")
        add("port", hardware=name, label="1")
        add("port", hardware=name, label="2")
    add("cord", port_a="SW1:04", port_b="SW2:1")
    add("cord", port_a="SW1:05", port_b="SW3:1")
    add("cord", port_a="SW2:2", port_b="SW3:2")
    answer = topology(closet)
    assert [node.name for node in named(answer, "SW1").below] == ["SW2", "SW3", "CAM1", "PH1"]
    second = named(answer, "SW2").also_via + named(answer, "SW3").also_via
    assert second in (("SW3",), ("SW2",))


def test_what_no_circuit_reaches_is_told_apart(closet: BinderFile, add: Add) -> None:
    add("hardware", identifier="SW9", form="switch", space="121")
    add("hardware", identifier="CAM9", form="camera", space="121")
    add("hardware", identifier="SRV1", form="server", space="1A")
    add("hardware", identifier="UPS1", form="UPS", space="1A")
    add("port", hardware="SW9", label="1")
    add("port", hardware="CAM9", label="1")
    add("cord", port_a="SW9:1", port_b="CAM9:1")
    add("circuit", identifier="fax", service="internet access", status="spare")
    answer = topology(closet)
    assert [node.name for node in answer.apart] == ["fax", "SW9", "SRV1"]
    assert [node.name for node in named(answer, "SW9").below] == ["CAM9"]
    assert named(answer, "SRV1").why == "no cable is recorded that leads on from it"
    assert "no hand-off port" in named(answer, "fax").why


def test_a_jack_that_is_patched_to_a_switch_and_holds_nothing(closet: BinderFile, add: Add) -> None:
    add("cord", port_a="1A-A:02", port_b="SW1:02")
    jack = named(topology(closet), "114-1:B")
    assert (jack.kind, jack.form, jack.space) == ("port", "jack, nothing in it", "114")
    assert jack.through == ("SW1:02", "1A-A:02", "114-1:B")


def test_without_a_hand_off_the_tree_begins_at_the_gateway(binder: BinderFile, add: Add) -> None:
    add("hardware", identifier="GW1", form="gateway")
    add("circuit", identifier="fibre", service="internet access")
    answer = topology(binder)
    assert [node.name for node in answer.trees] == ["GW1"]
    assert [node.name for node in answer.apart] == ["fibre"]


def test_a_long_chain_of_switches_is_told_whole(binder: BinderFile, add: Add) -> None:
    add("hardware", identifier="S0", form="gateway")
    for n in range(1, 60):
        add("hardware", identifier=f"S{n}", form="switch")
        add("port", hardware=f"S{n - 1}", label="down")
        add("port", hardware=f"S{n}", label="up")
        add("cord", port_a=f"S{n - 1}:down", port_b=f"S{n}:up")
    assert [len(path) for _, _, path in walk(topology(binder).trees)] == list(range(1, 61))


def test_as_text(closet: BinderFile) -> None:
    assert list(topology_lines(topology(closet))) == [
        "fibre  internet access, primary, Larkfen Fiber",
        "└─ ONT1  carrier equipment, 1E",
        "   └─ GW1  gateway, 1A  also via LTE1; ONT1:1 > GW1:WAN1",
        "      └─ SW1  switch, 1A  GW1:LAN1 > SW1:09",
        "         ├─ CAM1  camera, 121  SW1:03 > 1A-A:03 > 121-1:A > CAM1:1",
        "         └─ PH1  phone, 114  SW1:01 > 1A-A:01 > 114-1:A > PH1:1",
        "",
        "cellular  cellular, backup, Farlight Wireless",
        "└─ LTE1  carrier equipment, 1A  also to GW1",
        "",
        "Everything in the binder that is of the network is connected.",
    ]


def test_an_empty_binder(binder: BinderFile) -> None:
    assert list(topology_lines(topology(binder))) == [
        "No circuit, no gateway and no device of the network is recorded."
    ]
