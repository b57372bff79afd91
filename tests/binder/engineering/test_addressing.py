"""IP plans against RFC 4632, 3021, 1918 and 5737, and against the standard library's own lists."""

from __future__ import annotations

from ipaddress import ip_address, ip_network
from itertools import combinations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from binder.engineering.addressing import (
    Plan,
    dhcp_budget,
    duplicates,
    network,
    overlaps,
    range_size,
    usable_hosts,
    use_of,
)


@pytest.mark.parametrize(
    ("prefix", "hosts"),
    [(24, 254), (25, 126), (26, 62), (27, 30), (28, 14), (29, 6), (30, 2), (31, 2), (32, 1)],
)
def test_usable_hosts(prefix: int, hosts: int) -> None:
    """RFC 4632, 2^(32-p) - 2; RFC 3021 for /31 (both from memory)."""
    assert usable_hosts(f"192.0.2.0/{prefix}") == hosts


@pytest.mark.parametrize(
    ("block", "first", "last"),
    [
        ("10.0.0.0/8", "10.0.0.0", "10.255.255.255"),
        ("172.16.0.0/12", "172.16.0.0", "172.31.255.255"),
        ("192.168.0.0/16", "192.168.0.0", "192.168.255.255"),
        ("100.64.0.0/10", "100.64.0.0", "100.127.255.255"),
    ],
)
def test_private_blocks_are_as_large_as_their_range(block: str, first: str, last: str) -> None:
    """RFC 1918 and RFC 6598 (from memory)."""
    assert usable_hosts(block) == range_size(first, last) - 2


@given(st.integers(0, 2**32 - 1), st.integers(20, 32))
def test_usable_hosts_are_those_that_ipaddress_lists(address: int, prefix: int) -> None:
    subnet = ip_network((address, prefix), strict=False)
    assert usable_hosts(str(subnet)) == len(list(subnet.hosts()))


@given(st.integers(0, 2**128 - 1), st.integers(118, 128))
def test_usable_ipv6_hosts_are_those_that_ipaddress_lists(address: int, prefix: int) -> None:
    subnet = ip_network((address, prefix), strict=False)
    assert usable_hosts(str(subnet)) == len(list(subnet.hosts()))


NETWORKS = st.lists(
    st.tuples(st.integers(0, 2**12 - 1), st.integers(20, 32)).map(
        lambda pair: str(ip_network((ip_address("10.0.0.0") + pair[0], pair[1]), strict=False))
    ),
    max_size=12,
)


@given(NETWORKS)
def test_overlaps_are_those_that_ipaddress_finds(cidrs: list[str]) -> None:
    named = [(f"N{n}", cidr) for n, cidr in enumerate(cidrs)]
    expected = {
        frozenset([one, other])
        for (one, a), (other, b) in combinations(named, 2)
        if ip_network(a).overlaps(ip_network(b))
    }
    found = overlaps(named)
    assert {frozenset(pair) for pair in found} == expected
    assert len(found) == len(expected)


def test_networks_of_two_versions_never_overlap() -> None:
    assert overlaps([("all of 4", "0.0.0.0/0"), ("all of 6", "::/0")]) == ()
    assert overlaps([("staff", "192.0.2.0/26"), ("guest", "192.0.2.64/26")]) == ()
    assert overlaps([("staff", "192.0.2.0/26"), ("all", "192.0.2.0/24")]) == (("all", "staff"),)


def test_what_is_no_network_is_refused() -> None:
    """RFC 4632: 203.0.113.0/22 has host bits set."""
    with pytest.raises(ValueError, match=r"network '203\.0\.113\.0/22': .*host bits set"):
        network("203.0.113.0/22")
    with pytest.raises(ValueError, match=r"network '192\.0\.2\.0/33'"):
        usable_hosts("192.0.2.0/33")


# Ranges and duplicates -----------------------------------------------------------------------


def test_both_ends_of_a_range_count() -> None:
    assert range_size("192.0.2.20", "192.0.2.60") == 41
    assert range_size("192.0.2.20", "192.0.2.20") == 1
    with pytest.raises(ValueError, match=r"range 192\.0\.2\.60 to 192\.0\.2\.20 -39 addresses"):
        range_size("192.0.2.60", "192.0.2.20")
    with pytest.raises(ValueError, match="IPv4 and IPv6 mixed"):
        range_size("192.0.2.1", "2001:db8::1")
    with pytest.raises(ValueError, match=r"address '192\.0\.2\.256'"):
        range_size("192.0.2.1", "192.0.2.256")


def test_one_address_written_two_ways_is_one_address() -> None:
    """RFC 4291 2.2: 2001:db8::1 and its long form (documentation prefix of RFC 3849)."""
    given_to = [("2001:db8::1", "PR1"), ("2001:0db8:0:0:0:0:0:1", "REC1"), ("192.0.2.9", "SW1")]
    assert duplicates(given_to) == {"2001:db8::1": ("PR1", "REC1")}


# Use -----------------------------------------------------------------------------------------


def staff(**changed: object) -> Plan:
    values = {
        "name": "staff",
        "cidr": "192.0.2.0/26",
        "gateway": "192.0.2.1",
        "dhcp_first": "192.0.2.20",
        "dhcp_last": "192.0.2.60",
        "fixed": (("192.0.2.2", "SW1"), ("192.0.2.3", "REC1")),
        "leased_fixed": (("192.0.2.20", "PR1"), ("192.0.2.10", "PR2")),
    }
    return Plan(**(values | changed))  # type: ignore[arg-type]


def test_every_usable_address_is_in_the_range_fixed_or_free() -> None:
    """Counted by hand: 62 hosts, 41 by DHCP; gateway, SW1, REC1 and PR2 outside it."""
    use = use_of(staff())
    assert (use.usable, use.dhcp, use.dhcp_kept, use.fixed, use.fixed_free) == (62, 41, 1, 4, 17)
    assert use.problems == ()


def test_a_gateway_that_is_recorded_as_hardware_counts_once() -> None:
    use = use_of(staff(fixed=(("192.0.2.1", "GW1"),)))
    assert use.fixed == 2
    assert use.problems == ()


def test_a_fixed_address_inside_the_range_is_a_conflict() -> None:
    use = use_of(staff(fixed=(("192.0.2.30", "REC1"),)))
    assert use.problems == ("REC1 has 192.0.2.30, which DHCP hands out as well",)


def test_what_is_wrong_with_a_plan_is_told() -> None:
    assert use_of(staff(gateway="192.0.2.65")).problems == (
        "the gateway has 192.0.2.65, which is not inside 192.0.2.0/26",
    )
    assert use_of(staff(dhcp_last="192.0.2.63")).problems == (
        "DHCP range takes in 192.0.2.63, which no host may have",
    )
    assert use_of(staff(dhcp_last="192.0.2.64")).problems[0] == (
        "DHCP range 192.0.2.20 to 192.0.2.64 is not inside 192.0.2.0/26"
    )
    assert use_of(staff(fixed=(("192.0.2.0", "SW1"),))).problems == (
        "SW1 has 192.0.2.0, which no host may have",
    )
    assert use_of(staff(fixed=(("192.0.2.10", "SW1"),))).problems == (
        "192.0.2.10 is given to SW1 and PR2",
    )
    with pytest.raises(ValueError, match="DHCP range of staff: has one end, needs both"):
        use_of(staff(dhcp_last=None))


def test_a_subnet_without_dhcp_is_all_for_fixed_addresses() -> None:
    bare = use_of(Plan("bare", "192.0.2.0/30"))
    assert (bare.usable, bare.dhcp, bare.fixed_free) == (2, 0, 2)
    full = use_of(Plan("full", "192.0.2.0/31", fixed=(("192.0.2.0", "A"), ("192.0.2.1", "B"))))
    assert (full.usable, full.fixed, full.fixed_free, full.problems) == (2, 2, 0, ())


@given(st.integers(20, 30), st.data())
def test_the_parts_of_a_subnet_add_up(prefix: int, data: st.DataObject) -> None:
    subnet = ip_network(f"10.0.0.0/{prefix}")
    inside = st.integers(1, subnet.num_addresses - 2)
    first, last = sorted((data.draw(inside), data.draw(inside)))
    fixed = data.draw(st.sets(inside, max_size=8))
    plan = Plan(
        "any", str(subnet), dhcp_first=str(subnet[first]), dhcp_last=str(subnet[last]),
        fixed=tuple((str(subnet[n]), f"H{n}") for n in fixed),
    )  # fmt: skip
    use = use_of(plan)
    assert use.dhcp + use.fixed + use.fixed_free == use.usable
    assert len(use.problems) == sum(first <= n <= last for n in fixed)


def test_a_range_leases_what_is_counted_or_at_least_what_it_keeps() -> None:
    use = use_of(staff())
    budget = dhcp_budget(use, leases=30, kept=4, planning_share=0.9)
    assert (budget.limit, budget.used, budget.reserved, budget.free) == (36, 30, 4, 2)
    uncounted = dhcp_budget(use, leases=None)
    assert (uncounted.used, uncounted.free) == (1, 40)
    assert "leases not counted" in uncounted.steps[1].working
    with pytest.raises(ValueError, match="DHCP range 0 addresses: must be finite, 1 addresses or"):
        dhcp_budget(use_of(Plan("bare", "192.0.2.0/30")), leases=3)
