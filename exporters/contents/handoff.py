"""The handoff: the client's own binder, fit to print, sign and hand over."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import replace
from functools import partial
from typing import Final

from exporters.contents import (
    accounts,
    addresses,
    administration,
    cabling,
    capacity,
    cautions,
    changes,
    circuits,
    client,
    closeout,
    compliance,
    emergency,
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
from exporters.model import NOTHING, Document, Facts, Link, Part, Section
from exporters.source import Source

# What is made of the records; the last of them is signed, and stays the last.
SECTIONS: Final[tuple[Callable[[Source], Section], ...]] = (
    emergency.emergency,
    cautions.cautions,
    overview.overview,
    changes.changes,
    client.client,
    administration.administration,
    places.places,
    circuits.circuits,
    addresses.addresses,
    racks.racks,
    racks.equipment,
    patching.by_panel,
    patching.by_room,
    cabling.links_and_cords,
    cabling.tests,
    fibre.fibre,
    cabling.pathways,
    accounts.accounts,
    power.power,
    upkeep.upkeep,
    upkeep.spares,
    capacity.capacity,
    readings.readings,
    log.log,
    log.known_issues,
    closeout.attachments,
    closeout.currency,
    upkeep.punch_list,
    gaps.gaps,
    closeout.acceptance,
)


def handoff(asked: Asked) -> Document:
    """The document, as an issue or as a draft."""
    source = asked.source
    sections_of: dict[Callable[[Source], Section], Callable[[Source], Section]] = {
        closeout.attachments: partial(closeout.attachments, photos=asked.photos)
    }
    made = [_standing(source, sections_of.get(make, make)(source)) for make in SECTIONS]
    sections = (*made[:-1], Section(compliance.NAME, compliance.TITLE), made[-1])
    links = _links(sections)
    return Document(
        asked.document,
        "Handoff binder",
        source.name(source.client) or "Client not named",
        asked.release,
        asked.dated,
        (
            Facts(client.cover_facts(source)),
            Part("Issues of this document", closeout.issues(source, asked.document)),
            Part("What this binder holds", (holds.holds(source, links),)),
        ),
        (*made[:-1], compliance.compliance(links), made[-1]),
        source.sealed,
    )


def _standing(source: Source, section: Section) -> Section:
    """The section, beginning with what of it is missing or does not apply."""
    said = holds.standing(source, section.name)
    if not said:
        return section
    return replace(section, blocks=(*said, *(section.blocks or (NOTHING,))))


def _links(sections: Sequence[Section]) -> dict[str, Link]:
    """What leads to each section, by its name; the file's number is its place."""
    return {
        section.name: Link(section.title, f"{number:02d}-{section.name}.md")
        for number, section in enumerate(sections, start=1)
    }
