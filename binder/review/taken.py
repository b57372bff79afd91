"""Reviews: a headroom computation as it was, with the fingerprint of what it was computed from.

A review is never altered (the database sees to it). Its place in the change log says what the
binder held then, so that anybody can compute it again and compare.
"""

from __future__ import annotations

import hashlib
import json
from collections.abc import Mapping
from dataclasses import asdict, dataclass
from datetime import date
from typing import Any, Final

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
    return tuple(_review(record) for record in found if record["body"])


def open_review(binder: BinderFile, review_id: int) -> Review:
    """One review. Raises RequestError when it holds no computation."""
    record = read(binder, review_id)
    if record.kind.name != "review" or not record["body"]:
        raise RequestError(f"'{record.name}' holds no stored computation")
    return _review(record)


def reproduces(binder: BinderFile, review: Review) -> bool:
    """Whether computing it again from the binder as it stood gives the same.

    Raises RequestError for a review without its place in the change log.
    """
    if review.change_position is None:
        raise RequestError(f"{review.name} has no place in the change log")
    with as_of(binder, review.change_position) as stood:
        same = fingerprint(stood) == review.fingerprint
        on = date.fromisoformat(review.taken_on)
        return same and headroom(stood, today=on) == review.headroom


def fingerprint(binder: BinderFile) -> str:
    """The SHA-256, in hex, of every record that headroom is computed from, by kind and id."""
    digest = hashlib.sha256()
    for kind in INPUTS:
        digest.update(kind.encode())
        for row in binder.connection.execute(f'SELECT * FROM "{kind}" ORDER BY id'):
            digest.update(repr(tuple(row)).encode())
    return digest.hexdigest()


def _review(record: Record) -> Review:
    return Review(
        record.id, record.name, record["taken_on"], record["taken_by"] or "",
        record["change_position"], record["fingerprint"] or "", _headroom(record),
    )  # fmt: skip


def _headroom(record: Record) -> Headroom:
    try:
        held = json.loads(record["body"])
        return Headroom(held["on"], tuple(map(_row, held["rows"])), tuple(held["notes"]))
    except (ValueError, KeyError, TypeError) as error:
        raise RequestError(
            f"{record.name}: the stored computation cannot be read: {error}"
        ) from error


def _row(held: Mapping[str, Any]) -> Row:
    return Row(**{
        **held,
        "where": Where(**held["where"]),
        "steps": tuple(Step(**step) for step in held["steps"]),
        "needs": tuple(Need(**need) for need in held["needs"]),
        "measured": Measured(**held["measured"]) if held["measured"] else None,
        "outlook": Outlook(**held["outlook"]) if held["outlook"] else None,
        "notes": tuple(held["notes"]),
    })  # fmt: skip
