"""The support document: what the technician needs when the client is on the telephone.

First the trouble pages (`binder.trouble`), what presses most first: circuits, buildings, the active
devices of the network; then the tables one looks things up in. It tells management addresses and
internal notes, and of secrets where each is kept; it is not for the client.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping
from typing import Final

from binder.read import Record
from binder.trouble_facts import State, Told, Trouble
from exporters.contents import accounts, addresses, log, patching, power, upkeep
from exporters.contents.client import telephones
from exporters.contents.parts import cell, joined
from exporters.contents.places import title_of, whereabouts
from exporters.documents import Asked
from exporters.model import (
    NOTHING,
    Block,
    Caution,
    Cell,
    Document,
    Facts,
    Paragraph,
    Part,
    Section,
    Table,
)
from exporters.source import Source

_NETWORK: Final = (
    "carrier equipment", "modem", "media converter", "gateway", "switch", "access point", "UPS",
    "PoE injector", "recorder", "door controller", "server", "storage",
)  # fmt: skip
_ON_THE_COVER: Final = (
    "agreement", "agreement_ends_on", "address", "hours", "time_zone", "keeper", "deputy_keeper",
    "critical_lines", "internal_notes",
)  # fmt: skip
_FOR_WHOM: Final = (
    "For the integrator's technicians only: it tells management addresses and internal notes. No "
    "secret's value is in it; each says where it is kept."
)
_ROOMS: Final = ("room", "outdoors")
_LAST_ENTRIES: Final = 25
_LATELY: Final = 5  # lines of what changed, a page
_STATES: Final[Mapping[State, str]] = {"": "", "good": "well", "warn": "doubtful", "bad": "wrong"}

_TABLES: Final[tuple[Callable[[Source], Section], ...]] = (
    patching.by_panel,
    patching.by_room,
    addresses.addresses,
    accounts.accounts,
    power.power,
    log.known_issues,
)


def support(asked: Asked) -> Document:
    source = asked.source
    return Document(
        asked.document,
        "Support",
        source.name(source.client) or "Client not named",
        asked.release,
        asked.dated,
        (
            Paragraph(_FOR_WHOM),
            Facts(tuple(_cover_facts(source))),
            Part("Whom to call", (_people(source),)),
        ),
        (
            _circuits(asked),
            _places(asked),
            _devices(asked),
            _management(source),
            *(table(source) for table in _TABLES),
            _last_log(source),
            _open_items(source),
        ),
    )


def _cover_facts(source: Source) -> Iterator[tuple[str, Cell]]:
    client = source.client
    if client is not None:
        for name in _ON_THE_COVER:
            if value := cell(source, client, name):
                yield client.kind.field(name).label, value


def _people(source: Source) -> Block:
    """In order of escalation, with every number and how to be sure who is calling."""
    called = [c for c in source.of("contact") if c["left_on"] is None]
    called.sort(key=lambda c: (c["escalation"] is None, c["escalation"] or 0, c.name))
    rows = tuple(
        (
            source.shown(c, "escalation"),
            joined(source.name(c), source.shown(c, "role")),
            telephones(source, c),
            joined(source.shown(c, "may_approve"), source.shown(c, "hours"), by="; "),
            source.shown(c, "identity_check"),
        )
        for c in called
    )
    return Table(("Order", "Who", "Telephones", "May approve; hours", "Identity"), rows)


# Trouble pages. ---------------------------------------------------------------------------


def _circuits(asked: Asked) -> Section:
    found = sorted(asked.source.of("circuit"), key=_rank)
    parts = _pages(asked, found, lambda c: joined(c.name, asked.source.shown(c, "provider")))
    return Section("circuits", "Is a circuit down", _with_cautions(parts))


def _rank(circuit: Record) -> int:
    roles = circuit.kind.field("role").choices
    return roles.index(circuit["role"]) if circuit["role"] else len(roles)


def _places(asked: Asked) -> Section:
    """How each building is entered, then each telecommunications space."""
    source = asked.source
    buildings = [
        Part(joined(source.name(b), source.shown(b, "name")), (_entered(source, b),))
        for b in source.of("building")
    ]
    spaces = [space for space in source.of("space") if space["form"] not in _ROOMS]
    pages = _pages(asked, spaces, lambda space: title_of(source, space))
    return Section("places", "On site", (*buildings, *_with_cautions(pages)))


def _entered(source: Source, building: Record) -> Block:
    ways = ("address", "access_contact", "access_hours", "notes", "internal_notes")
    rows = ((building.kind.field(way).label, source.shown(building, way)) for way in ways)
    told = tuple((label, text) for label, text in rows if text)
    return Facts(told) if told else NOTHING


def _devices(asked: Asked) -> Section:
    source = asked.source
    found = [h for h in source.of("hardware")
             if h["form"] in _NETWORK and h["status"] == "installed"]  # fmt: skip
    found.sort(key=lambda h: _NETWORK.index(h["form"]))  # by name within each
    parts = _pages(
        asked, found, lambda h: joined(h.name, source.shown(h, "form"), whereabouts(source, h))
    )
    return Section("devices", "Is a device down", _with_cautions(parts))


_Page = tuple[Part, tuple[str, ...]]


def _pages(
    asked: Asked, records: Iterable[Record], title: Callable[[Record], str]
) -> Iterator[_Page]:
    for record in records:
        page = asked.trouble(record.id)
        yield Part(title(record), tuple(_blocks(page))), page.cautions


def _with_cautions(pages: Iterator[_Page]) -> tuple[Block | Part, ...]:
    """The pages, and before them once what each of them cautions."""
    made = list(pages)
    cautions = dict.fromkeys(caution for _, owed in made for caution in owed)
    return (*(Caution("Caution", text) for text in cautions), *(part for part, _ in made))


def _blocks(page: Trouble) -> Iterator[Block]:
    """A table a page: what is asked, how it stands, what there is to tell."""
    rows: list[tuple[Cell, ...]] = []
    for block in page.blocks:
        before = ""
        for told in block.lines[: _LATELY if block.title == "Lately" else None]:
            rows.append((block.title if not before else "", *_line(told)))
            before = block.title
    yield Table(("What", "State", "Of", "It says"), tuple(rows))


def _line(told: Told) -> tuple[str, str, str]:
    return _STATES[told.state], told.label, told.says or "not recorded"


# Tables. ----------------------------------------------------------------------------------


def _management(source: Source) -> Section:
    """Where each device is managed, who logs in there, and where the secret is kept."""
    logins = source.belonging("account", "hardware")
    secrets = source.belonging("secret", "belongs_to")
    rows = []
    for hardware in source.of("hardware"):
        found = logins.get(hardware.id, ())
        if not found and hardware["management_address"] is None:
            continue
        owners = (hardware, *found)
        kept = [
            f"{source.name(secret)}: {accounts.kept(source, secret)}"
            for owner in owners
            for secret in secrets.get(owner.id, ())
        ]
        rows.append((
            joined(source.name(hardware), source.shown(hardware, "form")),
            source.shown(hardware, "management_address"),
            "; ".join(joined(source.shown(a, "login"), source.shown(a, "url"), by=" at ")
                      for a in found),
            "; ".join(kept),
        ))  # fmt: skip
    head = ("Device", "Managed at", "Logins", "Secrets")
    return Section("management", "How to get in", (Table(head, tuple(rows)),) if rows else ())


# The last of the log, and what is open. ---------------------------------------------------


def _last_log(source: Source) -> Section:
    whole = log.log(source, most=_LAST_ENTRIES)
    return Section(whole.name, "Last entries of the log", whole.blocks)


def _open_items(source: Source) -> Section:
    return upkeep.punch_list(source, only_open=True)
