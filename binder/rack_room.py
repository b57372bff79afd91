"""Why something cannot stand in a rack where it was put, and where there is room for it.

The database refuses it with a sentence of its own, whoever writes; from the door of writing comes
the kinder one, which names the rack, what is in the way and the units that are free.
"""

from __future__ import annotations

import sqlite3
from collections.abc import Collection, Mapping
from datetime import date
from itertools import groupby
from typing import Any, Final

from binder.elevation import FACES, Elevation, Mounted, read_elevations

KINDS: Final = ("hardware", "rack")


def refusal(
    connection: sqlite3.Connection,
    kind: str,
    record_id: int,
    values: Mapping[str, Any],
    today: date,
) -> str:
    """Why hardware with these values, or a rack of this height, cannot be; nothing if it can.

    Looks at the binder as it is without them.
    """
    if kind == "rack":
        return _too_low(connection, record_id, values, today)
    rack_id, u = values.get("rack"), values.get("u_position")
    if kind != "hardware" or rack_id is None or u is None or values.get("status") == "removed":
        return ""
    rack = read_elevations(connection, today, rack_id).get(rack_id)
    if rack is None:
        return ""
    size_u = values.get("height_u") or 0
    return _refused(rack.without(record_id), u, size_u, values.get("face") or "front")


def _refused(rack: Elevation, u: int, size_u: int, face: str) -> str:
    sides = FACES if face == "both" else (face,)
    top_u = u + max(size_u, 1) - 1
    where = f"U {units(u, top_u)} of {rack.name} {' and '.join(sides)}"
    room = f"{rack.name} is {rack.height_u}U high; {free(rack, size_u, sides)}"
    if top_u > rack.height_u:
        return f"{where} does not exist: {room}"
    taken = set(range(u, u + size_u))
    in_the_way = [
        one
        for one in rack.mounted
        if one.is_placed and not taken.isdisjoint(_span(one)) and any(map(one.is_on, sides))
    ]
    if not in_the_way:
        return ""
    shared = sorted(taken & {n for one in in_the_way for n in _span(one)})
    met = [side for side in sides if any(one.is_on(side) for one in in_the_way)]
    where = f"U {_listed(shared)} of {rack.name} {' and '.join(met)}"
    names = ", ".join(f"{one.name} (U {units(*_ends(one))})" for one in in_the_way[:3])
    verb = "is" if len(shared) == 1 else "are"
    return f"{where} {verb} taken by {names}; {free(rack, size_u, sides)}"


def free(rack: Elevation, size_u: int, sides: Collection[str]) -> str:
    """Where hardware of that height can go on these sides: 'free: 3-5, 14-18'."""
    open_u = frozenset.intersection(*(rack.face(side).open_u for side in sides))
    size_u = max(size_u, 1)
    fits = [stretch for stretch in _stretches(open_u) if len(stretch) >= size_u]
    if not fits:
        return f"no {size_u}U in a row are free there" if size_u > 1 else "no U is free there"
    asked = f" for {size_u}U" if size_u > 1 else ""
    return f"free{asked}: {', '.join(units(one[0], one[-1]) for one in fits)}"


def units(first_u: int, last_u: int) -> str:
    """'12', or '12-13'."""
    return str(first_u) if first_u == last_u else f"{first_u}-{last_u}"


def _too_low(
    connection: sqlite3.Connection, rack_id: int, values: Mapping[str, Any], today: date
) -> str:
    rack = read_elevations(connection, today, rack_id).get(rack_id)
    height_u = values.get("height_u")
    if rack is None or height_u is None:
        return ""
    above = [one for one in rack.mounted if one.u is not None and _ends(one)[1] > height_u]
    if not above:
        return ""
    names = ", ".join(f"{one.name} (U {units(*_ends(one))})" for one in above[:3])
    more = f" and {len(above) - 3} more" if len(above) > 3 else ""
    verb = "stands" if len(above) == 1 else "stand"
    return f"{names}{more} {verb} above {height_u}U in {rack.name}; move it first"


def _ends(one: Mounted) -> tuple[int, int]:
    first_u = one.u or 1
    return first_u, first_u + max(one.height_u, 1) - 1


def _span(one: Mounted) -> range:
    first_u, last_u = _ends(one)
    return range(first_u, last_u + 1)


def _listed(numbers: Collection[int]) -> str:
    return ", ".join(units(one[0], one[-1]) for one in _stretches(numbers))


def _stretches(numbers: Collection[int]) -> list[list[int]]:
    """Numbers that follow one another, together."""
    runs = groupby(enumerate(sorted(numbers)), key=lambda pair: pair[1] - pair[0])
    return [[number for _, number in run] for _, run in runs]
