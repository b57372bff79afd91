"""What changed between two issues, in words: the net of it.

That a change page lists every change since acceptance: public closeout specifications (01 78 39
family, value from memory).
"""

from __future__ import annotations

import contextlib
from collections.abc import Callable
from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings

from binder.changes_told import changes_told
from binder.edit import Editor
from binder.errors import BinderError
from binder.file import BinderFile
from binder.history import position
from binder.read import names, read_where, resolve
from binder.records.catalog import KINDS
from tests.binder.test_as_of import ACTS, act

Change = Callable[..., None]


@pytest.fixture
def place(closet: BinderFile) -> int:
    return position(closet)


def words(binder: BinderFile, place: int) -> list[tuple[str, str, list[tuple[str, str, str]]]]:
    return [
        (one.act, f"{one.label} {one.name}", [(f.label, f.before, f.after) for f in one.fields])
        for one in changes_told(binder, place)
    ]


def test_a_field_is_told_as_it_was_and_as_it_is(
    closet: BinderFile, place: int, change: Change
) -> None:
    change("SW1:01", vlan=30)
    change("SW1:01", vlan=40)
    assert words(closet, place) == [("changed", "Port SW1:01", [("VLAN", "20", "40")])]


def test_what_was_changed_back_is_not_told(
    closet: BinderFile, place: int, change: Change, editor: Editor
) -> None:
    change("SW1:01", vlan=30)
    editor.undo()
    assert words(closet, place) == []


def test_what_came_and_went_is_not_told_and_what_came_is(
    closet: BinderFile, place: int, add: Callable[..., int], editor: Editor
) -> None:
    add("hardware", identifier="SW8", form="switch")
    with editor.step("away") as step:
        step.remove(resolve(closet, "SW8").id)
    add("hardware", identifier="SW9", form="switch")
    assert words(closet, place) == [("added", "Hardware SW9", [])]


def test_a_removed_record_is_told_by_the_name_it_had(
    closet: BinderFile, place: int, editor: Editor
) -> None:
    with editor.step("away") as step:
        step.remove(resolve(closet, "PH1").id, with_dependents=True)
    assert ("removed", "Hardware PH1", []) in words(closet, place)


def test_references_are_told_by_name(
    closet: BinderFile, place: int, change: Change, id_of: Callable[[str], int]
) -> None:
    change("hardware PH1", space=id_of("space 121"))
    assert words(closet, place) == [("changed", "Hardware PH1", [("Space", "114", "121")])]


def test_that_somebody_looked_is_no_change(closet: BinderFile, place: int, change: Change) -> None:
    change("SW1:01", verified_on="2026-03-14", verified_by="M. Osei")
    assert words(closet, place) == []


def test_a_record_is_told_by_the_name_it_has_now(
    closet: BinderFile, place: int, change: Change
) -> None:
    change("SW1:01", vlan=30)
    change("SW1", identifier="SW1B")  # and so are its ports called
    assert words(closet, place) == [
        ("changed", "Hardware SW1B", [("Identifier", "SW1", "SW1B")]),
        ("changed", "Port SW1B:01", [("VLAN", "20", "30")]),
    ]


def test_a_reference_to_what_is_gone_is_told_by_the_name_that_had(
    closet: BinderFile, place: int, editor: Editor
) -> None:
    with editor.step("away") as step:
        step.remove(resolve(closet, "ONT1").id, with_dependents=True)
    told = dict((name, fields) for _, name, fields in words(closet, place))
    assert ("Carrier equipment", "ONT1", "") in told["Circuit fibre"]


def test_a_removal_that_was_taken_back_and_done_again(
    closet: BinderFile, place: int, editor: Editor, change: Change
) -> None:
    change("PH1", description="moved")
    with editor.step("away") as step:
        step.remove(resolve(closet, "PH1").id, with_dependents=True)
    editor.undo()
    assert words(closet, place) == [("changed", "Hardware PH1", [("Description", "", "moved")])]
    editor.redo()
    assert ("removed", "Hardware PH1", []) in words(closet, place)
    editor.undo()
    editor.undo()
    assert words(closet, place) == []


def rows_of(binder: BinderFile) -> dict[int, dict[str, object]]:
    """Every record's stored values, by its id."""
    return {
        record.id: {field.name: record[field.name] for field in kind.all_fields}
        for kind in KINDS
        for record in read_where(binder, kind)
    }


@settings(
    max_examples=25, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture]
)
@given(before=ACTS, after=ACTS)
def test_what_is_told_is_what_two_copies_of_the_binder_differ_in(
    closet: BinderFile, editor: Editor, before: list[Any], after: list[Any]
) -> None:
    def do(acts: list[Any]) -> None:
        for one in acts:
            with contextlib.suppress(BinderError):  # a U that is taken, a name that is gone
                act(closet, editor, *one)

    do(before)
    was, since = rows_of(closet), position(closet)
    do(after)
    now, called = rows_of(closet), names(closet, rows_of(closet))
    differ = {
        record_id: {field for field in both if was[record_id][field] != both[field]}
        for record_id, both in now.items()
        if record_id in was and was[record_id] != both
    }
    told = changes_told(closet, since)
    by_act = {act: {one.id for one in told if one.act == act} for act in ("added", "removed")}
    assert by_act == {"added": set(now) - set(was), "removed": set(was) - set(now)}
    changed = {one.id: {f.field for f in one.fields} for one in told if one.act == "changed"}
    assert changed == differ
    assert all(one.name == called[one.id].name for one in told if one.act != "removed")
