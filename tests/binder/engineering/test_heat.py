"""Heat against NIST SP 811, ASHRAE, the U.S. Standard Atmosphere 1976 and ISO 6946."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import constants

from binder.engineering.heat import (
    ALLOWABLE_A1_C,
    CFM_M3_H,
    PARTITION_U_W_M2_K,
    RECOMMENDED_INLET_C,
    RoomHeat,
    airflow_cfm,
    airflow_m3_h,
    btu_per_h,
    closed_limit_w,
    closed_rise_k,
    cooling_budget,
    pressure_ratio,
    room_heat,
    tons,
    ups_loss_w,
    walls_w_per_k,
    watts,
)

# Units ---------------------------------------------------------------------------------------


def test_units_are_those_of_sp_811() -> None:
    """NIST SP 811 appendix B (from memory): 1 Btu(IT), 1 ton of refrigeration 3516.853 W."""
    assert btu_per_h(1) == pytest.approx(3.412141633, abs=1e-9)
    assert watts(12_000) == pytest.approx(3516.853, abs=0.0005)
    assert tons(3516.8528) == pytest.approx(1)


def test_units_agree_with_scipy() -> None:
    """scipy.constants, by CODATA and NIST SP 811."""
    assert btu_per_h(1) == pytest.approx(constants.hour / constants.Btu_IT)
    assert pytest.approx(constants.foot**3 * 60) == CFM_M3_H


@pytest.mark.parametrize(
    ("power_w", "heat_btu_per_h", "refrigeration_tons"),
    [(1000, 3412.14, 0.28435), (2000, 6824.28, 0.5687), (10_000, 34121.4, 2.8435)],
)
def test_watts_as_heat(power_w: float, heat_btu_per_h: float, refrigeration_tons: float) -> None:
    """Arithmetic on NIST SP 811."""
    assert btu_per_h(power_w) == pytest.approx(heat_btu_per_h, abs=0.05)
    assert tons(power_w) == pytest.approx(refrigeration_tons, abs=0.00005)


@given(st.floats(0, 1e6))
def test_watts_and_btu_round_trip(power_w: float) -> None:
    assert watts(btu_per_h(power_w)) == pytest.approx(power_w)


# Air -----------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("heat_btu_per_h", "rise_f", "cfm"), [(21_600, 20, 1000), (36_000, 20, 1667)]
)
def test_sensible_heat(heat_btu_per_h: float, rise_f: float, cfm: float) -> None:
    """ASHRAE's 1.08 equation, published examples: 1000 CFM from 95 to 75 °F; 36 000 Btu/h."""
    assert airflow_cfm(watts(heat_btu_per_h), rise_f) == pytest.approx(cfm, abs=0.5)


@pytest.mark.parametrize(
    ("heat_w", "rise_k", "flow_m3_h"), [(1000, 10, 298.51), (3000, 15, 597.01)]
)
def test_sensible_heat_in_si(heat_w: float, rise_k: float, flow_m3_h: float) -> None:
    """3600 W/(1.2 x 1005 K): arithmetic."""
    assert airflow_m3_h(heat_w, rise_k) == pytest.approx(flow_m3_h, abs=0.005)


def test_both_forms_of_the_equation_nearly_agree() -> None:
    in_cfm = airflow_cfm(1000, 18)
    assert in_cfm == pytest.approx(1.755 * 1000 / 10, rel=0.001)  # the published short form
    assert airflow_m3_h(1000, 10) == pytest.approx(in_cfm * CFM_M3_H, rel=0.01)


@pytest.mark.parametrize(
    ("altitude_ft", "pressure_psia"),
    [(0, 14.696), (1000, 14.175), (2000, 13.664), (5000, 12.230), (10_000, 10.108)],
)
def test_air_thins_with_pressure(altitude_ft: float, pressure_psia: float) -> None:
    """U.S. Standard Atmosphere 1976, table of ASHRAE Fundamentals, psychrometrics."""
    assert 14.696 * pressure_ratio(altitude_ft * 0.3048) == pytest.approx(pressure_psia, abs=0.003)


def test_thin_air_carries_less() -> None:
    """Arithmetic: 157.97 CFM at sea level over 0.832 at 5000 ft; not 0.862, which is outdoors."""
    assert airflow_cfm(1000, 20) == pytest.approx(157.97, abs=0.01)
    assert airflow_cfm(1000, 20, 5000 * 0.3048) == pytest.approx(189.9, abs=0.1)


@given(st.floats(0, 1e4), st.floats(0, 1e4), st.floats(1, 30), st.floats(-500, 5000))
def test_more_heat_takes_more_air(one: float, other: float, rise_k: float, high_m: float) -> None:
    less, more = sorted((one, other))
    assert airflow_m3_h(less, rise_k, high_m) <= airflow_m3_h(more, rise_k, high_m)


def test_air_at_the_inlet() -> None:
    """ASHRAE TC 9.9, Thermal Guidelines, 5th edition (2021), table 2.1."""
    assert RECOMMENDED_INLET_C == (18, 27)
    assert ALLOWABLE_A1_C == (15, 32)


# What stays in the room ----------------------------------------------------------------------


def test_what_poe_carries_out_is_heat_where_it_ends() -> None:
    """Energy is conserved: 178 W drawn by the switch, 100 W of them by cameras elsewhere."""
    heat = room_heat({"SW1": 178, "UPS1 loss": 16}, {"cameras": 100})
    assert heat.heat_w == 94
    assert [str(step) for step in heat.steps] == [
        "drawn in the room: SW1 178 + UPS1 loss 16 = 194 W",
        "ends elsewhere, over PoE: cameras 100 = 100 W",
        "comes from elsewhere, over PoE: nothing = 0 W",
        "stays in the room: 194 W - 100 W + 0 W = 94 W",
    ]


@given(st.floats(0, 500), st.floats(0, 500))
def test_poe_between_two_rooms_loses_no_heat(base_w: float, sent_w: float) -> None:
    closet = room_heat({"SW1": base_w + sent_w}, {"camera": sent_w})
    hall = room_heat({}, None, {"camera": sent_w})
    assert closet.heat_w + hall.heat_w == pytest.approx(base_w + sent_w, abs=1e-6)


def test_an_empty_room_is_not_warmed() -> None:
    assert room_heat({}).heat_w == 0
    with pytest.raises(ValueError, match="more leaves over PoE than is drawn in the room"):
        room_heat({"SW1": 10}, {"cameras": 11})


@pytest.mark.parametrize(("efficiency", "loss_w"), [(1.0, 0), (0.92, 521.7), (0.8, 1500)])
def test_a_ups_warms_its_room(efficiency: float, loss_w: float) -> None:
    """Arithmetic on 6 kW; UFC 3-520-01 E-2 has 6.52 kW in for 6.0 out at 0.92."""
    assert ups_loss_w(6000, efficiency) == pytest.approx(loss_w, abs=0.1)


def test_cooling_is_held_against_the_heat_that_stays() -> None:
    budget = cooling_budget(1500, room_heat({"SW1": 700}), kept_w=150, planning_share=0.8)
    assert [budget.limit, budget.used, budget.reserved, budget.free] == [1200, 700, 150, 350]


# Closed rooms --------------------------------------------------------------------------------


def test_a_partition() -> None:
    """ISO 6946 (values from memory): R 0.540 m²K/W, U 1.852 W/m²K."""
    assert pytest.approx(0.540) == 1 / PARTITION_U_W_M2_K
    assert pytest.approx(1.852, abs=0.0005) == PARTITION_U_W_M2_K


def test_a_closed_closet() -> None:
    """Walls of 2.0 x 1.5 x 2.7 m are 18.9 m²; 300 W warm it by 8.571 K, 350 W by 10: arithmetic."""
    ua = 18.9 / 0.540
    assert closed_rise_k(300, ua) == pytest.approx(8.571, abs=0.0005)
    assert closed_limit_w(10, ua) == pytest.approx(350)


def test_a_steel_enclosure() -> None:
    """Published enclosure example: 5.5 W/m²K, 500 W and 15 K take 6.06 m² of steel."""
    assert closed_rise_k(500, 5.5 * 6.06) == pytest.approx(15, abs=0.005)


def test_a_square_room_has_the_least_wall() -> None:
    assert walls_w_per_k(3.0) <= 18.9 * PARTITION_U_W_M2_K
    assert walls_w_per_k(4.0, 2.5, 1.0) == pytest.approx(4 * 2 * 2.5)


@given(st.floats(0, 2000), st.floats(1, 100), st.floats(0, 500))
def test_a_vent_only_cools(heat_w: float, ua: float, flow_m3_h: float) -> None:
    assert closed_rise_k(heat_w, ua, flow_m3_h) <= closed_rise_k(heat_w, ua)
    assert closed_limit_w(closed_rise_k(heat_w, ua, flow_m3_h), ua, flow_m3_h) == pytest.approx(
        heat_w
    )


def test_the_air_of_a_vent_carries_what_the_airflow_equation_says() -> None:
    assert closed_rise_k(1000, 0, airflow_m3_h(1000, 10)) == pytest.approx(10)


def test_out_of_range_is_refused_by_name_and_unit() -> None:
    with pytest.raises(ValueError, match="heat -1 W: must be finite, 0 W or more"):
        btu_per_h(-1)
    with pytest.raises(ValueError, match="rise 0 K: must be finite, above 0 K"):
        airflow_m3_h(100, 0)
    with pytest.raises(ValueError, match="rise 0 °F: must be finite, above 0 °F"):
        airflow_cfm(100, 0)
    with pytest.raises(ValueError, match="altitude 9000 m: must be from -500 to 5000 m"):
        pressure_ratio(9000)
    with pytest.raises(ValueError, match="heat carried off 0 W/K"):
        closed_rise_k(100, 0)
    with pytest.raises(ValueError, match=r"UPS efficiency 1\.5: must be from 0 to 1"):
        ups_loss_w(100, 1.5)
    with pytest.raises(ValueError, match="cooling 0 W"):
        cooling_budget(0, RoomHeat(0, ()))
    with pytest.raises(ValueError, match="power of SW1 nan W"):
        room_heat({"SW1": math.nan})
