"""What is not recorded never counts as nothing: the row says what it needs, and where."""

from __future__ import annotations

from collections.abc import Callable
from datetime import date

import pytest

from binder.edit import Editor
from binder.file import BinderFile
from binder.headroom import Row, headroom
from binder.read import names, resolve
from binder.records.catalog import BY_NAME

NEEDED = [
    # resource, row, record, fields emptied, what the row then asks for
    ("rack depth", "1A-R1", "1A-R1", ("usable_depth_mm",), "usable depth of 1A-R1"),
    ("rack depth", "1A-R1", "1A-R1", ("bend_room_mm",), "bend room of 1A-R1"),
    ("rack depth", "1A-R1", "UPS1", ("depth_mm",), "depth of UPS1"),
    ("rack weight", "1A-R1", "1A-R1", ("load_rating_kg",), "load rating of 1A-R1"),
    ("rack weight", "1A-R1", "UPS1", ("weight_kg",), "weight of UPS1"),
    ("rack units", "1K-R1", "UPS2", ("u_position",), "U of UPS2"),
    ("anchors", "1A-R1", "1A-R1", ("anchors",), "anchors of 1A-R1"),
    ("anchors", "1A-R1", "1A-R1", ("anchor_rows",), "anchor rows of 1A-R1"),
    ("anchors", "1A-R1", "1A-R1", ("anchor_spacing_mm",), "anchor rows apart of 1A-R1"),
    ("anchors", "1A-R1", "1A-R1", ("anchor_tension_n",), "anchor tension of 1A-R1"),
    ("anchors", "1A-R1", "1A-R1", ("anchor_shear_n",), "anchor shear of 1A-R1"),
    ("anchors", "1A-R1", "1A-R1", ("empty_weight_kg",), "empty weight of 1A-R1"),
    ("anchors", "1A-R1", "1A-R1", ("usable_depth_mm",), "usable depth of 1A-R1"),
    ("anchors", "1A-R1", "1A-R1", ("swing_offset_mm",), "swing offset of 1A-R1"),
    ("anchors", "1A-R1", "REC1", ("weight_kg",), "weight of REC1"),
    ("PoE watts", "SW1", "SW1", ("poe_budget_w",), "PoE budget of SW1"),
    ("uplink ratio", "SW2", "port SW2:28", ("rate_mbps",), "rate of SW2, uplink ports"),
    ("uplink ratio", "SW2", "port SW2:01", ("rate_mbps",), "rate of SW2, edge ports"),
    ("UPS load", "UPS1", "UPS1", ("ups_rating_w", "ups_rating_va"), "UPS rating of UPS1"),
    ("UPS load", "UPS1", "REC1", ("base_power_w", "maximum_power_w"), "base power of REC1"),
    ("minutes on battery", "UPS3", "UPS3", ("runtime_curve", "battery_wh"),
     "runtime table of UPS3"),
    ("minutes on battery", "UPS3", "ONT1", ("base_power_w", "maximum_power_w"),
     "base power of ONT1"),
    ("battery life", "UPS1", "UPS1", ("battery_installed_on",), "battery installed of UPS1"),
    ("battery life", "UPS1", "UPS1", ("battery_life_years",), "battery design life of UPS1"),
    ("branch circuit", "LP1-12", "LP1-12", ("rating_a",), "rating of LP1-12"),
    ("branch circuit", "LP1-12", "LP1-12", ("voltage_v",), "voltage of LP1-12"),
    ("branch circuit", "LP1-20", "LP1-20", ("other_load_w",), "other load of LP1-20"),
    ("branch circuit", "LP1-12", "UPS1", ("ups_efficiency_percent",), "UPS efficiency of UPS1"),
    ("heat", "1A", "1A", ("cooling_w",), "cooling of 1A"),
    ("heat", "1A", "UPS1", ("ups_efficiency_percent",), "UPS efficiency of UPS1"),
    ("heat", "1A", "NAS1", ("base_power_w", "maximum_power_w"), "base power of NAS1"),
    ("heat", "1K", "1K", ("ambient_max_c",), "warmest of 1K"),
    ("heat", "1K", "1K", ("floor_area_m2",), "floor area of 1K"),
    ("temperature", "1A", "1A", ("ambient_max_c",), "warmest of 1A"),
    ("recorder cameras", "REC1", "REC1", ("rated_cameras",), "rated cameras of REC1"),
    ("recorder rate", "REC1", "REC1", ("rated_mbps",), "rated rate of REC1"),
    ("recorder rate", "REC1", "CAM1", ("bit_rate_mbps",), "bit rate of CAM1"),
    ("days kept", "REC1", "REC1", ("disks",), "disks of REC1"),
    ("days kept", "REC1", "REC1", ("disk_gb",), "disk size of REC1"),
    ("days kept", "REC1", "REC1", ("raid_level",), "RAID level of REC1"),
    ("days kept", "REC1", "CAM1", ("bit_rate_mbps",), "bit rate of CAM1"),
    ("disk space", "NAS1", "NAS1", ("disks",), "disks of NAS1"),
    ("disk space", "NAS1", "NAS1", ("raid_level",), "RAID level of NAS1"),
    ("fixed addresses", "alarm", "alarm", ("cidr",), "network of alarm"),
    ("pathway fill", "CD-05", "CD-05", ("inside_diameter_mm", "trade_size"),
     "inside diameter of CD-05"),
    ("pathway fill", "CT-01", "CT-01", ("width_mm",), "width of CT-01"),
    ("pathway fill", "CD-05", "link 1K-A01", ("outside_diameter_mm",),
     "outside diameter of 1K-A01"),
    ("fibre strands", "1A/1K-1", "link 1A/1K-1.02", ("strands",), "strands of 1A/1K-1.02"),
    ("fibre loss", "1A/1K-1.01", "link 1A/1K-1.01", ("length_m",), "length of 1A/1K-1.01"),
    ("fibre loss", "1A/1K-1.01", "link 1A/1K-1.01", ("mated_pairs",),
     "mated pairs of 1A/1K-1.01"),
    ("fibre loss", "1A/1K-1.01", "link 1A/1K-1.01", ("splices",), "splices of 1A/1K-1.01"),
    ("fibre loss", "1A/1K-1.01", "link 1A/1K-1.01", ("category",), "category of 1A/1K-1.01"),
    ("received light", "fibre", "circuit fibre", ("received_min_dbm",),
     "least received of fibre"),
    ("received light", "fibre", "circuit fibre", ("received_max_dbm",), "most received of fibre"),
    ("circuit rate", "fibre", "circuit fibre", ("rate_down_mbps",), "rate down of fibre"),
    ("licences", "recorder channels", "recorder channels", ("entitled",),
     "entitled of recorder channels"),
]  # fmt: skip


@pytest.mark.parametrize(("resource", "name", "record", "fields", "asks"), NEEDED)
def test_a_missing_field_is_asked_for_by_name(
    row: Callable[..., Row],
    change: Callable[..., None],
    resource: str,
    name: str,
    record: str,
    fields: tuple[str, ...],
    asks: str,
) -> None:
    change(record, **dict.fromkeys(fields))
    found = row(resource, name)

    assert found.state == "not known"
    assert found.told.startswith("not known: needs ")
    assert asks in map(str, found.needs)
    assert {need.field for need in found.needs} & set(fields)


READINGS = [
    ("DHCP addresses", "staff", "DHCP leases"),
    ("disk space", "NAS1", "disk used GB"),
    ("circuit rate", "fibre", "rate 95th percentile Mb/s"),
]


@pytest.mark.parametrize(("resource", "name", "quantity"), READINGS)
def test_a_missing_reading_is_asked_for(
    demo: BinderFile, row: Callable[..., Row], resource: str, name: str, quantity: str
) -> None:
    subject = row(resource, name).where
    ids = demo.connection.execute(
        "SELECT id FROM reading WHERE subject_id = ? AND quantity = ?", (subject.id, quantity)
    ).fetchall()
    with Editor(demo, "M. Osei").step("forget") as step:
        for (reading_id,) in ids:
            step.change(reading_id, {"status": "former"})
    found = row(resource, name)

    assert found.told == f"not known: needs a reading ({quantity}) of {name}"
    assert [(need.id, need.field, need.add) for need in found.needs] == [
        (subject.id, quantity, "reading")
    ]


def test_a_need_leads_to_the_field_to_fill_in(
    demo: BinderFile, row: Callable[..., Row], change: Callable[..., None]
) -> None:
    change("SW1", poe_budget_w=None)
    (need,) = row("PoE watts", "SW1").needs

    assert (need.kind, need.name, need.field) == ("hardware", "SW1", "poe_budget_w")
    assert need.id == resolve(demo, "SW1").id


def test_every_field_of_every_thing_may_be_missing_at_once(demo: BinderFile, today: date) -> None:
    """Nothing but names, kinds and places is left: no row is made up, and none breaks."""
    with demo.writing() as connection:
        for table, kept in _KEPT.items():
            emptied = [
                column["name"]
                for column in connection.execute(f"PRAGMA table_info({table})")
                if not column["notnull"] and column["name"] not in ("id", "identifier", *kept)
            ]
            sets = ", ".join(f'"{c}" = NULL' for c in emptied)
            connection.execute(f"UPDATE {table} SET {sets}")
        connection.execute("DELETE FROM reading")
    answer = headroom(demo, today=today)

    assert answer.rows
    for found in answer.rows:
        for need in found.needs:
            assert names(demo, [need.id])[need.id].kind == need.kind, need
            assert (need.add in BY_NAME) if need.add else BY_NAME[need.kind].has(need.field), need
        if found.state == "fine":  # only what is counted from records themselves
            assert found.resource in _COUNTED, found.key


_COUNTED = (
    "rack units",
    "panel ports",
    "switch ports",
    "recorder cameras",
    "licences",
    "uplink ratio",
)
_KEPT = {
    "hardware": ("rack_id", "u_position", "height_u", "face", "space_id", "recorder_id"),
    "rack": (),
    "space": (),
    "branch_circuit": (),
    "subnet": (),
    "circuit": (),
    "pathway": (),
    "link": ("port_a_id", "port_b_id"),
    "cord": ("port_a_id", "port_b_id"),
}


# What a safe assumption stands in for. ------------------------------------------------------


def test_the_plate_stands_in_for_an_unknown_base_power(
    row: Callable[..., Row], change: Callable[..., None]
) -> None:
    """REC1 draws 78 W by itself; its plate has 120 W: at most 42 W more, so that much is free."""
    before = row("UPS load", "UPS1")
    change("REC1", base_power_w=None)
    after = row("UPS load", "UPS1")

    assert after.bound == "at least"
    assert (before.used, after.used) == (418, pytest.approx(387.3 + 42, abs=0.1))


def test_a_camera_that_may_record_all_day_is_taken_to(
    row: Callable[..., Row], change: Callable[..., None]
) -> None:
    before = row("days kept", "REC1").limit
    change("CAM1", recorded_hours_a_day=None)
    found = row("days kept", "REC1")

    assert (found.limit, found.bound) == (before, "at least")


def test_a_device_of_unknown_class_is_taken_as_the_most_its_port_supplies(
    row: Callable[..., Row], change: Callable[..., None]
) -> None:
    """30 W of a type 2 port (IEEE 802.3at), in place of 4.2 W drawn."""
    change("PH3", poe_class=None, poe_drawn_w=None)
    found = row("PoE watts", "SW1")

    assert found.used == pytest.approx(37.7 - 4.2 + 30, abs=0.1)
    assert [str(need) for need in found.needs] == ["PoE class of PH3"]


def test_an_inlet_of_unknown_feed_leaves_the_known_side_with_all(
    demo: BinderFile, row: Callable[..., Row], change: Callable[..., None]
) -> None:
    """Half of GW1's 30 W and NAS1's 62 W hang on STRIP1; without its feed all of it may be on
    UPS1's circuit."""
    before = row("UPS load", "UPS1")
    change("inlet GW1 inlet PS2", fed_by=None)
    after = row("UPS load", "UPS1")

    assert "what feeds of GW1 inlet PS2" in map(str, after.needs)
    assert (before.bound, after.bound) == ("", "at least")


def test_a_row_over_its_limit_is_over_whatever_else_is_missing(
    row: Callable[..., Row], change: Callable[..., None]
) -> None:
    change("1A-R1", load_rating_kg=50)
    change("REC1", weight_kg=None)
    found = row("rack weight", "1A-R1")

    assert (found.state, found.bound) == ("over", "at most")


# Figures that make no sense. ----------------------------------------------------------------


@pytest.mark.parametrize(
    ("record", "values", "resource", "name", "says"),
    [
        ("1A-R1", {"anchor_rows": 1}, "anchors", "1A-R1", "anchor rows 1"),
        ("REC1", {"disks": 2}, "days kept", "REC1", "disks of RAID 5 2"),
        ("UPS2", {"ups_rating_w": 0, "ups_rating_va": None}, "UPS load", "UPS2", "above 0"),
    ],
)  # fmt: skip
def test_a_figure_that_cannot_be_is_told_in_its_own_row(
    demo: BinderFile,
    today: date,
    change: Callable[..., None],
    row: Callable[..., Row],
    record: str,
    values: dict[str, object],
    resource: str,
    name: str,
    says: str,
) -> None:
    change(record, **values)
    found = row(resource, name)

    assert found.state == "not known"
    assert says in found.told
    assert len(headroom(demo, today=today).rows) > 70


def test_feeds_in_a_ring_are_told_and_leave_the_rest_alone(
    demo: BinderFile, row: Callable[..., Row]
) -> None:
    with Editor(demo, "M. Osei").step("a strip plugged into itself, by way of a UPS") as step:
        strip, ups = (resolve(demo, name).id for name in ("STRIP1", "UPS1"))
        step.add("inlet", {"hardware": strip, "label": "IN2", "fed_by": ups})
        step.add("inlet", {"hardware": ups, "label": "IN2", "fed_by": strip})

    assert "power feeds run in a ring" in row("UPS load", "UPS1").told
    assert row("rack units", "1A-R1").state == "short"
