"""Rows of pathways: how full a conduit, tray or row of hooks is, a cable counted once."""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Iterator
from functools import partial
from typing import Final

from binder.engineering.conduit import (
    circle_mm2,
    emt_inside_mm,
    fill_limit,
    may_jam,
    more_that_fit,
    size_needed,
)
from binder.engineering.figures import Budget, Step, plain
from binder.headroom.attempt import attempt
from binder.headroom.rows import Need, Row, row, unknown
from binder.headroom.source import Source, missing
from binder.headroom.tables import Laid, Pathway

FILL: Final = "pathway fill"
_ROUND: Final = ("conduit", "duct", "sleeve")


def rows(source: Source) -> Iterator[Row]:
    """A row a pathway."""
    laid: defaultdict[int, dict[str, Laid]] = defaultdict(dict)
    for cable in source.laid:
        laid[cable.pathway_id].setdefault(cable.name, cable)
    for pathway in source.pathways.values():
        where = source.where("pathway", pathway, pathway.from_space_id)
        cables = list(laid[pathway.id].values())
        yield attempt(FILL, where, "%", partial(_row, source, pathway, cables))


def _row(source: Source, pathway: Pathway, cables: list[Laid]) -> Row:
    where = source.where("pathway", pathway, pathway.from_space_id)
    basis = "outside diameters of the cables that run in it; one name, one cable"
    section = _section_mm2(pathway)
    if section is None:
        return unknown(FILL, where, "%", _section_needs(pathway), basis=basis)
    known = [c for c in cables if c.outside_diameter_mm is not None]
    now = [c.outside_diameter_mm or 0.0 for c in known if c.status != "planned"]
    kept = [c.outside_diameter_mm or 0.0 for c in known if c.status == "planned"]
    reserved = int(sum(r.quantity for r in source.reserved(pathway.id, "pathway cables")))
    if reserved and not known:
        lacking = [
            Need(pathway.id, "pathway", pathway.name, "", "a cable of known diameter", add="run")
        ]
        return unknown(FILL, where, "%", lacking, basis=basis)
    kept += [max([*now, *kept])] * reserved if reserved else []
    # two cables may fill less than three: what is there must hold before the third comes
    counted = len(now) + len(kept)
    if sum(map(circle_mm2, now)) > _limit(source, pathway, len(now))[0] * section:
        counted = len(now)
    share, because = _limit(source, pathway, counted)
    budget = _budget(section, share, now, kept, counted)
    return row(
        FILL, where, budget, rated=100.0, because=because, basis=basis,
        tight=source.limits.tight, missing=_diameters(cables),
        notes=_notes(pathway, now, kept, section, share),
        fix=lambda b: _bigger(pathway, [*now, *kept]),
    )  # fmt: skip


def _budget(
    section: float, share: float, now: list[float], kept: list[float], counted: int
) -> Budget:
    used, waiting = (sum(map(circle_mm2, cables)) for cables in (now, kept))
    return Budget(100 * share, 100 * used / section, 100 * waiting / section, "%", (
        Step("section", "inside, from its diameter or its width and height", section, "mm²"),
        Step("cables", _counted(now), used, "mm²"),
        Step("planned or reserved", _counted(kept), waiting, "mm²"),
        Step("limit", f"{counted} cables", 100 * share, "%"),
    ))  # fmt: skip


def _counted(cables: list[float]) -> str:
    parts = [f"{n} × π/4 × {plain(d)}² mm²" for d, n in sorted(Counter(cables).items())]
    return " + ".join(parts) or "nothing"


def _section_mm2(pathway: Pathway) -> float | None:
    """The inside of it, in mm²: a circle for what is round and for hooks, else a rectangle."""
    if pathway.form in (*_ROUND, "hooks"):
        inside = _inside_mm(pathway)
        return None if inside is None else circle_mm2(inside)
    if pathway.width_mm and pathway.height_mm:
        return pathway.width_mm * pathway.height_mm
    return None


def _inside_mm(pathway: Pathway) -> float | None:
    if pathway.inside_diameter_mm is not None:
        return pathway.inside_diameter_mm
    return emt_inside_mm(pathway.trade_size) if pathway.trade_size else None


def _section_needs(pathway: Pathway) -> tuple[Need, ...]:
    if pathway.form in (*_ROUND, "hooks"):
        return missing("pathway", pathway, "inside_diameter_mm")
    return missing("pathway", pathway, "width_mm", "height_mm")


def _diameters(cables: list[Laid]) -> list[Need]:
    """Links of one pathway that lack a diameter, told as one need."""
    bare = [c for c in cables if c.outside_diameter_mm is None]
    if not bare:
        return []
    first = bare[0]
    return [Need(first.link_id, "link", first.name, "outside_diameter_mm", "outside diameter",
                 len(bare))]  # fmt: skip


def _limit(source: Source, pathway: Pathway, cables: int) -> tuple[float, str]:
    if pathway.form in _ROUND:
        share = fill_limit(cables, is_nipple=bool(pathway.nipple))
        return share, "NFPA 70 (NEC) chapter 9 table 1, to plan by"
    limit = source.limits["hooks percent" if pathway.form == "hooks" else "tray percent"]
    return limit.share, limit.because


def _notes(
    pathway: Pathway, now: list[float], kept: list[float], section: float, share: float
) -> Iterator[str]:
    cables = [*now, *kept]
    if not cables:
        yield "no cable recorded in it"
        return
    each = max(cables)
    inside = _inside_mm(pathway)
    if pathway.form in _ROUND and inside is not None:
        more = more_that_fit(inside, cables, each, is_nipple=bool(pathway.nipple))
        if len(cables) == 3 and may_jam(inside, each):
            yield "three such cables can jam in a bend (NEC chapter 9, note to table 1)"
    else:
        left = share * section - sum(map(circle_mm2, cables))
        more = max(0, int(left / circle_mm2(each) + 1e-9))
    yield f"{len(now)} cables; {more} more of {plain(each)} mm go in"


def _bigger(pathway: Pathway, cables: list[float]) -> str:
    if pathway.form not in _ROUND:
        return "a second one beside it, or abandoned cable taken out"
    size = size_needed(cables)
    return f"trade size {size} of EMT, or a second conduit" if size else "a second conduit"
