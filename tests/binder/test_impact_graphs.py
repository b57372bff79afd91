"""Impact on random sites, against networkx, a reference library for graphs.

The site is read anew into graphs here, port by port and by its meaning: a link joins the rears of
two ports, a cord their fronts; network hardware passes data on and end devices do not; a thing has
power while a way leads to it from a source that stands.
"""

from __future__ import annotations

import contextlib
from collections.abc import Hashable, Iterator
from dataclasses import dataclass

import networkx as nx
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from binder.file import BinderFile
from binder.impact import impact

PASSIVE = ("patch panel", "outlet")
FORWARDS = ("switch", "gateway", "carrier equipment")
FORMS = (*PASSIVE, *FORWARDS, "switch", "server", "server")
OUTSIDE = "outside"

Pair = tuple[int, int]
Node = Hashable


@dataclass(frozen=True)
class Site:
    """Hardware by form; ports by hardware; cables as pairs of ports; power as (fed, feeder)."""

    forms: list[str]
    ports: list[int]
    links: list[Pair]
    cords: list[Pair]
    handoffs: list[int]
    feeds: list[Pair]


@st.composite
def sites(draw: st.DrawFn) -> Site:
    forms = ["carrier equipment", *draw(st.lists(st.sampled_from(FORMS), min_size=1, max_size=9))]
    ports = [n for n in range(len(forms)) for _ in range(draw(st.integers(1, 4)))]
    active = [n for n, hardware in enumerate(ports) if forms[hardware] not in PASSIVE]
    passive = [n for n in range(len(ports)) if n not in active]
    carriers = [n for n in active if forms[ports[n]] == "carrier equipment"]
    by_link = draw(st.lists(st.sampled_from(active), unique=True)) if active else []
    links = _pairs(draw, passive + by_link)
    cords = _pairs(draw, passive + [port for port in active if port not in by_link])
    handoffs = draw(st.lists(st.sampled_from(carriers), unique=True))
    things = [n for n, form in enumerate(forms) if form not in PASSIVE]
    feeds = (
        draw(
            st.lists(
                st.tuples(st.sampled_from(things), st.sampled_from(things)).filter(
                    lambda pair: pair[0] != pair[1]
                ),
                unique=True,
                max_size=6,
            )
        )
        if len(things) > 1
        else []
    )
    return Site(forms, ports, links, cords, handoffs, feeds)


def _pairs(draw: st.DrawFn, ports: list[int]) -> list[Pair]:
    shuffled = draw(st.permutations(ports))
    most = draw(st.integers(len(ports) // 4, len(ports) // 2))  # else hardly two ways anywhere
    return [(shuffled[2 * n], shuffled[2 * n + 1]) for n in range(most)]


@contextlib.contextmanager
def built(binder: BinderFile, site: Site) -> Iterator[None]:
    """The site in the binder, and out again: each example begins with an empty one."""
    there = "installed"
    rows = {
        "hardware (id, identifier, form, status)": [
            (1 + n, f"H{n}", form, there) for n, form in enumerate(site.forms)
        ],
        "port (id, hardware_id, label, role, poe_type, status)": [
            (1000 + n, 1 + hardware, str(n), "edge", "none", there)
            for n, hardware in enumerate(site.ports)
        ],
        "link (id, port_a_id, port_b_id, identifier, cable, status)": [
            (2000 + n, 1000 + a, 1000 + b, f"L{n}", "4-pair", there)
            for n, (a, b) in enumerate(site.links)
        ],
        "cord (id, port_a_id, port_b_id, identifier, status)": [
            (3000 + n, 1000 + a, 1000 + b, f"C{n}", there) for n, (a, b) in enumerate(site.cords)
        ],
        "circuit (id, handoff_port_id, identifier, service, status)": [
            (4000 + port, 1000 + port, f"X{port}", "internet access", there)
            for port in site.handoffs
        ],
        "inlet (id, hardware_id, fed_by_id, label, status)": [
            (5000 + n, 1 + fed, 1 + feeder, str(n), there)
            for n, (fed, feeder) in enumerate(site.feeds)
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


def powered(site: Site, failed: int | None) -> set[int]:
    """Hardware that a way leads to from a source: from what nothing feeds."""
    graph = nx.DiGraph()
    graph.add_nodes_from(range(len(site.forms)))
    graph.add_edges_from((feeder, fed) for fed, feeder in site.feeds)
    sources = [node for node in graph if graph.in_degree(node) == 0 and node != failed]
    if failed is not None:
        graph.remove_node(failed)
    return set(sources).union(*(nx.descendants(graph, source) for source in sources))


def ways(site: Site) -> nx.DiGraph:
    """Ways of data from outside: circuits, ports, cables and hardware are nodes."""
    graph = nx.DiGraph()
    graph.add_node(OUTSIDE)
    for port, hardware in enumerate(site.ports):
        if site.forms[hardware] in PASSIVE:
            continue
        graph.add_edge(("port", port), ("hardware", hardware))
        if site.forms[hardware] in FORWARDS:
            graph.add_edge(("hardware", hardware), ("port", port))
    for kind, cables in (("link", site.links), ("cord", site.cords)):
        for number, (a, b) in enumerate(cables):
            for port in (a, b):
                graph.add_edge(("port", port), (kind, number))
                graph.add_edge((kind, number), ("port", port))
    for port in site.handoffs:
        graph.add_edge(OUTSIDE, ("circuit", port))
        hardware = site.ports[port]
        carrier_own = site.forms[hardware] == "carrier equipment"  # its circuits come through it
        graph.add_edge(("circuit", port), ("hardware", hardware) if carrier_own else ("port", port))
    return graph


def without(site: Site, failed: Node, dead: set[int]) -> nx.DiGraph:
    """The same without what failed and what has no power; panels fail with all their ports."""
    graph = ways(site)
    gone: set[Node] = {failed, *(("hardware", hardware) for hardware in dead)}
    for kind, number in [node for node in gone if isinstance(node, tuple)]:
        if kind == "hardware" and site.forms[number] == "carrier equipment":
            gone |= {("circuit", port) for port in site.handoffs if site.ports[port] == number}
        if kind == "hardware":
            gone |= {("port", n) for n, owner in enumerate(site.ports) if owner == number}
        if kind == "port" and number in site.handoffs:
            gone.add(("circuit", number))
    graph.remove_nodes_from(gone)
    return graph


def reached(graph: nx.DiGraph) -> set[Node]:
    return nx.descendants(graph, OUTSIDE)


def single_points(graph: nx.DiGraph) -> dict[Node, set[Node]]:
    """What each node reached cannot be reached without."""
    nearest = nx.immediate_dominators(graph, OUTSIDE)
    nearest[OUTSIDE] = OUTSIDE
    found: dict[Node, set[Node]] = {}
    for node in nearest:
        points, at = set(), node
        while at != OUTSIDE:
            points.add(at)
            at = nearest[at]
        found[node] = points
    return found


def hardware_in(nodes: set[Node], site: Site) -> set[int]:
    return {
        node[1]
        for node in nodes
        if isinstance(node, tuple) and node[0] == "hardware" and site.forms[node[1]] not in PASSIVE
    }


def told(affected: tuple[object, ...]) -> set[int]:
    """Hardware named in the answer; jacks are left out."""
    return {each.id - 1 for each in affected if each.kind == "hardware"}  # type: ignore[attr-defined]


IDS = {"hardware": 1, "port": 1000, "link": 2000, "cord": 3000, "circuit": 4000}

random_sites = settings(
    suppress_health_check=[HealthCheck.function_scoped_fixture, HealthCheck.filter_too_much],
    max_examples=250,
    deadline=None,
)


def anything(site: Site, data: st.DataObject) -> tuple[str, int]:
    """One thing of the site that can fail."""
    can = [("hardware", n) for n in range(len(site.forms))]
    can += [("port", n) for n in range(len(site.ports))]
    can += [("link", n) for n in range(len(site.links))]
    can += [("cord", n) for n in range(len(site.cords))]
    can += [("circuit", port) for port in site.handoffs]
    return data.draw(st.sampled_from(can))


@given(site=sites(), data=st.data())
@random_sites
def test_power_data_and_redundancy_are_those_of_the_graph(
    binder: BinderFile, site: Site, data: st.DataObject
) -> None:
    failed = anything(site, data)
    kind, number = failed
    with built(binder, site):
        answer = impact(binder, IDS[kind] + number)
    hit = number if kind == "hardware" else None
    everything = {n for n, form in enumerate(site.forms) if form not in PASSIVE}
    fed = {fed for fed, _ in site.feeds}
    dead = (everything - powered(site, hit)) & fed - {hit}
    before, after = ways(site), without(site, failed, dead)

    assert told(answer.power) == dead
    if not site.handoffs:
        return
    cut = hardware_in(reached(before) - reached(after), site) - dead - {hit}
    assert told(answer.data) == cut
    points, points_then = single_points(before), single_points(after)
    weaker = {
        n
        for n in hardware_in(reached(after), site)
        if ("hardware", n) in points and points_then["hardware", n] - points["hardware", n]
    }
    twice = {n for n in fed - dead - {hit} if one_feed_gone(site, n, hit)}
    assert told(answer.redundancy) == weaker | (twice - cut)


def one_feed_gone(site: Site, hardware: int, hit: int | None) -> bool:
    feeders = {feeder for fed, feeder in site.feeds if fed == hardware}
    alive = powered(site, hit)
    return len(feeders) > 1 and bool(feeders & alive) and bool(feeders - alive)


@given(site=sites(), data=st.data())
@random_sites
def test_circuits_left_are_those_that_still_come_in(
    binder: BinderFile, site: Site, data: st.DataObject
) -> None:
    failed = anything(site, data)
    kind, number = failed
    hit = number if kind == "hardware" else None
    everything = {n for n, form in enumerate(site.forms) if form not in PASSIVE}
    dead = (everything - powered(site, hit)) & {fed for fed, _ in site.feeds}
    with built(binder, site):
        answer = impact(binder, IDS[kind] + number)
    graph = without(site, failed, dead)

    left = {f"X{port}" for port in site.handoffs if ("circuit", port) in graph}
    assert set(answer.circuits_left) == left
