"""Which section serves which public family of requirements.

A requirement is named only where its governing text was read: NIST SP 800-53 revision 5, and the
guide specifications of the university and federal works named below. For what other families are
known to ask by hearsay alone the table says 'common practice', and names no clause.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

from exporters.model import Cell, Link, Paragraph, Section, Table

NAME: Final = "compliance"
TITLE: Final = "Which section serves which requirement"
COMMON: Final = "common practice"


@dataclass(frozen=True, slots=True)
class Served:
    """A sort of record, the sections that tell it, and who asks for it."""

    what: str
    sections: tuple[str, ...]
    cabling: str
    controls: str


SERVED: Final[tuple[Served, ...]] = (
    Served("Equipment", ("equipment",), "WSU guide specification 26 00 00, 1.05", "CM-8, SA-22"),
    Served("Racks and their room", ("racks", "places"),
           "WSU design guide, 5.1.4 to 5.1.8", "PE-11"),
    Served("Keys and access", ("client",), COMMON, "PE-2, PE-3"),
    Served("Links, patching, labels", ("cabling", "patch-map", "rooms", "administration"),
           "WSU guide specification 27 05 00, 3.14; design guide, 4.10.1", "CM-2"),
    Served("Pathways, firestops, bonding", ("pathways",),
           "WSU guide specification 27 05 26; 27 05 00, 3.14", "none named"),
    Served("Tests, fibre budgets", ("tests", "fibre"),
           "WSU guide specification 27 05 00, 3.15; design guide, 4.11 and 5.2", "MA-2"),
    Served("Network drawn, address plan", ("overview", "addresses"), COMMON, "CM-2"),
    Served("Carrier circuits", ("circuits",), COMMON, "CP-8"),
    Served("Accounts and secrets", ("accounts",), COMMON, "AC-2, IA-5, PS-4"),
    Served("Contacts and providers", ("emergency", "client"), COMMON, "CP-2, MA-5"),
    Served("Power, batteries, order of starting", ("power",),
           "WSU guide specification 26 05 53, 1.01", "PE-11, CP-2"),
    Served("Maintenance and change", ("log", "changes"), COMMON, "CM-3, MA-2, MA-4"),
    Served("Duties, warranties, support", ("upkeep",),
           "WSU guide specification 27 05 00, 1.12", "MA-6, SA-22"),
    Served("Spares", ("spares",), "WSU guide specification 27 13 00, close-out", "MA-6"),
    Served("Capacity", ("capacity",), "WSU design guide, 4.3.5", "CP-2(2)"),
    Served("Training, acceptance", ("acceptance",),
           "WSU guide specification 27 05 00, 3.19", "none named"),
    Served("Drawings, photos, reports", ("attachments",),
           "WSU design guide, 5.3.1 to 5.3.2", "CP-9"),
    Served("What is missing, and waivers", ("gaps",),
           "WSU guide specification 27 05 00, 1.8", "none named"),
)  # fmt: skip


def compliance(sections: dict[str, Link]) -> Section:
    """The table; `sections` has each section's link by its name."""
    rows = tuple(row for served in SERVED for row in _rows(served, sections))
    return Section(
        NAME,
        TITLE,
        (
            Paragraph(
                "A help for whoever has to show that something is recorded; no statement that a "
                "requirement is met. Other families (payment cards, health records, the CIS "
                "Controls) ask for much the same records: an equipment inventory, an account "
                "inventory, a current network diagram, a list of service providers with their "
                "contacts, a contingency plan. Whoever is bound by one reads its own text. WSU: "
                "the construction guide specifications and the telecommunications design guide of "
                "Washington State University."
            ),
            Table(("Records", "Section", "Closeout and cabling", "NIST SP 800-53 rev. 5"), rows),
        ),
    )


def _rows(served: Served, sections: dict[str, Link]) -> list[tuple[Cell, ...]]:
    """A row a section, so that each leads there and is found by each column."""
    told: list[Cell] = [sections[name] for name in served.sections if name in sections]
    return [(served.what, link, served.cabling, served.controls) for link in told or ["-"]]
