"""Rows of UPS batteries: minutes against the outage asked for, and how long they will serve.

Minutes are judged at the battery's end of life, since it has to hold to its last day; where the
UPS itself was seen to have less, that counts.
"""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date
from functools import partial
from typing import Final

from binder.engineering.battery import (
    END_OF_LIFE_SHARE,
    PEUKERT_EXPONENT,
    REFERENCE_C,
    Battery,
    Runtime,
    capacity_left,
    life_years,
    replace_by,
    runtime,
)
from binder.engineering.cautions import BATTERIES
from binder.engineering.figures import Budget, Step, plain
from binder.headroom.attempt import attempt
from binder.headroom.mains import PowerTree
from binder.headroom.rows import Bound, Measured, Need, Outlook, Row, row, unknown
from binder.headroom.source import Source, missing
from binder.headroom.tables import Hardware

MINUTES: Final = "minutes on battery"
LIFE: Final = "battery life"
_YEAR_DAYS: Final = 365.25
_LEAST_C: Final = -3.9  # of the temperature table; see `battery.temperature_factor`


def rows(source: Source, tree: PowerTree) -> list[Row]:
    """Two rows a UPS."""
    found = []
    for ups in source.standing("UPS"):
        where = source.of_hardware(ups)
        found.append(
            attempt(MINUTES, where, "min", partial(_minutes, source, tree, ups), BATTERIES)
        )
        found.append(attempt(LIFE, where, "years", partial(_life, source, ups), BATTERIES))
    return found


def battery_of(ups: Hardware) -> Battery | None:
    """What is recorded of a UPS's battery; None when no runtime can be had from it.

    Raises ValueError for a runtime table that cannot be read.
    """
    efficiency = ups.ups_efficiency_percent
    battery = Battery(
        curve(ups.runtime_curve),
        ups.battery_wh,
        efficiency / 100 if efficiency is not None else None,
    )
    if battery.table or (battery.energy_wh is not None and battery.efficiency is not None):
        return battery
    return None


def curve(text: str | None) -> tuple[tuple[float, float], ...]:
    """The points of a runtime table as stored: '200:48, 400:20' -> ((200, 48), (400, 20))."""
    if not text:
        return ()
    points = (point.partition(":") for point in text.split(","))
    return tuple(sorted((float(watts), float(minutes)) for watts, _, minutes in points))


def room_c(source: Source, ups: Hardware) -> tuple[float, str]:
    """The temperature of a UPS's room, and whose figure it is."""
    if ups.space_id is not None:
        measured = source.latest(ups.space_id, "temperature C", "°C")
        if measured:
            return measured.value, f"as read {measured.at[:10]}"
    return REFERENCE_C, "no reading of the room: the 25 °C of the battery's sheet"


def share_left(source: Source, ups: Hardware) -> float | None:
    """What is left of a battery's capacity by its age; None when that is not recorded."""
    age = _age_years(source, ups)
    if age is None or ups.battery_life_years is None:
        return None
    return capacity_left(age, life_years(ups.battery_life_years, room_c(source, ups)[0]))


def minutes_now(source: Source, tree: PowerTree, ups: Hardware, load_w: float) -> Runtime | None:
    """How long it lasts today at that load; None when its battery is not recorded.

    By its age where that is known, else at the end of its life. Where the UPS itself was read to
    have less than reckoned at its load, every runtime of it is lessened alike.
    """
    try:
        battery = battery_of(ups)
        if battery is None:
            return None
        left = share_left(source, ups)
        share = END_OF_LIFE_SHARE if left is None else left
        warm_c = max(_LEAST_C, room_c(source, ups)[0])
        found = runtime(battery, load_w, capacity_share=share, temperature_c=warm_c)
        seen = source.latest(ups.id, "UPS runtime min", "min")
        present_w, _ = _loads_w(source, tree, ups)
        if seen and present_w:
            reckoned = runtime(battery, present_w, capacity_share=share, temperature_c=warm_c)
            lessened = min(1.0, seen.value / reckoned.minutes)
            found = Runtime(found.minutes * lessened, found.bound, found.steps)
    except ValueError:  # figures that make no sense: headroom's row tells which
        return None
    return found


def _age_years(source: Source, ups: Hardware) -> float | None:
    if ups.battery_installed_on is None:
        return None
    days = (source.today - date.fromisoformat(ups.battery_installed_on)).days
    return max(0.0, days / _YEAR_DAYS)


def _minutes(source: Source, tree: PowerTree, ups: Hardware) -> Row:
    where, basis = source.of_hardware(ups), "load with the mains out, at the battery's end of life"
    battery = battery_of(ups)
    measured = source.latest(ups.id, "UPS runtime min", "min")
    if battery is None:
        fields = ["runtime_curve"] if ups.battery_wh else ["runtime_curve", "battery_wh"]
        if ups.battery_wh and ups.ups_efficiency_percent is None:
            fields.append("ups_efficiency_percent")
        lacking = missing("hardware", ups, *fields)
        return unknown(
            MINUTES, where, "min", lacking, basis=basis, measured=measured, caution=BATTERIES
        )
    if tree.problem:
        return unknown(MINUTES, where, "min", (), says=tree.problem, caution=BATTERIES)
    load_w, added_w = _loads_w(source, tree, ups)
    if load_w <= 0:
        fed = Need(
            ups.id,
            "hardware",
            ups.name,
            "",
            "what is plugged into it, the inlets",
            add="inlet",
        )
        return unknown(MINUTES, where, "min", [fed], basis=basis, caution=BATTERIES)
    return _minutes_row(source, tree, ups, battery, load_w, added_w, measured)


def _loads_w(source: Source, tree: PowerTree, ups: Hardware) -> tuple[float, float]:
    now, then = tree.outage(planned=False), tree.outage(planned=True)
    load = now[ups.name].out_w if ups.name in now else 0.0
    grown = then[ups.name].out_w if ups.name in then else load
    measured = source.latest(ups.id, "UPS load W", "W")
    return max(load, measured.value if measured else 0.0), max(0.0, grown - load)


def _minutes_row(
    source: Source,
    tree: PowerTree,
    ups: Hardware,
    battery: Battery,
    load_w: float,
    added_w: float,
    measured: Measured | None,
) -> Row:
    target, (temperature_c, whose) = source.limits["outage minutes"], room_c(source, ups)
    warm_c = max(_LEAST_C, temperature_c)
    left = share_left(source, ups)
    worn = min(END_OF_LIFE_SHARE, left if left is not None else END_OF_LIFE_SHARE)

    def minutes(watts: float, share: float) -> Runtime:
        return runtime(battery, watts, capacity_share=share, temperature_c=warm_c)

    new, old = minutes(load_w, 1.0), minutes(load_w, worn)
    grown = minutes(load_w + added_w, worn)
    seen = measured.value if measured and measured.value < old.minutes else None
    limit = old.minutes if seen is None else seen
    after = min(limit, grown.minutes * limit / old.minutes)
    budget = Budget(limit, target.value, limit - after, "min", (
        *new.steps[1:],
        Step("at end of life", f"{plain(worn)} of capacity left", old.minutes, "min", "IEEE 485"),
        *old.steps,
        Step("with what is planned", f"{plain(load_w)} + {plain(added_w)} W", after, "min"),
        Step("room", whose, temperature_c, "°C"),
        Step("asked for", "planning limit", target.value, "min"),
    ))  # fmt: skip
    lacking, assumed = tree.doubts(ups.name)
    because = "at the battery's end of life, 80 % of its capacity (IEEE 485)"
    if seen is not None:
        because = f"the UPS was read at {plain(seen)} min, less than reckoned"
    return row(
        MINUTES, source.of_hardware(ups), budget, rated=new.minutes, because=because,
        basis=f"load on battery {plain(load_w)} W; {_basis_of(battery)}",
        tight=source.limits.tight, missing=lacking, assumed=assumed,
        bound=_worst_bound((old, grown)), measured=measured,
        notes=_minutes_notes(source, ups, left, target.because), caution=BATTERIES,
        fix=lambda b: _bigger(ups, target.value, after),
    )  # fmt: skip


def _basis_of(battery: Battery) -> str:
    return "the maker's runtime table" if battery.table else "nominal energy, an estimate"


def _worst_bound(found: Sequence[Runtime]) -> Bound:
    bounds = [each.bound for each in found if each.bound]
    return bounds[-1] if bounds else ""


def _minutes_notes(
    source: Source, ups: Hardware, left: float | None, target_because: str
) -> list[str]:
    notes = [f"asked for: {target_because}"]
    if left is None:
        notes.append("the battery's age or design life is not recorded; end of life is taken")
    elif left < END_OF_LIFE_SHARE:
        notes.append(f"by its age the battery has {plain(100 * left)} % of its capacity left")
    return notes


def _bigger(ups: Hardware, target: float, after: float) -> str:
    """Minutes grow with capacity to the power of Peukert's exponent, whatever the load."""
    times = (target / after) ** (1 / PEUKERT_EXPONENT)
    energy = f" (about {plain(round(ups.battery_wh * times, -1))} Wh)" if ups.battery_wh else ""
    return f"{plain(round(times, 1))} times the battery{energy}, a larger UPS, or less load on it"


def _life(source: Source, ups: Hardware) -> Row:
    where = source.of_hardware(ups)
    basis = "design life at 25 °C, halved for every 8 °C above; IEEE 1188, makers' sheets"
    lacking = missing("hardware", ups, "battery_installed_on", "battery_life_years")
    age = _age_years(source, ups)
    if age is None or ups.battery_life_years is None or ups.battery_installed_on is None:
        return unknown(LIFE, where, "years", lacking, basis=basis, caution=BATTERIES)
    temperature_c, whose = room_c(source, ups)
    life = life_years(ups.battery_life_years, temperature_c)
    due = replace_by(date.fromisoformat(ups.battery_installed_on), life)
    budget = Budget(life, age, 0.0, "years", (
        Step("life here", f"{plain(ups.battery_life_years)} years at {plain(temperature_c)} °C, "
             f"{whose}", life, "years"),
        Step("age", f"since {ups.battery_installed_on}", age, "years"),
    ))  # fmt: skip
    return row(
        LIFE, where, budget, rated=ups.battery_life_years, because=f"at {plain(temperature_c)} °C",
        basis=basis, tight=source.limits.tight, caution=BATTERIES,
        outlook=Outlook(f"replace by {due.isoformat()}", due.isoformat()),
        fix=lambda b: "new batteries now; the old ones to recycling",
    )  # fmt: skip
