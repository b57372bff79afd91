"""Rows of carrier circuits and access points: traffic against the rate, clients against a count."""

from __future__ import annotations

from collections.abc import Iterator
from functools import partial
from typing import Final

from binder.engineering.figures import Budget, Step, plain
from binder.engineering.traffic import circuit_budget
from binder.headroom.attempt import attempt
from binder.headroom.rows import Need, Row, row, unknown
from binder.headroom.source import Source, missing, need_reading
from binder.headroom.tables import Circuit, Hardware

RATE: Final = "circuit rate"
CLIENTS: Final = "wireless clients"
_PERCENTILE: Final = "rate 95th percentile Mb/s"


def rows(source: Source) -> Iterator[Row]:
    """A row a circuit that carries data, and one an access point whose clients were counted."""
    for circuit in source.circuits.values():
        if circuit.status == "installed" and circuit.carries_data:
            where = source.where("circuit", circuit, circuit.demarc_space_id)
            yield attempt(RATE, where, "Mb/s", partial(_rate, source, circuit))
    for point in source.standing("access point"):
        if source.readings(point.id, CLIENTS):
            yield _clients(source, point)


def _rate(source: Source, circuit: Circuit) -> Row:
    where = source.where("circuit", circuit, circuit.demarc_space_id)
    limit, basis = source.limits["circuit rate percent"], "95th percentile, nearest rank, as read"
    measured = source.latest(circuit.id, _PERCENTILE, "Mb/s")
    if circuit.rate_down_mbps is None or measured is None:
        needs: list[Need] = [*missing("circuit", circuit, "rate_down_mbps")]
        if measured is None:
            needs.append(need_reading("circuit", circuit, _PERCENTILE))
        return unknown(RATE, where, "Mb/s", needs, basis=basis, measured=measured)
    budget = circuit_budget(circuit.rate_down_mbps, measured.value, 0.0, limit.share)
    notes = ["compared with the rate down; a reading has no direction"]
    if circuit.rate_up_mbps is not None and circuit.rate_up_mbps < circuit.rate_down_mbps:
        notes.append(f"the rate up is {plain(circuit.rate_up_mbps)} Mb/s")
    return row(
        RATE, where, budget, rated=circuit.rate_down_mbps, because=limit.because, basis=basis,
        tight=source.limits.tight, measured=measured, notes=notes,
        fix=lambda b: f"a circuit of {plain(b.used / limit.share)} Mb/s or more",
    )  # fmt: skip


def _clients(source: Source, point: Hardware) -> Row:
    limit = source.limits[CLIENTS]
    measured = source.latest(point.id, CLIENTS, "clients")
    count = measured.value if measured else 0.0
    steps = (
        Step("limit", "planning limit", limit.value, "clients", limit.because),
        Step("measured", measured.at[:10] if measured else "", count, "clients"),
    )
    return row(
        CLIENTS, source.of_hardware(point), Budget(limit.value, count, 0.0, "clients", steps),
        rated=None, because=limit.because, basis="clients as read", tight=source.limits.tight,
        measured=measured,
        fix=lambda b: "another access point",
    )  # fmt: skip
