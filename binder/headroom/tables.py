"""The tables that headroom reads, each with the columns it uses: a field is a column.

The id and the name of a record come first. Text and numbers are as stored (`binder.records`).
"""

from __future__ import annotations

from typing import NamedTuple

PLANNED = "planned"


class Space(NamedTuple):
    id: int
    name: str
    form: str
    cooling_w: float | None
    ambient_max_c: float | None
    floor_area_m2: float | None
    closed: int | None


class Rack(NamedTuple):
    id: int
    name: str
    space_id: int
    height_u: int
    mount: str
    usable_depth_mm: float | None
    load_rating_kg: float | None
    empty_weight_kg: float | None
    bend_room_mm: float | None
    anchors: int | None
    anchor_rows: int | None
    anchor_spacing_mm: float | None
    anchor_tension_n: float | None
    anchor_shear_n: float | None
    substrate: str | None
    safety_factor: float | None
    swing_offset_mm: float | None


class Hardware(NamedTuple):
    id: int
    name: str
    form: str
    status: str
    rack_id: int | None
    space_id: int | None  # of the rack, when it is in one
    u_position: int | None
    height_u: int | None
    face: str | None
    depth_mm: float | None
    weight_kg: float | None
    base_power_w: float | None
    maximum_power_w: float | None
    power_factor: float | None
    poe_budget_w: float | None
    poe_class: int | None
    poe_drawn_w: float | None
    ups_rating_va: float | None
    ups_rating_w: float | None
    ups_efficiency_percent: float | None
    battery_wh: float | None
    battery_installed_on: str | None
    battery_life_years: float | None
    runtime_curve: str | None
    rated_cameras: int | None
    rated_mbps: float | None
    disks: int | None
    disk_gb: float | None
    raid_level: str | None
    retention_target_days: float | None
    bit_rate_mbps: float | None
    recorded_hours_a_day: float | None
    recorder_id: int | None
    installed_on: str | None

    @property
    def is_planned(self) -> bool:
        return self.status == PLANNED


class BranchCircuit(NamedTuple):
    id: int
    name: str
    status: str
    rating_a: float | None
    voltage_v: float | None
    phases: int | None
    dedicated: int | None
    space_id: int | None
    other_load_w: float | None


class Inlet(NamedTuple):
    id: int
    name: str
    hardware_id: int
    fed_by_id: int | None
    branch_circuit_id: int | None


class Subnet(NamedTuple):
    id: int
    name: str
    vlan: int | None
    cidr: str | None
    gateway: str | None
    dhcp_first: str | None
    dhcp_last: str | None


class Address(NamedTuple):
    id: int
    name: str
    status: str
    ip: str
    subnet_id: int | None
    hardware_id: int | None
    assigned: str


class Circuit(NamedTuple):
    id: int
    name: str
    status: str
    service: str
    rate_down_mbps: float | None
    rate_up_mbps: float | None
    demarc_space_id: int | None
    optics: str | None
    received_dbm: float | None
    received_min_dbm: float | None
    received_max_dbm: float | None

    @property
    def carries_data(self) -> bool:
        return self.service in ("internet access", "cellular", "private line")


class Pathway(NamedTuple):
    id: int
    name: str
    form: str
    from_space_id: int | None
    trade_size: str | None
    inside_diameter_mm: float | None
    width_mm: float | None
    height_mm: float | None
    nipple: int | None


class Reservation(NamedTuple):
    id: int
    name: str
    subject_id: int
    resource: str
    quantity: float
    u_position: int | None
    face: str | None


class Reading(NamedTuple):
    id: int
    subject_id: int
    quantity: str
    value: float
    read_at: str


class PortGroup(NamedTuple):
    """Ports of one piece of hardware that are alike. `state`: used (`idle`: terminated, nothing
    patched), planned (a planned cable on it), marked (reserved on the port), bad or free."""

    hardware_id: int
    role: str
    rate_mbps: float | None
    poe_type: str
    connector: str
    state: str
    ports: int
    first_port_id: int


class Laid(NamedTuple):
    """A cable in a pathway; links that share a cable's name are one."""

    pathway_id: int
    link_id: int
    name: str
    outside_diameter_mm: float | None
    status: str


class Fibre(NamedTuple):
    """A fibre link: strands, what it is made of, how its ends are, and its worst measured loss.

    `measured` is the latest test's greatest loss as 'wavelength loss', of each wavelength.
    """

    id: int
    name: str
    cable_name: str | None
    status: str
    category: str | None
    length_m: float | None
    strands: int | None
    mated_pairs: int | None
    splices: int | None
    space_id: int | None
    is_bad: int
    is_lit: int
    is_planned: int
    is_marked: int


class Loss(NamedTuple):
    link_id: int
    wavelength_nm: int
    loss_db: float
    limit_db: float | None


class Hop(NamedTuple):
    """A step of the way from a port: see `binder.path_sql.WALK`."""

    start: int
    way: str
    step: int
    port_id: int | None
    hardware_id: int | None
    along: str
    cable_id: int | None
    length_m: float | None
    gauge_awg: int | None
    cable_status: str | None
    port_name: str | None
    poe_type: str | None
    vlan: int | None
    form: str | None
    port_status: str | None


class Licence(NamedTuple):
    id: int
    name: str
    entitled: int | None
    used: int | None
