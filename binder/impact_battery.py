"""How long UPSs last when their mains has gone: headroom's batteries, with what is still up."""

from __future__ import annotations

from collections.abc import Collection
from datetime import date

from binder.engineering.power import Fed, loads
from binder.file import BinderFile
from binder.headroom.battery import minutes_now
from binder.headroom.feeds import PoeFeeds
from binder.headroom.mains import PowerTree, circuit_key
from binder.headroom.source import Source
from binder.impact import OnBattery


class Batteries:
    """The UPSs of a binder on battery, when what is in `dead` draws nothing."""

    def __init__(self, binder: BinderFile, today: date, dead: Collection[int]) -> None:
        self._source = Source(binder, today)
        self._tree = PowerTree(self._source, PoeFeeds(self._source))
        on_battery = {h.name for h in self._source.hardware.values() if h.form == "UPS"}
        circuits = self._source.branch_circuits
        gone = {h.name for h in self._source.hardware.values() if h.id in dead}
        gone -= on_battery
        gone |= {circuit_key(c.name) for c in circuits.values() if c.id in dead}
        things = [
            Fed(t.name, t.own_w, t.own_va, (), t.efficiency) if t.name in on_battery else t
            for t in self._tree.things_now
        ]
        self._loads = {} if self._tree.problem else loads(things, gone)

    def of(self, ups_id: int) -> OnBattery:
        """How long it lasts today; None minutes where its battery or its load is not known."""
        ups = self._source.hardware[ups_id]
        load = self._loads.get(ups.name)
        load_w = load.out_w if load else None
        found = None
        if load_w and not self._tree.doubts(ups.name)[0]:
            found = minutes_now(self._source, self._tree, ups, load_w)
        if found is None:
            return OnBattery(ups_id, ups.name, None, "", load_w)
        return OnBattery(ups_id, ups.name, found.minutes, found.bound, load_w)
