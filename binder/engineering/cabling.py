"""Balanced cabling: lengths, cords, heat, 10GBASE-T over category 6, pinning, loop resistance,
shields, spare ports and what a port costs.

Lengths are of the sheath, in metres. Sources: ANSI/TIA-568-B.1 (2001) clause 6.4.1.4 for cords,
TIA-568-C.2 annex G for heat, TSB-155 (2007) and TSB-155-A (2010) for 10GBASE-T, TIA-568.2-D for
28 AWG cords and loop resistance. The annex G lengths, except 84 m at 40 °C, and the resistance of
conductors are from memory.
"""

from __future__ import annotations

from bisect import bisect_left
from collections import Counter, defaultdict
from collections.abc import Collection, Iterable, Mapping
from dataclasses import dataclass
from types import MappingProxyType
from typing import Final, Literal

from binder.engineering.copper import Run, run_ohm, temperature_factor
from binder.engineering.figures import require

CHANNEL_LIMIT_M: Final = 100.0
LINK_LIMIT_M: Final = 90.0
# At a multi-user outlet (TIA; ISO/IEC 11801:2002 says 20 m).
WORK_AREA_CORD_LIMIT_M: Final = 22.0

CHANNEL_LOOP_LIMIT_OHM: Final = 25.0
LINK_LOOP_LIMIT_OHM: Final = 21.0

CATEGORIES: Final = ("3", "5", "5e", "6", "6A", "7", "7A", "8")

TenGigabit = Literal["ok", "measure", "mitigate"]
Scheme = Literal["T568A", "T568B"]
ShieldState = Literal["continuous", "none", "broken", "not known"]
PortState = Literal["used", "reserved", "bad", "free"]

# Insertion loss of stranded cord over that of horizontal cable, less one, by gauge.
_CORD_DERATING: Final[Mapping[int, float]] = MappingProxyType(
    {22: 0.2, 23: 0.2, 24: 0.2, 26: 0.5, 28: 0.95}
)

# TIA-568-C.2 annex G: greatest horizontal length with 10 m of cords at 20 °C. A look-up: it is not
# 90 m over the factor of insertion loss.
_ANNEX_G_C: Final = (20.0, 25.0, 30.0, 35.0, 40.0, 45.0, 50.0, 55.0, 60.0)
_ANNEX_G_UNSCREENED_M: Final = (90.0, 89.0, 87.0, 85.5, 84.0, 81.7, 79.5, 77.2, 75.0)
_ANNEX_G_SCREENED_M: Final = (90.0, 89.5, 88.5, 87.7, 87.0, 86.5, 85.5, 84.7, 83.0)

_PAIR_AND_COLOUR: Final[Mapping[str, tuple[tuple[int, str], ...]]] = MappingProxyType(
    {
        "T568A": (
            (3, "white/green"),
            (3, "green"),
            (2, "white/orange"),
            (1, "blue"),
            (1, "white/blue"),
            (2, "orange"),
            (4, "white/brown"),
            (4, "brown"),
        ),
        "T568B": (
            (2, "white/orange"),
            (2, "orange"),
            (3, "white/green"),
            (1, "blue"),
            (1, "white/blue"),
            (3, "green"),
            (4, "white/brown"),
            (4, "brown"),
        ),
    }
)


def cord_limit_m(horizontal_m: float, gauge_awg: int) -> float:
    """The greatest length of all cords of a channel together, in m: C = (102 - H)/(1 + D).

    H is the horizontal cable, D the de-rating of the cord: 0.2 for 22 to 24 AWG, 0.5 for 26 AWG
    (TIA/EIA-568-B.1 clause 6.4.1.4), 0.95 for 28 AWG (TIA-568.2-D). The exact value is the limit;
    the standard prints whole metres. Raises ValueError for H outside 0 to 90 m or a gauge without a
    published D.
    """
    require("horizontal cable", horizontal_m, "m", 0, LINK_LIMIT_M)
    return (102 - horizontal_m) / (1 + _derating(gauge_awg))


def horizontal_limit_m(cords_m: float, gauge_awg: int) -> float:
    """The greatest horizontal length, in m, that leaves room for `cords_m` of cords of one gauge.

    The same formula, solved for H and never above 90 m. Raises ValueError for a gauge without a
    published D, or cords that leave no room at all.
    """
    stretched = 1 + _derating(gauge_awg)
    require("cords", cords_m, "m", 0, 102 / stretched)
    return min(LINK_LIMIT_M, 102 - cords_m * stretched)


def channel_limit_m(horizontal_m: float, gauges_awg: Collection[int]) -> float:
    """The greatest length of a channel, in m, with that horizontal cable and cords of those gauges.

    Where gauges are mixed the thinnest rules. Raises ValueError as `cord_limit_m` does, and when no
    gauge is given.
    """
    if not gauges_awg:
        raise ValueError("no cord gauge given: a channel has at least one cord")
    return horizontal_m + min(cord_limit_m(horizontal_m, gauge) for gauge in gauges_awg)


def link_limit_at_m(temperature_c: float, *, screened: bool) -> float:
    """The greatest horizontal length, in m, at that ambient temperature.

    With 10 m of cords at 20 °C; from the table of TIA-568-C.2 annex G, in a straight line between
    its points. Raises ValueError outside 20 to 60 °C, where the table says nothing.
    """
    require("ambient temperature", temperature_c, "°C", _ANNEX_G_C[0], _ANNEX_G_C[-1])
    lengths = _ANNEX_G_SCREENED_M if screened else _ANNEX_G_UNSCREENED_M
    above = max(1, bisect_left(_ANNEX_G_C, temperature_c))
    cooler, warmer = _ANNEX_G_C[above - 1], _ANNEX_G_C[above]
    share = (temperature_c - cooler) / (warmer - cooler)
    return lengths[above - 1] + share * (lengths[above] - lengths[above - 1])


def ten_gigabit_over_category_6(channel_m: float) -> TenGigabit:
    """What TSB-155 says of 10GBASE-T over an installed category 6 UTP channel of that length.

    'ok' to 37 m; 'measure' alien crosstalk from there to 55 m; 'mitigate' beyond. It does not speak
    of screened category 6. Raises ValueError for a length that is not above 0 m.
    """
    if not channel_m > 0:
        raise ValueError(f"channel of {channel_m:g} m: must be above 0 m")
    if channel_m <= 37:
        return "ok"
    return "measure" if channel_m <= 55 else "mitigate"


def pair_of_pin(pin: int, scheme: Scheme) -> int:
    """The pair (1 to 4) on a pin (1 to 8) of the jack, by T568A or T568B (ANSI/TIA-568).

    Raises ValueError for a pin or scheme that does not exist.
    """
    return _pinned(pin, scheme)[0]


def colour_of_pin(pin: int, scheme: Scheme) -> str:
    """The colour of the conductor on a pin (1 to 8), by T568A or T568B (ANSI/TIA-568).

    Raises ValueError for a pin or scheme that does not exist.
    """
    return _pinned(pin, scheme)[1]


def is_crossover(one: Scheme, other: Scheme) -> bool:
    """Whether ends terminated so make a crossover: pairs 2 and 3 change places."""
    return any(pair_of_pin(pin, one) != pair_of_pin(pin, other) for pin in range(1, 9))


def loop_resistance_ohm(horizontal_m: float, cords_m: float, temperature_c: float = 20.0) -> float:
    """The greatest DC loop resistance, in ohm, to expect of a channel: out and back on one pair.

    9.38 ohm for 100 m of horizontal conductor, 14 ohm for 100 m of cord conductor at 20 °C, copper
    at 0.00393 a degree. Raises ValueError for a negative length or outside -40 to 90 °C.
    """
    require("horizontal cable", horizontal_m, "m")
    require("cords", cords_m, "m")
    return 2 * run_ohm([Run(horizontal_m), Run(cords_m, is_cord=True)], temperature_c)


def loop_resistance_at_20_c_ohm(measured_ohm: float, temperature_c: float) -> float:
    """A loop resistance measured at that temperature, brought to 20 °C, where the limits hold.

    Compare with `CHANNEL_LOOP_LIMIT_OHM` or `LINK_LOOP_LIMIT_OHM`. Raises ValueError for a negative
    resistance or outside -40 to 90 °C.
    """
    require("loop resistance", measured_ohm, "ohm")
    return measured_ohm / temperature_factor(temperature_c)


def lowest_category(categories: Iterable[str]) -> str:
    """The weakest of the categories along a path, which is that of the whole.

    Takes `5e`, `5E`, `cat 6A`, `Category 7`. Raises ValueError for an unknown one, or none at all.
    """
    ranks = [_rank(category) for category in categories]
    if not ranks:
        raise ValueError("no category given: a path has at least one")
    return CATEGORIES[min(ranks)]


@dataclass(frozen=True, slots=True)
class Shield:
    """Whether a path is screened. `parts` are those that break it, or whose shield is not known."""

    state: ShieldState
    parts: tuple[str, ...] = ()


def shield_continuity(parts: Iterable[tuple[str, bool | None]]) -> Shield:
    """Whether the shield runs through a path of named parts, each shielded, not, or not known.

    Screened cabling is screened from end to end: cable, connecting hardware and cords (ANSI/TIA-568
    and ISO/IEC 11801, from memory). Known parts that differ break it whatever the others are.
    Raises ValueError for a path without parts.
    """
    known: dict[bool | None, tuple[str, ...]] = {}
    for name, shielded in parts:
        known[shielded] = (*known.get(shielded, ()), name)
    if not known:
        raise ValueError("no part given: a path has at least one")
    if True in known and False in known:
        return Shield("broken", known[False])
    if None in known:
        return Shield("not known", known[None])
    return Shield("continuous" if True in known else "none")


@dataclass(frozen=True, slots=True)
class PortTally:
    """Ports of a panel or a space, each counted once."""

    used: int
    reserved: int
    bad: int
    spare: int

    @property
    def total(self) -> int:
        return self.used + self.reserved + self.bad + self.spare


def tally_ports(ports: Iterable[tuple[str, PortState]]) -> dict[str, PortTally]:
    """Ports counted by the panel, or the space, that each is named with.

    Spare is what is neither used, nor kept for something, nor bad (common practice, no published
    source). Raises ValueError for an unknown state.
    """
    counts: defaultdict[str, Counter[str]] = defaultdict(Counter)
    for where, state in ports:
        if state not in ("used", "reserved", "bad", "free"):
            raise ValueError(f"port state {state!r} in {where}: used, reserved, bad or free")
        counts[where][state] += 1
    return {
        where: PortTally(found["used"], found["reserved"], found["bad"], found["free"])
        for where, found in counts.items()
    }


@dataclass(frozen=True, slots=True)
class PanelOffer:
    """A way to buy panel ports: prices in one money, `jack_price` 0 where jacks are built in."""

    name: str
    ports: int
    panel_price: float
    jack_price: float = 0.0


@dataclass(frozen=True, slots=True)
class PortCost:
    """What an offer comes to: panels are bought whole, jacks only for the ports needed."""

    offer: PanelOffer
    panels: int
    ports_left: int
    price: float
    price_per_port: float


def port_costs(offers: Iterable[PanelOffer], ports_needed: int) -> tuple[PortCost, ...]:
    """The offers priced for that many ports, cheapest first (arithmetic).

    A fixed shielded panel comes whole; a panel of separate jacks costs a jack a port, and one bad
    jack costs one jack. Raises ValueError for no ports, an empty panel or a negative price.
    """
    require("ports needed", ports_needed, "", 1)
    return tuple(sorted((_priced(o, ports_needed) for o in offers), key=lambda cost: cost.price))


def _priced(offer: PanelOffer, ports_needed: int) -> PortCost:
    require(f"ports of {offer.name}", offer.ports, "", 1)
    require(f"panel price of {offer.name}", offer.panel_price, "")
    require(f"jack price of {offer.name}", offer.jack_price, "")
    panels = -(-ports_needed // offer.ports)
    price = panels * offer.panel_price + ports_needed * offer.jack_price
    left = panels * offer.ports - ports_needed
    return PortCost(offer, panels, left, price, price / ports_needed)


def _rank(category: str) -> int:
    plain = category.strip().casefold()
    plain = plain.removeprefix("category").removeprefix("cat").strip(" .")
    for rank, known in enumerate(CATEGORIES):
        if plain == known.casefold():
            return rank
    raise ValueError(f"category {category!r} is not known: {', '.join(CATEGORIES)}")


def _derating(gauge_awg: int) -> float:
    if gauge_awg not in _CORD_DERATING:
        known = ", ".join(map(str, _CORD_DERATING))
        raise ValueError(f"cord of {gauge_awg} AWG: a de-rating is published for {known} AWG")
    return _CORD_DERATING[gauge_awg]


def _pinned(pin: int, scheme: Scheme) -> tuple[int, str]:
    if scheme not in _PAIR_AND_COLOUR:
        raise ValueError(f"pinning {scheme!r} is not known: T568A or T568B")
    require("pin", pin, "", 1, 8)
    return _PAIR_AND_COLOUR[scheme][pin - 1]
