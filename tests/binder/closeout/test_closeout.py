"""The list of gaps: where each is, what is waived and by whom."""

from __future__ import annotations

from collections.abc import Callable
from datetime import date

import pytest

from binder.closeout import gaps
from binder.file import BinderFile

TODAY = date(2026, 3, 14)


@pytest.fixture
def closet(closet: BinderFile, add: Callable[..., int]) -> BinderFile:
    """The closet, with a link that nobody tested."""
    add("port", hardware="121-1", label="B")
    add("link", identifier="1A-A05", port_a="1A-A:05", port_b="121-1:B", category="6A")
    return closet


def test_a_waiver_takes_one_gap_of_one_rule_out_and_is_told_with_its_reason(
    closet: BinderFile, add: Callable[..., int], id_of: Callable[[str], int]
) -> None:
    before = gaps(closet, TODAY)
    add("waiver", rule="link-tested", subject=id_of("link 1A-A05"), reason="carrier's own cable",
        waived_by="Priya Nandakumar", waived_on="2026-03-01")  # fmt: skip
    after = gaps(closet, TODAY)
    assert len(after.gaps) == len(before.gaps) - 1
    assert [(one.gap.subject.name, one.reason, one.by) for one in after.waived] == [
        ("1A-A05", "carrier's own cable", "Priya Nandakumar")
    ]


@pytest.mark.parametrize(("until", "holds"), [("2026-03-13", False), ("2026-03-14", True)])
def test_a_waiver_ends_with_its_last_day(
    closet: BinderFile, add: Callable[..., int], id_of: Callable[[str], int], until: str,
    holds: bool,
) -> None:  # fmt: skip
    add("waiver", rule="link-tested", subject=id_of("link 1A-A05"), reason="later",
        waived_by="Ann", waived_on="2026-03-01", until=until)  # fmt: skip
    assert bool(gaps(closet, TODAY, rules=["link-tested"]).waived) is holds


def test_musts_come_first_and_each_gap_has_its_place(closet: BinderFile) -> None:
    found = gaps(closet, TODAY).gaps
    severities = [gap.severity for gap in found]
    assert severities == sorted(severities)  # 'must' before 'should'
    tested = [gap for gap in found if gap.rule == "link-tested"]
    assert {gap.place for gap in tested} == {"1A Back hall"}


def test_gaps_of_one_place_stand_together(closet: BinderFile) -> None:
    places = gaps(closet, TODAY).by_place()
    assert "1A Back hall" in places
    assert sum(map(len, places.values())) == len(gaps(closet, TODAY).gaps)


def test_a_rule_that_there_is_not_is_no_rule(closet: BinderFile) -> None:
    with pytest.raises(KeyError):
        gaps(closet, TODAY, rules=["no-such-rule"])


def test_an_empty_binder_lacks_what_the_clients_sheet_lacks(binder: BinderFile) -> None:
    assert {gap.rule for gap in gaps(binder, TODAY).gaps} == {"client-sheet", "contact-deputy"}
