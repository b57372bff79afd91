"""The handoff: the client's own binder, fit to print, sign and hand over."""

from __future__ import annotations

from collections.abc import Callable

from exporters.contents import (
    accounts,
    addresses,
    cabling,
    capacity,
    cautions,
    changes,
    circuits,
    client,
    closeout,
    gaps,
    holds,
    log,
    patching,
    places,
    power,
    racks,
    readings,
    upkeep,
)
from exporters.model import DRAFT, Document, Facts, Part, Section
from exporters.source import Source

SECTIONS: tuple[Callable[[Source], Section], ...] = (
    cautions.cautions,
    changes.changes,
    client.client,
    places.places,
    racks.racks,
    racks.equipment,
    patching.by_panel,
    patching.by_room,
    cabling.links_and_cords,
    cabling.tests,
    cabling.pathways,
    addresses.addresses,
    circuits.circuits,
    accounts.accounts,
    power.power,
    log.log,
    upkeep.upkeep,
    upkeep.punch_list,
    upkeep.spares,
    log.known_issues,
    capacity.capacity,
    readings.readings,
    closeout.attachments,
    closeout.currency,
    gaps.gaps,
    closeout.acceptance,
)


def handoff(source: Source, issue: int | None) -> Document:
    """The document, as issue of that number or as a draft.

    An issue carries the date it is recorded with, or today while it is being made.
    """
    recorded = [i for i in source.of("issue")
                if i["document"] == "handoff" and i["number"] == issue]  # fmt: skip
    dated = recorded[0]["issued_on"] if recorded else source.today.isoformat()
    return Document(
        "handoff",
        "Handoff binder",
        source.name(source.client) or "Client not named",
        DRAFT if issue is None else f"Issue {issue}",
        dated,
        (
            Facts(client.cover_facts(source)),
            Part("Issues of this document", closeout.issues(source, "handoff")),
            Part("What this binder holds", (holds.holds(source),)),
        ),
        tuple(section(source) for section in SECTIONS),
        source.sealed,
    )
