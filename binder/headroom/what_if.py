"""What if these were added: what moves, what runs out first, and the smallest change to mend it.

The additions are planned in a copy of the binder in memory, through the same door as in earnest,
and its headroom is taken: so that a what-if and a plan that is kept cannot tell two stories.
"""

from __future__ import annotations

import contextlib
import sqlite3
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import UTC, date, datetime

from binder.edit import Editor
from binder.file import BinderFile
from binder.headroom import headroom
from binder.headroom.additions import Addition
from binder.headroom.placing import Placed, place_all
from binder.headroom.rows import Row

__all__ = ["Moved", "WhatIf", "keep", "what_if"]


@dataclass(frozen=True, slots=True)
class Moved:
    """A row that the additions move. `fits` is the share of them that it has room for: 1 and more
    for all, 0 when it was short already."""

    before: Row
    after: Row
    fits: float | None


@dataclass(frozen=True, slots=True)
class WhatIf:
    """The answer: rows that move, what has least room first.

    `first` is the row that runs out first, None when none does that was not short already; its
    `fix` is the smallest change. `worse` are rows that were short already and get worse. `placed`
    says where things went, `cannot` what can go nowhere whatever the figures, `notes` what stands
    in no row.
    """

    additions: tuple[str, ...]
    placed: tuple[str, ...]
    cannot: tuple[str, ...]
    moved: tuple[Moved, ...]
    first: Row | None
    worse: tuple[Row, ...]
    notes: tuple[str, ...]

    @property
    def fits(self) -> bool:
        """Whether everything finds a place and nothing that it moves is short."""
        return self.first is None and not self.worse and not self.cannot


def what_if(
    binder: BinderFile, additions: Sequence[Addition], *, today: date | None = None
) -> WhatIf:
    """Headroom with these added; the binder is left as it is.

    Raises RequestError as placing them does.
    """
    today = today or datetime.now(UTC).date()
    before = headroom(binder, today=today)
    with _copy(binder) as copy:
        with Editor(copy, "what if").step("what if") as step:
            placed = place_all(copy, step, additions, today)
        after = headroom(copy, today=today)
    rows = {row.key: row for row in before.rows}
    moved = [
        Moved(rows[row.key], row, _fits(rows[row.key], row))
        for row in after.rows
        if row.key in rows and _differs(rows[row.key], row)
    ]
    moved.sort(key=lambda each: (each.fits is None, each.fits or 0.0, -(each.after.share or 0.0)))
    return WhatIf(
        additions=tuple(map(str, additions)),
        placed=placed.says,
        cannot=placed.cannot,
        moved=tuple(moved),
        first=_first(moved),
        worse=tuple(each.after for each in moved if _is_short(each.before)),
        notes=tuple(note for note in after.notes if note not in before.notes),
    )


def keep(
    binder: BinderFile, who: str, additions: Sequence[Addition], *, today: date | None = None
) -> Placed:
    """Plan these in earnest, as one step of the history; where each went."""
    summary = "plan " + ", ".join(map(str, additions))
    with Editor(binder, who).step(summary) as step:
        return place_all(binder, step, additions, today or datetime.now(UTC).date())


@contextlib.contextmanager
def _copy(binder: BinderFile) -> Iterator[BinderFile]:
    with contextlib.closing(sqlite3.connect(":memory:", isolation_level=None)) as memory:
        binder.connection.backup(memory)
        memory.row_factory = sqlite3.Row
        memory.execute("PRAGMA foreign_keys = ON")
        yield BinderFile(binder.path, memory, read_only=False)


def _differs(one: Row, other: Row) -> bool:
    def figures(row: Row) -> tuple[float | None, ...]:
        return tuple(
            None if value is None else round(value, 6)
            for value in (row.limit, row.used, row.reserved)
        )

    return figures(one) != figures(other) or one.state != other.state


def _fits(before: Row, after: Row) -> float | None:
    """What share of the additions the room of before takes; None where it is not known."""
    if before.free is None or after.free is None:
        return None
    if before.free < 0:
        return 0.0
    asked = before.free - after.free
    return before.free / asked if asked > 0 else None


def _first(moved: Sequence[Moved]) -> Row | None:
    """Of what comes out short and was not, what had room for the fewest of the additions."""
    newly = [each for each in moved if _is_short(each.after) and not _is_short(each.before)]
    return min(newly, key=lambda each: each.fits or 0.0).after if newly else None


def _is_short(row: Row) -> bool:
    return row.state in ("over", "short")
