"""Power: from the branch circuit through UPS and strip to the device."""

from __future__ import annotations

from collections.abc import Mapping

from binder.read import Record
from exporters.contents import outage
from exporters.contents.parts import Column, joined, schedule
from exporters.drawings.tree import Branch, Tree
from exporters.model import NOTHING, Block, Drawing, Paragraph, Part, Section
from exporters.source import Source


def power(source: Source) -> Section:
    circuit = Column(
        "Circuit",
        lambda b: joined(
            source.shown(b, "rating_a"), source.shown(b, "voltage_v"),
            f"{b['phases']} phases" if (b["phases"] or 1) > 1 else "",
        ),
        ("rating_a", "voltage_v", "phases"),
    )  # fmt: skip
    branch_circuits = schedule(
        source, source.of("branch_circuit"), "panel", "breaker", circuit, "generator_backed",
        "dedicated", "space",
    )  # fmt: skip
    inlets = schedule(source, source.of("inlet"), "fed_by", "outlet", "branch_circuit", "cord")
    return Section(
        "power",
        "Power",
        (
            Paragraph(
                "Mains wiring is for licensed persons, by the local code. Before switching "
                "anything off, look here for what else it feeds."
            ),
            Part("What feeds what", _drawn(source)),
            outage.on_battery(source),
            outage.single_failures(source),
            *outage.orders(source),
            Part("Branch circuits", branch_circuits),
            Part("Inlets", inlets),
        ),
    )


def _drawn(source: Source) -> tuple[Block, ...]:
    roots = power_trees(source)
    return (Drawing("power", Tree(roots)),) if roots else (NOTHING,)


def power_trees(source: Source) -> tuple[Branch, ...]:
    """A tree for each branch circuit, then one of what nothing recorded feeds."""
    from_wall = source.belonging("inlet", "branch_circuit")
    from_device = source.belonging("inlet", "fed_by")
    roots = [
        Branch(_circuit_words(source, b), _below(source, from_wall.get(b.id, ()), from_device, ()))
        for b in source.of("branch_circuit")
    ]
    adrift = tuple(
        inlet
        for inlet in source.of("inlet")
        if inlet["branch_circuit"] is None and inlet["fed_by"] is None
    )
    if adrift:
        roots.append(Branch("feed not recorded", _below(source, adrift, from_device, ())))
    return tuple(roots)


def _circuit_words(source: Source, circuit: Record) -> str:
    backed = "generator-backed" if circuit["generator_backed"] else ""
    rating = joined(source.shown(circuit, "rating_a"), source.shown(circuit, "voltage_v"), backed)
    return joined(source.name(circuit), rating, by="  ")


def _below(
    source: Source,
    inlets: tuple[Record, ...],
    from_device: Mapping[int, tuple[Record, ...]],
    above: tuple[int, ...],
) -> tuple[Branch, ...]:
    """The devices behind these inlets, each with what it feeds; a ring is cut where it closes."""
    branches = []
    for inlet in inlets:
        hardware = inlet["hardware"]
        closes = hardware in above
        fed = () if closes else from_device.get(hardware, ())
        outlet = source.shown(inlet, "outlet")
        words = joined(
            source.name(inlet),
            f"outlet {outlet}" if outlet else "",
            source.shown(source.get(hardware), "description"),
            "a ring: it feeds itself" if closes else "",
        )
        branches.append(Branch(words, _below(source, fed, from_device, (*above, hardware))))
    return tuple(branches)
