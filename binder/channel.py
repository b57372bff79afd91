"""A channel: the run of cables and ports from one active device to another, and what it is worth.

Lengths are of the sheath, in metres; limits are those of `binder.engineering.cabling`. A length
that nobody recorded is never taken as nothing: the total is then a least one, and says so.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from binder.engineering.cabling import (
    CHANNEL_LIMIT_M,
    LINK_LIMIT_M,
    cord_limit_m,
    lowest_category,
)
from binder.records.kinds.hardware import PASSIVE
from binder.records.quantities import format_quantity

COPPER = "4-pair"
_USUAL_GAUGE_AWG = 24  # of the cords that TIA-568 begins with
_SMALLEST_EXCESS_M = 0.001  # sums of decimal lengths are not exact


@dataclass(frozen=True, slots=True)
class Hop:
    """A port on the way, the hardware it is on, and where that is.

    `side` is where the way arrives: 'rear' by a link, 'front' by a cord, '' where it begins.
    """

    kind: str  # 'port'
    id: int
    name: str
    side: str
    shielded: bool | None
    role: str
    connector: str
    vlan: int | None
    tagged_vlans: str
    poe_type: str
    rate_mbps: float | None
    current_use: str
    condition: str
    condition_reason: str
    status: str
    hardware_id: int
    hardware: str
    form: str
    hardware_status: str
    category: str
    rack: str
    u_position: int | None
    space: str
    room: str  # what people call the space

    @property
    def is_passive(self) -> bool:
        """Whether cable passes through, from front to rear."""
        return self.form in PASSIVE


@dataclass(frozen=True, slots=True)
class Cable:
    """A link or a cord. `test_result` and `tested_on` are those of a link's last test."""

    kind: str  # 'link' or 'cord'
    id: int
    name: str
    shielded: bool | None
    test_result: str
    tested_on: str
    cable: str  # '4-pair', 'singlemode fibre', ...
    length_m: float | None
    category: str
    gauge_awg: int | None
    termination: str
    status: str


Part = Hop | Cable


@dataclass(frozen=True, slots=True)
class Lengths:
    """Metres in all, of links and of cords, as far as recorded; `unknown` names the cables whose
    length is not. `limit_m` and `cords_limit_m` are None where TIA-568 sets none (fibre)."""

    total_m: float
    links_m: float
    cords_m: float
    unknown: tuple[str, ...]
    limit_m: float | None
    cords_limit_m: float | None
    cords_gauge_awg: int | None  # the thinnest cord's, which rules


@dataclass(frozen=True, slots=True)
class Channel:
    """`parts` in order, the end nearer the carrier last: port, cable, port, and so on.

    The first or last part is a cable where its far end is not recorded. `flags` are sentences on
    what is wrong or doubtful; `open_ends` on where the run ends without active hardware.
    """

    parts: tuple[Part, ...]
    lengths: Lengths
    category: str  # of the weakest part whose category is recorded
    fed_by: str  # the active port at the end toward the carrier
    vlan: int | None  # there, untagged
    poe_type: str  # there
    serves: str  # room and use of the outlet
    flags: tuple[str, ...]
    open_ends: tuple[str, ...]

    @property
    def hops(self) -> tuple[Hop, ...]:
        return tuple(part for part in self.parts if isinstance(part, Hop))

    @property
    def cables(self) -> tuple[Cable, ...]:
        return tuple(part for part in self.parts if isinstance(part, Cable))


def channel(parts: Sequence[Part], *, system: str, open_ends: Sequence[str] = ()) -> Channel:
    """The run judged. `system` is 'us' or 'metric' and says how sentences show lengths."""
    hops = [part for part in parts if isinstance(part, Hop)]
    cables = [part for part in parts if isinstance(part, Cable)]
    lengths = _measured(cables)
    connecting = list(_connecting(hops))
    graded = _graded(connecting, cables)
    upper = parts[-1] if parts else None
    fed_by = upper if isinstance(upper, Hop) and not upper.is_passive else None
    return Channel(
        parts=tuple(parts),
        lengths=lengths,
        category=_weakest([category for category, _ in graded]),
        fed_by=fed_by.name if fed_by else "",
        vlan=fed_by.vlan if fed_by else None,
        poe_type=fed_by.poe_type if fed_by else "",
        serves=_serves(hops),
        flags=(
            *_length_flags(cables, lengths, system),
            *_kind_flags(cables),
            *_category_flags(graded),
            *_shield_flags(connecting, cables),
            *_cable_flags(cables),
            *_hop_flags(hops),
        ),
        open_ends=tuple(open_ends),
    )


# Lengths. ---------------------------------------------------------------------------------


def _measured(cables: list[Cable]) -> Lengths:
    links_m = cords_m = 0.0
    unknown, gauges_awg, is_copper = [], [], bool(cables)
    for cable in cables:
        if cable.length_m is None:
            unknown.append(_named(cable))
        elif cable.kind == "link":
            links_m += cable.length_m
        else:
            cords_m += cable.length_m
        if cable.kind == "cord" and cable.gauge_awg:
            gauges_awg.append(cable.gauge_awg)
        is_copper &= cable.cable == COPPER
    gauge_awg = max(gauges_awg, default=None)
    return Lengths(
        total_m=links_m + cords_m,
        links_m=links_m,
        cords_m=cords_m,
        unknown=tuple(unknown),
        limit_m=CHANNEL_LIMIT_M if is_copper else None,
        cords_limit_m=_cords_limit_m(links_m, gauge_awg) if is_copper else None,
        cords_gauge_awg=gauge_awg,
    )


def _cords_limit_m(links_m: float, gauge_awg: int | None) -> float | None:
    """The limit for that gauge, 24 AWG when not recorded; None where none is published."""
    try:
        return cord_limit_m(min(links_m, LINK_LIMIT_M), gauge_awg or _USUAL_GAUGE_AWG)
    except ValueError:
        return None


def _length_flags(cables: list[Cable], lengths: Lengths, system: str) -> Iterator[str]:
    def over(what: str, length_m: float, limit_m: float) -> Iterator[str]:
        if length_m > limit_m + _SMALLEST_EXCESS_M:
            length, limit, excess = (
                format_quantity(metres, "m", system)
                for metres in (length_m, limit_m, length_m - limit_m)
            )
            yield f"{what} {length} exceeds {limit} by {excess}"

    if lengths.unknown:
        least = format_quantity(lengths.total_m, "m", system)
        known = f": {least} is the least" if lengths.total_m else ""
        yield f"length not recorded of {_listed(lengths.unknown)}{known}"
    if lengths.limit_m is None:
        return
    yield from over("channel", lengths.total_m, lengths.limit_m)
    for cable in cables:
        if cable.kind == "link":
            yield from over(_named(cable), cable.length_m or 0.0, LINK_LIMIT_M)
    gauge = f"{lengths.cords_gauge_awg or _USUAL_GAUGE_AWG} AWG"
    if lengths.cords_gauge_awg is None:
        gauge += " (taken as usual, not recorded)"
    if lengths.cords_limit_m is None:
        yield f"no limit is published for cords of {gauge}"
    else:
        yield from over(f"total of cords of {gauge}", lengths.cords_m, lengths.cords_limit_m)


# Makes. -----------------------------------------------------------------------------------


def _kind_flags(cables: list[Cable]) -> Iterator[str]:
    kinds = {cable.cable: _named(cable) for cable in reversed(cables)}
    if len(kinds) > 1:
        which = ", ".join(f"{cable} ({name})" for cable, name in kinds.items())
        yield f"cable types are mixed: {which}"


def _graded(connecting: list[Hop], cables: list[Cable]) -> list[tuple[str, str]]:
    """Category and name of each part whose category is recorded."""
    parts = [(cable.category, _named(cable)) for cable in cables]
    parts += [(hop.category, f"{hop.form} {hop.hardware}") for hop in connecting]
    return [(_canonical(category), name) for category, name in parts if category]


def _canonical(category: str) -> str:
    """'6A' for 'cat 6a'; what TIA-568 does not know (OM3, OS2) stays as typed."""
    try:
        return lowest_category([category])
    except ValueError:
        return category.strip().upper()


def _weakest(categories: list[str]) -> str:
    """'' when none is recorded, or they cannot be compared."""
    if len(set(categories)) == 1:
        return categories[0]
    try:
        return lowest_category(categories)
    except ValueError:
        return ""


def _category_flags(graded: list[tuple[str, str]]) -> Iterator[str]:
    categories = {category for category, _ in graded}
    if len(categories) < 2:
        return
    weakest = _weakest([category for category, _ in graded])
    if weakest:
        at = _listed([name for category, name in graded if category == weakest])
        yield f"categories are mixed: the whole is {weakest}, weakest at {at}"
    else:
        first = {category: name for category, name in reversed(graded)}
        which = ", ".join(f"{category} ({name})" for category, name in first.items())
        yield f"categories are mixed and cannot be compared: {which}"


def _shield_flags(connecting: list[Hop], cables: list[Cable]) -> Iterator[str]:
    parts = [(cable.shielded, _named(cable)) for cable in cables]
    parts += [(hop.shielded, f"{hop.form} {hop.hardware}") for hop in connecting]
    bare = [name for shielded, name in parts if shielded is False]
    if bare and any(shielded for shielded, _ in parts):
        yield f"shield continuity is broken: not shielded at {_listed(bare)}"


# States. ----------------------------------------------------------------------------------


def _cable_flags(cables: list[Cable]) -> Iterator[str]:
    for cable in cables:
        if cable.status != "installed":
            yield f"{_named(cable)} is {cable.status}"
        if cable.test_result == "fail":
            yield f"{_named(cable)} failed its last test, {cable.tested_on}"
        elif cable.test_result == "marginal":
            yield f"{_named(cable)} was marginal at its last test, {cable.tested_on}"
        if cable.termination == "mixed":
            yield f"{_named(cable)} has T568A at one end and T568B at the other"
        elif cable.termination == "not terminated":
            yield f"{_named(cable)} is not terminated"


def _hop_flags(hops: list[Hop]) -> Iterator[str]:
    named = set()
    for hop in hops:
        if hop.hardware_status != "installed" and hop.hardware_id not in named:
            named.add(hop.hardware_id)
            yield f"{hop.form} {hop.hardware} is {hop.hardware_status}"
        if hop.status != "installed":
            yield f"port {hop.name} is {hop.status}"
        if hop.condition == "bad":
            why = f": {hop.condition_reason}" if hop.condition_reason else ""
            yield f"port {hop.name} is bad{why}"


def _serves(hops: list[Hop]) -> str:
    """Who lives there: the outlet's room, and what the outlet or the run is used for."""
    outlets = [hop for hop in hops if hop.form == "outlet"]
    if not outlets:
        return ""
    where = " ".join(filter(None, (outlets[0].space, outlets[0].room)))
    uses = [hop.current_use for hop in (*outlets, *hops) if hop.current_use]
    return ", ".join(filter(None, (where, *uses[:1])))


# Words. -----------------------------------------------------------------------------------


def _named(cable: Cable) -> str:
    return f"{cable.kind} {cable.name}"


def _connecting(hops: list[Hop]) -> Iterator[Hop]:
    """Connecting hardware on the way, each piece once."""
    seen = set()
    for hop in hops:
        if hop.is_passive and hop.hardware_id not in seen:
            seen.add(hop.hardware_id)
            yield hop


def _listed(names: Sequence[str], most: int = 3) -> str:
    """The first few names, and how many more there are."""
    more = f" and {len(names) - most} more" if len(names) > most else ""
    return ", ".join(names[:most]) + more
