"""The maintenance log, newest first, and known issues."""

from __future__ import annotations

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
    opened = Column(
        "Opened",
        lambda entry: local_moment(entry["opened_at"], source.zone),
        ("opened_at",),
    )
    who = Column(
        "Who", lambda entry: joined(source.shown(entry, "who"), source.shown(entry, "where")),
        ("who", "where"),
    )  # fmt: skip
    lines = schedule(source, entries, opened, "form", who, "summary", concerns, "outage_min")
    return Section("log", "Maintenance log", lines)


def known_issues(source: Source) -> Section:
    return Section(
        "known-issues",
        "Known issues",
        schedule(
            source, source.of("known_issue"), "subject", "effect", "work_around", "accepted_by",
            "accepted_on", "review_by",
        ),
    )  # fmt: skip
