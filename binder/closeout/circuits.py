"""Gaps of the carrier circuits: what support asks for, and where the line comes in."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date, timedelta
from typing import Final

from binder.closeout.facts import Facts
from binder.closeout.gap import Found, rule

_ASKED_FOR: Final = ("provider", "circuit_id", "account_number", "service_address")
_WHERE: Final = ("demarc_space", "demarc_position", "handoff_port", "payer")
_DRILL_DAYS: Final = 365


@rule(
    "circuit-card", "must",
    why="The carrier's support asks for it first, and the client is off the air meanwhile.",
    mend="Take it from the bill or the order.",
    basis="common practice, no published source",
)  # fmt: skip
def circuit_card(facts: Facts) -> Iterator[Found]:
    """Circuits that lack what support asks for."""
    for circuit in facts.of("circuit"):
        for field in _ASKED_FOR:
            if not circuit[field]:
                label = circuit.kind.field(field).label.lower()
                yield Found(circuit, f"{circuit.name}: no {label}", field)
        if not circuit["support_phone_24h"] and not circuit["support_phone"]:
            yield Found(circuit, f"{circuit.name}: no number to call", "support_phone_24h")


@rule(
    "circuit-demarc", "should",
    why="What is the carrier's and what is the client's is argued at the demarcation point.",
    mend="Record where it is and who pays.",
    basis="47 CFR 68.105 (value from memory)",
)  # fmt: skip
def circuit_demarc(facts: Facts) -> Iterator[Found]:
    """Circuits without a demarcation point, hand-off or payer."""
    for circuit in facts.of("circuit"):
        for field in _WHERE:
            if circuit[field] is None:
                label = circuit.kind.field(field).label.lower()
                yield Found(circuit, f"{circuit.name}: no {label}", field)


@rule(
    "circuit-caller", "must",
    why="Support speaks only to whom the account names.",
    mend="Have somebody named with the carrier, and record them.",
)  # fmt: skip
def circuit_caller(facts: Facts) -> Iterator[Found]:
    """Circuits about which nobody may call."""
    callers = facts.by("authorised_caller", "circuit")
    for circuit in facts.of("circuit"):
        if circuit.id not in callers:
            yield Found(circuit, f"{circuit.name}: nobody may speak for it",
                        adds="authorised_caller", given={"circuit": circuit.id})  # fmt: skip


@rule(
    "circuit-notice", "should",
    why="A contract that is not ended in time goes on for another term.",
    mend="Decide, and give notice or renew.",
)  # fmt: skip
def circuit_notice(facts: Facts) -> Iterator[Found]:
    """Circuits without an end of contract, or whose time for notice is running out."""
    for circuit in facts.of("circuit"):
        ends = circuit["contract_ends_on"]
        if not ends:
            yield Found(circuit, f"{circuit.name}: no end of contract", "contract_ends_on")
            continue
        last = date.fromisoformat(ends) - timedelta(days=circuit["notice_days"] or 0)
        if last < facts.today:
            says = f"{circuit.name}: notice was due {last.isoformat()}, ends {ends}"
            yield Found(circuit, says, "contract_ends_on")


@rule(
    "failover-tried", "should",
    why="A second line that nobody tried is a second bill.",
    mend="Pull the first one at a quiet hour, and record the day.",
    basis="NIST SP 800-53 rev. 5, CP-4 (contingency plan testing)",
)  # fmt: skip
def failover_tried(facts: Facts) -> Iterator[Found]:
    """Circuits with a partner whose failover was not tried within a year."""
    since = (facts.today - timedelta(days=_DRILL_DAYS)).isoformat()
    for circuit in facts.of("circuit"):
        if circuit["failover_partner"] is None:
            continue
        tried = circuit["failover_tried_on"]
        if not tried or tried < since:
            when = f"last tried {tried}" if tried else "never tried"
            yield Found(circuit, f"{circuit.name}: failover {when}", "failover_tried_on")
