"""Rows of uplinks: the rate of a switch's edge ports over that of its uplinks."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from functools import partial
from typing import Final

from binder.engineering.figures import Budget, Step, plain
from binder.engineering.traffic import oversubscription
from binder.headroom.attempt import attempt
from binder.headroom.rows import Need, Row, row, unknown
from binder.headroom.source import Source
from binder.headroom.tables import Hardware, PortGroup

UPLINK: Final = "uplink ratio"


def rows(source: Source) -> Iterator[Row]:
    """A row a switch that has ports."""
    for switch in source.standing("switch"):
        if source.ports_of.get(switch.id):
            where = source.of_hardware(switch)
            yield attempt(UPLINK, where, ": 1", partial(_row, source, switch))


def _row(source: Source, switch: Hardware) -> Row:
    where, limit = source.of_hardware(switch), source.limits["uplink ratio"]
    basis = "rates of edge ports in use over those of uplinks in use"
    ports = source.ports_of[switch.id]
    up = [port for port in ports if port.role != "edge" and port.state == "used"]
    edge = [port for port in ports if port.role == "edge" and port.state != "bad"]
    if not up:
        lacking = [
            Need(switch.id, "hardware", switch.name, "", "a patched uplink port", add="cord")
        ]
        return unknown(UPLINK, where, ": 1", lacking, basis=basis)
    lacking = [*_without_rate(switch, up), *_without_rate(switch, edge)]
    if lacking:
        return unknown(UPLINK, where, ": 1", lacking, basis=basis)
    used = [port for port in edge if port.state == "used"]
    kept = [port for port in edge if port.state in ("planned", "marked")]
    now = oversubscription(_rates(used), _rates(up))
    then = oversubscription(_rates([*used, *kept]), _rates(up))
    full = oversubscription(_rates(edge), _rates(up))
    up_mbps = plain(sum(_rates(up)))
    steps = (
        Step("limit", "planning limit", limit.value, ": 1"),
        Step("in use", f"{plain(sum(_rates(used)))} / {up_mbps} Mb/s", now, ": 1"),
        Step("with what is planned", f"{plain(sum(_rates([*used, *kept])))} / {up_mbps} Mb/s",
             then, ": 1"),
        Step("every port in use", f"{plain(sum(_rates(edge)))} / {up_mbps} Mb/s", full, ": 1"),
    )  # fmt: skip
    return row(
        UPLINK, where, Budget(limit.value, now, then - now, ": 1", steps), rated=full,
        because=limit.because, basis=basis, tight=source.limits.tight,
        notes=[f"{plain(full)} : 1 with every port in use"],
        fix=lambda b: f"uplinks of {plain(sum(_rates([*used, *kept])) / limit.value)} Mb/s or more",
    )  # fmt: skip


def _rates(ports: Iterable[PortGroup]) -> list[float]:
    return [port.rate_mbps or 0.0 for port in ports for _ in range(port.ports)]


def _without_rate(switch: Hardware, ports: list[PortGroup]) -> Iterator[Need]:
    for port in ports:
        if port.rate_mbps is None:
            name = f"{switch.name}, {port.role} ports"
            yield Need(port.first_port_id, "port", name, "rate_mbps", "rate", port.ports)
