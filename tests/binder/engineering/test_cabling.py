"""Balanced cabling against ANSI/TIA-568 (B.1, C.2, 568.2-D) and TSB-155."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from binder.engineering.cabling import (
    CHANNEL_LIMIT_M,
    CHANNEL_LOOP_LIMIT_OHM,
    LINK_LIMIT_M,
    LINK_LOOP_LIMIT_OHM,
    WORK_AREA_CORD_LIMIT_M,
    PanelOffer,
    PortState,
    PortTally,
    Scheme,
    Shield,
    channel_limit_m,
    colour_of_pin,
    cord_limit_m,
    horizontal_limit_m,
    is_crossover,
    link_limit_at_m,
    loop_resistance_at_20_c_ohm,
    loop_resistance_ohm,
    lowest_category,
    pair_of_pin,
    port_costs,
    shield_continuity,
    tally_ports,
    ten_gigabit_over_category_6,
)


def test_the_limits_of_a_link_and_a_channel() -> None:
    """ANSI/TIA-568: 90 m (295 ft) of permanent link, 100 m (328 ft) of channel."""
    assert pytest.approx(295 * 0.3048, abs=0.15) == LINK_LIMIT_M
    assert pytest.approx(328 * 0.3048, abs=0.15) == CHANNEL_LIMIT_M


# Cords -------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("horizontal_m", "gauge_awg", "cords_m"),
    [
        (90, 24, 10.000),
        (85, 24, 14.167),
        (80, 24, 18.333),
        (70, 24, 26.667),
        (90, 26, 8.000),
        (85, 26, 11.333),
        (80, 26, 14.667),
        (70, 26, 21.333),
        (90, 28, 6.154),
        (85, 28, 8.718),
        (80, 28, 11.282),
        (70, 28, 16.410),
    ],
)
def test_cords_by_the_formula(horizontal_m: float, gauge_awg: int, cords_m: float) -> None:
    """C = (102 - H)/(1 + D): TIA/EIA-568-B.1 clause 6.4.1.4; 28 AWG, TIA-568.2-D. Arithmetic."""
    assert cord_limit_m(horizontal_m, gauge_awg) == pytest.approx(cords_m, abs=0.001)


@pytest.mark.parametrize(
    ("horizontal_m", "gauge_awg", "printed_m"),
    [
        (90, 24, 10),
        (85, 24, 14),
        (80, 24, 18),
        (70, 24, 27),
        (90, 26, 8),
        (85, 26, 11),
        (80, 26, 15),
        (70, 26, 21),
    ],
)
def test_cords_by_the_printed_table(horizontal_m: float, gauge_awg: int, printed_m: int) -> None:
    """TIA/EIA-568-B.1, table of maximum cord lengths (value from memory), in whole metres."""
    assert cord_limit_m(horizontal_m, gauge_awg) == pytest.approx(printed_m, abs=0.5)


def test_the_work_area_cord_of_the_table_comes_to_22_m() -> None:
    """TIA/EIA-568-B.1: with 5 m of cords in the telecommunications room, 70 m of 24 AWG."""
    assert cord_limit_m(70, 24) - 5 == pytest.approx(WORK_AREA_CORD_LIMIT_M, abs=0.5)


@pytest.mark.parametrize("gauge_awg", [22, 23])
def test_thicker_cords_count_as_24_awg(gauge_awg: int) -> None:
    assert cord_limit_m(85, gauge_awg) == cord_limit_m(85, 24)


def test_ten_metres_of_28_awg_leave_82_and_a_half_metres() -> None:
    """TIA-568.2-D example, as worked in the trade press (2018): channel of 92.5 m."""
    assert horizontal_limit_m(10, 28) == pytest.approx(82.5)
    assert channel_limit_m(82.5, [28]) == pytest.approx(92.5)


def test_28_awg_after_a_full_link_makes_a_channel_of_96_m() -> None:
    """Trade press on TIA-568.2-D (2015, 2017), rounded to whole metres."""
    assert channel_limit_m(90, [28]) == pytest.approx(96, abs=0.5)


def test_ten_metres_of_26_awg_leave_87_m() -> None:
    """Arithmetic."""
    assert horizontal_limit_m(10, 26) == pytest.approx(87.0)


def test_a_full_link_with_24_awg_makes_a_full_channel() -> None:
    assert channel_limit_m(LINK_LIMIT_M, [24]) == CHANNEL_LIMIT_M


def test_the_thinnest_cord_rules_a_channel() -> None:
    assert channel_limit_m(80, [24, 28, 26]) == channel_limit_m(80, [28])


@given(st.floats(0, 90), st.sampled_from([22, 23, 24, 26, 28]))
def test_no_cord_makes_a_channel_longer_than_100_m(horizontal_m: float, gauge_awg: int) -> None:
    assert channel_limit_m(horizontal_m, [gauge_awg]) <= CHANNEL_LIMIT_M + 1e-9


@given(st.floats(0, 50), st.sampled_from([24, 26, 28]))
def test_the_horizontal_limit_leaves_room_for_the_cords(cords_m: float, gauge_awg: int) -> None:
    assert cord_limit_m(horizontal_limit_m(cords_m, gauge_awg), gauge_awg) >= cords_m - 1e-9


def test_lengths_and_gauges_out_of_range_are_refused_by_name_and_unit() -> None:
    with pytest.raises(ValueError, match=r"horizontal cable 90\.1 m: must be from 0 to 90 m"):
        cord_limit_m(90.1, 24)
    with pytest.raises(ValueError, match="horizontal cable -1 m"):
        channel_limit_m(-1, [24])
    with pytest.raises(ValueError, match="horizontal cable nan m"):
        cord_limit_m(math.nan, 24)
    with pytest.raises(ValueError, match="cord of 30 AWG: a de-rating is published for 22, 23, 24"):
        cord_limit_m(90, 30)
    with pytest.raises(ValueError, match=r"cords 85\.1 m: must be from 0 to 85 m"):
        horizontal_limit_m(85.1, 24)
    with pytest.raises(ValueError, match="no cord gauge"):
        channel_limit_m(90, [])


# Heat --------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("temperature_c", "unscreened_m", "screened_m"),
    [
        (20, 90.0, 90.0),
        (25, 89.0, 89.5),
        (30, 87.0, 88.5),
        (35, 85.5, 87.7),
        (40, 84.0, 87.0),  # 84 m printed; every other length is from memory
        (45, 81.7, 86.5),
        (50, 79.5, 85.5),
        (55, 77.2, 84.7),
        (60, 75.0, 83.0),
    ],
)
def test_heat_shortens_a_link(temperature_c: float, unscreened_m: float, screened_m: float) -> None:
    """TIA-568-C.2 annex G."""
    assert link_limit_at_m(temperature_c, screened=False) == unscreened_m
    assert link_limit_at_m(temperature_c, screened=True) == screened_m


def test_between_the_points_the_table_is_read_in_a_straight_line() -> None:
    assert link_limit_at_m(42.5, screened=False) == pytest.approx((84.0 + 81.7) / 2)
    assert link_limit_at_m(21, screened=True) == pytest.approx(89.9)


@pytest.mark.parametrize("temperature_c", [19.9, 60.1, math.nan])
def test_beyond_the_table_there_is_no_answer(temperature_c: float) -> None:
    with pytest.raises(ValueError, match=r"ambient temperature .* °C: must be from 20 to 60 °C"):
        link_limit_at_m(temperature_c, screened=False)


@pytest.mark.parametrize(
    ("temperature_c", "factor"),
    [(30, 1.040), (40, 1.080), (50, 1.140), (60, 1.200)],
)
def test_the_table_stays_near_the_insertion_loss_it_comes_from(
    temperature_c: float, factor: float
) -> None:
    """TIA-568-C.2 clause 6.4.7: +0.4 % a degree to 40 °C, then +0.6 %; within 1 m of 90/factor."""
    assert link_limit_at_m(temperature_c, screened=False) == pytest.approx(90 / factor, abs=1.0)


@given(st.floats(20, 60), st.floats(20, 60), st.booleans())
def test_a_warmer_link_is_never_longer(one: float, other: float, screened: bool) -> None:
    cooler, warmer = sorted((one, other))
    assert (
        link_limit_at_m(warmer, screened=screened)
        <= link_limit_at_m(cooler, screened=screened) + 1e-9
    )


# 10GBASE-T ---------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("channel_m", "verdict"),
    [
        (1, "ok"),
        (37.0, "ok"),
        (37.1, "measure"),
        (55.0, "measure"),
        (55.1, "mitigate"),
        (100, "mitigate"),
    ],
)
def test_ten_gigabit_over_category_6(channel_m: float, verdict: str) -> None:
    """TSB-155 (March 2007), TSB-155-A (March 2010): 37 m (121 ft) and 55 m (180 ft)."""
    assert ten_gigabit_over_category_6(channel_m) == verdict


@pytest.mark.parametrize("channel_m", [0, -1, math.nan])
def test_a_channel_without_length_has_no_verdict(channel_m: float) -> None:
    with pytest.raises(ValueError, match="must be above 0 m"):
        ten_gigabit_over_category_6(channel_m)


# Pins --------------------------------------------------------------------------------------

T568A = ["white/green", "green", "white/orange", "blue", "white/blue", "orange", "white/brown"]
T568B = ["white/orange", "orange", "white/green", "blue", "white/blue", "green", "white/brown"]


@pytest.mark.parametrize(
    ("scheme", "pairs", "colours"),
    [
        ("T568A", [3, 3, 2, 1, 1, 2, 4, 4], [*T568A, "brown"]),
        ("T568B", [2, 2, 3, 1, 1, 3, 4, 4], [*T568B, "brown"]),
    ],
)
def test_pairs_and_colours_of_the_pins(
    scheme: Scheme, pairs: list[int], colours: list[str]
) -> None:
    """ANSI/TIA-568, eight-position jack."""
    assert [pair_of_pin(pin, scheme) for pin in range(1, 9)] == pairs
    assert [colour_of_pin(pin, scheme) for pin in range(1, 9)] == colours


@pytest.mark.parametrize("scheme", ["T568A", "T568B"])
def test_pairs_are_on_pins_1_2_and_3_6_and_4_5_and_7_8(scheme: Scheme) -> None:
    for one, other in [(1, 2), (3, 6), (4, 5), (7, 8)]:
        assert pair_of_pin(one, scheme) == pair_of_pin(other, scheme)


def test_mixed_ends_make_a_crossover_of_pairs_2_and_3_only() -> None:
    assert is_crossover("T568A", "T568B")
    assert is_crossover("T568B", "T568A")
    assert not is_crossover("T568A", "T568A")
    assert not is_crossover("T568B", "T568B")
    moved = {
        pair_of_pin(pin, "T568A")
        for pin in range(1, 9)
        if pair_of_pin(pin, "T568A") != pair_of_pin(pin, "T568B")
    }
    assert moved == {2, 3}


def test_a_pin_or_scheme_that_does_not_exist_is_refused() -> None:
    with pytest.raises(ValueError, match="pin 9: must be from 1 to 8"):
        pair_of_pin(9, "T568A")
    with pytest.raises(ValueError, match="pinning 'T568C' is not known: T568A or T568B"):
        is_crossover("T568A", "T568C")  # type: ignore[arg-type]


# Loop resistance ---------------------------------------------------------------------------


def test_loop_resistance_of_a_full_channel_is_within_its_limit() -> None:
    """9.38 and 14 ohm for 100 m (ANSI/TIA-568; values from memory); sums are arithmetic."""
    assert loop_resistance_ohm(90, 0) == pytest.approx(16.884)
    assert loop_resistance_ohm(90, 10) == pytest.approx(19.684)
    assert loop_resistance_ohm(90, 0) <= LINK_LOOP_LIMIT_OHM
    assert loop_resistance_ohm(90, 10) <= CHANNEL_LOOP_LIMIT_OHM


def test_a_loop_measured_warm_is_brought_to_20_degrees() -> None:
    """Copper at 0.00393 a degree (arithmetic): 22.0 ohm at 40 °C."""
    assert loop_resistance_at_20_c_ohm(22.0, 40) == pytest.approx(20.397, abs=0.001)
    assert loop_resistance_at_20_c_ohm(25.0, 20) <= CHANNEL_LOOP_LIMIT_OHM
    assert loop_resistance_at_20_c_ohm(25.1, 20) > CHANNEL_LOOP_LIMIT_OHM


@given(st.floats(0, 90), st.floats(0, 20), st.floats(-40, 90))
def test_bringing_to_20_degrees_undoes_the_heat(
    horizontal_m: float, cords_m: float, temperature_c: float
) -> None:
    warm = loop_resistance_ohm(horizontal_m, cords_m, temperature_c)
    cool = loop_resistance_ohm(horizontal_m, cords_m)
    assert loop_resistance_at_20_c_ohm(warm, temperature_c) == pytest.approx(cool)


def test_resistance_out_of_range_is_refused_by_name_and_unit() -> None:
    with pytest.raises(ValueError, match="cable temperature 91 °C: must be from -40 to 90 °C"):
        loop_resistance_ohm(90, 10, 91)
    with pytest.raises(ValueError, match="loop resistance -1 ohm: must be finite, 0 ohm or more"):
        loop_resistance_at_20_c_ohm(-1, 20)
    with pytest.raises(ValueError, match="horizontal cable inf m"):
        loop_resistance_ohm(math.inf, 0)
    with pytest.raises(ValueError, match="cords -1 m"):
        loop_resistance_ohm(90, -1)


# Categories --------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("along_the_path", "weakest"),
    [
        (["6A", "6A", "6"], "6"),
        (["5e", "6", "8"], "5e"),
        (["5", "5e"], "5"),
        (["7A", "7"], "7"),
        (["6A", "7"], "6A"),
        (["3", "8"], "3"),
        (["Cat 6A", "category 5E", "CAT6"], "5e"),
        (["8"], "8"),
    ],
)
def test_a_path_is_as_good_as_its_weakest_part(along_the_path: list[str], weakest: str) -> None:
    """Order of categories and classes in ANSI/TIA-568 and ISO/IEC 11801."""
    assert lowest_category(along_the_path) == weakest


def test_a_path_of_unknown_parts_has_no_category() -> None:
    with pytest.raises(ValueError, match="category 'OM3' is not known: 3, 5, 5e, 6, 6A"):
        lowest_category(["6", "OM3"])
    with pytest.raises(ValueError, match="no category given"):
        lowest_category([])


# Shields -----------------------------------------------------------------------------------


def test_a_shield_runs_through_only_where_every_part_is_screened() -> None:
    """ANSI/TIA-568, ISO/IEC 11801: screened cabling is screened throughout (from memory)."""
    path = [("cord C-1", True), ("panel 1A-A", True), ("link 1A-A07", True), ("outlet", True)]
    assert shield_continuity(path) == Shield("continuous")
    assert shield_continuity([*path, ("cord C-2", False)]) == Shield("broken", ("cord C-2",))


def test_a_path_without_any_shield_is_not_broken() -> None:
    assert shield_continuity([("link", False), ("cord", False)]) == Shield("none")


def test_a_part_that_nobody_looked_at_leaves_the_shield_not_known() -> None:
    assert shield_continuity([("link", True), ("cord", None)]) == Shield("not known", ("cord",))
    assert shield_continuity([("link", False), ("cord", None)]) == Shield("not known", ("cord",))


def test_a_known_break_stands_whatever_the_unknown_parts_are() -> None:
    path = [("link", True), ("panel", None), ("cord", False)]
    assert shield_continuity(path) == Shield("broken", ("cord",))


def test_a_path_without_parts_has_no_shield() -> None:
    with pytest.raises(ValueError, match="no part given"):
        shield_continuity([])


# Ports -------------------------------------------------------------------------------------


def test_bad_and_reserved_ports_are_not_spare() -> None:
    """Common practice, no published source."""
    ports: list[tuple[str, PortState]] = [("1A-A", "used")] * 19
    ports += [("1A-A", "bad"), ("1A-A", "reserved"), ("1A-A", "reserved"), ("1A-A", "free")]
    ports += [("1A-B", "free")] * 24
    tallies = tally_ports(ports)
    assert tallies["1A-A"] == PortTally(used=19, reserved=2, bad=1, spare=1)
    assert tallies["1A-B"].spare == tallies["1A-B"].total == 24


@given(st.lists(st.tuples(st.sampled_from("AB"), st.sampled_from(["used", "bad", "free"]))))
def test_every_port_is_counted_once(ports: list[tuple[str, PortState]]) -> None:
    assert sum(tally.total for tally in tally_ports(ports).values()) == len(ports)


def test_a_port_in_no_known_state_is_refused() -> None:
    with pytest.raises(ValueError, match="port state 'broken' in 1A-A: used, reserved, bad"):
        tally_ports([("1A-A", "broken")])  # type: ignore[list-item]


# Cost --------------------------------------------------------------------------------------

FIXED = PanelOffer("fixed shielded panel, 24 port", 24, 190.0)
SEPARATE = PanelOffer("panel of separate jacks, 24 port", 24, 48.0, 9.5)


def test_few_ports_are_cheaper_as_separate_jacks_and_a_full_panel_as_one_piece() -> None:
    """Arithmetic: 48 + 9.50 a port meets 190 at 14.9 ports."""
    assert [cost.offer for cost in port_costs([FIXED, SEPARATE], 14)] == [SEPARATE, FIXED]
    assert [cost.offer for cost in port_costs([FIXED, SEPARATE], 15)] == [FIXED, SEPARATE]
    cheapest = port_costs([FIXED, SEPARATE], 24)[0]
    assert cheapest.price_per_port == pytest.approx(190 / 24)
    assert cheapest.ports_left == 0


def test_the_port_beyond_a_panel_buys_another_panel() -> None:
    (cost,) = port_costs([FIXED], 25)
    assert (cost.panels, cost.ports_left, cost.price) == (2, 23, 380.0)


@given(st.integers(1, 200), st.integers(1, 200))
def test_more_ports_never_cost_less(one: int, other: int) -> None:
    fewer, more = sorted((one, other))
    for offer in (FIXED, SEPARATE):
        assert port_costs([offer], fewer)[0].price <= port_costs([offer], more)[0].price


def test_offers_that_make_no_sense_are_refused() -> None:
    with pytest.raises(ValueError, match="ports needed 0: must be finite, 1 or more"):
        port_costs([FIXED], 0)
    with pytest.raises(ValueError, match="jack price of odd -1"):
        port_costs([PanelOffer("odd", 24, 1.0, -1.0)], 3)
    with pytest.raises(ValueError, match="ports of odd 0"):
        port_costs([PanelOffer("odd", 0, 1.0)], 3)
