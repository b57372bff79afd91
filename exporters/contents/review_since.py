"""What changed since the last review: the resources in words, and the records."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from binder.changes_told import RecordChange
from binder.headroom.words import in_system
from binder.review.compared import RowChange
from exporters.contents.capacity import title
from exporters.contents.parts import counted, joined, shortened, without_empty
from exporters.model import Block, Paragraph, Part, Section, Table
from exporters.source import Source


def since(source: Source) -> Section:
    return Section("since", "What changed since the last review", tuple(_blocks(source)))


def _blocks(source: Source) -> Iterator[Block | Part]:
    found = source.reviewed
    if found.earlier is None or found.comparison is None:
        yield Paragraph("There is no earlier review to compare with.")
        return
    moved, unchanged = found.comparison.changes, found.comparison.unchanged
    yield Paragraph(
        f"Compared with {found.earlier.name} of {found.earlier.taken_on}: "
        f"{counted(len(moved), 'resource')} moved, {unchanged} did not."
    )
    if moved:
        rows = tuple(
            (
                _title(one),
                joined("asks for more attention" if one.worse else "",
                       in_system(one.says, source.system), by=": "),
            )
            for one in moved
        )  # fmt: skip
        yield Part("Resources", (Table(("What", "What became of it"), rows),))
    yield Part("Records", tuple(_records(source, found.changes)))


def _title(change: RowChange) -> str:
    """What the row is called in every other table."""
    row = change.after or change.before
    return title(row) if row else change.name


def _records(source: Source, changes: Sequence[RecordChange]) -> Iterator[Block]:
    """A line a kind: what came, what went, what was changed and how."""
    found: dict[str, dict[str, list[str]]] = {}
    for change in changes:
        told = _told(source, change)
        if told:
            acts = found.setdefault(change.label, {"added": [], "removed": [], "changed": []})
            acts[change.act].append(told)
    if not found:
        yield Paragraph("Nothing that this document tells has changed.")
        return
    rows = tuple((kind, *(_some(names) for names in acts.values())) for kind, acts in found.items())
    yield without_empty(Table(("Kind", "Added", "Removed", "Changed"), rows))


def _told(source: Source, change: RecordChange) -> str:
    """The record's name, and what changed of it; '' for what this document does not tell."""
    if change.act != "changed":
        return change.name
    fields = [field.label for field in change.fields if source.internal or not field.internal]
    return f"{change.name} ({', '.join(fields)})" if fields else ""


def _some(names: Sequence[str]) -> str:
    short = shortened(", ".join(names), 120)
    return f"{len(names)}: {short}" if len(names) > 1 else short
