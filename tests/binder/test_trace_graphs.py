"""Trace on random cabling, against networkx, a reference library for graphs.

The binder's tables are read anew into graphs here, by their meaning and not by the program's SQL:
a link joins the rears of two ports, a cord their fronts, and cable passes through connecting
hardware only.
"""

from __future__ import annotations

import contextlib
import itertools
from collections.abc import Iterator
from dataclasses import dataclass

import networkx as nx
from hypothesis import HealthCheck, assume, given, settings
from hypothesis import strategies as st

from binder.channel import Hop
from binder.file import BinderFile
from binder.trace import trace

PASSIVE = ("patch panel", "outlet", "coupler")  # cable passes from front to rear
FORMS = (*PASSIVE, "switch", "gateway", "phone", "carrier equipment")
ROLES = ("edge", "uplink")

Pair = tuple[int, int]


@dataclass(frozen=True)
class Site:
    """Hardware by form; a port as (hardware, role); links and cords as pairs of ports."""

    forms: list[str]
    ports: list[tuple[int, str]]
    links: list[Pair]
    cords: list[Pair]
    handoffs: list[int]  # ports of carrier equipment with a circuit


@st.composite
def sites(draw: st.DrawFn) -> Site:
    forms = draw(st.lists(st.sampled_from(FORMS), min_size=1, max_size=8))
    ports = [
        (hardware, "edge" if form == "carrier equipment" else draw(st.sampled_from(ROLES)))
        for hardware, form in enumerate(forms)
        for _ in range(draw(st.integers(1, 4)))
    ]
    active = [n for n, (hardware, _) in enumerate(ports) if forms[hardware] not in PASSIVE]
    passive = [n for n in range(len(ports)) if n not in active]
    carriers = [n for n in active if forms[ports[n][0]] == "carrier equipment"]
    # an active port has one cable at most, so that it is one end of one run
    by_link = draw(st.lists(st.sampled_from(active), unique=True)) if active else []
    links = _pairs(draw, passive + by_link)
    cords = _pairs(draw, passive + [port for port in active if port not in by_link])
    handoffs = draw(st.lists(st.sampled_from(carriers), unique=True)) if carriers else []
    return Site(forms, ports, links, cords, handoffs)


def _pairs(draw: st.DrawFn, ports: list[int]) -> list[Pair]:
    shuffled = draw(st.permutations(ports))
    most = draw(st.integers(0, len(ports) // 2))
    return [(shuffled[2 * n], shuffled[2 * n + 1]) for n in range(most)]


def port_id(port: int) -> int:
    return 1000 + port


@contextlib.contextmanager
def built(binder: BinderFile, site: Site) -> Iterator[None]:
    """The site in the binder, and out again: each example begins with an empty one."""
    rows = {
        "hardware (id, identifier, form, status)": [
            (1 + n, f"H{n}", form, "installed") for n, form in enumerate(site.forms)
        ],
        "port (id, hardware_id, label, role, status)": [
            (port_id(n), 1 + hardware, str(n), role, "installed")
            for n, (hardware, role) in enumerate(site.ports)
        ],
        "link (id, port_a_id, port_b_id, identifier, cable, status)": [
            (2000 + n, port_id(a), port_id(b), f"L{n}", "4-pair", "installed")
            for n, (a, b) in enumerate(site.links)
        ],
        "cord (id, port_a_id, port_b_id, identifier, status)": [
            (3000 + n, port_id(a), port_id(b), f"C{n}", "installed")
            for n, (a, b) in enumerate(site.cords)
        ],
        "circuit (id, handoff_port_id, identifier, service, status)": [
            (4000 + port, port_id(port), f"X{port}", "internet access", "installed")
            for port in site.handoffs
        ],
    }
    with contextlib.suppress(_Out), binder.writing() as connection:
        for table, values in rows.items():
            marks = ", ".join("?" * len(table.split(",")))
            connection.executemany(f"INSERT INTO {table} VALUES ({marks})", values)
        yield
        raise _Out


class _Out(Exception):
    """Leaves the transaction without a trace."""


def cabling(site: Site) -> nx.MultiGraph:
    """Ports joined by cables: each component is one run."""
    graph = nx.MultiGraph()
    graph.add_nodes_from(range(len(site.ports)))
    graph.add_edges_from((a, b, ("link", n)) for n, (a, b) in enumerate(site.links))
    graph.add_edges_from((a, b, ("cord", n)) for n, (a, b) in enumerate(site.cords))
    return graph


def upward(site: Site) -> nx.DiGraph:
    """Hardware to the hardware that its uplinks lead to."""
    runs = {port: run for run in nx.connected_components(cabling(site)) for port in run}
    graph = nx.DiGraph()
    graph.add_nodes_from(range(len(site.forms)))
    for port, (hardware, role) in enumerate(site.ports):
        form = site.forms[hardware]
        if form in PASSIVE or (role != "uplink" and form != "carrier equipment"):
            continue
        for far in runs[port] - {port}:
            far_hardware = site.ports[far][0]
            far_form = site.forms[far_hardware]
            among_carriers = form != "carrier equipment" or far_form == form
            if far_form not in PASSIVE and among_carriers:
                graph.add_edge(hardware, far_hardware)
    return graph


random_cabling = settings(
    suppress_health_check=[HealthCheck.function_scoped_fixture, HealthCheck.filter_too_much],
    max_examples=150,
    deadline=None,
)


@given(site=sites(), data=st.data())
@random_cabling
def test_a_run_is_what_the_cables_join_and_no_port_is_visited_twice(
    binder: BinderFile, site: Site, data: st.DataObject
) -> None:
    start = data.draw(st.integers(0, len(site.ports) - 1))
    graph = cabling(site)
    joined = nx.node_connected_component(graph, start)
    with built(binder, site):
        answer = trace(binder, port_id(start))
    (run,) = answer.channels
    visited = [hop.id for hop in run.hops]
    assert len(visited) == len(set(visited))
    assert set(visited) == {port_id(port) for port in joined}
    assert len(run.cables) == graph.subgraph(joined).number_of_edges()
    assert len({cable.id for cable in run.cables}) == len(run.cables)


@given(site=sites(), data=st.data())
@random_cabling
def test_every_part_of_a_run_is_next_to_the_one_it_is_cabled_to(
    binder: BinderFile, site: Site, data: st.DataObject
) -> None:
    start = data.draw(st.integers(0, len(site.ports) - 1))
    with built(binder, site):
        answer = trace(binder, port_id(start))
    for run in (*answer.channels, *answer.uplinks):
        for before, cable, after in zip(run.parts, run.parts[1:], run.parts[2:], strict=False):
            if isinstance(cable, Hop):
                continue
            pairs = site.links if cable.kind == "link" else site.cords
            ends = {port_id(port) for port in pairs[cable.id % 1000]}
            assert {before.id, after.id} == ends


def with_several_cables(site: Site) -> list[int]:
    """Active hardware that is no end device: a trace of it is one of its uplinks."""
    cabled = {port for pair in (*site.links, *site.cords) for port in pair}
    counts = [0] * len(site.forms)
    for port in cabled:
        counts[site.ports[port][0]] += 1
    return [n for n, form in enumerate(site.forms) if form not in PASSIVE and counts[n] > 1]


@given(site=sites(), data=st.data())
@random_cabling
def test_the_hardware_on_the_way_to_the_circuits_is_what_uplinks_reach(
    binder: BinderFile, site: Site, data: st.DataObject
) -> None:
    assume(with_several_cables(site))
    start = data.draw(st.sampled_from(with_several_cables(site)))
    with built(binder, site):
        answer = trace(binder, 1 + start)
    reached = nx.descendants(upward(site), start) | {start}
    on_the_way = {
        hop.hardware_id - 1 for run in answer.uplinks for hop in run.hops if not hop.is_passive
    }
    assert on_the_way | {start} == reached
    possible = {port for port in site.handoffs if site.ports[port][0] in reached}
    assert {circuit.id - 4000 for circuit in answer.circuits} <= possible
    assert bool(answer.circuits) == bool(possible)
    assert answer.circuits or answer.breaks


@given(site=sites(), data=st.data())
@random_cabling
def test_a_way_round_by_uplinks_is_told_and_nothing_else_is_called_one(
    binder: BinderFile, site: Site, data: st.DataObject
) -> None:
    assume(with_several_cables(site))
    start = data.draw(st.sampled_from(with_several_cables(site)))
    with built(binder, site):
        answer = trace(binder, 1 + start)
    graph = upward(site)
    graph.remove_edges_from(list(nx.selfloop_edges(graph)))
    graph = graph.subgraph(nx.descendants(graph, start) | {start})
    # two devices uplinked to each other by one cable are no way round
    assume(not any(graph.has_edge(b, a) for a, b in graph.edges))
    told = [says for says in answer.breaks if " > " in says]
    assert bool(told) == (not nx.is_directed_acyclic_graph(graph))
    for says in told:
        way = [int(name[1:]) for name in says.removeprefix("loop: ").split(" > ")]
        assert way[0] == way[-1]
        assert all(graph.has_edge(a, b) for a, b in itertools.pairwise(way))
