"""UPS batteries: runtime, ageing, temperature, replacement, and what size would do.

Runtime comes from the maker's table, or, less surely, from energy. Ageing, temperature and design
margin multiply the load, as IEEE Std 485 and IEEE Std 1184 multiply it when sizing. IEEE 485's
temperature factors are for long discharges: at UPS rates cold costs less, so they err on the safe
side. Lead-acid only. Work on batteries has its own caution: `cautions.BATTERIES`.
"""

from __future__ import annotations

from bisect import bisect_left
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from itertools import pairwise
from math import log
from typing import Final, Literal

from dateutil.relativedelta import relativedelta

from binder.engineering.figures import Step, plain, require, require_above

# Replace below 80 % of rated capacity: TM 5-684 paragraph 14-29; IEEE 450, IEEE 1188 (from memory).
END_OF_LIFE_SHARE: Final = 0.8
AGEING_FACTOR: Final = 1 / END_OF_LIFE_SHARE  # IEEE 485: 1.25
DESIGN_MARGIN: Final = 1.10  # IEEE 485: 1.10 to 1.15
REFERENCE_C: Final = 25.0

RATED_H: Final = 20.0  # the discharge that nominal capacity is rated at
# Published exponents differ: absorbed glass mat 1.05 to 1.15 (from memory); the upper is the safer.
PEUKERT_EXPONENT: Final = 1.15
# A maker says life halves every 8 °C, others 10; IEEE 1188 has 15 °F, 8.3 °C (from memory).
HALVING_C: Final = 8.0

# IEEE 485 table 1, degrees Fahrenheit and factor; 25, 30, 35 and 125 °F from memory.
_FACTORS: Final = (
    (25, 1.520), (30, 1.430), (35, 1.350), (40, 1.300), (45, 1.250), (50, 1.190), (55, 1.150),
    (60, 1.110), (65, 1.080), (66, 1.072), (67, 1.064), (68, 1.056), (69, 1.048), (70, 1.040),
    (71, 1.034), (72, 1.029), (73, 1.023), (74, 1.017), (75, 1.011), (76, 1.006), (77, 1.000),
    (78, 0.994), (79, 0.987), (80, 0.980), (81, 0.976), (82, 0.972), (83, 0.968), (84, 0.964),
    (85, 0.960), (86, 0.956), (87, 0.952), (88, 0.948), (89, 0.944), (90, 0.940), (95, 0.930),
    (100, 0.910), (105, 0.890), (110, 0.880), (115, 0.870), (120, 0.860), (125, 0.850),
)  # fmt: skip

# How sure a runtime is: by the maker's table; a bound, since the load lies beyond the table; or
# reckoned from nominal energy.
Bound = Literal["", "at least", "at most", "about"]


@dataclass(frozen=True, slots=True)
class Runtime:
    """Minutes on battery. `bound` says how they are meant; the steps show the working."""

    minutes: float
    bound: Bound
    steps: tuple[Step, ...]


@dataclass(frozen=True, slots=True)
class Battery:
    """What is known of a UPS's battery when new: the maker's table, or energy and efficiency.

    `table` has loads in W, rising, and minutes. `efficiency` is that of the UPS on battery, 0 to 1.
    """

    table: tuple[tuple[float, float], ...] = ()
    energy_wh: float | None = None
    efficiency: float | None = None


@dataclass(frozen=True, slots=True)
class Outlook:
    """Runtime now and at the battery's end of life, at today's load and after what is planned."""

    now: Runtime
    at_end_of_life: Runtime
    after_growth: Runtime
    after_growth_at_end_of_life: Runtime


def table_runtime(table: Sequence[tuple[float, float]], load_w: float) -> Runtime:
    """Minutes at a load, from the maker's table of (W, minutes).

    Between points log time is a straight line of log load, which is exact for any battery that
    follows Peukert's law. Beyond the table nothing is guessed: below its least load the runtime is
    'at least' that of the least, above its greatest 'at most' that of the greatest. Raises
    ValueError for a negative load, or a table that is empty, not above zero, or whose loads do not
    rise and minutes fall.
    """
    require("load", load_w, "W")
    _require_table(table)
    loads = [load for load, _ in table]
    after = bisect_left(loads, load_w)
    if after < len(loads) and loads[after] == load_w:
        return Runtime(table[after][1], "", (_read(load_w, table[after][1], "a point of it"),))
    if after == 0:
        minutes, where = table[0][1], f"below its least load, {plain(loads[0])} W"
        return Runtime(minutes, "at least", (_read(load_w, minutes, where),))
    if after == len(loads):
        minutes, where = table[-1][1], f"above its greatest load, {plain(loads[-1])} W"
        return Runtime(minutes, "at most", (_read(load_w, minutes, where),))
    (p0, t0), (p1, t1) = table[after - 1], table[after]
    minutes = t0 * (t1 / t0) ** (log(load_w / p0) / log(p1 / p0))
    where = f"between {plain(p0)} W, {plain(t0)} min and {plain(p1)} W, {plain(t1)} min, log-log"
    return Runtime(minutes, "", (_read(load_w, minutes, where),))


def energy_runtime(
    energy_wh: float,
    load_w: float,
    efficiency: float,
    depth: float = 1.0,
    exponent: float = PEUKERT_EXPONENT,
) -> Runtime:
    """Minutes at a load, from nominal energy: Wh x depth x efficiency/W, less Peukert's loss.

    Nominal energy is that of a 20 h discharge. A faster one yields less, by the power of the
    exponent less one; a slower one is given no credit; exponent 1 is energy alone. An estimate,
    always 'about'. Raises ValueError for values out of range.
    """
    require_above("battery energy", energy_wh, "Wh")
    require_above("load", load_w, "W")
    _require_share("efficiency", efficiency)
    _require_share("depth of discharge", depth)
    require("Peukert exponent", exponent, "", 1, 2)
    hours = energy_wh * depth * efficiency / load_w
    yielded = min(1.0, hours / RATED_H) ** (exponent - 1)
    minutes = hours * yielded * 60
    steps = (
        Step(
            "energy alone",
            f"{plain(energy_wh)} Wh × {plain(depth)} × {plain(efficiency)} / {plain(load_w)} W",
            hours * 60,
            "min",
            "nominal energy, an estimate",
        ),
        Step(
            "at this rate",
            f"{plain(hours * 60)} min × {plain(yielded)}",
            minutes,
            "min",
            f"Peukert, exponent {plain(exponent)}",
        ),
    )
    return Runtime(minutes, "about", steps)


def energy_needed_wh(
    load_w: float, minutes: float, efficiency: float, exponent: float = PEUKERT_EXPONENT
) -> float:
    """The nominal energy, in Wh, that lasts that long: `energy_runtime` solved the other way.

    Multiply the load by ageing, margin and temperature factors first. Raises ValueError for values
    out of range.
    """
    require_above("load", load_w, "W")
    require_above("runtime", minutes, "min")
    _require_share("efficiency", efficiency)
    require("Peukert exponent", exponent, "", 1, 2)
    hours = minutes / 60
    if hours < RATED_H:
        hours = RATED_H * (hours / RATED_H) ** (1 / exponent)
    return hours * load_w / efficiency


def runtime(
    battery: Battery,
    load_w: float,
    *,
    capacity_share: float = 1.0,
    temperature_c: float = REFERENCE_C,
    design_margin: float = 1.0,
) -> Runtime:
    """Minutes at a load for a battery of that age, warmth and margin.

    A battery with a share s of its capacity lasts at a load P as a new one does at P/s; margin and
    the temperature factor of IEEE 485 multiply the load likewise, and warmth above 25 °C earns no
    credit. Raises ValueError for values out of range, or a battery of which neither the table nor
    both energy and efficiency are known.
    """
    _require_share("capacity share", capacity_share)
    require("design margin", design_margin, "", 1, 2)
    cold = cold_factor(temperature_c)
    as_new_w = load_w * design_margin * cold / capacity_share
    working = (
        f"{plain(load_w)} W × {plain(design_margin)} × {plain(cold)} / {plain(capacity_share)}"
    )
    basis = f"margin, {plain(temperature_c)} °C, capacity left; IEEE 485"
    step = Step("load, as a new battery bears it", working, as_new_w, "W", basis)
    if battery.table:
        found = table_runtime(battery.table, as_new_w)
    elif battery.energy_wh is not None and battery.efficiency is not None:
        found = energy_runtime(battery.energy_wh, as_new_w, battery.efficiency)
    else:
        raise ValueError("battery runtime: needs the maker's table, or energy and efficiency")
    return Runtime(found.minutes, found.bound, (step, *found.steps))


def outlook(
    battery: Battery,
    load_w: float,
    added_w: float,
    *,
    capacity_share: float = 1.0,
    temperature_c: float = REFERENCE_C,
) -> Outlook:
    """Runtime now, at the end of the battery's life, and both after the planned load is added.

    `capacity_share` is what is left today. Raises ValueError as `runtime` does.
    """
    require("planned load", added_w, "W")
    worn = min(capacity_share, END_OF_LIFE_SHARE)

    def of(watts: float, share: float) -> Runtime:
        return runtime(battery, watts, capacity_share=share, temperature_c=temperature_c)

    grown_w = load_w + added_w
    return Outlook(
        of(load_w, capacity_share), of(load_w, worn), of(grown_w, capacity_share), of(grown_w, worn)
    )


def peukert_h(capacity_ah: float, rated_h: float, current_a: float, exponent: float) -> float:
    """Hours at a current: H (C/(I H))^k, capacity C rated over H hours (Peukert, normalised form).

    Not C/I^k, whose C is the capacity at 1 A. Raises ValueError for values out of range.
    """
    require_above("capacity", capacity_ah, "Ah")
    require_above("rated discharge", rated_h, "h")
    require_above("current", current_a, "A")
    require("Peukert exponent", exponent, "", 1, 2)
    return float(rated_h * (capacity_ah / (current_a * rated_h)) ** exponent)


def peukert_exponent(one: tuple[float, float], other: tuple[float, float]) -> float:
    """The exponent from two discharges, each (A, h): ln(t2/t1)/ln(I1/I2).

    Raises ValueError for values not above zero, or two equal currents.
    """
    for current_a, hours in (one, other):
        require_above("current", current_a, "A")
        require_above("discharge", hours, "h")
    if one[0] == other[0]:
        raise ValueError(f"current {one[0]:g} A twice: an exponent needs two currents")
    return log(other[1] / one[1]) / log(one[0] / other[0])


def temperature_factor(temperature_c: float) -> float:
    """IEEE 485 table 1: capacity needed at that electrolyte temperature over that at 25 °C.

    In a straight line between its points, in degrees Fahrenheit as printed. Raises ValueError
    outside -3.9 to 51.7 °C, where the table says nothing.
    """
    require("electrolyte temperature", temperature_c, "°C", -3.9, 51.7)
    wanted = min(max(temperature_c * 9 / 5 + 32, _FACTORS[0][0]), _FACTORS[-1][0])
    above = max(1, bisect_left(_FACTORS, (wanted, 0.0)))
    (f0, k0), (f1, k1) = _FACTORS[above - 1], _FACTORS[above]
    return k0 + (k1 - k0) * (wanted - f0) / (f1 - f0)


def cold_factor(temperature_c: float) -> float:
    """`temperature_factor` for planning: never below 1, for warmth costs life, not capacity."""
    return max(1.0, temperature_factor(temperature_c))


def capacity_left(age_years: float, life_years: float) -> float:
    """The share of capacity to plan with at an age: 1 when new, 0.8 at the end of life.

    In a straight line between, which no document publishes: a planning assumption; batteries keep
    more at first and lose it faster. Past its life nothing is known but that it is no more than
    0.8. Raises ValueError for a negative age or a life not above 0 years.
    """
    require("battery age", age_years, "years")
    require_above("battery life", life_years, "years")
    return 1 - (1 - END_OF_LIFE_SHARE) * min(1.0, age_years / life_years)


def life_years(
    design_life_years: float, temperature_c: float, halving_c: float = HALVING_C
) -> float:
    """The life to expect at an ambient temperature, in years: L x 2^(-(T - 25)/h) above 25 °C.

    Published for lead-acid with h of 8 °C (10 years at 25 °C are 5 at 33) and of 10 °C (35 °C
    halves it). At 25 °C and below the design life, no more. Raises ValueError for a life or h not
    above zero, or outside -40 to 60 °C.
    """
    require_above("battery design life", design_life_years, "years")
    require_above("degrees that halve life", halving_c, "°C")
    require("ambient temperature", temperature_c, "°C", -40, 60)
    return float(design_life_years * 2 ** (-max(0.0, temperature_c - REFERENCE_C) / halving_c))


def replace_by(installed_on: date, expected_life_years: float) -> date:
    """The day by which a battery is due: installed, plus its life in whole months.

    Raises ValueError for a life not above 0 or more than 50 years.
    """
    require_above("battery life", expected_life_years, "years")
    require("battery life", expected_life_years, "years", 0, 50)
    return installed_on + relativedelta(months=int(expected_life_years * 12 + 1e-9))


def battery_load_w(load_va: float, power_factor: float, efficiency: float) -> float:
    """What the battery gives for a UPS's output, in W: VA x pf/efficiency (UFC 3-520-01 E-2).

    Raises ValueError for a negative load, or a factor outside 0 to 1.
    """
    require("load", load_va, "VA")
    _require_share("power factor", power_factor)
    _require_share("efficiency", efficiency)
    return load_va * power_factor / efficiency


def capacity_needed_ah(
    power_w: float,
    hours: float,
    end_voltage_v: float,
    temperature_c: float = REFERENCE_C,
    ageing: float = AGEING_FACTOR,
    design_margin: float = DESIGN_MARGIN,
) -> float:
    """Capacity to install, in Ah: W/V x h x temperature x ageing x margin (IEEE 485).

    `end_voltage_v` is the string's at the end of discharge, where current is greatest. Raises
    ValueError for values out of range.
    """
    require("power", power_w, "W")
    require("discharge", hours, "h")
    require_above("end voltage", end_voltage_v, "V")
    require("ageing factor", ageing, "", 1, 2)
    require("design margin", design_margin, "", 1, 2)
    factors = cold_factor(temperature_c) * ageing * design_margin
    return power_w / end_voltage_v * hours * factors


def _read(load_w: float, minutes: float, where: str) -> Step:
    return Step("maker's table", f"{plain(load_w)} W: {where}", minutes, "min")


def _require_table(table: Sequence[tuple[float, float]]) -> None:
    if not table:
        raise ValueError("runtime table: has no points")
    for load_w, minutes in table:
        require_above("runtime table load", load_w, "W")
        require_above("runtime table time", minutes, "min")
    for (p0, t0), (p1, t1) in pairwise(table):
        if p1 <= p0 or t1 > t0:
            raise ValueError(
                f"runtime table {p0:g} W, {t0:g} min then {p1:g} W, {t1:g} min: loads rise, "
                "minutes fall"
            )


def _require_share(what: str, share: float) -> None:
    require_above(what, share, "")
    require(what, share, "", 0, 1)
