"""Carrier circuits: a card each, with everything support asks for."""

from __future__ import annotations

from collections.abc import Iterator

from binder.read import Record
from exporters.contents.accounts import kept
from exporters.contents.parts import card, joined
from exporters.model import Cell, Section
from exporters.source import Source

# What one needs with the carrier on the telephone: its absence is said.
_TO_KNOW = frozenset(
    {"provider", "circuit_id", "account_number", "service_address", "support_phone",
     "support_asks_for", "demarc_space", "demarc_position", "contract_ends_on"}
)  # fmt: skip


def circuits(source: Source) -> Section:
    callers = source.belonging("authorised_caller", "circuit")
    secrets = source.belonging("secret", "belongs_to")
    cards = tuple(
        card(
            source,
            circuit,
            joined(source.name(circuit), source.shown(circuit, "provider")),
            always=_TO_KNOW,
            more=tuple(_beside(source, callers.get(circuit.id, ()), secrets.get(circuit.id, ()))),
        )
        for circuit in by_rank(source)
    )
    return Section("circuits", "Carrier circuits", cards)


def by_rank(source: Source) -> list[Record]:
    """The circuits, the primary first."""
    return sorted(source.of("circuit"), key=_rank)


def _rank(circuit: Record) -> int:
    """The primary circuit first, then its backup."""
    roles = circuit.kind.field("role").choices
    return roles.index(circuit["role"]) if circuit["role"] else len(roles)


def _beside(
    source: Source, callers: tuple[Record, ...], secrets: tuple[Record, ...]
) -> Iterator[tuple[str, Cell]]:
    told = [
        joined(
            source.shown(caller, "contact"), source.shown(caller, "authorised_on"), by=", since "
        )
        for caller in callers
    ]
    yield "Authorised callers", "\n".join(told) or "none recorded"
    for secret in secrets:
        yield source.name(secret), kept(source, secret)
