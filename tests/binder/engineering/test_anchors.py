"""Anchors of a wall cabinet against statics, ACI 318-19 and evaluation reports."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from binder.engineering.anchors import (
    SAFETY_FACTOR,
    AnchorGroup,
    allowable_n,
    check_anchors,
    couple_tension_n,
    five_thirds_interaction,
    linear_interaction,
)

LB_N = 4.4482216152605  # pound-force
IN_MM = 25.4


def group(**changed: object) -> AnchorGroup:
    values = {
        "anchors": 4,
        "rows": 2,
        "row_spacing_mm": 500.0,
        "ultimate_tension_n": 5300.0,
        "ultimate_shear_n": 7100.0,
        "substrate": "concrete",
    }
    return AnchorGroup(**(values | changed))  # type: ignore[arg-type]


@pytest.mark.parametrize(
    ("weight_lb", "arm_in", "lever_in", "anchors", "tension_lb"),
    [
        (50, 2.75, 7.1875, 1, 19.13),  # a bracket
        (1800, 18, 24, 2, 675),  # floor-mounted equipment pushed at its centre of gravity
        (200, 10, 24, 2, 41.667),
        (150, 12, 20, 2, 45.0),
    ],
)
def test_tension_balances_the_moment(
    weight_lb: float, arm_in: float, lever_in: float, anchors: int, tension_lb: float
) -> None:
    """Equilibrium of moments (arithmetic; the first two were published worked)."""
    tension_n = couple_tension_n(weight_lb * LB_N, arm_in * IN_MM, lever_in * IN_MM, anchors)
    assert tension_n / LB_N == pytest.approx(tension_lb, abs=0.005)


@pytest.mark.parametrize(
    ("load_kg", "offset_mm", "spacing_mm", "anchors", "rows", "shear_n", "tension_n"),
    [(90, 300, 500, 4, 2, 220.65, 264.78), (60, 225, 550, 6, 3, 98.07, 120.35)],
)
def test_a_cabinet_on_its_wall(
    load_kg: float, offset_mm: float, spacing_mm: float, anchors: int, rows: int,
    shear_n: float, tension_n: float,
) -> None:  # fmt: skip
    """V = W/n and T = W e/(h n_top): arithmetic."""
    held = group(anchors=anchors, rows=rows, row_spacing_mm=spacing_mm)
    (load,) = check_anchors(held, load_kg, offset_mm).loads
    assert load.shear_n == pytest.approx(shear_n, abs=0.005)
    assert load.tension_n == pytest.approx(tension_n, abs=0.005)


# Interaction --------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("t", "v", "linear", "five_thirds"),
    [
        (0.422, 0.149, 0.571, 0.279),  # published with 0.237 + 0.042; ACI 318-19 R17.8
        (0.51, 0.60, 1.11, 0.752),  # shares published; sums are arithmetic, as below
        (0.50, 0.50, 1.00, 0.630),
        (0.66, 0.66, 1.32, 1.0006),
        (0.20, 1.00, 1.20, 1.068),
    ],
)
def test_tension_and_shear_together(t: float, v: float, linear: float, five_thirds: float) -> None:
    assert linear_interaction(t, v) == pytest.approx(linear, abs=0.0005)
    assert five_thirds_interaction(t, v) == pytest.approx(five_thirds, abs=0.0005)


@given(st.floats(0, 1), st.floats(0, 1))
def test_the_straight_line_is_the_stricter(t: float, v: float) -> None:
    if linear_interaction(t, v) <= 1:
        assert five_thirds_interaction(t, v) <= linear_interaction(t, v) + 1e-9


@pytest.mark.parametrize(
    ("t", "v", "allowed_by_aci", "allowed_here"),
    [
        (0.422, 0.149, True, True),
        (0.51, 0.60, True, False),
        (0.20, 1.00, True, False),
        (0.66, 0.66, False, False),
    ],
)
def test_the_straight_line_is_stricter_than_aci_318(
    t: float, v: float, allowed_by_aci: bool, allowed_here: bool
) -> None:
    """ACI 318-19 17.8.2 and 17.8.3, for shares of design strength."""
    assert (min(t, v) <= 0.2 or linear_interaction(t, v) <= 1.2) == allowed_by_aci
    assert (linear_interaction(t, v) <= 1) == allowed_here


def test_either_alone_is_full_at_its_allowable() -> None:
    assert linear_interaction(1, 0) == five_thirds_interaction(0, 1) == 1
    assert linear_interaction(0, 0) == five_thirds_interaction(0, 0) == 0


# Safety factors -----------------------------------------------------------------------------


def test_the_factor_on_ultimate_values_is_4_unless_told_otherwise() -> None:
    """Concrete by allowable stress, historically 4; arithmetic on 1200 and 1600 lb."""
    assert SAFETY_FACTOR == group().safety_factor == 4
    assert allowable_n(1200) == 300
    assert allowable_n(1600) == 400
    assert not check_anchors(group(), 60, 250).notes
    (note,) = check_anchors(group(safety_factor=3), 60, 250).notes
    assert note == "safety factor 3 is below the 4 published for concrete"


def test_grouted_masonry_takes_5() -> None:
    """Notes to the tables of ICC-ES ESR-4143 and ESR-4878; arithmetic on 1200 and 1600 lb."""
    assert allowable_n(1200, 5) == 240
    assert allowable_n(1600, 5) == 320
    (note,) = check_anchors(group(substrate="grouted masonry"), 60, 250).notes
    assert note == "safety factor 4 is below the 5 published for grouted masonry"
    assert not check_anchors(group(substrate="grouted masonry", safety_factor=5), 60, 250).notes


@pytest.mark.parametrize(
    ("factor", "t", "v", "linear"), [(4, 0.1389, 0.1250, 0.2639), (5, 0.1736, 0.15625, 0.3299)]
)
def test_a_cabinet_of_200_lb_on_anchors_of_1200_and_1600_lb(
    factor: float, t: float, v: float, linear: float
) -> None:
    """e 10 in, h 24 in, two anchors of four on top: arithmetic."""
    held = group(
        row_spacing_mm=24 * IN_MM, ultimate_tension_n=1200 * LB_N, ultimate_shear_n=1600 * LB_N,
        safety_factor=factor,
    )  # fmt: skip
    (load,) = check_anchors(held, 200 * 0.45359237, 10 * IN_MM).loads
    assert load.tension_n / LB_N / (1200 / factor) == pytest.approx(t, abs=0.0001)
    assert load.shear_n / LB_N / (1600 / factor) == pytest.approx(v, abs=0.0001)
    assert load.linear == pytest.approx(linear, abs=0.0001)


@pytest.mark.parametrize("substrate", ["unknown", "wood stud", "hollow masonry", "plywood", ""])
def test_a_substrate_without_a_published_factor_is_pointed_out(substrate: str) -> None:
    (note,) = check_anchors(group(substrate=substrate), 60, 250).notes
    assert "no published safety factor is known for" in note


# The cabinet --------------------------------------------------------------------------------


def test_every_check_defers_to_codes_and_licensed_persons() -> None:
    caution = check_anchors(group(), 90, 300).caution
    assert caution.startswith("A planning check, not an engineer's approval.")
    assert "safety factor of 4" in caution
    assert "Local codes" in caution
    assert "licensed person" in caution


def test_a_swing_out_cabinet_is_checked_open_on_its_hinge_side() -> None:
    """Half the anchors bear all, farther from the wall: planning assumption; arithmetic."""
    closed, opened = check_anchors(group(), 90, 300, 450).loads
    assert opened.shear_n == pytest.approx(2 * closed.shear_n)
    assert opened.tension_n == pytest.approx(2 * closed.tension_n * 450 / 300)
    assert (closed.position, opened.position) == ("closed", "open")
    assert opened.steps[1].basis == "hinge side bears all: planning assumption"


def test_a_cabinet_may_hold_closed_and_fail_open() -> None:
    check = check_anchors(group(), 90, 300, 450)
    assert [load.holds for load in check.loads] == [True, True]
    heavier = check_anchors(group(), 120, 300, 450)
    assert [load.holds for load in heavier.loads] == [True, False]
    assert not heavier.holds


@given(st.floats(1, 500), st.floats(10, 600), st.floats(0, 900) | st.none())
def test_the_limit_is_where_the_first_position_is_full(
    load_kg: float, offset_mm: float, open_mm: float | None
) -> None:
    check = check_anchors(group(), load_kg, offset_mm, open_mm)
    at_limit = check_anchors(group(), check.limit_kg, offset_mm, open_mm)
    assert max(load.linear for load in at_limit.loads) == pytest.approx(1)
    assert check.holds == (load_kg <= check.limit_kg * (1 + 1e-9))


@given(st.floats(1, 300), st.floats(1, 300), st.floats(0, 600), st.integers(2, 6))
def test_more_load_never_spares_an_anchor(
    one: float, other: float, offset_mm: float, pairs: int
) -> None:
    lighter, heavier = sorted((one, other))
    held = group(anchors=2 * pairs)
    fewer = check_anchors(held, lighter, offset_mm).loads[0]
    more = check_anchors(held, heavier, offset_mm).loads[0]
    assert fewer.linear <= more.linear


def test_an_empty_hook_bears_nothing() -> None:
    (load,) = check_anchors(group(), 0, 300).loads
    assert load.tension_n == load.shear_n == load.linear == 0


def test_the_sum_is_worked_through_in_numbers() -> None:
    (load,) = check_anchors(group(), 90, 300).loads
    assert [str(step) for step in load.steps] == [
        "weight: 90 kg × 9.80665 = 882.6 N",
        "shear of each anchor: 882.6 N / 4 = 220.6 N (statics)",
        "tension of each top anchor: 882.6 N × 300 mm / (500 mm × 2) = 264.8 N (statics)",
        "tension allowed: 5300 N / 4 = 1325 N (safety factor 4 on the ultimate value)",
        "shear allowed: 7100 N / 4 = 1775 N (safety factor 4 on the ultimate value)",
        "together: 0.1998 + 0.1243 = 0.3241 (straight line, 1 is the limit)",
        "together, 5/3 power: 0.1998^5/3 + 0.1243^5/3 = 0.09927 (ACI 318-19 R17.8)",
    ]


def test_out_of_range_is_refused_by_name_and_unit() -> None:
    with pytest.raises(ValueError, match="load -1 kg: must be finite, 0 kg or more"):
        check_anchors(group(), -1, 300)
    with pytest.raises(ValueError, match="anchor rows 1: must be finite, 2 or more"):
        check_anchors(group(rows=1), 90, 300)
    with pytest.raises(ValueError, match="anchors 1: must be finite, 2 or more"):
        check_anchors(group(anchors=1), 90, 300)
    with pytest.raises(ValueError, match="lever 0 mm: must be finite, above 0 mm"):
        check_anchors(group(row_spacing_mm=0), 90, 300)
    with pytest.raises(ValueError, match="ultimate value 0 N"):
        check_anchors(group(ultimate_tension_n=0), 90, 300)
    with pytest.raises(ValueError, match=r"safety factor 0\.5: must be finite, 1 or more"):
        check_anchors(group(safety_factor=0.5), 90, 300)
    with pytest.raises(ValueError, match="arm -5 mm"):
        check_anchors(group(), 90, -5)
