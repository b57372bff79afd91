"""The computed page of the divider Circuits: the network from the circuits to the edge."""

from __future__ import annotations

from collections.abc import Hashable, Sequence
from typing import TYPE_CHECKING

from tui.app.gaps_page import GapsPage
from tui.app.lines import Line

if TYPE_CHECKING:
    from binder.topology import Topology
    from tui.app.gap_lines import GapRows
    from tui.app.headroom_lines import HeadroomRows
    from tui.app.topology_lines import TreeRows


class TopologyPage(GapsPage):
    """What the dividers do on the page of the topology. The graph is read on each visit."""

    def __init__(self) -> None:
        super().__init__()
        self.topology: Topology | None = None
        self.tree_rows: TreeRows | None = None
        self.folded: frozenset[Hashable] = frozenset()

    @property
    def on_topology(self) -> bool:
        """Whether this page is shown, and not one of the others that are computed."""
        raise NotImplementedError

    def computed_rows(self) -> HeadroomRows | GapRows | TreeRows:
        if not self.on_topology:
            return super().computed_rows()
        from binder.topology import topology

        self.topology = topology(self.binder_app.binder)
        return self._tree()

    def rows_asked_for(self) -> HeadroomRows | GapRows | TreeRows:
        return self._tree() if self.on_topology else super().rows_asked_for()

    def _tree(self) -> TreeRows:
        from tui.app.topology_lines import TreeRows

        assert self.topology is not None
        self.tree_rows = TreeRows(self.topology, self.folded)
        return self.tree_rows

    def computed_told(self) -> str:
        return "" if self.on_topology else super().computed_told()

    def computed_subject(self, key: Hashable) -> int | None:
        if not self.on_topology:
            return super().computed_subject(key)
        node = self.tree_rows.node(key) if self.tree_rows else None
        return node.id if node else None

    def open_row(self, key: Hashable) -> None:
        if not self.on_topology:
            super().open_row(key)
            return
        subject = self.computed_subject(key)
        if subject is not None:
            self.binder_app.open_record(subject)

    def row_preview(self, key: Hashable, width: int) -> Sequence[Line]:
        if not self.on_topology:
            return super().row_preview(key, width)
        from tui.app.preview import preview

        return preview(self.binder_app, self.computed_subject(key), width, self.size.height)

    def show_folded(self) -> None:
        """Show the rows anew; the cursor stays where it is."""
        raise NotImplementedError

    def action_fold(self) -> None:
        key = self.main_list.key
        node = self.tree_rows.node(key) if self.tree_rows else None
        if node is None or not node.below:
            self.say("nothing hangs on this")
            return
        self.folded = self.folded ^ {key}
        self.show_folded()
