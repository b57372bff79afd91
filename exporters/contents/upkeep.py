"""Upkeep: duties with the day each is next due, renewals, warranties, the punch list, spares."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from datetime import date, timedelta
from typing import Final

from binder.read import Record
from binder.records.recurrence import repeats
from binder.upkeep import next_due, warranty_end
from exporters.contents.parts import Column, in_runs, joined, schedule
from exporters.model import NOTHING, Block, Part, Section, Table
from exporters.source import Source


def upkeep(source: Source) -> Section:
    rule = Column("Repeats", lambda duty: repeats(duty["rule"]), ("rule",))
    due = Column("Next due", lambda duty: _due(source, duty), ("starts_on",))
    notice = Column(
        "Give notice by", lambda renewal: _notice_day(source, renewal), ("notice_days",)
    )
    ends = Column("Ends on", lambda warranty: _end(source, warranty), ("term_months",))
    covers = Column(
        "Covers",
        lambda w: joined(source.shown(w, "covers"), source.shown(w, "covers_note")),
        ("covers", "covers_note"),
    )
    claims = Column(
        "Claims to",
        lambda w: joined(source.shown(w, "claim_contact"), source.shown(w, "claim_phone")),
        ("claim_contact", "claim_phone"),
    )
    duties = sorted(source.of("duty"), key=lambda d: (_next(d) or date.max, d.name))
    renewals = sorted(source.of("renewal"), key=lambda r: (r["renews_on"], r.name))
    return Section(
        "upkeep",
        "Upkeep",
        (
            Part("What runs out, by date", running_out(source)),
            Part(
                "Duties, the next due first",
                schedule(source, duties, "subject", rule, "done_on", due, "basis"),
            ),
            Part(
                "Renewals, the next first",
                schedule(
                    source, renewals, "form", "vendor", "renews_on", notice, "automatic", "cost"
                ),
            ),
            Part(
                "Warranties",
                schedule(
                    source, source.of("warranty"), "form", covers, "start_event", "starts_on",
                    ends, claims,
                ),
            ),
        ),
    )  # fmt: skip


# Dates on which something runs out, by kind: the field, and what happens on that day.
_RUNS_OUT: Final[Mapping[str, tuple[tuple[str, str], ...]]] = {
    "client": (("agreement_ends_on", "service agreement ends"),),
    "circuit": (("contract_ends_on", "circuit contract ends"),),
    "renewal": (("renews_on", "is renewed"),),
    "hardware": (("support_ends_on", "maker's support ends"),),
    "instrument": (("calibration_due_on", "calibration is due"),),
    "spare": (("replace_by", "spare is replaced"),),
    "secret": (("rotate_by", "secret is changed"),),
    "waiver": (("until", "waiver ends"),),
}


def running_out(source: Source) -> tuple[Block, ...]:
    """Warranties, renewals and all else that ends on a day, the soonest first."""
    days = sorted(_days(source))
    if not days:
        return (NOTHING,)
    rows = (
        (f"{day}, past" if day < source.today.isoformat() else day, what, name, notice)
        for day, what, name, notice in days
    )
    return (Table(("On", "What happens", "To", "Give notice by"), tuple(rows)),)


def _days(source: Source) -> Iterator[tuple[str, str, str, str]]:
    """Of what is alike on one day one row: day, what, names, the last day to give notice."""
    found: dict[tuple[str, str, str], list[str]] = {}
    for warranty in source.of("warranty"):
        if warranty["starts_on"] and warranty["term_months"]:
            key = (_end(source, warranty).partition(",")[0], "warranty ends", "")
            found.setdefault(key, []).append(source.name(warranty))
    for kind, ends in _RUNS_OUT.items():
        for record in source.of(kind):
            for field, what in ends:
                if day := record[field]:
                    notice = _notice(source, record, day) if kind in ("renewal", "circuit") else ""
                    found.setdefault((day, what, notice), []).append(source.name(record))
    for hardware in source.of("hardware"):
        if hardware["battery_installed_on"] and hardware["battery_life_years"]:
            day = _life_end(hardware["battery_installed_on"], hardware["battery_life_years"])
            key = (day, "battery reaches its design life", "")
            found.setdefault(key, []).append(source.name(hardware))
    for (day, what, notice), names in found.items():
        yield day, what, in_runs(names), notice


def _notice(source: Source, record: Record, day: str) -> str:
    if record["notice_days"] is None:
        return ""
    last = date.fromisoformat(day) - timedelta(days=record["notice_days"])
    return f"{last.isoformat()}, past" if last < source.today else last.isoformat()


def _life_end(installed_on: str, years: float) -> str:
    """The day that many years later; warranties count their months the same way."""
    after = warranty_end(date.fromisoformat(installed_on), years * 12) + timedelta(days=1)
    return after.isoformat()


def _next(duty: Record) -> date | None:
    done = date.fromisoformat(duty["done_on"]) if duty["done_on"] else None
    return next_due(duty["rule"], date.fromisoformat(duty["starts_on"]), done)


def _due(source: Source, duty: Record) -> str:
    day = _next(duty)
    if day is None:
        return "no more"
    return f"{day.isoformat()}, overdue" if day < source.today else day.isoformat()


def _notice_day(source: Source, renewal: Record) -> str:
    return _notice(source, renewal, renewal["renews_on"])


def _end(source: Source, warranty: Record) -> str:
    if warranty["term_months"] is None:
        return ""
    if warranty["starts_on"] is None:
        return f"{warranty['term_months']:g} months from its start"
    day = warranty_end(date.fromisoformat(warranty["starts_on"]), warranty["term_months"])
    return f"{day.isoformat()}, ended" if day < source.today else day.isoformat()


def punch_list(source: Source, *, only_open: bool = False) -> Section:
    """Open items first, by the day they are due; or these alone."""
    items = [i for i in source.of("punch_item") if not only_open or i["closed_on"] is None]
    items.sort(key=lambda i: (i["closed_on"] is not None, i["due_on"] or "9999"))
    return Section(
        "punch-list",
        "Punch list",
        schedule(
            source, items, "description", "trade", "subject", "owner", "due_on", "closed_on",
            "closed_by",
        ),
    )  # fmt: skip


def spares(source: Source) -> Section:
    quantity = Column(
        "Quantity",
        lambda s: joined(
            str(s["quantity"]),
            "below the least" if s["quantity"] < (s["least_quantity"] or 0) else "",
        ),
        ("quantity",),
    )
    return Section(
        "spares",
        "Spares",
        schedule(
            source, source.of("spare"), "fits", quantity, "least_quantity", "kept_at",
            "supply_source", "replace_by",
        ),
    )  # fmt: skip
