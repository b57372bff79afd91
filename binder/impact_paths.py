"""Ways to the carriers in the graph: what is reached without some things, and single points.

A device is reached when a way leads to it from a circuit through devices that pass data on. A
single point of a device is one that every such way goes through: a dominator in the graph (Lengauer
and Tarjan 1979; by the iteration of Cooper, Harvey and Kennedy 2001).
"""

from __future__ import annotations

from collections import deque
from collections.abc import Collection, Iterator
from typing import NamedTuple

from binder.impact_graph import Network, Run

OUTSIDE = 0  # the node from which every circuit comes in


class Step(NamedTuple):
    """How a device or jack was first reached: from which device over which run. At the first
    device, from a circuit and without a run."""

    from_id: int
    run: Run | None


class Reached(NamedTuple):
    """Every device and jack reached, the nearest first; `is_tree` when there is but one way to
    each, so that no failure takes a second way from anything."""

    steps: dict[int, Step]
    circuits: tuple[int, ...]
    is_tree: bool


def reach(network: Network, failed: Collection[int], dead: Collection[int]) -> Reached:
    """What data reaches when `failed` (of any kind) have failed and devices in `dead` have no
    power."""
    failed = frozenset(failed)
    lost = failed.union(dead)
    steps: dict[int, Step] = {}
    roots = network.roots(lost)
    is_tree = len(roots) < 2
    waiting: deque[int] = deque()
    for circuit_id, device_id in roots:
        if device_id not in steps:
            steps[device_id] = Step(circuit_id, None)
            waiting.append(device_id)
    while waiting:
        device_id = waiting.popleft()
        if device_id not in network.forwards and steps[device_id].run is not None:
            continue
        came = steps[device_id].run
        for run in network.runs_of.get(device_id, ()):
            if run is came or (failed and not failed.isdisjoint(run.parts)):
                continue
            other = run.other(device_id)
            if other in steps:
                is_tree = False
            elif other not in lost:
                steps[other] = Step(device_id, run)
                waiting.append(other)
    return Reached(steps, tuple(circuit for circuit, _ in roots if circuit), is_tree)


def weakened(
    network: Network, failed: Collection[int], dead: Collection[int], before: Reached
) -> set[int]:
    """What still has a way but now has a single point that it had not."""
    if before.is_tree:
        return set()
    points_before = single_points(network, (), ())
    points_after = single_points(network, failed, dead)
    return {
        node
        for node, points in points_after.items()
        if node in before.steps and points > points_before[node]
    }


def single_points(
    network: Network, failed: Collection[int], dead: Collection[int]
) -> dict[int, int]:
    """How many things each device or jack cannot do without, itself counted.

    Devices, runs of cable and circuits are counted alike.
    """
    graph = _Graph(network, frozenset(failed), frozenset(failed) | frozenset(dead))
    return {node: depth for node, depth in graph.depths().items() if not isinstance(node, tuple)}


_Node = int | tuple[int, ...]  # a device, jack or circuit by its id; a run by its parts


class _Graph:
    """From outside to every device, runs and circuits being nodes of their own."""

    def __init__(self, network: Network, failed: frozenset[int], lost: frozenset[int]) -> None:
        self.network, self.failed, self.lost = network, failed, lost
        self.entries = network.roots(lost)
        self.order = self._order()
        self.place = {node: at for at, node in enumerate(self.order)}

    def onward(self, node: _Node) -> Iterator[_Node]:
        if node == OUTSIDE:
            yield from (-circuit if circuit else device for circuit, device in self.entries)
        elif isinstance(node, tuple):
            yield from (end for end in (node[0], node[1]) if end not in self.lost)
        elif node < 0:
            yield from (device for circuit, device in self.entries if circuit == -node)
        elif node in self.network.forwards or any(device == node for _, device in self.entries):
            for run in self.network.runs_of.get(node, ()):
                if self.failed.isdisjoint(run.parts):
                    yield (run.device_id, run.far_id, *run.parts)

    def _order(self) -> list[_Node]:
        """Reverse postorder from outside."""
        seen: set[_Node] = {OUTSIDE}
        post: list[_Node] = []
        stack: list[tuple[_Node, Iterator[_Node]]] = [(OUTSIDE, self.onward(OUTSIDE))]
        while stack:
            node, onward = stack[-1]
            for following in onward:
                if following not in seen:
                    seen.add(following)
                    stack.append((following, self.onward(following)))
                    break
            else:
                stack.pop()
                post.append(node)
        return post[::-1]

    def depths(self) -> dict[_Node, int]:
        """Every node reached, with the number of its dominators."""
        above: list[list[int]] = [[] for _ in self.order]
        for at, node in enumerate(self.order):
            for following in self.onward(node):
                above[self.place[following]].append(at)
        nearest = [0] + [-1] * (len(self.order) - 1)
        changed = True
        while changed:
            changed = False
            for at in range(1, len(self.order)):
                known = [one for one in above[at] if nearest[one] >= 0]
                found = known[0]
                for other in known[1:]:
                    found = _meet(nearest, found, other)
                if nearest[at] != found:
                    nearest[at], changed = found, True
        depths = [0] * len(self.order)
        for at in range(1, len(self.order)):
            depths[at] = depths[nearest[at]] + 1
        return {node: depths[at] for at, node in enumerate(self.order)}


def _meet(nearest: list[int], one: int, other: int) -> int:
    """The last dominator that two nodes share."""
    while one != other:
        while one > other:
            one = nearest[one]
        while other > one:
            other = nearest[other]
    return one
