"""What stands on the labels of a network: ports, links, cords, racks, power, what must not be cut.

Capitals, so that they are read from a step away; the identifier first, then where the other end
is. Both ends of a cord and a link say so (ANSI/TIA-606-A section on labels, 606-B for the swapped
form; from memory). A label tells places and never uses, since uses change; nothing secret is on
one, and no address that equipment is managed through.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Final

from binder.errors import RequestError
from binder.identifiers import far_end_label, natural_key
from binder.read import Record
from binder.records.kinds.hardware import DRESSING, PASSIVE
from binder.text import visible
from exporters.contents.parts import joined
from exporters.contents.patching import hardware_of, path
from exporters.contents.places import space_of
from exporters.source import Source

DO_NOT_DISCONNECT: Final = "DO NOT DISCONNECT"


@dataclass(frozen=True, slots=True)
class Label:
    """One label: its lines, the text of its QR code, and how many are wanted.

    `wraps` goes around a cable, its text repeated; `about` are the ids of what it is at.
    """

    kind: str
    lines: tuple[str, ...]
    code: str
    wraps: bool
    copies: int
    about: frozenset[int]


@dataclass(frozen=True, slots=True)
class _End:
    """Where an end of a cable is: the port, its hardware, their rack and room."""

    name: str
    ids: frozenset[int]


def labels(source: Source, only: str = "") -> tuple[Label, ...]:
    """The labels of the binder, kind by kind; the two of a cable one after the other.

    `only` names kinds (`cords`, `do-not-disconnect`) or what they are at (a rack, a panel, a room,
    one cord), parted by commas: the kinds that are named, at what is named. Raises RequestError for
    a word that is neither.
    """
    kinds, places = _wanted(source, only)
    return tuple(
        label
        for kind, made in _MAKERS.items()
        if not kinds or kind in kinds
        for label in made(source)
        if not places or label.about & places
    )


def _wanted(source: Source, only: str) -> tuple[frozenset[str], frozenset[int]]:
    kinds, places = set(), set()
    for word in filter(None, (part.strip() for part in only.split(","))):
        plain = word.casefold().replace("-", " ")
        named = {kind for kind in _MAKERS if plain in (kind, f"{kind}s")}
        ids = {r.id for r in source.by_id.values() if r.name.casefold() == word.casefold()}
        if not named and not ids:
            raise RequestError(
                f"--only '{word}' is no kind of label and nothing in this binder; kinds are: "
                f"{', '.join(_MAKERS)}"
            )
        kinds |= named
        places |= set() if named else ids
    return frozenset(kinds), frozenset(places)


def _label(
    kind: str, code: str, *lines: str, about: Iterable[int], wraps: bool = False, copies: int = 1
) -> Label:
    shown = tuple(" ".join(visible(line).split()).upper() for line in lines if line)
    return Label(kind, shown, code, wraps, copies, frozenset(about))


# A kind of label each. --------------------------------------------------------------------


def _ports(source: Source) -> Iterator[Label]:
    """Ports of panels and outlets; the marks on other equipment are its maker's."""
    for port in source.of("port"):
        hardware = hardware_of(source, port)
        if hardware is None or hardware["form"] not in PASSIVE:
            continue
        end = source.link_ends.get(port.id)
        far = source.get(end.far_port_id) if end else None
        where = _where(source, hardware_of(source, far))
        yield _label("port", source.name(port), source.name(port), _to(source.name(far)), where,
                     about=_end(source, port.id).ids)  # fmt: skip


def _links(source: Source) -> Iterator[Label]:
    for link in source.of("link"):
        yield from _both_ends(source, "link", link, _other_way(source.name(link)))


def _cords(source: Source) -> Iterator[Label]:
    for cord in source.of("cord"):
        yield from _both_ends(source, "cord", cord, source.name(cord))


def _both_ends(source: Source, kind: str, cable: Record, at_far_end: str) -> Iterator[Label]:
    one, other = _end(source, cable["port_a"]), _end(source, cable["port_b"])
    about = {cable.id, *one.ids, *other.ids}
    name = source.name(cable)
    for here, there, called in ((one, other, name), (other, one, at_far_end)):
        at = f"at {here.name}" if here.name else ""
        yield _label(kind, name, called, _to(there.name), at, about=about, wraps=True)


def _racks(source: Source) -> Iterator[Label]:
    for rack in source.of("rack"):
        yield _label(
            "rack", source.name(rack), source.name(rack), f"room {source.shown(rack, 'space')}",
            f"U1 at {source.shown(rack, 'numbering')}", about=(rack.id, rack["space"]),
        )  # fmt: skip


def _hardware(source: Source) -> Iterator[Label]:
    for hardware in source.of("hardware"):
        if hardware["form"] not in DRESSING:
            name, where = source.name(hardware), _where(source, hardware)
            yield _label("hardware", name, name, where, about=_at_hardware(source, hardware))


def _power(source: Source) -> Iterator[Label]:
    """The breaker, then each power cord at both ends."""
    for circuit in source.of("branch_circuit"):
        rating = joined(source.shown(circuit, "rating_a"), source.shown(circuit, "voltage_v"),
                        by=" ")  # fmt: skip
        about = [i for i in (circuit.id, circuit["space"]) if i is not None]
        yield _label("power", source.name(circuit), source.name(circuit),
                     _breaker(source, circuit), rating, about=about)  # fmt: skip
    for inlet in source.of("inlet"):
        yield from _power_cord(source, inlet)


def _power_cord(source: Source, inlet: Record) -> Iterator[Label]:
    name, outlet = source.name(inlet), source.shown(inlet, "outlet")
    feeder = source.get(inlet["fed_by"]) or source.get(inlet["branch_circuit"])
    about = {inlet.id, *_at_hardware(source, source.get(inlet["hardware"]))}
    if feeder is None:
        yield _label("power", name, name, about=about, wraps=True)
        return
    about.add(feeder.id)
    fed_from, breaker = source.name(feeder), ""
    if feeder.kind.name == "branch_circuit":
        breaker = _breaker(source, feeder)
    elif outlet:
        fed_from = f"{fed_from} outlet {outlet}"
    about |= _at_hardware(source, feeder) if feeder.kind.name == "hardware" else set()
    yield _label("power", name, name, f"from {fed_from}", breaker, about=about, wraps=True)
    yield _label("power", name, fed_from, _to(name), breaker, about=about, wraps=True)


def _breaker(source: Source, circuit: Record) -> str:
    panel, breaker = source.shown(circuit, "panel"), source.shown(circuit, "breaker")
    return joined(
        f"panel {panel}" if panel else "", f"breaker {breaker}" if breaker else "", by=" "
    )


def _bonding(source: Source) -> Iterator[Label]:
    """Busbars and bonding conductors (warning label: ANSI/TIA-607, wording from memory)."""
    call = _call(source, "if loose call")
    for bar in source.of("busbar"):
        yield _label("do not disconnect", source.name(bar), source.name(bar), DO_NOT_DISCONNECT,
                     *call, about=(bar.id, bar["space"]))  # fmt: skip
    for conductor in source.of("bonding_conductor"):
        ends = [conductor[name] for name in ("from_busbar", "to_busbar", "rack")]
        yield _label(
            "do not disconnect", source.name(conductor), source.name(conductor), DO_NOT_DISCONNECT,
            *call, about=(conductor.id, *(i for i in ends if i is not None)), wraps=True, copies=2,
        )  # fmt: skip


def _do_not_disconnect(source: Source) -> Iterator[Label]:
    """Bonding, then every port and cord on the way of what the client calls a critical line."""
    yield from _bonding(source)
    call = _call(source, "first call")
    ports = _critical_ports(source)
    for port in ports.values():
        yield _label("do not disconnect", source.name(port), source.name(port), DO_NOT_DISCONNECT,
                     *call, about=_end(source, port.id).ids)  # fmt: skip
    for cord in source.of("cord"):
        if cord["port_a"] in ports and cord["port_b"] in ports:
            about = {cord.id, *_end(source, cord["port_a"]).ids, *_end(source, cord["port_b"]).ids}
            yield _label("do not disconnect", source.name(cord), source.name(cord),
                         DO_NOT_DISCONNECT, *call, about=about, wraps=True, copies=2)  # fmt: skip


def _critical_ports(source: Source) -> Mapping[int, Record]:
    """The ports on the way of whatever the client's critical lines name, in natural order.

    Named are ports, and hardware whose ports they then are; an outlet or panel named beside them
    only says where, unless nothing else on it is named.
    """
    named = _words(source.shown(source.client, "critical_lines"))
    ports = {port.id: port for port in source.of("port") if port.name.casefold() in named}
    of_hardware = source.belonging("port", "hardware")
    hardware = [h for h in source.of("hardware") if h.name.casefold() in named]
    for active in (h for h in hardware if h["form"] not in PASSIVE):
        ports |= {port.id: port for port in of_hardware.get(active.id, ())}
    found = _ways(source, ports.values())
    passive = (h for h in hardware if h["form"] in PASSIVE)
    alone = [port for h in passive if not {p.id for p in of_hardware.get(h.id, ())} & found.keys()
             for port in of_hardware.get(h.id, ())]  # fmt: skip
    found |= _ways(source, alone)
    return {port.id: port for port in sorted(found.values(), key=lambda p: natural_key(p.name))}


def _ways(source: Source, ports: Iterable[Record]) -> dict[int, Record]:
    """These ports and all on the cabling through them."""
    found = {port.id: port for port in ports}
    for port in tuple(found.values()):
        for front in (True, False):
            found |= {other.id: other for other in path(source, port, front=front)}
    return found


def _words(text: str) -> frozenset[str]:
    """What may be an identifier in running text, in small letters."""
    found = (word.strip("():.") for word in re.split(r"[\s,;!?\"']+", text.casefold()))
    return frozenset(word for word in found if len(word) > 1)


def _pathways(source: Source) -> Iterator[Label]:
    for pathway in source.of("pathway"):
        ends = [source.shown(pathway, name) for name in ("from_space", "to_space")]
        spaces = (pathway["from_space"], pathway["to_space"])
        about = (pathway.id, *(i for i in spaces if i is not None))
        for here, there in (ends, ends[::-1]):
            at = f"at {here}" if here else ""
            yield _label("pathway", source.name(pathway), source.name(pathway), _to(there), at,
                         about=about)  # fmt: skip


def _firestops(source: Source) -> Iterator[Label]:
    for firestop in source.of("firestop"):
        spaces = (firestop["pathway"], firestop["space"])
        rating = joined("firestop", source.shown(firestop, "rating_h"), by=" ")
        yield _label("firestop", source.name(firestop), source.name(firestop), rating,
                     about=(firestop.id, *(i for i in spaces if i is not None)))  # fmt: skip


_MAKERS: Final[Mapping[str, Callable[[Source], Iterator[Label]]]] = {
    "rack": _racks,
    "hardware": _hardware,
    "port": _ports,
    "link": _links,
    "cord": _cords,
    "power": _power,
    "do not disconnect": _do_not_disconnect,
    "pathway": _pathways,
    "firestop": _firestops,
}


# Words. -----------------------------------------------------------------------------------


def _to(far: str) -> str:
    return f"to {far}" if far else ""


def _other_way(identifier: str) -> str:
    """A link's identifier at its far end; one that does not name two ends stays as it is."""
    try:
        return far_end_label(identifier)
    except ValueError:
        return identifier


def _call(source: Source, when: str) -> tuple[str, ...]:
    phone = source.shown(source.client, "integrator_phone")
    return (when, phone) if phone else ()


def _where(source: Source, hardware: Record | None) -> str:
    """Rack and lowest U, or the room; by identifier alone."""
    if hardware is None:
        return ""
    if hardware["rack"] is not None:
        unit = hardware["u_position"]
        return joined(source.shown(hardware, "rack"), f"U{unit}" if unit else "", by=" ")
    return f"room {source.shown(hardware, 'space')}" if hardware["space"] else ""


def _end(source: Source, port_id: int | None) -> _End:
    port = source.get(port_id)
    if port is None:
        return _End(source.name(port_id), frozenset())
    ids = {port.id, *_at_hardware(source, hardware_of(source, port))}
    end = source.link_ends.get(port.id)
    return _End(source.name(port), frozenset(ids | ({end.cable_id} if end else set())))


def _at_hardware(source: Source, hardware: Record | None) -> set[int]:
    space = space_of(source, hardware)
    found = (hardware, source.get(hardware["rack"]) if hardware else None, space)
    return {record.id for record in found if record is not None}


def rows(found: Sequence[Label]) -> Iterator[tuple[str, ...]]:
    """A row a label for a label printer: three lines, QR text, kind, copies."""
    for label in found:
        first, second, *rest = (*label.lines, "", "")
        yield first, second, " ".join(rest).strip(), label.code, label.kind, str(label.copies)


HEADER: Final = ("line1", "line2", "line3", "qr", "kind", "copies")
