"""Resistance of copper conductors by gauge, length and temperature.

Diameter of a gauge: ASTM B258. Resistivity: annealed copper of 100 % IACS (ASTM B3, NBS Handbook
100), 0.017241 ohm mm²/m at 20 °C, rising by 0.00393 of itself a degree. These three are from
memory; what they give was held against printed tables. NEC chapter 9 table 8 starts at 18 AWG and
has nothing for data cable.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from math import pi
from typing import Final

from binder.engineering.figures import require

RESISTIVITY_OHM_MM2_PER_M: Final = 0.017241
TEMPERATURE_COEFFICIENT: Final = 0.00393

# ANSI/TIA-568: the most a conductor may have (value from memory).
HORIZONTAL_OHM_PER_M: Final = 9.38 / 100
CORD_OHM_PER_M: Final = 14.0 / 100


@dataclass(frozen=True, slots=True)
class Run:
    """A length of 4-pair cable. Without a gauge it is taken as bad as ANSI/TIA-568 allows."""

    length_m: float
    gauge_awg: int | None = None
    is_cord: bool = False


def diameter_mm(gauge_awg: int) -> float:
    """The diameter of a solid conductor, in mm: 0.127 x 92^((36-n)/39) (ASTM B258, from memory).

    Raises ValueError outside 10 to 40 AWG.
    """
    require("conductor", gauge_awg, "AWG", 10, 40)
    return float(0.127 * 92 ** ((36 - gauge_awg) / 39))


def temperature_factor(temperature_c: float) -> float:
    """Resistance at that temperature over that at 20 °C. Raises ValueError outside -40 to 90 °C."""
    require("cable temperature", temperature_c, "°C", -40, 90)
    return 1 + TEMPERATURE_COEFFICIENT * (temperature_c - 20)


def conductor_ohm_per_m(gauge_awg: int, temperature_c: float = 20.0) -> float:
    """The DC resistance of a metre of solid annealed copper conductor, in ohm.

    Resistivity over area (IACS, ASTM B258; from memory). Raises ValueError for a gauge outside 10
    to 40 AWG or outside -40 to 90 °C.
    """
    area_mm2 = pi / 4 * diameter_mm(gauge_awg) ** 2
    return RESISTIVITY_OHM_MM2_PER_M / area_mm2 * temperature_factor(temperature_c)


def run_ohm(runs: Iterable[Run], temperature_c: float = 20.0) -> float:
    """The resistance of one conductor from end to end of those runs, in ohm.

    A run without a gauge counts 9.38 ohm for 100 m, a cord 14 (ANSI/TIA-568, from memory). Raises
    ValueError for a negative length, a gauge outside 10 to 40 AWG, or outside -40 to 90 °C.
    """
    total = 0.0
    for run in runs:
        require("cord" if run.is_cord else "cable", run.length_m, "m")
        total += run.length_m * _ohm_per_m_at_20_c(run)
    return total * temperature_factor(temperature_c)


def _ohm_per_m_at_20_c(run: Run) -> float:
    if run.gauge_awg is not None:
        return conductor_ohm_per_m(run.gauge_awg)
    return CORD_OHM_PER_M if run.is_cord else HORIZONTAL_OHM_PER_M
