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
    every = source.of("address")
    told = [address for address in every if not source.is_withheld(address["ip"])]
    withheld: tuple[Block, ...] = ()
    if missing := len(every) - len(told):
        withheld = (
            Paragraph(
                f"Not in this document: {counted(missing, 'address', 'addresses')} through which "
                "equipment is managed. The integrator keeps the list."
            ),
        )
    return Section(
        "addresses",
        "Address plan",
        (
            Part(
                "Subnets",
                schedule(
                    source, source.of("subnet"), "vlan", "cidr", "gateway", dhcp, "dhcp_server",
                    "purpose", "firewall_zone",
                ),
            ),
            Part(
                "Addresses in use",
                (
                    *schedule(
                        source, told, "hostname", "hardware", "mac", "assigned", "subnet", "seen_on"
                    ),
                    *withheld,
                ),
            ),
            Part(
                "Wireless networks",
                schedule(source, source.of("ssid"), "security", "band", "subnet", "guest",
                         "purpose"),
            ),
        ),
    )  # fmt: skip
