"""Find: anything by part of it. Best first, each with the one line a technician needs.

An outlet, a room, a name, a MAC in any form, an address, a circuit, account, serial or telephone
number with or without its punctuation; several words must all match. When nothing has them, words
of speech and a misspelling are forgiven. SQLite is asked a fixed number of times, whatever is
found.
"""

from __future__ import annotations

import json
from collections.abc import Iterator, Mapping
from dataclasses import dataclass

from binder.file import BinderFile
from binder.find_answers import answers
from binder.find_query import GONE, Found, Matcher, look_up
from binder.find_words import Asked
from binder.read import Named, Record, read_where, reference_names
from binder.records.catalog import BY_NAME
from binder.records.fields import Field


@dataclass(frozen=True, slots=True)
class Hit:
    """A record found: `value` of the field labelled `field` (or 'Name') is where it matched, and
    `line` is the answer in short. `is_partly` says that it has most of the words, not all. Text is
    as typed: whoever shows it makes it safe."""

    id: int
    kind: str
    name: str
    field: str
    value: str
    line: str
    is_partly: bool = False


def find(binder: BinderFile, text: str, limit: int = 50) -> tuple[Hit, ...]:
    """The records that match, best first, at most `limit`; whatever the text, never an error.

    First the exact name, an exact number or address, names that begin with the text, names that
    hold it, numbers that hold it, then other text by relevance (bm25); papers about things come
    after the things. What is removed or former comes last.
    """
    asked = Asked(text)
    if not asked.typed or limit < 1:
        return ()
    with binder.reading() as connection:
        return _hits(binder, look_up(connection, asked, limit))


# The answers. -----------------------------------------------------------------------------


def _hits(binder: BinderFile, found: Found) -> tuple[Hit, ...]:
    """The hits in the order found: one query for each kind among them."""
    by_kind: dict[str, list[int]] = {}
    for record_id, kind in found.rows:
        by_kind.setdefault(kind, []).append(record_id)
    read = {
        record.id: record
        for kind, ids in by_kind.items()
        for record in read_where(
            binder, BY_NAME[kind], "t.id IN (SELECT value FROM json_each(?))", [json.dumps(ids)]
        )
    }
    records = [read[record_id] for record_id, _ in found.rows]
    if not found.is_exact:
        records.sort(key=lambda record: record["status"] in GONE)
    named = reference_names(binder, records)
    lines = answers(binder, records, named)
    return tuple(
        Hit(record.id, record.kind.name, record.name, *_place(found.matcher, record, named),
            lines[record.id], found.is_partly)
        for record in records
    )  # fmt: skip


def _place(matcher: Matcher, record: Record, named: Mapping[int, Named]) -> tuple[str, str]:
    """Label and text of the field that matches best; the name when none does better."""
    best, place = matcher.matched_in(record.name, is_number=False), ("Name", record.name)
    for field, shown, text in _texts(record, named):
        matched = matcher.matched_in(text, is_number=field.is_compact)
        if matched > best:
            best, place = matched, (field.label, shown)
    if not best and record.kind.name == "subnet":  # it holds the address asked for
        return ("Network", record["cidr"] or "")
    return place


def _texts(record: Record, named: Mapping[int, Named]) -> Iterator[tuple[Field, str, str]]:
    """Each field that is searched, as shown and as matched; a field of several lines by line."""
    for field in record.kind.all_fields:
        stored = record.values[field.name]
        if stored is None:
            continue
        if field.name == "vlan":
            yield field, str(stored), f"vlan {stored}"
        elif field.is_reference and stored in named:
            yield field, named[stored].name, named[stored].name
        elif field.searched or field.is_compact or field.name == "form":
            for line in str(stored).splitlines():
                yield field, line.strip(), line
