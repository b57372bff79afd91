"""Every record kind and every divider, in the order of the binder."""

from __future__ import annotations

from functools import cache

from binder.records.fields import Field, Kind
from binder.records.kinds import (
    accounts,
    cabling,
    capacity,
    circuits,
    client,
    closeout,
    hardware,
    log,
    network,
    places,
    upkeep,
)

DIVIDERS = (
    "Client",
    "Racks",
    "Patching",
    "Addresses",
    "Circuits",
    "Accounts",
    "Log",
    "Upkeep",
    "Headroom",
    "Closeout",
)

# Order matters: a kind comes after the kinds its name is made of.
KINDS: tuple[Kind, ...] = (
    *client.KINDS,
    *places.KINDS,
    *hardware.KINDS,
    *cabling.KINDS,
    *network.KINDS,
    *circuits.KINDS,
    *accounts.KINDS,
    *log.KINDS,
    *upkeep.KINDS,
    *capacity.KINDS,
    *closeout.KINDS,
)

BY_NAME: dict[str, Kind] = {kind.name: kind for kind in KINDS}
BY_PLURAL: dict[str, Kind] = {kind.plural: kind for kind in KINDS}


def kinds_on(divider: str) -> tuple[Kind, ...]:
    """The kinds on a divider, in order."""
    return tuple(kind for kind in KINDS if kind.divider == divider)


@cache
def references_to(name: str) -> tuple[tuple[Kind, Field], ...]:
    """Every reference field through which a record of that kind can be named."""
    return tuple(
        (kind, field)
        for kind in KINDS
        for field in kind.all_fields
        if field.is_reference and field.target in ("", name)
    )
