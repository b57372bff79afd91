"""Power over Ethernet against IEEE Std 802.3-2022, clauses 33 and 145."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from binder.engineering.copper import Run
from binder.engineering.poe import (
    CLASSES,
    PORT_W,
    SOURCE_V,
    can_serve,
    class_limits,
    demand,
    feed,
    loop_ohm,
    most_deliverable_w,
    poe_budget,
)


@pytest.mark.parametrize(
    ("poe_class", "device_w", "source_w", "current_a", "modelled_w", "device_v"),
    [
        (0, 12.95, 15.4, 0.350000, 15.4000, 37.000),
        (1, 3.84, 4.0, 0.091040, 4.0058, 42.179),
        (2, 6.49, 7.0, 0.158990, 6.9956, 40.820),
        (3, 12.95, 15.4, 0.350000, 15.4000, 37.000),
        (4, 25.5, 30, 0.600000, 30.0000, 42.500),
        (6, 51, 60, 1.200000, 60.0000, 42.500),
        (8, 71.3, 90, 1.731503, 90.0381, 41.178),
    ],
)
def test_classes(
    poe_class: int, device_w: float, source_w: float, current_a: float, modelled_w: float,
    device_v: float,
) -> None:  # fmt: skip
    """IEEE 802.3-2022 clauses 33 and 145: watts printed; current and voltage by the circuit."""
    limits = class_limits(poe_class)
    assert (limits.device_w, limits.source_w) == (device_w, source_w)
    fed = feed(device_w, limits.source_v, limits.loop_ohm)
    assert fed is not None
    assert fed.current_a == pytest.approx(current_a, abs=1e-6)
    assert fed.source_w == pytest.approx(modelled_w, abs=1e-4)
    assert fed.device_v == pytest.approx(device_v, abs=1e-3)
    assert round(fed.source_w, 0 if poe_class >= 4 else 1) == source_w


@pytest.mark.parametrize(("poe_class", "device_w", "source_w"), [(5, 40, 45), (7, 62, 75)])
def test_classes_5_and_7(poe_class: int, device_w: float, source_w: float) -> None:
    """IEEE 802.3bt-2018 (values from memory)."""
    limits = class_limits(poe_class)
    fed = feed(device_w, limits.source_v, limits.loop_ohm)
    assert fed is not None
    assert (limits.device_w, limits.source_w, round(fed.source_w)) == (device_w, source_w, source_w)


@pytest.mark.parametrize(
    ("poe_class", "least_v"), [(5, 44.3), (6, 42.5), (7, 42.9), (8, 41.1), (4, 42.5)]
)
def test_least_device_voltage_is_what_is_left_at_the_worst(poe_class: int, least_v: float) -> None:
    """IEEE 802.3bt-2018: class 8 41.1 V; the others from memory. The model's value cut to 0.1 V."""
    limits = class_limits(poe_class)
    fed = feed(limits.device_w, limits.source_v, limits.loop_ohm)
    assert fed is not None
    assert limits.device_v == least_v == math.floor(fed.device_v * 10 + 1e-9) / 10


@pytest.mark.parametrize(
    ("poe_class", "device_w", "source_w", "modelled_w"),
    [(1, 3.84, 4, 3.9167), (2, 6.49, 6.7, 6.7155), (3, 13.0, 14, 13.9767), (4, 25.5, 30, 30.0)],
)
def test_low_classes_on_a_type_3_source(
    poe_class: int, device_w: float, source_w: float, modelled_w: float
) -> None:
    """802.3bt-2018 (from memory): 50 V and 12.5 ohm, not the 44 V and 20 ohm of 802.3af."""
    limits = class_limits(poe_class, source_type=3)
    assert (limits.device_w, limits.source_w, limits.pairs) == (device_w, source_w, 2)
    fed = feed(device_w, limits.source_v, limits.loop_ohm)
    assert fed is not None
    assert fed.source_w == pytest.approx(modelled_w, abs=1e-4)


def test_voltages_of_sources_and_of_type_1_devices() -> None:
    """IEEE 802.3-2022: sources from 44, 50, 50 and 52 V; type 1 devices from 37 V."""
    assert dict(SOURCE_V) == {1: 44, 2: 50, 3: 50, 4: 52}
    for poe_class in (1, 2, 3):
        assert class_limits(poe_class).device_v == class_limits(poe_class, 3).device_v == 37


def test_four_pairs_carry_class_5_and_above() -> None:
    """IEEE 802.3-2022 clause 145."""
    assert [class_limits(c).pairs for c in CLASSES] == [2, 2, 2, 2, 2, 4, 4, 4, 4]


def test_class_8_is_90_w_at_the_source_and_loses_18_7_in_the_cable() -> None:
    """IEEE 802.3-2022 clause 145; 99 W, as some tables have it, is wrong."""
    assert class_limits(8).source_w == 90
    fed = feed(71.3, 52, 6.25)
    assert fed is not None
    assert fed.loss_w == pytest.approx(18.738, abs=0.001)


@pytest.mark.parametrize(
    ("source_v", "resistance_ohm", "most_w"),
    [(44, 20, 24.2), (50, 12.5, 50), (50, 6.25, 100), (52, 6.25, 108.16)],
)
def test_the_most_that_arrives(source_v: float, resistance_ohm: float, most_w: float) -> None:
    """V²/(4 R): arithmetic."""
    assert most_deliverable_w(source_v, resistance_ohm) == pytest.approx(most_w)
    assert feed(most_w - 0.01, source_v, resistance_ohm) is not None
    assert feed(most_w + 0.01, source_v, resistance_ohm) is None


@pytest.mark.parametrize(
    ("source_type", "highest_class", "port_w"), [(1, 3, 15.4), (2, 4, 30), (3, 6, 60), (4, 8, 90)]
)
def test_what_a_port_of_each_type_serves(
    source_type: int, highest_class: int, port_w: float
) -> None:
    """IEEE 802.3-2022: 15.4, 30, 60 and 90 W at the source for types 1 to 4."""
    assert [c for c in CLASSES if can_serve(source_type, c)] == list(range(highest_class + 1))
    assert PORT_W[source_type] == port_w == class_limits(highest_class).source_w


# Over the real cable ------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("gauge_awg", "length_m", "two_pairs_ohm", "class_4", "class_8"),
    [
        (24, 50, 4.2110, (26.701, 47.751), (75.770, 48.932)),
        (24, 100, 8.4219, (28.174, 45.254), (81.693, 45.384)),
        (26, 100, 13.3891, (30.473, 41.840), (92.470, 40.095)),
    ],
)
def test_worked_runs(
    gauge_awg: int, length_m: float, two_pairs_ohm: float, class_4: tuple[float, float],
    class_8: tuple[float, float],
) -> None:  # fmt: skip
    """Arithmetic on the printed resistance of each gauge (NBS Handbook 100) at 20 °C."""
    run = [Run(length_m, gauge_awg)]
    assert loop_ohm(run, 2) == pytest.approx(two_pairs_ohm, rel=0.001)
    assert loop_ohm(run, 4) == pytest.approx(two_pairs_ohm / 2, rel=0.001)
    for drawn_w, source_v, pairs, (source_w, device_v) in [
        (25.5, 50, 2, class_4), (71.3, 52, 4, class_8),
    ]:  # fmt: skip
        fed = feed(drawn_w, source_v, loop_ohm(run, pairs))
        assert fed is not None
        assert fed.source_w == pytest.approx(source_w, rel=0.001)
        assert fed.device_v == pytest.approx(device_v, rel=0.001)


def test_a_thin_cable_leaves_class_4_too_little_voltage() -> None:
    asked = demand(drawn_w=25.5, poe_class=4, source_type=2, runs=[Run(100, 26)])
    assert asked.problems == ("41.84 V at the device: class 4 needs 42.5 V",)
    assert not demand(drawn_w=25.5, poe_class=4, source_type=2, runs=[Run(100, 24)]).problems


def test_the_standards_own_worst_cable_gives_the_allotted_power() -> None:
    """IEEE 802.3-2022 clause 33: 25.5 W drawn are 30 W at the source over 12.5 ohm."""
    asked = demand(drawn_w=25.5, poe_class=4, source_type=2)
    assert asked.source_w == pytest.approx(30)
    assert asked.least_w == 25.5  # over no cable at all
    assert asked.problems == ()


@given(st.floats(0, 25.5), st.floats(0, 90), st.sampled_from([22, 23, 24]), st.floats(0, 60))
def test_the_source_gives_what_is_drawn_and_what_is_lost(
    drawn_w: float, length_m: float, gauge_awg: int, temperature_c: float
) -> None:
    fed = feed(drawn_w, 50, loop_ohm([Run(length_m, gauge_awg)], 2, temperature_c))
    assert fed is not None
    assert fed.source_w == pytest.approx(drawn_w + fed.loss_w)
    assert fed.device_v * fed.current_a == pytest.approx(drawn_w, abs=1e-9)


@given(st.floats(0, 25), st.floats(0, 25), st.floats(0, 100), st.floats(0, 100))
def test_more_drawn_over_more_cable_asks_more(
    one_w: float, other_w: float, one_m: float, other_m: float
) -> None:
    less_w, more_w = sorted((one_w, other_w))
    nearer, farther = sorted((one_m, other_m))
    near = demand(drawn_w=less_w, poe_class=4, source_type=2, runs=[Run(nearer, 24)])
    far = demand(drawn_w=more_w, poe_class=4, source_type=2, runs=[Run(farther, 24)])
    assert near.source_w <= far.source_w * (1 + 1e-12)


def test_four_pairs_lose_half_and_a_warm_cable_more() -> None:
    run = [Run(90, 23), Run(5, 28, is_cord=True)]
    assert loop_ohm(run, 4) == pytest.approx(loop_ohm(run, 2) / 2)
    cool = demand(drawn_w=20, poe_class=4, source_type=2, runs=run)
    warm = demand(drawn_w=20, poe_class=4, source_type=2, runs=run, temperature_c=45)
    assert warm.source_w > cool.source_w


def test_a_device_beside_its_source_loses_nothing() -> None:
    fed = feed(10, 50, 0)
    assert fed is not None
    assert (fed.source_w, fed.loss_w, fed.device_v, fed.current_a) == (10, 0, 50, 0.2)
    idle = feed(0, 50, 12.5)
    assert idle is not None
    assert (idle.source_w, idle.current_a) == (0, 0)


# What is not known --------------------------------------------------------------------------


def test_without_a_draw_the_class_decides() -> None:
    assert demand(poe_class=3).source_w == 15.4
    assert demand(poe_class=3, source_type=3).source_w == 14
    assert demand(poe_class=0).source_w == 15.4
    assert demand(poe_class=3).least_w == 0


def test_without_draw_and_class_the_port_may_supply_all_its_type_allows() -> None:
    asked = demand(source_type=4)
    assert (asked.source_w, asked.least_w) == (90, 0)
    assert asked.steps[0].basis == "class not known"


def test_with_nothing_known_there_is_no_answer() -> None:
    with pytest.raises(ValueError, match="needs the drawn power, the class, or the port type"):
        demand()


def test_a_class_that_its_port_cannot_serve_is_pointed_out() -> None:
    asked = demand(poe_class=6, source_type=2)
    assert asked.problems == ("class 6 needs a port of type 3: this one is type 2",)
    assert asked.source_w == 30  # the port gives no more than it can


def test_a_draw_that_no_cable_carries_is_pointed_out() -> None:
    asked = demand(drawn_w=25, poe_class=3, source_type=1, runs=[Run(100, 28)])
    assert asked.problems == ("25 W cannot be delivered: at most 22.73 W arrive",)
    assert asked.least_w == 25


# Budget -------------------------------------------------------------------------------------


def test_a_switch_supplies_what_its_ports_ask() -> None:
    """Arithmetic: 370 W less three phones, two cameras and a door controller to come."""
    phones = {f"phone {n}": demand(poe_class=2) for n in range(3)}
    cameras = {f"camera {n}": demand(poe_class=3) for n in range(2)}
    budget = poe_budget(370, phones | cameras, {"door": demand(poe_class=6)}, planning_share=0.8)
    assert budget.limit == pytest.approx(296)
    assert budget.used == pytest.approx(3 * 7.0 + 2 * 15.4)
    assert budget.reserved == 60
    assert budget.free == pytest.approx(184.2)
    assert str(budget.steps[2]) == "planned or kept: door 60 = 60 W"


def test_a_switch_without_devices_has_its_whole_budget() -> None:
    assert poe_budget(370, {}).free == 370


def test_out_of_range_is_refused_by_name_and_unit() -> None:
    with pytest.raises(ValueError, match="PoE class 9: must be from 0 to 8"):
        demand(poe_class=9)
    with pytest.raises(ValueError, match="PoE type 5: must be from 1 to 4"):
        demand(poe_class=3, source_type=5)
    with pytest.raises(ValueError, match=r"drawn power 120 W: must be from 0 to 99\.9 W"):
        demand(drawn_w=120)
    with pytest.raises(ValueError, match="powered pairs 3: must be 2 or 4"):
        loop_ohm([], 3)
    with pytest.raises(ValueError, match="PoE budget 0 W"):
        poe_budget(0, {})
    with pytest.raises(ValueError, match="source voltage 0 V"):
        feed(1, 0, 1)
    with pytest.raises(ValueError, match="cable resistance nan ohm"):
        feed(1, 50, math.nan)
