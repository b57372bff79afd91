"""The gates of acceptance: defects, tests, training, documents; computed, then signed.

Acceptance conditional on these four: WSU construction guide specification 27 05 00, 3.19.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from typing import Final

from binder.closeout import Closeout, Gap, Waived, gaps
from binder.file import BinderFile
from binder.issues import Issue, issues_of

# The rules each gate waits for; the last gate waits for every other 'must' as well.
_RULES: Final = {
    "defects": ("punch-item-closed",),
    "tests": ("link-tested", "instrument-calibrated", "failure-followed-up"),
    "training": ("training-held",),
}
_LABELS: Final = {
    "defects": "Defects corrected",
    "tests": "Tests passed",
    "training": "Training given",
    "documents": "Documents handed over",
}


@dataclass(frozen=True, slots=True)
class Gate:
    """A gate: what it is called, whether it is met, what keeps it shut, what was let through."""

    name: str
    label: str
    open: tuple[Gap, ...]
    waived: tuple[Waived, ...]
    missing: str = ""  # beside gaps: what was not done at all

    @property
    def met(self) -> bool:
        return not self.open and not self.missing


@dataclass(frozen=True, slots=True)
class Acceptance:
    """The gates on a day, and the newest handoff, which is what would be signed."""

    on: str
    gates: tuple[Gate, ...]
    handoff: Issue | None

    @property
    def met(self) -> bool:
        """Whether the binder may be signed without exceptions."""
        return all(gate.met for gate in self.gates)


def acceptance(binder: BinderFile, today: date, *, closeout: Closeout | None = None) -> Acceptance:
    """The gates as the records stand; `closeout` where the gaps are known already."""
    found = closeout or gaps(binder, today)
    issued = issues_of(binder, "handoff")
    counted = {rule for rules in _RULES.values() for rule in rules}
    gates = []
    for name, label in _LABELS.items():

        def belongs(rule: str, name: str = name) -> bool:
            return rule in _RULES[name] if name in _RULES else rule not in counted

        missing = "no handoff was issued" if name == "documents" and not issued else ""
        gates.append(
            Gate(
                name, label,
                tuple(g for g in found.gaps if belongs(g.rule) and g.severity == "must"),
                tuple(w for w in found.waived if belongs(w.gap.rule)),
                missing,
            )
        )  # fmt: skip
    return Acceptance(today.isoformat(), tuple(gates), issued[0] if issued else None)
