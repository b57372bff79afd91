"""Reviews: a headroom computation as it was, with the fingerprint of what it was computed from.

A review is never altered (the database sees to it). Its place in the change log says what the
binder held then, so that anybody can compute it again and compare.
"""

from __future__ import annotations

import hashlib
import json
from collections.abc import Mapping, Sequence
from dataclasses import asdict, dataclass, replace
from datetime import date
from typing import Any, Final, NamedTuple

from binder.as_of import as_of
from binder.edit import Editor
from binder.engineering.figures import Step
from binder.errors import RequestError
from binder.file import BinderFile
from binder.headroom import headroom
from binder.headroom.rows import Headroom, Measured, Need, Outlook, Row, Where
from binder.history import position
from binder.read import Record, read, read_where
from binder.records.catalog import BY_NAME

# The kinds that headroom is computed from.
INPUTS: Final = (
    "client", "space", "rack", "hardware", "inlet", "branch_circuit", "port", "link", "cord",
    "pathway", "run", "test", "loss", "subnet", "address", "circuit", "renewal", "reading",
    "reservation", "planning_limit",
)  # fmt: skip
_FIGURES: Final = ("rated", "limit", "used", "reserved", "free", "share", "bad")


@dataclass(frozen=True, slots=True)
class Review:
    """A review as it was taken. `change_position` is the place in the change log it was taken at,
    `fingerprint` the SHA-256 of the records it was computed from, in hex."""

    id: int
    name: str
    taken_on: str
    taken_by: str
    change_position: int | None
    fingerprint: str
    headroom: Headroom


class Level(NamedTuple):
    """How a row stood at a review."""

    unit: str
    used: float | None
    limit: float | None
    rated: float | None


@dataclass(frozen=True, slots=True)
class Levels:
    """A review of which no more is read than how each row stood, by the row's key."""

    name: str
    taken_on: str
    of: Mapping[tuple[str, str, int], Level]


def take(editor: Editor, today: date) -> Review:
    """Compute headroom and store it, in one step."""
    binder = editor.binder
    with binder.reading():
        at, print_, computed = position(binder), fingerprint(binder), headroom(binder, today=today)
    with editor.step(f"review of {today.isoformat()}") as step:
        review_id = step.add(
            "review",
            {
                "taken_on": today.isoformat(), "taken_by": editor.who, "change_position": at,
                "fingerprint": print_, "body": json.dumps(asdict(computed), sort_keys=True),
            },
        )  # fmt: skip
    return open_review(binder, review_id)


def reviews(binder: BinderFile) -> tuple[Review, ...]:
    """Every review, the earliest first; one whose computation cannot be read is left out."""
    found = read_where(
        binder,
        BY_NAME["review"],
        "t.status = 'current'",
        order_by="t.taken_on, t.change_position, t.id",
    )
    read_so_far = (_review(record) for record in found if record["body"])
    return tuple(review for review in read_so_far if review is not None)


def left_out(binder: BinderFile, found: Sequence[Review]) -> tuple[str, ...]:
    """The names of the reviews that hold something, and are not among those that could be read."""
    named = {review.name for review in found}
    held = binder.connection.execute(
        "SELECT r.name FROM review t JOIN record r ON r.id = t.id "
        "WHERE t.status = 'current' AND t.body <> '' ORDER BY t.taken_on, t.id"
    )
    return tuple(name for (name,) in held if name not in named)


def last_review(binder: BinderFile) -> Review | None:
    """The latest review that can be read; None when there is none."""
    held = binder.connection.execute(
        "SELECT id FROM review WHERE status = 'current' AND body <> '' "
        "ORDER BY taken_on DESC, change_position DESC, id DESC"
    ).fetchall()
    return next(filter(None, (_review(read(binder, row[0])) for row in held)), None)


def levels(binder: BinderFile, until: date) -> tuple[Levels, ...]:
    """How every row stood at each review of that day or before, the earliest first.

    One whose computation cannot be read is left out: opening it says so, and where things lead can
    be told without it.
    """
    held = binder.connection.execute(
        "SELECT r.name, t.taken_on, t.body FROM review t JOIN record r ON r.id = t.id "
        "WHERE t.status = 'current' AND t.body <> '' AND t.taken_on <= ? "
        "ORDER BY t.taken_on, t.change_position, t.id",
        (until.isoformat(),),
    )
    read = ((name, taken_on, _levels(body)) for name, taken_on, body in held)
    return tuple(Levels(name, taken_on, of) for name, taken_on, of in read if of is not None)


def open_review(binder: BinderFile, review_id: int) -> Review:
    """One review. Raises RequestError when it holds no computation."""
    record = read(binder, review_id)
    if record.kind.name != "review" or not record["body"]:
        raise RequestError(f"'{record.name}' holds no stored computation")
    if (review := _review(record)) is None:
        raise RequestError(
            f"'{record.name}' holds no computation that `binder review take` stored; "
            "take the review anew"
        )
    return review


def reproduces(binder: BinderFile, review: Review) -> bool:
    """Whether computing it again from the binder as it stood gives the same figures. Where they
    lead is no part of it: that is reckoned from the reviews.

    Raises RequestError for a review without its place in the change log.
    """
    if review.change_position is None:
        raise RequestError(f"{review.name} has no place in the change log")
    with as_of(binder, review.change_position) as stood:
        same = fingerprint(stood) == review.fingerprint
        on = date.fromisoformat(review.taken_on)
        return same and _figures(headroom(stood, today=on)) == _figures(review.headroom)


def _figures(computed: Headroom) -> Headroom:
    rows = tuple(replace(row, outlook=None, planned_on="") for row in computed.rows)
    return replace(computed, rows=rows)


def fingerprint(binder: BinderFile) -> str:
    """The SHA-256, in hex, of every record that headroom is computed from, by kind and id."""
    digest = hashlib.sha256()
    for kind in INPUTS:
        digest.update(kind.encode())
        for row in binder.connection.execute(f'SELECT * FROM "{kind}" ORDER BY id'):
            digest.update(repr(tuple(row)).encode())
    return digest.hexdigest()


def _review(record: Record) -> Review | None:
    """The review; None when what it holds is no computation."""
    computed = _headroom(record["body"])
    if computed is None:
        return None
    return Review(
        record.id, record.name, record["taken_on"], record["taken_by"] or "",
        record["change_position"], record["fingerprint"] or "", computed,
    )  # fmt: skip


def _headroom(body: str) -> Headroom | None:
    try:
        held = json.loads(body)
        date.fromisoformat(held["on"])
        return Headroom(held["on"], tuple(map(_row, held["rows"])), tuple(held["notes"]))
    except (ValueError, KeyError, TypeError, RecursionError):
        return None


def _levels(body: str) -> dict[tuple[str, str, int], Level] | None:
    try:
        return {
            (row["resource"], row["which"], row["where"]["id"]): Level(
                row["unit"], row["used"], row["limit"], row["rated"]
            )
            for row in json.loads(body)["rows"]
        }
    except (ValueError, KeyError, TypeError):
        return None


def _row(held: Mapping[str, Any]) -> Row:
    if not all(isinstance(held[name], float | int | None) for name in _FIGURES):
        raise TypeError("a figure is no number")
    return Row(**{
        **held,
        "where": Where(**held["where"]),
        "steps": tuple(Step(**step) for step in held["steps"]),
        "needs": tuple(Need(**need) for need in held["needs"]),
        "measured": Measured(**held["measured"]) if held["measured"] else None,
        "outlook": Outlook(**held["outlook"]) if held["outlook"] else None,
        "notes": tuple(held["notes"]),
    })  # fmt: skip
