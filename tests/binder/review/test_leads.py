"""Where resources lead: what begins a line anew, what a plan moves, and how it is said.

Dates are worked by hand from readings on a straight line; a line of the median slope goes through
them (Theil 1950; Sen 1968). What begins a line anew is common practice, no published source.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from datetime import date, timedelta

import pytest

from binder.edit import Editor
from binder.file import BinderFile
from binder.headroom import headroom
from binder.review.exhaustion import Exhaustion, exhaustion
from binder.review.taken import take

Add = Callable[..., int]
Change = Callable[..., None]
IdOf = Callable[[str], int]
Read = Callable[[str, Mapping[str, float]], None]
TODAY = date(2026, 3, 14)
# 1 W a day: 100 W on 2026-01-01, so 296 W, 80 % of SW1's 370 W, 196 days later, on 2026-07-16.
A_WATT_A_DAY = {"2026-01-01": 100, "2026-01-21": 120, "2026-02-10": 140, "2026-03-02": 160}


@pytest.fixture
def read(add: Add, id_of: IdOf) -> Read:
    """`read("SW1", {day: watts})`: readings of a switch's PoE draw."""

    def read(name: str, values: Mapping[str, float]) -> None:
        for day, value in values.items():
            add("reading", subject=id_of(f"hardware {name}"), quantity="PoE draw W",
                value=float(value), read_at=f"{day}T00:00:00Z")  # fmt: skip

    return read


def led(binder: BinderFile, resource: str, name: str, day: date = TODAY) -> Exhaustion:
    found = exhaustion(binder, headroom(binder, today=day), day)
    return next(one for one in found if (one.row.resource, one.row.where.name) == (resource, name))


# What begins a line anew. -----------------------------------------------------------------


def test_readings_of_the_device_before_count_for_nothing_though_no_review_was_taken(
    closet: BinderFile, change: Change, read: Read
) -> None:
    read("SW1", A_WATT_A_DAY)
    change("hardware SW1", installed_on="2026-02-01")
    told = led(closet, "PoE watts", "SW1")
    assert told.says == (
        "not enough readings: 2 of 4; since 2026-02-01, SW1 as it is now was put in"
    )
    assert (told.on, told.earliest_on, told.latest_on, told.a_year) == (None,) * 4


def test_a_planning_limit_that_moves_bends_no_line(
    closet: BinderFile, editor: Editor, add: Add, read: Read
) -> None:
    """What the switch gives goes on as it did; half of 370 W is reached on day 85, 03-27."""
    read("SW1", A_WATT_A_DAY)
    take(editor, date(2026, 3, 3))
    add("planning_limit", identifier="PoE watts percent", value=50.0)
    told = led(closet, "PoE watts", "SW1")
    assert (told.step, told.on, len(told.points)) == (None, "2026-03-27", 4)


def test_a_conduit_reckoned_for_one_cable_more_bends_no_line(
    closet: BinderFile, editor: Editor, add: Add, change: Change, id_of: IdOf
) -> None:
    """NEC chapter 9 table 1: two cables may fill 31 %, three 40 %. Keeping room for a third moves
    the limit; the two fill what they filled before."""
    conduit = add("pathway", identifier="CD-9", form="conduit", inside_diameter_mm=26.6)
    for name in ("1A-A01", "1A-A02"):
        change(f"link {name}", outside_diameter_mm=7.5)
        add("run", link=id_of(f"link {name}"), pathway=conduit)
    for day in ("2025-06-01", "2025-09-01", "2025-12-01"):
        take(editor, date.fromisoformat(day))
    add("reservation", identifier="a third", subject=conduit, resource="pathway cables",
        quantity=1.0)  # fmt: skip
    take(editor, date(2026, 3, 1))
    told = led(closet, "pathway fill", "CD-9")
    # 2 x 7.5² / 26.6² = 15.9 % now, 7.95 % kept for the third
    assert told.row.used == pytest.approx(100 * 2 * 7.5**2 / 26.6**2)
    assert told.row.reserved == pytest.approx(100 * 7.5**2 / 26.6**2)
    assert (told.row.limit, told.step, len(told.points)) == (40, None, 4)
    assert told.says == "level, by 4 reviews: does not reach 40 %"


def test_new_batteries_begin_the_line_of_minutes_anew(demo: BinderFile, change: Change) -> None:
    """UPS2 was read 39, 26, 13 and 1 weeks ago; batteries put in 20 weeks ago leave two."""
    day = date(2026, 11, 25)
    put_in = (day - timedelta(weeks=20)).isoformat()
    assert led(demo, "minutes on battery", "UPS2", day).on is not None
    editor = Editor(demo, "M. Osei")
    ups = demo.connection.execute("SELECT id FROM hardware WHERE identifier = 'UPS2'").fetchone()[0]
    with editor.step("new batteries") as step:
        step.change(ups, {"battery_installed_on": put_in})
    told = led(demo, "minutes on battery", "UPS2", day)
    assert told.says == (
        f"not enough readings: 2 of 4; since {put_in}, the battery of UPS2 as it is now was put in"
    )
    assert told.on is None


def test_a_review_that_cannot_be_read_is_passed_over(
    closet: BinderFile, editor: Editor, read: Read
) -> None:
    with editor.step("a damaged review") as step:
        step.add("review", {"taken_on": "2026-01-01", "taken_by": "M. Osei", "body": "{not a"})
    read("SW1", A_WATT_A_DAY)
    assert led(closet, "PoE watts", "SW1").on == "2026-07-16"


# How it is said. --------------------------------------------------------------------------


def test_a_level_line_at_its_limit_is_there_already(closet: BinderFile, read: Read) -> None:
    read("SW1", dict.fromkeys(A_WATT_A_DAY, 296))
    told = led(closet, "PoE watts", "SW1")
    assert told.says == "level, by 4 readings: at the limit already, 296 W"
    assert told.on == TODAY.isoformat()


def test_a_level_line_below_its_limit_reaches_it_only_with_what_is_kept(
    closet: BinderFile, add: Add, read: Read
) -> None:
    read("SW1", dict.fromkeys(A_WATT_A_DAY, 200))
    assert led(closet, "PoE watts", "SW1").says == "level, by 4 readings: does not reach 296 W"
    add("reservation", identifier="door controllers", subject="hardware SW1",
        resource="PoE watts", quantity=100.0)  # fmt: skip
    told = led(closet, "PoE watts", "SW1")
    assert told.says == "level, by 4 readings: at the limit already with what is kept, 296 W"


def test_far_beyond_the_readings_a_year_is_told_and_no_day(closet: BinderFile, read: Read) -> None:
    """A tenth of a watt a day over 60 days: 296 W lie 1,900 days on, more than four times 60."""
    read("SW1", {day: 100 + (watts - 100) / 10 for day, watts in A_WATT_A_DAY.items()})
    told = led(closet, "PoE watts", "SW1")
    assert told.is_far
    assert told.when == "about 2031"
    assert told.says.endswith(
        "reaches 296 W about 2031, far beyond the readings: a direction, not a date"
    )


# What a plan moves. -----------------------------------------------------------------------


@pytest.fixture
def planned(closet: BinderFile, add: Add, read: Read) -> Callable[[str], None]:
    """Two switches in 1A, read alike, each with 5 W kept for something of no known day; and a
    planned access point of 20 W on SW1, to come on a day."""
    add("hardware", identifier="SW2", form="switch", space="1A", poe_budget_w=370.0)
    read("SW1", A_WATT_A_DAY)
    read("SW2", A_WATT_A_DAY)
    for name in ("SW1", "SW2"):
        add("reservation", identifier=f"a sensor on {name}", subject=f"hardware {name}",
            resource="PoE watts", quantity=5.0)  # fmt: skip

    def planned(day: str) -> None:
        add("hardware", identifier="AP9", form="access point", space="1A", status="planned",
            installed_on=day, poe_class=4, poe_drawn_w=20.0)  # fmt: skip
        add("port", hardware="AP9", label="1", status="planned")
        add("cord", port_a="AP9:1", port_b="SW1:05", status="planned", length_m=1.0,
            gauge_awg=24)  # fmt: skip

    return planned


@pytest.mark.parametrize(
    ("comes_on", "full_on"),
    [
        # 296 W less 5 and 20 W, and 0.1 W lost on its cord, are 271 W, reached on 2026-06-20
        ("2026-05-01", "2026-06-20"),
        ("2026-07-01", "2026-07-01"),  # 281 W by then: full the day it comes
        ("2026-08-01", "2026-07-16"),  # full before it comes
    ],
)
def test_a_planned_thing_counts_from_its_day_and_only_where_it_hangs(
    closet: BinderFile, planned: Callable[[str], None], comes_on: str, full_on: str
) -> None:
    before = led(closet, "PoE watts", "SW2")
    planned(comes_on)
    told, other = led(closet, "PoE watts", "SW1"), led(closet, "PoE watts", "SW2")
    assert told.row.planned_on == comes_on
    assert told.on == full_on
    assert (other.row.planned_on, other.on) == ("", before.on)
    assert before.on == "2026-07-11"  # 291 W: what is kept for no known day counts from today
