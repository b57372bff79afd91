"""Parts on power that fails: what the batteries carry and how long, what hangs on one feed, and the
order in which things are shut down and started."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import chain

from binder.identifiers import natural_key
from exporters.contents.parts import by_kind, joined
from exporters.model import NOTHING, Block, Paragraph, Part, Steps, Table
from exporters.source import Source

_UPS = "UPS"


def on_battery(source: Source) -> Part:
    """What each UPS carries when the mains fails, and for how long."""
    carried = sorted(
        source.outages.carried, key=lambda each: natural_key(source.name(each.battery.id))
    )
    rows = tuple(
        (
            source.name(each.battery.id),
            "not known" if each.battery.load_w is None else f"{each.battery.load_w:.0f} W",
            _lasts(each.battery.minutes, each.battery.bound),
            by_kind(source, each.ids) or "nothing recorded",
        )
        for each in carried
    )
    blocks: list[Block] = [Table(("UPS", "Load", "Lasts, by reckoning", "Carries"), rows)]
    backed = _on_generator(source) & source.outages.dark
    if dark := by_kind(source, source.outages.dark - backed):
        blocks.append(Paragraph(f"Dark at once: {dark}."))
    if waiting := by_kind(source, backed):
        blocks.append(Paragraph(f"Dark until the generator runs: {waiting}."))
    if unfed := by_kind(source, source.outages.unfed):
        blocks.append(Paragraph(f"What feeds these is not recorded: {unfed}."))
    if rows:
        blocks.append(
            Paragraph(
                "Minutes are for the battery as it is today and the load it has now, and only a "
                "test under load proves them. A device that two UPSs feed lasts as long as the "
                "better of them."
            )
        )
    return Part("When the mains fails", tuple(blocks) if rows else (NOTHING,))


def _on_generator(source: Source) -> frozenset[int]:
    """What loses power when a circuit that a generator backs fails by itself."""
    circuits = {b.id for b in source.of("branch_circuit") if b["generator_backed"]}
    hanging = (each.at_once for each in source.outages.failures if each.id in circuits)
    return frozenset(chain.from_iterable(hanging))


def _lasts(minutes: float | None, bound: str) -> str:
    return "not known" if minutes is None else joined(bound, f"{minutes:.0f} min", by=" ")


def single_failures(source: Source) -> Part:
    """What stops with each UPS and branch circuit, and what goes on by another feed."""
    failures = sorted(
        source.outages.failures,
        key=lambda each: (_is_ups(source, each.id), natural_key(source.name(each.id))),
    )
    rows = tuple(
        (
            source.name(each.id),
            by_kind(source, each.at_once) or "none",
            by_kind(source, each.later) or "none",
            by_kind(source, each.cut_off) or "none",
            by_kind(source, each.one_feed_less) or "none",
        )
        for each in failures
    )
    head = (
        "If this fails", "Dark at once", "Dark when the battery is empty",
        "Powered, but then cut off", "Works on, by its other feed",
    )  # fmt: skip
    return Part("What hangs on each circuit and UPS", (Table(head, rows),) if rows else (NOTHING,))


def _is_ups(source: Source, record_id: int) -> bool:
    record = source.get(record_id)
    return record is not None and record.kind.name == "hardware" and record["form"] == _UPS


def orders(source: Source) -> Iterator[Part]:
    """In what order to shut down, and to start up again."""
    stages = [by_kind(source, (item.id for item in stage)) for stage in source.order.stages]
    rings = tuple(Paragraph(f"These wait for each other: {ring}.") for ring in source.order.rings)
    by_itself = Paragraph(
        "Shut servers, file stores and recorders down by their own command and wait until they "
        "are off; pulling the plug can cost what they hold."
    )
    down: tuple[Block, ...] = (by_itself, Steps(tuple(reversed(stages))), *rings)
    up: tuple[Block, ...] = (Steps(tuple(stages)), *rings)
    yield Part("To shut down, in this order", down if stages else (NOTHING,))
    yield Part("To start up, each when the one before is up", up if stages else (NOTHING,))
