"""What is plugged into ports: the patch map, a few rows at a time."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from binder.file import BinderFile


@dataclass(frozen=True, slots=True)
class End:
    """What leaves a port: the cord or link, by name, and the port at its far end."""

    id: int
    by: str
    far_id: int | None
    to: str  # empty when the far end is not documented
    kind: str  # 'cord' or 'link'

    @property
    def words(self) -> str:
        return f"{self.kind} {self.by} to {self.to or 'nothing documented'}"


@dataclass(frozen=True, slots=True)
class Connection:
    """A port's two sides. The front takes a cord, the rear a permanent link."""

    front: End | None = None
    rear: End | None = None

    def side_of(self, kind: str) -> End | None:
        """What is where a cord or a link would go; None for anything else."""
        return {"cord": self.front, "link": self.rear}.get(kind)

    @property
    def words(self) -> str:
        """Both sides in few words."""
        front = f"cord {self.front.to}" if self.front else ""
        rear = f"link {self.rear.to or '?'}" if self.rear else ""
        return ", ".join(part for part in (front, rear) if part)


_ENDS = """
SELECT e.port_id, e.{table}_id, w.name, e.far_port_id, coalesce(f.name, '')
FROM {table}_end e JOIN record w ON w.id = e.{table}_id
LEFT JOIN record f ON f.id = e.far_port_id WHERE e.port_id IN ({marks})
"""


def connections(binder: BinderFile, ports: Sequence[int]) -> dict[int, Connection]:
    """What is at the front and at the rear of each of these ports."""
    fronts, rears = _ends(binder, "cord", ports), _ends(binder, "link", ports)
    return {port: Connection(fronts.get(port), rears.get(port)) for port in ports}


def _ends(binder: BinderFile, table: str, ports: Sequence[int]) -> dict[int, End]:
    marks = ",".join("?" * len(ports))
    rows = binder.connection.execute(_ENDS.format(table=table, marks=marks), tuple(ports))
    return {row[0]: End(row[1], row[2], row[3], row[4], table) for row in rows}
