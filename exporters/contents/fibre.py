"""Fibre: what each strand joins, and its measured loss beside the most its parts may lose.

A budget is reckoned for each wavelength that was measured, or for those the fibre is made for; the
measured loss stands beside it for each direction, with the mean of both (public cabling
specifications ask for both directions at two wavelengths, and the loss beside the budget).
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from binder.engineering.figures import plain
from binder.engineering.optics import (
    MATED_PAIR_DB,
    SPLICE_DB,
    attenuation_db_km,
    link_loss,
    link_parts,
)
from binder.read import Record
from exporters.contents.parts import Column, bare_table, counted, listed
from exporters.model import NOTHING, Block, Caution, Facts, Paragraph, Part, Section, Table
from exporters.source import Source

_WINDOWS = {"OS": (1310, 1550), "OM": (850, 1300)}  # nm; single mode, multimode
_PARTS = ("category", "length_m", "mated_pairs", "splices")
_DIRECTIONS = ("A to B", "B to A")


def fibre(source: Source) -> Section:
    """Every fibre link: its strands, then its budget and what was measured."""
    links = [link for link in source.of("link") if "fibre" in (link["cable"] or "")]
    if not links:
        return Section("fibre", "Fibre strands and budgets", (NOTHING,))
    return Section(
        "fibre",
        "Fibre strands and budgets",
        (
            Caution(
                "Light in fibre",
                "Never look into the end of a fibre or an optical port. Treat every fibre as lit.",
            ),
            Part("Strands", (_strands(source, links),)),
            Part("Loss beside the budget", tuple(_budgets(source, links))),
        ),
    )


def _strands(source: Source, links: Sequence[Record]) -> Table:
    ends = ("port_a", "port_b")
    lit = Column("Lit", lambda link: _lit(source, link))
    condition = Column(
        "Condition",
        lambda link: "; ".join(
            f"{source.name(port)} bad{', ' + why if (why := _why(source, port)) else ''}"
            for port in (source.get(link[end]) for end in ends)
            if port is not None and port["condition"] == "bad"
        ) or "no fault recorded",
    )  # fmt: skip
    name = Column("Link", source.name)
    return bare_table(
        source, links, name, "cable_name", "cable", "category", "strands", *ends, lit, condition,
        "status",
    )  # fmt: skip


def _why(source: Source, port: Record) -> str:
    return source.shown(port, "condition_reason")


def _lit(source: Source, link: Record) -> str:
    """A strand with a cord at both ends carries light, as far as the records tell."""
    corded = sum(link[end] in source.cord_ends for end in ("port_a", "port_b"))
    return ("no", "a cord at one end only", "yes")[corded]


def _budgets(source: Source, links: Sequence[Record]) -> Iterator[Block]:
    measured = _measured(source)
    rows = [row for link in links for row in _rows(source, link, measured.get(link.id, {}))]
    yield Paragraph(
        "Budget: the length, mated pairs and splices at the most each may lose "
        "(ANSI/TIA-568.3-D). Margin: the budget less the worse of the two directions; below zero "
        "the link loses more than its parts account for. Losses in dB."
    )
    head = ("Link", "Strand", "nm", "Budget", *_DIRECTIONS, "Mean", "Margin")
    yield Table(head, tuple(rows))
    lacking = tuple(
        (source.name(link), f"{counted(missing, 'strand')} of {link['strands']} not measured")
        for link in links
        if (missing := (link["strands"] or 0) - len(measured.get(link.id, {}))) > 0
    )
    if lacking:
        yield Paragraph("Not measured:")
        yield Facts(lacking)
    yield Paragraph("How each budget adds up:")
    yield Facts(tuple(_sums(source, links)))


def _sums(source: Source, links: Sequence[Record]) -> Iterator[tuple[str, str]]:
    """The sum of each budget; links that share one are told together."""
    found: dict[str, list[int]] = {}
    for at, link in enumerate(links):
        found.setdefault(_sum(source, link), []).append(at)
    for told, places in found.items():
        yield listed(source, links, places), told


_Measured = dict[str, dict[int, dict[str, Record]]]  # by strand, wavelength and direction


def _measured(source: Source) -> dict[int, _Measured]:
    """By link: the losses of the latest test of each strand."""
    tests = {test.id: test for test in source.of("test")}
    found: dict[int, _Measured] = {}
    told = [loss for loss in source.of("loss") if loss["test"] in tests]
    for loss in sorted(told, key=lambda one: tests[one["test"]]["tested_on"]):
        test = tests[loss["test"]]
        strand = found.setdefault(test["link"], {}).setdefault(source.shown(test, "strand"), {})
        strand.setdefault(loss["wavelength_nm"], {})[loss["direction"]] = loss
    return found


def _rows(source: Source, link: Record, measured: _Measured) -> Iterator[tuple[str, ...]]:
    for strand, by_wavelength in (measured or {"": {}}).items():
        for nm in sorted(by_wavelength) or _windows(link):
            figures = _figures(_budget_db(link, nm), by_wavelength.get(nm, {}))
            yield source.name(link), strand, str(nm), *figures


def _windows(link: Record) -> tuple[int, ...]:
    """The wavelengths that the fibre is measured at; single mode's where it is not recorded."""
    return _WINDOWS.get((link["category"] or "").upper()[:2], _WINDOWS["OS"])


def _figures(budget_db: float | None, losses: dict[str, Record]) -> tuple[str, ...]:
    values = [losses[way]["loss_db"] for way in _DIRECTIONS if way in losses]
    told = [f"{losses[way]['loss_db']:.2f}" if way in losses else "not measured"
            for way in _DIRECTIONS]  # fmt: skip
    mean = f"{sum(values) / len(values):.2f}" if len(values) == len(_DIRECTIONS) else ""
    if budget_db is None:
        return "not known", *told, mean, ""
    margin = ""
    if values:
        over = ", over budget" if max(values) > budget_db + 1e-9 else ""
        margin = f"{budget_db - max(values):+.2f}{over}"
    return f"{budget_db:.2f}", *told, mean, margin


def _budget_db(link: Record, nm: int) -> float | None:
    """The most the link may lose at a wavelength; None where that cannot be reckoned."""
    if any(link[name] is None for name in _PARTS):
        return None
    try:
        parts = link_parts(
            link["category"].upper(), nm, link["length_m"], link["mated_pairs"], link["splices"]
        )
    except ValueError:  # a category for which no figure is known
        return None
    return link_loss(parts).loss_db


def _sum(source: Source, link: Record) -> str:
    lacking = [link.kind.field(name).label for name in _PARTS if link[name] is None]
    if lacking:
        return f"not recorded: {', '.join(lacking)}"
    each_km = []
    for nm in _windows(link):
        try:
            each = attenuation_db_km(link["category"].upper(), nm)
        except ValueError:
            return f"no figure is known for fibre {source.shown(link, 'category')}"
        each_km.append(f"{plain(each)} dB at {nm} nm")
    return (
        f"{plain(link['length_m'] / 1000)} km × {', '.join(each_km)}; "
        f"{counted(link['mated_pairs'], 'mated pair')} × {plain(MATED_PAIR_DB)} dB; "
        f"{counted(link['splices'], 'splice')} × {plain(SPLICE_DB)} dB"
    )
