"""What can hurt someone at this site, and to whom to defer. General cautions, then this site's."""

from __future__ import annotations

from exporters.contents.parts import joined
from exporters.contents.places import title_of
from exporters.model import Block, Caution, Facts, Part, Section
from exporters.source import Source

GENERAL = (
    Caution(
        "Mains power",
        "Work on mains wiring, panels and receptacles is for licensed persons, by the local "
        "electrical code. Do not open a UPS: it stays live when unplugged. Do not take a bonding "
        "conductor off its busbar.",
    ),
    Caution(
        "Batteries",
        "Battery packs are heavy, hold energy when everything is off, and can short through "
        "tools and jewellery. Replace them with the maker's part by the maker's instructions, and "
        "hand the old ones to a collection point.",
    ),
    Caution(
        "Light in fibre",
        "Never look into the end of a fibre or an optical port, with or without an instrument: "
        "the light is invisible and can harm the eye. Treat every fibre as lit.",
    ),
    Caution(
        "Anchors and racks",
        "What a wall, its anchors and a rack carry is a matter for a licensed person and the "
        "local building code; figures in this binder are what was recorded and no proof. Swing "
        "open or slide out one thing at a time.",
    ),
    Caution(
        "Lifting",
        "UPSs, batteries and recorders are heavier than they look. Mount heavy equipment low and "
        "with two persons.",
    ),
    Caution(
        "Walls and ceilings",
        "Before drilling, find out about wiring, pipes, fire-rated construction and hazardous "
        "material. Close what you open in a fire-rated wall with the listed system.",
    ),
    Caution(
        "Emergency lines",
        "Alarm, lift and emergency calls may depend on this network. Tell those who answer for "
        "them before taking anything down.",
    ),
)


def cautions(source: Source) -> Section:
    """The general cautions, and what is recorded of this site's hazards and shut-offs."""
    rows = []
    if lines := source.client and source.shown(source.client, "critical_lines"):
        rows.append(("Critical lines", lines))
    for space in source.of("space"):
        hazards, shut_offs = source.shown(space, "hazards"), source.shown(space, "shut_offs")
        told = joined(hazards, f"Shut-offs: {shut_offs}" if shut_offs else "", by="\n")
        if told:
            rows.append((title_of(source, space), told))
    here: tuple[Block, ...] = (Facts(tuple(rows)),) if rows else ()
    site = (Part("At this site", here),) if here else ()
    return Section("cautions", "Cautions", (*GENERAL, *site))
