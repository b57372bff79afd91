"""Gaps on the screen: a line a gap under the place it is in, and what is behind one."""

from __future__ import annotations

from collections.abc import Hashable, Iterator
from dataclasses import dataclass

from binder.closeout import Closeout, Gap, Waived
from binder.closeout.acceptance import Acceptance
from tui.app.lines import Line, Part, fit, line, wrapped

_LOOKS = {"must": "bad", "should": "warn"}
_LABEL_CELLS = 12


@dataclass(frozen=True, slots=True)
class GapRow:
    """A line of the page: a place, a gap, what was waived, or a gate."""

    key: Hashable
    parts: Line
    gap: Gap | None = None
    waived: Waived | None = None


class GapRows:
    """The gates, the gaps by place, and at the end what was waived."""

    def __init__(self, closeout: Closeout, accepted: Acceptance, *, only_musts: bool) -> None:
        self.closeout = closeout
        self._rows = [*_gates(accepted), *_gaps(closeout, only_musts), *_waived(closeout)]
        self._places = {row.key: at for at, row in enumerate(self._rows)}

    def __len__(self) -> int:
        return len(self._rows)

    def key(self, index: int) -> Hashable:
        return self._rows[index].key

    def index(self, key: Hashable) -> int | None:
        return self._places.get(key)

    def row(self, key: Hashable) -> GapRow | None:
        at = self.index(key)
        return None if at is None else self._rows[at]

    def line(self, index: int, width: int) -> Line:
        return self._rows[index].parts

    def headings(self, width: int) -> Line:
        return line((" what is missing, by place; Enter mends it, x waives it", "label"))

    def first_gap(self) -> int:
        """Where the cursor begins: on the first gap, if there is one."""
        return next((at for at, row in enumerate(self._rows) if row.gap), 0)


def _gates(accepted: Acceptance) -> Iterator[GapRow]:
    parts: list[Part] = [Part(" Gates")]
    for gate in accepted.gates:
        look = "good" if gate.met else "warn"
        mark = "met" if gate.met else f"{len(gate.open) or 'not'} open"
        parts.append(Part(f"  {gate.name} {mark}", look))
    yield GapRow("gates", tuple(parts))


def _gaps(closeout: Closeout, only_musts: bool) -> Iterator[GapRow]:
    for place, found in closeout.by_place().items():
        told = [gap for gap in found if gap.severity == "must" or not only_musts]
        if told:
            yield GapRow(("place", place), line((f" {place or 'The binder as a whole'}", "strong")))
        for at, gap in enumerate(told):
            key = (gap.rule, gap.subject.id, gap.says)
            yield GapRow(
                (*key, at),
                line((f"   {fit(gap.severity, 7)}", _LOOKS[gap.severity]), gap.says),
                gap,
            )


def _waived(closeout: Closeout) -> Iterator[GapRow]:
    if closeout.waived:
        yield GapRow("waived", line((" Waived", "strong")))
    for at, one in enumerate(closeout.waived):
        yield GapRow(
            ("waived", one.waiver_id, at),
            line(("   waived ", "label"), one.gap.says, (f"  {one.reason}, {one.by}", "label")),
            waived=one,
        )


def behind(row: GapRow, width: int) -> list[Line]:
    """What is behind a gap: why it matters, how to mend it, what asks for it."""
    if row.waived is not None:
        one = row.waived
        facts = [("Waived", one.gap.says), ("Reason", one.reason), ("By", f"{one.by}, {one.on}"),
                 ("Until", one.until or "for good"), ("Rule", one.gap.rule)]  # fmt: skip
    elif row.gap is not None:
        gap = row.gap
        mended = f"a new {gap.adds.replace('_', ' ')}" if gap.adds else gap.field.replace("_", " ")
        facts = [("Missing", gap.says), ("Why", gap.why), ("Mend", gap.mend),
                 ("Where", mended), ("Asked by", gap.basis), ("Rule", gap.rule)]  # fmt: skip
    else:
        return []
    lines: list[Line] = []
    for label, text in facts:
        for at, piece in enumerate(wrapped(text, max(width - _LABEL_CELLS - 2, 10))):
            lead = fit(f" {label}" if at == 0 else "", _LABEL_CELLS)
            lines.append(line((lead, "label"), piece))
    return lines
