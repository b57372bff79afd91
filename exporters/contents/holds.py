"""What the binder holds of what a closeout binder ought to: included, not applicable, or missing.

The list is that of public closeout specifications (WSU construction guide specification 27 05 00,
1.8; UFGS 01 78 23, headings): their sections, in their order, each with where it stands here.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import Final

from exporters.model import Link, Paragraph, Table
from exporters.source import Source

# A waiver of this rule and a section's word says why that section does not apply.
RULE: Final = "section"
INCLUDED: Final = "included"
MISSING: Final = "missing"


@dataclass(frozen=True, slots=True)
class Holding:
    """A section of the list: its word, its title, the name of the document's section that tells
    it, the kinds it is made of.

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


def _no_wireless(source: Source) -> str:
    has = any(h["form"] == "access point" for h in source.of("hardware"))
    return "" if has else "no access point is recorded here"


HOLDINGS: Final[tuple[Holding, ...]] = (
    Holding("control", "Cover, control, signatures", "acceptance", ("client",)),
    Holding("copies", "Copies and who holds them", "acceptance", ("copy",)),
    Holding("emergency", "Emergency facts", "emergency", ("contact", "branch_circuit")),
    Holding("overview", "Site overview, the network drawn", "overview", ("hardware", "circuit")),
    Holding("people", "People, authority, escalation", "client", ("contact",)),
    Holding("keys", "Keys and cards", "client", ("key",)),
    Holding("scheme", "Identifiers, colours, labels", "administration", ("client",)),
    Holding("spaces", "Site and spaces", "places", ("building", "space")),
    Holding("circuits", "Carrier circuits", "circuits", ("circuit",)),
    Holding("callers", "Authorised callers", "circuits", ("authorised_caller",)),
    Holding("addresses", "Address plan, VLANs", "addresses", ("subnet",)),
    Holding("wireless", "Wireless networks", "addresses", ("ssid",), _no_wireless),
    Holding("racks", "Rack elevations", "racks", ("rack",)),
    Holding("equipment", "Equipment schedule", "equipment", ("hardware",)),
    Holding("configurations", "Configuration copies", "equipment", ("configuration_copy",)),
    Holding("patching", "Patch map and panel faces", "patch-map", ("port", "cord")),
    Holding("rooms", "Patch map by room", "rooms", ("space", "port")),
    Holding("links", "Link schedule", "cabling", ("link",)),
    Holding("tests", "Test results, instruments", "tests", ("test", "instrument")),
    Holding("fibre", "Fibre strands and budgets", "fibre", ("loss",), _no_fibre),
    Holding("pathways", "Pathways", "pathways", ("pathway",)),
    Holding("firestops", "Firestops", "pathways", ("firestop",)),
    Holding("bonding", "Bonding", "pathways", ("busbar",)),
    Holding("accounts", "Accounts and custody", "accounts", ("account",)),
    Holding("power", "Power from breaker to device", "power", ("branch_circuit", "inlet")),
    Holding("operations", "Start-up and shutdown order", "power", ("hardware",)),
    Holding("maintenance", "Operation and upkeep plan", "upkeep", ("duty",)),
    Holding("warranty", "Warranties", "upkeep", ("warranty",)),
    Holding("renewals", "Renewals", "upkeep", ("renewal",)),
    Holding("spares", "Spares", "spares", ("spare",)),
    Holding("capacity", "Capacity baseline", "capacity", ("hardware",)),
    Holding("log", "Maintenance log", "log", ("log_entry",)),
    Holding("documents", "Drawings, photos, reports", "attachments", ("attachment",)),
    Holding("training", "Training", "acceptance", ("training",)),
    Holding("completion", "Acceptance", "acceptance", ("acceptance",)),
)  # fmt: skip


def holds(source: Source, links: Mapping[str, Link]) -> Table:
    """A row a section: what it is, where it is told, how it stands."""
    reasons = _reasons(source)
    rows = tuple((one.title, links[one.told_in], _stands(source, one, reasons)) for one in HOLDINGS)
    return Table(("Section", "Told in", "Stands"), rows)


def standing(source: Source, section: str) -> tuple[Paragraph, ...]:
    """What of a section is missing or does not apply, in a line each; nothing when all is there."""
    reasons = _reasons(source)
    here = [(one.title, _stands(source, one, reasons)) for one in HOLDINGS
            if one.told_in == section]  # fmt: skip
    return tuple(Paragraph(f"{title}: {word}.") for title, word in here if word != INCLUDED)


def _reasons(source: Source) -> dict[str, str]:
    """Why a section does not apply, by its word, as waivers have it."""
    return {
        waiver["rule"].removeprefix(f"{RULE}-"): waiver["reason"]
        for waiver in source.of("waiver")
        if waiver["rule"].startswith(f"{RULE}-")
    }


def _stands(source: Source, holding: Holding, reasons: Mapping[str, str]) -> str:
    if reason := holding.unless(source) or reasons.get(holding.word, ""):
        return f"not applicable because {source.cleared(reason)}"
    lacking = [kind for kind in holding.kinds if not source.of(kind)]
    return MISSING if lacking else INCLUDED
