"""The review of a shelf: across all clients, what runs out, what is due, what is stale.

A binder is read again only when it has changed or the day has; the rest comes from a file kept
with this person's state. Binders are read by several processes, one at a time each, so that memory
does not grow with their number. One that cannot be read is named, and stops nothing.
"""

from __future__ import annotations

import contextlib
import hashlib
import json
import os
import tempfile
from collections.abc import Callable, Iterator, Mapping, Sequence
from concurrent.futures import FIRST_COMPLETED, Future, ProcessPoolExecutor, wait
from dataclasses import asdict, dataclass
from datetime import date, timedelta
from itertools import islice
from pathlib import Path
from typing import Any, Final

from binder.envelope.reports import overdue as secrets_overdue
from binder.errors import BinderError, FileError
from binder.file import BinderFile, open_binder
from binder.headroom import headroom
from binder.headroom.battery import LIFE
from binder.headroom.rows import Headroom
from binder.read import client, read_where
from binder.records.catalog import BY_NAME
from binder.review.exhaustion import exhaustion
from binder.sheet import is_stale
from binder.shelf import binders_in
from binder.unsaved import state_folder
from binder.upkeep import next_due

_HALF_A_YEAR: Final = timedelta(days=183)  # two quarters
_LOOKED_AT: Final = ("hardware", "circuit", "space", "contact", "key")
_MAKE: Final = 1  # raised when what is kept is made otherwise


@dataclass(frozen=True, slots=True)
class ClientReview:
    """What one binder asks for. `problem` is one line, '' when it could be read; then the rest is
    empty. `runs_out` are resources that are short now or used up within two quarters, as
    'resource of thing, by day'; `stale_percent` is the share that nobody verified in time."""

    name: str
    path: str
    client: str
    problem: str
    runs_out: tuple[str, ...] = ()
    overdue_duties: tuple[str, ...] = ()
    batteries_due: tuple[str, ...] = ()
    circuits_past_notice: tuple[str, ...] = ()
    secrets_to_rotate: int = 0
    stale_percent: int = 0
    last_review: str = ""

    @property
    def asks(self) -> int:
        """How many things ask for attention."""
        return (
            len(self.runs_out) + len(self.overdue_duties) + len(self.batteries_due)
            + len(self.circuits_past_notice) + self.secrets_to_rotate
        )  # fmt: skip


@dataclass(frozen=True, slots=True)
class ShelfReview:
    """Every binder of a shelf on a day, what asks for most first, then those not read."""

    on: str
    clients: tuple[ClientReview, ...]
    read_again: int

    @property
    def problems(self) -> tuple[ClientReview, ...]:
        return tuple(one for one in self.clients if one.problem)


def review_shelf(
    folder: Path,
    today: date,
    *,
    progress: Callable[[int, int], None] = lambda done, of: None,
    processes: int | None = None,
) -> ShelfReview:
    """The review of every binder of a folder. `progress` is told how many of how many are done.

    Raises FileError when the folder cannot be read.
    """
    paths = binders_in(folder)
    kept = _kept(folder, today)
    found: dict[str, ClientReview] = {}
    fresh: list[Path] = []
    for path in paths:
        held = kept.get(path.name)
        if held is not None and held[0] == _mark(path):
            found[path.name] = held[1]
        else:
            fresh.append(path)
    progress(len(found), len(paths))
    for one in _read(fresh, today, processes):
        found[Path(one.path).name] = one
        progress(len(found), len(paths))
    _keep(folder, today, {path.name: (_mark(path), found[path.name]) for path in paths})
    told = sorted(found.values(), key=lambda one: (bool(one.problem), -one.asks, one.name))
    return ShelfReview(today.isoformat(), tuple(told), len(fresh))


def review_client(path: Path, today: date) -> ClientReview:
    """What one binder asks for on a day; never raises for one that cannot be read."""
    try:
        with open_binder(path, read_only=True, wait_s=0.5) as binder, binder.reading():
            return _reviewed(binder, path, today)
    except BinderError as error:
        problem = str(error).removeprefix(f"{path}: ")
    except OSError as error:
        problem = f"cannot be read: {error.strerror}"
    return ClientReview(path.stem, str(path), "", problem)


def _reviewed(binder: BinderFile, path: Path, today: date) -> ClientReview:
    computed = headroom(binder, today=today)
    sheet = client(binder)
    until = (today + _HALF_A_YEAR).isoformat()
    leads = exhaustion(binder, computed, today)
    return ClientReview(
        path.stem, str(path), sheet.name if sheet else "", "",
        runs_out=tuple(_runs_out(computed, {
            e.row.key: e.on for e in leads
            if e.on and e.on <= until and e.row.resource != LIFE and not e.is_far
        })),
        overdue_duties=tuple(_overdue(binder, today)),
        batteries_due=tuple(f"{e.row.where.name}, {e.on}" for e in leads
                            if e.row.resource == LIFE and e.on and e.on <= until),
        circuits_past_notice=tuple(_past_notice(binder, today)),
        secrets_to_rotate=len(secrets_overdue(binder, today)),
        stale_percent=_stale_percent(binder, today, sheet["verify_months"] if sheet else None),
        last_review=_last_review(binder),
    )  # fmt: skip


def _last_review(binder: BinderFile) -> str:
    row = binder.connection.execute(
        "SELECT max(taken_on) FROM review WHERE status = 'current'"
    ).fetchone()
    return row[0] or ""


def _runs_out(computed: Headroom, dates: Mapping[tuple[str, str, int], str]) -> Iterator[str]:
    for row in computed.rows:
        if row.resource == LIFE:
            continue
        called = f"{row.resource} of {row.where.name}"
        if row.state in ("over", "short"):
            yield f"{called}, {row.state} now"
        elif row.key in dates:
            yield f"{called}, {dates[row.key]}"


def _overdue(binder: BinderFile, today: date) -> Iterator[str]:
    for duty in read_where(binder, BY_NAME["duty"], "t.status = 'current'"):
        done = date.fromisoformat(duty["done_on"]) if duty["done_on"] else None
        due = next_due(duty["rule"], date.fromisoformat(duty["starts_on"]), done)
        if due is not None and due < today:
            yield f"{duty.name}, {due.isoformat()}"


def _past_notice(binder: BinderFile, today: date) -> Iterator[str]:
    for circuit in read_where(binder, BY_NAME["circuit"], "t.status = 'installed'"):
        if circuit["contract_ends_on"]:
            ends = date.fromisoformat(circuit["contract_ends_on"])
            if ends - timedelta(days=circuit["notice_days"] or 0) < today:
                yield f"{circuit.name}, ends {ends.isoformat()}"


def _stale_percent(binder: BinderFile, today: date, months: int | None) -> int:
    dates = [
        row[0]
        for kind in _LOOKED_AT
        for row in binder.connection.execute(
            f"SELECT verified_on FROM {kind} WHERE status IN ('installed', 'current')"
        )
    ]
    stale = sum(is_stale(day, today, months) for day in dates)
    return round(100 * stale / len(dates)) if dates else 0


# Several at once. -------------------------------------------------------------------------


def _read(paths: Sequence[Path], today: date, processes: int | None) -> Iterator[ClientReview]:
    """As they are done; no more are under way than there are processes, and as many waiting."""
    count = min(processes or os.cpu_count() or 1, len(paths))
    if count <= 1:
        yield from (review_client(path, today) for path in paths)
        return
    coming = iter(paths)
    with ProcessPoolExecutor(count) as pool:
        going: set[Future[ClientReview]] = {
            pool.submit(review_client, path, today) for path in islice(coming, 2 * count)
        }
        while going:
            done, going = wait(going, return_when=FIRST_COMPLETED)
            for one in done:
                yield one.result()
            going |= {pool.submit(review_client, path, today) for path in islice(coming, len(done))}


# What is kept. ----------------------------------------------------------------------------


def _mark(path: Path) -> list[int]:
    """What changes when a binder does."""
    with contextlib.suppress(OSError):
        status = path.stat()
        return [status.st_size, status.st_mtime_ns, status.st_ino]
    return []


def _file(folder: Path) -> Path:
    digest = hashlib.sha256(str(folder.resolve()).encode(errors="replace")).hexdigest()[:24]
    return state_folder() / "shelves" / f"{digest}.review"


def _kept(folder: Path, today: date) -> dict[str, tuple[list[int], ClientReview]]:
    try:
        held = json.loads(_file(folder).read_text(encoding="utf-8"))
        if (held["make"], held["on"]) != (_MAKE, today.isoformat()):
            return {}
        return {name: (one["mark"], _client(one["review"])) for name, one in held["of"].items()}
    except (OSError, ValueError, KeyError, TypeError):  # none, or not ours: it is made anew
        return {}


def _client(held: Mapping[str, Any]) -> ClientReview:
    lists = ("runs_out", "overdue_duties", "batteries_due", "circuits_past_notice")
    return ClientReview(**{**held, **{name: tuple(held[name]) for name in lists}})


def _keep(folder: Path, today: date, found: Mapping[str, tuple[list[int], ClientReview]]) -> None:
    path = _file(folder)
    data = {
        "make": _MAKE, "on": today.isoformat(),
        "of": {name: {"mark": mark, "review": asdict(one)}
               for name, (mark, one) in found.items() if mark and not one.problem},
    }  # fmt: skip
    try:
        path.parent.mkdir(parents=True, exist_ok=True, mode=0o700)
        handle, beside = tempfile.mkstemp(dir=path.parent, prefix=f".{path.name}.")  # mode 0600
        with os.fdopen(handle, "w", encoding="utf-8") as file:
            json.dump(data, file)
        os.replace(beside, path)
    except OSError as error:
        raise FileError(f"{path}: cannot be written: {error.strerror}") from error
