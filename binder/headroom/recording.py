"""Rows of recorders and file stores: cameras, rate, days kept, and room on the disks."""

from __future__ import annotations

from collections.abc import Iterator
from functools import partial
from math import ceil
from typing import Final, get_args

from binder.engineering.figures import Budget, Step, plain
from binder.engineering.recording import (
    GB,
    Camera,
    RaidLevel,
    bytes_a_day,
    camera_budget,
    rate_budget,
    retention_days,
    storage_needed_bytes,
    usable_bytes,
    usable_disks,
    wants_dedicated_recorder,
)
from binder.headroom.attempt import attempt
from binder.headroom.rows import Need, Row, row, unknown
from binder.headroom.source import Source, missing, need, need_reading
from binder.headroom.tables import Hardware

CAMERAS: Final = "recorder cameras"
RATE: Final = "recorder rate"
DAYS: Final = "days kept"
DISK: Final = "disk space"
_ALL_DAY: Final = 24.0


def rows(source: Source) -> Iterator[Row]:
    """Three rows a recorder, and one a file store."""
    for hardware in source.hardware.values():
        if hardware.status not in ("installed", "spare"):
            continue
        where = source.of_hardware(hardware)
        now, kept = _cameras(source, hardware)
        if hardware.form == "recorder" or now or kept:
            both = now, kept
            yield attempt(CAMERAS, where, "cameras", partial(_count, source, hardware, *both))
            yield attempt(RATE, where, "Mb/s", partial(_rate, source, hardware, *both))
            yield attempt(DAYS, where, "days", partial(_days, source, hardware, *both))
        elif hardware.form == "storage" or source.readings(hardware.id, "disk used GB"):
            yield attempt(DISK, where, "GB", partial(_disk, source, hardware))


def _cameras(source: Source, recorder: Hardware) -> tuple[list[Hardware], list[Hardware]]:
    """What records there, and what is planned to."""
    there = source.recorded_by.get(recorder.id, [])
    return [h for h in there if not h.is_planned], [h for h in there if h.is_planned]


def _count(source: Source, recorder: Hardware, now: list[Hardware], kept: list[Hardware]) -> Row:
    where, limit = source.of_hardware(recorder), source.limits["recorder cameras percent"]
    basis = "cameras that name it as their recorder"
    if recorder.rated_cameras is None:
        lacking = missing("hardware", recorder, "rated_cameras")
        return unknown(CAMERAS, where, "cameras", lacking, basis=basis)
    notes = []
    if recorder.form == "gateway" and wants_dedicated_recorder(len(now) + len(kept)):
        notes.append(f"{len(now) + len(kept)} cameras want a recorder of their own")
    budget = camera_budget(recorder.rated_cameras, len(now), len(kept), limit.share)
    budget = Budget(budget.limit, budget.used, budget.reserved, budget.unit, (
        *budget.steps,
        Step("recorded", ", ".join(h.name for h in now) or "none", len(now), "cameras"),
        Step("planned", ", ".join(h.name for h in kept) or "none", len(kept), "cameras"),
    ))  # fmt: skip
    return row(
        CAMERAS, where, budget, rated=recorder.rated_cameras, because=limit.because, basis=basis,
        tight=source.limits.tight, notes=notes,
        fix=lambda b: f"a recorder rated for {ceil((b.used + b.reserved) / limit.share)} cameras "
                      "or more",
    )  # fmt: skip


def _filmed(cameras: list[Hardware]) -> tuple[list[Camera], list[Need], list[Need]]:
    """Cameras whose rate is known; rates that are missing; hours for which all day stands in."""
    known, lacking, assumed = [], [], []
    for camera in cameras:
        if camera.bit_rate_mbps is None:
            lacking.append(need("hardware", camera, "bit_rate_mbps"))
            continue
        hours = camera.recorded_hours_a_day
        if hours is None:
            hours = _ALL_DAY
            assumed.append(need("hardware", camera, "recorded_hours_a_day"))
        known.append(Camera(camera.name, camera.bit_rate_mbps, hours))
    return known, lacking, assumed


def _rate(source: Source, recorder: Hardware, now: list[Hardware], kept: list[Hardware]) -> Row:
    where, limit = source.of_hardware(recorder), source.limits["recorder rate percent"]
    basis = "bit rates of its cameras, all at once"
    if recorder.rated_mbps is None:
        needs = missing("hardware", recorder, "rated_mbps")
        return unknown(RATE, where, "Mb/s", needs, basis=basis)
    filmed, lacking, _ = _filmed(now)
    planned, lacking_too, _ = _filmed(kept)
    return row(
        RATE, where, rate_budget(recorder.rated_mbps, filmed, planned, limit.share),
        rated=recorder.rated_mbps, because=limit.because, basis=basis,
        tight=source.limits.tight, missing=[*lacking, *lacking_too],
        fix=lambda b: f"a recorder rated for {plain((b.used + b.reserved) / limit.share)} Mb/s "
                      "or more, or lower bit rates",
    )  # fmt: skip


def _days(source: Source, recorder: Hardware, now: list[Hardware], kept: list[Hardware]) -> Row:
    """Days kept against the target: what planned cameras cost of them is reserved."""
    where, basis = source.of_hardware(recorder), "disks, RAID level and what its cameras write"
    measured = source.latest(recorder.id, "disk used GB", "GB")
    target, because = _target(source, recorder)
    lacking = list(missing("hardware", recorder, "disks", "disk_gb", "raid_level"))
    filmed, no_rate, assumed = _filmed(now)
    planned, no_rate_too, assumed_too = _filmed(kept)
    lacking += [*no_rate, *no_rate_too]
    room = _room_bytes(recorder)
    if room is None or not bytes_a_day([*filmed, *planned]):
        needs = lacking or [
            Need(recorder.id, "hardware", recorder.name, "", "a camera", add="hardware")
        ]
        return unknown(DAYS, where, "days", needs, basis=basis, measured=measured)
    level, disks = recorder.raid_level or "none", recorder.disks or 0
    now_days = retention_days(room, filmed) if bytes_a_day(filmed) else float("inf")
    then_days = retention_days(room, [*filmed, *planned])
    limit_days = now_days if bytes_a_day(filmed) else then_days
    steps = (
        Step("room", f"{plain(_usable(level, disks))} of {disks} disks × "
             f"{plain(recorder.disk_gb or 0)} GB, RAID {level}", room / GB, "GB", "decimal"),
        Step("written a day", " + ".join(f"{c.name} {plain(c.bit_rate_mbps)}" for c in filmed)
             + " Mb/s, by the hours", bytes_a_day(filmed) / GB, "GB"),
        Step("kept", "room / written a day", limit_days, "days"),
        Step("with what is planned", f"{len(planned)} cameras more", then_days, "days"),
        Step("target", because, target, "days"),
    )  # fmt: skip
    budget = Budget(limit_days, target, limit_days - then_days, "days", steps)
    return row(
        DAYS, where, budget, rated=limit_days, because="what the disks hold", basis=basis,
        tight=source.limits.tight, missing=[*no_rate, *no_rate_too],
        assumed=[*assumed, *assumed_too], measured=measured, notes=[f"target: {because}"],
        fix=lambda b: _more_disk([*filmed, *planned], target, level, disks),
    )  # fmt: skip


def _target(source: Source, recorder: Hardware) -> tuple[float, str]:
    if recorder.retention_target_days is not None:
        return recorder.retention_target_days, "its own"
    limit = source.limits["retention days"]
    return limit.value, limit.because


def _usable(level: str, disks: int) -> float:
    return usable_disks(_raid(level), disks)


def _raid(level: str) -> RaidLevel:
    return next(known for known in get_args(RaidLevel) if known == level)


def _room_bytes(hardware: Hardware) -> float | None:
    if hardware.disks is None or hardware.disk_gb is None or hardware.raid_level is None:
        return None
    return usable_bytes(_raid(hardware.raid_level), hardware.disks, hardware.disk_gb * GB)


def _more_disk(cameras: list[Camera], days: float, level: str, disks: int) -> str:
    each_gb = storage_needed_bytes(cameras, days) / GB / _usable(level, disks)
    return f"{disks} disks of {plain(each_gb)} GB or more, or fewer days, or lower bit rates"


def _disk(source: Source, store: Hardware) -> Row:
    where, limit = source.of_hardware(store), source.limits["disk percent"]
    basis = "disks and RAID level; used as read"
    measured = source.latest(store.id, "disk used GB", "GB")
    lacking = missing("hardware", store, "disks", "disk_gb", "raid_level")
    room = _room_bytes(store)
    if room is None or measured is None:
        needs = [*lacking, *([] if measured else [need_reading("hardware", store, "disk used GB")])]
        return unknown(DISK, where, "GB", needs, basis=basis, measured=measured)
    room_gb, level = room / GB, store.raid_level or "none"
    limit_gb = room_gb * limit.share
    budget = Budget(limit_gb, measured.value, 0.0, "GB", (
        Step("room", f"{plain(_usable(level, store.disks or 0))} × {plain(store.disk_gb or 0)} GB, "
             f"RAID {level}", room_gb, "GB", "decimal"),
        Step("limit", f"{plain(room_gb)} GB × {plain(limit.share)}", limit_gb, "GB"),
        Step("measured", measured.at[:10], measured.value, "GB"),
    ))  # fmt: skip
    return row(
        DISK, where, budget, rated=room_gb, because=limit.because, basis=basis,
        tight=source.limits.tight, measured=measured,
        fix=lambda b: f"{plain(-b.free / limit.share)} GB more of usable disk",
    )  # fmt: skip
