"""Handing over: acceptance, waivers, training, copies, attachments, and how current it all is."""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping
from types import MappingProxyType

from binder.read import Record
from binder.records.catalog import KINDS
from binder.sheet import is_stale
from exporters.contents.gaps import gates
from exporters.contents.parts import (
    Column,
    bare_table,
    card,
    counted,
    joined,
    listed,
    notes,
    schedule,
    shortened,
)
from exporters.model import (
    NOTHING,
    Block,
    Paragraph,
    Part,
    Photo,
    Section,
    SignatureLines,
    Table,
)
from exporters.source import Source

_GATES = frozenset({"defects_met_on", "tests_met_on", "training_met_on", "documents_met_on"})
# What nobody goes and looks at: lines of a log, and records of handing over.
_NOT_LOOKED_AT = frozenset(
    {"client", "log_entry", "touch", "test", "loss", "reading", "issue", "copy", "acceptance",
     "waiver", "attachment", "training", "punch_item", "run", "reservation"}
)  # fmt: skip


def acceptance(source: Source) -> Section:
    """The four gates, what was waived and why, who was shown what, and the lines to sign on."""
    accepted = [card(source, a, always=_GATES) for a in source.of("acceptance")]
    training = schedule(
        source, source.of("training"), "held_on", "length_min", "instructor", "attendees",
        "required_for_acceptance", "materials",
    )  # fmt: skip
    return Section(
        "acceptance",
        "Acceptance",
        (
            Part("Gates, as the records stand", (gates(source),)),
            *(accepted or [Part("Accepted", (NOTHING,))]),
            Part("Training", training),
            Part("Copies and who holds them", copies(source)),
            Part("Signatures", (SignatureLines(parties(source)),)),
        ),
    )


def parties(source: Source) -> tuple[str, str]:
    """In whose names a document is signed."""
    if source.client is None:
        return "For the client", "For the integrator"
    integrator = source.shown(source.client, "integrator")
    return (
        f"For {source.name(source.client)}",
        f"For {integrator}" if integrator else "For the integrator",
    )


def copies(source: Source) -> tuple[Block, ...]:
    return schedule(
        source, source.of("copy"), "issue", "holder", "medium", "sealed_secrets", "handed_on",
        "kept_at", "recalled_on",
    )  # fmt: skip


def issues(source: Source, document: str) -> tuple[Block, ...]:
    """The history of a document's issues, newest first."""
    issued = [issue for issue in source.of("issue") if issue["document"] == document]
    issued.sort(key=lambda issue: issue["number"], reverse=True)
    if not issued:
        return (NOTHING,)
    # The last one cannot hold its own digest, nor its place in a log that ends before it.
    columns = ("number", "issued_on", "issued_by", "issued_to", "reason", "sha256")
    return (bare_table(source, issued, *columns), *notes(source, issued))


def attachments(source: Source, photos: Mapping[str, bytes] = MappingProxyType({})) -> Section:
    """What is attached, with the SHA-256 of each; then the photos that the document shows."""
    file = Column(
        "File",
        lambda a: joined(source.shown(a, "file_name"), source.shown(a, "media_type")),
        ("file_name", "media_type"),
    )
    kept = Column("Kept", lambda a: _kept(source, a), ("kept_at",))
    drawing = Column(
        "Drawing",
        lambda a: joined(
            source.shown(a, "drawing_number"), source.shown(a, "revision"), by=" rev. "
        ),
        ("drawing_number", "revision"),
    )
    listed_all = schedule(
        source, source.of("attachment"), "subject", "form", file, kept, drawing, "taken_on",
        "size_bytes",
    )  # fmt: skip
    shown = tuple(_photos(source, photos))
    blocks = (Part("List", listed_all), Part("Photos", shown)) if shown else listed_all
    return Section("attachments", "Attachments", blocks)


def _kept(source: Source, attachment: Record) -> str:
    here = "in the binder" if attachment["sha256"] in source.held else ""
    return joined(here, source.shown(attachment, "kept_at")) or "not recorded where"


def _photos(source: Source, photos: Mapping[str, bytes]) -> Iterator[Block]:
    """Each photo with what it is of and when it was taken; says how many are left out."""
    held = [
        a for a in source.of("attachment") if a["form"] == "photo" and a["sha256"] in source.held
    ]
    shown = [attachment for attachment in held if attachment["sha256"] in photos]
    for number, attachment in enumerate(shown, start=1):
        slug = re.sub("[^a-z0-9]+", "-", attachment.name.lower()).strip("-")[:40]
        suffix = "png" if attachment["media_type"] == "image/png" else "jpg"
        taken = source.shown(attachment, "taken_on")
        title = source.name(attachment)
        yield Photo(
            f"photos/{number:02d}-{slug}.{suffix}", title, attachment["media_type"],
            photos[attachment["sha256"]],
        )  # fmt: skip
        yield Paragraph(joined(title, source.shown(attachment, "subject"),
                               f"taken {taken}" if taken else ""))  # fmt: skip
    if left_out := len(held) - len(shown):
        yield Paragraph(
            f"Not shown: {counted(left_out, 'photo')} that the binder holds; the list has them."
        )


def currency(source: Source) -> Section:
    """How many records of each kind someone has verified lately, and which not."""
    months = (source.client and source.client["verify_months"]) or 12
    rows = []
    for kind in KINDS:
        records = source.of(kind.name)
        if not records or kind.name in _NOT_LOOKED_AT:
            continue
        stale = [
            at for at, record in enumerate(records)
            if is_stale(record["verified_on"], source.today, months)
        ]  # fmt: skip
        never = sum(1 for record in records if record["verified_on"] is None)
        rows.append(
            (
                kind.label_plural or kind.label, str(len(records)), str(len(records) - len(stale)),
                str(len(stale) - never), str(never), shortened(listed(source, records, stale)),
            )
        )  # fmt: skip
    if not rows:
        return Section("currency", "How current this is")
    head = ("Kind", "Records", "Verified", "Longer ago", "Never", "Longer ago or never")
    return Section(
        "currency",
        "How current this is",
        (
            Paragraph(
                "A record counts as verified when someone went and looked within the last "
                f"{counted(months, 'month')} and found it so."
            ),
            Table(head, tuple(rows)),
        ),
    )
