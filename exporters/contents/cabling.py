"""Links, cords, tests, pathways, firestops and bonding."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from binder.read import Record
from exporters.contents.parts import (
    Column,
    bare_table,
    counted,
    joined,
    listed,
    notes,
    particulars,
    schedule,
    told_by,
)
from exporters.model import NOTHING, Block, Paragraph, Part, Section
from exporters.source import Source


def links_and_cords(source: Source) -> Section:
    runs = source.belonging("run", "link")
    ends = Column(
        "From and to",
        lambda link: joined(source.shown(link, "port_a"), source.shown(link, "port_b"), by=" to "),
        ("port_a", "port_b"),
    )
    cable = Column(
        "Cable",
        lambda link: joined(
            source.shown(link, "cable"),
            source.shown(link, "category"),
            "shielded" if link["shielded"] else "",
        ),
        ("cable", "category", "shielded"),
    )
    pathways = Column("Pathways", lambda link: _pathways(source, runs.get(link.id, ())))
    cord_cable = Column(
        "Category",
        lambda cord: joined(
            source.shown(cord, "category"), "shielded" if cord["shielded"] else "", by=" "
        ),
        ("category", "shielded"),
    )
    links = schedule(
        source, source.of("link"), ends, cable, "length_m", "termination", pathways, "status"
    )
    cords = schedule(
        source, source.of("cord"), "port_a", "port_b", "length_m", cord_cable, "colour"
    )
    return Section(
        "cabling", "Links and cords", (Part("Permanent links", links), Part("Cords", cords))
    )


def _pathways(source: Source, runs: Sequence[Record]) -> str:
    in_order = sorted(runs, key=lambda run: run["step"] or 0)
    return ", ".join(source.shown(run, "pathway") for run in in_order)


def pathways(source: Source) -> Section:
    """What carries the cable, what seals where it passes, what bonds it."""
    parts = (
        Part(
            "Pathways",
            schedule(
                source, source.of("pathway"), "form", "from_space", "to_space", "trade_size",
                "length_m", "material",
            ),
        ),
        Part(
            "Firestops",
            schedule(
                source, source.of("firestop"), "pathway", "space", "place", "system", "rating_h",
                "installed_on", "installed_by",
            ),
        ),
        Part(
            "Busbars",
            schedule(source, source.of("busbar"), "form", "space", "attached_to", "resistance_ohm",
                     "tested_on"),
        ),
        Part(
            "Bonding conductors",
            schedule(
                source, source.of("bonding_conductor"), "form", "from_busbar", "to_busbar", "rack",
                "size", "resistance_ohm", "tested_on",
            ),
        ),
    )  # fmt: skip
    return Section("pathways", "Pathways, firestops and bonding", parts)


# Tests. -----------------------------------------------------------------------------------


def tests(source: Source) -> Section:
    """Every test in link order, and first of all how many links stand how."""
    in_order = sorted(source.of("test"), key=lambda t: (source.name(t["link"]), t["tested_on"]))
    results = schedule(
        source, in_order, "link", "strand", "tested_on", "result", "length_m", "worst_margin_db",
        "follows",
    )  # fmt: skip
    instruments = schedule(
        source, source.of("instrument"), "description", "maker", "model", "serial",
        "calibrated_on", "calibration_due_on", "certificate",
    )  # fmt: skip
    return Section(
        "tests",
        "Test results",
        (
            *_summary(source),
            Part("Results", results),
            Part("Measured losses", _losses(source)),
            Part("Instruments", instruments),
        ),
    )


def _losses(source: Source) -> tuple[Block, ...]:
    measured = source.of("loss")
    if not measured:
        return (NOTHING,)

    def of_test(label: str, name: str) -> Column:
        return Column(label, lambda loss: source.shown(source.get(loss["test"]), name))

    columns = (
        of_test("Link", "link"), of_test("Strand", "strand"), "wavelength_nm", "direction",
        "loss_db", "limit_db", "test",
    )  # fmt: skip
    return (
        bare_table(source, measured, *columns),
        *particulars(source, measured, told_by(*columns)),
        *notes(source, measured),
    )


def _summary(source: Source) -> tuple[Block, ...]:
    """How many links stand how by their latest test, and which stand badly or untested."""
    links = source.of("link")
    if not links:
        return ()
    latest = latest_tests(source)
    standing: dict[str, list[int]] = {"pass": [], "marginal": [], "fail": [], "never tested": []}
    for at, link in enumerate(links):
        worst = latest.get(link.id, "never tested")
        standing[worst].append(at)
    counts = ", ".join(f"{len(at)} {word}" for word, at in standing.items())
    blocks: list[Block] = [
        Paragraph(f"{counted(len(links), 'link')} by the latest test of each: {counts}.")
    ]
    for word in ("fail", "marginal", "never tested"):
        if standing[word]:
            blocks.append(
                Paragraph(f"{word.capitalize()}: {listed(source, links, standing[word])}.")
            )
    return tuple(blocks)


def latest_tests(source: Source) -> Mapping[int, str]:
    """The result of each tested link: the worst of its strands' latest tests."""
    order = {"pass": 0, "marginal": 1, "fail": 2}
    by_strand: dict[tuple[int, str | None], Record] = {}
    for test in sorted(source.of("test"), key=lambda t: (t["tested_on"], t.name)):
        by_strand[test["link"], test["strand"]] = test
    worst: dict[int, str] = {}
    for (link, _), test in by_strand.items():
        worst[link] = max(worst.get(link, "pass"), test["result"], key=order.__getitem__)
    return worst
