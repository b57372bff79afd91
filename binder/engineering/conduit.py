"""How full a conduit or tray is, and how many more cables go in.

NFPA 70 (NEC) chapter 9: table 1 and its notes, table 4 for electrical metallic tubing. NEC
800.110(B) does not apply that fill to communications cables (the number varies by edition): 40 % is
a limit to plan by, not a violation. Diameters are those of the cable's own sheet; of a flat cable
the larger one counts as a circle (note 9), and a cable counts as one conductor whatever is in it.
"""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass
from math import floor, pi
from types import MappingProxyType
from typing import Final

from binder.engineering.figures import Step, plain, require, require_above

# NEC chapter 9 table 4, inside diameters of EMT in inches; above 2 from memory.
_EMT_IN: Final[Mapping[str, float]] = MappingProxyType(
    {
        "1/2": 0.622,
        "3/4": 0.824,
        "1": 1.049,
        "1-1/4": 1.380,
        "1-1/2": 1.610,
        "2": 2.067,
        "2-1/2": 2.731,
        "3": 3.356,
        "3-1/2": 3.834,
        "4": 4.334,
    }
)
# Metric designators of the same trade sizes (NEC 300.1(C), from memory).
_DESIGNATORS: Final = dict(
    zip(("16", "21", "27", "35", "41", "53", "63", "78", "91", "103"), _EMT_IN, strict=True)
)
TRADE_SIZES: Final = tuple(_EMT_IN)

ONE_CABLE: Final = 0.53
TWO_CABLES: Final = 0.31
MORE_CABLES: Final = 0.40
NIPPLE: Final = 0.60  # note 4: 600 mm (24 in) or less

# Trays and baskets: 25 % at first as makers advise, 50 % at most (TIA-569, from memory). Half of
# the section by sum looks full, because of the voids.
TRAY_DESIGN: Final = 0.25
TRAY_MOST: Final = 0.50

# Note to table 1: three cables can jam where conduit over cable diameter lies between these.
_JAM: Final = (2.8, 3.2)
_NOTE_7: Final = 0.8


@dataclass(frozen=True, slots=True)
class Fill:
    """How full a conduit is. `share` and `limit` are of its inside area; `holds` within it."""

    cables: int
    share: float
    limit: float
    steps: tuple[Step, ...]

    @property
    def holds(self) -> bool:
        return self.share <= self.limit + 1e-9


def emt_inside_mm(trade_size: str) -> float:
    """The inside diameter of electrical metallic tubing, in mm (NEC chapter 9 table 4).

    Takes `1-1/4`, `1 1/4`, `1-1/4"`, or the metric designator `35`. Raises ValueError for a size
    that is not known.
    """
    plain_size = "-".join(trade_size.strip().rstrip('"').replace("-", " ").split())
    plain_size = _DESIGNATORS.get(plain_size, plain_size)
    if plain_size not in _EMT_IN:
        raise ValueError(f"trade size {trade_size!r} is not known: {', '.join(TRADE_SIZES)}")
    return _EMT_IN[plain_size] * 25.4


def circle_mm2(diameter_mm: float) -> float:
    """The area of a circle, unrounded, in mm². Raises ValueError for a diameter not above 0 mm."""
    require_above("diameter", diameter_mm, "mm")
    return pi / 4 * diameter_mm**2


def fill_limit(cables: int, *, is_nipple: bool = False) -> float:
    """The share of a conduit's area that so many cables may take (NEC chapter 9 table 1, note 4).

    Raises ValueError for a negative count.
    """
    require("cables", cables, "")
    if is_nipple:
        return NIPPLE
    return ONE_CABLE if cables <= 1 else TWO_CABLES if cables == 2 else MORE_CABLES


def fill(inside_mm: float, cables_mm: Sequence[float], *, is_nipple: bool = False) -> Fill:
    """How full a conduit is with cables of those diameters (NEC chapter 9 table 1).

    Raises ValueError for a diameter not above 0 mm.
    """
    area = circle_mm2(inside_mm)
    taken = sum(map(circle_mm2, cables_mm))
    limit = fill_limit(len(cables_mm), is_nipple=is_nipple)
    steps = (
        Step("inside", f"π/4 × {plain(inside_mm)}² mm²", area, "mm²"),
        Step("cables", f"{len(cables_mm)} cables, each π/4 × its diameter²", taken, "mm²"),
        Step("filled", f"{plain(taken)} / {plain(area)} mm²", 100 * taken / area, "%"),
        Step("limit", f"{len(cables_mm)} cables", 100 * limit, "%", "NEC chapter 9, to plan by"),
    )
    return Fill(len(cables_mm), taken / area, limit, steps)


def most_cables(
    inside_mm: float, cable_mm: float, *, is_nipple: bool = False, note_7: bool = True
) -> int:
    """How many cables of one diameter a conduit takes (NEC chapter 9 tables 1 and C.1).

    Note 7 rounds up from eight tenths where all are of one size; without it a count is cut off.
    Raises ValueError for a diameter not above 0 mm.
    """
    ratio = circle_mm2(inside_mm) / circle_mm2(cable_mm)

    def whole(count: float) -> int:
        return floor(count + (1 - _NOTE_7 if note_7 else 0) + 1e-9)

    if is_nipple:
        return whole(NIPPLE * ratio)
    if (count := whole(MORE_CABLES * ratio)) >= 3:
        return count
    return 2 if whole(TWO_CABLES * ratio) >= 2 else min(1, whole(ONE_CABLE * ratio))


def more_that_fit(
    inside_mm: float, present_mm: Sequence[float], cable_mm: float, *, is_nipple: bool = False
) -> int:
    """How many cables of a diameter still go in beside those present (NEC chapter 9 table 1).

    Note 7 helps only where all are of one size. Raises ValueError for a diameter not above 0 mm.
    """
    if all(diameter == cable_mm for diameter in present_mm):
        return max(0, most_cables(inside_mm, cable_mm, is_nipple=is_nipple) - len(present_mm))
    area, each = circle_mm2(inside_mm), circle_mm2(cable_mm)
    taken = sum(map(circle_mm2, present_mm))
    share = NIPPLE if is_nipple else MORE_CABLES
    more = max(0, floor((share * area - taken) / each + 1e-9))
    if is_nipple or len(present_mm) + more >= 3:
        return more
    if len(present_mm) == 1 and taken + each <= TWO_CABLES * area + 1e-9:
        return 1
    return 0


def size_needed(cables_mm: Collection[float]) -> str | None:
    """The smallest trade size of EMT that takes those cables; None when none does.

    Raises ValueError for a diameter not above 0 mm.
    """
    found = list(cables_mm)
    return next((size for size in TRADE_SIZES if fill(emt_inside_mm(size), found).holds), None)


def may_jam(inside_mm: float, cable_mm: float) -> bool:
    """Whether three such cables can jam in a bend: conduit over cable from 2.8 to 3.2.

    NEC chapter 9, note to table 1. Raises ValueError for a diameter not above 0 mm.
    """
    require_above("inside diameter", inside_mm, "mm")
    require_above("cable diameter", cable_mm, "mm")
    return _JAM[0] <= inside_mm / cable_mm <= _JAM[1]


def tray_count(width_mm: float, height_mm: float, cable_mm: float, share: float = TRAY_MOST) -> int:
    """How many cables of a diameter a tray, basket or raceway takes, filled to that share.

    Arithmetic: share x width x height over the cable's circle. Raises ValueError for a size not
    above 0 mm or a share outside 0 to 1.
    """
    require_above("width", width_mm, "mm")
    require_above("height", height_mm, "mm")
    require("share filled", share, "", 0, 1)
    return floor(share * width_mm * height_mm / circle_mm2(cable_mm) + 1e-9)
