"""Rows of power over Ethernet: what each source can still supply."""

from __future__ import annotations

from collections.abc import Iterator
from functools import partial
from typing import Final

from binder.engineering.cautions import POE_BUNDLES
from binder.engineering.figures import Budget, Step, plain
from binder.engineering.poe import poe_budget
from binder.headroom.attempt import attempt
from binder.headroom.feeds import PoeFeeds
from binder.headroom.rows import Row, row, unknown
from binder.headroom.source import Source, missing
from binder.headroom.tables import Hardware

POE: Final = "PoE watts"


def rows(source: Source, feeds: PoeFeeds) -> Iterator[Row]:
    """A row a switch or injector that supplies power."""
    for hardware in feeds.sources:
        where = source.of_hardware(hardware)
        yield attempt(POE, where, "W", partial(_row, source, feeds, hardware), POE_BUNDLES)


def _row(source: Source, feeds: PoeFeeds, hardware: Hardware) -> Row:
    where, limit = source.of_hardware(hardware), source.limits["PoE watts percent"]
    basis = "what each device draws, taken back to the port over its cable; IEEE 802.3-2022"
    measured = source.latest(hardware.id, "PoE draw W", "W")
    if hardware.poe_budget_w is None:
        lacking = missing("hardware", hardware, "poe_budget_w")
        return unknown(
            POE, where, "W", lacking, basis=basis, measured=measured, caution=POE_BUNDLES
        )
    now = {f"{f.device.name}": f.demand for f in feeds.now.get(hardware.id, ())}
    budget = poe_budget(hardware.poe_budget_w, now, feeds.kept(hardware.id), limit.share)
    if measured and measured.value > budget.used:
        step = Step("measured", measured.at[:10], measured.value, "W", "more than reckoned")
        budget = Budget(budget.limit, measured.value, budget.reserved, "W", (*budget.steps, step))
    unmeasured = [w for w in feeds.ways if w.hardware_id == hardware.id and w.unmeasured]
    notes = list(dict.fromkeys(feeds.faults.get(hardware.id, ())))
    if unmeasured:
        notes.append(f"{len(unmeasured)} cables without a length: taken as the worst allowed")
    return row(
        POE, where, budget, rated=hardware.poe_budget_w, because=limit.because, basis=basis,
        tight=source.limits.tight, assumed=feeds.assumed.get(hardware.id, ()), measured=measured,
        notes=notes, caution=POE_BUNDLES,
        fix=lambda b: f"a second switch, or a budget of "
                      f"{plain((b.used + b.reserved) / limit.share)} W or more",
    )  # fmt: skip
