"""What stops when power fails: the mains as a whole, and each UPS and branch circuit by itself.

Asks the graph of `binder.impact`, read once for all of them. Answers hold ids, which the documents
name as they may.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Collection, Iterator
from dataclasses import dataclass
from datetime import date

from binder.file import BinderFile
from binder.impact import OnBattery
from binder.impact_battery import Batteries
from binder.impact_graph import Network
from binder.impact_paths import reach
from binder.impact_power import UPS, Powered


@dataclass(frozen=True, slots=True)
class Carried:
    """A UPS on battery with all it feeds, and what that is."""

    battery: OnBattery
    ids: frozenset[int]


@dataclass(frozen=True, slots=True)
class Failure:
    """What the failure of one thing does to devices.

    `at_once` and `later` lose power, the latter when batteries are empty; `cut_off` keep it but
    then reach no carrier; `one_feed_less` keep it by another feed.
    """

    id: int
    at_once: frozenset[int]
    later: frozenset[int]
    cut_off: frozenset[int]
    one_feed_less: frozenset[int]


@dataclass(frozen=True, slots=True)
class Outages:
    """`dark` are the devices that go dark at once when all mains fails, `unfed` those of which
    nothing is recorded that feeds them."""

    carried: tuple[Carried, ...]
    dark: frozenset[int]
    unfed: frozenset[int]
    failures: tuple[Failure, ...]


def outages(binder: BinderFile, today: date) -> Outages:
    """Every outage of power that the binder's records tell of."""
    with binder.reading() as connection:
        network = Network(connection)
        powered = Powered(network, (), lambda ups: 0.0)
        below = _below(network, powered)
        circuits = below.keys() - network.form_of.keys()
        upses = [thing for thing, form in network.form_of.items() if form == UPS]
        carried = {ups: _all_below(below, ups) for ups in upses}
        fed = {device for device in network.devices if powered.is_fed(device)}
        dark = fed.difference(upses, *carried.values())
        batteries = Batteries(binder, today, circuits | dark) if upses else None
        return Outages(
            tuple(
                Carried(batteries.of(ups), ids & network.devices.keys())
                for ups, ids in carried.items()
                if batteries is not None
            ),
            frozenset(dark),
            frozenset(network.devices.keys() - fed - set(upses)),
            tuple(_failures(network, [*circuits, *upses])),
        )


def _below(network: Network, powered: Powered) -> dict[int, list[int]]:
    """Feeder -> what it feeds, by inlets and over cabling."""
    below: defaultdict[int, list[int]] = defaultdict(list)
    for thing in network.form_of:
        for feeder in powered.feeders(thing):
            below[feeder].append(thing)
    return below


def _all_below(below: dict[int, list[int]], top: int) -> frozenset[int]:
    found: set[int] = set()
    waiting = [top]
    while waiting:
        fed = [thing for thing in below.get(waiting.pop(), ()) if thing not in found]
        found.update(fed)
        waiting += fed
    return frozenset(found - {top})


def _failures(network: Network, things: Collection[int]) -> Iterator[Failure]:
    """Each thing failing by itself. A battery counts as a minute: only 'later' is asked here."""
    before = reach(network, (), ()).steps.keys() & network.devices.keys()
    for thing in things:
        powered = Powered(network, {thing}, lambda ups: 1.0)
        until = {device: powered.until(device) for device in network.devices if device != thing}
        at_once = frozenset(device for device, minutes in until.items() if minutes <= 0)
        later = frozenset(device for device, minutes in until.items() if 0 < minutes < float("inf"))
        dead = at_once | later
        cut_off = before - reach(network, {thing}, dead).steps.keys() - dead - {thing}
        less = {device for device in until if device not in dead and powered.lost_feed(device)}
        yield Failure(thing, at_once, later, frozenset(cut_off), frozenset(less))
