"""The quarterly review: stored for good, compared in words, never a date from too little.

What a review holds: reference section on quarterly capacity review in public closeout practice
(common practice, no published source). Figures that are computed are checked by hand beside them.
"""

from __future__ import annotations

from collections.abc import Callable
from datetime import date

import pytest

from binder.closeout import gaps
from binder.edit import Editor
from binder.errors import RequestError
from binder.file import BinderFile
from binder.headroom import headroom
from binder.headroom.rows import Row
from binder.review.actions import actions, decide, propose
from binder.review.asked import asked, tick
from binder.review.compared import compared
from binder.review.cures import ailing
from binder.review.exhaustion import Exhaustion, binding_first, exhaustion
from binder.review.spend import spend
from binder.review.taken import last_review, left_out, open_review, reproduces, reviews, take

Add = Callable[..., int]
Change = Callable[..., None]
IdOf = Callable[[str], int]
TODAY = date(2026, 3, 14)


def row(binder: BinderFile, resource: str, name: str, day: date = TODAY) -> Row:
    rows = headroom(binder, today=day).rows
    return next(r for r in rows if (r.resource, r.where.name) == (resource, name))


def leads(binder: BinderFile, resource: str, name: str, day: date = TODAY) -> Exhaustion:
    found = exhaustion(binder, headroom(binder, today=day), day)
    return next(e for e in found if (e.row.resource, e.row.where.name) == (resource, name))


# Taken, kept, compared. -------------------------------------------------------------------


def test_a_review_is_what_headroom_was_and_can_be_computed_again(
    closet: BinderFile, editor: Editor, change: Change
) -> None:
    taken = take(editor, TODAY)
    assert taken.headroom == headroom(closet, today=TODAY)
    change("hardware SW1", poe_budget_w=60.0)
    held = open_review(closet, taken.id)
    assert held == taken
    assert reproduces(closet, held)
    assert headroom(closet, today=TODAY) != held.headroom


def test_a_review_is_never_altered(closet: BinderFile, editor: Editor) -> None:
    taken = take(editor, TODAY)
    for field, value in (("body", "{}"), ("fingerprint", "0" * 64), ("taken_on", "2020-01-01")):
        with pytest.raises(RequestError, match="never altered"), editor.step("alter") as step:
            step.change(taken.id, {field: value})


@pytest.mark.parametrize(
    "body",
    ["typed by hand", "7", '{"rows": []}', '{"on": 5, "rows": [], "notes": []}',
     '{"on": "2026-01-05", "rows": [{"where": {}}], "notes": []}', "[" * 100_000],
)  # fmt: skip
def test_what_is_no_computation_is_left_out_and_named(
    closet: BinderFile, editor: Editor, add: Add, body: str
) -> None:
    taken = take(editor, date(2026, 1, 4))
    typed = add("review", identifier="Q-typed", taken_on="2026-01-05", body=body)
    assert [review.name for review in reviews(closet)] == [taken.name]
    assert left_out(closet, reviews(closet)) == ("Q-typed",)
    last = last_review(closet)
    assert last is not None
    assert last.name == taken.name
    with pytest.raises(RequestError, match="'Q-typed' holds no computation that"):
        open_review(closet, typed)


def test_two_reviews_are_compared_in_words(
    closet: BinderFile, editor: Editor, change: Change
) -> None:
    first = take(editor, TODAY)
    change("hardware SW1", poe_budget_w=400.0)
    second = take(editor, date(2026, 6, 14))
    moved = {one.resource: one for one in compared(first.headroom, second.headroom).changes}
    # The planning limit of PoE is 80 % of the budget: 296 of 370 W, 320 of 400 W.
    assert moved["PoE watts"].says.startswith("limit 296 to 320 W")
    assert not moved["PoE watts"].worse


def test_a_reading_is_never_altered_a_correction_follows_it(
    closet: BinderFile, editor: Editor, add: Add, change: Change, id_of: IdOf
) -> None:
    change("circuit fibre", rate_down_mbps=500.0)
    said = {"subject": id_of("circuit fibre"), "quantity": "rate 95th percentile Mb/s"}
    wrong = add("reading", value=1940.0, read_at="2026-03-01T08:00:00Z", **said)
    with pytest.raises(RequestError, match="never altered"), editor.step("alter") as step:
        step.change(wrong, {"value": 194.0})
    add("reading", value=194.0, read_at="2026-03-01T08:00:00Z", corrects=wrong, **said)
    assert [point.used for point in leads(closet, "circuit rate", "fibre").points] == [194.0]


# Where it leads. --------------------------------------------------------------------------


@pytest.fixture
def read_poe(closet: BinderFile, add: Add, id_of: IdOf) -> Callable[[dict[str, float]], None]:
    """Put readings of SW1's PoE draw into the binder, by day."""

    def put(values: dict[str, float]) -> None:
        for day, value in values.items():
            add("reading", subject=id_of("hardware SW1"), quantity="PoE draw W", value=value,
                read_at=f"{day}T08:00:00Z")  # fmt: skip

    return put


def test_three_readings_are_not_enough_and_give_no_date_anywhere(
    closet: BinderFile, read_poe: Callable[[dict[str, float]], None]
) -> None:
    read_poe({"2025-09-14": 100.0, "2025-12-14": 120.0, "2026-03-14": 140.0})
    told = leads(closet, "PoE watts", "SW1")
    assert not told.enough
    assert told.says.startswith("not enough readings: 3 of 4")
    assert (told.on, told.earliest_on, told.latest_on, told.a_year) == (None,) * 4


def test_a_straight_line_reaches_the_limit_on_the_day_it_does(
    closet: BinderFile, read_poe: Callable[[dict[str, float]], None]
) -> None:
    """By hand: 1 W a day from 100 W on 2026-01-01, 296 W is 196 days later, 2026-07-16."""
    read_poe({"2026-01-01": 100.0, "2026-01-21": 120.0, "2026-02-10": 140.0, "2026-03-02": 160.0})
    told = leads(closet, "PoE watts", "SW1")
    assert told.on == "2026-07-16"
    assert told.a_year == pytest.approx(365.25)
    assert told.a_year_least_squares == pytest.approx(365.25)


def test_a_larger_switch_begins_the_line_anew_and_says_why(
    closet: BinderFile, editor: Editor, change: Change,
    read_poe: Callable[[dict[str, float]], None],
) -> None:  # fmt: skip
    read_poe({"2025-06-01": 50.0, "2025-07-01": 80.0, "2025-08-01": 110.0, "2025-09-01": 140.0})
    take(editor, date(2025, 9, 2))
    change("hardware SW1", poe_budget_w=740.0)
    take(editor, date(2025, 12, 2))
    told = leads(closet, "PoE watts", "SW1")
    assert told.step is not None
    assert "the limit went from 296 to 592 W" in told.says
    assert not told.enough
    assert told.on is None


def test_a_device_that_came_later_begins_its_line_when_it_came(
    closet: BinderFile, editor: Editor, change: Change,
    read_poe: Callable[[dict[str, float]], None],
) -> None:  # fmt: skip
    take(editor, date(2025, 6, 2))
    read_poe({"2025-06-01": 50.0, "2025-07-01": 80.0, "2025-08-01": 110.0, "2025-09-01": 140.0})
    change("hardware SW1", installed_on="2025-10-01")
    told = leads(closet, "PoE watts", "SW1")
    assert "SW1 as it is now was put in" in told.says
    assert told.points == ()


def test_a_planned_addition_moves_the_dates_it_should_and_no_other(
    closet: BinderFile, editor: Editor, add: Add, read_poe: Callable[[dict[str, float]], None]
) -> None:
    read_poe({"2026-01-01": 100.0, "2026-01-21": 120.0, "2026-02-10": 140.0, "2026-03-02": 160.0})
    before = {e.row.key: e.on for e in all_of(closet)}
    add("reservation", identifier="door controllers", subject="hardware SW1",
        resource="PoE watts", quantity=60.0)  # fmt: skip
    after = {e.row.key: e.on for e in all_of(closet)}
    moved = {key for key in before if before[key] != after[key]}
    assert {key[0] for key in moved} == {"PoE watts"}
    assert leads(closet, "PoE watts", "SW1").on == "2026-05-17"  # 60 days sooner


def all_of(binder: BinderFile) -> tuple[Exhaustion, ...]:
    return exhaustion(binder, headroom(binder, today=TODAY), TODAY)


def test_what_binds_first_is_what_is_used_up_first(
    closet: BinderFile, read_poe: Callable[[dict[str, float]], None]
) -> None:
    assert binding_first(all_of(closet)) is None
    read_poe({"2026-01-01": 100.0, "2026-01-21": 120.0, "2026-02-10": 140.0, "2026-03-02": 160.0})
    first = binding_first(all_of(closet))
    assert first is not None
    assert first.row.resource == "PoE watts"


# What to do. ------------------------------------------------------------------------------


def test_actions_are_proposed_once_and_carried_until_they_are_done(
    closet: BinderFile, editor: Editor, change: Change
) -> None:
    change("hardware SW1", poe_budget_w=1.0)
    add_load(editor, closet)
    taken = take(editor, TODAY)
    found = ailing(closet, taken.headroom)
    assert propose(editor, taken.id, found)
    later = take(editor, date(2026, 6, 14))
    assert propose(editor, later.id, ailing(closet, later.headroom)) == ()
    first = actions(closet)[0]
    assert (first.review, first.state, first.is_open) == (taken.name, "proposed", True)
    decide(editor, first.id, "agreed", by="Priya Nandakumar", on=TODAY)
    decide(editor, first.id, "done", by="M. Osei", on=date(2026, 7, 1))
    done = next(one for one in actions(closet) if one.id == first.id)
    assert (done.done_on, done.done_by, done.is_open) == ("2026-07-01", "M. Osei", False)


def add_load(editor: Editor, binder: BinderFile) -> None:
    from binder.read import resolve

    with editor.step("load") as step:
        step.change(resolve(binder, "hardware PH1").id, {"poe_class": 3})


def test_a_cure_tells_its_sum(closet: BinderFile, editor: Editor, change: Change) -> None:
    change("hardware SW1", poe_budget_w=1.0)
    add_load(editor, closet)
    poe = next(one for one in ailing(closet, headroom(closet, today=TODAY))
               if one.row.resource == "PoE watts")  # fmt: skip
    assert "too much" in poe.cures[0].arithmetic


def test_what_falls_due_stands_in_its_quarter_with_its_price(closet: BinderFile, add: Add) -> None:
    add("renewal", identifier="quillmere.example", form="domain", renews_on="2026-04-16",
        cost=1800)  # fmt: skip
    add("renewal", identifier="seats", form="licence", renews_on="2026-02-01")
    told = spend(closet, headroom(closet, today=TODAY))
    assert [due.name for due in told.overdue] == ["seats"]
    second = next(quarter for quarter in told.quarters if quarter.name == "2026 Q2")
    assert [(due.name, due.cost_cents) for due in second.dues] == [("quillmere.example", 1800)]
    assert (second.cost_cents, second.unpriced) == (1800, 0)
    assert len(told.quarters) == 12
    again = [quarter.name for quarter in told.quarters
             if any(due.name == "quillmere.example" for due in quarter.dues)]  # fmt: skip
    assert again == ["2026 Q2", "2027 Q2", "2028 Q2"]


def test_the_quarter_asks_for_its_duties_and_they_are_ticked(
    closet: BinderFile, editor: Editor, add: Add
) -> None:
    add("duty", identifier="UPS battery test", rule="FREQ=MONTHLY;INTERVAL=6",
        starts_on="2025-03-20", done_on="2025-09-21")  # fmt: skip
    due = {one.name: one for one in asked(closet, TODAY)}
    assert due["UPS battery test"].due_on == "2026-03-20"  # RFC 5545: every six months from then
    assert due["accounts attested"].id is None
    tick(editor, due["UPS battery test"], TODAY, by="M. Osei", result="held 14 min")
    tick(editor, due["accounts attested"], TODAY, by="M. Osei")
    left = {one.name for one in asked(closet, TODAY)}
    assert {"UPS battery test", "accounts attested"}.isdisjoint(left)
    # ticked six days early, it is not called overdue the day after its day either
    after = gaps(closet, date(2026, 3, 21), rules=["duty-done"]).gaps
    assert [gap.subject.name for gap in after] == []
