"""Trace: the way from a port to the carrier.

The physical path both ways (outlet, link, panel, cord, switch), judged against the limits of its
cabling, then on by uplinks to the circuits. What impact asks is in the same SQL
(`binder.path_sql`) and the same runs (`binder.runs`).
"""

from __future__ import annotations

import sqlite3
from dataclasses import dataclass

from binder.channel import Channel
from binder.errors import RequestError
from binder.file import BinderFile
from binder.path_drawing import path_lines
from binder.path_sql import network_rank
from binder.read import resolve, unit_system
from binder.records.catalog import BY_NAME
from binder.records.kinds.hardware import PASSIVE
from binder.runs import Device, Routes, turn_upward
from binder.uplinks import CARRIER, CircuitReached, climb

__all__ = ["TRACED", "Trace", "path_lines", "starting_point", "trace"]

TRACED = ("port", "link", "cord", "hardware", "circuit")
_MOST_JACKS = 8  # of one outlet, traced together; a panel is asked port by port


@dataclass(frozen=True, slots=True)
class Trace:
    """The answer for the record `kind` `name`.

    `channels` are the runs asked about, the carrier's side last; `uplinks` those from there on,
    nearest first; `circuits` what they reach. `breaks` are sentences on what leads nowhere, or
    round. Text is as typed: whoever shows it makes it safe for where it goes.
    """

    id: int
    kind: str
    name: str
    channels: tuple[Channel, ...]
    uplinks: tuple[Channel, ...]
    circuits: tuple[CircuitReached, ...]
    breaks: tuple[str, ...]


def trace(binder: BinderFile, record_id: int) -> Trace:
    """The way from a port, link, cord, circuit, or hardware.

    Of passive hardware, every cabled jack is traced; of active hardware, its one cabled port, or
    its uplinks. Raises RequestError for anything without a cable to follow, and for a panel with
    more than a few cabled ports.
    """
    with binder.reading() as connection:
        row = connection.execute(
            "SELECT kind, name FROM record WHERE id = ?", (record_id,)
        ).fetchone()
        if row is None:
            raise RequestError("that record is not in the binder any more; undo brings it back")
        kind, name = row
        ports, devices = _beginning(connection, record_id, kind, name)
        routes = Routes(connection, ports, [device.id for device in devices])
        runs = routes.through(ports)
        for run in runs:
            devices += turn_upward(run)
        above = climb(connection, routes, devices, runs)
        system = unit_system(binder)
    return Trace(
        id=record_id,
        kind=kind,
        name=name,
        channels=tuple(run.channel(system) for run in runs),
        uplinks=tuple(run.channel(system) for run in above.runs),
        circuits=above.circuits,
        breaks=above.breaks,
    )


def starting_point(binder: BinderFile, text: str) -> int:
    """The record a trace begins at when `text` is typed: a port before a link, and so on.

    Raises RequestError as `binder.read.resolve` does.
    """
    rows = binder.connection.execute("SELECT kind, id FROM record WHERE name = ?", (text,))
    ids = dict(tuple(row) for row in rows)
    for kind in TRACED:
        if kind in ids:
            return int(ids[kind])
    return resolve(binder, text).id


def _beginning(
    connection: sqlite3.Connection, record_id: int, kind: str, name: str
) -> tuple[list[int], list[Device]]:
    """The ports whose runs are asked for, or the devices whose uplinks are."""
    if kind == "port":
        return [record_id], []
    if kind == "hardware":
        return _of_hardware(connection, record_id, name)
    if kind in _ENDS:
        columns, missing = _ENDS[kind]
        ends = connection.execute(f"SELECT {columns} FROM {kind} WHERE id = ?", (record_id,))
        for port in ends.fetchone():
            if port is not None:
                return [port], []
        raise RequestError(f"{kind} {name} {missing}")
    what = BY_NAME[kind].label.lower()
    raise RequestError(
        f"'{name}' is a record of kind {what}: a trace begins at a port, link, cord, circuit or "
        "hardware"
    )


_ENDS = {
    "link": ("port_a_id, port_b_id", "has neither end recorded; set its ends to trace it"),
    "cord": ("port_a_id, port_b_id", "has no end recorded"),
    "circuit": ("handoff_port_id", "has no hand-off port recorded; set it to trace the circuit"),
}


def _of_hardware(
    connection: sqlite3.Connection, hardware_id: int, name: str
) -> tuple[list[int], list[Device]]:
    form = connection.execute("SELECT form FROM hardware WHERE id = ?", (hardware_id,)).fetchone()
    device = Device(hardware_id, name, form[0], network_rank(form[0]))
    rows = connection.execute(
        "SELECT p.id, r.name FROM port p JOIN record r ON r.id = p.id WHERE p.hardware_id = ? "
        "AND (EXISTS (SELECT 1 FROM link_end e WHERE e.port_id = p.id) "
        "OR EXISTS (SELECT 1 FROM cord_end e WHERE e.port_id = p.id)) "
        "ORDER BY length(r.name), r.name",
        (device.id,),
    ).fetchall()
    cabled = [row[0] for row in rows]
    if not cabled and device.form != CARRIER:
        raise RequestError(f"{device.name} has no port with a link or a cord; nothing to follow")
    if device.form not in PASSIVE:
        return (cabled, []) if len(cabled) == 1 else ([], [device])
    if len(cabled) > _MOST_JACKS:
        raise RequestError(
            f"{device.name} has {len(cabled)} cabled ports; trace one of them, like {rows[0][1]}"
        )
    return cabled, []
