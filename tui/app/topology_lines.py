"""The topology as the app draws it: a tree walked line by line, folded where it is in the way."""

from __future__ import annotations

from collections.abc import Collection, Hashable, Iterator
from dataclasses import dataclass

from binder.topology import Node, Topology, about, walk, way
from tui.app.lines import Line, Part, fit, line, width_of

APART = "apart"
_GAP = 2
_HEADS = (" What hangs on what", "Kind, where", "Way")


@dataclass(frozen=True, slots=True)
class _Row:
    key: Hashable
    lead: str
    node: Node | None = None  # None for the line above what is apart
    hidden: int = 0  # how many lines are folded under it

    @property
    def name(self) -> str:
        if self.node is None:
            return " Not connected to any circuit:"
        folded = f" + {self.hidden}" if self.hidden else ""
        return f" {self.lead}{self.node.name}{folded}"

    @property
    def cells(self) -> tuple[str, str, str]:
        return (self.name, about(self.node), way(self.node)) if self.node else (self.name, "", "")


class TreeRows:
    """The lines of a topology; `folded` are the keys (ids from the root down) of what is shut."""

    def __init__(self, answer: Topology, folded: Collection[Hashable]) -> None:
        self.rows = [
            *_unfolded(answer.trees, folded),
            *([_Row(APART, "")] if answer.apart else []),
            *_unfolded(answer.apart, folded, APART),
        ]
        self._places = {row.key: at for at, row in enumerate(self.rows)}
        told = [row.cells for row in self.rows if row.node]
        self._wanted = [
            max([width_of(head), *(width_of(cells[at]) for cells in told)])
            for at, head in enumerate(_HEADS)
        ]

    def __len__(self) -> int:
        return len(self.rows)

    def key(self, index: int) -> Hashable:
        return self.rows[index].key

    def index(self, key: Hashable) -> int | None:
        return self._places.get(key)

    def node(self, key: Hashable) -> Node | None:
        at = self._places.get(key)
        return None if at is None else self.rows[at].node

    def line(self, index: int, width: int) -> Line:
        row = self.rows[index]
        if row.node is None:
            return line((row.name, "label"))
        return self._laid_out(row.cells, width, ("strong", "", "label"))

    def headings(self, width: int) -> Line:
        """The line above the list."""
        return self._laid_out(_HEADS, width, ("label",) * 3)

    def _laid_out(
        self, cells: tuple[str, str, str], width: int, looks: tuple[str, str, str]
    ) -> Line:
        tree = min(self._wanted[0], width // 2)
        about_room = min(self._wanted[1], (width - tree) // 2)
        if self._wanted[2] < width - tree - self._wanted[1]:
            about_room = self._wanted[1]
        rooms = (tree, about_room)
        parts = [
            Part(f"{fit(cell, room)}{' ' * _GAP}", look)
            for cell, room, look in zip(cells[:2], rooms, looks[:2], strict=True)
        ]
        return (*parts, Part(cells[2], looks[2]))


def _unfolded(
    roots: tuple[Node, ...], folded: Collection[Hashable], before: Hashable = None
) -> Iterator[_Row]:
    shut: tuple[int, ...] = ()
    rows: list[_Row] = []
    for lead, node, path in walk(roots):
        if shut and path[: len(shut)] == shut:
            continue
        key = (before, *path) if before else path
        is_folded = key in folded and bool(node.below)
        shut = path if is_folded else ()
        hidden = sum(1 for _ in walk([node])) - 1 if is_folded else 0
        rows.append(_Row(key, lead, node, hidden))
    return iter(rows)
