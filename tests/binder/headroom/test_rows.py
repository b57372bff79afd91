"""Rows: their state, their order, their limits and where readings lead."""

from __future__ import annotations

from collections.abc import Callable
from datetime import UTC, date, datetime, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.stats import theilslopes

from binder.edit import Editor
from binder.engineering.figures import Budget, Step
from binder.errors import RequestError
from binder.file import BinderFile
from binder.headroom import STATES, Headroom, Row, headroom
from binder.headroom.limits import LIMITS, Limits
from binder.headroom.rows import Need, Outlook, Where
from binder.headroom.rows import row as made
from binder.headroom.words import HEADS, bar, in_system, lines, shown, step_line, two
from binder.review.exhaustion import exhaustion, with_outlooks

AT = Where(1, "hardware", "SW1", "1A")
amounts = st.floats(0, 1e6)


def of(limit: float, used: float, reserved: float, *, missing: bool = False) -> Row:
    needs = [Need(2, "hardware", "UPS1", "weight_kg", "weight")] if missing else []
    budget = Budget(limit, used, reserved, "W", (Step("limit", "given", limit, "W"),))
    return made(
        "PoE watts", AT, budget, rated=limit, because="", basis="", tight=0.9, missing=needs
    )


# States. ----------------------------------------------------------------------------------


@given(amounts, amounts, amounts)
def test_a_state_is_what_used_and_reserved_make_it(
    limit: float, used: float, reserved: float
) -> None:
    found = of(limit, used, reserved)

    if found.state == "over":
        assert used > limit
    elif found.state == "short":
        assert used <= limit * (1 + 1e-8) + 1e-8
        assert used + reserved > limit
    elif found.state == "tight":
        assert 0.9 * limit * (1 - 1e-8) <= used + reserved <= limit * (1 + 1e-8) + 1e-8
    else:
        assert found.state == "fine"
        assert used + reserved <= 0.9 * limit * (1 + 1e-8) or not limit


@given(amounts, amounts, amounts)
def test_what_is_missing_never_makes_a_row_fine(limit: float, used: float, reserved: float) -> None:
    known, partly = of(limit, used, reserved), of(limit, used, reserved, missing=True)

    assert partly.state != "fine"
    assert partly.bound == "at most"
    assert partly.state == ("not known" if known.state == "fine" else known.state)


@given(amounts, amounts, amounts)
def test_a_bar_is_12_wide_and_tells_what_does_not_fit(
    limit: float, used: float, reserved: float
) -> None:
    found = of(limit, used, reserved)
    drawn = bar(found)

    assert len(drawn) == 12
    assert set(drawn) <= set("#=.>")
    assert drawn.endswith(">") == (found.state in ("over", "short"))
    assert drawn == drawn.replace("=", "") or reserved > 0


# The answer. ------------------------------------------------------------------------------


def test_the_scarcest_rows_come_first(asked: Callable[[], Headroom]) -> None:
    rows = asked().rows
    places = [STATES.index(each.state) for each in rows]
    over = [each.share or 0 for each in rows if each.state == "over"]

    assert places == sorted(places)
    assert over == sorted(over, reverse=True)


def test_a_space_and_a_state_can_be_asked_for(demo: BinderFile, today: date) -> None:
    found = headroom(demo, space="1k", state="fine", today=today)

    assert {each.where.space for each in found.rows} == {"1K"}
    assert {each.state for each in found.rows} == {"fine"}
    with pytest.raises(RequestError, match="no space is named 'OUT9'; is it OUT"):
        headroom(demo, space="OUT9", today=today)
    with pytest.raises(RequestError, match="no state 'full'; there are: over, short"):
        headroom(demo, state="full", today=today)


def test_the_binder_is_asked_as_often_whatever_it_holds(
    demo: BinderFile, binder: BinderFile, today: date
) -> None:
    """A query a record would be one for each port, camera and cable."""
    counts = []
    for each in (demo, binder):
        asked: list[str] = []
        each.connection.set_trace_callback(asked.append)
        headroom(each, today=today)
        each.connection.set_trace_callback(None)
        counts.append(len(asked))

    assert counts[0] == counts[1] < 25


def test_an_empty_binder_has_no_rows(binder: BinderFile, today: date) -> None:
    assert headroom(binder, today=today) == Headroom("2026-11-25", ())


def test_planned_hardware_is_no_capacity_yet(
    demo: BinderFile, asked: Callable[[], Headroom]
) -> None:
    with Editor(demo, "M. Osei").step("plan a UPS") as step:
        step.add("hardware", {
            "identifier": "UPS9", "form": "UPS", "status": "planned", "ups_rating_w": 3000,
        })  # fmt: skip

    assert [each for each in asked().rows if each.where.name == "UPS9"] == []


# Limits. ----------------------------------------------------------------------------------


def test_every_limit_says_where_it_is_from() -> None:
    assert len({limit.name for limit in LIMITS}) == len(LIMITS)
    for limit in LIMITS:
        assert len(limit.because) > 10, limit.name


def test_a_planning_limit_of_the_binder_takes_the_place_of_the_default(
    demo: BinderFile, row: Callable[..., Row]
) -> None:
    """85 % of 18 U are 15 whole ones, and of 9 U 7; half of 1000 W are 500."""
    found = row("rack units", "1A-R1")

    assert (found.limit, row("rack units", "1K-R1").limit) == (15, 7)
    assert found.limit_because.startswith("Dr. Voss wants no third rack")
    with Editor(demo, "M. Osei").step("more") as step:
        step.add("planning_limit", {"identifier": "UPS Load Percent", "value": 50})
    assert row("UPS load", "UPS1").limit == 500
    assert row("UPS load", "UPS1").limit_because == (
        "planning limit of this binder (UPS load percent 50)"
    )


@pytest.mark.parametrize(
    ("limit", "resource", "name"),
    [
        ("rack units percent", "rack units", "1A-R1"),
        ("panel ports percent", "panel ports", "1K-A"),
        ("PoE watts percent", "PoE watts", "SW1"),
        ("tray percent", "pathway fill", "CT-01"),
    ],
)
def test_more_than_all_is_no_limit(
    demo: BinderFile, row: Callable[..., Row], limit: str, resource: str, name: str
) -> None:
    with Editor(demo, "M. Osei").step("a slip") as step:
        own = demo.connection.execute("SELECT id FROM planning_limit").fetchone()[0]
        step.change(own, {"identifier": limit, "value": 850})

    assert row(resource, name).told == (
        f"not known: planning limit {limit} 850: must be from 0 to 100 %"
    )


def test_blanks_to_order_are_told_beside_the_units(row: Callable[..., Row]) -> None:
    """The front of 1K-R1 is open at U3 and U4: the strip stands at the rear."""
    assert "blanks that would close the front: 1 of 2 U" in row("rack units", "1K-R1").notes


def test_a_limit_of_no_known_name_is_told(demo: BinderFile, asked: Callable[[], Headroom]) -> None:
    with Editor(demo, "M. Osei").step("a slip") as step:
        step.add("planning_limit", {"identifier": "rack unit percent", "value": 50})

    assert (
        "planning limit 'rack unit percent' is of no known name and counts for nothing"
        in asked().notes
    )
    assert Limits({})["rack units percent"].value == 80


# Readings. --------------------------------------------------------------------------------


def test_a_reading_stands_beside_what_is_computed(row: Callable[..., Row]) -> None:
    found = row("PoE watts", "SW2")

    assert found.measured is not None
    assert (found.measured.value, found.measured.at[:10]) == (102, "2026-11-18")
    assert found.used == pytest.approx(103.55, abs=0.05)


@pytest.fixture
def leads(demo: BinderFile, today: date) -> Callable[[str, str], Outlook]:
    """`leads("UPS load", "UPS1")`: where that row leads, as every screen and document tells it."""

    def leads(resource: str, name: str) -> Outlook:
        computed = headroom(demo, today=today)
        led = with_outlooks(computed, exhaustion(demo, computed, today))
        outlook = next(
            row.outlook for row in led.rows if (row.resource, row.where.name) == (resource, name)
        )
        assert outlook is not None
        return outlook

    return leads


def test_a_corrected_reading_counts_for_nothing(leads: Callable[[str, str], Outlook]) -> None:
    """R-0001 has 3520 W, a digit too many; R-0002 corrects it."""
    outlook = leads("UPS load", "UPS1")

    assert outlook.a_year is not None
    assert 0 < outlook.a_year < 100
    assert "by 5 readings" in outlook.says


def test_the_day_a_trend_runs_out_is_that_of_the_median_slope(
    demo: BinderFile, row: Callable[..., Row], leads: Callable[[str, str], Outlook]
) -> None:
    """Theil-Sen by scipy, to 6,400 GB: 80 % of the file store."""
    found = row("disk space", "NAS1")
    readings = demo.connection.execute(
        "SELECT read_at, value FROM reading WHERE subject_id = ? ORDER BY read_at",
        (found.where.id,),
    ).fetchall()
    days = [datetime.fromisoformat(at).timestamp() / 86400 for at, _ in readings]
    slope, at_zero, *_ = theilslopes([value for _, value in readings], days)
    full = datetime.fromtimestamp((6400 - at_zero) / slope * 86400, UTC).date()

    told = date.fromisoformat(leads("disk space", "NAS1").runs_out_on or "")
    assert abs((told - full).days) <= 1


def test_a_few_readings_are_no_trend(leads: Callable[[str, str], Outlook]) -> None:
    outlook = leads("UPS load", "UPS3")

    assert outlook.says == "not enough readings: 3 of 4"
    assert (outlook.runs_out_on, outlook.earliest_on, outlook.latest_on) == (None, None, None)


def test_readings_of_the_switch_before_are_not_those_of_the_larger_one(
    leads: Callable[[str, str], Outlook], today: date
) -> None:
    """SW3 was replaced 17 weeks before the demo's day; two of its four readings are older."""
    outlook = leads("PoE watts", "SW3")

    monday = today - timedelta(days=today.weekday())
    put_in = monday - timedelta(weeks=17) + timedelta(days=1)
    assert outlook.says == (
        f"not enough readings: 2 of 4; since {put_in}, SW3 as it is now was put in"
    )
    assert outlook.runs_out_on is None


# Words. -----------------------------------------------------------------------------------


def test_lines_fit_80_columns_and_the_head_stands_over_them(
    asked: Callable[[], Headroom],
) -> None:
    for system in ("us", "metric"):
        told = lines(asked(), system, basis=True)
        assert told[0] == HEADS
        assert [line for line in told if len(line) > 80] == []


@pytest.mark.parametrize(
    ("text", "told"),
    [
        ("6.3 kg moved to a floor rack", "13.89 lb moved to a floor rack"),
        ("a rack 10 mm deeper", "a rack 0.394 in deeper"),
        ("+3 °C a year: reaches 30 °C", "+5.4 °F a year: reaches 86 °F"),
        ("2.2 m² of floor, 40 W", "2.2 m² of floor, 40 W"),
    ],
)
def test_sentences_in_metric_are_told_in_the_units_of_the_binder(text: str, told: str) -> None:
    assert in_system(text, "us") == told
    assert in_system(text, "metric") == text


@pytest.mark.parametrize(
    ("value", "unit", "told"),
    [(1.0, "licences", "1 licence"), (1.0, "addresses", "1 address"), (2.0, "ports", "2 ports"),
     (0.0, "ports", "0 ports")],
)  # fmt: skip
def test_one_of_a_thing_is_told_as_one(value: float, unit: str, told: str) -> None:
    """Common English."""
    assert shown(value, unit, "metric") == told


def test_a_step_keeps_its_metric_sum_and_adds_the_other_unit() -> None:
    step = Step("in the rack", "SW1 4 + UPS1 20", 24, "kg", "as recorded")

    assert step_line(step, "metric") == "in the rack: SW1 4 + UPS1 20 = 24 kg [as recorded]"
    assert step_line(step, "us") == (
        "in the rack: SW1 4 + UPS1 20 = 24 kg (52.91 lb) [as recorded]"
    )


@pytest.mark.parametrize(
    ("one", "other", "unit", "metric", "us"),
    [
        (296, 320, "W", "296 to 320 W", "296 to 320 W"),
        (27, 30, "°C", "27 °C to 30 °C", "80.6 °F to 86 °F"),  # by definition
        (None, 30, "W", "not known to 30 W", "not known to 30 W"),
        (30, None, "W", "30 to not known", "30 to not known"),
    ],
)
def test_two_figures_are_told_with_the_unit_once_where_one_will_do(
    one: float | None, other: float | None, unit: str, metric: str, us: str
) -> None:
    told = two(one, "to", other, unit)
    assert (told, in_system(told, "us")) == (metric, us)
