"""IP plans: usable hosts, overlapping subnets, DHCP ranges, fixed addresses, what is free.

RFC 4632 (prefixes), RFC 3021 (31-bit prefixes), RFC 4291 (IPv6). Addresses are read and ordered by
the standard library's `ipaddress`.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass
from ipaddress import (
    IPv4Address,
    IPv4Network,
    IPv6Address,
    IPv6Network,
    ip_address,
    ip_network,
)

from binder.engineering.figures import Budget, Step, require

Network = IPv4Network | IPv6Network
Address = IPv4Address | IPv6Address


@dataclass(frozen=True, slots=True)
class Plan:
    """A subnet as planned. Addresses are text; the DHCP range has both its ends or neither.

    `fixed` are addresses set by hand, `leased_fixed` those DHCP keeps for one device, each with the
    name of what has it.
    """

    name: str
    cidr: str
    gateway: str | None = None
    dhcp_first: str | None = None
    dhcp_last: str | None = None
    fixed: tuple[tuple[str, str], ...] = ()
    leased_fixed: tuple[tuple[str, str], ...] = ()


@dataclass(frozen=True, slots=True)
class Use:
    """The addresses of a subnet, each counted once, and sentences on what is wrong with the plan.

    `dhcp` is the whole range; `fixed_free` are those outside it that nothing has yet.
    """

    usable: int
    dhcp: int
    dhcp_kept: int
    fixed: int
    fixed_free: int
    problems: tuple[str, ...]


def network(cidr: str) -> Network:
    """The network of a CIDR. Raises ValueError when it is none, or has host bits set."""
    try:
        return ip_network(cidr)
    except ValueError as error:
        raise ValueError(f"network {cidr!r}: {error}") from error


def usable_hosts(cidr: str) -> int:
    """How many hosts a prefix has room for: 2^(32-p) - 2 (RFC 4632), 2 of a /31 (RFC 3021), 1.

    Of IPv6 all but the subnet-router address (RFC 4291 2.6.1), and all of /127 (RFC 6164) and /128.
    Raises ValueError for what is no network.
    """
    return _usable(network(cidr))


def overlaps(cidrs: Iterable[tuple[str, str]]) -> tuple[tuple[str, str], ...]:
    """The pairs of names whose networks overlap, in order of address.

    Raises ValueError for what is no network.
    """
    found = []
    by_address = sorted(
        ((network(cidr), name) for name, cidr in cidrs),
        key=lambda pair: (pair[0].version, int(pair[0].network_address), pair[0].prefixlen),
    )
    around: list[tuple[Network, str]] = []  # networks that reach to where we are
    for one, name in by_address:
        around = [pair for pair in around if _last(pair[0]) >= _first(one)]
        found += [(other, name) for _, other in around]
        around.append((one, name))
    return tuple(found)


def duplicates(addresses: Iterable[tuple[str, str]]) -> dict[str, tuple[str, ...]]:
    """Addresses that more than one thing has, and what has them.

    Written forms of one address are the same. Raises ValueError for what is no address.
    """
    holders: defaultdict[Address, list[str]] = defaultdict(list)
    for address, name in addresses:
        holders[_address(address)].append(name)
    return {str(ip): tuple(names) for ip, names in holders.items() if len(names) > 1}


def range_size(first: str, last: str) -> int:
    """How many addresses a range has, both ends counted.

    Raises ValueError for what is no address, two versions, or a range that ends before it starts.
    """
    start, end = _address(first), _address(last)
    if start.version != end.version:
        raise ValueError(f"range {first} to {last}: IPv4 and IPv6 mixed")
    size = int(end) - int(start) + 1
    require(f"range {first} to {last}", size, "addresses", 1)
    return size


def use_of(plan: Plan) -> Use:
    """How a subnet's addresses are used, the gateway's among the fixed.

    An address inside the DHCP range counts there and nowhere else. Raises ValueError for what is no
    network or address, or a DHCP range with one end.
    """
    subnet, dhcp, fixed = network(plan.cidr), _dhcp(plan), _fixed(plan)
    leased = {_address(ip) for ip, _ in plan.leased_fixed}
    given = {_address(ip) for ip, _ in fixed} | leased
    outside = {ip for ip in given if ip in subnet and not _within(ip, dhcp)}
    outside -= _not_for_hosts(subnet)
    usable = _usable(subnet)
    dhcp_size = int(dhcp[1]) - int(dhcp[0]) + 1 if dhcp else 0
    return Use(
        usable=usable,
        dhcp=dhcp_size,
        dhcp_kept=sum(_within(ip, dhcp) for ip in leased),
        fixed=len(outside),
        fixed_free=max(0, usable - dhcp_size - len(outside)),
        problems=tuple(_problems(plan, subnet, dhcp, fixed)),
    )


def dhcp_budget(use: Use, leases: int | None, kept: int = 0, planning_share: float = 1.0) -> Budget:
    """What a DHCP range can still lease. `leases` as counted, or None: then only what it keeps.

    Without a count this is the most that can be free, and the step says so. Raises ValueError for a
    negative count, a share outside 0 to 1, or a subnet without a range.
    """
    require("DHCP range", use.dhcp, "addresses", 1)
    require("planned addresses", kept, "")
    require("planning share", planning_share, "", 0, 1)
    if leases is None:
        used, told = use.dhcp_kept, "kept for one device each; leases not counted, so at least"
    else:
        require("leases", leases, "")
        used, told = max(leases, use.dhcp_kept), "leases as counted"
    limit = int(use.dhcp * planning_share + 1e-9)
    steps = (
        Step("limit", f"{use.dhcp} × {planning_share:g}, whole addresses", limit, "addresses"),
        Step("leased", told, used, "addresses"),
    )
    return Budget(limit, used, kept, "addresses", steps)


def _usable(subnet: Network) -> int:
    return subnet.num_addresses - len(_not_for_hosts(subnet))


def _not_for_hosts(subnet: Network) -> set[Address]:
    if subnet.prefixlen >= subnet.max_prefixlen - 1:
        return set()
    if isinstance(subnet, IPv6Network):
        return {subnet.network_address}
    return {subnet.network_address, subnet.broadcast_address}


def _dhcp(plan: Plan) -> tuple[Address, Address] | None:
    if plan.dhcp_first is None and plan.dhcp_last is None:
        return None
    if plan.dhcp_first is None or plan.dhcp_last is None:
        raise ValueError(f"DHCP range of {plan.name}: has one end, needs both")
    range_size(plan.dhcp_first, plan.dhcp_last)
    return _address(plan.dhcp_first), _address(plan.dhcp_last)


def _fixed(plan: Plan) -> list[tuple[str, str]]:
    """Fixed addresses, and the gateway's unless something recorded has it."""
    fixed = list(plan.fixed)
    if plan.gateway and _address(plan.gateway) not in {_address(ip) for ip, _ in fixed}:
        fixed.append((plan.gateway, "the gateway"))
    return fixed


def _problems(
    plan: Plan,
    subnet: Network,
    dhcp: tuple[Address, Address] | None,
    fixed: list[tuple[str, str]],
) -> Iterable[str]:
    if dhcp:
        if any(end not in subnet for end in dhcp):
            yield f"DHCP range {dhcp[0]} to {dhcp[1]} is not inside {subnet}"
        for ip in sorted(_not_for_hosts(subnet), key=int):
            if _within(ip, dhcp):
                yield f"DHCP range takes in {ip}, which no host may have"
    for address, name in fixed:
        ip = _address(address)
        if ip not in subnet:
            yield f"{name} has {ip}, which is not inside {subnet}"
        elif ip in _not_for_hosts(subnet):
            yield f"{name} has {ip}, which no host may have"
        elif _within(ip, dhcp):
            yield f"{name} has {ip}, which DHCP hands out as well"
    for address, names in duplicates([*fixed, *plan.leased_fixed]).items():
        yield f"{address} is given to {' and '.join(names)}"


def _within(ip: Address, ends: tuple[Address, Address] | None) -> bool:
    if ends is None or ip.version != ends[0].version:
        return False
    return int(ends[0]) <= int(ip) <= int(ends[1])


def _address(text: str) -> Address:
    try:
        return ip_address(text)
    except ValueError as error:
        raise ValueError(f"address {text!r}: {error}") from error


def _first(subnet: Network) -> tuple[int, int]:
    return subnet.version, int(subnet.network_address)


def _last(subnet: Network) -> tuple[int, int]:
    return subnet.version, int(subnet.broadcast_address)
