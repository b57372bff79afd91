"""What would cure a row that is tight or short: the smallest changes, with the sum, and a price.

The price is that of a template, a spare or the same kind of hardware in this binder; where none is
known, none is told.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

from binder.engineering.figures import plain
from binder.file import BinderFile
from binder.headroom import addressing, battery, poe, ports, power, rack, recording
from binder.headroom.rows import Headroom, Row

ASKED: Final = ("over", "short", "tight")
# For each resource: what could be done, the smallest first, and the kind of hardware it takes.
_CURES: Final[dict[str, tuple[tuple[str, str], ...]]] = {
    ports.SWITCH: (("free ports that lead nowhere", ""), ("another switch", "switch")),
    ports.PANEL: (("take out abandoned cable", ""), ("another panel", "patch panel")),
    poe.POE: (
        ("move a powered device to another switch", ""),
        ("a switch with a larger budget, or a second one", "switch"),
        ("a PoE injector for the largest", "PoE injector"),
    ),
    power.UPS_LOAD: (("move a load to another UPS", ""), ("a larger UPS", "UPS")),
    battery.MINUTES: (
        ("take what need not stay up off the UPS", ""), ("a battery pack more", "UPS"),
    ),
    battery.LIFE: (("new batteries", ""),),
    rack.UNITS: (("take out what is not used", ""), ("another rack", "")),
    recording.CAMERAS: (("another recorder", "recorder"),),
    recording.DAYS: (("a larger disk, or fewer days", "recorder"),),
    addressing.DHCP: (("a wider range, or shorter leases", ""),),
}  # fmt: skip


@dataclass(frozen=True, slots=True)
class Cure:
    """A change that would mend a row. `cost_cents` is None where no price is known."""

    what: str
    arithmetic: str
    cost_cents: int | None
    cost_from: str  # what the price was taken from; '' for none


@dataclass(frozen=True, slots=True)
class Ailing:
    """A row that asks for attention, and what would cure it, the smallest change first."""

    row: Row
    cures: tuple[Cure, ...]


def ailing(binder: BinderFile, computed: Headroom) -> tuple[Ailing, ...]:
    """The rows that are over, short or tight, the worst first, each with its cures."""
    prices = _prices(binder)
    return tuple(Ailing(row, _cures(row, prices)) for row in computed.rows if row.state in ASKED)


def _cures(row: Row, prices: dict[str, tuple[int, str]]) -> tuple[Cure, ...]:
    arithmetic = _sum(row)
    found = [Cure(row.fix, arithmetic, None, "")] if row.fix else []
    for what, form in _CURES.get(row.resource, ()):
        if any(what == one.what for one in found):
            continue
        cost = prices.get(form)
        found.append(Cure(what, arithmetic, cost[0] if cost else None, cost[1] if cost else ""))
    if row.resource == battery.LIFE:
        cost = prices.get(f"battery of {row.where.name}")
        if cost:
            found[0] = Cure(found[0].what, found[0].arithmetic, cost[0], cost[1])
    return tuple(found[:3])


def _sum(row: Row) -> str:
    if row.limit is None or row.used is None or row.free is None:
        return row.told
    kept = f" + {plain(row.reserved)} kept" if row.reserved else ""
    left = f"{plain(row.free)} left" if row.free >= 0 else f"{plain(-row.free)} too much"
    return f"{plain(row.used)} used{kept} of {plain(row.limit)} {row.unit}: {left}"


def _prices(binder: BinderFile) -> dict[str, tuple[int, str]]:
    """A price by kind of hardware (a template's first, else what the last one cost), and of the
    batteries of each UPS by its spares."""
    found: dict[str, tuple[int, str]] = {}
    for form, price, name in binder.connection.execute(
        "SELECT form, price, identifier FROM hardware WHERE price IS NOT NULL "
        "ORDER BY coalesce(installed_on, '')"
    ):
        found[form] = (price, f"what {name} cost")
    for form, price, name in binder.connection.execute(
        "SELECT form, price, identifier FROM template WHERE price IS NOT NULL"
    ):
        found[form] = (price, f"template {name}")
    for price, name, fits in binder.connection.execute(
        "SELECT s.unit_price, s.identifier, r.name FROM spare s JOIN record r ON r.id = s.fits_id "
        "WHERE s.unit_price IS NOT NULL"
    ):
        found[f"battery of {fits}"] = (price, f"spare {name}")
    return found
