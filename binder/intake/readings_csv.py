"""Readings out of a CSV file; which heading means what is remembered, beside the binder.

What a meter or a monitoring host writes keeps its headings from one quarter to the next. They are
kept per person and binder in the folder of state, never in the binder.
"""

from __future__ import annotations

import hashlib
import json
import os
import tempfile
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path
from typing import Final

from binder.errors import Fault, FaultsError, FileError, RequestError
from binder.file import BinderFile
from binder.intake.table import LINES, Table, table
from binder.read import binder_id, resolve, unit_system
from binder.readings import Taken, quantity_named, value_of
from binder.records.dates import format_moment, parse_moment
from binder.unsaved import state_folder

FIELDS: Final = ("subject", "quantity", "value", "read_at", "read_by")
_NEEDED: Final = FIELDS[:4]
# Headings that are understood unasked.
_KNOWN: Final = {
    "subject": ("subject", "of", "device", "name"),
    "quantity": ("quantity",),
    "value": ("value", "reading"),
    "read_at": ("read_at", "read at", "time", "date", "when"),
    "read_by": ("read_by", "read by", "who"),
}


@dataclass(frozen=True, slots=True)
class Mapped:
    """For each field, the heading of its column, or `=text` that holds for every line."""

    of: Mapping[str, str]


def mapped(headings: tuple[str, ...], said: Mapping[str, str], before: Mapping[str, str]) -> Mapped:
    """Which column is which field: as said now, else as remembered, else by its own name.

    Raises RequestError for a field or a heading that is not there, and for one not told.
    """
    folded = {heading.strip().casefold(): heading for heading in headings}
    found: dict[str, str] = {}
    for field, text in said.items():
        if field not in FIELDS:
            raise RequestError(f"no field '{field}' to map; there are: {', '.join(FIELDS)}")
        if not text.startswith("=") and text.strip().casefold() not in folded:
            raise RequestError(f"no column is headed '{text}'; there are: {', '.join(headings)}")
        found[field] = text if text.startswith("=") else folded[text.strip().casefold()]
    for field in FIELDS:
        if field in found:
            continue
        kept = before.get(field, "")
        names = (kept.strip().casefold(), *_KNOWN[field])
        if kept.startswith("="):
            found[field] = kept
        elif heading := next((folded[name] for name in names if name in folded), ""):
            found[field] = heading
    if missing := [field for field in _NEEDED if field not in found]:
        raise RequestError(
            f"which column is {' and '.join(missing)}? the file has {', '.join(headings)}; "
            f"say --map {missing[0]}=HEADING, or --map {missing[0]}==TEXT for all lines"
        )
    return Mapped(found)


def headings_of(text: str) -> tuple[tuple[str, ...], Table]:
    """The headings of the first line, and the table. Raises RequestError for no columns."""
    whole = table(text)
    if whole.parted_by == LINES:
        raise RequestError("one column only; a file of readings has headings and several columns")
    heads = whole.rows[0].cells
    folded = [head.strip().casefold() for head in heads]
    if twice := next((h for h in folded if h and folded.count(h) > 1), ""):
        raise RequestError(f"two columns are headed '{twice}'; only one of them can be meant")
    return heads, whole


def read(
    binder: BinderFile, whole: Table, heads: tuple[str, ...], found: Mapped, now: datetime
) -> tuple[Taken, ...]:
    """The readings of every line after the headings; nothing is written.

    Raises FaultsError with the line of each value that does not fit.
    """
    system = unit_system(binder)
    taken: list[Taken] = []
    faults: list[Fault] = []
    for row in whole.rows[1:]:
        cells = dict(zip(heads, row.cells, strict=False))

        def cell(field: str, cells: Mapping[str, str] = cells) -> str:
            said = found.of.get(field, "")
            return (said[1:] if said.startswith("=") else cells.get(said, "")).strip()

        field = "line"
        try:
            if len(row.cells) > len(heads):
                raise ValueError(f"{len(row.cells)} cells under {len(heads)} headings")
            field = "subject"
            subject = resolve(binder, cell("subject")).id
            field = "quantity"
            quantity = quantity_named(cell("quantity"))
            field = "value"
            value = value_of(quantity, cell("value"), system)
            field = "read_at"
            at = format_moment(parse_moment(cell("read_at"), now))
            taken.append(Taken(subject, quantity, value, at, cell("read_by")))
        except (ValueError, RequestError) as error:
            given = "" if field == "line" else cell(field)[:80]
            faults.append(Fault(f"line {row.line}, {field}", str(error), given))
    if faults:
        raise FaultsError(tuple(faults))
    return tuple(taken)


# What is remembered. ----------------------------------------------------------------------


def remembered(binder: BinderFile, who: str) -> dict[str, str]:
    """The mapping of this person's last import into this binder; empty when there is none."""
    try:
        held = json.loads(_file(binder, who).read_text(encoding="utf-8"))
    except (OSError, ValueError):  # none, or not ours: it is asked for again
        return {}
    if not isinstance(held, dict):
        return {}
    return {k: v for k, v in held.items() if k in FIELDS and isinstance(v, str)}


def remember(binder: BinderFile, who: str, found: Mapped) -> None:
    """Keep a mapping for the next import. Raises FileError."""
    path = _file(binder, who)
    try:
        path.parent.mkdir(parents=True, exist_ok=True, mode=0o700)
        handle, beside = tempfile.mkstemp(dir=path.parent, prefix=f".{path.name}.")  # mode 0600
        with os.fdopen(handle, "w", encoding="utf-8") as file:
            json.dump(dict(found.of), file)
        os.replace(beside, path)
    except OSError as error:
        raise FileError(f"{path}: cannot be written: {error.strerror}") from error


def _file(binder: BinderFile, who: str) -> Path:
    name = hashlib.sha256(f"{binder_id(binder)}\n{who}".encode(errors="replace")).hexdigest()[:24]
    return state_folder() / "headings" / f"{name}.json"
