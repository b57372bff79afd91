"""The duties that a quarter asks for: attestation of accounts, inventory, contacts, drills.

CIS Controls v8.1, 5.1 and 5.5 (accounts quarterly), 1.1 (inventory twice a year), 17.2 (contacts
yearly), values from memory; NIST SP 800-53 rev. 5, CP-4 (drills).
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, timedelta
from typing import Final

from binder.edit import Editor
from binder.file import BinderFile
from binder.read import read_where
from binder.records.catalog import BY_NAME
from binder.upkeep import next_due

_AHEAD_DAYS: Final = 14
# What the quarter asks for when the binder does not say so itself: a duty, how often, what asks.
USUAL: Final = (
    ("accounts attested", "FREQ=MONTHLY;INTERVAL=3", "CIS Controls v8.1, 5.1"),
    ("inventory walked", "FREQ=MONTHLY;INTERVAL=6", "CIS Controls v8.1, 1.1"),
    ("contacts called", "FREQ=YEARLY", "CIS Controls v8.1, 17.2"),
)


@dataclass(frozen=True, slots=True)
class Asked:
    """A duty due by the review or within two weeks after. `id` is None for a usual one that the
    binder does not hold yet."""

    id: int | None
    name: str
    due_on: str
    last_done_on: str
    basis: str


def asked(binder: BinderFile, today: date) -> tuple[Asked, ...]:
    """The duties to be ticked at this review, the longest overdue first: those that are
    due, and those due soon that count as done when they are done now."""
    until = today + timedelta(days=_AHEAD_DAYS)
    found = []
    held = read_where(binder, BY_NAME["duty"], "t.status = 'current'")
    for duty in held:
        done = date.fromisoformat(duty["done_on"]) if duty["done_on"] else None
        starts_on = date.fromisoformat(duty["starts_on"])
        due = next_due(duty["rule"], starts_on, done)
        if due is None or due > until:
            continue
        if due <= today or next_due(duty["rule"], starts_on, today) != due:
            found.append(
                Asked(duty.id, duty.name, due.isoformat(), duty["done_on"] or "",
                      duty["basis"] or "")
            )  # fmt: skip
    names = {duty.name.casefold() for duty in held}
    found += [
        Asked(None, name, today.isoformat(), "", basis)
        for name, _, basis in USUAL
        if name not in names
    ]
    return tuple(sorted(found, key=lambda one: (one.due_on, one.name)))


def tick(editor: Editor, one: Asked, today: date, *, by: str, result: str = "") -> None:
    """Say that a duty was done today, and by whom; a usual one begins with it."""
    done = {"done_on": today.isoformat(), "done_by": by, "result": result or None}
    with editor.step(f"done: {one.name}") as step:
        if one.id is not None:
            step.change(one.id, done)
            return
        rule, basis = next((rule, basis) for name, rule, basis in USUAL if name == one.name)
        step.add(
            "duty",
            {"identifier": one.name, "rule": rule, "basis": basis,
             "starts_on": today.isoformat(), **done},
        )  # fmt: skip
