"""Anchors of a wall-mounted cabinet: shear and tension in each, and how they act together.

Statics of a rigid back at service load, without prying. Interaction by the straight line of
allowable-stress practice (from memory) and by the 5/3 power of ACI 318-19 R17.8. Both take ratios
of service load to allowable value; ACI's own ratios are of factored loads to design strengths.

Every answer carries its caution: this is a planning check, and no approval.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType
from typing import Final, Literal

from binder.engineering.cautions import ANCHORS
from binder.engineering.figures import Step, plain, require, require_above

GRAVITY_M_S2: Final = 9.80665
SAFETY_FACTOR: Final = 4.0

# Published factors on ultimate values: concrete by allowable stress, historically 4; grouted
# masonry 5 (notes to the tables of ICC-ES ESR-4143 and ESR-4878). None is known for others.
PUBLISHED_FACTORS: Final[Mapping[str, float]] = MappingProxyType(
    {"concrete": 4.0, "grouted masonry": 5.0}
)
_TOLERANCE: Final = 1e-9

Position = Literal["closed", "open"]


@dataclass(frozen=True, slots=True)
class AnchorGroup:
    """The anchors of a cabinet: rows from top to bottom, and the ultimate values of one anchor."""

    anchors: int
    rows: int
    row_spacing_mm: float  # top row to bottom row
    ultimate_tension_n: float
    ultimate_shear_n: float
    substrate: str = "unknown"
    safety_factor: float = SAFETY_FACTOR


@dataclass(frozen=True, slots=True)
class AnchorLoad:
    """What the most loaded anchor bears in one position, against what it is allowed.

    `linear` and `five_thirds` are the two interactions: 1 is the limit of each. The straight line
    is the stricter and decides.
    """

    position: Position
    tension_n: float
    shear_n: float
    linear: float
    five_thirds: float
    steps: tuple[Step, ...]

    @property
    def holds(self) -> bool:
        return self.linear <= 1 + _TOLERANCE


@dataclass(frozen=True, slots=True)
class AnchorCheck:
    """A cabinet's anchors in each position. `limit_kg` is the load at which the first is full."""

    loads: tuple[AnchorLoad, ...]
    limit_kg: float
    notes: tuple[str, ...]
    caution: str = ANCHORS

    @property
    def holds(self) -> bool:
        return all(load.holds for load in self.loads)


def couple_tension_n(force_n: float, arm_mm: float, lever_mm: float, anchors: int) -> float:
    """The tension in each of the anchors that hold a force from tipping: F x arm/(lever x n).

    Equilibrium of moments. `arm_mm` is from the pivot to the force, `lever_mm` from the pivot to
    the anchors: for a cabinet on a wall, from the wall to its centre of gravity and from the top
    row to the edge that presses on the wall (the bottom row is the safe choice). Raises ValueError
    for negative values, no lever or no anchor.
    """
    require("force", force_n, "N")
    require("arm", arm_mm, "mm")
    require_above("lever", lever_mm, "mm")
    require("anchors in tension", anchors, "", 1)
    return force_n * arm_mm / (lever_mm * anchors)


def allowable_n(ultimate_n: float, safety_factor: float = SAFETY_FACTOR) -> float:
    """An anchor's allowable value, in N: its ultimate over the safety factor.

    4 for concrete by allowable stress; ICC-ES ESR-4143 and ESR-4878 take 5 in grouted masonry.
    Raises ValueError for an ultimate value not above 0 N or a factor below 1.
    """
    require_above("ultimate value", ultimate_n, "N")
    require("safety factor", safety_factor, "", 1)
    return ultimate_n / safety_factor


def linear_interaction(tension_share: float, shear_share: float) -> float:
    """Tension and shear, each over its allowable, added: 1 is the limit (from memory)."""
    require("tension share", tension_share, "")
    require("shear share", shear_share, "")
    return tension_share + shear_share


def five_thirds_interaction(tension_share: float, shear_share: float) -> float:
    """t^(5/3) + v^(5/3), where 1 is the limit (ACI 318-19 R17.8)."""
    require("tension share", tension_share, "")
    require("shear share", shear_share, "")
    return float(tension_share ** (5 / 3) + shear_share ** (5 / 3))


def check_anchors(
    group: AnchorGroup, load_kg: float, offset_mm: float, open_offset_mm: float | None = None
) -> AnchorCheck:
    """The anchors of a cabinet that carries `load_kg`, its own weight included.

    `offset_mm` is from the wall to the centre of gravity; `open_offset_mm` is the same when a
    swing-out cabinet stands open. Closed, all anchors share the shear and the top row the tension.
    Open, the half of them on the hinge side bears all of both: a strict planning assumption, no
    published source. Raises ValueError for values out of range, or fewer than two rows.
    """
    require("load", load_kg, "kg")
    require("anchor rows", group.rows, "", 2)
    require("anchors", group.anchors, "", group.rows)
    offsets: dict[Position, float] = {"closed": offset_mm}
    if open_offset_mm is not None:
        offsets["open"] = open_offset_mm
    loads = tuple(_load(group, load_kg, where, offset) for where, offset in offsets.items())
    per_kg = max(_load(group, 1.0, where, offset).linear for where, offset in offsets.items())
    return AnchorCheck(loads, 1 / per_kg, _notes(group))


def _load(group: AnchorGroup, load_kg: float, position: Position, offset_mm: float) -> AnchorLoad:
    halves = 2 if position == "open" else 1
    bearing = max(1, group.anchors // halves)
    top_row = max(1, group.anchors // group.rows // halves)
    weight_n = load_kg * GRAVITY_M_S2
    shear_n = weight_n / bearing
    tension_n = couple_tension_n(weight_n, offset_mm, group.row_spacing_mm, top_row)
    allowed_tension_n = allowable_n(group.ultimate_tension_n, group.safety_factor)
    allowed_shear_n = allowable_n(group.ultimate_shear_n, group.safety_factor)
    t, v = tension_n / allowed_tension_n, shear_n / allowed_shear_n
    linear, five_thirds = linear_interaction(t, v), five_thirds_interaction(t, v)
    lever = plain(group.row_spacing_mm)
    tipping = f"{plain(weight_n)} N × {plain(offset_mm)} mm / ({lever} mm × {top_row})"
    side = "hinge side bears all: planning assumption" if halves == 2 else "statics"
    line = "straight line, 1 is the limit"
    power = f"{plain(t)}^5/3 + {plain(v)}^5/3"
    steps = (
        Step("weight", f"{plain(load_kg)} kg × {GRAVITY_M_S2}", weight_n, "N"),
        Step("shear of each anchor", f"{plain(weight_n)} N / {bearing}", shear_n, "N", side),
        Step("tension of each top anchor", tipping, tension_n, "N", side),
        _allowed("tension allowed", group.ultimate_tension_n, group, allowed_tension_n),
        _allowed("shear allowed", group.ultimate_shear_n, group, allowed_shear_n),
        Step("together", f"{plain(t)} + {plain(v)}", linear, "", line),
        Step("together, 5/3 power", power, five_thirds, "", "ACI 318-19 R17.8"),
    )
    return AnchorLoad(position, tension_n, shear_n, linear, five_thirds, steps)


def _allowed(what: str, ultimate_n: float, group: AnchorGroup, allowed_n: float) -> Step:
    factor = plain(group.safety_factor)
    working = f"{plain(ultimate_n)} N / {factor}"
    return Step(what, working, allowed_n, "N", f"safety factor {factor} on the ultimate value")


def _notes(group: AnchorGroup) -> tuple[str, ...]:
    published = PUBLISHED_FACTORS.get(group.substrate)
    if published is None:
        return (
            f"no published safety factor is known for {group.substrate or 'unknown'} substrate: "
            "use values the anchor's maker gives for it, or have it checked",
        )
    if group.safety_factor < published:
        return (
            f"safety factor {plain(group.safety_factor)} is below the {plain(published)} published "
            f"for {group.substrate}",
        )
    return ()
