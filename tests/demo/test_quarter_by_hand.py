"""The demo's latest review, a full quarter worked by hand, beside what the program makes of it.

Every figure here is worked from the demo's records with pencil and paper: the counts are those of
its data files, the margins the planning limits named beside them. Lines of trend: Theil 1950; Sen,
Estimates of the regression coefficient based on Kendall's tau, JASA 63 (1968) 1379, section 2: the
median of the slopes between all pairs.
"""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date, timedelta
from statistics import median

import pytest

from binder.file import BinderFile, create
from binder.headroom import Row, headroom
from binder.review.actions import actions
from binder.review.compared import compared
from binder.review.exhaustion import Exhaustion, exhaustion
from binder.review.taken import Review, reproduces, reviews
from demo.quarters import load_client
from tests.binder.headroom.test_worked_sheet import BY_HAND, Sheet

TODAY = date(2026, 11, 25)  # a Wednesday
REVIEWED = ["2026-03-05", "2026-06-04", "2026-09-03", "2026-11-19"]  # Thursdays, after the visit


@pytest.fixture(scope="module")
def year(tmp_path_factory: pytest.TempPathFactory) -> Iterator[BinderFile]:
    with create(tmp_path_factory.mktemp("year") / "quillmere.binder", "") as binder:
        load_client(binder, TODAY)
        yield binder


@pytest.fixture(scope="module")
def latest(year: BinderFile) -> Review:
    return reviews(year)[-1]


@pytest.fixture(scope="module")
def ahead(year: BinderFile) -> dict[tuple[str, str], Exhaustion]:
    found = exhaustion(year, headroom(year, today=TODAY), TODAY)
    return {(one.row.resource, one.row.where.name): one for one in found}


# The day of the latest review differs from the demo's day by six days, and by nothing else: the sum
# of every row is worked in the sheet of that day, of minutes on battery, of heat and of pathways
# too, with its source. What ages is six days younger.
REVIEW_SHEET = BY_HAND | {
    ("battery life", "UPS1", ""): Sheet(4, (638 - 6) / 365.25, 0),
    # 31.2 °C as read the day before: life halves for every 8 °C above 25 °C
    ("battery life", "UPS2", ""): Sheet(4 / 2 ** (6.2 / 8), (1105 - 6) / 365.25, 0),
    ("battery life", "UPS3", ""): Sheet(4, (274 - 6) / 365.25, 0),
}


@pytest.mark.parametrize("key", REVIEW_SHEET, ids=" ".join)
def test_a_row_of_the_latest_review_is_what_the_hand_makes_it(
    key: tuple[str, str, str], latest: Review
) -> None:
    sheet = REVIEW_SHEET[key]
    row = _row(latest, *key)
    assert row.used == pytest.approx(sheet.used, rel=2e-3, abs=1e-6)
    assert row.reserved == pytest.approx(sheet.reserved, rel=2e-3, abs=1e-6)
    assert row.limit == pytest.approx(sheet.limit, rel=2e-3, abs=1e-6)
    assert row.free == pytest.approx((row.limit or 0) - (row.used or 0) - (row.reserved or 0))


def test_the_kennel_switch_is_short_once_the_doors_come(latest: Review) -> None:
    # 130 W at 80 percent; 68 W read. Left 36 W, less than three door controllers of class 4 and a
    # reservation of 30 W ask for
    row = _row(latest, "PoE watts", "SW3")
    assert (row.used, row.state) == (68, "short")
    assert row.limit == pytest.approx(130 * 0.8)
    assert row.free == pytest.approx(104 - 68 - (row.reserved or 0))


def test_each_review_computes_again_from_the_binder_as_it_stood(year: BinderFile) -> None:
    taken = reviews(year)
    assert [one.taken_on for one in taken] == REVIEWED
    assert all(reproduces(year, one) for one in taken)
    assert len({one.fingerprint for one in taken}) == 4


def test_a_load_read_four_times_reaches_its_limit_when_the_hand_says(
    ahead: dict[tuple[str, str], Exhaustion],
) -> None:
    # UPS2: 71, 88, 97, 99 W, in weeks 39, 26, 13 and 1 before this Wednesday's: days 0, 91, 182,
    # 266. The six slopes in order: 2/84, 11/175, 9/91, 28/266, 26/182, 17/91; their median is the
    # mean of 9/91 and 28/266: 0.10208 W a day. The line goes through the medians (136.5, 92.5).
    slope = (9 / 91 + 28 / 266) / 2
    assert slope == pytest.approx(median([2 / 84, 11 / 175, 9 / 91, 28 / 266, 26 / 182, 17 / 91]))
    found = ahead["UPS load", "UPS2"]
    now = 92.5 + slope * (39 * 7 - 136.5)  # 106.4 W today
    left = 525 * 0.8 - now - (found.row.reserved or 0)  # 420 - 106.4 - 72.8 = 240.8 W
    assert found.a_year == pytest.approx(slope * 365.25, rel=1e-3)
    assert found.on is not None
    by_hand = TODAY + timedelta(days=left / slope)
    assert abs(date.fromisoformat(found.on) - by_hand) <= timedelta(days=8)  # read at 9:40
    assert by_hand.isoformat().startswith("2033-05")


def test_minutes_fall_toward_what_is_asked_and_a_plan_takes_the_rest(
    ahead: dict[tuple[str, str], Exhaustion],
) -> None:
    # UPS2 was read at 38, 31, 23, 19 min on the same days 0, 91, 182, 266. The slopes in order:
    # -8/91, -15/182, -7/91, -19/266, -12/175, -4/84; the median is the mean of -7/91 and -19/266:
    # -0.07418 min a day. Through (136.5, 27) it stands at 16.9 min on day 273, today: 15 min asked
    # would be met in 25 days; the 9.8 min that the doors and ward C will cost are not there now.
    slope = (-7 / 91 - 19 / 266) / 2
    found = ahead["minutes on battery", "UPS2"]
    assert found.a_year == pytest.approx(slope * 365.25, rel=1e-3)
    now = 27 + slope * (39 * 7 - 136.5)
    assert now - 15 == pytest.approx(1.87, abs=0.01)
    kept = REVIEW_SHEET["minutes on battery", "UPS2", ""].reserved
    assert kept == pytest.approx(9.79, abs=0.01)
    assert found.on == TODAY.isoformat()
    assert found.says.endswith("at the limit already with what is kept, 15 min")


def test_reviews_alone_give_a_date_too(ahead: dict[tuple[str, str], Exhaustion]) -> None:
    # REC1 keeps 30 of: 24 TB less a disk over 45 Mb/s, then 48. 37.04, then 34.72 three times, on
    # days 0, 91, 182, 259. Three of six slopes are nought, one -2.315/259: the median is half that.
    found = ahead["days kept", "REC1"]
    fell = 34.7222 - 37.0370
    slope = (0 + fell / 259) / 2
    assert [one.by for one in found.points] == ["Q-0001", "Q-0002", "Q-0003", "Q-0004"]
    assert found.a_year == pytest.approx(slope * 365.25, rel=1e-3)
    now = 34.7222 + slope * (259 + 6 - (91 + 182) / 2)
    by_hand = TODAY + timedelta(days=(now - 30) / -slope)
    assert found.on is not None
    assert abs(date.fromisoformat(found.on) - by_hand) <= timedelta(days=2)
    assert by_hand.year == 2029


def test_three_readings_give_no_date(ahead: dict[tuple[str, str], Exhaustion]) -> None:
    found = ahead["UPS load", "UPS3"]
    assert found.says == "not enough readings: 3 of 4"
    assert (found.on, found.earliest_on, found.latest_on, found.a_year) == (None,) * 4


def test_a_larger_switch_is_no_trend_and_the_words_say_why(
    ahead: dict[tuple[str, str], Exhaustion],
) -> None:
    # 44 and 49 W on the switch of 65 W, then 66 and 68 W on that of 130 W: 2 points since
    found = ahead["PoE watts", "SW3"]
    assert (found.enough, found.on) == (False, None)
    assert found.says == (
        "not enough readings: 2 of 4; since 2026-07-28, SW3 as it is now was put in: "
        "the limit went from 52 to 104 W"
    )


def test_the_review_after_tells_of_the_larger_switch(year: BinderFile) -> None:
    _, second, third, _ = reviews(year)
    changes = compared(second.headroom, third.headroom).changes
    says = next(one.says for one in changes if (one.resource, one.name) == ("PoE watts", "SW3"))
    assert says.startswith("limit 52 to 104 W; used 52.48 to 67.51 W")


def test_a_battery_that_is_only_older_has_not_moved(year: BinderFile) -> None:
    # Read at 30.6 and 31.2 °C, 1K takes years off those of UPS2: 4 / 2^(5.6/8), 4 / 2^(6.2/8).
    _, _, third, fourth = reviews(year)
    moved = {one.name: one.says for one in compared(third.headroom, fourth.headroom).changes
             if one.resource == "battery life"}  # fmt: skip
    assert list(moved) == ["UPS2"]
    assert moved["UPS2"].startswith("limit 2.462 to 2.338 years")
    older = _row(fourth, "battery life", "UPS1").used or 0
    assert older > (_row(third, "battery life", "UPS1").used or 0)


def test_actions_are_done_agreed_dropped_and_carried(year: BinderFile) -> None:
    told = {(one.resource, one.review): one.state for one in actions(year)}
    assert told == {
        ("PoE watts", "Q-0001"): "done",
        ("battery life", "Q-0002"): "agreed",
        ("rack units", "Q-0003"): "dropped",
        ("wireless clients", "Q-0003"): "proposed",  # carried: the review after still lists it
        ("DHCP addresses", "Q-0004"): "proposed",
    }


def _row(review: Review, resource: str, name: str, which: str = "") -> Row:
    rows = review.headroom.rows
    return next(r for r in rows if (r.resource, r.where.name, r.which) == (resource, name, which))
