"""Binders to test on: an empty one, and the closet of a small clinic. All data is invented."""

from __future__ import annotations

import contextlib
import sqlite3
from collections.abc import Callable, Iterator
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

import pytest
from hypothesis import HealthCheck, settings

from binder.edit import Editor
from binder.file import BinderFile, create
from binder.read import resolve
from binder.records.catalog import BY_NAME
from binder.step import Step

# How fast the machine is says nothing of the program: `tests.bench` measures, beside a floor.
settings.register_profile(
    "unhurried", deadline=None, suppress_health_check=[HealthCheck.too_slow], print_blob=True
)
settings.load_profile("unhurried")

Add = Callable[..., int]


def add_by_name(binder: BinderFile, step: Step, kind: str, **values: Any) -> int:
    """Add a record whose references are given by the names of what they refer to."""
    declared = BY_NAME[kind]
    for name, value in values.items():
        field = declared.field(name)
        if field.is_reference and isinstance(value, str):
            values[name] = resolve(binder, value, field.target).id
    return step.add(kind, values)


@pytest.fixture
def binder(tmp_path: Path) -> Iterator[BinderFile]:
    """A binder that holds its client's sheet and nothing else; units are metric."""
    with create(
        tmp_path / "quillmere.binder", "Quillmere Veterinary Clinic", unit_system="metric"
    ) as binder:
        yield binder


def in_march(binder: BinderFile) -> Editor:
    return Editor(binder, "M. Osei", clock=lambda: datetime(2026, 3, 14, 9, 40, tzinfo=UTC))


@pytest.fixture
def editor(binder: BinderFile) -> Editor:
    """M. Osei writes, on the 14th of March 2026 at 09:40 UTC."""
    return in_march(binder)


@pytest.fixture
def add(binder: BinderFile, editor: Editor) -> Add:
    """`add("cord", port_a="1A-A:02", port_b="SW1:02")` in a step of its own; gives the id."""

    def add(kind: str, **values: Any) -> int:
        with editor.step(f"add {kind}") as step:
            return add_by_name(binder, step, kind, **values)

    return add


@pytest.fixture
def change(binder: BinderFile, editor: Editor) -> Callable[..., None]:
    """`change("SW1:01", vlan=20)` in a step of its own."""

    def change(named: str, **values: Any) -> None:
        with editor.step(f"change {named}") as step:
            step.change(resolve(binder, named).id, values)

    return change


@pytest.fixture
def id_of(binder: BinderFile) -> Callable[[str], int]:
    """The id of what a name names: `id_of("SW1:07")`, `id_of("link 1A-A07")`."""
    return lambda text: resolve(binder, text).id


@pytest.fixture
def closet(binder: BinderFile, _closet: Path) -> BinderFile:
    """The same binder, holding one telecommunications room and what it serves.

    PH1 - 114-1:A = 1A-A:01 - SW1:01, CAM1 - 121-1:A = 1A-A:03 - SW1:03; 114-1:B = 1A-A:02, not
    patched; SW1:09 - GW1:LAN1; GW1:WAN1 - ONT1:1 (circuit fibre), GW1:WAN2 - LTE1:1 (circuit
    cellular). '-' is a cord, '=' a link.
    """
    with contextlib.closing(sqlite3.connect(_closet)) as built:
        built.backup(binder.connection)
    return binder


@pytest.fixture(scope="session")
def _closet(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Built once; a test that changes it has a copy."""
    path = tmp_path_factory.mktemp("closet") / "closet.binder"
    with (
        create(path, "Quillmere Veterinary Clinic", unit_system="metric") as binder,
        in_march(binder).step("the closet as installed") as step,
    ):

        def add(kind: str, **values: Any) -> None:
            add_by_name(binder, step, kind, **values)

        _places(add)
        _hardware(add)
        _cabling(add)
        _network(add)
        _carriers_and_people(add)
    return path


def _places(add: Callable[..., None]) -> None:
    add("building", identifier="B1", name="Main clinic", address="12 ALDER ROW STE 1")
    for identifier, form, name in (
        ("1E", "entrance facility", "Entrance"),
        ("1A", "telecommunications room", "Back hall"),
        ("114", "room", "Reception"),
        ("121", "room", "Treatment"),
    ):
        add("space", identifier=identifier, building="B1", form=form, name=name)
    add("rack", identifier="1A-R1", space="1A", height_u=18, mount="swing-out wall")


def _hardware(add: Callable[..., None]) -> None:
    in_rack = {"rack": "1A-R1", "height_u": 1}
    add("hardware", identifier="1A-A", form="patch panel", u_position=18, category="6A", **in_rack)
    add(
        "hardware", identifier="SW1", form="switch", u_position=16, serial="NV24P-004417",
        management_address="192.0.2.2", mac="00-00-5E-00-53-01", poe_budget_w=370.0, **in_rack,
    )  # fmt: skip
    add(
        "hardware", identifier="GW1", form="gateway", u_position=15,
        management_address="192.0.2.1", **in_rack,
    )  # fmt: skip
    for identifier, form, space in (
        ("ONT1", "carrier equipment", "1E"),
        ("LTE1", "carrier equipment", "1A"),
        ("114-1", "outlet", "114"),
        ("121-1", "outlet", "121"),
        ("PH1", "phone", "114"),
        ("CAM1", "camera", "121"),
    ):
        add("hardware", identifier=identifier, form=form, space=space)


_OTHER_PORTS = (
    ("SW1:09", "uplink"),
    ("GW1:LAN1", "edge"),
    ("GW1:WAN1", "uplink"),
    ("GW1:WAN2", "uplink"),
    ("ONT1:1", "hand-off"),
    ("LTE1:1", "hand-off"),
    ("114-1:A", "edge"),
    ("114-1:B", "edge"),
    ("121-1:A", "edge"),
    ("PH1:1", "uplink"),
    ("CAM1:1", "uplink"),
)

_LINKS = (
    ("1A-A01", "1A-A:01", "114-1:A", 38.5),
    ("1A-A02", "1A-A:02", "114-1:B", 39.0),
    ("1A-A03", "1A-A:03", "121-1:A", 52.0),
)

_CORDS = (
    ("1A-A:01", "SW1:01", 1.0, 28),
    ("1A-A:03", "SW1:03", 1.0, 28),
    ("SW1:09", "GW1:LAN1", 0.5, 28),
    ("GW1:WAN1", "ONT1:1", 3.0, 24),
    ("GW1:WAN2", "LTE1:1", 2.0, 24),
    ("114-1:A", "PH1:1", 3.0, 26),
    ("121-1:A", "CAM1:1", 2.0, 26),
)


def _cabling(add: Callable[..., None]) -> None:
    for number in range(1, 7):
        add("port", hardware="1A-A", label=f"{number:02}", position=number)
    for number in range(1, 9):
        add("port", hardware="SW1", label=f"{number:02}", position=number, vlan=20, poe_type="2")
    for name, role in _OTHER_PORTS:
        hardware, _, label = name.partition(":")
        use = "front desk phone" if name == "114-1:A" else None
        add("port", hardware=hardware, label=label, role=role, current_use=use)
    for identifier, port_a, port_b, length_m in _LINKS:
        ends = {"port_a": port_a, "port_b": port_b}
        add("link", identifier=identifier, category="6A", length_m=length_m, gauge_awg=23, **ends)
        add("test", link=identifier, tested_on="2026-02-02", result="pass")
    for port_a, port_b, length_m, gauge_awg in _CORDS:
        ends = {"port_a": port_a, "port_b": port_b}
        add("cord", category="6A", length_m=length_m, gauge_awg=gauge_awg, **ends)


def _network(add: Callable[..., None]) -> None:
    add("subnet", identifier="staff", vlan=20, cidr="192.0.2.0/26", gateway="192.0.2.1")
    add("subnet", identifier="voice", vlan=30, cidr="192.0.2.64/26")
    add("address", ip="192.0.2.2", subnet="staff", hardware="SW1")
    add("address", ip="192.0.2.20", subnet="staff", hostname="printer1", mac="00-00-5E-00-53-0A")
    add("ssid", identifier="Quillmere Guest", security="WPA2-Personal", guest=True)


def _carriers_and_people(add: Callable[..., None]) -> None:
    add(
        "circuit", identifier="fibre", service="internet access", provider="Larkfen Fiber",
        circuit_id="LKF-2203-118-QM", account_number="4410-2287", support_phone="+1 312 555 0160",
        handoff_port="ONT1:1", carrier_equipment="ONT1",
    )  # fmt: skip
    add(
        "circuit", identifier="cellular", service="cellular", role="backup",
        provider="Farlight Wireless", support_phone="+1 312 555 0170", handoff_port="LTE1:1",
    )  # fmt: skip
    add(
        "contact", identifier="Priya Nandakumar", role="practice manager",
        office_phone="+1 312 555 0100", mobile_phone="+1 312 555 0101",
    )  # fmt: skip
    add("account", system="SW1", login="admin", hardware="SW1", custodian="Priya Nandakumar")
