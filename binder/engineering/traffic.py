"""Traffic: the 95th percentile, how busy a line is, and how far uplinks are oversubscribed.

The percentile is that of billing practice: the top 5 % of samples are discarded and the next
highest counts, which is the nearest rank. Counters: IF-MIB (RFC 2863).
"""

from __future__ import annotations

from collections.abc import Collection, Iterable
from typing import Final

from binder.engineering.figures import Budget, Step, plain, require, require_above

BILLED_PERCENT: Final = 95
SAMPLE_S: Final = 300  # five minutes, as carriers sample

# Access to distribution; vendor design guides (from memory), which have 4 to 1 toward a core.
USUAL_ACCESS_RATIO: Final = 20.0


def percentile(samples: Collection[float], percent: int = BILLED_PERCENT) -> float:
    """The smallest sample that at least that percentage of samples do not exceed (nearest rank).

    In whole numbers throughout: 0.07 x 100 is not 7 in floating point. Raises ValueError without
    samples, for one that is not finite, or outside 1 to 100 %.
    """
    require("samples", len(samples), "", 1)
    require("percentile", percent, "%", 1, 100)
    for sample in samples:
        require("sample", sample, "", -1e300, 1e300)
    rank = -(-percent * len(samples) // 100)
    return sorted(samples)[rank - 1]


def octets_between(earlier: int, later: int, bits: int = 64) -> int:
    """Octets counted between two readings of a counter that may have wrapped once (RFC 2863).

    Raises ValueError for a counter of other than 32 or 64 bits, or a reading outside it.
    """
    if bits not in (32, 64):
        raise ValueError(f"counter of {bits} bits: must be 32 or 64")
    for reading in (earlier, later):
        if not 0 <= reading < 2**bits:
            raise ValueError(f"counter reading {reading}: must be from 0 to {2**bits - 1}")
    return (later - earlier) % (1 << bits)


def wrap_s(rate_mbps: float, bits: int = 32) -> float:
    """How long a counter of octets lasts at full rate before it wraps, in s (RFC 2863).

    Raises ValueError for a rate not above 0 Mb/s.
    """
    require_above("rate", rate_mbps, "Mb/s")
    return float(2**bits * 8 / (rate_mbps * 1e6))


def rate_mbps(octets: float, seconds: float) -> float:
    """The mean rate of so many octets, in Mb/s (arithmetic).

    Raises ValueError for negative octets or a time not above 0 s.
    """
    require("octets", octets, "")
    require_above("time", seconds, "s")
    return octets * 8 / seconds / 1e6


def oversubscription(edge_mbps: Iterable[float], uplinks_mbps: Iterable[float]) -> float:
    """The rate of all edge ports over that of all uplinks: 1 is none at all (arithmetic).

    Uplinks that stand by, and carry nothing until another fails, are left out by the caller. Raises
    ValueError for a negative rate or no uplink.
    """
    edge, up = list(edge_mbps), list(uplinks_mbps)
    for rate in edge:
        require("edge port", rate, "Mb/s")
    for rate in up:
        require_above("uplink", rate, "Mb/s")
    require("uplinks", len(up), "", 1)
    return sum(edge) / sum(up)


def circuit_budget(
    rate: float, used_mbps: float, kept_mbps: float = 0.0, planning_share: float = 1.0
) -> Budget:
    """What a circuit can still carry in one direction, in Mb/s, by its 95th percentile.

    Raises ValueError for a rate not above 0 Mb/s, negative use, or a share outside 0 to 1.
    """
    require_above("circuit rate", rate, "Mb/s")
    require("95th percentile", used_mbps, "Mb/s")
    require("planned traffic", kept_mbps, "Mb/s")
    require("planning share", planning_share, "", 0, 1)
    limit = rate * planning_share
    steps = (
        Step("limit", f"{plain(rate)} Mb/s × {plain(planning_share)}", limit, "Mb/s"),
        Step("used", "95th percentile, nearest rank", used_mbps, "Mb/s"),
    )
    return Budget(limit, used_mbps, kept_mbps, "Mb/s", steps)
