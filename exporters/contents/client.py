"""The client, whom to call, which keys there are."""

from __future__ import annotations

from binder.read import Record
from exporters.contents.parts import Column, card, cell, joined, schedule
from exporters.model import NOTHING, Block, Cell, Part, Section
from exporters.source import Source

_TO_KNOW = frozenset({"address", "keeper", "integrator", "integrator_phone"})
_TELEPHONES = {"office_phone": "office", "mobile_phone": "mobile", "anytime_phone": "24 h"}
_ON_THE_COVER = (
    "address", "integrator", "integrator_phone", "agreement", "keeper", "deputy_keeper",
)  # fmt: skip


def cover_facts(source: Source) -> tuple[tuple[str, Cell], ...]:
    """What the cover says of the client."""
    client = source.client
    if client is None:
        return ()
    return tuple(
        (client.kind.field(name).label, value)
        for name in _ON_THE_COVER
        if (value := cell(source, client, name))
    )


def client(source: Source) -> Section:
    contacts = sorted(
        source.of("contact"), key=lambda c: (c["escalation"] is None, c["escalation"] or 0)
    )
    sheet: tuple[Block | Part, ...] = (NOTHING,)
    if source.client is not None:
        sheet = (card(source, source.client, always=_TO_KNOW),)
    role = Column(
        "Role",
        lambda c: joined(source.shown(c, "role"), source.shown(c, "organisation")),
        ("role", "organisation"),
    )
    numbers = Column("Telephones", lambda c: telephones(source, c), tuple(_TELEPHONES))
    people = schedule(source, contacts, "escalation", role, numbers, "email", "may_approve")
    keys = schedule(
        source, source.of("key"), "form", "opens", "holder", "copies", "issued_on", "returned_on"
    )
    return Section(
        "client",
        "Client and contacts",
        (*sheet, Part("Contacts, in order of escalation", people), Part("Keys and cards", keys)),
    )


def telephones(source: Source, contact: Record) -> str:
    """Every number of a contact: 'office +1 312 555 0100, mobile ...'."""
    told = ((words, source.shown(contact, name)) for name, words in _TELEPHONES.items())
    return ", ".join(f"{words} {number}" for words, number in told if number)
