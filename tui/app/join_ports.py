"""What becomes of the form of links (or cords) in series: two ranges of ports joined one to one."""

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING, Any

from binder.records.fields import Field, Kind, text
from tui.app.kind_words import many

if TYPE_CHECKING:
    from binder.proposal import Proposal
    from tui.app.binder_app import BinderApp


class JoinPorts:
    """Two ranges, what the first is called, and what all have alike; looked at, then written."""

    is_new = True
    record_id = None
    _ALIKE = ("cable", "category", "shielded", "gauge_awg", "length_m", "colour", "termination",
              "installed_by", "installed_on", "status")  # fmt: skip

    def __init__(self, kind: Kind) -> None:
        a, b = (kind.field(name) for name in ("port_a", "port_b"))
        identifier = kind.field("identifier")
        numbered = "numbered by the program" if kind.series else "panel and port, like 1A-A07"
        self.kind = kind
        self.title = f"{many(kind)} in series"
        self.fields: tuple[Field, ...] = (
            text("ports_a", a.label, "A range of ports; joined one to one with the other end.",
                 "1A-A:01..24", required=True),
            text("ports_b", b.label, "As many ports, in natural order.",
                 "201-1:*,202-1:*", required=True),
            text("first", f"First {identifier.label.lower()}",
                 f"The others count on from it. Left empty: {numbered}.", identifier.example),
            *(kind.field(name) for name in self._ALIKE if kind.has(name)),
        )  # fmt: skip

    def starting_values(self, ports_a: str = "") -> dict[str, Any]:
        values: dict[str, Any] = {field.name: field.default for field in self.fields}
        return values | {"ports_a": ports_a or None}

    def propose(self, app: BinderApp, values: Mapping[str, Any]) -> Proposal:
        shared = {name: value for name, value in values.items() if self.kind.has(name)}
        from binder.pairing import join

        return join(
            app.binder, self.kind, values["ports_a"], values["ports_b"],
            first=values["first"] or "", shared=shared, now=app.clock(),
        )  # fmt: skip

    def save(self, app: BinderApp, values: Mapping[str, Any]) -> int:
        """Write it without a preview; gives the id of the first."""
        from binder.proposal import write

        return write(app.editor, self.propose(app, values))[0]

    def follow_up(self, app: BinderApp, record_id: int) -> None:
        app.say("done; u takes it back")
