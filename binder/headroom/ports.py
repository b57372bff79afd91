"""Rows of ports: those of panels, those of switches by rate and PoE type, and licences."""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Iterator
from functools import partial
from typing import Final

from binder.engineering.figures import Budget, Step, plain
from binder.headroom.attempt import attempt
from binder.headroom.rows import Row, row, unknown
from binder.headroom.source import Source, missing
from binder.headroom.tables import Hardware, Licence, PortGroup
from binder.records.quantities import format_quantity

PANEL: Final = "panel ports"
SWITCH: Final = "switch ports"
LICENCES: Final = "licences"
_PLUGGABLE: Final = ("SFP", "MPO")


def rows(source: Source) -> Iterator[Row]:
    """A row a panel; rows of a switch's edge ports, a row a rate and PoE type."""
    for group in source.standing("patch panel"):
        ports = source.ports_of.get(group.id)
        if ports:
            yield _tried(source, PANEL, group, "", ports)
    for switch in source.standing("switch"):
        alike: defaultdict[str, list[PortGroup]] = defaultdict(list)
        for port in source.ports_of.get(switch.id, ()):
            if port.role == "edge":
                alike[_which(port)].append(port)
        for which, ports in alike.items():
            yield _tried(source, SWITCH, switch, which, ports)
    for licence in source.licences:
        yield _licence(source, licence)


def _which(port: PortGroup) -> str:
    """What ports are alike in. A cage takes what is put into it: its rate says nothing."""
    if port.connector in _PLUGGABLE:
        return port.connector
    rate = format_quantity(port.rate_mbps, "mbps", "us") if port.rate_mbps else "rate not recorded"
    return rate if port.poe_type == "none" else f"{rate}, PoE type {port.poe_type}"


def _tried(
    source: Source, resource: str, hardware: Hardware, which: str, ports: list[PortGroup]
) -> Row:
    make = partial(_row, source, resource, hardware, which, ports)
    return attempt(resource, source.of_hardware(hardware), "ports", make)


def _row(
    source: Source, resource: str, hardware: Hardware, which: str, ports: list[PortGroup]
) -> Row:
    """Ports counted: used, planned, marked and bad, each once.

    Ports reserved by number in the hardware, and marked ones, are taken to be for the same use:
    the greater of the two counts.
    """
    counts: Counter[str] = Counter()
    for port in ports:
        counts[port.state] += port.ports
    used = counts["used"] + counts["idle"]
    limit = source.limits[f"{resource} percent"]
    usable = sum(counts.values()) - counts["bad"]
    by_number = int(sum(r.quantity for r in source.reserved(hardware.id, "ports")))
    if resource == SWITCH and not _takes_reservation(source, hardware, ports):
        by_number = 0
    kept = counts["planned"] + max(counts["marked"], by_number)
    most = int(usable * limit.share + 1e-9)
    told = "terminated" if resource == PANEL else "patched"
    budget = Budget(most, used, kept, "ports", (
        Step("limit", f"({sum(counts.values())} - {counts['bad']} bad) × {plain(limit.share)}",
             most, "ports"),
        Step("used", told, used, "ports"),
        Step("planned or reserved",
             f"{counts['planned']} planned + the greater of {counts['marked']} marked and "
             f"{by_number} reserved", kept, "ports"),
    ))  # fmt: skip
    return row(
        resource, source.of_hardware(hardware), budget, which=which,
        rated=sum(counts.values()), because=limit.because, tight=source.limits.tight,
        basis="cables and cords recorded; bad ports count as gone", notes=_notes(counts),
        fix=lambda b: f"{plain(-b.free)} ports more: another {hardware.form}", bad=counts["bad"],
    )  # fmt: skip


def _takes_reservation(source: Source, switch: Hardware, ports: list[PortGroup]) -> bool:
    """Ports reserved in a switch are taken from its most common edge ports."""
    sizes: Counter[str] = Counter()
    for port in source.ports_of[switch.id]:
        if port.role == "edge":
            sizes[_which(port)] += port.ports
    return sizes.most_common(1)[0][0] == _which(ports[0])


def _notes(counts: Counter[str]) -> Iterator[str]:
    if counts["idle"]:
        yield f"{counts['idle']} terminated but not patched"
    if counts["bad"]:
        yield f"{counts['bad']} bad"


def _licence(source: Source, licence: Licence) -> Row:
    where, basis = source.where("renewal", licence), "entitled and used, as recorded"
    if licence.entitled is None or licence.used is None:
        lacking = missing("renewal", licence, "entitled", "used")
        return unknown(LICENCES, where, "licences", lacking, basis=basis)
    steps = (
        Step("limit", "entitled", licence.entitled, "licences"),
        Step("used", "as recorded", licence.used, "licences"),
    )
    return row(
        LICENCES, where, Budget(licence.entitled, licence.used, 0, "licences", steps),
        rated=licence.entitled, because="what was bought", basis=basis,
        tight=source.limits.tight, fix=lambda b: f"{plain(-b.free)} licences more",
    )  # fmt: skip
