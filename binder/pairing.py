"""Links or cords in series: two ranges of ports, joined one to one.

1A-A:01..24  to  201-1:A,201-1:B,202-1:A, ...
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from datetime import datetime
from itertools import chain, islice
from typing import Any, Final

from binder.cells import Cells
from binder.errors import Fault, RequestError
from binder.file import BinderFile
from binder.identifiers import next_identifier
from binder.numbering import ends_at, new_id, new_identifiers
from binder.proposal import ADD, Proposal, Proposed, Setting, counted_records
from binder.ranges import chosen
from binder.records.catalog import BY_NAME
from binder.records.fields import Kind
from binder.records.values import Stored, check

_PORT: Final = BY_NAME["port"]


def join(
    binder: BinderFile, kind: Kind, ports_a: str, ports_b: str, *,
    first: str = "", shared: Mapping[str, Any], now: datetime,
) -> Proposal:  # fmt: skip
    """Propose a link (or cord) from each port of the one range to its fellow of the other.

    Identifiers count on from `first`. Without it cords are numbered by the program, and a link is
    called as its panel end is, without the sign between: 1A-A:07 gives 1A-A07, the horizontal
    link identifier of ANSI/TIA-606 (space-panel and port). `shared` is in stored form. Raises
    RequestError for a port that is not there and for ranges of two lengths.
    """
    ends = [_ports(binder, text) for text in (ports_a, ports_b)]
    count = len(ends[0])
    if count != len(ends[1]):
        raise RequestError(
            f"{count} ports at the one end ({ports_a}) and {len(ends[1])} at the other "
            f"({ports_b}); as many are needed at both"
        )
    cells = Cells(binder, now)
    named = cells.names(chain(*ends))
    identifiers = _identifiers(binder, kind, [named[port] for port in ends[0]], first)
    taken = ends_at(binder, kind.name, chain(*ends))
    alike = {field.name: field.default for field in kind.all_fields} | dict(shared)
    told = tuple(
        Setting(field.label, "", cells.text(field, alike[field.name], named))
        for field in kind.all_fields
        if field.name in shared and shared[field.name] not in (None, field.default)
    )
    records = []
    for identifier, port_a, port_b in zip(identifiers, *ends, strict=False):
        values, faults = _checked(
            kind, alike | {"identifier": identifier, "port_a": port_a, "port_b": port_b}
        )
        faults += [
            Fault(identifier, f"{named[port]} is taken by {kind.label.lower()} {taken[port]}")
            for port in (port_a, port_b)
            if port in taken
        ]
        settings = (Setting("From", "", named[port_a]), Setting("To", "", named[port_b]), *told)
        records.append(Proposed(new_id(), identifier, ADD, values, settings, tuple(faults)))
    what = counted_records(kind, count)
    return Proposal(kind.name, f"add {what}: {ports_a} to {ports_b}", tuple(records))


def _ports(binder: BinderFile, text: str) -> tuple[int, ...]:
    if not text.strip():
        raise RequestError("name the ports of both ends, like 1A-A:01..24")
    return chosen(binder, _PORT, text)


def _identifiers(
    binder: BinderFile, kind: Kind, panel_ends: Sequence[str], first: str
) -> Iterator[str]:
    if not first.strip():
        if kind.series:
            return new_identifiers(binder.connection, kind, ())
        return (name.replace(_PORT.separator, "", 1) for name in panel_ends)
    try:
        return iter(list(islice(_counted(first.strip()), len(panel_ends))))
    except ValueError as error:
        raise RequestError(str(error)) from error


def _counted(first: str) -> Iterator[str]:
    identifier = first
    while True:
        yield identifier
        identifier = next_identifier(identifier)


def _checked(kind: Kind, values: Mapping[str, Any]) -> tuple[dict[str, Stored], list[Fault]]:
    clean: dict[str, Stored] = {}
    faults = []
    for field in kind.all_fields:
        try:
            clean[field.name] = check(field, values[field.name])
        except ValueError as error:
            faults.append(Fault(str(values["identifier"]), str(error)))
            clean[field.name] = None
    return clean, faults
