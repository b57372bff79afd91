"""Records named as a range and changed at once.

Panel and port identifiers are in the forms of ANSI/TIA-606 (1A-A: panel A of space 1A; 1A-A07: its
port 07).
"""

from __future__ import annotations

from collections.abc import Callable
from datetime import UTC, datetime
from random import Random

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from binder.cells import field_called
from binder.edit import Editor
from binder.errors import ConflictError, FaultsError, RequestError
from binder.file import BinderFile
from binder.history import position, recent
from binder.proposal import KEEP, Proposal, rehearsed, write
from binder.ranges import chosen, set_fields
from binder.read import names, read
from binder.records.catalog import BY_NAME

NOW = datetime(2026, 3, 14, 9, 40, tzinfo=UTC)
PORT, LINK, HARDWARE = BY_NAME["port"], BY_NAME["link"], BY_NAME["hardware"]


def named(binder: BinderFile, ids: tuple[int, ...]) -> list[str]:
    found = names(binder, ids)
    return [found[record_id].name for record_id in ids]


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        ("1A-A:02", ["1A-A:02"]),
        ("1A-A:02..04", ["1A-A:02", "1A-A:03", "1A-A:04"]),
        ("1A-A02..04", ["1A-A:02", "1A-A:03", "1A-A:04"]),  # ANSI/TIA-606 has no sign between
        ("SW1:01..02,07", ["SW1:01", "SW1:02", "SW1:07"]),
        ("sw1:01,03..04", ["SW1:01", "SW1:03", "SW1:04"]),
        ("1A-A:05..114-1:B", ["1A-A:05", "1A-A:06", "114-1:A", "114-1:B"]),
        ("114-1:*", ["114-1:A", "114-1:B"]),
        ("SW1:03,SW1:01..03", ["SW1:01", "SW1:02", "SW1:03"]),
    ],
)  # fmt: skip
def test_a_range_names_ports_in_natural_order_each_once(
    closet: BinderFile, text: str, expected: list[str]
) -> None:
    assert named(closet, chosen(closet, PORT, text)) == expected


def test_a_star_is_all_of_what_the_list_shows(closet: BinderFile) -> None:
    shown = chosen(closet, PORT, "SW1:01..04")
    assert chosen(closet, PORT, "*", shown) == shown
    assert len(chosen(closet, PORT, "*")) == 25


def test_from_one_name_to_another_goes_over_panels(closet: BinderFile) -> None:
    assert named(closet, chosen(closet, LINK, "1A-A01..1A-A03")) == ["1A-A01", "1A-A02", "1A-A03"]
    with pytest.raises(RequestError, match="runs backwards"):
        chosen(closet, PORT, "SW1:01..1A-A:01")


def test_what_is_not_there_is_named_and_nothing_is_chosen(closet: BinderFile) -> None:
    with pytest.raises(RequestError) as refused:
        chosen(closet, PORT, "1A-A:05..12")
    assert str(refused.value).startswith(
        "no port is named 1A-A:07, 1A-A:08, 1A-A:09, 1A-A:10 and 2"
    )


@pytest.mark.parametrize("text", ["", ",", "SW1:01,,SW1:02", "SW1:04..01", "SW1:01.."])
def test_a_range_that_says_nothing_is_refused_with_how_to_write_it(
    closet: BinderFile, text: str
) -> None:
    with pytest.raises(RequestError):
        chosen(closet, PORT, text)


def test_a_name_with_a_comma_or_dots_in_it_is_still_a_name(
    closet: BinderFile, add: Callable[..., int]
) -> None:
    odd = add("hardware", identifier="UPS, old", form="UPS", space="1A")
    dots = add("hardware", identifier="A..B", form="UPS", space="1A")
    assert chosen(closet, HARDWARE, "UPS, old") == (odd,)
    assert set(chosen(closet, HARDWARE, '"UPS, old", A..B')) == {odd, dots}


@settings(suppress_health_check=[HealthCheck.function_scoped_fixture], deadline=None)
@given(st.lists(st.integers(1, 8), min_size=1), st.randoms())
def test_names_between_commas_are_just_those_in_order(
    closet: BinderFile, numbers: list[int], chance: Random
) -> None:
    names_ = [f"SW1:{number:02}" for number in numbers]
    chance.shuffle(names_)
    assert named(closet, chosen(closet, PORT, ", ".join(names_))) == sorted(set(names_))


# Fields set over a range. -----------------------------------------------------------------


def propose(binder: BinderFile, text: str, **typed: str) -> Proposal:
    return set_fields(binder, PORT, chosen(binder, PORT, text), typed, now=NOW)


def test_a_vlan_is_set_on_many_ports_in_one_step_and_undone_in_one(
    closet: BinderFile, editor: Editor, id_of: Callable[[str], int]
) -> None:
    proposal = propose(closet, "SW1:01..08", vlan="30", current_use="desk {n}")
    before, use = proposal.records[2].settings
    assert (before.label, before.before, before.after) == ("VLAN", "20", "30")
    assert (use.before, use.after) == ("", "desk 3")
    assert read(closet, id_of("SW1:03"))["vlan"] == 20  # only looked at
    write(editor, rehearsed(editor, proposal))
    assert read(closet, id_of("SW1:03"))["vlan"] == 30
    assert read(closet, id_of("SW1:08"))["current_use"] == "desk 8"
    assert recent(closet)[0].summary == "change 8 ports: vlan, current use"
    editor.undo()
    assert read(closet, id_of("SW1:03"))["vlan"] == 20


def test_those_that_hold_it_already_are_left_alone(
    closet: BinderFile, editor: Editor, change: Callable[..., None]
) -> None:
    change("SW1:02", vlan=30)
    proposal = propose(closet, "SW1:01..03", vlan="30")
    assert [one.act == KEEP for one in proposal.records] == [False, True, False]
    assert proposal.told == "2 to change, 1 left alone"
    seen = read(closet, proposal.records[1].id).position
    write(editor, proposal)
    assert read(closet, proposal.records[1].id).position == seen


def test_when_all_hold_it_there_is_no_step(closet: BinderFile, editor: Editor) -> None:
    latest = position(closet)
    with pytest.raises(RequestError, match="nothing to change"):
        write(editor, propose(closet, "SW1:01..08", vlan="20"))
    assert position(closet) == latest


def test_an_empty_value_empties(closet: BinderFile, editor: Editor) -> None:
    proposal = propose(closet, "SW1:01", vlan="")
    write(editor, proposal)
    assert read(closet, proposal.records[0].id)["vlan"] is None


def test_a_number_counts_on_with_its_zeros(closet: BinderFile) -> None:
    proposal = propose(closet, "SW1:01..03", current_use="bed {08}")
    assert [one.settings[0].after for one in proposal.records] == ["bed 08", "bed 09", "bed 10"]


def test_a_reference_is_set_by_name(closet: BinderFile, editor: Editor) -> None:
    ids = chosen(closet, HARDWARE, "PH1,CAM1")
    proposal = set_fields(closet, HARDWARE, ids, {"space": "1a"}, now=NOW)
    assert [(one.settings[0].before, one.settings[0].after) for one in proposal.records] == [
        ("121", "1A"), ("114", "1A"),
    ]  # fmt: skip
    with pytest.raises(FaultsError, match="no space is named '9Z'"):
        write(editor, set_fields(closet, HARDWARE, ids, {"space": "9Z"}, now=NOW))


def test_one_fault_keeps_all_from_being_written(
    closet: BinderFile, editor: Editor, id_of: Callable[[str], int]
) -> None:
    proposal = propose(closet, "SW1:01..03", vlan="{4093}")  # VLAN ids: 1 to 4094, IEEE 802.1Q
    assert [str(fault) for fault in proposal.faults] == ["SW1:03: VLAN is from 1 to 4094"]
    with pytest.raises(FaultsError):
        write(editor, proposal)
    assert read(closet, id_of("SW1:01"))["vlan"] == 20


def test_what_the_database_would_refuse_is_told_before(closet: BinderFile, editor: Editor) -> None:
    ids = chosen(closet, LINK, "1A-A01..02")
    before = position(closet)
    same = rehearsed(editor, set_fields(closet, LINK, ids, {"identifier": "X"}, now=NOW))
    assert [len(one.faults) for one in same.records] == [0, 1]
    assert "that name is taken" in str(same.faults[0])
    assert position(closet) == before  # rehearsed, not done


def test_what_someone_changed_meanwhile_is_not_overwritten(
    closet: BinderFile, editor: Editor, id_of: Callable[[str], int]
) -> None:
    proposal = propose(closet, "SW1:01..02", vlan="30")
    with Editor(closet, "R. Adeyemi").step("vlan") as step:
        step.change(id_of("SW1:02"), {"vlan": 40})
    with pytest.raises(ConflictError):
        write(editor, proposal)
    assert read(closet, id_of("SW1:01"))["vlan"] == 20


@pytest.mark.parametrize("word", ["current_use", "Current use", "CURRENT", "current-use"])
def test_a_field_is_called_by_its_name_or_label_or_enough_of_it(word: str) -> None:
    assert field_called(PORT, word).name == "current_use"


def test_a_word_that_two_fields_share_is_not_guessed() -> None:
    with pytest.raises(RequestError, match="ups_rating_va, ups_rating_w"):
        field_called(HARDWARE, "UPS rating")
    assert field_called(HARDWARE, "UPS rating (W)").name == "ups_rating_w"
    with pytest.raises(RequestError, match="has no field 'speed'"):
        field_called(PORT, "speed")
