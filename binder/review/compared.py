"""Two reviews compared: what came, what went, what moved, row by row."""

from __future__ import annotations

from dataclasses import dataclass

from binder.headroom.battery import LIFE
from binder.headroom.rows import STATES, Headroom, Row
from binder.headroom.words import two

_STATES_WORSE = {state: at for at, state in enumerate(STATES)}


@dataclass(frozen=True, slots=True)
class RowChange:
    """A row in two computations; `says` tells in words what became of it. None: it was not there.

    `worse` says that it asks for more attention than before.
    """

    key: tuple[str, str, int]
    resource: str
    name: str
    before: Row | None
    after: Row | None
    says: str
    worse: bool


@dataclass(frozen=True, slots=True)
class Comparison:
    """What became of the rows between two days; rows that stand as they did are counted only."""

    since: str
    on: str
    changes: tuple[RowChange, ...]
    unchanged: int


def compared(earlier: Headroom, later: Headroom) -> Comparison:
    """What moved from one computation to the other, what got worse first."""
    then = {row.key: row for row in earlier.rows}
    now = {row.key: row for row in later.rows}
    changes = []
    for key in dict.fromkeys((*now, *then)):
        before, after = then.get(key), now.get(key)
        if before is None or after is None or _differs(before, after):
            changes.append(_change(key, before, after))
    changes.sort(key=lambda one: (not one.worse, _rank(one.after or one.before), one.name))
    return Comparison(
        earlier.on, later.on, tuple(changes), len(now.keys() & then.keys()) - sum(
            1 for one in changes if one.before and one.after
        ),
    )  # fmt: skip


def _change(key: tuple[str, str, int], before: Row | None, after: Row | None) -> RowChange:
    row = after or before
    assert row is not None
    name = " ".join(filter(None, (row.where.name, row.which)))
    worse = bool(after and (before is None or _rank(after) < _rank(before)) and _asks(after))
    return RowChange(key, row.resource, name, before, after, _says(before, after), worse)


def _says(before: Row | None, after: Row | None) -> str:
    if before is None:
        return f"new: {_figures(after)}" if after else ""
    if after is None:
        return f"gone: it was {_figures(before)}"
    told = []
    if _moved(before.limit, after.limit):
        told.append(f"limit {two(before.limit, 'to', after.limit, after.unit)}")
    if _moved(before.used, after.used):
        told.append(f"used {two(before.used, 'to', after.used, after.unit)}")
    if _moved(before.reserved, after.reserved):
        told.append(f"kept {two(before.reserved, 'to', after.reserved, after.unit)}")
    if before.state != after.state:
        told.append(f"{before.state}, now {after.state}")
    return "; ".join(told)


def _figures(row: Row) -> str:
    if row.limit is None:
        return row.told
    return f"{two(row.used, 'of', row.limit, row.unit)}, {row.state}"


def _differs(before: Row, after: Row) -> bool:
    if before.resource == LIFE and before.state == after.state:
        # that a battery is a quarter older is nothing that happened
        return _moved(before.limit, after.limit) or (after.used or 0.0) < (before.used or 0.0)
    pairs = ((before.limit, after.limit), (before.used, after.used),
             (before.reserved, after.reserved))  # fmt: skip
    return before.state != after.state or any(_moved(one, other) for one, other in pairs)


def _moved(before: float | None, after: float | None) -> bool:
    if before is None or after is None:
        return before is not after
    return abs(before - after) > 1e-6 * max(1.0, abs(before))


def _rank(row: Row | None) -> int:
    return _STATES_WORSE[row.state] if row else len(_STATES_WORSE)


def _asks(row: Row) -> bool:
    return row.state in ("over", "short", "tight")
