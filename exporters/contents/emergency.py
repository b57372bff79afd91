"""What someone needs at once: hazards and shut-offs, whom to call, breakers, circuits, envelopes.

The order is that of a door sheet (common practice, no published source): look, call, then mend.
"""

from __future__ import annotations

from collections.abc import Iterator

from binder.read import Record
from exporters.contents.circuits import by_rank
from exporters.contents.client import telephones
from exporters.contents.parts import Column, bare_table, joined
from exporters.contents.places import title_of
from exporters.model import Block, Facts, Paragraph, Part, Section, Table
from exporters.source import Source

_SUPPORT = {
    "support_phone_24h": "24 h", "support_phone": "support", "escalation_phone": "escalation",
}  # fmt: skip


def emergency(source: Source) -> Section:
    return Section(
        "emergency",
        "In an emergency",
        (
            Part("Stop and look", tuple(_look(source))),
            Part("Whom to call, in order", tuple(_call(source))),
            Part("Breakers", tuple(_breakers(source))),
            Part("Circuits", tuple(_circuits(source))),
            Part("Where sealed envelopes are", (_envelopes(source),)),
        ),
    )


def _look(source: Source) -> Iterator[Block]:
    """What must not be cut, what can hurt, where it is shut off."""
    client = source.client
    rows = [("Must not be cut", source.shown(client, "critical_lines") or "none recorded")]
    for space in source.of("space"):
        shut_offs = source.shown(space, "shut_offs")
        told = joined(source.shown(space, "hazards"),
                      f"Shut-offs: {shut_offs}" if shut_offs else "", by="\n")  # fmt: skip
        if told:
            rows.append((title_of(source, space), told))
    yield Facts(tuple(rows))
    yield Paragraph(
        "Fire, smoke, water or someone hurt: leave, and call the emergency number first. Touch no "
        "equipment that is wet or hot; breakers are for those who know them."
    )


def _call(source: Source) -> Iterator[Block]:
    client = source.client
    if number := source.shown(client, "integrator_phone"):
        name = source.shown(client, "integrator") or "the integrator"
        yield Facts(((f"{name}, at any hour", number),))
    contacts = sorted(
        (c for c in source.of("contact") if c["escalation"] is not None and c["left_on"] is None),
        key=lambda c: c["escalation"],
    )
    if not contacts:
        yield Paragraph("Nobody is recorded with a place in the order of calling.")
        return
    columns = (
        "escalation", Column("Name", source.name),
        Column("Role", lambda c: source.shown(c, "role")),
        Column("Telephones", lambda c: telephones(source, c)), "hours", "may_approve",
        "identity_check",
    )  # fmt: skip
    yield bare_table(source, contacts, *columns)


def _breakers(source: Source) -> Iterator[Block]:
    circuits = source.of("branch_circuit")
    if not circuits:
        yield Paragraph("No branch circuit is recorded.")
        return
    fed = source.belonging("inlet", "branch_circuit")

    def feeds(circuit: Record) -> str:
        names = dict.fromkeys(source.shown(i, "hardware") for i in fed.get(circuit.id, ()))
        return ", ".join(names)

    yield bare_table(
        source, circuits, Column("Circuit", source.name), "panel", "breaker", "space",
        Column("Feeds first", feeds), "generator_backed",
    )  # fmt: skip


def _circuits(source: Source) -> Iterator[Block]:
    circuits = by_rank(source)
    if not circuits:
        yield Paragraph("No carrier circuit is recorded.")
        return
    demarc = Column(
        "Demarc",
        lambda c: joined(source.shown(c, "demarc_space"), source.shown(c, "demarc_position")),
    )
    support = Column("Telephones", lambda c: _support(source, c))
    columns = ("role", "provider", "circuit_id", "account_number", support, demarc)
    yield bare_table(source, circuits, Column("Circuit", source.name), *columns)


def _support(source: Source, circuit: Record) -> str:
    told = ((word, source.shown(circuit, name)) for name, word in _SUPPORT.items())
    return ", ".join(f"{word} {number}" for word, number in told if number) or "none recorded"


def _envelopes(source: Source) -> Table | Paragraph:
    """By number: what is inside in a word, and who keeps it; nothing of the contents."""
    numbered = [s for s in source.of("secret") if s["envelope_number"] is not None]
    if not numbered:
        return Paragraph("No sealed envelope is recorded.")
    numbered.sort(key=lambda secret: secret["envelope_number"])
    columns = ("envelope_number", Column("Holds", source.name), "kept_by", "kept_at")
    return bare_table(source, numbered, *columns)
