"""What changed since the last issue: each record that was added, removed or changed, in words."""

from __future__ import annotations

from collections.abc import Iterator

from binder.changes_told import FieldChange, RecordChange
from exporters.model import Block, Paragraph, Section, Table
from exporters.source import Source

_WORDS = {"added": "added", "removed": "removed", "changed": "changed"}


def changes(source: Source) -> Section:
    """The page of changes; it says so where there is nothing to compare with."""
    return Section("changes", "What changed since the last issue", tuple(_blocks(source)))


def _blocks(source: Source) -> Iterator[Block]:
    found = source.changes
    if found.since is None:
        yield Paragraph(
            "There is no earlier issue to compare with: none is recorded with its place in the "
            "binder's history. From this issue on, every change is listed here in words."
        )
        return
    told = (change for change in found.told if _is_told(source, change))
    rows = [row for change in told for row in _rows(source, change)]
    yield Paragraph(f"Compared with issue {found.since} of {found.on}.")
    if not rows:
        yield Paragraph("Nothing that this document tells has changed.")
        return
    yield Table(("What", "Field", "Was", "Is", "When, by whom"), tuple(rows))


def _is_told(source: Source, change: RecordChange) -> bool:
    """Not the record of an address that equipment is managed through."""
    return change.kind != "address" or not source.is_withheld(change.name)


def _rows(source: Source, change: RecordChange) -> Iterator[tuple[str, ...]]:
    what = f"{change.label} {source.cleared(change.name)}: {_WORDS[change.act]}"
    by = ", ".join(filter(None, (change.on, change.by)))
    if change.act != "changed":
        yield what, "", "", "", by
        return
    for field in change.fields:
        if source.internal or not field.internal:
            yield what, field.label, *_texts(source, field), by


def _texts(source: Source, field: FieldChange) -> tuple[str, str]:
    return source.cleared(field.before) or "-", source.cleared(field.after) or "-"
