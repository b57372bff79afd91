"""Accounts, and where each secret is kept and by whom; no secret, unless sealed."""

from __future__ import annotations

from binder.read import Record
from exporters.contents.parts import Column, counted, joined, schedule
from exporters.model import Block, Paragraph, Part, SealedSecrets, Section
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
            *_introduction(source),
            *_sealed(source),
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


def _introduction(source: Source) -> tuple[Block, ...]:
    written = (
        "No secret is written here but those sealed below, which are encrypted."
        if source.sealed
        else "No secret is written here."
    )
    paper = Paragraph(
        f"{written} A sealed paper copy is known by the number of its envelope; when one has been "
        "opened, change what was in it."
    )
    if not source.in_envelope:
        return (paper,)
    opened_by = ", ".join(source.cleared(name) for name in source.keyholders)
    return (
        paper,
        Paragraph(
            "What is kept encrypted in the binder's own file can be opened by these keyholders: "
            f"{opened_by}."
        ),
    )


def _sealed(source: Source) -> tuple[Part, ...]:
    if not source.sealed:
        return ()
    number = counted(len(source.sealed.secret_ids), "secret is", "secrets are")
    return (
        Part(
            "Sealed secrets",
            (
                Paragraph(
                    f"{number} sealed into this document for {source.sealed.recipient}. The "
                    "passphrase comes by another way; whoever has both can read them all. Keep "
                    "the two apart, and when somebody leaves who had both, change the secrets."
                ),
                SealedSecrets(),
            ),
        ),
    )


_WHERE = ("kept_by", "kept_at", "envelope_number")


def kept(source: Source, secret: Record) -> str:
    """Where a secret is kept and by whom; says so when nobody recorded it."""
    number = source.shown(secret, "envelope_number")
    by, at = source.shown(secret, "kept_by"), source.shown(secret, "kept_at")
    paper = f"envelope {number}" if number else ""
    if paper and paper in at.casefold():
        paper = ""
    sealed = source.sealed is not None and secret.id in source.sealed.secret_ids
    told = joined(
        f"by {by}" if by else "",
        at,
        paper,
        "encrypted in the binder" if secret.id in source.in_envelope else "",
        "sealed in this document" if sealed else "",
    )
    return f"kept {told}" if told else "where it is kept is not recorded"
