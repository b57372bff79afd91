"""The demo's headroom, worked by hand: every row, from the records and the printed formulae.

Nothing here calls the formulae of the program. Sources stand beside each sum; arithmetic without a
source is arithmetic. Data: `demo/client`.
"""

from __future__ import annotations

from collections.abc import Callable
from math import log, pi, sqrt
from typing import NamedTuple

import pytest

from binder.headroom import RESOURCES, Headroom

# Ohms of a metre of solid copper at 20 °C, handbook table of American wire gauge.
OHM_M = {23: 0.06679, 24: 0.08422, 26: 0.1339, 28: 0.2129}


def at_port(drawn_w: float, source_v: float, *runs: tuple[float, int]) -> float:
    """Watts at the port for a device: V I, with I from P = V I - R I² (IEEE 802.3-2022 145.3.8).

    Over two pairs the loop is one conductor's resistance: two in parallel, out and back.
    """
    ohm = sum(length_m * OHM_M[awg] for length_m, awg in runs)
    return source_v * (source_v - sqrt(source_v**2 - 4 * ohm * drawn_w)) / (2 * ohm)


def type_2(drawn_w: float, *runs: tuple[float, int]) -> float:
    return at_port(drawn_w, 50.0, *runs)  # IEEE 802.3-2022 table 33-11: a type 2 source has 50 V


class Sheet(NamedTuple):
    limit: float
    used: float
    reserved: float


# PoE: phones 4.2 W, access points 14.8 W, domes 5.8 W, bullets 12.4 W, monitor 2.1 W, controllers
# 21 W; each over its patch cord (28 AWG), link (23 AWG) and cord (26, in the kennels 24 AWG).
def front(drawn_w: float, link_m: float, cord_m: float, patch_m: float = 1.0) -> float:
    return type_2(drawn_w, (patch_m, 28), (link_m, 23), (cord_m, 26))


def kennel(drawn_w: float, link_m: float, cord_m: float) -> float:
    return type_2(drawn_w, (0.5, 28), (link_m, 23), (cord_m, 24))


PHONE, POINT, DOME, BULLET = 4.2, 14.8, 5.8, 12.4
SW1_W = (
    type_2(PHONE, (1, 28), (24.4, 23), (2, 24))  # PH1, by the cord from the van
    + front(PHONE, 25.9, 2) + front(POINT, 31.7, 1) + front(DOME, 33.5, 1)
    + front(PHONE, 18.3, 2) + front(PHONE, 22.6, 2)
)  # fmt: skip
SW2_W = (
    front(PHONE, 34.4, 2) + front(POINT, 37.8, 1) + front(DOME, 50.6, 1) + front(PHONE, 52.4, 2)
    + front(POINT, 45.1, 1) + front(DOME, 54.9, 1) + front(BULLET, 62.5, 1)
    + front(BULLET, 58.2, 1) + front(BULLET, 84.7, 5, 3) + front(BULLET, 91.4, 6, 3)
    + front(2.1, 23.8, 2)
)  # fmt: skip
SW3_W = (
    kennel(PHONE, 12.2, 2) + kennel(POINT, 15.8, 1) + kennel(DOME, 21.3, 1)
    + kennel(DOME, 27.4, 1) + kennel(DOME, 33.5, 1) + kennel(POINT, 35.1, 1)
    + kennel(DOME, 38.7, 1) + kennel(PHONE, 39.9, 2) + kennel(DOME, 18.9, 1)
)  # fmt: skip
# Planned door controllers on cords whose gauge nobody recorded: 14 ohm for 100 m (ANSI/TIA-568,
# value from memory).
CORD_OHM_M = 0.14


def controller(patch_m: float, link_m: float) -> float:
    ohm = (patch_m + 2) * CORD_OHM_M + link_m * OHM_M[23]
    return 50 * (50 - sqrt(50**2 - 4 * ohm * 21)) / (2 * ohm)


DC1_W = controller(1, 56.4)
DC2_AND_DC3_W = controller(0.5, 19.8) + controller(0.5, 31.1)
WARD_C_W = 30  # reserved, and the most that the marked type 2 port supplies (802.3at)

# Mains. The gateway and the file store have a second supply on STRIP1; when that side dies UPS1
# carries all of them.
UPS1_W = 38 + SW1_W + 38 + SW2_W + 30 + 78 + 62
UPS1_ADDED_W = DC1_W + 160
UPS2_ADDED_W = DC2_AND_DC3_W + WARD_C_W
UPS1_SHARED_W = UPS1_W - 15 - 31  # with both sides alive half of each is elsewhere


def taken_va(*parts: tuple[float, float]) -> float:
    """VA of parts, each watts and power factor."""
    return sum(watts / factor for watts, factor in parts)


STRIP1_VA = taken_va((30, 0.95), (62, 0.92), (8, 0.9))  # when UPS1's side has failed
LP1_12_ADDED_A = taken_va((DC1_W, 0.95), (160, 0.9)) / 0.93 / 120
LP2_4_A = (taken_va((26 + SW3_W, 0.95)) / 0.91 + 900) / 120  # the pump's 900 W taken as VA
LP2_4_ADDED_A = taken_va((UPS2_ADDED_W, 0.95)) / 0.91 / 120


# Batteries: straight in log time over log load between the maker's points; 80 % of capacity at the
# end of life (IEEE 485), so that 1.25 times the load counts; 1.0036 for the 24.6 °C of the room
# (IEEE 485 table 1, between 76 °F, 1.006 and 77 °F, 1.000).
def between(load_w: float, one: tuple[float, float], other: tuple[float, float]) -> float:
    (p0, t0), (p1, t1) = one, other
    slope = log(t1 / t0) / log(p1 / p0)
    return t0 * (load_w / p0) ** slope


COLD = 1.006 + (1.000 - 1.006) * (24.6 * 1.8 + 32 - 76)
UPS1_MIN = between(418 * COLD / 0.8, (400, 20), (600, 12))
UPS1_THEN_MIN = between((418 + UPS1_ADDED_W) * COLD / 0.8, (600, 12), (800, 7))
UPS2_OLD_W = 99 / 0.8  # its room is warm: no credit
UPS2_RECKONED_MIN = between(UPS2_OLD_W, (100, 33), (150, 20))
UPS2_THEN_MIN = between((99 + UPS2_ADDED_W) / 0.8, (150, 20), (250, 10))
# UPS3 stands in a room nobody read: 25 °C.
UPS3_MIN = between(12 / 0.8, (10, 190), (25, 95))
DAYS_A_YEAR = 365.25


# Heat. What PoE carries out of the room counts as drawn at the far end.
def ups_loss(load_w: float, efficiency: float) -> float:
    return load_w / efficiency - load_w


SENT_1A_W = 8 * 0 + 6 * PHONE + 3 * POINT + 3 * DOME + 4 * BULLET + 2.1
HEAT_1A_W = (
    38 + SW1_W + 38 + SW2_W + 30 + 78 + 62 + 8 + ups_loss(UPS1_SHARED_W, 0.93) - SENT_1A_W
)  # fmt: skip
HEAT_1A_ADDED_W = UPS1_ADDED_W - 21 + ups_loss(UPS1_ADDED_W, 0.93)
HEAT_1K_W = (
    26 + SW3_W + ups_loss(26 + SW3_W, 0.91) - 2 * PHONE - 2 * POINT - 5 * DOME
)  # fmt: skip
HEAT_1K_ADDED_W = UPS2_ADDED_W - 2 * 21 + ups_loss(UPS2_ADDED_W, 0.91)
# Walls of the kennel closet: a square of 2.2 m², 2.7 m high; gypsum, cavity, gypsum (ISO 6946,
# values from memory); 6 K from the 24 °C around it to its 30 °C.
UA_1K = 4 * sqrt(2.2) * 2.7 / (0.13 + 0.05 + 0.18 + 0.05 + 0.13)


def circle(diameter_mm: float) -> float:
    return pi / 4 * diameter_mm**2


def filled(inside_mm: float, cables: int, cable_mm: float) -> float:
    return 100 * cables * circle(cable_mm) / circle(inside_mm)


# Anchors of 1A-R1, swung open: half of the six bear all, one of them at the top; 420 mm out, 610 mm
# from row to row; safety factor 4. Shear W/3 over 7100/4, tension W 420/610 over 5300/4, added.
PER_NEWTON = 1 / 3 / (7100 / 4) + 420 / 610 / (5300 / 4)
ANCHORS_KG = 1 / PER_NEWTON / 9.80665
IN_1A_R1_KG = 1.2 + 0.7 + 4.1 * 2 + 0.7 + 1.2 + 1.5 + 2.9 + 2 + 0.4 + 0.3 + 1.4 + 8.6 + 6.4 + 0.3
IN_1A_R1_KG += 24.5
IN_1K_R1_KG = 0.9 + 0.7 + 2.9 + 1.5 + 0.3 + 1.4 + 13.8

BY_HAND = {
    # EIA/ECA-310: 18 U, 85 % agreed with the client; 14 taken, 2 reserved. 9 U, 80 %.
    ("rack units", "1A-R1", ""): Sheet(15, 14, 2),
    ("rack units", "1K-R1", ""): Sheet(7, 6, 0),
    ("rack depth", "1A-R1", ""): Sheet(610 - 75, 480, 0),  # UPS1
    ("rack depth", "1K-R1", ""): Sheet(430 - 60, 360, 0),  # UPS2
    ("rack weight", "1A-R1", ""): Sheet(90, IN_1A_R1_KG, 0),
    ("rack weight", "1K-R1", ""): Sheet(45, IN_1K_R1_KG, 0),
    ("anchors", "1A-R1", ""): Sheet(ANCHORS_KG, IN_1A_R1_KG + 29, 0),
    # Ports, counted on the faces.
    ("panel ports", "1A-A", ""): Sheet(24, 24, 0),
    ("panel ports", "1A-B", ""): Sheet(24, 24, 0),
    ("panel ports", "1A-F", ""): Sheet(6, 6, 0),
    ("panel ports", "1K-A", ""): Sheet(24, 18, 2),  # 19 and 20 are kept for ward C
    ("panel ports", "1K-F", ""): Sheet(6, 6, 0),
    ("switch ports", "SW1", "1 Gb/s, PoE type 2"): Sheet(24, 20, 0),
    ("switch ports", "SW1", "SFP"): Sheet(3, 2, 0),
    ("switch ports", "SW2", "1 Gb/s, PoE type 2"): Sheet(24, 17, 1),
    ("switch ports", "SW2", "SFP"): Sheet(3, 0, 0),
    ("switch ports", "SW3", "1 Gb/s, PoE type 2"): Sheet(24 - 1, 11, 2 + 2),  # 12 is bad
    ("switch ports", "SW3", "SFP"): Sheet(3, 0, 0),
    # 80 % of the budget; what was read counts where it is more.
    ("PoE watts", "SW1", ""): Sheet(370 * 0.8, 38, 0),
    ("PoE watts", "SW2", ""): Sheet(370 * 0.8, SW2_W, DC1_W),
    ("PoE watts", "SW3", ""): Sheet(130 * 0.8, 68, DC2_AND_DC3_W + WARD_C_W),
    # Edge rates over uplink rates.
    ("uplink ratio", "SW1", ""): Sheet(20, (20 + 10 + 1) / 1, 0),
    ("uplink ratio", "SW2", ""): Sheet(20, 17 / 10, 1 / 10),
    ("uplink ratio", "SW3", ""): Sheet(20, 11 / 1, 3 / 1),
    # The watts rule over the VA in each; UPS1 and UPS2 were read higher than reckoned.
    ("UPS load", "UPS1", ""): Sheet(800, 418, UPS1_ADDED_W),
    ("UPS load", "UPS2", ""): Sheet(420, 99, UPS2_ADDED_W),
    ("UPS load", "UPS3", ""): Sheet(240, 12, 0),
    ("minutes on battery", "UPS1", ""): Sheet(UPS1_MIN, 15, UPS1_MIN - UPS1_THEN_MIN),
    ("minutes on battery", "UPS2", ""): Sheet(19, 15, 19 - 19 * UPS2_THEN_MIN / UPS2_RECKONED_MIN),
    ("minutes on battery", "UPS3", ""): Sheet(UPS3_MIN, 15, 0),
    # Life halves for every 8 °C above 25 °C (a maker's sheet; IEEE 1188 has 8.3).
    ("battery life", "UPS1", ""): Sheet(4, 638 / DAYS_A_YEAR, 0),
    ("battery life", "UPS2", ""): Sheet(4 * 0.5 ** ((31.2 - 25) / 8), 1105 / DAYS_A_YEAR, 0),
    ("battery life", "UPS3", ""): Sheet(4, 274 / DAYS_A_YEAR, 0),
    # NFPA 70 (NEC) 210.20(A): 80 % of the breaker for continuous load.
    ("branch circuit", "LP1-12", ""): Sheet(16, 3.8, LP1_12_ADDED_A),
    ("branch circuit", "LP1-14", ""): Sheet(16, (11 / 0.9 / 0.9 + 410) / 120, 0),
    ("branch circuit", "LP1-16", ""): Sheet(16, STRIP1_VA / 120, 0),
    ("branch circuit", "LP1-20", ""): Sheet(16, (140 / 0.9 + 620) / 120, 0),
    ("branch circuit", "LP2-4", ""): Sheet(12, LP2_4_A, LP2_4_ADDED_A),
    ("heat", "1A", ""): Sheet(1000, HEAT_1A_W, HEAT_1A_ADDED_W),
    ("heat", "1K", "closed room"): Sheet(UA_1K * 6, HEAT_1K_W, HEAT_1K_ADDED_W),
    ("temperature", "1A", ""): Sheet(27, 24.6, 0),
    ("temperature", "1K", ""): Sheet(30, 31.2, 0),
    # Three quarters of the advertised cameras, 80 % of the rate: common practice, no source.
    ("recorder cameras", "REC1", ""): Sheet(12, 12, 0),
    ("recorder rate", "REC1", ""): Sheet(128 * 0.8, 8 * 3 + 4 * 6, 0),
    # RAID 5 keeps 3 of 4 disks of 6 TB; 48 Mb/s all day is 518.4 GB.
    ("days kept", "REC1", ""): Sheet(18_000 / (48 / 8 * 86_400 / 1000), 30, 0),
    ("disk space", "NAS1", ""): Sheet(8000 * 0.8, 6010, 0),
    # RFC 4632: a /26 has 62 hosts. 90 % of a range, whole addresses.
    ("DHCP addresses", "management", ""): Sheet(18, 0, 0),
    ("DHCP addresses", "staff", ""): Sheet(90, 41, 0),
    ("DHCP addresses", "voice", ""): Sheet(18, 8, 0),
    ("DHCP addresses", "guest", ""): Sheet(90, 100, 0),
    ("DHCP addresses", "clinical", ""): Sheet(9, 0, 0),
    ("fixed addresses", "management", ""): Sheet(62 - 20, 11, 0),
    ("fixed addresses", "staff", ""): Sheet(254 - 100, 5, 0),
    ("fixed addresses", "voice", ""): Sheet(62 - 21, 1, 0),
    ("fixed addresses", "cameras", ""): Sheet(62, 1 + 1 + 12, 2),
    ("fixed addresses", "guest", ""): Sheet(254 - 100, 1, 0),
    ("fixed addresses", "payment", ""): Sheet(6, 2, 0),
    ("fixed addresses", "clinical", ""): Sheet(30 - 10, 4, 0),
    ("fixed addresses", "doors", ""): Sheet(14, 1, 3),  # DC4 has no port yet
    ("fixed addresses", "alarm", ""): Sheet(6, 2, 0),
    ("fixed addresses", "fibre block", ""): Sheet(6, 2, 0),
    # NFPA 70 (NEC) chapter 9 table 1: 53 % for one cable, 31 for two, 40 for more.
    ("pathway fill", "CD-01", ""): Sheet(40, filled(52.5, 2, 7.4), filled(52.5, 1, 7.4)),
    ("pathway fill", "CD-02", ""): Sheet(53, filled(52.5, 1, 8.1), 0),  # six links, one cable
    ("pathway fill", "CD-03", ""): Sheet(31, filled(26.6, 2, 7.4), 0),
    ("pathway fill", "CD-04", ""): Sheet(31, filled(20.9, 2, 7.4), 0),
    ("pathway fill", "CD-05", ""): Sheet(40, filled(26.6, 5, 6.2), 0),
    ("pathway fill", "HK-01", ""): Sheet(50, filled(51, 20, 7.4), 0),
    ("pathway fill", "HK-02", ""): Sheet(50, filled(51, 11, 6.2), 0),
    ("pathway fill", "CT-01", ""): Sheet(50, 100 * 24 * circle(7.4) / (150 * 54), 0),
    ("fibre strands", "1A/1K-1", ""): Sheet(12 - 2, 2, 0),
    # ANSI/TIA-568.3-D (values from memory): 0.5 dB/km, 0.75 dB a mated pair, 0.3 dB a splice.
    ("fibre loss", "1A/1K-1.01", "1310 nm"): Sheet(0.068 * 0.5 + 2 * 0.75 + 2 * 0.3, 0.54, 0),
    ("received light", "fibre", ""): Sheet(-8 - -27 - 3, -8 - -21.7, 0),
    ("circuit rate", "fibre", ""): Sheet(500 * 0.8, 194, 0),
    ("circuit rate", "cellular", ""): Sheet(60 * 0.8, 0.4, 0),
    ("wireless clients", "AP1", ""): Sheet(30, 38, 0),
    ("wireless clients", "AP4", ""): Sheet(30, 8, 0),
    ("licences", "mail tenancy seats", ""): Sheet(25, 24, 0),
    ("licences", "recorder channels", ""): Sheet(16, 12, 0),
    ("licences", "wireless controller", ""): Sheet(5, 5, 0),
}
NOTHING_TO_SAY = {("anchors", "1K-R1", ""), ("heat", "1E", "")}


def test_every_row_comes_out_as_worked_by_hand(asked: Callable[[], Headroom]) -> None:
    found = {(r.resource, r.where.name, r.which): r for r in asked().rows}

    assert found.keys() == BY_HAND.keys() | NOTHING_TO_SAY
    for key, sheet in BY_HAND.items():
        row = found[key]
        told = Sheet(row.limit or 0, row.used or 0, row.reserved or 0)
        assert told == pytest.approx(sheet, rel=2e-3, abs=1e-6), key
        assert row.free == pytest.approx(told.limit - told.used - told.reserved), key


def test_every_resource_has_a_row(asked: Callable[[], Headroom]) -> None:
    assert {row.resource for row in asked().rows} == set(RESOURCES)


def test_a_row_shows_the_sum_it_comes_from(asked: Callable[[], Headroom]) -> None:
    for row in asked().rows:
        if row.state != "not known":
            assert row.steps, row.key
            assert row.limit_because, row.key
            assert row.basis, row.key
