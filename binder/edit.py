"""The one door for writing. Every change goes through a step and leaves its before and after.

    with Editor(binder, who).step("patch the front desk") as step:
        cord = step.add("cord", {"port_a": panel_port, "port_b": switch_port})
        step.change(switch_port, {"current_use": "front desk"}, seen=record.position)

A step is one transaction and one line of the history: all of it is kept, or none; `undo` takes
all of it back. Values are given by field name in stored form (see `binder.records.values`).
"""

from __future__ import annotations

import contextlib
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from datetime import UTC, datetime

from binder.errors import RequestError
from binder.file import BinderFile
from binder.records.dates import utc_now
from binder.step import Step, StepLine


@dataclass(frozen=True, slots=True)
class StepDone:
    """A step as the history tells it."""

    id: int
    at: str
    who: str
    summary: str
    form: str  # 'edit', 'undo' or 'redo'


class Editor:
    """Writes in one person's name. `who` stands in the history beside every change.

    `log_entry_id` is the log entry that its steps belong to, where nothing else is said.
    """

    def __init__(
        self,
        binder: BinderFile,
        who: str,
        *,
        clock: Callable[[], datetime] = utc_now,
        log_entry_id: int | None = None,
    ) -> None:
        self.binder = binder
        self.who = who
        self.clock = clock
        self.log_entry_id = log_entry_id

    @contextlib.contextmanager
    def step(self, summary: str, *, log_entry_id: int | None = None) -> Iterator[Step]:
        """One transaction. A step in which nothing changed leaves no line in the history."""
        with self.binder.writing() as connection:
            of_entry = self.log_entry_id if log_entry_id is None else log_entry_id
            step = Step(connection, self._open_step(summary, "edit", None, of_entry))
            yield step
            step.finish()

    def undo(self) -> StepDone:
        """Take back this person's last step that still stands, as a step of its own.

        Raises RequestError when there is none, ConflictError when someone changed the same
        since.
        """
        return self._turn(_LAST_STANDING, "undo", "nothing of yours to undo")

    def redo(self) -> StepDone:
        """Do again what this person last took back, unless they have made other changes since."""
        return self._turn(_LAST_UNDONE, "redo", "nothing to redo")

    def _turn(self, which: str, form: str, nothing: str) -> StepDone:
        with self.binder.writing() as connection:
            row = connection.execute(which, {"who": self.who}).fetchone()
            if row is None:
                raise RequestError(nothing)
            edit_id, turned_id, summary, log_entry_id = row
            at = self._open_step(f"{form} {summary}", form, edit_id, log_entry_id)
            step = Step(connection, at)
            step.turn_back(turned_id)
            step.finish()
            return StepDone(step.id, at.at, self.who, f"{form} {summary}", form)

    def _open_step(
        self, summary: str, form: str, of_step: int | None, log_entry_id: int | None
    ) -> StepLine:
        at = self.clock().astimezone(UTC).strftime("%Y-%m-%dT%H:%M:%SZ")
        return StepLine(at, self.who, summary, form, of_step, log_entry_id)


# An edit stands when it was not undone, or redone since. `turned` is the step whose changes
# are turned back: the edit itself or its redo, so that each turn starts from what it finds.
# A call's own book-keeping (it began, it touched, it ended) is no work to be taken back: what a
# step that belongs to a log entry changes in that entry, and what it notes as touched. Nor are
# the steps that release a document: what is in other hands is not unsaid by one key.
_STATE = """
WITH turn AS (SELECT of_step, max(id) AS id FROM step WHERE form <> 'edit' GROUP BY of_step),
edit AS (
  SELECT e.id, e.summary, e.log_entry_id, e.who, t.id AS turn_id,
         coalesce((SELECT form FROM step WHERE id = t.id), 'redo') AS state
  FROM step e LEFT JOIN turn t ON t.of_step = e.id WHERE e.form = 'edit' AND e.who = :who
  AND EXISTS (SELECT 1 FROM change c WHERE c.step_id = e.id
              AND c.record_id IS NOT e.log_entry_id
              AND NOT (c.kind = 'touch' AND c.act = 'add' AND e.log_entry_id IS NOT NULL))
  AND NOT EXISTS (SELECT 1 FROM change c WHERE c.step_id = e.id AND c.kind = 'issue'
                  AND (c.act = 'add'
                       OR c.field IN ('change_position', 'sha256') AND c.before IS NULL
                       OR c.act = 'remove' AND json_extract(c.before, '$.sha256') IS NULL)
                  AND EXISTS (SELECT 1 FROM change p WHERE p.record_id = c.record_id
                              AND p.field = 'change_position')))
"""
_LAST_STANDING = (
    _STATE + "SELECT id, coalesce(turn_id, id), summary, log_entry_id FROM edit "
    "WHERE state = 'redo' ORDER BY coalesce(turn_id, id) DESC LIMIT 1"
)
_LAST_UNDONE = (
    _STATE + "SELECT id, turn_id, summary, log_entry_id FROM edit WHERE state = 'undo' "
    "AND turn_id > coalesce((SELECT max(id) FROM edit), 0) "
    "ORDER BY turn_id DESC LIMIT 1"
)
