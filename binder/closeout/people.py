"""Gaps of people and of how fresh the records are."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Final

from binder.closeout.facts import Facts
from binder.closeout.gap import Found, rule
from binder.sheet import is_stale

# What one can go and look at. People are asked once a year, whatever the client agreed on.
_LOOKED_AT: Final = (
    "building", "space", "rack", "hardware", "circuit", "branch_circuit", "key", "subnet",
)  # fmt: skip
_YEAR_MONTHS: Final = 12
_CONTACTS: Final = "CIS Controls v8.1, 17.2 (value from memory)"


@rule(
    "client-sheet", "must",
    why="Whoever is on call needs to know who keeps this binder and who stands in.",
    mend="Fill it in on the client's sheet.",
    basis="CIS Controls v8.1, 17.1 (value from memory)",
)  # fmt: skip
def client_sheet(facts: Facts) -> Iterator[Found]:
    """What the client's sheet lacks."""
    client = facts.client
    if client is None:
        return
    for field in ("address", "keeper", "deputy_keeper", "integrator", "integrator_phone"):
        if not client[field]:
            label = client.kind.field(field).label.lower()
            yield Found(client, f"the client's sheet says nothing under '{label}'", field)


@rule(
    "contact-reachable", "must",
    why="A contact without a number cannot be called.",
    mend="Record a number, and who is called first.",
    basis="NIST SP 800-53 rev. 5, CP-2 (roles and contact information)",
)  # fmt: skip
def contact_reachable(facts: Facts) -> Iterator[Found]:
    """Contacts without any telephone number."""
    phones = ("office_phone", "mobile_phone", "anytime_phone")
    for contact in facts.of("contact"):
        if not any(contact[name] for name in phones):
            yield Found(contact, f"{contact.name}: no telephone number", "mobile_phone")


@rule(
    "contact-deputy", "must",
    why="The one person who may decide is on holiday when it happens.",
    mend="Add a second contact in the order of escalation.",
    basis=_CONTACTS,
)  # fmt: skip
def contact_deputy(facts: Facts) -> Iterator[Found]:
    """A client with fewer than two contacts in the order of escalation."""
    client = facts.client
    named = [contact for contact in facts.of("contact") if contact["escalation"]]
    if client is not None and len(named) < 2:
        says = f"{len(named)} of 2 contacts stand in the order of escalation"
        yield Found(client, says, adds="contact", given={"escalation": len(named) + 1})


@rule(
    "contact-verified", "should",
    why="Numbers change, people leave.",
    mend="Call, and mark the contact verified.",
    basis=_CONTACTS,
)  # fmt: skip
def contact_verified(facts: Facts) -> Iterator[Found]:
    """Contacts that nobody called within a year."""
    for contact in facts.of("contact"):
        if is_stale(contact["verified_on"], facts.today, _YEAR_MONTHS):
            when = contact["verified_on"] or "never"
            yield Found(contact, f"{contact.name}: verified {when}", "verified_on")


@rule(
    "record-verified", "should",
    why="A record that nobody looked at for long is believed, and may be wrong.",
    mend="Look, and mark the record verified.",
    basis="WSU construction guide specification 27 05 00, 1.8 (as-built set kept current)",
)  # fmt: skip
def record_verified(facts: Facts) -> Iterator[Found]:
    """Records not verified within the interval of the client."""
    months = facts.client["verify_months"] if facts.client else None
    for kind in _LOOKED_AT:
        for record in facts.of(kind):
            if is_stale(record["verified_on"], facts.today, months):
                when = record["verified_on"] or "never"
                yield Found(record, f"{record.name}: verified {when}", "verified_on")
