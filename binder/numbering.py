"""What the program gives a new record: its id, and its identifier when that is in a series."""

from __future__ import annotations

import itertools
import re
import secrets
import sqlite3
from collections.abc import Iterable, Iterator

from binder.records.fields import Kind

_MOST_DIGITS = 15  # of a number in a series; what is longer was typed and is no number


def new_id() -> int:
    """A random 53-bit number: copies edited apart can be merged, JSON readers keep it exact."""
    return secrets.randbits(53) or 1


def new_identifiers(
    connection: sqlite3.Connection, kind: Kind, given: Iterable[str]
) -> Iterator[str]:
    """Identifiers of a series, above every one in the binder and every one `given`: C-0008, ..."""
    row = connection.execute(
        "SELECT max(CAST(substr(name, :at) AS INTEGER)) FROM record WHERE kind = :kind "
        "AND name LIKE :series || '%' AND substr(name, :at) NOT GLOB '*[^0-9]*' "
        "AND length(name) < :at + :digits",
        {
            "at": len(kind.series) + 1,
            "kind": kind.name,
            "series": kind.series,
            "digits": _MOST_DIGITS,
        },
    ).fetchone()
    pattern = re.compile(f"{re.escape(kind.series)}([0-9]{{1,{_MOST_DIGITS}}})", re.IGNORECASE)
    taken = (int(found[1]) for name in given if (found := pattern.fullmatch(name.strip())))
    highest = max((int(row[0] or 0), *taken))
    return (f"{kind.series}{number:04d}" for number in itertools.count(highest + 1))
