"""The invented client harms nobody, hangs together, and is as old as it says on any day."""

from __future__ import annotations

import ipaddress
import re
from collections import defaultdict
from collections.abc import Iterator
from datetime import date, timedelta
from pathlib import Path
from typing import Any
from urllib.parse import urlsplit

import pytest
from hypothesis import given
from hypothesis import strategies as st

from binder.file import create
from binder.intake.json_form import load
from binder.records.catalog import BY_PLURAL
from binder.records.fields import Type
from binder.tia606 import BuildingBackbone, HorizontalLink, read_as
from binder.verify import verify
from demo.build import client_data
from demo.series import names, written_out

TODAY = date(2026, 3, 14)
DATA = client_data(TODAY)
DAYS = st.dates(date(2020, 1, 1), date(2099, 12, 31))

# RFC 1918 section 3 (private), RFC 5737 section 3 (documentation)
NO_ONES_NETWORKS = [
    ipaddress.IPv4Network(text)
    for text in (
        "10.0.0.0/8",
        "172.16.0.0/12",
        "192.168.0.0/16",
        "192.0.2.0/24",
        "198.51.100.0/24",
        "203.0.113.0/24",
    )
]


def values(*types: Type) -> Iterator[Any]:
    """Every value in the data held by a field of one of these types; of all, when none is named."""
    for plural, kind in BY_PLURAL.items():
        fields = [f.name for f in kind.all_fields if not types or f.type in types]
        for record in DATA.get(plural, ()):
            yield from (record[name] for name in fields if record.get(name) is not None)


def texts_like(pattern: str) -> list[str]:
    """Everything of that pattern in any text, notes and descriptions included."""
    return [found for value in values() for found in re.findall(pattern, str(value))]


# Nobody's addresses. ----------------------------------------------------------------------


def test_every_address_is_private_or_for_documentation() -> None:
    # RFC 1918 section 3; RFC 5737 section 3
    addresses = texts_like(r"\b\d{1,3}(?:\.\d{1,3}){3}\b")
    assert len(set(addresses)) > 60
    strays = {
        a for a in addresses if not any(ipaddress.ip_address(a) in n for n in NO_ONES_NETWORKS)
    }
    assert not strays


def test_public_addresses_are_those_for_documentation() -> None:
    # RFC 5737 section 3: what a carrier hands out is public, so never one of RFC 1918
    for circuit in DATA["circuits"]:
        block = ipaddress.IPv4Network(circuit["address_block"])
        assert any(block.subnet_of(network) for network in NO_ONES_NETWORKS[3:])


def test_every_mac_is_for_documentation_and_belongs_to_one_device() -> None:
    # RFC 9542: 00-00-5E-00-53-00 to 00-00-5E-00-53-FF
    documentation = re.compile(r"00-00-5E-00-53-[0-9A-F]{2}")
    assert all(documentation.fullmatch(mac) for mac in values(Type.MAC))
    macs = [hardware["mac"] for hardware in DATA["hardware"] if "mac" in hardware]
    assert len(macs) == len(set(macs)) > 50


def test_an_address_has_the_mac_of_its_hardware() -> None:
    # RFC 826: an address resolves to one hardware address
    macs = {hardware["identifier"]: hardware.get("mac") for hardware in DATA["hardware"]}
    for address in DATA["addresses"]:
        if "mac" in address:
            assert address["mac"] == macs[address["hardware"]]


def test_every_telephone_number_is_fictional() -> None:
    # 555-0100 to 555-0199 are kept for fiction (North American Numbering Plan; value from memory)
    fictional = re.compile(r"\+1 \d{3} 555 01\d\d")
    assert all(fictional.fullmatch(number) for number in values(Type.PHONE))
    assert all(
        fictional.fullmatch(number)
        for number in texts_like(r"\+?1?[ -]?\(?\d{3}\)?[ -]\d{3}[ -]\d{4}")
    )


def test_every_domain_is_reserved() -> None:
    # RFC 2606 section 2: the top-level domain .example
    hosts = [urlsplit(url).hostname or "" for url in values(Type.URL)]
    hosts += [text.rpartition("@")[2] for text in texts_like(r"[\w.-]+@[\w.-]+\w")]
    hosts += [text for text in texts_like(r"\b[\w-]+(?:\.[\w-]+)*\.(?:com|net|org|example|test)\b")]
    assert len(hosts) > 20
    assert all(host.endswith(".example") or is_address(host) for host in hosts)


def is_address(host: str) -> bool:
    return re.fullmatch(r"[\d.]+", host) is not None


# A site that hangs together. --------------------------------------------------------------


def test_it_loads_whole_and_every_reference_resolves(tmp_path: Path) -> None:
    # binder/FORMAT.md: what the JSON form demands, and what the database keeps true
    with create(tmp_path / "quillmere.binder", "Quillmere Veterinary Clinic") as binder:
        loaded = load(binder, DATA, "test")
        assert verify(binder) == ()
    assert loaded == {plural: len(DATA[plural]) for plural in DATA if plural != "format"}


def test_every_kind_of_record_is_shown_but_the_computed_one() -> None:
    # own: the demo is what every screen and document is judged on; a review is computed, not typed
    assert BY_PLURAL.keys() - DATA.keys() == {"reviews", "actions"}


def test_links_are_named_as_the_standard_names_them() -> None:
    # ANSI/TIA-606-A: horizontal link fs-an, backbone cable fs1/fs2-n
    links = [link["identifier"] for link in DATA["links"]]
    horizontal = [link for link in links if not read_as(HorizontalLink, link).problem]
    backbone = [link for link in links if not read_as(BuildingBackbone, link).problem]
    assert len(horizontal) >= 60
    assert len(backbone) == 6
    assert len(horizontal) + len(backbone) == len(links)


def test_one_link_is_longer_than_the_standard_allows() -> None:
    # ANSI/TIA-568.2-D: a permanent link is at most 90 m, a channel with its cords at most 100 m
    lengths = {link["identifier"]: link["length_m"] for link in DATA["links"]}
    assert [name for name, length in lengths.items() if length > 90] == ["1A-B20"]
    assert all(12 <= length <= 85 for name, length in lengths.items() if name != "1A-B20")
    cords = [
        c["length_m"] for c in DATA["cords"] if {c["port_a"], c["port_b"]} & {"1A-B:20", "OUT2-2:A"}
    ]
    assert lengths["1A-B20"] + sum(cords) == pytest.approx(100.4)


def test_every_patched_outlet_leads_to_a_hand_off_of_a_carrier() -> None:
    # own: as wired; a switch and a gateway pass on from any port to their uplinks
    ahead: dict[str, set[str]] = defaultdict(set)
    for way in DATA["links"] + DATA["cords"]:
        if way.get("status") in (None, "installed") and way.get("port_b"):
            ahead[way["port_a"]].add(way["port_b"])
            ahead[way["port_b"]].add(way["port_a"])
    active = {
        h["identifier"] for h in DATA["hardware"] if h["form"] in ("switch", "gateway", "phone")
    }
    uplinks = defaultdict(set)
    for port in DATA["ports"]:
        if port.get("role") == "uplink":
            uplinks[port["hardware"]].add(f"{port['hardware']}:{port['label']}")
    for port in DATA["ports"]:
        if port["hardware"] in active:
            ahead[f"{port['hardware']}:{port['label']}"] |= uplinks[port["hardware"]]
    outlets = {h["identifier"] for h in DATA["hardware"] if h["form"] == "outlet"}
    patched = {
        end
        for cord in DATA["cords"]
        for end in (cord["port_a"], cord["port_b"])
        if end.partition(":")[0] in outlets and cord.get("status") != "planned"
    }
    hand_offs = {circuit["handoff_port"] for circuit in DATA["circuits"]}
    assert len(patched) > 40
    assert all(reached(ahead, outlet) & hand_offs for outlet in patched)


def reached(ahead: dict[str, set[str]], start: str) -> set[str]:
    seen, waiting = {start}, [start]
    while waiting:
        new = ahead[waiting.pop()] - seen
        seen |= new
        waiting += new
    return seen


def test_no_port_is_patched_to_a_marked_bad_one() -> None:
    # own: a bad port is out of use until somebody has mended it
    bad = {f"{p['hardware']}:{p['label']}" for p in DATA["ports"] if p.get("condition") == "bad"}
    ends = {end for cord in DATA["cords"] for end in (cord["port_a"], cord["port_b"])}
    assert len(bad) >= 3
    assert not bad & ends


def test_typed_text_holds_marks_that_other_languages_act_on() -> None:
    # own: marks of Markdown and HTML, so that a document that lets them through is seen to
    everything = "\n".join(str(value) for value in values())
    assert all(mark in everything for mark in ("|", "**", "`", "<2>", " & ", "_"))


# As old as it says. -----------------------------------------------------------------------


@given(DAYS)
def test_a_day_gives_the_same_data_each_time(today: date) -> None:
    assert client_data(today) == client_data(today)


@given(DAYS)
def test_a_later_day_moves_what_is_counted_in_days_by_as_much(today: date) -> None:
    def accepted(day: date) -> date:
        return date.fromisoformat(client_data(day)["clients"][0]["accepted_on"])

    assert accepted(today) == today - timedelta(days=616)
    assert accepted(today + timedelta(days=5)) - accepted(today) == timedelta(days=5)


@given(DAYS)
def test_nothing_in_the_log_has_yet_to_happen(today: date) -> None:
    entries = client_data(today)["log_entries"]
    opened = [entry["opened_at"] for entry in entries]
    assert opened == sorted(opened)
    assert all(entry["opened_at"] < entry["closed_at"] for entry in entries)
    assert max(entry["closed_at"] for entry in entries) < today.isoformat()


@given(DAYS)
def test_the_log_covers_a_year(today: date) -> None:
    entries = client_data(today)["log_entries"]
    first = date.fromisoformat(entries[0]["opened_at"][:10])
    assert len(entries) >= 35
    assert 350 <= (today - first).days <= 380


def test_a_clock_on_the_wall_is_kept_in_universal_time() -> None:
    # RFC 3339 section 5.6; US Central Time is UTC-6, from the second Sunday in March UTC-5
    # (15 U.S.C. 260a, 263)
    def first_call(today: date) -> str:
        return str(client_data(today)["log_entries"][1]["opened_at"])  # at 09:40, 50 weeks ago

    assert first_call(date(2027, 1, 14)) == "2026-01-29T15:40:00Z"
    assert first_call(date(2027, 6, 14)) == "2026-07-02T14:40:00Z"


# Short ways of writing. -------------------------------------------------------------------


def test_names_in_series_keep_their_digits() -> None:
    # ANSI/TIA-606-A: a port has two to four digits, 01 and not 1
    assert names("08..11") == ["08", "09", "10", "11"]
    assert names("WAN1, LAN1..LAN3, PON") == ["WAN1", "LAN1", "LAN2", "LAN3", "PON"]


def test_a_row_takes_what_is_the_same_and_leaves_short_ends_empty() -> None:
    table = {"same": {"gauge_awg": 23}, "columns": ["identifier", "length_m"], "rows": [["A"]]}
    assert list(written_out([table])) == [{"gauge_awg": 23, "identifier": "A"}]


def test_a_row_longer_than_its_columns_is_refused() -> None:
    with pytest.raises(ValueError, match="longer than its columns"):
        list(written_out([{"columns": ["ip"], "rows": [["192.0.2.1", "sw1"]]}]))


def test_a_difference_for_a_port_that_is_not_there_is_refused() -> None:
    with pytest.raises(ValueError, match="SW1 has no port 25"):
        list(written_out([{"ports_of": "SW1", "labels": "01..24", "but": {"25": {"vlan": 10}}}]))
