"""Readings in summary, and capacity kept for named uses."""

from __future__ import annotations

from collections.abc import Sequence

from binder.engineering.figures import plain
from binder.read import Record
from binder.readings import UNITS
from binder.records.dates import local_moment
from binder.records.quantities import format_quantity
from exporters.contents.parts import joined, schedule
from exporters.model import NOTHING, Block, Paragraph, Part, Section, Table
from exporters.source import Source


def readings(source: Source) -> Section:
    return Section(
        "readings",
        "Readings and reservations",
        (
            Part("Readings, the latest of each", _summary(source)),
            Part(
                "Reserved capacity",
                schedule(
                    source, source.of("reservation"), "subject", "resource", "quantity",
                    "u_position", "until", "asked_by",
                ),
            ),
        ),
    )  # fmt: skip


def _summary(source: Source) -> tuple[Block, ...]:
    """A row for each thing and quantity read; a reading that was corrected is left out."""
    wrong = {reading["corrects"] for reading in source.of("reading")}
    series: dict[tuple[str, str], list[Record]] = {}
    for reading in source.of("reading"):
        if reading.id not in wrong:
            key = (source.shown(reading, "subject"), reading["quantity"])
            series.setdefault(key, []).append(reading)
    rows = []
    for (subject, quantity), taken in series.items():
        values = [reading["value"] for reading in taken]
        last = max(taken, key=lambda reading: (reading["read_at"], reading.name))
        rows.append(
            (
                subject, _named(quantity), _told(source, quantity, last["value"]),
                local_moment(last["read_at"], source.zone)[:10],
                joined(source.shown(last, "read_by"), source.shown(last, "method")),
                _spread(source, quantity, values), str(len(values)),
            )
        )  # fmt: skip
    if not rows:
        return (NOTHING,)
    head = ("Of", "Quantity", "Latest", "On", "By", "Range", "Readings")
    return (
        Table(head, tuple(rows)),
        Paragraph("Single readings are kept in the binder and are not printed here."),
    )


def _named(quantity: str) -> str:
    """The quantity without the unit that ends its name: the figure beside it has that."""
    return quantity.rpartition(" ")[0] if UNITS.get(quantity) else quantity


def _told(source: Source, quantity: str, value: float) -> str:
    unit = UNITS.get(quantity)
    return format_quantity(value, unit, source.system) if unit else plain(value)


def _spread(source: Source, quantity: str, values: Sequence[float]) -> str:
    return " to ".join(_told(source, quantity, value) for value in (min(values), max(values)))
