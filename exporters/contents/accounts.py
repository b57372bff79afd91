"""Accounts, and where each secret is kept and by whom; never a secret."""

from __future__ import annotations

from binder.read import Record
from exporters.contents.parts import Column, joined, schedule
from exporters.model import Paragraph, Part, Section
from exporters.source import Source


def accounts(source: Source) -> Section:
    second_factor = Column(
        "Second factor",
        lambda a: joined(
            source.shown(a, "second_factor"), source.shown(a, "second_factor_holder"), by=", with "
        ),
        ("second_factor", "second_factor_holder"),
    )
    belongs_to = source.belonging("secret", "belongs_to")
    secret = Column(
        "Secret",
        lambda a: "; ".join(kept(source, s) for s in belongs_to.get(a.id, ())) or "none recorded",
    )
    where = Column("Where it is kept", lambda s: kept(source, s), _WHERE)
    return Section(
        "accounts",
        "Accounts and secrets",
        (
            Paragraph(
                "No secret is written here. A sealed paper copy is known by the number of its "
                "envelope; when one has been opened, change what was in it."
            ),
            Part(
                "Accounts",
                schedule(
                    source, source.of("account"), "form", "legal_holder", "custodian",
                    second_factor, secret, "review_on",
                ),
            ),
            Part(
                "Secrets",
                schedule(
                    source, source.of("secret"), "form", "belongs_to", where, "set_on", "rotate_by"
                ),
            ),
        ),
    )  # fmt: skip


_WHERE = ("kept_by", "kept_at", "envelope_number")


def kept(source: Source, secret: Record) -> str:
    """Where a secret is kept and by whom; says so when nobody recorded it."""
    number = source.shown(secret, "envelope_number")
    by, at = source.shown(secret, "kept_by"), source.shown(secret, "kept_at")
    envelope = f"envelope {number}" if number else ""
    if envelope and envelope in at.casefold():
        envelope = ""
    told = joined(f"by {by}" if by else "", at, envelope)
    return f"kept {told}" if told else "where it is kept is not recorded"
