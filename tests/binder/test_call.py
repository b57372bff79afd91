"""A call over the phone writes its own record: who, when, what was touched; nothing is lost.

What a log entry is to hold: ANSI/TIA-606 work orders (value from memory) and common practice.
"""

from __future__ import annotations

from collections.abc import Callable
from datetime import UTC, datetime, timedelta

import pytest

from binder import call
from binder.edit import Editor
from binder.errors import ConflictError, RequestError
from binder.file import BinderFile
from binder.read import read, read_where
from binder.records.catalog import BY_NAME
from binder.touched import touched


class Clock:
    """A clock that stands until it is moved."""

    def __init__(self) -> None:
        self.now = datetime(2026, 3, 14, 2, 10, tzinfo=UTC)

    def __call__(self) -> datetime:
        return self.now


@pytest.fixture
def clock() -> Clock:
    return Clock()


@pytest.fixture
def osei(binder: BinderFile, clock: Clock) -> Editor:
    return Editor(binder, "M. Osei", clock=clock)


@pytest.fixture
def brandt(binder: BinderFile, clock: Clock) -> Editor:
    return Editor(binder, "K. Brandt", clock=clock)


def test_a_call_is_an_entry_of_the_log_that_is_not_closed(binder: BinderFile, osei: Editor) -> None:
    started = call.start(osei, caller_note="locum at the kennels")
    entry = read(binder, started.id)
    assert (entry["form"], entry["who"], entry["closed_at"]) == ("call", "M. Osei", None)
    assert call.open_call(binder, "M. Osei") == started
    assert started.caller == "locum at the kennels"


def test_calls_of_two_technicians_stay_apart(
    binder: BinderFile, osei: Editor, brandt: Editor
) -> None:
    mine, theirs = call.start(osei), call.start(brandt)
    call.jot(osei, mine, "lamp is dark")
    assert mine.id != theirs.id
    assert call.open_call(binder, "K. Brandt") == theirs
    assert read(binder, theirs.id)["body"] is None


def test_who_comes_from_another_address_has_the_same_call(binder: BinderFile, clock: Clock) -> None:
    started = call.start(Editor(binder, "osei", clock=clock))
    assert call.open_call(binder, "osei from 192.0.2.7") == started


def test_only_one_call_at_a_time(osei: Editor) -> None:
    started = call.start(osei)
    with pytest.raises(RequestError, match=started.name):
        call.start(osei)


def test_a_note_bears_the_time_on_the_clients_wall(
    binder: BinderFile, osei: Editor, clock: Clock, id_of: Callable[..., int]
) -> None:
    with osei.step("zone") as step:
        sheet = read_where(binder, BY_NAME["client"])[0]
        step.change(sheet.id, {"time_zone": "America/Chicago"})
    started = call.start(osei)
    call.jot(osei, started, "  lamp\n is dark ")
    clock.now += timedelta(minutes=4)
    call.jot(osei, started, "cord replaced")
    # 02:10 UTC on 14 March 2026 is 21:10 CDT the day before (time zone database).
    assert read(binder, started.id)["body"] == "21:10 lamp is dark\n21:14 cord replaced"


def test_each_record_is_attached_once_a_way(
    binder: BinderFile, osei: Editor, add: Callable[..., int]
) -> None:
    switch = add("hardware", identifier="SW1", form="switch")
    started = call.start(osei)
    for _ in range(3):
        call.attach(osei, started, [switch], "opened")
    call.attach(osei, started, [switch], "traced")
    found = touched(binder, started.id)
    assert [(one.name, one.how) for one in found] == [("SW1", ("opened", "traced"))]


def test_what_was_changed_is_attached_also_after_a_crash(
    binder: BinderFile, osei: Editor, add: Callable[..., int]
) -> None:
    """The step itself names the call, so that nothing needs to be remembered."""
    switch = add("hardware", identifier="SW1", form="switch")
    started = call.start(osei)
    with osei.step("change SW1", log_entry_id=started.id) as step:
        step.change(switch, {"serial": "SN-1"})
    call.attach_changes(osei, started)
    assert touched(binder, started.id)[0].how == ("changed",)


def test_closing_asks_for_a_line_and_a_kind(binder: BinderFile, osei: Editor, clock: Clock) -> None:
    started = call.start(osei)
    clock.now += timedelta(minutes=12, seconds=20)
    spent = call.spent_min(binder, started, clock.now)
    call.close(osei, started, "phone dead; cord replaced", "incident", spent_min=spent)
    entry = read(binder, started.id)
    assert (entry["summary"], entry["form"]) == ("phone dead; cord replaced", "incident")
    assert (entry["closed_at"], entry["spent_min"]) == ("2026-03-14T02:22:20Z", 12)
    assert call.open_call(binder, "M. Osei") is None


def test_undo_takes_back_work_never_the_book_keeping_of_a_call(
    binder: BinderFile, osei: Editor, add: Callable[..., int]
) -> None:
    switch = add("hardware", identifier="SW1", form="switch")
    with osei.step("before the call") as step:
        step.change(switch, {"notes": "old"})
    started = call.start(osei)
    with osei.step("change SW1", log_entry_id=started.id) as step:
        step.change(switch, {"serial": "SN-1"})
    call.attach(osei, started, [switch], "changed")
    call.jot(osei, started, "serial noted")
    osei.undo()
    assert read(binder, switch)["serial"] is None
    assert read(binder, started.id)["body"] is not None
    call.attach(osei, started, [switch], "traced")
    osei.redo()
    assert read(binder, switch)["serial"] == "SN-1"
    osei.undo()
    osei.undo()
    assert read(binder, switch)["notes"] is None
    assert call.open_call(binder, "M. Osei") is not None


@pytest.mark.parametrize(
    "said", ["+1 312 555 0101", "312-555-0101", "(312) 555 0101", "5550101", "priya nandakumar"]
)
def test_the_caller_is_known_by_number_or_name(
    binder: BinderFile, add: Callable[..., int], said: str
) -> None:
    """E.123 and national notations of one number (ITU-T E.123, 02/2001) mean one contact."""
    contact = add("contact", identifier="Priya Nandakumar", mobile_phone="+1 312 555 0101")
    add("contact", identifier="Ann", office_phone="+1 312 555 0177")
    assert call.contact_of(binder, said) == contact


def test_a_number_of_two_contacts_names_neither(
    binder: BinderFile, add: Callable[..., int]
) -> None:
    add("contact", identifier="Ann", office_phone="+1 312 555 0100")
    add("contact", identifier="Bea", office_phone="+1 312 555 0100")
    assert call.contact_of(binder, "312 555 0100") is None


def test_undo_takes_back_a_record_added_during_a_call_and_touched(
    binder: BinderFile, osei: Editor
) -> None:
    started = call.start(osei)
    with osei.step("add SW9", log_entry_id=started.id) as step:
        switch = step.add("hardware", {"identifier": "SW9", "form": "switch"})
    call.attach(osei, started, [switch], "opened")
    osei.undo()
    assert touched(binder, started.id) == ()
    osei.redo()
    assert [one.name for one in touched(binder, started.id)] == ["SW9"]


def test_what_somebody_wrote_in_the_log_by_hand_is_work(
    binder: BinderFile, osei: Editor, add: Callable[..., int]
) -> None:
    switch = add("hardware", identifier="SW1", form="switch")
    with osei.step("log: battery replaced") as step:
        entry = step.add("log_entry", {"opened_at": "2026-03-14T01:00:00Z", "form": "visit"})
    with osei.step("it concerns SW1") as step:
        step.add("touch", {"log_entry": entry, "subject": switch})
    osei.undo()
    assert touched(binder, entry) == ()
    osei.redo()
    started = call.start(osei)
    mistaken = binder.connection.execute("SELECT id FROM touch").fetchone()[0]
    with osei.step("it does not", log_entry_id=started.id) as step:
        step.remove(mistaken)
    osei.undo()
    assert [one.name for one in touched(binder, entry)] == ["SW1"]


def test_a_record_that_a_log_entry_concerns_is_not_undone_under_it(
    binder: BinderFile, osei: Editor, brandt: Editor
) -> None:
    with osei.step("add SW9") as step:
        switch = step.add("hardware", {"identifier": "SW9", "form": "switch"})
    with brandt.step("log: SW9 hums") as step:
        entry = step.add("log_entry", {"opened_at": "2026-03-14T01:00:00Z", "form": "visit"})
        step.add("touch", {"log_entry": entry, "subject": switch})
    with pytest.raises(RequestError, match="others still hang on it"):
        osei.undo()


def test_undo_during_a_call_does_not_overwrite_what_another_changed_since(
    binder: BinderFile, osei: Editor, brandt: Editor, add: Callable[..., int]
) -> None:
    switch = add("hardware", identifier="SW1", form="switch")
    started = call.start(osei)
    with osei.step("serial", log_entry_id=started.id) as step:
        step.change(switch, {"serial": "SN-1"})
    call.attach(osei, started, [switch], "changed")
    with brandt.step("serial") as step:
        step.change(switch, {"serial": "SN-2"})
    with pytest.raises(ConflictError) as clash:
        osei.undo()
    assert clash.value.theirs == {"serial": "SN-2"}


def test_a_note_and_a_form_that_rewrites_the_body_meet_as_a_clash(
    binder: BinderFile, osei: Editor
) -> None:
    """The form shows both; the other fields of it do not mind the note."""
    started = call.start(osei)
    seen = read(binder, started.id).position
    call.jot(osei, started, "lamp is dark")
    with osei.step("ticket") as step:
        step.change(started.id, {"ticket": "T-1"}, seen=seen)
    with pytest.raises(ConflictError) as clash, osei.step("body") as step:
        step.change(started.id, {"body": "typed in the form"}, seen=seen)
    assert clash.value.theirs == {"body": "02:10 lamp is dark"}


def test_a_call_left_open_over_night_did_not_take_all_night(
    binder: BinderFile, osei: Editor, clock: Clock
) -> None:
    started = call.start(osei)
    clock.now += timedelta(minutes=7)
    call.jot(osei, started, "line dropped")
    assert call.spent_min(binder, started, clock.now + timedelta(hours=3)) == 187
    assert call.spent_min(binder, started, clock.now + timedelta(hours=9)) == 7
