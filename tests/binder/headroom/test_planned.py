"""What is planned or reserved counts as taken, in every row it will touch and in no other."""

from __future__ import annotations

from collections.abc import Callable

import pytest

from binder.edit import Editor
from binder.file import BinderFile
from binder.headroom import Headroom, Row
from binder.read import resolve
from binder.records.catalog import BY_NAME
from binder.step import Step

Asked = Callable[[], Headroom]
Key = tuple[str, str, str]


def reserved(answer: Headroom) -> dict[Key, float | None]:
    return {(r.resource, r.where.name, r.which): r.reserved for r in answer.rows}


def used(answer: Headroom) -> dict[Key, float | None]:
    return {(r.resource, r.where.name, r.which): r.used for r in answer.rows}


def moved(before: dict[Key, float | None], after: dict[Key, float | None]) -> set[Key]:
    return {key for key in before if before[key] != pytest.approx(after[key], abs=1e-9)}


def add_by_name(binder: BinderFile, step: Step, kind: str, **values: object) -> None:
    """Add a record whose references are given by the names of what they refer to."""
    for name, value in values.items():
        field = BY_NAME[kind].field(name)
        if field.is_reference and isinstance(value, str):
            values[name] = resolve(binder, value, field.target).id
    step.add(kind, values)


@pytest.fixture
def adds(demo: BinderFile, asked: Asked) -> Callable[..., set[Key]]:
    """`adds(("hardware", {...}), ...)`: the rows whose reserved figure that moves; no use may."""

    def adds(*records: tuple[str, dict[str, object]]) -> set[Key]:
        before = asked()
        with Editor(demo, "R. Adeyemi").step("plan") as step:
            for kind, values in records:
                add_by_name(demo, step, kind, **values)
        after = asked()
        assert moved(used(before), used(after)) == set()
        return moved(reserved(before), reserved(after))

    return adds


def test_a_planned_server_takes_units_weight_watts_and_heat(
    adds: Callable[..., set[Key]],
) -> None:
    server = {
        "identifier": "SRV1", "form": "server", "status": "planned", "rack": "1A-R1",
        "u_position": 7, "height_u": 2, "depth_mm": 500, "weight_kg": 18, "base_power_w": 150,
    }  # fmt: skip
    inlet = {"hardware": "SRV1", "label": "PS1", "fed_by": "UPS1", "status": "planned"}

    assert adds(("hardware", server), ("inlet", inlet)) == {
        # its 2 U stand where 2 U were reserved already: no row of units moves
        ("rack depth", "1A-R1", ""),
        ("rack weight", "1A-R1", ""),
        ("anchors", "1A-R1", ""),
        ("UPS load", "UPS1", ""),
        ("minutes on battery", "UPS1", ""),
        ("branch circuit", "LP1-12", ""),
        ("heat", "1A", ""),
    }


def test_a_planned_camera_takes_a_port_power_an_address_and_disk(
    adds: Callable[..., set[Key]],
) -> None:
    camera = {
        "identifier": "CAM13", "form": "camera", "status": "planned", "space": "101",
        "poe_class": 3, "poe_drawn_w": 6, "bit_rate_mbps": 3, "recorded_hours_a_day": 24,
        "recorder": "REC1",
    }  # fmt: skip
    port = {"hardware": "CAM13", "label": "1", "status": "planned"}
    cord = {"port_a": "CAM13:1", "port_b": "SW1:06", "status": "planned", "length_m": 2}

    assert adds(("hardware", camera), ("port", port), ("cord", cord)) == {
        ("switch ports", "SW1", "1 Gb/s, PoE type 2"),
        ("PoE watts", "SW1", ""),
        ("uplink ratio", "SW1", ""),
        ("UPS load", "UPS1", ""),
        ("minutes on battery", "UPS1", ""),
        ("branch circuit", "LP1-12", ""),
        ("heat", "1A", ""),  # what its cable and the UPS lose
        ("recorder cameras", "REC1", ""),
        ("recorder rate", "REC1", ""),
        ("days kept", "REC1", ""),
    }


@pytest.mark.parametrize(
    "records",
    [
        (
            ("hardware", {"identifier": "SRV1", "form": "server", "status": "planned",
                          "rack": "1A-R1", "u_position": 7, "height_u": 2, "depth_mm": 500,
                          "weight_kg": 18, "base_power_w": 150, "installed_on": "2027-02-01"}),
            ("inlet", {"hardware": "SRV1", "label": "PS1", "fed_by": "UPS1",
                       "status": "planned"}),
        ),
        (
            ("hardware", {"identifier": "CAM13", "form": "camera", "status": "planned",
                          "space": "101", "poe_class": 3, "poe_drawn_w": 6, "bit_rate_mbps": 3,
                          "recorded_hours_a_day": 24, "recorder": "REC1",
                          "installed_on": "2027-02-01"}),
            ("port", {"hardware": "CAM13", "label": "1", "status": "planned"}),
            ("cord", {"port_a": "CAM13:1", "port_b": "SW1:06", "status": "planned",
                      "length_m": 2}),
        ),
    ],
    ids=["server", "camera"],
)  # fmt: skip
def test_every_row_that_a_planned_thing_moves_tells_its_day_and_no_row_elsewhere(
    demo: BinderFile, asked: Asked, records: tuple[tuple[str, dict[str, object]], ...]
) -> None:
    before = reserved(asked())
    assert {row.planned_on for row in asked().rows} == {""}
    with Editor(demo, "M. Osei").step("plan") as step:
        for kind, values in records:
            add_by_name(demo, step, kind, **values)
    after = asked()
    told = {
        (row.resource, row.where.name, row.which)
        for row in after.rows
        if row.planned_on == "2027-02-01"
    }
    assert moved(before, reserved(after)) <= told
    assert {name for _, name, _ in told} <= {"1A-R1", "1A", "SW1", "UPS1", "LP1-12", "REC1"}


@pytest.mark.parametrize(
    ("resource", "subject", "quantity", "rows"),
    [
        ("rack units", "1K-R1", 1, {("rack units", "1K-R1", "")}),
        ("ports", "1K-A", 4, {("panel ports", "1K-A", "")}),
        ("ports", "SW2", 2, {("switch ports", "SW2", "1 Gb/s, PoE type 2")}),
        ("addresses", "alarm", 1, {("fixed addresses", "alarm", "")}),
        ("addresses", "guest", 1, {("DHCP addresses", "guest", "")}),
        ("cooling watts", "1A", 100, {("heat", "1A", "")}),
        ("weight kg", "1K-R1", 9, {("rack weight", "1K-R1", "")}),
        ("pathway cables", "CD-05", 1, {("pathway fill", "CD-05", "")}),
        ("strands", "link 1A/1K-1.01", 2, {("fibre strands", "1A/1K-1", "")}),
        (
            "PoE watts", "SW1", 60,
            {
                ("PoE watts", "SW1", ""), ("UPS load", "UPS1", ""), ("heat", "1A", ""),
                ("minutes on battery", "UPS1", ""), ("branch circuit", "LP1-12", ""),
            },
        ),
        (
            "UPS watts", "UPS3", 20,
            {
                ("UPS load", "UPS3", ""), ("minutes on battery", "UPS3", ""),
                ("branch circuit", "LP1-14", ""),
            },
        ),
    ],
)  # fmt: skip
def test_a_reservation_moves_its_resource_and_what_bears_it(
    adds: Callable[..., set[Key]], resource: str, subject: str, quantity: float, rows: set[Key]
) -> None:
    kept = {"identifier": "kept", "resource": resource, "subject": subject, "quantity": quantity}

    assert adds(("reservation", kept)) == rows


def test_two_cables_too_many_are_over_though_a_third_may_fill_more(
    demo: BinderFile, row: Callable[..., Row]
) -> None:
    """NEC chapter 9 table 1: two of 8.5 mm fill 33.1 % of 20.9 mm, and two may fill 31 %; that a
    thin third is planned, with which 40 % may be filled, mends nothing today."""
    diameters_mm = {"1A-A01": 8.5, "1A-A02": 8.5, "1A-A03": 2.0}
    with Editor(demo, "M. Osei").step("a narrow conduit") as step:
        add_by_name(demo, step, "pathway", identifier="CD-9", form="conduit",
                    inside_diameter_mm=20.9)  # fmt: skip
        for name, outside_mm in diameters_mm.items():
            add_by_name(demo, step, "run", link=name, pathway="CD-9")
            step.change(resolve(demo, name, "link").id, {"outside_diameter_mm": outside_mm})
        step.change(resolve(demo, "1A-A03", "link").id, {"status": "planned"})

    fill = row("pathway fill", "CD-9")

    assert (fill.state, fill.limit) == ("over", 31)
    assert fill.used == pytest.approx(100 * 2 * 8.5**2 / 20.9**2)


def test_a_reservation_falls_away_after_its_day(
    row: Callable[..., Row], change: Callable[..., None]
) -> None:
    change("storage server, power", until="2026-11-24")

    assert row("UPS load", "UPS1").reserved == pytest.approx(21.8, abs=0.05)  # DC1 alone


def test_planned_devices_that_nothing_feeds_are_told_apart(asked: Asked) -> None:
    assert "DC4 is planned without a port: no switch counts it" in asked().notes
