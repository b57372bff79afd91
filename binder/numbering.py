"""What the program gives a new record: its id, its number, and what a copy counts on to."""

from __future__ import annotations

import ipaddress
import itertools
import re
import secrets
import sqlite3
from collections.abc import Iterable, Iterator
from typing import Final

from binder.file import BinderFile
from binder.identifiers import natural_key, next_identifier
from binder.read import Record
from binder.records.fields import Field, Kind, Type
from binder.records.values import Stored, check

MOST_TRIED: Final = 10_000  # identifiers in use, one after the other, before giving up
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


def next_free(binder: BinderFile, record: Record) -> dict[str, Stored]:
    """What a copy of a record is called: the next of its last part that no other has.

    1A-A07 gives 1A-A08, 192.0.2.9 the address after it, issue 3 issue 4. Empty where the program
    numbers the kind, and where there is nothing to count on from (a choice, a reference).
    """
    kind, last = record.kind, record.kind.field(record.kind.named_by[-1])
    value = record[last.name]
    if kind.series or value is None or last.is_reference or last.type is Type.CHOICE:
        return {}
    rows = binder.connection.execute("SELECT name FROM record WHERE kind = ?", (kind.name,))
    taken = {row[0].casefold() for row in rows}
    stem = record.name.removesuffix(str(value))
    try:
        for _ in range(MOST_TRIED):
            value = check(last, _after(last, value))
            if f"{stem}{value}".casefold() not in taken:
                return {last.name: value} | _next_position(binder, record)
    except ValueError:  # past the last address, or no number or letter at its end
        pass
    return {}


def _next_position(binder: BinderFile, record: Record) -> dict[str, Stored]:
    """A port's place on the face: after the last one."""
    if record.kind.name != "port" or record["position"] is None:
        return {}
    sql = "SELECT max(position) FROM port WHERE hardware_id = ?"
    last = binder.connection.execute(sql, (record["hardware"],)).fetchone()[0]
    return {"position": last + 1}


def _after(field: Field, value: Stored) -> Stored:
    if isinstance(value, int):
        return value + 1
    if field.type is Type.IP:
        try:
            return str(ipaddress.ip_address(str(value)) + 1)
        except ipaddress.AddressValueError as error:
            raise ValueError(str(error)) from error
    return next_identifier(str(value))


def next_port(binder: BinderFile, port_id: int, side: str) -> int | None:
    """The port after this one on the same hardware, when no cord (or link: `side`) is in it.

    In order of position where ports have one, else of their labels.
    """
    rows = binder.connection.execute(
        "SELECT p.id, p.label, p.position FROM port p WHERE p.status <> 'removed' AND "
        "p.hardware_id = (SELECT hardware_id FROM port WHERE id = ?)",
        (port_id,),
    ).fetchall()
    rows.sort(key=lambda row: (row[2] is None, row[2] or 0, natural_key(row[1])))
    ids = [int(row[0]) for row in rows]
    at = ids.index(port_id) + 1 if port_id in ids else len(ids)
    following = ids[at] if at < len(ids) else None
    return following if following and not ends_at(binder, side, [following]) else None


def ends_at(binder: BinderFile, side: str, ports: Iterable[int]) -> dict[int, str]:
    """Which of these ports have a cord (or link: `side`) already, and what it is called."""
    found: dict[int, str] = {}
    wanted = list(ports)
    for start in range(0, len(wanted), 500):
        part = wanted[start : start + 500]
        rows = binder.connection.execute(
            f"SELECT e.port_id, r.name FROM {side}_end e JOIN record r ON r.id = e.{side}_id "
            f"WHERE e.port_id IN ({','.join('?' * len(part))})",
            part,
        )
        found |= {row[0]: row[1] for row in rows}
    return found
