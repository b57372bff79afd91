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
    fibre,
    gaps,
    holds,
    log,
    overview,
    patching,
    places,
    power,
    racks,
    readings,
    upkeep,
)
from exporters.documents import Asked
from exporters.model import Document, Facts, Part, Section
from exporters.source import Source

SECTIONS: tuple[Callable[[Source], Section], ...] = (
    cautions.cautions,
    overview.overview,
    changes.changes,
    client.client,
    places.places,
    racks.racks,
    racks.equipment,
    patching.by_panel,
    patching.by_room,
    cabling.links_and_cords,
    cabling.tests,
    fibre.fibre,
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


def handoff(asked: Asked) -> Document:
    """The document, as an issue or as a draft."""
    source = asked.source
    return Document(
        asked.document,
        "Handoff binder",
        source.name(source.client) or "Client not named",
        asked.release,
        asked.dated,
        (
            Facts(client.cover_facts(source)),
            Part("Issues of this document", closeout.issues(source, asked.document)),
            Part("What this binder holds", (holds.holds(source),)),
        ),
        tuple(section(source) for section in SECTIONS),
        source.sealed,
    )
