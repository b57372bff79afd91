"""Rows of addresses: each DHCP range, and the fixed addresses outside it."""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Iterator
from typing import Final

from binder.engineering.addressing import Plan, Use, dhcp_budget, range_size, use_of
from binder.engineering.figures import Budget, Step, plain
from binder.headroom.attempt import attempt
from binder.headroom.feeds import PoeFeeds
from binder.headroom.rows import Measured, Row, row, unknown
from binder.headroom.source import Source, missing, need_reading
from binder.headroom.tables import Address, Subnet

DHCP: Final = "DHCP addresses"
FIXED: Final = "fixed addresses"


def rows(source: Source, feeds: PoeFeeds) -> Iterator[Row]:
    """Of each subnet: its DHCP range where it has one; of IPv4 the addresses outside it too."""
    given: defaultdict[int, list[Address]] = defaultdict(list)
    for address in source.addresses:
        if address.subnet_id is not None:
            given[address.subnet_id].append(address)
    planned = _planned(source, feeds)
    for subnet in source.subnets.values():
        yield from _of_subnet(source, subnet, given[subnet.id], planned[subnet.id])


def _planned(source: Source, feeds: PoeFeeds) -> Counter[int]:
    """Subnet id -> planned hardware that will want an address: by the VLAN of the port it is
    planned on. Hardware that has an address recorded is left out."""
    by_vlan = {s.vlan: s.id for s in source.subnets.values() if s.vlan is not None}
    addressed = {address.hardware_id for address in source.addresses}
    found: Counter[int] = Counter()
    seen: set[int] = set()
    for way in feeds.ways:
        hardware = source.hardware.get(way.hardware_id)
        if hardware is None or not hardware.is_planned or hardware.id in addressed | seen:
            continue
        if way.far_vlan in by_vlan:
            seen.add(hardware.id)
            found[by_vlan[way.far_vlan]] += 1
    return found


def _of_subnet(source: Source, subnet: Subnet, given: list[Address], planned: int) -> Iterator[Row]:
    where = source.where("subnet", subnet)
    kept = planned + int(sum(r.quantity for r in source.reserved(subnet.id, "addresses")))
    if subnet.cidr is None:
        lacking = missing("subnet", subnet, "cidr")
        yield unknown(FIXED, where, "addresses", lacking)
        return
    to_dhcp = subnet.dhcp_first is not None
    if to_dhcp:
        yield attempt(
            DHCP, where, "addresses", lambda: _dhcp(source, subnet, _use(subnet, given), kept)
        )
    if ":" not in subnet.cidr:
        rest = 0 if to_dhcp else kept
        yield attempt(FIXED, where, "addresses", lambda: _fixed(source, subnet, given, rest))


def _use(subnet: Subnet, given: list[Address], *, planned: bool = False) -> Use:
    """How the addresses are used, with those planned when asked; leases of DHCP are counted by
    readings, not by records."""
    chosen = [a for a in given if planned or a.status != "planned"]
    return use_of(
        Plan(
            subnet.name,
            subnet.cidr or "",
            subnet.gateway,
            subnet.dhcp_first,
            subnet.dhcp_last,
            tuple((a.ip, a.name) for a in chosen if a.assigned == "fixed"),
            tuple((a.ip, a.name) for a in chosen if a.assigned == "DHCP reservation"),
        )
    )


def _dhcp(source: Source, subnet: Subnet, use: Use, kept: int) -> Row:
    limit = source.limits["DHCP range percent"]
    measured = source.latest(subnet.id, "DHCP leases", "addresses")
    leases = None if measured is None else int(measured.value)
    budget = dhcp_budget(use, leases, kept, limit.share)
    lacking = [] if measured else [need_reading("subnet", subnet, "DHCP leases")]
    return row(
        DHCP, source.where("subnet", subnet), budget, rated=use.dhcp, because=limit.because,
        basis="range less leases as read", tight=source.limits.tight, missing=lacking,
        measured=measured,
        notes=use.problems,
        fix=lambda b: _wider(subnet, use, b, measured, limit.share),
    )  # fmt: skip


def _wider(
    subnet: Subnet, use: Use, budget: Budget, measured: Measured | None, share: float
) -> str:
    more = int(-budget.free / share + 0.999)
    if use.fixed_free >= more:
        return f"a range {more} addresses wider: {use.fixed_free} lie free outside it"
    used = int(measured.value) if measured else use.dhcp_kept
    return f"a larger network for {subnet.name}, or shorter leases: {used} leases were read"


def _fixed(source: Source, subnet: Subnet, given: list[Address], kept: int) -> Row:
    use, then = _use(subnet, given), _use(subnet, given, planned=True)
    limit = source.limits["fixed addresses percent"]
    rated = use.usable - use.dhcp
    most = int(rated * limit.share + 1e-9)
    reserved = kept + max(0, then.fixed - use.fixed)
    steps = (
        Step("limit", f"({use.usable} usable - {_range(subnet)} DHCP) × {plain(limit.share)}",
             most, "addresses", "RFC 4632, RFC 3021"),
        Step("used", "addresses recorded, and the gateway", use.fixed, "addresses"),
        Step("planned or reserved", "planned hardware on its VLAN and reservations", reserved,
             "addresses"),
    )  # fmt: skip
    return row(
        FIXED, source.where("subnet", subnet),
        Budget(most, use.fixed, reserved, "addresses", steps), rated=rated,
        because=limit.because, basis="addresses recorded outside the DHCP range",
        tight=source.limits.tight, notes=use.problems,
        fix=lambda b: f"{plain(-b.free)} addresses more: a shorter DHCP range or a larger network",
    )  # fmt: skip


def _range(subnet: Subnet) -> int:
    if subnet.dhcp_first is None or subnet.dhcp_last is None:
        return 0
    return range_size(subnet.dhcp_first, subnet.dhcp_last)
