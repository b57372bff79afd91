"""What changed here lately: of a record and of everything it hangs together with.

A fault is most often where somebody was last. 'Here' is the record itself, its ports and what is
plugged into them, what feeds it, and, for a port, cable or circuit, every part of its trace.
"""

from __future__ import annotations

import json
from collections.abc import Iterable
from dataclasses import dataclass
from typing import Final

from binder.channel import Hop
from binder.errors import RequestError
from binder.file import BinderFile
from binder.trace import trace

_FOLLOWED: Final = ("port", "link", "cord", "circuit")
MOST: Final = 12


@dataclass(frozen=True, slots=True)
class Event:
    """Something that happened, in one line. `at` is a stored moment; `id` the record it leads to,
    `name` what that is called; `what` 'change', 'test', 'reading' or the kind of log entry."""

    at: str
    who: str
    what: str
    says: str
    id: int
    name: str


# One hop from a record: what belongs to it, what it belongs to, what is at the other end.
_AROUND: Final = """
WITH own (id) AS (
  VALUES (:id)
  UNION SELECT id FROM port WHERE hardware_id = :id
  UNION SELECT hardware_id FROM port WHERE id = :id
  UNION SELECT id FROM hardware WHERE rack_id = :id
), cable (id, far_id) AS (
  SELECT e.link_id, e.far_port_id FROM own o JOIN link_end e ON e.port_id = o.id
  UNION ALL SELECT e.cord_id, e.far_port_id FROM own o JOIN cord_end e ON e.port_id = o.id
)
SELECT id FROM own
UNION SELECT id FROM cable
UNION SELECT far_id FROM cable WHERE far_id IS NOT NULL
UNION SELECT p.hardware_id FROM cable c JOIN port p ON p.id = c.far_id
UNION SELECT id FROM inlet WHERE hardware_id = :id
UNION SELECT fed_by_id FROM inlet WHERE hardware_id = :id AND fed_by_id IS NOT NULL
UNION SELECT branch_circuit_id FROM inlet WHERE hardware_id = :id
      AND branch_circuit_id IS NOT NULL
"""

# Of readings only the newest of each quantity, and few: they come in dozens and hide the changes.
_EVENTS: Final = """
WITH here (id) AS MATERIALIZED (SELECT value FROM json_each(:here)),
change_here AS (
  SELECT c.step_id, min(c.record_id) AS record_id, count(DISTINCT c.record_id) AS records
  FROM here h JOIN change c ON c.record_id = h.id
  WHERE c.kind NOT IN ('touch', 'log_entry') GROUP BY c.step_id ORDER BY c.step_id DESC LIMIT :most
)
SELECT s.at, s.who, 'change' AS what, s.summary AS says, c.record_id AS id
FROM change_here c JOIN step s ON s.id = c.step_id
UNION ALL
SELECT l.opened_at, coalesce(l.who, ''), l.form, coalesce(l.summary, 'not closed yet'), l.id
FROM log_entry l WHERE l.status <> 'planned' AND l.id IN (
  SELECT t.log_entry_id FROM here h JOIN touch t ON t.subject_id = h.id
  WHERE t.how <> 'opened')
UNION ALL
SELECT * FROM (
  SELECT t.tested_on, coalesce(t.tested_by, ''), 'test',
         'tested ' || r.name || iif(t.strand IS NULL, '', ' strand ' || t.strand) || ': '
         || t.result, t.id
  FROM here h JOIN test t ON t.link_id = h.id JOIN record r ON r.id = h.id
  ORDER BY t.tested_on DESC LIMIT :most / 2)
UNION ALL
SELECT * FROM (
  SELECT max(g.read_at), coalesce(g.read_by, ''), 'reading',
         'read ' || r.name || ': ' || g.quantity || ' ' || printf('%g', g.value), g.id
  FROM here h JOIN reading g ON g.subject_id = h.id JOIN record r ON r.id = h.id
  WHERE g.id NOT IN (SELECT corrects_id FROM reading WHERE corrects_id IS NOT NULL)
  GROUP BY g.subject_id, g.quantity ORDER BY g.read_at DESC LIMIT max(:most / 4, 1))
ORDER BY at DESC LIMIT :most
"""


def lately(binder: BinderFile, record_id: int, *, most: int = MOST) -> tuple[Event, ...]:
    """What was changed, logged, tested and read around a record, at most `most`, newest first."""
    here = around(binder, record_id)
    rows = binder.connection.execute(
        f"SELECT x.*, coalesce(r.name, '') FROM ({_EVENTS}) x LEFT JOIN record r ON r.id = x.id",
        {"here": json.dumps(sorted(here)), "most": most},
    )
    return tuple(Event(*row) for row in rows)


def around(binder: BinderFile, record_id: int) -> set[int]:
    """The ids of what hangs together with a record, itself among them."""
    here = {row[0] for row in binder.connection.execute(_AROUND, {"id": record_id})}
    row = binder.connection.execute("SELECT kind FROM record WHERE id = ?", (record_id,)).fetchone()
    if row is not None and row[0] in _FOLLOWED:
        here |= set(_on_the_way(binder, record_id))
    return here


def _on_the_way(binder: BinderFile, record_id: int) -> Iterable[int]:
    try:
        found = trace(binder, record_id)
    except RequestError:  # nothing is plugged in: only the record itself
        return
    for channel in (*found.channels, *found.uplinks):
        for part in channel.parts:
            yield part.id
            if isinstance(part, Hop):
                yield part.hardware_id
    for circuit in found.circuits:
        yield circuit.id
