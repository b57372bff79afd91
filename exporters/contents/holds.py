"""What the binder holds of what a closeout binder ought to: included, not applicable, or missing.

The list is that of public closeout specifications (WSU construction guide specification 27 05 00,
1.8; UFGS 01 78 23, headings): their sections, in their order, each with where it stands here.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from typing import Final

from exporters.model import Cell, Table
from exporters.source import Source

# A waiver of this rule and a section's word says why that section does not apply.
RULE: Final = "section"


@dataclass(frozen=True, slots=True)
class Holding:
    """A section of the list: its word, its title, where it is told, the kinds it is made of.

    `unless` gives why it does not apply, where the binder itself shows that.
    """

    word: str
    title: str
    told_in: str
    kinds: tuple[str, ...]
    unless: Callable[[Source], str] = lambda source: ""


def _no_fibre(source: Source) -> str:
    has = any("fibre" in (link["cable"] or "") for link in source.of("link"))
    return "" if has else "no fibre is recorded here"


def _one_circuit(source: Source) -> str:
    return "there is one circuit only" if len(source.of("circuit")) == 1 else ""


def _no_wireless(source: Source) -> str:
    has = any(h["form"] == "access point" for h in source.of("hardware"))
    return "" if has else "no access point is recorded here"


HOLDINGS: Final[tuple[Holding, ...]] = (
    Holding("control", "Cover, control, issue history, copies", "Cover; Acceptance", ("client",)),
    Holding("people", "People, authority, escalation", "Client and contacts", ("contact",)),
    Holding("keys", "Keys and cards", "Client and contacts", ("key",)),
    Holding("spaces", "Site and spaces", "Buildings and spaces", ("building", "space")),
    Holding("circuits", "Carrier circuits", "Circuits", ("circuit",)),
    Holding("failover", "Failover between circuits", "Circuits", ("circuit",), _one_circuit),
    Holding("addresses", "Address plan, VLANs", "Addresses", ("subnet",)),
    Holding("wireless", "Wireless networks", "Addresses", ("ssid",), _no_wireless),
    Holding("racks", "Rack elevations", "Rack elevations", ("rack",)),
    Holding("patching", "Patch map and panels", "Patch map", ("port", "cord")),
    Holding("links", "Link schedule", "Links and cords", ("link",)),
    Holding("fibre", "Fibre strands and budgets", "Tests", ("loss",), _no_fibre),
    Holding("pathways", "Pathways", "Pathways, firestops and bonding", ("pathway",)),
    Holding("firestops", "Firestops", "Pathways, firestops and bonding", ("firestop",)),
    Holding("bonding", "Bonding", "Pathways, firestops and bonding", ("busbar",)),
    Holding("tests", "Test results, instruments", "Tests", ("test", "instrument")),
    Holding("equipment", "Equipment register", "Equipment", ("hardware",)),
    Holding("configurations", "Configuration copies", "Upkeep", ("configuration_copy",)),
    Holding("accounts", "Accounts and custody", "Accounts and secrets", ("account",)),
    Holding("power", "Power from breaker to device", "Power", ("branch_circuit", "inlet")),
    Holding("operations", "Start-up and shutdown order", "Power", ("hardware",)),
    Holding("maintenance", "Maintenance plan", "Upkeep", ("duty",)),
    Holding("warranty", "Warranties and renewals", "Upkeep", ("warranty", "renewal")),
    Holding("spares", "Spares", "Spares", ("spare",)),
    Holding("capacity", "Capacity baseline", "Capacity", ("hardware",)),
    Holding("training", "Training", "Acceptance", ("training",)),
    Holding("log", "Maintenance log", "Maintenance log", ("log_entry",)),
    Holding("documents", "Drawings, photos, reports", "Attachments", ("attachment",)),
    Holding("completion", "Acceptance and signatures", "Acceptance", ("acceptance",)),
)  # fmt: skip


def holds(source: Source) -> Table:
    """A row a section: what it is, where it is told, how it stands."""
    return Table(("Section", "Told in", "Stands"), tuple(_rows(source)))


def _rows(source: Source) -> Iterator[tuple[Cell, ...]]:
    reasons = {
        waiver["rule"].removeprefix(f"{RULE}-"): waiver["reason"]
        for waiver in source.of("waiver")
        if waiver["rule"].startswith(f"{RULE}-")
    }
    for holding in HOLDINGS:
        yield holding.title, holding.told_in, _stands(source, holding, reasons)


def _stands(source: Source, holding: Holding, reasons: dict[str, str]) -> str:
    if reason := holding.unless(source) or reasons.get(holding.word, ""):
        return f"not applicable because {source.cleared(reason)}"
    lacking = [kind for kind in holding.kinds if not source.of(kind)]
    return "missing" if lacking else "included"
