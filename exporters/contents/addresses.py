"""The address plan: subnets, addresses in use, wireless names."""

from __future__ import annotations

from exporters.contents.parts import Column, counted, joined, schedule
from exporters.model import Block, Paragraph, Part, Section
from exporters.source import Source


def addresses(source: Source) -> Section:
    """Addresses through which equipment is managed are left out for the client, and counted."""
    dhcp = Column(
        "DHCP",
        lambda s: joined(source.shown(s, "dhcp_first"), source.shown(s, "dhcp_last"), by=" to "),
        ("dhcp_first", "dhcp_last"),
    )
    withheld: tuple[Block, ...] = ()
    if missing := source.withheld_addresses:
        withheld = (
            Paragraph(
                f"Not in this document: {counted(missing, 'address', 'addresses')} through which "
                "equipment is managed. The integrator keeps the list."
            ),
        )
    subnets = schedule(
        source, source.of("subnet"), "vlan", "cidr", "gateway", dhcp, "dhcp_server", "purpose",
        "firewall_zone",
    )  # fmt: skip
    in_use = schedule(
        source, source.of("address"), "hostname", "hardware", "mac", "assigned", "subnet",
        "seen_on",
    )  # fmt: skip
    wireless = schedule(source, source.of("ssid"), "security", "band", "subnet", "guest", "purpose")
    return Section(
        "addresses",
        "Address plan",
        (
            Part("Subnets", subnets),
            Part("Addresses in use", (*in_use, *withheld)),
            Part("Wireless networks", wireless),
        ),
    )
