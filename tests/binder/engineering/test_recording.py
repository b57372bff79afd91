"""Video storage against published storage arithmetic, RAID and IEC 80000-13."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import constants

from binder.engineering.recording import (
    GB,
    TB,
    TIB,
    Camera,
    RaidLevel,
    bytes_a_day,
    camera_budget,
    disk_writes_tb_a_year,
    rate_budget,
    retention_days,
    storage_needed_bytes,
    tb,
    tib,
    usable_bytes,
    usable_disks,
    wants_dedicated_recorder,
    workload_tb_a_year,
)


def cameras(count: int, mbps: float, hours: float = 24) -> list[Camera]:
    return [Camera(f"C{n}", mbps, hours) for n in range(count)]


# Storage: published arithmetic, 1 Mb/s is 0.45 GB an hour and 10.8 GB a day -------------------


@pytest.mark.parametrize(
    ("count", "mbps", "hours", "days", "size_tb"),
    [
        (1, 4, 24, 1, 0.0432),
        (1, 1, 1, 1, 0.00045),  # and not 0.54 GB, which circulates
        (4, 4, 24, 30, 5.184),
        (8, 4, 24, 30, 10.368),
        (1, 1.024, 24, 1, 0.0110592),
        (20, 6, 24, 45, 58.32),  # and not 70, from the factor 0.54
        (32, 5.12, 24, 30, 53.084),  # and not 49.45, which is binary without saying so
    ],
)
def test_storage(count: int, mbps: float, hours: float, days: float, size_tb: float) -> None:
    """Mb/s x 10^6/8 x seconds: published storage tables, decimal."""
    needed = storage_needed_bytes(cameras(count, mbps, hours), days)
    assert needed / TB == pytest.approx(size_tb, rel=1e-4)


def test_decimal_and_binary_bytes_are_kept_apart() -> None:
    """IEC 80000-13 (from memory): 1 TB = 0.909494702 TiB, 1 TiB = 1.099511627776 TB."""
    assert tib(TB) == pytest.approx(0.909494702, abs=1e-9)
    assert tb(TIB) == 1.099511627776
    assert pytest.approx(constants.tebi) == TIB
    assert tib(storage_needed_bytes(cameras(1, 4), 30)) == pytest.approx(1.178705, abs=1e-6)


@given(st.floats(0, 1e16))
def test_bytes_round_trip(size_bytes: float) -> None:
    assert tb(size_bytes) * TB == pytest.approx(size_bytes)
    assert tib(size_bytes) * TIB == pytest.approx(size_bytes)


# RAID ----------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("level", "disks", "disk_tb", "usable_tb", "usable_tib"),
    [
        ("5", 4, 4, 12, 10.9139),
        ("6", 4, 4, 8, 7.2760),
        ("10", 8, 4, 16, 14.5519),
        ("1", 2, 4, 4, 3.6380),
        ("5", 5, 2, 8, 7.2760),  # and not 7.45, which circulates
        ("0", 3, 4, 12, 10.9139),
        ("none", 1, 8, 8, 7.2760),
    ],
)
def test_room_of_an_array(
    level: RaidLevel, disks: int, disk_tb: float, usable_tb: float, usable_tib: float
) -> None:
    """SNIA dictionary (from memory); 12 and 8 TB as published, TiB by arithmetic."""
    room = usable_bytes(level, disks, disk_tb * TB)
    assert tb(room) == usable_tb
    assert tib(room) == pytest.approx(usable_tib, abs=0.0001)


def test_an_array_with_too_few_disks_is_refused() -> None:
    with pytest.raises(ValueError, match="disks of RAID 5 2: must be finite, 3 or more"):
        usable_disks("5", 2)
    with pytest.raises(ValueError, match="disks of RAID 0 1: must be finite, 2 or more"):
        usable_disks("0", 1)
    assert usable_disks("0", 2) == 2
    with pytest.raises(ValueError, match="disks of RAID 6 3: must be finite, 4 or more"):
        usable_disks("6", 3)
    with pytest.raises(ValueError, match="disks of RAID 10 5: must be an even number"):
        usable_disks("10", 5)
    with pytest.raises(ValueError, match="RAID level '7' is not known: none, 0, 1, 5, 6, 10"):
        usable_disks("7", 5)  # type: ignore[arg-type]


# Retention -----------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("room_tb", "count", "mbps", "hours", "fill", "days"),
    [
        (12, 8, 4, 24, 1.0, 34.722),
        (12, 8, 4, 24, 0.9, 31.25),
        (12, 8, 4, 12, 0.9, 62.5),
        (24, 16, 4, 24, 1.0, 34.722),
        (8, 16, 2, 24, 1.0, 23.148),
        (5.184, 4, 4, 24, 1.0, 30.0),
    ],
)
def test_retention(
    room_tb: float, count: int, mbps: float, hours: float, fill: float, days: float
) -> None:
    """Arithmetic on the storage equation."""
    found = retention_days(room_tb * TB, cameras(count, mbps, hours), fill)
    assert found == pytest.approx(days, abs=0.0005)


RATES = st.lists(st.builds(Camera, st.just("C"), st.floats(0.1, 30), st.floats(1, 24)), min_size=1)


@given(RATES, st.floats(0, 400), st.floats(0.1, 1))
def test_what_is_needed_for_so_many_days_keeps_so_many(
    found: list[Camera], days: float, fill: float
) -> None:
    room = storage_needed_bytes(found, days, fill)
    assert retention_days(room, found, fill) == pytest.approx(days)


@given(RATES, RATES, st.floats(1, 100))
def test_more_cameras_are_kept_for_fewer_days(
    some: list[Camera], more: list[Camera], room_tb: float
) -> None:
    room = room_tb * TB
    assert retention_days(room, some + more) < retention_days(room, some)


def test_no_room_keeps_nothing_and_no_camera_has_no_answer() -> None:
    assert retention_days(0, cameras(1, 4)) == 0
    with pytest.raises(ValueError, match="written in a day 0 bytes: must be finite, above 0"):
        retention_days(TB, [])


# Wear ----------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("count", "written_tb"), [(1, 15.768), (8, 126.144), (16, 252.288), (32, 504.576)]
)
def test_a_disk_writes_all_year(count: int, written_tb: float) -> None:
    """Cameras of 4 Mb/s, 365 days: arithmetic."""
    assert disk_writes_tb_a_year(cameras(count, 4), "none", 1) == pytest.approx(written_tb)


@pytest.mark.parametrize(
    ("level", "disks", "each_tb"),
    [("5", 5, 63.072), ("6", 6, 63.072), ("10", 8, 63.072), ("1", 2, 252.288), ("0", 4, 63.072)],
)
def test_an_array_shares_what_is_written(level: RaidLevel, disks: int, each_tb: float) -> None:
    """252.288 TB a year in whole stripes: arithmetic."""
    assert disk_writes_tb_a_year(cameras(16, 4), level, disks) == pytest.approx(each_tb)


def test_workload_is_that_of_a_whole_year() -> None:
    """Disk makers' annualised workload: 40 TB written and 10 read in 4380 h are 100 TB a year."""
    assert workload_tb_a_year(40, 10, 4380) == pytest.approx(100)
    mbps = 180 * TB * 8 / 1e6 / (365 * 86400)
    assert mbps == pytest.approx(45.66, abs=0.005)  # a disk of 180 TB a year takes no more
    assert disk_writes_tb_a_year([Camera("all", mbps)], "none", 1) == pytest.approx(180)


# Recorders: common practice, no published source ----------------------------------------------


def test_a_recorder_is_planned_to_three_quarters_of_its_cameras() -> None:
    budget = camera_budget(16, used=11, kept=1)
    assert (budget.limit, budget.free, budget.unit) == (12, 0, "cameras")
    assert camera_budget(8, 0).limit == 6
    assert camera_budget(9, 0).limit == 6  # whole cameras
    assert camera_budget(16, 0, planning_share=1).limit == 16


def test_a_recorder_is_planned_to_four_fifths_of_its_rate() -> None:
    """Published sum: 32 cameras of 1536 and 512 kb/s come to 65 536 kb/s, about 66 Mb/s."""
    budget = rate_budget(160, cameras(32, 1.536 + 0.512))
    assert budget.used == pytest.approx(65.536)
    assert budget.limit == pytest.approx(128)
    assert rate_budget(160, []).free == pytest.approx(128)


def test_above_six_cameras_a_recorder_of_their_own() -> None:
    assert not wants_dedicated_recorder(6)
    assert wants_dedicated_recorder(7)


def test_out_of_range_is_refused_by_name_and_unit() -> None:
    with pytest.raises(ValueError, match="rate of C0 -1 Mb/s: must be finite, 0 Mb/s or more"):
        bytes_a_day(cameras(1, -1))
    with pytest.raises(ValueError, match="recorded by C0 25 hours a day: must be from 0 to 24"):
        bytes_a_day(cameras(1, 4, 25))
    with pytest.raises(ValueError, match="share filled 0: must be finite, above 0"):
        retention_days(TB, cameras(1, 4), 0)
    with pytest.raises(ValueError, match="disk size 0 bytes"):
        usable_bytes("5", 4, 0)
    with pytest.raises(ValueError, match="rated rate nan Mb/s"):
        rate_budget(math.nan, [])
    with pytest.raises(ValueError, match="rated cameras 0: must be finite, 1 or more"):
        camera_budget(0, 0)
    with pytest.raises(ValueError, match=r"planning share 1\.1: must be from 0 to 1"):
        camera_budget(16, 0, planning_share=1.1)
    with pytest.raises(ValueError, match="power-on time 0 hours"):
        workload_tb_a_year(1, 1, 0)
    assert bytes_a_day(cameras(1, 0)) == 0
    assert usable_bytes("none", 1, 8000 * GB) == 8 * TB
