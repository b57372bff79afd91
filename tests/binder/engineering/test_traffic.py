"""Traffic against billing practice, numpy, RFC 2863 and published ratios."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from binder.engineering.traffic import (
    SAMPLE_S,
    USUAL_ACCESS_RATIO,
    circuit_budget,
    octets_between,
    oversubscription,
    percentile,
    rate_mbps,
    wrap_s,
)


@pytest.mark.parametrize(("days", "rank"), [(28, 7661), (30, 8208), (31, 8482)])
def test_a_month_of_five_minute_samples(days: int, rank: int) -> None:
    """Carriers' billing practice: of 8640 samples in 30 days 432 are discarded, 36 h are free."""
    samples = range(1, days * 86400 // SAMPLE_S + 1)
    assert percentile(samples) == rank
    assert len(samples) - rank == len(samples) * 5 // 100


@pytest.mark.parametrize(("percent", "value"), [(5, 15), (30, 20), (40, 20), (50, 35), (100, 50)])
def test_nearest_rank(percent: int, value: float) -> None:
    """The usual encyclopaedia example of nearest rank."""
    assert percentile([15, 20, 35, 40, 50], percent) == value


def test_nearest_rank_is_neither_interpolated_nor_weibull() -> None:
    """NIST/SEMATECH e-Handbook 7.2.6.2 (from memory) has 95.19807, by (n+1)p, at rank 11.7."""
    samples = [
        95.1772, 95.1567, 95.1937, 95.1959, 95.1442, 95.0610, 95.1591, 95.1195, 95.1065, 95.0925,
        95.1990, 95.1682,
    ]  # fmt: skip
    assert np.percentile(samples, 90, method="weibull") == pytest.approx(95.19807, abs=1e-5)
    assert percentile(samples, 90) == 95.1959


def test_percentages_are_not_blurred_by_floating_point() -> None:
    """ceil(0.07 x 100) is 8 in floating point; the 7th of 100 is 7."""
    assert percentile(range(1, 101), 7) == 7
    assert percentile(range(1, 21)) == 19
    assert percentile(range(1, 101)) == 95


@given(st.lists(st.floats(0, 1e5), min_size=1, max_size=300), st.integers(1, 100))
def test_percentiles_agree_with_numpy(samples: list[float], percent: int) -> None:
    """numpy.percentile, inverted_cdf; but for 95, on a whole rank it can be one off by rounding."""
    assume(percent == 95 or percent * len(samples) % 100)
    assert percentile(samples, percent) == np.percentile(samples, percent, method="inverted_cdf")


@given(st.lists(st.floats(0, 1e5), min_size=1, max_size=50))
def test_the_percentile_is_a_sample_between_the_least_and_the_greatest(
    samples: list[float],
) -> None:
    assert percentile(samples) in samples
    assert percentile(samples, 100) == max(samples)
    assert percentile(samples, 1) == min(samples)


# Counters and use ----------------------------------------------------------------------------


@pytest.mark.parametrize(("mbps", "wraps_s"), [(10, 57.27 * 60), (100, 5.727 * 60), (1000, 34.36)])
def test_when_a_32_bit_counter_wraps(mbps: float, wraps_s: float) -> None:
    """RFC 2863 3.1.6: just over 57 minutes at 10 Mb/s, 5.7 minutes, 34 seconds."""
    assert wrap_s(mbps) == pytest.approx(wraps_s, rel=1e-3)


def test_a_counter_that_wrapped_is_read_right() -> None:
    """RFC 2863: a delta is taken modulo the counter (arithmetic)."""
    assert octets_between(2**32 - 100, 50, bits=32) == 150
    assert octets_between(50, 200) == 150


@given(st.integers(0, 2**64 - 1), st.integers(0, 2**64 - 1))
def test_what_was_counted_leads_from_one_reading_to_the_next(earlier: int, later: int) -> None:
    assert (earlier + octets_between(earlier, later)) % 2**64 == later


def test_utilisation() -> None:
    """125 000 000 octets in 300 s are a third of a percent of 1 Gb/s (arithmetic)."""
    assert rate_mbps(125_000_000, 300) / 1000 * 100 == pytest.approx(0.33333, abs=1e-5)


@pytest.mark.parametrize(
    ("ports", "port_gbps", "uplinks", "uplink_gbps", "ratio"),
    [(48, 1, 2, 10, 2.4), (48, 1, 1, 10, 4.8), (24, 1, 2, 10, 1.2), (32, 25, 2, 40, 10)],
)
def test_oversubscription(
    ports: int, port_gbps: float, uplinks: int, uplink_gbps: float, ratio: float
) -> None:
    """Published design guides; arithmetic."""
    edge, up = [port_gbps * 1000] * ports, [uplink_gbps * 1000] * uplinks
    assert oversubscription(edge, up) == pytest.approx(ratio)
    assert oversubscription(edge, up) < USUAL_ACCESS_RATIO == 20  # design guides, from memory


def test_a_circuit_is_held_against_its_95th_percentile() -> None:
    """Arithmetic."""
    budget = circuit_budget(500, used_mbps=310, kept_mbps=20, planning_share=0.8)
    assert [budget.limit, budget.free] == pytest.approx([400, 70])
    assert circuit_budget(500, 0).free == 500


def test_out_of_range_is_refused_by_name_and_unit() -> None:
    with pytest.raises(ValueError, match="samples 0: must be finite, 1 or more"):
        percentile([])
    with pytest.raises(ValueError, match="sample nan"):
        percentile([1, math.nan])
    with pytest.raises(ValueError, match="percentile 101 %: must be from 1 to 100 %"):
        percentile([1], 101)
    with pytest.raises(ValueError, match="uplinks 0: must be finite, 1 or more"):
        oversubscription([1000], [])
    with pytest.raises(ValueError, match="uplink 0 Mb/s: must be finite, above 0 Mb/s"):
        oversubscription([1000], [0])
    with pytest.raises(ValueError, match="counter of 16 bits: must be 32 or 64"):
        octets_between(1, 2, bits=16)
    with pytest.raises(ValueError, match="counter reading 4294967296: must be from 0 to"):
        octets_between(2**32, 1, bits=32)
    with pytest.raises(ValueError, match="circuit rate 0 Mb/s"):
        circuit_budget(0, 1)
    with pytest.raises(ValueError, match="time 0 s"):
        rate_mbps(1, 0)
