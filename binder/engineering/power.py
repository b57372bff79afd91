"""Mains power: what each UPS, strip and branch circuit carries, and what it may carry.

Continuous loads: NFPA 70 (NEC) 210.20(A), also 210.19(A)(1) and 215.3: a breaker is rated for the
other load and 1.25 times the continuous one, so that a continuous load takes 80 % of it. Continuous
is three hours or more (article 100, from memory). Single-phase I = VA/V, three-phase
I = VA/(sqrt(3) V between lines). Mains work is for licensed persons: see `cautions.MAINS`.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Collection, Mapping
from dataclasses import dataclass
from graphlib import CycleError, TopologicalSorter
from math import sqrt
from typing import Final

from binder.engineering.figures import Budget, Step, plain, require, require_above

CONTINUOUS_SHARE: Final = 0.8

# NEC 240.6(A), standard ratings of breakers (from memory).
BREAKERS_A: Final = (15, 20, 25, 30, 35, 40, 45, 50, 60, 70, 80, 90, 100, 110, 125, 150, 175, 200)


@dataclass(frozen=True, slots=True)
class Fed:
    """Something in the tree of power: hardware, UPS, strip or branch circuit.

    `own_w` and `own_va` are what it draws itself; `inlets` name what feeds each of its supplies.
    Without inlets it is a source, like a branch circuit. An inlet whose feed nobody recorded is
    left out: what is known then carries all, which is the most it can be. `efficiency` is output
    over input of what it passes on.
    """

    name: str
    own_w: float = 0.0
    own_va: float = 0.0
    inlets: tuple[str, ...] = ()
    efficiency: float = 1.0


@dataclass(frozen=True, slots=True)
class Load:
    """What passes on to what it feeds (`out`), and what it draws itself with that (`taken`)."""

    out_w: float
    out_va: float
    taken_w: float
    taken_va: float


@dataclass(frozen=True, slots=True)
class Carried:
    """The load of one source: with all well, and at the worst single failure of another."""

    normal: Load
    worst: Load
    worst_when: str  # what has failed then; '' when nothing makes it worse


def apparent_va(power_w: float, power_factor: float) -> float:
    """VA = W/pf (definition). Raises ValueError for a negative power or pf outside (0, 1]."""
    require("power", power_w, "W")
    _require_share("power factor", power_factor)
    return power_w / power_factor


def current_a(load_va: float, voltage_v: float, phases: int = 1) -> float:
    """The current of a load, in A; for three phases the voltage is between lines.

    There is no power factor here: VA has it already. Circuit identity. Raises ValueError for a
    negative load, a voltage not above 0 V, or phases outside 1 to 3.
    """
    require("load", load_va, "VA")
    require_above("voltage", voltage_v, "V")
    return load_va / (voltage_v * _line_factor(phases))


def circuit_va(current: float, voltage_v: float, phases: int = 1) -> float:
    """The load that draws that current, in VA: `current_a` solved the other way."""
    require("current", current, "A")
    require_above("voltage", voltage_v, "V")
    return current * voltage_v * _line_factor(phases)


def continuous_limit_a(rating_a: float) -> float:
    """What a breaker may carry for three hours or more, in A: 80 % of it (NEC 210.20(A)).

    Not for an assembly listed for 100 %. Raises ValueError for a rating not above 0 A.
    """
    require_above("breaker rating", rating_a, "A")
    return rating_a * CONTINUOUS_SHARE


def breaker_needed_a(continuous_a: float, other_a: float = 0.0) -> float:
    """The least rating for those loads, in A: other + 1.25 continuous (NEC 210.20(A))."""
    require("continuous load", continuous_a, "A")
    require("other load", other_a, "A")
    return other_a + continuous_a / CONTINUOUS_SHARE


def standard_breaker_a(needed_a: float) -> int | None:
    """The next standard rating, in A (NEC 240.6(A), from memory); None above 200 A."""
    require("needed rating", needed_a, "A")
    return next((rating for rating in BREAKERS_A if rating >= needed_a - 1e-9), None)


def circuit_budget(
    rating_a: float,
    voltage_v: float,
    phases: int,
    used_va: float,
    kept_va: float = 0.0,
    planning_share: float = CONTINUOUS_SHARE,
) -> Budget:
    """What a branch circuit can still carry, in A. Network load is continuous: 80 % is the limit.

    On three phases the load is taken as even between them, which is the least it can be on the
    fullest. Raises ValueError for values out of range.
    """
    require_above("breaker rating", rating_a, "A")
    require("planning share", planning_share, "", 0, 1)
    limit_a = rating_a * planning_share
    by = "" if phases < 3 else "√3 × "
    used_a = current_a(used_va, voltage_v, phases)
    kept_a = current_a(kept_va, voltage_v, phases)
    divided = f"VA / ({by}{plain(voltage_v)} V)"
    basis = "NEC 210.20(A), continuous load" if planning_share == CONTINUOUS_SHARE else ""
    steps = (
        Step("limit", f"{plain(rating_a)} A × {plain(planning_share)}", limit_a, "A", basis),
        Step("carried", f"{plain(used_va)} {divided}", used_a, "A"),
        Step("planned or kept", f"{plain(kept_va)} {divided}", kept_a, "A"),
    )
    return Budget(limit_a, used_a, kept_a, "A", steps)


def ups_budgets(
    rating_w: float | None,
    rating_va: float | None,
    used: Load,
    kept: Load | None = None,
    planning_share: float = 1.0,
) -> tuple[Budget, ...]:
    """What a UPS can still carry by watts and by volt-amperes; both hold, the scarcer decides.

    A rating of None is left out. Raises ValueError when neither is known, for a rating not above 0,
    or a share outside 0 to 1.
    """
    require("planning share", planning_share, "", 0, 1)
    kept = kept or Load(0, 0, 0, 0)
    by_unit = (
        ("W", rating_w, used.out_w, kept.out_w),
        ("VA", rating_va, used.out_va, kept.out_va),
    )
    budgets = tuple(
        _rated(unit, rating, planning_share, carried, reserved)
        for unit, rating, carried, reserved in by_unit
        if rating is not None
    )
    if not budgets:
        raise ValueError("UPS rating: needs watts or volt-amperes, neither is known")
    return budgets


def loads(things: Collection[Fed], failed: Collection[str] = ()) -> dict[str, Load]:
    """What each thing passes on and takes, when those named have failed.

    Dual supplies share evenly; when one side is dead the other carries all. What has no live feed
    takes nothing: batteries count as spent. VA are added as numbers, which is the most they can
    come to. Raises ValueError for an inlet to something not given, or feeds in a ring.
    """
    return _loads(_Tree.of(things), frozenset(failed))


def carried(things: Collection[Fed]) -> dict[str, Carried]:
    """For each thing that feeds others: its load now, and at the worst failure of one other.

    Raises ValueError as `loads` does.
    """
    tree = _Tree.of(things)
    normal = _loads(tree, frozenset())
    worst = {name: Carried(normal[name], normal[name], "") for name in tree.fed_from}
    for failed in tree.shared_sources():
        for name, load in _loads(tree, frozenset([failed])).items():
            if name != failed and name in worst and load.out_w > worst[name].worst.out_w + 1e-9:
                worst[name] = Carried(normal[name], load, failed)
    return worst


@dataclass(frozen=True, slots=True)
class _Tree:
    things: Mapping[str, Fed]
    order: tuple[str, ...]  # what is fed before what feeds it
    fed_from: Mapping[str, tuple[str, ...]]

    @classmethod
    def of(cls, things: Collection[Fed]) -> _Tree:
        by_name = {thing.name: thing for thing in things}
        fed_from: defaultdict[str, list[str]] = defaultdict(list)
        for thing in things:
            _require_fed(thing)
            for inlet in thing.inlets:
                if inlet not in by_name:
                    raise ValueError(f"{thing.name} is fed by {inlet}, which is not given")
                fed_from[inlet].append(thing.name)
        try:
            order = tuple(TopologicalSorter({n: fed_from[n] for n in by_name}).static_order())
        except CycleError as error:
            ring = " -> ".join(error.args[1])
            raise ValueError(f"power feeds run in a ring: {ring}") from error
        return cls(by_name, order, {name: tuple(fed) for name, fed in fed_from.items() if fed})

    def shared_sources(self) -> tuple[str, ...]:
        """What lies above a thing with two supplies: only these shift load when they fail."""
        above = {inlet for t in self.things.values() if len(t.inlets) > 1 for inlet in t.inlets}
        for name in self.order:
            if name in above:
                above.update(self.things[name].inlets)
        return tuple(name for name in self.order if name in above)


def _loads(tree: _Tree, failed: frozenset[str]) -> dict[str, Load]:
    live: set[str] = set()
    for name in reversed(tree.order):
        inlets = tree.things[name].inlets
        if name not in failed and (not inlets or any(inlet in live for inlet in inlets)):
            live.add(name)
    out_w: defaultdict[str, float] = defaultdict(float)
    out_va: defaultdict[str, float] = defaultdict(float)
    found = {}
    for name in tree.order:
        thing = tree.things[name]
        if name not in live:
            found[name] = Load(0.0, 0.0, 0.0, 0.0)
            continue
        taken_w = thing.own_w + out_w[name] / thing.efficiency
        taken_va = thing.own_va + out_va[name] / thing.efficiency
        found[name] = Load(out_w[name], out_va[name], taken_w, taken_va)
        feeding = [inlet for inlet in thing.inlets if inlet in live]
        for inlet in feeding:
            out_w[inlet] += taken_w / len(feeding)
            out_va[inlet] += taken_va / len(feeding)
    return found


def _rated(unit: str, rating: float, share: float, used: float, kept: float) -> Budget:
    require_above("UPS rating", rating, unit)
    steps = (
        Step("limit", f"{plain(rating)} {unit} × {plain(share)}", rating * share, unit),
        Step("carried", "what it feeds, through its outlets and strips", used, unit),
        Step("planned or kept", "planned hardware and reservations", kept, unit),
    )
    return Budget(rating * share, used, kept, unit, steps)


def _require_fed(thing: Fed) -> None:
    require(f"power of {thing.name}", thing.own_w, "W")
    require(f"apparent power of {thing.name}", thing.own_va, "VA")
    _require_share(f"efficiency of {thing.name}", thing.efficiency)


def _require_share(what: str, share: float) -> None:
    require_above(what, share, "")
    require(what, share, "", 0, 1)


def _line_factor(phases: int) -> float:
    require("phases", phases, "", 1, 3)
    return sqrt(3) if phases == 3 else 1.0
