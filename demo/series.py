"""Short ways of writing many records alike in the demo's data files, written out in full.

A list holds plain records, and in their place may hold

    {"same": {...}, "columns": ["ip", "hostname"], "rows": [["192.0.2.2", "sw1"], ...]}
    {"ports_of": "CAM1..CAM12", "labels": "01..24, NET", "same": {...}, "but": {"24": {...}}}

The first is a table: what all rows share stands in `same`; a short row leaves its last columns
empty. The second gives ports in the order of the face; `but` says what differs on some.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping, Sequence
from typing import Any

_RANGE = re.compile(r"(?P<stem>.*?)(?P<first>\d+)\.\.(?P=stem)(?P<last>\d+)")


def written_out(entries: Sequence[Mapping[str, Any]]) -> Iterator[dict[str, Any]]:
    """Every record that `entries` stand for. Raises ValueError for a table or face that is off."""
    for entry in entries:
        if "rows" in entry:
            yield from _rows(entry)
        elif "ports_of" in entry:
            yield from _ports(entry)
        else:
            yield dict(entry)


def names(text: str) -> list[str]:
    """The names in `WAN1, LAN1..LAN4`; digits keep their width (`01..24`)."""
    found = []
    for part in text.split(","):
        part = part.strip()
        span = _RANGE.fullmatch(part)
        if span is None:
            found.append(part)
            continue
        stem, width = span["stem"], len(span["first"])
        numbers = range(int(span["first"]), int(span["last"]) + 1)
        found += [f"{stem}{number:0{width}d}" for number in numbers]
    return found


def _rows(table: Mapping[str, Any]) -> Iterator[dict[str, Any]]:
    columns = table["columns"]
    for row in table["rows"]:
        if len(row) > len(columns):
            raise ValueError(f"row {row} is longer than its columns {columns}")
        given = {name: cell for name, cell in zip(columns, row, strict=False) if cell is not None}
        yield {**table.get("same", {}), **given}


def _ports(face: Mapping[str, Any]) -> Iterator[dict[str, Any]]:
    labels, but = names(face["labels"]), face.get("but", {})
    if unknown := but.keys() - set(labels):
        raise ValueError(f"{face['ports_of']} has no port {', '.join(sorted(unknown))}")
    for hardware in names(face["ports_of"]):
        for position, label in enumerate(labels, face.get("first_position", 1)):
            yield {
                "hardware": hardware,
                "label": label,
                "position": position,
                **face.get("same", {}),
                **but.get(label, {}),
            }
