"""How the cabling is administered: class, identifiers, colours, labels; what is left out of here.

Classes and the colours of termination fields: ANSI/TIA-606 (colours as in edition A, and in the
campus specifications that take them over).
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import Final

from exporters.contents.parts import counted, in_runs, joined, shortened
from exporters.labels import labels
from exporters.model import Block, Facts, Paragraph, Part, Section, Table
from exporters.source import Source

_CLASSES: Final = {
    "1": "one equipment room", "2": "one building with several telecommunications spaces",
    "3": "a campus of several buildings", "4": "several sites",
}  # fmt: skip
FIELDS: Final = {
    "orange": "demarcation: what the carrier ends on",
    "green": "network connections, the client's side of the demarcation",
    "purple": "common equipment: switches, gateways, telephone systems",
    "white": "first-level backbone within the building",
    "gray": "second-level backbone within the building",
    "brown": "backbone between buildings",
    "blue": "horizontal cabling, to the outlets",
    "yellow": "auxiliary: alarm, security, other circuits",
    "red": "key telephone systems; left free in later editions",
}  # fmt: skip


def administration(source: Source) -> Section:
    return Section(
        "administration",
        "Identifiers, colours and labels",
        (
            Part("Scheme", tuple(_scheme(source))),
            Part("Colours of termination fields", tuple(_colours(source))),
            Part("Label samples", tuple(_samples(source))),
            Part("What is not in this document", (_left_out(source),)),
        ),
    )


def _scheme(source: Source) -> Iterator[Block]:
    client = source.client
    number = source.shown(client, "administration_class")
    class_ = f"{number}, {_CLASSES[number]}" if number in _CLASSES else "not recorded"
    months = source.shown(client, "verify_months") or "12 months"
    yield Facts((
        ("Class of administration (ANSI/TIA-606)", class_),
        ("Identifier scheme", source.shown(client, "identifier_scheme") or "not recorded"),
        ("Kept by", source.shown(client, "keeper") or "not recorded"),
        ("Stands in", source.shown(client, "deputy_keeper") or "not recorded"),
        ("A record is verified anew within", months),
    ))  # fmt: skip
    yield Paragraph(
        "An identifier names one thing and a place, never a use, and stays when the use changes. "
        "It is the same on the label, in these tables, in the test files and on the drawings."
    )


def _colours(source: Source) -> Iterator[Block]:
    """The meaning of each colour in the standard, and where it is used here."""
    used: dict[str, dict[str, None]] = {}
    for port in source.of("port"):
        if port["field_colour"]:
            used.setdefault(port["field_colour"], {})[source.name(port["hardware"])] = None
    rows = tuple(
        (colour, meaning, shortened(in_runs(used.get(colour, ()))) or "not used")
        for colour, meaning in FIELDS.items()
    )
    yield Table(("Colour", "Termination field", "Used here on"), rows)


def _samples(source: Source) -> Iterator[Block]:
    """The first label of each sort that this binder prints."""
    found: dict[str, tuple[str, ...]] = {}
    for label in labels(source):
        found.setdefault(label.kind, label.lines)
    rows = tuple((kind, " / ".join(lines)) for kind, lines in found.items())
    if rows:
        yield Table(("Label", "Says"), rows)
        yield Paragraph(
            "Capitals without serifs, printed by machine; a cable bears one at each end, that "
            "tells where the other end is."
        )
    else:
        yield Paragraph("Nothing that bears a label is recorded.")


def _left_out(source: Source) -> Facts:
    """What a reader would look for in vain, and where it is."""
    secrets = source.of("secret")
    kept = dict.fromkeys(filter(None, (source.shown(s, "kept_by") for s in secrets)))
    withheld = source.withheld_addresses
    known = counted(len(secrets), "secret") if secrets else "no secret"
    return Facts((
        ("Passwords, PINs, keys, codes", joined(
            f"{known} recorded",
            f"kept by {', '.join(kept)}" if kept else "",
            "the section on accounts says where each is", by="; ")),
        ("Management addresses", f"{withheld} withheld; the integrator keeps the list"
         if withheld else "none in use is withheld"),
        ("Notes marked internal", "stay with the integrator"),
        ("Single readings", "summed up here; each is kept in the binder"),
        ("Configuration files", "kept apart; the equipment schedule says where each copy is"),
    ))  # fmt: skip
