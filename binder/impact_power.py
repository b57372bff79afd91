"""How long each thing keeps its power when something fails: for ever, not at all, or until the
batteries above it are empty."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable, Collection
from functools import cached_property
from math import inf
from typing import Final

from binder.impact_graph import Network

UPS: Final = "UPS"
Minutes = Callable[[int], float]  # of a UPS on battery


class Powered:
    """Until when each device, strip or UPS has power, in minutes from the failure.

    What has no feed recorded is taken to keep its power; feeds that run in a ring feed nothing by
    themselves. `minutes` is asked of the UPSs that lose their mains.
    """

    def __init__(self, network: Network, failed: Collection[int], minutes: Minutes) -> None:
        self._network = network
        self._failed = frozenset(failed)
        self._minutes = minutes
        self._until: dict[int, float] = {}

    def feeders(self, thing_id: int) -> list[int]:
        """What feeds it by an inlet, or over cabling that is whole."""
        offered = self._network.offered.get(thing_id, ())
        whole = [giver for giver, run in offered if self._failed.isdisjoint(run.parts)]
        return [*self._network.inlets.get(thing_id, ()), *whole]

    def is_fed(self, thing_id: int) -> bool:
        """Whether anything is recorded that feeds it."""
        return bool(self._network.inlets.get(thing_id) or self._network.offered.get(thing_id))

    def until(self, thing_id: int) -> float:
        """Minutes until it has no power; infinite when it keeps it."""
        if thing_id not in self._until:
            self._until[thing_id] = self._reckoned(thing_id, frozenset())
        return self._until[thing_id]

    def lost_feed(self, thing_id: int) -> bool:
        """Whether it keeps its power, but of two feeds or more one is gone for good."""
        inlets = self._network.inlets.get(thing_id, ())
        ends = [self.until(feeder) for feeder in inlets]
        ends += [
            self.until(giver) if self._failed.isdisjoint(run.parts) else 0.0
            for giver, run in self._network.offered.get(thing_id, ())
        ]
        return len(ends) > 1 and max(ends) == inf and min(ends) < inf

    @cached_property
    def on_battery(self) -> tuple[int, ...]:
        """The UPSs that work, but whose mains has gone."""
        return tuple(
            thing
            for thing, form in self._network.form_of.items()
            if form == UPS and self._runs_down(thing)
        )

    def _reckoned(self, thing_id: int, above: frozenset[int]) -> float:
        """`above` are the UPSs it is asked for: a ring of them gives no minutes."""
        if thing_id in self._failed:
            return 0.0
        if thing_id in self._kept or not self.is_fed(thing_id):
            return inf
        until = max(
            (self._reckoned(ups, above | {thing_id}) for ups in self._batteries(thing_id) - above),
            default=0.0,
        )
        own = self._minutes(thing_id) if self._runs_down(thing_id) else 0.0
        return until + own

    def _runs_down(self, thing_id: int) -> bool:
        is_ups = self._network.form_of.get(thing_id) == UPS
        is_cut = thing_id not in self._kept and thing_id not in self._failed
        return is_ups and is_cut and self.is_fed(thing_id)

    def _batteries(self, thing_id: int) -> set[int]:
        """The nearest UPSs above it that run on battery, through strips and switches."""
        found: set[int] = set()
        seen = {thing_id}
        waiting = self.feeders(thing_id)
        while waiting:
            feeder = waiting.pop()
            if feeder in seen or feeder in self._failed:
                continue
            seen.add(feeder)
            if self._runs_down(feeder):
                found.add(feeder)
            else:
                waiting += self.feeders(feeder)
        return found

    @cached_property
    def _kept(self) -> set[int]:
        """What a source that has not failed still feeds: found from the sources down."""
        below: defaultdict[int, list[int]] = defaultdict(list)
        fed = self._network.inlets.keys() | self._network.offered.keys()
        sources: set[int] = set()
        for thing in fed:
            for feeder in self.feeders(thing):
                below[feeder].append(thing)
                if feeder not in fed:
                    sources.add(feeder)
        kept: set[int] = set()
        waiting = [source for source in sources if source not in self._failed]
        while waiting:
            at = waiting.pop()
            if at not in kept:
                kept.add(at)
                waiting += [thing for thing in below.get(at, ()) if thing not in self._failed]
        return kept
