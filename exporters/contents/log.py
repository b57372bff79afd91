"""The maintenance log, newest first, and known issues."""

from __future__ import annotations

from binder.read import Record
from binder.records.dates import local_moment
from exporters.contents.parts import Column, joined, schedule
from exporters.model import Section
from exporters.source import Source

# What was merely opened or revealed during a call belongs to the technician's own record.
CONCERNS = ("concerned", "changed")


def log(source: Source, most: int | None = None) -> Section:
    """All entries, or the last so many."""
    entries = sorted(
        source.of("log_entry"), key=lambda entry: (entry["opened_at"], entry.name), reverse=True
    )[:most]
    touched = source.belonging("touch", "log_entry")
    concerns = Column(
        "Concerns",
        lambda entry: ", ".join(
            source.shown(touch, "subject")
            for touch in touched.get(entry.id, ())
            if touch["how"] in CONCERNS
        ),
    )
    when = Column("When", lambda entry: _when(source, entry), ("opened_at", "closed_at"))
    who = Column(
        "Who", lambda entry: joined(source.shown(entry, "who"), source.shown(entry, "where")),
        ("who", "where"),
    )  # fmt: skip
    lines = schedule(source, entries, when, "form", who, "summary", concerns, "outage_min")
    return Section("log", "Maintenance log", lines)


def _when(source: Source, entry: Record) -> str:
    """From when to when; the day it was closed only where that was another one."""
    opened = local_moment(entry["opened_at"], source.zone)
    if not entry["closed_at"]:
        return f"{opened}, open"
    closed = local_moment(entry["closed_at"], source.zone)
    return f"{opened} to {closed[11:] if closed[:10] == opened[:10] else closed}"


def known_issues(source: Source) -> Section:
    return Section(
        "known-issues",
        "Known issues",
        schedule(
            source, source.of("known_issue"), "subject", "effect", "work_around", "accepted_by",
            "accepted_on", "review_by",
        ),
    )  # fmt: skip
