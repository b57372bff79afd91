"""Sums worked through, and what a limit leaves."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from binder.engineering.figures import Budget, Step, plain, require, require_above, scarcest


def test_a_line_of_a_sum_reads_as_on_paper() -> None:
    step = Step("continuous limit", "20 A × 0.8", 16.0, "A", "NEC 210.20(A)")
    assert str(step) == "continuous limit: 20 A × 0.8 = 16 A (NEC 210.20(A))"
    assert str(Step("cameras", "11 + 4", 15, "")) == "cameras: 11 + 4 = 15"


@pytest.mark.parametrize(
    ("value", "shown"),
    [
        (12.95, "12.95"),
        (16.0, "16"),
        (34121.4, "34121"),
        (1000.4, "1000"),
        (0.09375, "0.09375"),
        (0.00123, "0.00123"),
        (0.00012, "0.000120"),
        (1 / 3, "0.3333"),
        (-2.5, "-2.5"),
        (12e12, "12000000000000"),
    ],
)
def test_numbers_show_four_digits_that_matter(value: float, shown: str) -> None:
    assert plain(value) == shown


@given(st.floats(-1e15, 1e15))
def test_numbers_never_show_an_exponent(value: float) -> None:
    assert "e" not in plain(value)
    assert float(plain(value)) == pytest.approx(value, rel=1e-3, abs=1e-6)


@given(st.floats(0, 1e6), st.floats(0, 1e6), st.floats(0, 1e6))
def test_what_is_free_is_what_nobody_took(limit: float, used: float, reserved: float) -> None:
    budget = Budget(limit, used, reserved, "W")
    assert budget.free + used + reserved == pytest.approx(limit, abs=1e-3)
    if limit > 1:
        assert (budget.share > 1) == (used + reserved > limit)


def test_a_limit_of_nothing_is_full_as_soon_as_anything_is_taken() -> None:
    assert Budget(0, 0, 0, "W").share == 0
    assert Budget(0, 1, 0, "W").share == math.inf


def test_the_scarcest_is_the_fullest_not_the_smallest() -> None:
    watts, volt_amperes = Budget(1000, 500, 100, "W"), Budget(1500, 1200, 100, "VA")
    assert scarcest([watts, volt_amperes]) is volt_amperes
    with pytest.raises(ValueError, match="no budget given"):
        scarcest([])


def test_a_value_out_of_range_is_refused_by_name_and_unit() -> None:
    with pytest.raises(ValueError, match="load -1 W: must be finite, 0 W or more"):
        require("load", -1, "W")
    with pytest.raises(ValueError, match=r"share 1\.2: must be from 0 to 1"):
        require("share", 1.2, "", 0, 1)
    with pytest.raises(ValueError, match="voltage 0 V: must be finite, above 0 V"):
        require_above("voltage", 0, "V")


@pytest.mark.parametrize("value", [math.nan, math.inf, -math.inf])
def test_what_is_not_a_number_is_in_no_range(value: float) -> None:
    with pytest.raises(ValueError, match="must be"):
        require("load", value, "W")
    with pytest.raises(ValueError, match="must be"):
        require_above("load", value, "W")


def test_what_is_not_known_is_never_taken_as_nothing() -> None:
    with pytest.raises(TypeError):
        require("load", None, "W")  # type: ignore[arg-type]
