"""Mains power against the National Electrical Code (NFPA 70) and circuit identities."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from binder.engineering.power import (
    Fed,
    Load,
    apparent_va,
    breaker_needed_a,
    carried,
    circuit_budget,
    circuit_va,
    continuous_limit_a,
    current_a,
    loads,
    standard_breaker_a,
    ups_budgets,
)


@pytest.mark.parametrize(
    ("rating_a", "limit_a", "va_120", "va_208", "va_240", "va_208_three_phase"),
    [
        (15, 12, 1440, 2496, 2880, 4323.2),
        (20, 16, 1920, 3328, 3840, 5764.3),
        (30, 24, 2880, 4992, 5760, 8646.4),
        (50, 40, 4800, 8320, 9600, 14410.7),
        (60, 48, 5760, 9984, 11520, 17292.8),
    ],
)
def test_a_breaker_carries_80_percent_for_long(
    rating_a: float, limit_a: float, va_120: float, va_208: float, va_240: float,
    va_208_three_phase: float,
) -> None:  # fmt: skip
    """NEC 210.20(A); VA is arithmetic on it."""
    assert continuous_limit_a(rating_a) == pytest.approx(limit_a)
    assert circuit_va(limit_a, 120) == pytest.approx(va_120)
    assert circuit_va(limit_a, 208) == pytest.approx(va_208)
    assert circuit_va(limit_a, 240, phases=2) == pytest.approx(va_240)
    assert circuit_va(limit_a, 208, phases=3) == pytest.approx(va_208_three_phase, abs=0.05)


@pytest.mark.parametrize(("rating_a", "cord_a"), [(15, 12), (20, 16), (30, 24)])
def test_that_is_also_the_most_a_cord_and_plug_load_may_be(rating_a: float, cord_a: float) -> None:
    """NEC table 210.21(B)(2) (from memory)."""
    assert continuous_limit_a(rating_a) == pytest.approx(cord_a)


@pytest.mark.parametrize(
    ("continuous_a", "other_a", "needed_a", "standard_a"),
    [(12.5, 0, 15.625, 20), (16, 0, 20.0, 20), (10, 5, 17.5, 20), (0, 0, 0, 15)],
)
def test_the_breaker_a_load_needs(
    continuous_a: float, other_a: float, needed_a: float, standard_a: int
) -> None:
    """NEC 210.20(A): other load and 1.25 times the continuous; sizes of 240.6(A), from memory."""
    assert breaker_needed_a(continuous_a, other_a) == pytest.approx(needed_a)
    assert standard_breaker_a(breaker_needed_a(continuous_a, other_a)) == standard_a


def test_standard_breakers() -> None:
    """NEC 240.6(A) (from memory)."""
    sizes = [15, 20, 25, 30, 35, 40, 45, 50, 60, 70, 80, 90, 100, 110, 125, 150, 175, 200]
    assert [standard_breaker_a(size) for size in sizes] == sizes
    assert [standard_breaker_a(size + 0.1) for size in sizes[:-1]] == sizes[1:]


def test_beyond_200_a_no_standard_size_is_told() -> None:
    assert standard_breaker_a(200.0) == 200
    assert standard_breaker_a(200.1) is None


@pytest.mark.parametrize(
    ("kva", "voltage_v", "phases", "amperes"),
    [
        (225, 480, 3, 270.633),
        (30, 208, 3, 83.27),
        (10, 208, 3, 27.76),
        (100 / 0.85, 208, 3, 326.556),
        (1.44, 120, 1, 12.0),
        (2 / 0.9, 208, 1, 10.684),
    ],
)
def test_current_of_a_load(kva: float, voltage_v: float, phases: int, amperes: float) -> None:
    """I = VA/V and VA/(sqrt(3) V): arithmetic. kVA has no power factor to divide by again."""
    assert current_a(kva * 1000, voltage_v, phases) == pytest.approx(amperes, rel=1e-4)


@pytest.mark.parametrize(
    ("amperes", "power_factor", "kilowatts"), [(100, 0.90, 74.82), (100, 0.85, 70.67)]
)
def test_three_phase_power_at_480_v(amperes: float, power_factor: float, kilowatts: float) -> None:
    """kW = sqrt(3) V I pf/1000: arithmetic."""
    kva = circuit_va(amperes, 480, phases=3) / 1000
    assert apparent_va(kilowatts, power_factor) == pytest.approx(kva, rel=1e-4)


@given(st.floats(0, 1e5), st.floats(1, 1000), st.sampled_from([1, 2, 3]))
def test_volt_amperes_and_amperes_round_trip(va: float, voltage_v: float, phases: int) -> None:
    assert circuit_va(current_a(va, voltage_v, phases), voltage_v, phases) == pytest.approx(va)


# The tree of feeds --------------------------------------------------------------------------


def closet() -> list[Fed]:
    """Two UPSs on two circuits, a switch with a supply on each, and loads on either side."""
    return [
        Fed("LP1-12"),
        Fed("LP1-14"),
        Fed("UPS1", own_w=10, own_va=10, inlets=("LP1-12",), efficiency=0.9),
        Fed("UPS2", inlets=("strip",), efficiency=0.9),
        Fed("strip", inlets=("LP1-14",)),
        Fed("SW1", 300, 320, inlets=("UPS1", "UPS2")),
        Fed("REC1", 60, 80, inlets=("UPS1",)),
        Fed("fan", 20, 25, inlets=("strip",)),
    ]


def test_dual_supplies_share() -> None:
    """Worked by hand: 150 W of the switch on each side."""
    found = loads(closet())
    assert found["UPS1"].out_w == 150 + 60
    assert found["UPS1"].out_va == 160 + 80
    assert found["UPS1"].taken_w == pytest.approx(10 + 210 / 0.9)
    assert found["UPS2"].out_w == 150
    assert found["strip"].out_w == pytest.approx(20 + 150 / 0.9)
    assert found["LP1-12"].out_w == pytest.approx(10 + 210 / 0.9)
    assert found["LP1-14"].out_w == pytest.approx(20 + 150 / 0.9)


def test_the_other_side_carries_all_when_one_fails() -> None:
    found = carried(closet())
    assert found["UPS1"].worst.out_w == 360
    assert found["UPS1"].worst_when in {"UPS2", "strip", "LP1-14"}
    assert found["UPS2"].worst.out_w == 300
    assert found["UPS2"].worst_when in {"UPS1", "LP1-12"}
    assert found["LP1-14"].worst.out_w == pytest.approx(20 + 300 / 0.9)
    assert "REC1" not in found  # feeds nothing


def test_a_failure_takes_down_what_hangs_on_it_alone() -> None:
    found = loads(closet(), failed=["LP1-12"])
    assert found["UPS1"] == found["REC1"] == Load(0, 0, 0, 0)
    assert found["SW1"].taken_w == 300
    assert found["UPS2"].out_w == 300


def test_nothing_shifts_where_every_supply_is_single() -> None:
    chain = [Fed("LP1"), Fed("UPS1", inlets=("LP1",)), Fed("SW1", 100, 110, inlets=("UPS1",))]
    assert carried(chain)["UPS1"].worst_when == ""
    assert carried(chain)["UPS1"].worst == carried(chain)["UPS1"].normal


def test_two_supplies_on_one_ups_are_no_redundancy() -> None:
    things = [Fed("UPS1"), Fed("SW1", 100, 110, inlets=("UPS1", "UPS1"))]
    assert loads(things)["UPS1"].out_w == 100
    assert loads(things, failed=["UPS1"])["SW1"].taken_w == 0


@st.composite
def trees(draw: st.DrawFn) -> list[Fed]:
    """Things fed only by things before them."""
    things: list[Fed] = []
    for n in range(draw(st.integers(1, 9))):
        earlier = [thing.name for thing in things]
        inlets = draw(st.lists(st.sampled_from(earlier), max_size=3)) if earlier else []
        watts = draw(st.floats(0, 500))
        things.append(Fed(f"T{n}", watts, watts * 1.1, tuple(inlets)))
    return draw(st.permutations(things))


@given(trees())
def test_sources_give_all_that_is_drawn(things: list[Fed]) -> None:
    found = loads(things)
    from_sources = sum(found[thing.name].taken_w for thing in things if not thing.inlets)
    assert from_sources == pytest.approx(sum(thing.own_w for thing in things))


@given(trees())
def test_no_single_failure_is_worse_than_the_worst(things: list[Fed]) -> None:
    worst = carried(things)
    for failed in things:
        for name, load in loads(things, failed=[failed.name]).items():
            if name in worst:
                assert load.out_w <= worst[name].worst.out_w + 1e-6


def test_feeds_that_make_no_sense_are_refused_by_name() -> None:
    with pytest.raises(ValueError, match="SW1 is fed by UPS9, which is not given"):
        loads([Fed("SW1", 1, 1, inlets=("UPS9",))])
    with pytest.raises(ValueError, match=r"power feeds run in a ring: .*UPS1.*UPS2"):
        loads([Fed("UPS1", inlets=("UPS2",)), Fed("UPS2", inlets=("UPS1",))])
    with pytest.raises(ValueError, match="efficiency of UPS1 0: must be finite, above 0"):
        loads([Fed("UPS1", efficiency=0)])
    with pytest.raises(ValueError, match="power of SW1 -1 W"):
        loads([Fed("SW1", -1, 1)])


# Budgets ------------------------------------------------------------------------------------


def test_a_branch_circuit_is_planned_to_its_continuous_limit() -> None:
    """NEC 210.20(A): 20 A at 120 V carry 16 A; 960 VA are 8 A of it, 240 VA to come 2 A."""
    budget = circuit_budget(20, 120, 1, used_va=960, kept_va=240)
    assert (budget.limit, budget.used, budget.reserved) == (16, 8, 2)
    assert budget.free == pytest.approx(6)
    assert str(budget.steps[0]) == ("limit: 20 A × 0.8 = 16 A (NEC 210.20(A), continuous load)")
    assert circuit_budget(20, 120, 1, 0).free == 16


def test_a_ups_is_full_when_watts_or_volt_amperes_are() -> None:
    """Arithmetic: 1500 VA and 1000 W; 900 W at 0.7 power factor are 1286 VA."""
    watts, va = ups_budgets(1000, 1500, Load(900, 900 / 0.7, 0, 0), Load(50, 60, 0, 0))
    assert (watts.unit, va.unit) == ("W", "VA")
    assert [watts.free, va.free] == pytest.approx([50, 154.29], abs=0.01)


def test_a_rating_nobody_recorded_makes_no_budget() -> None:
    (va,) = ups_budgets(None, 1500, Load(900, 1000, 0, 0))
    assert va.unit == "VA"
    with pytest.raises(ValueError, match="needs watts or volt-amperes, neither is known"):
        ups_budgets(None, None, Load(900, 1000, 0, 0))


@given(st.floats(0, 3000), st.floats(0, 3000))
def test_more_load_leaves_less(one_va: float, other_va: float) -> None:
    less, more = sorted((one_va, other_va))
    assert circuit_budget(20, 120, 1, less).free >= circuit_budget(20, 120, 1, more).free


def test_out_of_range_is_refused_by_name_and_unit() -> None:
    with pytest.raises(ValueError, match="breaker rating 0 A: must be finite, above 0 A"):
        continuous_limit_a(0)
    with pytest.raises(ValueError, match="voltage -120 V: must be finite, above 0 V"):
        current_a(100, -120)
    with pytest.raises(ValueError, match="phases 4: must be from 1 to 3"):
        current_a(100, 120, 4)
    with pytest.raises(ValueError, match="power factor 0: must be finite, above 0"):
        apparent_va(100, 0)
    with pytest.raises(ValueError, match=r"power factor 1\.1: must be from 0 to 1"):
        apparent_va(100, 1.1)
    with pytest.raises(ValueError, match="continuous load nan A"):
        breaker_needed_a(math.nan)
    with pytest.raises(ValueError, match=r"planning share 1\.1: must be from 0 to 1"):
        circuit_budget(20, 120, 1, 0, planning_share=1.1)
    with pytest.raises(ValueError, match="UPS rating 0 W"):
        ups_budgets(0, None, Load(0, 0, 0, 0))
