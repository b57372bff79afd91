"""Heat of a room: watts in other units, what stays, airflow to carry it off, rise of a closed one.

Units: NIST SP 811 appendix B (from memory; 1 Btu is 1055.05585262 J). Airflow: ASHRAE's sensible
heat equation, 1.08 = 60 x 0.075 x 0.24 for standard air. Air pressure: U.S. Standard Atmosphere
1976. A closed room: Q = U A dT, steady state, the rooms around it at their usual temperature; an
estimate, and only that.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from math import sqrt
from typing import Final

from binder.engineering.figures import Budget, Step, plain, require, require_above

BTU_J: Final = 1055.05585262
BTU_PER_H_PER_W: Final = 3600 / BTU_J
BTU_PER_H_PER_TON: Final = 12_000.0
CFM_M3_H: Final = 1.699010796

AIR_KG_M3: Final = 1.2
AIR_J_KG_K: Final = 1005.0
_SENSIBLE_HEAT: Final = 1.08  # Btu/h for a CFM and a degree F

# ASHRAE TC 9.9, Thermal Guidelines for Data Processing Environments, 5th edition (2021), table 2.1:
# air at the inlet of equipment, and the allowable range of class A1, the strictest.
RECOMMENDED_INLET_C: Final = (18.0, 27.0)
ALLOWABLE_A1_C: Final = (15.0, 32.0)

# Two sheets of 12.5 mm gypsum at 0.25 W/mK, unventilated cavity 0.18, surfaces 0.13 each: ISO 6946
# (method published; values from memory).
PARTITION_U_W_M2_K: Final = 1 / (0.13 + 0.0125 / 0.25 + 0.18 + 0.0125 / 0.25 + 0.13)
CEILING_M: Final = 2.7  # a usual height, for want of a recorded one


@dataclass(frozen=True, slots=True)
class RoomHeat:
    """What a room has to get rid of, in W, and how it adds up."""

    heat_w: float
    steps: tuple[Step, ...]


def btu_per_h(power_w: float) -> float:
    """Btu(IT)/h: W x 3.412142 (NIST SP 811). Raises ValueError for a negative power."""
    require("heat", power_w, "W")
    return power_w * BTU_PER_H_PER_W


def watts(heat_btu_per_h: float) -> float:
    """Watts of so many Btu(IT)/h (NIST SP 811). Raises ValueError for a negative figure."""
    require("heat", heat_btu_per_h, "Btu/h")
    return heat_btu_per_h / BTU_PER_H_PER_W


def tons(power_w: float) -> float:
    """Tons of refrigeration, 12 000 Btu/h or 3516.853 W each (NIST SP 811).

    Raises ValueError for a negative power.
    """
    return btu_per_h(power_w) / BTU_PER_H_PER_TON


def pressure_ratio(altitude_m: float) -> float:
    """Air pressure at a height over that at sea level: (1 - 2.25577e-5 Z)^5.2559.

    U.S. Standard Atmosphere 1976. Indoor air thins with pressure alone; the ratio of densities in
    that atmosphere has the colder air outdoors in it as well. Raises ValueError outside -500 to
    5000 m.
    """
    require("altitude", altitude_m, "m", -500, 5000)
    return float((1 - 2.25577e-5 * altitude_m) ** 5.2559)


def airflow_m3_h(heat_w: float, rise_k: float, altitude_m: float = 0.0) -> float:
    """Air to carry heat off at a rise in its temperature, in m³/h: 3600 W/(1.2 x 1005 K).

    Sensible heat (ASHRAE), thinner with altitude. Raises ValueError for a negative heat, a rise not
    above 0 K, or as `pressure_ratio` does.
    """
    require("heat", heat_w, "W")
    require_above("rise", rise_k, "K")
    return 3600 * heat_w / (AIR_KG_M3 * AIR_J_KG_K * rise_k) / pressure_ratio(altitude_m)


def airflow_cfm(heat_w: float, rise_f: float, altitude_m: float = 0.0) -> float:
    """Air to carry heat off, in cubic feet a minute: Btu/h/(1.08 x rise in °F) (ASHRAE).

    Raises ValueError as `airflow_m3_h` does.
    """
    require_above("rise", rise_f, "°F")
    return btu_per_h(heat_w) / (_SENSIBLE_HEAT * rise_f) / pressure_ratio(altitude_m)


def ups_loss_w(load_w: float, efficiency: float) -> float:
    """What a UPS turns to heat at a load, in W: load/efficiency - load (definition).

    Raises ValueError for a negative load or an efficiency outside (0, 1].
    """
    require("UPS load", load_w, "W")
    require_above("UPS efficiency", efficiency, "")
    require("UPS efficiency", efficiency, "", 0, 1)
    return load_w / efficiency - load_w


def room_heat(
    taken_w: Mapping[str, float],
    sent_out_w: Mapping[str, float] | None = None,
    sent_in_w: Mapping[str, float] | None = None,
) -> RoomHeat:
    """The heat of a room: all that is drawn in it, less what PoE carries out, plus what comes in.

    `taken_w` is what each piece draws from the mains, losses of UPSs and power supplies included.
    `sent_out_w` is what devices elsewhere draw over PoE from here, `sent_in_w` what devices here
    draw over PoE from elsewhere. What is lost in the cables counts here, at the source: the most it
    can be. Energy is conserved (arithmetic). Raises ValueError for a negative power, or when more
    leaves than is drawn.
    """
    groups = (
        ("drawn in the room", taken_w, 1),
        ("ends elsewhere, over PoE", sent_out_w or {}, -1),
        ("comes from elsewhere, over PoE", sent_in_w or {}, 1),
    )
    steps, heat_w = [], 0.0
    for what, parts, sign in groups:
        for name, power_w in parts.items():
            require(f"power of {name}", power_w, "W")
        total_w = sum(parts.values())
        heat_w += sign * total_w
        working = " + ".join(f"{name} {plain(w)}" for name, w in parts.items()) or "nothing"
        steps.append(Step(what, working, total_w, "W"))
    if heat_w < -1e-9:
        raise ValueError(f"heat {heat_w:g} W: more leaves over PoE than is drawn in the room")
    heat_w = max(0.0, heat_w)
    drawn, out, into = (plain(step.value) for step in steps)
    working = f"{drawn} W - {out} W + {into} W"
    return RoomHeat(heat_w, (*steps, Step("stays in the room", working, heat_w, "W")))


def cooling_budget(
    cooling_w: float, used: RoomHeat, kept_w: float = 0.0, planning_share: float = 1.0
) -> Budget:
    """What a room's cooling can still carry off, in W, with planned hardware as kept.

    Raises ValueError for values out of range.
    """
    require_above("cooling", cooling_w, "W")
    require("planned heat", kept_w, "W")
    require("planning share", planning_share, "", 0, 1)
    limit_w = cooling_w * planning_share
    step = Step("limit", f"{plain(cooling_w)} W × {plain(planning_share)}", limit_w, "W")
    kept = Step("planned or kept", "planned hardware and reservations", kept_w, "W")
    return Budget(limit_w, used.heat_w, kept_w, "W", (step, *used.steps, kept))


def walls_w_per_k(
    floor_area_m2: float, ceiling_m: float = CEILING_M, u_w_m2_k: float = PARTITION_U_W_M2_K
) -> float:
    """What the walls of a room pass for a degree, in W/K, from its floor area alone: U x A.

    The room is taken as square, which has the least wall, and floor and ceiling as passing nothing:
    the least it can be. U of a gypsum partition by ISO 6946. Raises ValueError for values not above
    zero.
    """
    require_above("floor area", floor_area_m2, "m²")
    require_above("ceiling height", ceiling_m, "m")
    require_above("U", u_w_m2_k, "W/m²K")
    return u_w_m2_k * 4 * sqrt(floor_area_m2) * ceiling_m


def closed_rise_k(heat_w: float, ua_w_per_k: float, airflow_m3_h: float = 0.0) -> float:
    """How far a closed room warms above those around it, in K: Q/(U A + rho cp V).

    Steady state: an estimate. `airflow_m3_h` is of a fan or grille to the rooms around. Raises
    ValueError for a negative heat or airflow, or when nothing carries heat away.
    """
    require("heat", heat_w, "W")
    return heat_w / _carried_w_per_k(ua_w_per_k, airflow_m3_h)


def closed_limit_w(rise_k: float, ua_w_per_k: float, airflow_m3_h: float = 0.0) -> float:
    """The heat that warms a closed room by so much, in W: `closed_rise_k` the other way."""
    require("rise", rise_k, "K")
    return rise_k * _carried_w_per_k(ua_w_per_k, airflow_m3_h)


def _carried_w_per_k(ua_w_per_k: float, airflow_m3_h: float) -> float:
    require("heat through walls", ua_w_per_k, "W/K")
    require("airflow", airflow_m3_h, "m³/h")
    carried = ua_w_per_k + AIR_KG_M3 * AIR_J_KG_K * airflow_m3_h / 3600
    require_above("heat carried off", carried, "W/K")
    return carried
