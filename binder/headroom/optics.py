"""Rows of fibre: strands of a cable, loss of a lit link, light received from a carrier."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator
from functools import partial
from typing import Final

from binder.engineering.cautions import LASERS
from binder.engineering.figures import Budget, Step, plain
from binder.engineering.optics import Receiver, link_loss, link_parts, received
from binder.headroom.attempt import attempt
from binder.headroom.rows import Need, Row, Where, row, unknown
from binder.headroom.source import Source, missing, need
from binder.headroom.tables import Circuit, Fibre, Loss

STRANDS: Final = "fibre strands"
LOSS: Final = "fibre loss"
LIGHT: Final = "received light"


def rows(source: Source) -> Iterator[Row]:
    """A row a fibre cable, one a lit link, and one a circuit that comes over fibre."""
    cables: defaultdict[str, list[Fibre]] = defaultdict(list)
    losses: defaultdict[int, list[Loss]] = defaultdict(list)
    for fibre in source.fibres:
        cables[fibre.cable_name or fibre.name].append(fibre)
    for loss in source.losses:
        losses[loss.link_id].append(loss)
    for name, links in cables.items():
        where = _where(source, name, links[0])
        yield attempt(STRANDS, where, "strands", partial(_strands, source, where, links))
    for fibre in source.fibres:
        if fibre.is_lit:
            where = source.where("link", fibre, fibre.space_id)
            found = losses[fibre.id]
            yield attempt(LOSS, where, "dB", partial(_loss, source, fibre, found), LASERS)
    for circuit in source.circuits.values():
        if circuit.optics not in (None, "none") or circuit.received_dbm is not None:
            where = source.where("circuit", circuit, circuit.demarc_space_id)
            yield attempt(LIGHT, where, "dB", partial(_light, source, circuit), LASERS)


def _where(source: Source, name: str, first: Fibre) -> Where:
    space = source.spaces.get(first.space_id) if first.space_id is not None else None
    return Where(first.id, "link", name, space.name if space else "")


def _strands(source: Source, where: Where, links: list[Fibre]) -> Row:
    limit = source.limits["strands percent"]
    total, bad, lit, kept = 0, 0, 0, 0
    for link in links:
        strands = link.strands or 0
        total += strands
        bad += strands if link.is_bad and not link.is_lit else 0
        lit += strands if link.is_lit else 0
        waiting = (link.is_planned or link.is_marked) and not link.is_bad and not link.is_lit
        kept += strands if waiting else 0
    reserved = [r for link in links for r in source.reserved(link.id, "strands")]
    kept += int(sum(r.quantity for r in reserved))
    most = int((total - bad) * limit.share + 1e-9)
    steps = (
        Step("limit", f"({total} - {bad} with a bad end) × {plain(limit.share)}", most, "strands"),
        Step("lit", "links with a cord at an end", lit, "strands"),
        Step("planned or reserved", "planned cords, marked ports, reservations", kept, "strands"),
    )
    return row(
        STRANDS, where, Budget(most, lit, kept, "strands", steps), rated=total,
        because=limit.because, basis="strands of the links of this cable",
        tight=source.limits.tight,
        missing=[n for f in links for n in missing("link", f, "strands")],
        notes=[f"{bad} strands gone: an end is bad"] if bad else [], caution=LASERS,
        fix=lambda b: f"{plain(-b.free)} strands more: another cable, or wavelengths shared",
        bad=bad,
    )  # fmt: skip


def _loss(source: Source, fibre: Fibre, measured: list[Loss]) -> Row:
    """The wavelength with the least room, by what its components may lose at most."""
    where = source.where("link", fibre, fibre.space_id)
    basis = "length, mated pairs and splices at the most each may lose; ANSI/TIA-568.3-D"
    lacking = missing("link", fibre, "category", "length_m", "mated_pairs", "splices")
    if lacking or not measured:
        needs = (*lacking, *(() if measured else (_need_loss(fibre),)))
        return unknown(LOSS, where, "dB", needs, basis=basis, caution=LASERS)
    found = []
    for loss in measured:
        budget = link_loss(
            link_parts(
                (fibre.category or "").upper(), loss.wavelength_nm, fibre.length_m or 0.0,
                fibre.mated_pairs or 0, fibre.splices or 0,
            )
        )  # fmt: skip
        found.append((loss.loss_db / budget.loss_db if budget.loss_db else 0.0, loss, budget))
    _, worst, most = max(found, key=lambda one: one[0])
    steps = (
        *most.steps,
        Step("measured", f"the worst at {worst.wavelength_nm} nm", worst.loss_db, "dB"),
    )
    return row(
        LOSS, where, Budget(most.loss_db, worst.loss_db, 0.0, "dB", steps),
        which=f"{worst.wavelength_nm} nm", rated=most.loss_db, basis=basis,
        because="the sum of what its parts may lose", tight=source.limits.tight, caution=LASERS,
        fix=lambda b: "clean and look at its connectors with the light off; then splices",
    )  # fmt: skip


def _need_loss(fibre: Fibre) -> Need:
    return Need(fibre.id, "link", fibre.name, "", "a measured loss", add="test")


def _light(source: Source, circuit: Circuit) -> Row:
    """Received power within its window: what lies between overload and sensitivity is lost on the
    way, less a margin kept for repair and age."""
    where = source.where("circuit", circuit, circuit.demarc_space_id)
    margin, basis = source.limits["optical margin dB"], "receiver's window and power received"
    measured = source.latest(circuit.id, "received power dBm", "dBm")
    power = measured.value if measured else circuit.received_dbm
    lacking = missing("circuit", circuit, "received_min_dbm", "received_max_dbm")
    if power is None:
        lacking = (need("circuit", circuit, "received_dbm"), *lacking)
    if circuit.received_min_dbm is None or circuit.received_max_dbm is None or power is None:
        return unknown(LIGHT, where, "dB", lacking, basis=basis, measured=measured, caution=LASERS)
    least, most = circuit.received_min_dbm, circuit.received_max_dbm
    found = received(power, Receiver(least, most), margin.value)
    window = most - least
    steps = (
        Step("window", f"{plain(most)} dBm to {plain(least)} dBm", window, "dB"),
        Step("limit", f"{plain(window)} dB - {plain(margin.value)} dB", window - margin.value,
             "dB", margin.because),
        Step("below overload", f"{plain(most)} dBm - {plain(power)} dBm", most - power, "dB"),
    )  # fmt: skip
    return row(
        LIGHT, where, Budget(window - margin.value, max(0.0, most - power), 0.0, "dB", steps),
        rated=window, because=f"{plain(margin.value)} dB {margin.because}", basis=basis,
        tight=source.limits.tight, measured=measured,
        notes=[f"{plain(power)} dBm received: {found.verdict}"],
        caution=LASERS,
        fix=lambda b: "ask the carrier to look at the connectors, bends and splitter",
    )  # fmt: skip
