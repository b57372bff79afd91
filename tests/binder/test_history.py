"""The change log, read: what a record was, when, and by whom."""

from __future__ import annotations

from collections.abc import Callable

import pytest

from binder import history
from binder.edit import Editor
from binder.file import BinderFile

IdOf = Callable[[str], int]
Add = Callable[..., int]
Change = Callable[..., None]


def test_a_record_is_told_newest_first(closet: BinderFile, id_of: IdOf, change: Change) -> None:
    change("SW1:02", current_use="scanner")
    change("SW1:02", current_use=None, vlan=30)
    told = [
        (line.act, line.field, line.before, line.after)
        for line in history.of_record(closet, id_of("SW1:02"))
    ]
    assert told[:3] == [
        ("change", "vlan", 20, 30),
        ("change", "current_use", "scanner", None),
        ("change", "current_use", None, "scanner"),
    ]
    act, field, before, after = told[3]
    assert (act, field, before) == ("add", None, None)
    assert after["label"] == "02"
    assert after["hardware"] == id_of("hardware SW1")
    assert len(told) == 4


def test_values_come_back_as_they_were_stored(
    closet: BinderFile, id_of: IdOf, change: Change
) -> None:
    change("link 1A-A01", length_m=39.25, shielded=1, notes="a\nb \x1b[0m")
    newest = {line.field: line.after for line in history.of_record(closet, id_of("1A-A01"))[:3]}
    assert newest == {"length_m": 39.25, "shielded": 1, "notes": "a\nb \x1b[0m"}
    assert isinstance(newest["length_m"], float)


def test_a_line_says_when_by_whom_and_in_which_step(
    closet: BinderFile, editor: Editor, add: Add, id_of: IdOf
) -> None:
    entry = add("log_entry", opened_at="2026-03-14T09:30:00Z")
    with editor.step("move the phone", log_entry_id=entry) as step:
        step.change(id_of("SW1:02"), {"vlan": 30})
        step.change(id_of("SW1:03"), {"vlan": 30})
    newest, before = history.recent(closet, 2)
    assert (newest.at, newest.who) == ("2026-03-14T09:40:00Z", "M. Osei")
    assert (newest.summary, newest.log_entry_id) == ("move the phone", entry)
    assert newest.step_id == before.step_id
    assert (newest.kind, newest.name) == ("port", "SW1:03")
    assert newest.position == before.position + 1


def test_a_removed_record_is_told_under_the_name_it_had(
    closet: BinderFile, editor: Editor, id_of: IdOf
) -> None:
    ids = {name: id_of(name) for name in ("ONT1:1", "C-0004")}
    with editor.step("the carrier takes it back") as step:
        step.remove(id_of("ONT1"), with_dependents=True)
    for name, record_id in ids.items():
        removal = history.of_record(closet, record_id)[0]
        assert (removal.act, removal.name, removal.after) == ("remove", name, None)
    assert removal.before["port_b"] == ids["ONT1:1"]


def test_a_line_keeps_the_name_of_its_time(closet: BinderFile, id_of: IdOf, change: Change) -> None:
    change("SW1:02", vlan=30)
    change("hardware SW1", identifier="CORE1")
    change("CORE1:02", vlan=40)
    names = [line.name for line in history.of_record(closet, id_of("CORE1:02"))]
    assert names == ["CORE1:02", "SW1:02", "SW1:02"]


def test_changes_since_an_issue_are_told_oldest_first(
    closet: BinderFile, id_of: IdOf, change: Change
) -> None:
    issued_at = history.position(closet)
    assert history.since(closet, issued_at) == ()
    change("SW1:02", vlan=30)
    change("SW1:03", vlan=40)
    told = history.since(closet, issued_at)
    assert [(line.name, line.after) for line in told] == [("SW1:02", 30), ("SW1:03", 40)]
    assert history.position(closet) == told[-1].position


def test_the_whole_log_is_paged_without_a_gap(closet: BinderFile) -> None:
    pages, before = [], 2**62
    while page := history.recent(closet, 10, before):
        pages += page
        before = page[-1].position
    assert [line.position for line in pages] == list(range(history.position(closet), 0, -1))
    assert tuple(reversed(pages)) == history.since(closet, 0)


@pytest.mark.parametrize("limit", [1, 2])
def test_no_more_than_asked_for(
    closet: BinderFile, id_of: IdOf, change: Change, limit: int
) -> None:
    for vlan in (30, 40, 50):
        change("SW1:02", vlan=vlan)
    assert len(history.of_record(closet, id_of("SW1:02"), limit)) == limit
    assert len(history.recent(closet, limit)) == limit


def test_a_record_that_never_was(closet: BinderFile) -> None:
    assert history.of_record(closet, 4711) == ()
