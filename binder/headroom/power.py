"""Rows of mains power: what each UPS carries, and each branch circuit."""

from __future__ import annotations

from collections.abc import Iterator
from functools import partial

from binder.engineering.cautions import MAINS
from binder.engineering.figures import Budget, Step, plain, scarcest
from binder.engineering.power import (
    Load,
    circuit_budget,
    circuit_va,
    standard_breaker_a,
    ups_budgets,
)
from binder.headroom.attempt import attempt
from binder.headroom.mains import PowerTree, circuit_key, names_of
from binder.headroom.rows import Measured, Need, Row, row, unknown
from binder.headroom.source import Source, missing
from binder.headroom.tables import BranchCircuit, Hardware, Reservation

UPS_LOAD = "UPS load"
BRANCH = "branch circuit"
_NOTHING = Load(0, 0, 0, 0)


def rows(source: Source, tree: PowerTree) -> Iterator[Row]:
    """A row a UPS, by the scarcer of its watts and volt-amperes, and a row a branch circuit."""
    for ups in source.standing("UPS"):
        where = source.of_hardware(ups)
        yield attempt(UPS_LOAD, where, "W", partial(_ups, source, tree, ups))
    for circuit in source.branch_circuits.values():
        where = source.where("branch_circuit", circuit, circuit.space_id)
        yield attempt(BRANCH, where, "A", partial(_branch, source, tree, circuit), MAINS)


def loads_of(tree: PowerTree, key: str) -> tuple[Load, Load, str]:
    """The worst load now, what planned things add to it, and what has failed at the worst."""
    now, then = tree.now.get(key), tree.then.get(key)
    worst = now.worst if now else _NOTHING
    grown = then.worst if then else worst
    added = Load(
        max(0.0, grown.out_w - worst.out_w),
        max(0.0, grown.out_va - worst.out_va),
        max(0.0, grown.taken_w - worst.taken_w),
        max(0.0, grown.taken_va - worst.taken_va),
    )
    return worst, added, now.worst_when if now else ""


def _ups(source: Source, tree: PowerTree, ups: Hardware) -> Row:
    where, limit = source.of_hardware(ups), source.limits["UPS load percent"]
    basis = "power feeds of this binder, base power and PoE supplied; the worse of W and VA"
    if ups.ups_rating_w is None and ups.ups_rating_va is None:
        needs = missing("hardware", ups, "ups_rating_w", "ups_rating_va")
        return unknown(UPS_LOAD, where, "W", needs, basis=basis)
    if tree.problem:
        return unknown(UPS_LOAD, where, "W", (), says=tree.problem, basis=basis)
    worst, added, when = loads_of(tree, ups.name)
    measured = source.latest(ups.id, "UPS load W", "W")
    used = worst
    if measured and measured.value > worst.out_w:
        scale = measured.value / worst.out_w if worst.out_w else 1.0
        used = Load(measured.value, worst.out_va * scale, worst.taken_w, worst.taken_va)
    budgets = ups_budgets(ups.ups_rating_w, ups.ups_rating_va, used, added, limit.share)
    budget = scarcest(budgets)
    lacking, assumed = tree.doubts(ups.name)
    return row(
        UPS_LOAD, where, _with_steps(budget, _load_steps(tree, ups.name, when, measured)),
        rated=budget.limit / limit.share, because=limit.because, basis=basis,
        tight=source.limits.tight, missing=lacking, assumed=assumed, measured=measured,
        notes=_ups_notes(source, ups, budgets), caution=MAINS,
        fix=lambda b: f"a UPS rated {plain((b.used + b.reserved) / limit.share)} {b.unit} or more, "
                      f"or {plain(-b.free)} {b.unit} moved off it",
    )  # fmt: skip


def _ups_notes(source: Source, ups: Hardware, budgets: tuple[Budget, ...]) -> Iterator[str]:
    if len(budgets) > 1:
        other = min(budgets, key=lambda b: b.share)
        yield f"by {other.unit}: {plain(other.used + other.reserved)} of {plain(other.limit)}"
    for field, unit in (("ups_rating_w", "watts"), ("ups_rating_va", "VA")):
        if getattr(ups, field) is None:
            yield f"its rating in {unit} is not recorded: only the other one is watched"


def _load_steps(
    tree: PowerTree, key: str, when: str, measured: Measured | None
) -> tuple[Step, ...]:
    steps = []
    for hardware in tree.fed_through(key):
        draw = tree.draw(hardware, planned=False)
        inlets = sum(tree.feeder(inlet) is not None for inlet in tree.inlets[hardware.id])
        if draw.power_w and not hardware.is_planned:
            base = hardware.base_power_w
            supplied = tree.feeds.now_w(hardware.id)
            working = (
                f"{plain(base)} W + {plain(supplied)} W over PoE"
                if base is not None and supplied
                else "base power" if base is not None else "maximum power"
            )  # fmt: skip
            basis = "" if inlets < 2 else f"{inlets} supplies: shared, all when the other side dies"
            steps.append(Step(hardware.name, working, draw.power_w, "W", basis))
    steps += planned_steps(tree, key)
    if when:
        worst = tree.now[key].worst
        steps.append(Step("at the worst", f"when {when} has failed", worst.out_w, "W"))
    if measured:
        steps.append(Step("measured", measured.at[:10], measured.value, "W", "the greater counts"))
    return tuple(steps)


def planned_steps(tree: PowerTree, key: str) -> Iterator[Step]:
    """What planned hardware and reservations will add below this, each with its watts."""
    below = {each.id: each for each in tree.fed_through(key)}
    for hardware in below.values():
        kept = {} if hardware.is_planned else tree.feeds.kept(hardware.id)
        if kept:
            working = " + ".join(f"{name} {plain(d.source_w)}" for name, d in kept.items())
            kept_w = sum(demand.source_w for demand in kept.values())
            yield Step(f"{hardware.name}, planned", working, kept_w, "W")
        elif hardware.is_planned:
            draw_w = tree.draw(hardware, planned=True).power_w
            yield Step(f"{hardware.name}, planned", "base power", draw_w, "W")
    for reserved in tree.source.reservations:
        is_here = reserved.subject_id in below or _is_named(tree, key, reserved)
        if reserved.resource == "UPS watts" and is_here:
            yield Step("reserved", reserved.name, reserved.quantity, "W")


def _is_named(tree: PowerTree, key: str, reserved: Reservation) -> bool:
    hardware = tree.source.hardware.get(reserved.subject_id)
    return hardware is not None and hardware.name == key


def _with_steps(budget: Budget, steps: tuple[Step, ...]) -> Budget:
    return Budget(budget.limit, budget.used, budget.reserved, budget.unit, (*steps, *budget.steps))


def _branch(source: Source, tree: PowerTree, circuit: BranchCircuit) -> Row:
    where = source.where("branch_circuit", circuit, circuit.space_id)
    limit = source.limits["branch circuit percent"]
    basis = "VA of all that hangs on it over its voltage"
    lacking = missing("branch_circuit", circuit, "rating_a", "voltage_v")
    measured = source.latest(circuit.id, "current A", "A")
    if circuit.rating_a is None or circuit.voltage_v is None:
        return unknown(BRANCH, where, "A", lacking, basis=basis, measured=measured, caution=MAINS)
    if tree.problem:
        return unknown(BRANCH, where, "A", (), says=tree.problem, basis=basis, caution=MAINS)
    key, phases = circuit_key(circuit.name), circuit.phases or 1
    worst, added, when = loads_of(tree, key)
    other_va = circuit.other_load_w or 0.0
    used_va = worst.out_va + other_va
    if measured:
        used_va = max(used_va, circuit_va(measured.value, circuit.voltage_v, phases))
    budget = circuit_budget(
        circuit.rating_a, circuit.voltage_v, phases, used_va, added.out_va, limit.share
    )
    through, assumed = tree.doubts(key)
    unrecorded = _other_load(circuit, has_reading=measured is not None)
    return row(
        BRANCH, where, _with_steps(budget, tuple(_branch_steps(tree, circuit, when, measured))),
        rated=circuit.rating_a, because=limit.because, basis=basis, tight=source.limits.tight,
        missing=(*through, *unrecorded), assumed=assumed, measured=measured,
        notes=[f"feeds {names_of(tree.fed_through(key)) or 'nothing recorded here'}"],
        caution=MAINS, fix=lambda b: _circuit_fix(b, limit.share),
    )  # fmt: skip


def _other_load(circuit: BranchCircuit, *, has_reading: bool) -> tuple[Need, ...]:
    """What else hangs on a circuit that is not dedicated; a measured current has it in it."""
    if circuit.dedicated or has_reading:
        return ()
    return missing("branch_circuit", circuit, "other_load_w")


def _branch_steps(
    tree: PowerTree, circuit: BranchCircuit, when: str, measured: Measured | None
) -> Iterator[Step]:
    key = circuit_key(circuit.name)
    found = tree.now.get(key)
    if found:
        for hardware in tree.below.get(key, ()):
            load = tree.now.get(hardware.name)
            va = load.normal.taken_va if load else tree.draw(hardware, planned=False).power_va
            yield Step(hardware.name, "taken at its inlet", va, "VA")
        if when:
            yield Step("at the worst", f"when {when} has failed", found.worst.out_va, "VA")
    yield from planned_steps(tree, key)
    if circuit.other_load_w:
        yield Step("other load", "not in this binder, taken as VA", circuit.other_load_w, "VA")
    if measured:
        yield Step("measured", measured.at[:10], measured.value, "A", "the greater counts")


def _circuit_fix(budget: Budget, share: float) -> str:
    needed_a = (budget.used + budget.reserved) / share
    breaker = standard_breaker_a(needed_a)
    bigger = f"a circuit of {breaker} A" if breaker else "a second circuit"
    return f"{bigger}, by a licensed electrician, or {plain(-budget.free)} A moved off it"
