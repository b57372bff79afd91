"""Upkeep: duties with the day each is next due, renewals, warranties, the punch list, spares."""

from __future__ import annotations

from datetime import date, timedelta

from binder.read import Record
from binder.records.recurrence import repeats
from binder.upkeep import next_due, warranty_end
from exporters.contents.parts import Column, joined, schedule
from exporters.model import Part, Section
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


def _next(duty: Record) -> date | None:
    done = date.fromisoformat(duty["done_on"]) if duty["done_on"] else None
    return next_due(duty["rule"], date.fromisoformat(duty["starts_on"]), done)


def _due(source: Source, duty: Record) -> str:
    day = _next(duty)
    if day is None:
        return "no more"
    return f"{day.isoformat()}, overdue" if day < source.today else day.isoformat()


def _notice_day(source: Source, renewal: Record) -> str:
    if renewal["notice_days"] is None:
        return ""
    day = date.fromisoformat(renewal["renews_on"]) - timedelta(days=renewal["notice_days"])
    return f"{day.isoformat()}, past" if day < source.today else day.isoformat()


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
