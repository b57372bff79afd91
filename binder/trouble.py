"""Trouble: what to look at, in order, when something is said to be down.

From a circuit: is it down, what support asks for, who may call, what carries over meanwhile. From
hardware: what feeds it, what hangs on it, how to get in. From a place: what is there, where it is
cut off. From a port or cable: the run it is part of. Each page is blocks of lines, what presses
most first; the order of looking is common practice, no published source.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from datetime import date
from typing import Final

from binder.errors import RequestError
from binder.file import BinderFile
from binder.lately import lately
from binder.read import Record, read, read_where
from binder.records.catalog import BY_NAME
from binder.trouble_circuit import circuit_blocks
from binder.trouble_facts import Block, Facts, Told, Trouble
from binder.trouble_hardware import hardware_blocks
from binder.trouble_place import building_blocks, rack_blocks, space_blocks
from binder.trouble_run import run_blocks

__all__ = ["TROUBLED", "Block", "Told", "Trouble", "circuits_of", "trouble"]

_PAGES: Final[Mapping[str, Callable[[Facts, Record], tuple[Block, ...]]]] = {
    "circuit": circuit_blocks,
    "hardware": hardware_blocks,
    "space": space_blocks,
    "building": building_blocks,
    "rack": rack_blocks,
    "port": run_blocks,
    "link": run_blocks,
    "cord": run_blocks,
}
# Whom or what a client's circuit is asked through.
ASKED_THROUGH: Final = ("contact", "client", "authorised_caller")
# Papers about a thing: the page is that of the thing.
_ABOUT: Final = {
    "account": ("hardware", "circuit"), "secret": ("belongs_to",), "inlet": ("hardware",),
    "configuration_copy": ("hardware",), "warranty": ("covers",), "known_issue": ("subject",),
    "reading": ("subject",), "duty": ("subject",), "key": ("space",), "address": ("hardware",),
}  # fmt: skip
TROUBLED: Final = (*_PAGES, *ASKED_THROUGH, *_ABOUT)


def trouble(binder: BinderFile, record_id: int, *, today: date) -> Trouble:
    """The page of a circuit, hardware, rack, space, building, port, link or cord.

    Of a paper about one of these (an account, a warranty) it is the page of the thing itself.
    Raises RequestError for anything else; a contact leads to `circuits_of`.
    """
    record = _thing_meant(binder, read(binder, record_id))
    page = _PAGES.get(record.kind.name)
    if page is None:
        raise RequestError(
            f"'{record.name}' is a record of kind {record.kind.label.lower()}: a trouble page is "
            "of a circuit, hardware, rack, space, building, port, link or cord"
            + _circuits_instead(binder, record)
        )
    facts = Facts(binder, today)
    blocks = [block for block in page(facts, record) if block.lines]
    events = lately(binder, record.id)
    if events:
        told = [
            Told(
                event.at[:10], f"{event.says} ({event.who})" if event.who else event.says, event.id
            )
            for event in events
        ]
        blocks.append(Block("Lately", tuple(told)))
    return Trouble(record.id, record.kind.name, record.name, tuple(blocks), tuple(facts.cautions))


def _circuits_instead(binder: BinderFile, record: Record) -> str:
    if record.kind.name not in ASKED_THROUGH:
        return ""
    found = [f"'circuit {circuit.name}'" for circuit in circuits_of(binder, record.id)]
    return f"; ask for {' or '.join(found)}" if found else ""


def _thing_meant(binder: BinderFile, record: Record) -> Record:
    """What a paper is about, through at most two of them (secret, account, hardware)."""
    for _ in range(2):
        named = (record[field] for field in _ABOUT.get(record.kind.name, ()))
        about = next((one for one in named if one is not None), None)
        if about is None:
            break
        record = read(binder, about)
    return record


# The circuits that come into a building to which a person holds a key.
_WHERE_THEY_ARE: Final = """
SELECT c.id FROM key k JOIN space s ON s.id = k.space_id
JOIN space d ON d.building_id = s.building_id JOIN circuit c ON c.demarc_space_id = d.id
WHERE k.holder_id = ? AND k.returned_on IS NULL
"""


def circuits_of(binder: BinderFile, asked_by: int | None = None) -> tuple[Record, ...]:
    """The client's circuits in use: which of them is down?

    Those that come into the building of who asks stand first, where keys tell which that is; then
    the primary.
    """
    order = BY_NAME["circuit"].field("role").choices
    found = read_where(binder, BY_NAME["circuit"], "t.status = 'installed'")
    near = {row[0] for row in binder.connection.execute(_WHERE_THEY_ARE, (asked_by,))}

    def first(circuit: Record) -> tuple[bool, int, str]:
        return circuit.id not in near, order.index(circuit["role"] or "other"), circuit.name

    return tuple(sorted(found, key=first))
