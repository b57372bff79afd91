"""Readings in summary, and capacity kept for named uses."""

from __future__ import annotations

from binder.read import Record
from binder.records.dates import local_moment
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
                subject, quantity, f"{last['value']:g}",
                local_moment(last["read_at"], source.zone)[:10],
                joined(source.shown(last, "read_by"), source.shown(last, "method")),
                f"{min(values):g} to {max(values):g}", str(len(values)),
            )
        )  # fmt: skip
    if not rows:
        return (NOTHING,)
    head = ("Of", "Quantity", "Latest", "On", "By", "Range", "Readings")
    return (
        Table(head, tuple(rows)),
        Paragraph("Single readings are kept in the binder and are not printed here."),
    )
