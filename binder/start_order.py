"""In what order things are started, and stopped in the opposite one.

From the graph of impact: a thing comes after what feeds it, after the hardware between it and the
carrier, and a camera after its recorder. Where that runs in a ring, it is told, and the ring is
opened at its weakest place: who records whom, then data, last power.
"""

from __future__ import annotations

from collections.abc import Collection, Iterator, Mapping
from dataclasses import dataclass
from graphlib import CycleError, TopologicalSorter
from itertools import pairwise
from typing import Final

from binder.file import BinderFile
from binder.identifiers import natural_key
from binder.impact import failing, impact
from binder.impact_graph import Network
from binder.impact_paths import reach
from binder.read import names

_POWER: Final = ("UPS", "power strip")  # works whether its network card is reached or not
_WHY: Final = ("is fed by", "is reached through", "is recorded by")  # the strongest first


@dataclass(frozen=True, slots=True)
class Item:
    """Something to switch, and what it waits for."""

    id: int
    name: str
    form: str
    space: str
    after: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Order:
    """Stages to start in, each when the one before it is up; to stop, go through them backwards.

    `rings` are sentences on things that wait for each other.
    """

    about: str
    stages: tuple[tuple[Item, ...], ...]
    rings: tuple[str, ...]


def start_order(binder: BinderFile, text: str = "") -> Order:
    """The order of everything, or of what `text` names and all that hangs on it.

    Raises RequestError as `binder.impact.impact` does.
    """
    return order_of(binder, failing(binder, text) if text else None)


def order_of(binder: BinderFile, record_id: int | None) -> Order:
    """The order of everything, or of a record's thing and all that hangs on it."""
    with binder.reading() as connection:
        network = Network(connection)
        chosen = set(network.form_of) & (network.devices.keys() | _feeding(network))
        about = ""
        if record_id is not None:
            answer = impact(binder, record_id)
            about = answer.name
            chosen &= {answer.id, *(each.id for each in answer.power + answer.data)}
        waits = _waits(network, chosen)
        called = {node: named.name for node, named in names(binder, _all(network, chosen)).items()}
    rings = tuple(_opened(waits, called))
    return Order(about, tuple(_stages(network, waits, called)), rings)


def _feeding(network: Network) -> set[int]:
    return {feeder for feeders in network.inlets.values() for feeder in feeders}


def _all(network: Network, chosen: Collection[int]) -> set[int]:
    return {*chosen, *(space for space in network.space_of.values() if space is not None)}


_Waits = dict[int, dict[int, int]]  # thing -> what it waits for -> place of the reason in _WHY


def _waits(network: Network, chosen: Collection[int]) -> _Waits:
    waits: _Waits = {thing: {} for thing in chosen}
    level = _levels(network)
    for thing in chosen:
        device = network.devices.get(thing)
        if device and device.recorder_id is not None:
            waits[thing][device.recorder_id] = 2
        runs = () if network.form_of[thing] in _POWER else network.runs_of.get(thing, ())
        for run in runs:
            other = run.other(thing)
            if other in network.forwards and level.get(other, 1) < level.get(thing, 0):
                waits[thing][other] = 1
        for giver, _ in network.offered.get(thing, ()):
            waits[thing][giver] = 0
        for feeder in network.inlets.get(thing, ()):
            waits[thing][feeder] = 0
        waits[thing] = {other: why for other, why in waits[thing].items() if other in chosen}
    return waits


def _levels(network: Network) -> dict[int, int]:
    """How many devices lie between each device and the carrier."""
    level: dict[int, int] = {}
    for node, step in reach(network, (), ()).steps.items():
        level[node] = 0 if step.run is None else level[step.from_id] + 1
    return level


def _opened(waits: _Waits, called: Mapping[int, str]) -> Iterator[str]:
    """Open every ring; a sentence on each."""
    while True:
        try:
            TopologicalSorter(waits).prepare()
        except CycleError as error:
            ring: list[int] = error.args[1]  # each waits for the one before it
            pairs = [(later, first) for first, later in pairwise(ring)]
            later, first = max(pairs, key=lambda pair: waits[pair[0]][pair[1]])
            why = ", ".join(f"{called[a]} {_WHY[waits[a][b]]} {called[b]}" for a, b in pairs)
            del waits[later][first]
            yield f"{why}: start {called[later]} before {called[first]} is up"
        else:
            return


def _stages(
    network: Network, waits: _Waits, called: Mapping[int, str]
) -> Iterator[tuple[Item, ...]]:
    sorter = TopologicalSorter(waits)
    sorter.prepare()
    while sorter.is_active():
        ready = sorter.get_ready()
        items = (_item(network, node, waits[node], called) for node in ready)
        yield tuple(sorted(items, key=lambda item: natural_key(item.name)))
        sorter.done(*ready)


def _item(network: Network, node: int, waits: Mapping[int, int], called: Mapping[int, str]) -> Item:
    space = network.space_of.get(node)
    return Item(
        node,
        called[node],
        network.form_of[node],
        called[space] if space is not None else "",
        tuple(sorted((called[other] for other in waits), key=natural_key)),
    )
