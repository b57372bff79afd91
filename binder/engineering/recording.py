"""Video recording: bytes, days kept, RAID, wear of disks, and how many cameras a recorder takes.

Rates are decimal (1 Mb is 10^6 bits), disks are sold in decimal bytes (1 TB is 10^12), and what a
screen calls TB is often binary (1 TiB is 2^40): IEC 80000-13. RAID as in the SNIA dictionary (from
memory). Limits of recorders are common practice, with no published source.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable
from dataclasses import dataclass
from typing import Final, Literal, get_args

from binder.engineering.figures import Budget, Step, plain, require, require_above

TB: Final = 10**12
GB: Final = 10**9
TIB: Final = 2**40
HOURS_A_YEAR: Final = 8760

# Common practice, no published source.
PLANNED_CAMERA_SHARE: Final = 0.75  # of the advertised count of cameras
PLANNED_RATE_SHARE: Final = 0.8  # of the rated incoming rate
MOST_ON_A_GATEWAY: Final = 6  # cameras on a gateway's own recorder

RaidLevel = Literal["none", "0", "1", "5", "6", "10"]
_LEAST_DISKS: Final = {"none": 1, "0": 2, "1": 2, "5": 3, "6": 4, "10": 4}


@dataclass(frozen=True, slots=True)
class Camera:
    """A camera's mean rate while it records, of all its recorded streams, and for how long."""

    name: str
    bit_rate_mbps: float
    hours_a_day: float = 24.0


def tib(size_bytes: float) -> float:
    """Binary terabytes: bytes/2^40 (IEC 80000-13). Raises ValueError for a negative size."""
    require("size", size_bytes, "bytes")
    return size_bytes / TIB


def tb(size_bytes: float) -> float:
    """Decimal terabytes: bytes/10^12 (IEC 80000-13). Raises ValueError for a negative size."""
    require("size", size_bytes, "bytes")
    return size_bytes / TB


def bytes_a_day(cameras: Iterable[Camera]) -> float:
    """What cameras write in a day, in bytes: Mb/s x 10^6/8 x 3600 x hours (arithmetic).

    Raises ValueError for a negative rate, or hours outside 0 to 24.
    """
    total = 0.0
    for camera in cameras:
        require(f"rate of {camera.name}", camera.bit_rate_mbps, "Mb/s")
        require(f"recorded by {camera.name}", camera.hours_a_day, "hours a day", 0, 24)
        total += camera.bit_rate_mbps * 1e6 / 8 * 3600 * camera.hours_a_day
    return total


def usable_disks(level: RaidLevel, disks: int) -> float:
    """How many disks' worth of room an array of equal disks has (SNIA dictionary, from memory).

    All of them without RAID and for 0; one for 1; one less for 5, two less for 6; half for 10. Of
    unequal disks the smallest counts. Raises ValueError for a level that is not known, or too few
    or, for 10, an odd number of disks.
    """
    if level not in get_args(RaidLevel):
        raise ValueError(f"RAID level {level!r} is not known: {', '.join(get_args(RaidLevel))}")
    what = "disks" if level == "none" else f"disks of RAID {level}"
    require(what, disks, "", _LEAST_DISKS[level])
    if level == "10" and disks % 2:
        raise ValueError(f"{what} {disks}: must be an even number")
    return {"1": 1, "5": disks - 1, "6": disks - 2, "10": disks / 2}.get(level, disks)


def usable_bytes(level: RaidLevel, disks: int, disk_bytes: float) -> float:
    """The room of an array of equal disks, in bytes, before any file system (arithmetic).

    Raises ValueError as `usable_disks` does, or for a size not above zero.
    """
    require_above("disk size", disk_bytes, "bytes")
    return usable_disks(level, disks) * disk_bytes


def storage_needed_bytes(cameras: Iterable[Camera], days: float, fill: float = 1.0) -> float:
    """The room that keeps so many days, in bytes, when it may be filled to that share.

    Raises ValueError as `bytes_a_day` does, for negative days, or a fill outside (0, 1].
    """
    require("retention", days, "days")
    _require_fill(fill)
    return bytes_a_day(cameras) * days / fill


def retention_days(room_bytes: float, cameras: Iterable[Camera], fill: float = 1.0) -> float:
    """How many days an array keeps: room x fill/bytes a day (arithmetic).

    Raises ValueError for a negative room, a fill outside (0, 1], or cameras that write nothing.
    """
    require("room", room_bytes, "bytes")
    _require_fill(fill)
    daily = bytes_a_day(cameras)
    require_above("written in a day", daily, "bytes")
    return room_bytes * fill / daily


def disk_writes_tb_a_year(cameras: Iterable[Camera], level: RaidLevel, disks: int) -> float:
    """What each disk of an array writes in 365 days, in TB, parity and mirrors included.

    Whole stripes are written, as recorders do. Compare with the workload the disk's maker allows.
    Arithmetic. Raises ValueError as `bytes_a_day` and `usable_disks` do.
    """
    return tb(bytes_a_day(cameras) * 365) / usable_disks(level, disks)


def workload_tb_a_year(written_tb: float, read_tb: float, power_on_hours: float) -> float:
    """A disk's workload for a year, in TB: (written + read) x 8760/power-on hours.

    As disk makers annualise it, to compare with the limit in their sheets. Raises ValueError for
    negative figures or hours not above 0.
    """
    require("written", written_tb, "TB")
    require("read", read_tb, "TB")
    require_above("power-on time", power_on_hours, "hours")
    return (written_tb + read_tb) * HOURS_A_YEAR / power_on_hours


def camera_budget(
    rated_cameras: int, used: int, kept: int = 0, planning_share: float = PLANNED_CAMERA_SHARE
) -> Budget:
    """How many more cameras a recorder takes, planned to a share of the advertised count.

    Three quarters by common practice, no published source; whole cameras only. Raises ValueError
    for values out of range.
    """
    require("rated cameras", rated_cameras, "", 1)
    require("cameras", used, "")
    require("cameras planned", kept, "")
    require("planning share", planning_share, "", 0, 1)
    limit = int(rated_cameras * planning_share + 1e-9)
    basis = "common practice, no published source"
    working = f"{rated_cameras} advertised × {plain(planning_share)}, whole cameras"
    return Budget(limit, used, kept, "cameras", (Step("limit", working, limit, "cameras", basis),))


def rate_budget(
    rated_mbps: float,
    used: Collection[Camera],
    kept: Collection[Camera] = (),
    planning_share: float = PLANNED_RATE_SHARE,
) -> Budget:
    """What a recorder can still take in, in Mb/s, all cameras at once.

    70 to 80 % of the rated rate by common practice (from memory). Raises ValueError for values out
    of range.
    """
    require_above("rated rate", rated_mbps, "Mb/s")
    require("planning share", planning_share, "", 0, 1)
    limit = rated_mbps * planning_share
    steps = (
        Step("limit", f"{plain(rated_mbps)} Mb/s × {plain(planning_share)}", limit, "Mb/s"),
        _sum_of("recorded", used),
        _sum_of("planned or kept", kept),
    )
    return Budget(limit, steps[1].value, steps[2].value, "Mb/s", steps)


def wants_dedicated_recorder(cameras: int) -> bool:
    """Whether so many cameras want a recorder of their own rather than a gateway's.

    Above about six: common practice, no published source.
    """
    require("cameras", cameras, "")
    return cameras > MOST_ON_A_GATEWAY


def _require_fill(fill: float) -> None:
    require_above("share filled", fill, "")
    require("share filled", fill, "", 0, 1)


def _sum_of(what: str, cameras: Collection[Camera]) -> Step:
    for camera in cameras:
        require(f"rate of {camera.name}", camera.bit_rate_mbps, "Mb/s")
    working = " + ".join(f"{camera.name} {plain(camera.bit_rate_mbps)}" for camera in cameras)
    return Step(what, working or "nothing", sum(c.bit_rate_mbps for c in cameras), "Mb/s")
