"""Topology: the network from the carriers' circuits to the edge, as trees.

Under each circuit hangs the device it is handed off at, under that what it leads on to, down to
access points, cameras and telephones. What is reached a second way stands where it is reached in
the fewest steps, and says 'also via'; what no circuit reaches is told apart. The graph is that of
impact (`binder.impact_graph`): only what is there carries anything.
"""

from __future__ import annotations

from collections import deque
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from typing import Any, Final, Literal

from binder.file import BinderFile
from binder.identifiers import natural_key
from binder.impact_graph import Network, Run
from binder.path_sql import network_rank

_OFF_THE_NETWORK: Final = ("UPS", "power strip")  # apart only where a cable makes them part of it

Key = int  # the id of a device, or of the port of a jack


@dataclass(frozen=True, slots=True)
class Node:
    """A circuit, a device, or a jack with nothing recorded in it, and what hangs on it.

    `kind` is that of its record. `through` are the names of the ports on the way from the one
    above, its own last. `also_via` names what it is reached by besides; `also_to` what it leads to
    that stands elsewhere in the trees. `why` tells of what is apart why it is.
    """

    id: int
    kind: Literal["circuit", "hardware", "port"]
    name: str
    form: str
    space: str
    through: tuple[str, ...] = ()
    also_via: tuple[str, ...] = ()
    also_to: tuple[str, ...] = ()
    why: str = ""
    below: tuple[Node, ...] = ()


@dataclass(frozen=True, slots=True)
class Topology:
    """`trees` begin at the circuits (at the gateways, where no hand-off is recorded). In `apart`
    is what none of them reaches: circuits, devices alone, and trees of devices."""

    trees: tuple[Node, ...]
    apart: tuple[Node, ...]


def topology(binder: BinderFile) -> Topology:
    """The network as it stands, read in one consistent view."""
    with binder.reading() as connection:
        network = Network(connection)
        plain = connection.cursor()
        plain.row_factory = None
        words = _Words(
            dict(plain.execute(_NAMES).fetchall()),
            dict(plain.execute(_SPACES).fetchall()),
            {row[0]: row[1:] for row in plain.execute(_CIRCUITS)},
        )
    return _Trees(network, words).told()


def walk(roots: Iterable[Node]) -> Iterator[tuple[str, Node, tuple[int, ...]]]:
    """Each node from the top down: the lines drawn before it, itself, and the ids down to it."""
    stack: list[tuple[str, str, Node, tuple[int, ...]]]
    stack = [("", "", node, (node.id,)) for node in reversed(tuple(roots))]
    while stack:
        lead, below, node, path = stack.pop()
        yield lead, node, path
        for number, inner in enumerate(reversed(node.below)):
            mark, rest = ("└─ ", "   ") if number == 0 else ("├─ ", "│  ")
            stack.append((f"{below}{mark}", f"{below}{rest}", inner, (*path, inner.id)))


def topology_lines(answer: Topology) -> Iterator[str]:
    """The trees as text, a line each; text is as typed, for whoever shows it to make safe."""
    for root in answer.trees:
        yield from (f"{lead}{words(node)}" for lead, node, _ in walk([root]))
        yield ""
    if answer.apart:
        yield "Not connected to any circuit:"
        yield from (f"{lead}{words(node)}" for lead, node, _ in walk(answer.apart))
    elif answer.trees:
        yield "Everything in the binder that is of the network is connected."
    else:
        yield "No circuit, no gateway and no device of the network is recorded."


def words(node: Node) -> str:
    """A node in one line: 'SW1  switch, 1A  SW1:09 > GW1:LAN1'."""
    return "  ".join(filter(None, (node.name, about(node), way(node))))


def about(node: Node) -> str:
    """What it is and where."""
    return ", ".join(filter(None, (node.form, node.space)))


def way(node: Node) -> str:
    """Other ways, the ports it is reached through, and why it is apart."""
    via = f"also via {', '.join(node.also_via)}" if node.also_via else ""
    to = f"also to {', '.join(node.also_to)}" if node.also_to else ""
    return "; ".join(filter(None, (via, to, " > ".join(node.through), node.why)))


# Making the trees. ------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class _Words:
    names: dict[int, str]
    spaces: dict[int, str]
    circuits: dict[int, tuple[str, str, str, bool]]  # service, role, provider, has a hand-off

    def space(self, space_id: int | None) -> str:
        return self.spaces.get(space_id, "") if space_id is not None else ""


class _Trees:
    """Every device and jack under one parent, the fewest steps from a circuit."""

    def __init__(self, network: Network, words: _Words) -> None:
        self.network, self.words = network, words
        self.came: dict[Key, Run | None] = {}  # by which run; None at the top of a tree
        self.above: dict[Key, Key] = {}
        self.below: dict[Key, list[Key]] = {}
        self.steps: dict[Key, int] = {}
        self.also_via: dict[Key, list[Key]] = {}
        self.also_to: dict[Key, list[Key]] = {}
        self.second: dict[Key, list[int]] = {}  # circuits handed off at a device besides the first
        self.jacks: set[Key] = set()

    def told(self) -> Topology:
        roots = sorted(self.network.roots(), key=self._main_first)
        entered: dict[Key, int] = {}
        for circuit_id, device_id in roots:
            if device_id in entered:
                self.second.setdefault(device_id, []).append(circuit_id)
            else:
                entered[device_id] = circuit_id
        self._spread(entered)
        trees = tuple(self._root(circuit, device, entered) for circuit, device in roots)
        return Topology(trees, tuple(self._apart()))

    def _main_first(self, root: tuple[int, Key]) -> tuple[bool, Any]:
        circuit_id, device_id = root
        is_main = bool(circuit_id) and self.words.circuits[circuit_id][1] == "primary"
        return not is_main, self._by_name(circuit_id or device_id)

    def _spread(self, tops: Iterable[Key]) -> None:
        """Reach whatever leads on from these, breadth first."""
        network, waiting = self.network, deque[Key]()
        for top in tops:
            self.came[top], self.steps[top] = None, 0
            waiting.append(top)
        seen: set[tuple[int, ...]] = set()
        while waiting:
            at = waiting.popleft()
            if at not in network.forwards and self.came[at] is not None:
                continue
            for run in network.runs_of.get(at, ()):
                if run.parts in seen:
                    continue
                seen.add(run.parts)
                self._take(at, run, waiting)

    def _take(self, at: Key, run: Run, waiting: deque[Key]) -> None:
        far = run.other(at)
        if far in self.came:
            lower, upper = (at, far) if self.steps[at] > self.steps[far] else (far, at)
            self.also_via.setdefault(lower, []).append(upper)
            self.also_to.setdefault(upper, []).append(lower)
            return
        self.came[far], self.above[far] = run, at
        self.steps[far] = self.steps[at] + 1
        self.below.setdefault(at, []).append(far)
        if run.is_jack:
            self.jacks.add(far)
        else:
            waiting.append(far)

    def _root(self, circuit_id: int, device_id: Key, entered: dict[Key, int]) -> Node:
        if not circuit_id:  # no hand-off is recorded: the tree begins at a gateway
            return self._node(device_id)
        if entered[device_id] == circuit_id:
            return self._circuit(circuit_id, below=(self._node(device_id),))
        return self._circuit(circuit_id, also_to=(self.words.names[device_id],))

    def _circuit(
        self,
        circuit_id: int,
        *,
        below: tuple[Node, ...] = (),
        also_to: tuple[str, ...] = (),
        why: str = "",
    ) -> Node:
        service, role, provider, _ = self.words.circuits[circuit_id]
        form = ", ".join(filter(None, (service, role, provider)))
        name = self.words.names[circuit_id]
        return Node(circuit_id, "circuit", name, form, "", (), (), also_to, why, below)

    def _node(self, top: Key, why: str = "") -> Node:
        """The tree from a device down, made from its leaves up: it may be deep."""
        order, made = [top], dict[Key, Node]()
        for key in order:
            order += self.below.get(key, ())
        for key in reversed(order):
            inner = sorted((made.pop(k) for k in self.below.get(key, ())), key=_rank)
            made[key] = self._bare(key, tuple(inner), why if key == top else "")
        return made[top]

    def _bare(self, key: Key, below: tuple[Node, ...], why: str) -> Node:
        network, names = self.network, self.words.names
        if key in self.jacks:
            owner = network.owner_of.get(key)
            space = self.words.space(network.space_of.get(owner)) if owner else ""
            return Node(key, "port", names[key], "jack, nothing in it", space, self._through(key))
        device = network.devices[key]
        circuits = [names[each] for each in self.second.get(key, ())]
        return Node(
            key, "hardware", names[key], device.form, self.words.space(device.space_id),
            self._through(key),
            (*self._named(self.also_via.get(key, ())), *circuits),
            self._named(self.also_to.get(key, ())), why, below,
        )  # fmt: skip

    def _named(self, keys: Iterable[Key]) -> tuple[str, ...]:
        found = {self.words.names[key] for key in keys}
        return tuple(sorted(found, key=natural_key))

    def _through(self, key: Key) -> tuple[str, ...]:
        """The ports of the run from the one above, its own last."""
        run = self.came.get(key)
        if run is None:
            return ()
        ports = [part for part in run.parts if part in self.network.owner_of]
        if run.device_id == key:
            ports.reverse()
        return tuple(self.words.names[port] for port in ports)

    # Apart. -------------------------------------------------------------------------------

    def _apart(self) -> Iterator[Node]:
        shown = {circuit_id for circuit_id, _ in self.network.roots()}
        for circuit_id in sorted(self.words.circuits, key=self._by_name):
            if circuit_id not in shown:
                yield self._circuit(circuit_id, why=self._why_not(circuit_id))
        for top in sorted(self.network.devices, key=self._nearest_the_carrier):
            if top in self.came or self._is_off(top):
                continue
            self._spread([top])
            yield self._node(top, "" if self.below.get(top) else self._why_alone(top))

    def _by_name(self, record_id: int) -> Any:
        return natural_key(self.words.names[record_id])

    def _nearest_the_carrier(self, device_id: int) -> tuple[int, Any]:
        """Of devices joined to one another, what leads on comes before what is led to."""
        leads = device_id in self.network.forwards
        rank = network_rank(self.network.devices[device_id].form)
        return (-rank if leads else 1, self._by_name(device_id))

    def _is_off(self, device_id: int) -> bool:
        form = self.network.devices[device_id].form
        return form in _OFF_THE_NETWORK and not self.network.runs_of.get(device_id)

    def _why_not(self, circuit_id: int) -> str:
        if not self.words.circuits[circuit_id][3]:
            return "no hand-off port and no carrier equipment is recorded"
        if circuit_id not in {circuit.id for circuit in self.network.circuits}:
            return "it does not lead into the network"
        return ""

    def _why_alone(self, device_id: int) -> str:
        if not self.network.runs_of.get(device_id):
            return "no cable is recorded that leads on from it"
        return ""


def _rank(node: Node) -> tuple[bool, int, str, Any]:
    """Switches first, then access points, then end devices by kind and name; jacks last."""
    return (
        node.kind == "port",
        -network_rank(node.form),
        node.form.casefold(),
        natural_key(node.name),
    )


_NAMES: Final = "SELECT id, name FROM record WHERE kind IN ('hardware', 'port', 'circuit')"
_SPACES: Final = "SELECT id, name FROM record WHERE kind = 'space'"
_CIRCUITS: Final = """
SELECT id, service, coalesce(role, ''), coalesce(provider, ''),
  handoff_port_id IS NOT NULL OR carrier_equipment_id IS NOT NULL
FROM circuit WHERE status IN ('installed', 'spare')"""
