"""When planned hardware comes, told at everything that it will load."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator, Mapping

from binder.headroom.mains import PowerTree
from binder.headroom.source import Source
from binder.headroom.tables import Hardware


def planned_days(source: Source, tree: PowerTree) -> Mapping[int, str]:
    """Record id -> the first day on which planned hardware of a known day loads it.

    Its rack and room, its recorder, the panels and switches on its way and the pathways of its
    planned cables, the networks it joins, and what feeds any of it: strips, UPSs, circuits.
    """
    dated = {
        hardware.id: hardware
        for hardware in source.hardware.values()
        if hardware.is_planned and hardware.installed_on
    }
    found: dict[int, str] = {}
    if not dated:
        return found
    cabled = _cabled(source, set(dated))
    for hardware in dated.values():
        day = hardware.installed_on or ""
        for record_id in _loaded(source, tree, hardware, cabled[hardware.id]):
            found[record_id] = min(day, found.get(record_id, day))
    return found


def _loaded(source: Source, tree: PowerTree, planned: Hardware, cabled: set[int]) -> Iterator[int]:
    yield from cabled
    yield from filter(None, (planned.rack_id, planned.space_id, planned.recorder_id))
    yield from (a.subnet_id for a in source.addresses
                if a.hardware_id == planned.id and a.subnet_id is not None)  # fmt: skip
    supplying = {fed.way.hardware_id for fed in tree.feeds.taken_by(planned.id, planned=True)}
    circuits, feeding = _upstream(tree, {planned.id, *supplying})
    yield from circuits
    yield from feeding
    for record_id in supplying | feeding:
        hardware = source.hardware.get(record_id)
        if hardware is not None and hardware.space_id is not None:
            yield hardware.space_id  # what they lose on the way is heat where they are


def _upstream(tree: PowerTree, fed: set[int]) -> tuple[set[int], set[int]]:
    """The branch circuits that these hang on, and the hardware between."""
    circuits: set[int] = set()
    feeding: set[int] = set()
    waiting = set(fed)
    while waiting:
        for inlet in tree.inlets.get(waiting.pop(), ()):
            if inlet.branch_circuit_id is not None:
                circuits.add(inlet.branch_circuit_id)
            elif inlet.fed_by_id is not None and inlet.fed_by_id not in feeding:
                feeding.add(inlet.fed_by_id)
                waiting.add(inlet.fed_by_id)
    return circuits, feeding


def _cabled(source: Source, planned: set[int]) -> dict[int, set[int]]:
    """What is passed on the way from the ports of each: hardware, subnets, pathways."""
    by_vlan = {s.vlan: s.id for s in source.subnets.values() if s.vlan is not None}
    links: defaultdict[int, list[int]] = defaultdict(list)
    for laid in source.laid:
        if laid.status == "planned":
            links[laid.link_id].append(laid.pathway_id)
    starts = {hop.start: hop.hardware_id for hop in source.hops
              if hop.step == 0 and hop.hardware_id in planned}  # fmt: skip
    found: defaultdict[int, set[int]] = defaultdict(set)
    for hop in source.hops:
        if (hardware_id := starts.get(hop.start)) is None or hop.hardware_id == hardware_id:
            continue
        passed = found[hardware_id]
        if hop.hardware_id is not None:
            passed.add(hop.hardware_id)
        if hop.vlan in by_vlan:
            passed.add(by_vlan[hop.vlan])
        if hop.along == "link" and hop.cable_id is not None:
            passed.update(links.get(hop.cable_id, ()))
    return found
