"""The gates of acceptance are computed from the records, then signed.

Defects corrected, tests passed, training given, manuals and drawings submitted: WSU construction
guide specification 27 05 00, 3.19.
"""

from __future__ import annotations

from collections.abc import Callable
from datetime import date

import pytest

from binder.closeout.acceptance import Gate, acceptance
from binder.file import BinderFile

TODAY = date(2026, 3, 14)
Add = Callable[..., int]


def gate(binder: BinderFile, name: str) -> Gate:
    return next(gate for gate in acceptance(binder, TODAY).gates if gate.name == name)


def test_an_open_punch_item_keeps_the_gate_of_defects_shut(
    closet: BinderFile, add: Add, change: Callable[..., None]
) -> None:
    assert gate(closet, "defects").met
    add("punch_item", identifier="P-0901", description="faceplate missing")
    assert not gate(closet, "defects").met
    change("punch_item P-0901", closed_on="2026-03-13")
    assert gate(closet, "defects").met


def test_a_waived_test_lets_the_gate_open_and_is_told(
    closet: BinderFile, add: Add, id_of: Callable[[str], int]
) -> None:
    for row in closet.connection.execute("SELECT id FROM test").fetchall():
        add("waiver", rule="instrument-calibrated", subject=row[0], reason="hired tester",
            waived_by="Ann", waived_on="2026-03-01")  # fmt: skip
    tests = gate(closet, "tests")
    assert tests.met
    assert {one.reason for one in tests.waived} == {"hired tester"}


@pytest.mark.parametrize(("held_on", "met"), [(None, False), ("2026-03-01", True)])
def test_training_that_acceptance_asks_for_is_held_first(
    closet: BinderFile, add: Add, held_on: str | None, met: bool
) -> None:
    add("training", identifier="finding a dead outlet", required_for_acceptance=1,
        held_on=held_on, attendees="Ann Marlow, front desk")  # fmt: skip
    assert gate(closet, "training").met is met


def test_nothing_is_handed_over_until_a_handoff_is_issued(closet: BinderFile, add: Add) -> None:
    assert gate(closet, "documents").missing == "no handoff was issued"
    add("issue", document="handoff", number=1, issued_on="2026-03-01")
    assert gate(closet, "documents").missing == ""
    assert not acceptance(closet, TODAY).met  # other gaps still stand
