"""The line beside a hit: what a technician on the telephone asks for next.

For a jack the switch port and VLAN it reaches, for a circuit whom to call and its ID, for hardware
where it is, what feeds it and its address, for a person the role and telephone; for the rest what
lists show.
"""

from __future__ import annotations

import json
from collections.abc import Callable, Collection, Iterable, Iterator, Mapping, Sequence
from typing import NamedTuple

from binder.file import BinderFile
from binder.path_sql import ENDS, network_rank
from binder.read import Named, Record
from binder.records.fields import Field, Type
from binder.records.kinds.hardware import PASSIVE

_MOST_JACKS = 4  # of an outlet, told in one line
# Types of field whose value tells what it is without a label.
_TELLING = (Type.TEXT, Type.LINES, Type.CHOICE, Type.IP, Type.CIDR, Type.PHONE)

_IN_USE = ("installed", "current")

Names = Mapping[int, Named]


def answers(binder: BinderFile, records: Iterable[Record], named: Names) -> dict[int, str]:
    """The line for each record, by id; `named` has the names of all they refer to."""
    records = list(records)
    reach, units = _Reach(binder, records), _Units(binder)
    lines = {}
    for record in records:
        answer = _ANSWERS.get(record.kind.name)
        facts = list(filter(None, answer(record, named, reach))) if answer else []
        facts = facts or list(filter(None, _listed(record, named, units)))
        if record["status"] not in _IN_USE:
            facts.insert(0, record["status"])
        lines[record.id] = ", ".join(facts)
    return lines


class _Units:
    """How the binder shows values, asked for at most once and only when it is needed."""

    def __init__(self, binder: BinderFile) -> None:
        self._binder = binder
        self._system = self._zone = ""

    def show(self, field: Field, value: str | int | float) -> str:
        from binder.read import time_zone, unit_system
        from binder.records.values import show

        self._system = self._system or unit_system(self._binder)
        self._zone = self._zone or time_zone(self._binder)
        return show(field, value, system=self._system, zone=self._zone)


# Where jacks and cables lead. -------------------------------------------------------------


class _End(NamedTuple):
    """An active port that the cabling leads to; the nearer the carrier, the greater."""

    rank: int
    port: str
    facts: str  # VLAN and PoE type there

    def told(self) -> str:
        return f"{self.port}, {self.facts}" if self.facts else self.port


class _Reach:
    """Where each port, link, cord, outlet and end device among the records leads, and what the
    rooms of hardware are called: each asked once for all records."""

    def __init__(self, binder: BinderFile, records: Sequence[Record]) -> None:
        self.jacks = _jacks(binder, records)
        self.rooms, self.outlets = _rooms(binder, records)
        ports = [port for jacks in self.jacks.values() for port, _ in jacks]
        ports += [record.id for record in records if record.kind.name == "port"]
        ports += [port for record in records if (port := _an_end(record)) is not None]
        self.own: dict[int, _End] = {}
        self._far: dict[int, list[_End]] = {}
        self.plugged: dict[int, str] = {}  # cabled, though it leads to no device
        if not ports:
            return
        for start, step, name, vlan, poe_type, form in binder.connection.execute(
            ENDS, {"ports": json.dumps(ports)}
        ):
            facts = [f"VLAN {vlan}"] if vlan is not None else []
            facts += [f"PoE type {poe_type}"] if poe_type != "none" else []
            end = _End(network_rank(form), name, ", ".join(facts))
            if step:
                self._far.setdefault(start, []).append(end)
            elif form not in PASSIVE:
                self.own[start] = end
        self.plugged = _far_ports(binder, self.own.keys() - self._far.keys())

    def far_end(self, port: int) -> _End | None:
        """The active port that the cabling of a port leads to, the carrier's side first."""
        return max(self._far.get(port, ()), default=None)

    def switch_port(self, port: int) -> str:
        """The network port that feeds a jack, or that there is none."""
        own = [self.own[port]] if port in self.own else []
        ends: list[_End] = [*self._far.get(port, ()), *own]
        end = max(ends, default=None)
        if end is None or not end.rank:
            return "not patched to a switch" + (f", only {end.port}" if end else "")
        return end.told()

    def feed(self, ports: Iterable[int]) -> str:
        """The network port that feeds a device with these ports; nothing when none does."""
        end = max((end for port in ports for end in self._far.get(port, ())), default=None)
        return f"from {end.told()}" if end and end.rank else ""


def _far_ports(binder: BinderFile, ports: Collection[int]) -> dict[int, str]:
    """The port at the far end of the cord or link in each of these ports, by name."""
    if not ports:
        return {}
    rows = binder.connection.execute(
        "SELECT e.port_id, r.name FROM (SELECT port_id, far_port_id FROM link_end "
        "UNION ALL SELECT port_id, far_port_id FROM cord_end) e "
        "JOIN record r ON r.id = e.far_port_id "
        "WHERE e.port_id IN (SELECT value FROM json_each(?))",
        (json.dumps(list(ports)),),
    )
    return {row[0]: row[1] for row in rows}


def _jacks(binder: BinderFile, records: Sequence[Record]) -> dict[int, list[tuple[int, str]]]:
    """Id and label of the ports of each outlet and end device among the records."""
    ends = [r.id for r in records if r.kind.name == "hardware" and _is_end(r["form"])]
    jacks: dict[int, list[tuple[int, str]]] = {}
    if ends:
        for hardware, port, label in binder.connection.execute(
            "SELECT hardware_id, id, label FROM port "
            "WHERE hardware_id IN (SELECT value FROM json_each(?)) ORDER BY position, label",
            (json.dumps(ends),),
        ):
            jacks.setdefault(hardware, []).append((port, label))
    return jacks


def _is_end(form: str) -> bool:
    return form == "outlet" or (form not in PASSIVE and not network_rank(form))


def _rooms(
    binder: BinderFile, records: Sequence[Record]
) -> tuple[dict[int, str], dict[int, list[str]]]:
    """What people call the rooms of hardware among the records; the outlets of rooms among them."""
    spaces = {r["space"] for r in records if r.kind.name == "hardware"} - {None}
    rooms = {r.id for r in records if r.kind.name == "space"}
    called: dict[int, str] = {}
    outlets: dict[int, list[str]] = {}
    if spaces:
        called = dict(
            tuple(row)
            for row in binder.connection.execute(
                "SELECT id, name FROM space WHERE id IN (SELECT value FROM json_each(?))",
                (json.dumps(list(spaces)),),
            )
        )
    if rooms:
        for room, name in binder.connection.execute(
            "SELECT h.space_id, r.name FROM hardware h JOIN record r ON r.id = h.id "
            "WHERE h.space_id IN (SELECT value FROM json_each(?)) AND h.form = 'outlet' "
            "ORDER BY length(r.name), r.name",
            (json.dumps(list(rooms)),),
        ):
            outlets.setdefault(room, []).append(name)
    return called, outlets


def _an_end(record: Record) -> int | None:
    if record.kind.name not in ("link", "cord"):
        return None
    end: int | None = record["port_a"] or record["port_b"]
    return end


# What each kind answers. ------------------------------------------------------------------


def _port(record: Record, named: Names, reach: _Reach) -> Iterator[str]:
    own, far = reach.own.get(record.id), reach.far_end(record.id)
    if own is None:
        yield reach.switch_port(record.id)
    else:
        yield record["role"] if record["role"] != "edge" else ""
        yield own.facts
        plugged = reach.plugged.get(record.id)
        idle = f"to {plugged}, which leads nowhere" if plugged else "nothing plugged in"
        yield f"to {far.port}" if far else idle
    yield record["current_use"] or ""
    if record["condition"] == "bad":
        yield f"bad: {record['condition_reason'] or 'no reason recorded'}"


def _cable(record: Record, named: Names, reach: _Reach) -> Iterator[str]:
    ends = [_name(record, end, named) or "not recorded" for end in ("port_a", "port_b")]
    yield " to ".join(ends)
    if (end := _an_end(record)) is not None:
        port, _, facts = reach.switch_port(end).partition(", ")
        yield facts if port in ends else ", ".join(filter(None, (port, facts)))


def _hardware(record: Record, named: Names, reach: _Reach) -> Iterator[str]:
    space = _name(record, "space", named)
    room = " ".join(filter(None, (space, reach.rooms.get(record["space"]))))
    jacks = reach.jacks.get(record.id, [])
    if jacks and record["form"] == "outlet":
        told = [f"{label}: {reach.switch_port(port)}" for port, label in jacks[:_MOST_JACKS]]
        told += [f"{len(jacks) - _MOST_JACKS} jacks more"] if len(jacks) > _MOST_JACKS else []
        yield "; ".join((*told, room) if room else told)
        return
    rack, u_position = _name(record, "rack", named), record["u_position"]
    yield f"{rack} U{u_position}" if rack and u_position else rack or room
    yield record["place"] or ""
    yield reach.feed(port for port, _ in jacks)
    yield record["management_address"] or ""


def _space(record: Record, named: Names, reach: _Reach) -> Iterator[str]:
    yield record["name"] or ""
    yield record["form"]
    yield _name(record, "building", named)
    outlets = reach.outlets.get(record.id, [])
    if outlets:
        more = f" and {len(outlets) - _MOST_JACKS} more" if len(outlets) > _MOST_JACKS else ""
        yield f"outlets {' '.join(outlets[:_MOST_JACKS])}{more}"


def _circuit(record: Record, named: Names, reach: _Reach) -> Iterator[str]:
    yield _labelled("support", record["support_phone"])
    yield _labelled("circuit ID", record["circuit_id"])
    yield _labelled("24 h", record["support_phone_24h"])


def _contact(record: Record, named: Names, reach: _Reach) -> Iterator[str]:
    yield record["role"] or ""
    yield _labelled("office", record["office_phone"])
    yield _labelled("mobile", record["mobile_phone"])
    yield _labelled("24 h", record["anytime_phone"])


def _name(record: Record, field: str, named: Names) -> str:
    target = named.get(record[field])
    return target.name if target else ""


def _labelled(label: str, value: str | None) -> str:
    return f"{label} {value}" if value else ""


_ANSWERS: Mapping[str, Callable[[Record, Names, _Reach], Iterator[str]]] = {
    "port": _port,
    "link": _cable,
    "cord": _cable,
    "hardware": _hardware,
    "space": _space,
    "circuit": _circuit,
    "contact": _contact,
}


def _listed(record: Record, named: Names, units: _Units) -> Iterator[str]:
    """What a list shows beside the name; a bare figure with its label."""
    for name in record.kind.columns:
        field, value = record.kind.field(name), record[name]
        if value is None:
            continue
        if field.is_reference:
            yield _name(record, name, named)
        else:
            shown = " ".join(units.show(field, value).split())
            yield shown if field.type in _TELLING else f"{field.label} {shown}"
