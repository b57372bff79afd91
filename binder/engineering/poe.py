"""Power over Ethernet: classes, power at the source over the real cable, and a switch's budget.

IEEE Std 802.3-2022 clauses 33 and 145 (802.3af-2003, 802.3at-2009, 802.3bt-2018). A powered device
draws constant power, so current rises as voltage falls: P_source = V I with
I = (V - sqrt(V² - 4 R P))/(2 R). Classes 5 and 7, the figures of classes 1 to 3 on type 3 and 4
sources, and least device voltages except that of class 8 are from memory.
"""

from __future__ import annotations

from collections.abc import Collection, Mapping
from dataclasses import dataclass
from math import inf, sqrt
from types import MappingProxyType
from typing import Final

from binder.engineering.copper import Run, run_ohm
from binder.engineering.figures import Budget, Step, plain, require, require_above

CLASSES: Final = tuple(range(9))
TYPES: Final = (1, 2, 3, 4)
MOST_AT_PORT_W: Final = 99.9  # IEEE 802.3-2022 table 145-16


@dataclass(frozen=True, slots=True)
class ClassLimits:
    """What a class may draw, what a source allots it, and the circuit the standard takes it over.

    `type` is the lowest source type that serves it; `loop_ohm` the worst cable; `device_v` the
    least voltage a device of that class must work at.
    """

    type: int
    pairs: int
    device_w: float
    source_w: float
    source_v: float
    loop_ohm: float
    device_v: float


_CLASSES: Final[Mapping[int, ClassLimits]] = MappingProxyType(
    {
        0: ClassLimits(1, 2, 12.95, 15.4, 44, 20, 37),
        1: ClassLimits(1, 2, 3.84, 4.0, 44, 20, 37),
        2: ClassLimits(1, 2, 6.49, 7.0, 44, 20, 37),
        3: ClassLimits(1, 2, 12.95, 15.4, 44, 20, 37),
        4: ClassLimits(2, 2, 25.5, 30.0, 50, 12.5, 42.5),
        5: ClassLimits(3, 4, 40.0, 45.0, 50, 6.25, 44.3),
        6: ClassLimits(3, 4, 51.0, 60.0, 50, 6.25, 42.5),
        7: ClassLimits(4, 4, 62.0, 75.0, 52, 6.25, 42.9),
        8: ClassLimits(4, 4, 71.3, 90.0, 52, 6.25, 41.1),
    }
)
# On a type 3 or 4 source the low classes are reckoned over 50 V and 12.5 ohm (from memory); type 1
# devices among them work down to 37 V. Class 0 keeps the earlier, larger figure.
_ON_TYPE_3: Final[Mapping[int, ClassLimits]] = MappingProxyType(
    {
        1: ClassLimits(3, 2, 3.84, 4.0, 50, 12.5, 37),
        2: ClassLimits(3, 2, 6.49, 6.7, 50, 12.5, 37),
        3: ClassLimits(3, 2, 13.0, 14.0, 50, 12.5, 37),
    }
)
SOURCE_V: Final[Mapping[int, float]] = MappingProxyType({1: 44.0, 2: 50.0, 3: 50.0, 4: 52.0})
PORT_W: Final[Mapping[int, float]] = MappingProxyType({1: 15.4, 2: 30.0, 3: 60.0, 4: 90.0})


@dataclass(frozen=True, slots=True)
class Feed:
    """A device fed over a cable: what it draws, and what the source gives for it."""

    drawn_w: float
    source_w: float
    loss_w: float
    current_a: float
    device_v: float


@dataclass(frozen=True, slots=True)
class Demand:
    """What one port asks of its source, in W: the figure to plan with, and the least it can be.

    `problems` are sentences on what will not work.
    """

    source_w: float
    least_w: float
    steps: tuple[Step, ...]
    problems: tuple[str, ...] = ()


def class_limits(poe_class: int, source_type: int | None = None) -> ClassLimits:
    """The figures of a class, by the generation of its source where that matters (802.3-2022).

    Without a type: those of 802.3af and 802.3at for classes 0 to 4. Raises ValueError outside
    classes 0 to 8 or types 1 to 4.
    """
    _require_class(poe_class)
    if source_type is not None:
        _require_type(source_type)
        if source_type >= 3 and poe_class in _ON_TYPE_3:
            return _ON_TYPE_3[poe_class]
    return _CLASSES[poe_class]


def can_serve(source_type: int, poe_class: int) -> bool:
    """Whether a port of that type gives that class all it may draw (802.3-2022).

    Raises ValueError outside types 1 to 4 or classes 0 to 8.
    """
    _require_type(source_type)
    return class_limits(poe_class).type <= source_type


def loop_ohm(runs: Collection[Run], pairs: int, temperature_c: float = 20.0) -> float:
    """The resistance power meets out and back, in ohm, over 2 or 4 pairs of those runs.

    Each pair's two conductors are in parallel: a conductor's resistance over 2 pairs, half of it
    over 4. That is not the loop a tester reads on one pair, which is twice the conductor. Raises
    ValueError for pairs other than 2 or 4, and as `copper.run_ohm` does.
    """
    if pairs not in (2, 4):
        raise ValueError(f"powered pairs {pairs}: must be 2 or 4")
    return run_ohm(runs, temperature_c) * 2 / pairs


def most_deliverable_w(source_v: float, resistance_ohm: float) -> float:
    """The most a device can draw at the end of that cable, in W: V²/(4 R). Infinite without R."""
    require_above("source voltage", source_v, "V")
    require("cable resistance", resistance_ohm, "ohm")
    return source_v**2 / (4 * resistance_ohm) if resistance_ohm else inf


def feed(drawn_w: float, source_v: float, resistance_ohm: float) -> Feed | None:
    """What the source gives for a device that draws that power; None when it cannot be delivered.

    Quadratic in current: the identity of the circuit. Raises ValueError for a negative power or
    resistance, or a voltage not above 0 V.
    """
    require("drawn power", drawn_w, "W")
    most_w = most_deliverable_w(source_v, resistance_ohm)
    if drawn_w > most_w:
        return None
    # P/V · 2/(1 + sqrt(1 - P/most)) is the same root, and holds where R is nothing.
    current_a = drawn_w / source_v * 2 / (1 + sqrt(1 - drawn_w / most_w))
    loss_w = current_a**2 * resistance_ohm
    return Feed(
        drawn_w, source_v * current_a, loss_w, current_a, source_v - current_a * resistance_ohm
    )


def demand(
    *,
    drawn_w: float | None = None,
    poe_class: int | None = None,
    source_type: int | None = None,
    runs: Collection[Run] | None = None,
    temperature_c: float = 20.0,
) -> Demand:
    """What a port asks of its source, from as much as is known of the device and the cable.

    A known draw is taken over the real cable, or over the worst the standard allows when `runs` is
    None. Without a draw the class decides, and without a class the most the port type supplies.
    Raises ValueError when none of the three is known, or a value is out of range.
    """
    if drawn_w is not None:
        return _demand_of_draw(drawn_w, poe_class, source_type, runs, temperature_c)
    if poe_class is not None:
        return _demand_of_class(poe_class, source_type)
    if source_type is None:
        raise ValueError("PoE demand: needs the drawn power, the class, or the port type")
    _require_type(source_type)
    most_w = PORT_W[source_type]
    what = f"the most a type {source_type} port supplies"
    return Demand(most_w, 0.0, (Step("at the source", what, most_w, "W", "class not known"),))


def poe_budget(
    budget_w: float,
    demands: Mapping[str, Demand],
    kept: Mapping[str, Demand] | None = None,
    planning_share: float = 1.0,
) -> Budget:
    """What a switch can still supply, in W. `kept` are ports reserved and hardware planned.

    The limit is the switch's budget by the share one plans up to. Arithmetic. Raises ValueError for
    a budget not above 0 W or a share outside 0 to 1.
    """
    require_above("PoE budget", budget_w, "W")
    require("planning share", planning_share, "", 0, 1)
    limit_w = budget_w * planning_share
    steps = (
        Step("limit", f"{plain(budget_w)} W × {plain(planning_share)}", limit_w, "W"),
        _sum_of("supplied", demands),
        _sum_of("planned or kept", kept or {}),
    )
    return Budget(limit_w, steps[1].value, steps[2].value, "W", steps)


def _demand_of_class(poe_class: int, source_type: int | None) -> Demand:
    limits = class_limits(poe_class, source_type)
    source_w = limits.source_w if source_type is None else min(limits.source_w, PORT_W[source_type])
    step = Step("at the source", f"allotted to class {poe_class}", source_w, "W", "IEEE 802.3-2022")
    return Demand(source_w, 0.0, (step,), _underserved(poe_class, source_type))


def _demand_of_draw(
    drawn_w: float,
    poe_class: int | None,
    source_type: int | None,
    runs: Collection[Run] | None,
    temperature_c: float,
) -> Demand:
    require("drawn power", drawn_w, "W", 0, MOST_AT_PORT_W)
    of_class = _least_class(drawn_w) if poe_class is None else poe_class
    limits = class_limits(of_class, source_type)
    source_v = SOURCE_V[source_type] if source_type else limits.source_v
    if runs is None:
        ohm, cable = limits.loop_ohm, "worst cable of the standard"
    else:
        ohm = loop_ohm(runs, limits.pairs, temperature_c)
        cable = f"{plain(sum(run.length_m for run in runs))} m at {plain(temperature_c)} °C"
    fed = feed(drawn_w, source_v, ohm)
    problems = _underserved(poe_class, source_type)
    if fed is None:
        most_w = most_deliverable_w(source_v, ohm)
        problems += (f"{plain(drawn_w)} W cannot be delivered: at most {plain(most_w)} W arrive",)
        step = Step("at the source", f"allotted to class {of_class}", limits.source_w, "W", cable)
        return Demand(limits.source_w, drawn_w, (step,), problems)
    if fed.device_v < limits.device_v:
        problems += (
            f"{plain(fed.device_v)} V at the device: class {of_class} needs "
            f"{plain(limits.device_v)} V",
        )
    amperes = plain(fed.current_a)
    steps = (
        Step("resistance", f"{limits.pairs} pairs, {cable}", ohm, "ohm"),
        Step("current", f"{plain(drawn_w)} W from {plain(source_v)} V", fed.current_a, "A"),
        Step("lost in the cable", f"{amperes}² A² × {plain(ohm)} ohm", fed.loss_w, "W"),
        Step("at the source", f"{plain(source_v)} V × {amperes} A", fed.source_w, "W"),
    )
    least_w = drawn_w if runs is None else fed.source_w
    return Demand(fed.source_w, least_w, steps, problems)


def _underserved(poe_class: int | None, source_type: int | None) -> tuple[str, ...]:
    if poe_class is None or source_type is None or can_serve(source_type, poe_class):
        return ()
    needs = class_limits(poe_class).type
    return (f"class {poe_class} needs a port of type {needs}: this one is type {source_type}",)


def _least_class(drawn_w: float) -> int:
    """The lowest class that may draw as much; the highest for what is beyond all of them."""
    return next((c for c in CLASSES[1:] if _CLASSES[c].device_w >= drawn_w), CLASSES[-1])


def _require_class(poe_class: int) -> None:
    if poe_class not in CLASSES:
        raise ValueError(f"PoE class {poe_class}: must be from 0 to 8")


def _require_type(source_type: int) -> None:
    if source_type not in TYPES:
        raise ValueError(f"PoE type {source_type}: must be from 1 to 4")


def _sum_of(what: str, demands: Mapping[str, Demand]) -> Step:
    parts = [f"{name} {plain(one.source_w)}" for name, one in demands.items()]
    total_w = sum(one.source_w for one in demands.values())
    return Step(what, " + ".join(parts) or "nothing", total_w, "W")
