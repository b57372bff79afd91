"""Addresses: subnets, addresses, wireless names."""

from __future__ import annotations

from binder.records.fields import (
    Kind,
    Rule,
    Type,
    choice,
    cleared,
    count,
    date,
    flag,
    identifier,
    of,
    ref,
    text,
)

DIVIDER = "Addresses"


def ipv4(column: str) -> str:
    """SQL for the 32-bit number of a dotted address held in `column`."""
    octets, rest = [], column
    for _ in range(4):
        octets.append(f"CAST({rest} AS INTEGER)")  # a cast reads the digits before the dot
        rest = f"substr({rest}, instr({rest}, '.') + 1)"
    return " + ".join(f"({octet} << {shift})"
                      for octet, shift in zip(octets, (24, 16, 8, 0), strict=True))


_NETWORK = "substr(cidr, 1, instr(cidr, '/') - 1)"
_HOST_BITS = "(32 - CAST(substr(cidr, instr(cidr, '/') + 1) AS INTEGER))"


def _inside(column: str) -> str:
    """SQL: the IPv4 address in `column` lies in the IPv4 network in `cidr`, or there is none.

    An address of the other version lies in no network of this one.
    """
    return (
        f"{column} IS NULL OR cidr IS NULL OR "
        f"(instr(cidr, ':') > 0) = (instr({column}, ':') > 0) AND (instr(cidr, ':') > 0 OR "
        f"(({ipv4(column)}) >> {_HOST_BITS}) = (({ipv4(_NETWORK)}) >> {_HOST_BITS}))"
    )


SUBNET = Kind(
    "subnet", "subnets", "Subnet", DIVIDER,
    "A subnet and its VLAN.",
    (
        identifier("What it is called.", "staff", "Name"),
        count("vlan", "VLAN", "1 to 4094 (IEEE 802.1Q).", "20", minimum=1, maximum=4094),
        of(Type.CIDR, "cidr", "Network", "", "192.0.2.0/26"),
        of(Type.IP, "gateway", "Gateway", "", "192.0.2.1"),
        of(Type.IP, "dhcp_first", "DHCP from", "First address handed out.", "192.0.2.20"),
        of(Type.IP, "dhcp_last", "DHCP to", "Last address handed out.", "192.0.2.60"),
        cleared(ref("dhcp_server", "DHCP by", "hardware", "", "GW1")),
        text("name_servers", "Name servers", "", "192.0.2.1"),
        text("dns_suffix", "DNS suffix", "", "quillmere.example"),
        text("purpose", "Purpose", "", "staff computers"),
        text("firewall_zone", "Firewall zone", "", "inside"),
    ),
    columns=("vlan", "cidr", "gateway", "purpose"), statuses=("current", "planned", "former"),
    rules=(
        Rule(_inside("gateway"), "the gateway must lie inside its subnet"),
        Rule(_inside("dhcp_first"), "the DHCP range must lie inside its subnet"),
        Rule(_inside("dhcp_last"), "the DHCP range must lie inside its subnet (last address)"),
        Rule("(dhcp_first IS NULL) = (dhcp_last IS NULL)", "a DHCP range needs both its ends"),
        Rule("(instr(dhcp_first, ':') > 0) = (instr(dhcp_last, ':') > 0)",
             "both ends of a DHCP range are of one IP version"),
        Rule("dhcp_first IS NULL OR instr(dhcp_first, ':') > 0 OR "
             f"({ipv4('dhcp_first')}) <= ({ipv4('dhcp_last')})",
             "a DHCP range must not end before it starts"),
    ),
)

ADDRESS = Kind(
    "address", "addresses", "Address", DIVIDER,
    "An address in use, fixed or reserved.",
    (
        of(Type.IP, "ip", "IP", "", "192.0.2.10", required=True),
        cleared(ref("subnet", "Subnet", "subnet", "", "staff")),
        of(Type.MAC, "mac", "MAC", "", "00-00-5E-00-53-0A"),
        text("hostname", "Host name", "", "printer1"),
        cleared(ref("hardware", "Hardware", "hardware", "", "PR1")),
        choice("assigned", "Assigned", "fixed, DHCP reservation, DHCP", required=True,
               default="fixed"),
        date("seen_on", "Seen on"),
    ),
    named_by=("ip",), columns=("hostname", "hardware", "mac", "subnet"),
    statuses=("current", "planned", "former"), unique_together=(("ip",),),
)

SSID = Kind(
    "ssid", "ssids", "SSID", DIVIDER,
    "A wireless network name (IEEE 802.11).",
    (
        identifier("The name as devices see it.", "Quillmere Guest", "SSID"),
        cleared(ref("subnet", "Subnet", "subnet", "", "guest")),
        choice("security", "Security",
               "WPA3-Personal, WPA2-Personal, WPA3-Enterprise, WPA2-Enterprise, open",
               required=True, default="WPA2-Personal"),
        choice("band", "Bands", "2.4 and 5 GHz, 5 GHz, 2.4 GHz, 6 GHz, all"),
        flag("hidden", "Hidden"),
        flag("guest", "Guest", "Cut off from the client's own subnets."),
        text("purpose", "Purpose", "", "visitors in the waiting room"),
    ),
    columns=("security", "subnet", "purpose"), statuses=("current", "planned", "former"),
)

KINDS = (SUBNET, ADDRESS, SSID)

