"""Actions of reviews: proposed, agreed to, carried to the next review until done or dropped."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from typing import Final

from binder.edit import Editor
from binder.errors import RequestError
from binder.file import BinderFile
from binder.read import Record, read, read_where
from binder.records.catalog import BY_NAME
from binder.review.cures import Ailing

_OPEN: Final = ("proposed", "agreed")


@dataclass(frozen=True, slots=True)
class Action:
    """An action. `review` is the one that asked for it first; `done_on` is '' until it is."""

    id: int
    name: str
    review: str
    what: str
    arithmetic: str
    resource: str
    subject_id: int | None
    cost_cents: int | None
    due_on: str
    state: str
    decided_by: str
    done_on: str
    done_by: str

    @property
    def is_open(self) -> bool:
        return self.state in _OPEN


def actions(binder: BinderFile) -> tuple[Action, ...]:
    """Every action, the open ones first, by what is due first."""
    found = read_where(binder, BY_NAME["action"], "t.status = 'current'")
    rows = binder.connection.execute("SELECT id, name FROM record WHERE kind = 'review'")
    names = {row[0]: row[1] for row in rows}
    told = [_action(record, names) for record in found]
    return tuple(sorted(told, key=lambda one: (not one.is_open, one.due_on or "9999", one.name)))


def propose(editor: Editor, review_id: int, ailing: tuple[Ailing, ...]) -> tuple[int, ...]:
    """Propose the first cure of each ailing row, in one step; gives the ids.

    What an open action asks for already is not proposed again.
    """
    standing = {
        (action.resource, action.subject_id) for action in actions(editor.binder) if action.is_open
    }
    rows = [
        {
            "review": review_id, "resource": one.row.resource, "subject": one.row.where.id,
            "what": one.cures[0].what, "arithmetic": one.cures[0].arithmetic,
            "cost": one.cures[0].cost_cents,
        }
        for one in ailing
        if one.cures and (one.row.resource, one.row.where.id) not in standing
    ]  # fmt: skip
    if not rows:
        return ()
    with editor.step(f"propose {len(rows)} actions") as step:
        return tuple(step.add_many("action", rows))


def decide(editor: Editor, action_id: int, state: str, *, by: str, on: date) -> None:
    """Agree to an action, drop it, or say that it is done.

    Raises RequestError for another state.
    """
    choices = BY_NAME["action"].field("state").choices
    if state not in choices:
        raise RequestError(f"an action is {', '.join(choices)}; not '{state}'")
    record = read(editor.binder, action_id)
    values: dict[str, object] = {"state": state}
    if state == "done":
        values |= {"done_on": on.isoformat(), "done_by": by}
    else:
        values |= {"decided_by": by, "done_on": None, "done_by": None}
    with editor.step(f"{state}: {record['what']}") as step:
        step.change(action_id, values, seen=record.position)


def _action(record: Record, reviews: dict[int, str]) -> Action:
    return Action(
        record.id, record.name, reviews.get(record["review"], ""), record["what"],
        record["arithmetic"] or "", record["resource"] or "", record["subject"], record["cost"],
        record["due_on"] or "", record["state"], record["decided_by"] or "",
        record["done_on"] or "", record["done_by"] or "",
    )  # fmt: skip
