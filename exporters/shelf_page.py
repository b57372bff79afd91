"""The review of a shelf as one HTML page, in the dress of the documents."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

from binder.errors import FileError
from binder.review.shelf import ClientReview, ShelfReview
from exporters import html
from exporters.model import Block, Document, Facts, Paragraph, Part, Section, Table

_HEAD = (
    "Client", "In all", "Runs out", "Overdue upkeep", "Batteries", "Past notice",
    "Secrets to rotate", "Stale", "Last review",
)  # fmt: skip


def shelf_document(review: ShelfReview) -> Document:
    """The review as a document: one table, a part for each client, and what could not be read."""
    read = [one for one in review.clients if not one.problem]
    table = Table(_HEAD, tuple(map(_row, read)))
    sections = [Section("clients", "Clients", (table,))]
    parts = tuple(Part(one.client or one.name, tuple(_blocks(one))) for one in read if one.asks)
    sections.append(Section("asked", "What each asks for", parts or (Paragraph("Nothing."),)))
    unread = tuple((one.name, one.problem) for one in review.problems)
    told: Block = (
        Table(("Binder", "Why"), unread) if unread else Paragraph("Every binder was read.")
    )
    sections.append(Section("unread", "What could not be read", (told,)))
    counts = (("Clients", str(len(read))), ("Not read", str(len(unread))),
              ("Ask for something", str(sum(bool(one.asks) for one in read))))  # fmt: skip
    return Document(
        "shelf", "Review of the shelf", "All clients", "as it stands", review.on,
        (Facts(counts),), tuple(sections),
    )  # fmt: skip


def write_page(review: ShelfReview, path: Path) -> None:
    """Write it as one HTML file, in place of an earlier one. Raises FileError."""
    try:
        path.write_text(html.page(shelf_document(review)), encoding="utf-8")
        path.chmod(0o600)
    except OSError as error:
        raise FileError(f"{path}: cannot be written: {error.strerror}") from error


def _row(one: ClientReview) -> tuple[str, ...]:
    return (
        one.client or one.name, str(one.asks), str(len(one.runs_out)),
        str(len(one.overdue_duties)), str(len(one.batteries_due)),
        str(len(one.circuits_past_notice)), str(one.secrets_to_rotate),
        f"{one.stale_percent} %", one.last_review or "never",
    )  # fmt: skip


def _blocks(one: ClientReview) -> list[Block]:
    named: Sequence[tuple[str, Sequence[str]]] = (
        ("Runs out within two quarters", one.runs_out), ("Overdue upkeep", one.overdue_duties),
        ("Batteries due", one.batteries_due), ("Circuits past notice", one.circuits_past_notice),
    )  # fmt: skip
    rows = [(label, "\n".join(texts)) for label, texts in named if texts]
    if one.secrets_to_rotate:
        rows.append(("Secrets to rotate", str(one.secrets_to_rotate)))
    return [Facts(tuple(rows))]
