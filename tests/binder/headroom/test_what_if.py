"""What if: read as typed, worked out in a copy, and the same when it is kept."""

from __future__ import annotations

from collections.abc import Callable
from datetime import date

import pytest

from binder.edit import Editor
from binder.errors import RequestError
from binder.file import BinderFile
from binder.headroom import Headroom, headroom
from binder.headroom.additions import Addition, parse
from binder.headroom.what_if import WhatIf, keep, what_if
from binder.read import resolve

Asks = Callable[[str], WhatIf]


@pytest.fixture
def asks(demo: BinderFile, today: date) -> Asks:
    """`asks("3 x camera: class 3")`: the what-if of those lines on the demo."""
    return lambda text: what_if(demo, parse(demo, text, system="us"), today=today)


def read(demo: BinderFile, line: str) -> Addition:
    (found,) = parse(demo, line, system="us")
    return found


# What is typed. ---------------------------------------------------------------------------


def test_the_figures_of_a_line_are_those_of_each(demo: BinderFile) -> None:
    found = read(demo, "2 x tape library: 2U, 150 W each, 18 kg, 700 mm deep, 2 ports")

    assert (found.count, found.name, found.form, found.ports) == (2, "tape library", "other", 2)
    assert found.values == {
        "height_u": 2, "base_power_w": 150, "weight_kg": 18, "depth_mm": 700,
    }  # fmt: skip


@pytest.mark.parametrize(
    ("part", "poe_class"),
    [
        # IEEE 802.3-2022 table 145-12: the classes that each type of source was made for
        ("802.3af", 3), ("802.3at", 4), ("802.3bt", 6), ("802.3bt type 3", 6),
        ("802.3bt type 4", 8), ("PoE type 2", 4), ("class 2", 2), ("PoE class 5", 5),
    ],
)  # fmt: skip
def test_a_generation_of_poe_is_a_class(demo: BinderFile, part: str, poe_class: int) -> None:
    found = read(demo, f"door controller: {part}")

    assert (found.form, found.values["poe_class"]) == ("door controller", poe_class)
    assert (found.ports, found.addresses) == (1, 1)


@pytest.mark.parametrize(
    ("part", "field", "value"),
    [
        ("1.5 kW", "base_power_w", 1500),
        ("40 lb", "weight_kg", 40 * 0.45359237),
        ("20 in deep", "depth_mm", 508),
        ("12 W PoE", "poe_drawn_w", 12),
        ("PoE budget 370 W", "poe_budget_w", 370),
        ("370 W PoE budget", "poe_budget_w", 370),
        ("4 Mb/s", "bit_rate_mbps", 4),
        ("12 hours a day", "recorded_hours_a_day", 12),
    ],
)
def test_quantities_are_read_in_any_unit(
    demo: BinderFile, part: str, field: str, value: float
) -> None:
    assert read(demo, f"thing: {part}").values[field] == pytest.approx(value)


def test_a_template_brings_its_figures_and_what_is_typed_wins(demo: BinderFile) -> None:
    found = read(demo, "2 x Storage Server: 200 W, in 1A-R1, from UPS1, subnet staff")

    assert (found.values["height_u"], found.values["base_power_w"]) == (2, 200)
    assert (found.ports, found.place, found.feed, found.subnet) == (2, "1A-R1", "UPS1", "staff")


def test_empty_lines_and_remarks_are_skipped(demo: BinderFile) -> None:
    found = parse(demo, "# phase 4\n\n desk phone \n2 × dome camera\n", system="us")

    assert [(each.count, each.name) for each in found] == [(1, "desk phone"), (2, "dome camera")]


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ("", "nothing to add"),
        ("desk phone\ndome camera: blue", "line 2: 'blue' is not understood; write 2U, 150 W"),
        ("0 x camera", "line 1: 0 x camera: from 1 to 500 of a thing"),
        ("9999 x camera", "from 1 to 500"),
        (": 2U", "names nothing"),
    ],
)
def test_what_cannot_be_read_is_told_with_its_line(demo: BinderFile, text: str, says: str) -> None:
    with pytest.raises(RequestError, match=says):
        parse(demo, text, system="us")


@pytest.mark.parametrize(
    ("line", "says"),
    [
        ("camera: class 3, on SW9", "no hardware is named 'SW9'"),
        ("server: 1U, in 9Z-R1", "no record is named '9Z-R1'"),
        ("server: 1U, in SW1", "is no rack and no space"),
        ("server: 100 W, from fibre", "is no UPS, strip or branch circuit"),
    ],
)
def test_a_name_that_is_not_in_the_binder_is_told(asks: Asks, line: str, says: str) -> None:
    with pytest.raises(RequestError, match=says):
        asks(line)


# What comes out. --------------------------------------------------------------------------


def after(answer: WhatIf) -> dict[tuple[str, str], float | None]:
    return {(m.after.resource, m.after.where.name): m.after.free for m in answer.moved}


def test_two_more_cameras_are_more_than_three_quarters_of_the_recorder(asks: Asks) -> None:
    """12 of 16 are recorded, and 12 is three quarters: (12 + 2)/0.75 = 18.7."""
    answer = asks("2 x dome camera")

    assert answer.first is not None
    assert (answer.first.resource, answer.first.where.name) == ("recorder cameras", "REC1")
    assert answer.first.fix == "a recorder rated for 19 cameras or more"
    assert set(answer.placed) == {
        "2 x dome camera: recorded by REC1",
        "2 x dome camera: on SW1",
        "2 x dome camera: 2 addresses kept in cameras",
    }


def test_what_had_room_for_the_fewest_runs_out_first(asks: Asks) -> None:
    """Of 30 phones SW1 and SW2 have ports for 4 and 6, SW3 for 8; voice has room for 10."""
    answer = asks("30 x desk phone")
    short = {m.after.resource for m in answer.moved if m.after.state == "short"}

    assert {"switch ports", "DHCP addresses"} <= short
    assert answer.first is not None
    fits = {m.after.key: m.fits for m in answer.moved}
    assert fits[answer.first.key] == min(
        m.fits or 0 for m in answer.moved
        if m.after.state == "short" and m.before.state not in ("over", "short")
    )  # fmt: skip


def test_a_thing_that_no_port_serves_is_told_whatever_the_figures(asks: Asks) -> None:
    """Class 6 wants a source of type 3 (IEEE 802.3-2022); every port here is of type 2."""
    answer = asks("4 x door controller: 802.3bt type 3")

    assert answer.cannot == (
        "4 x door controller: no switch has a port of PoE type 3 or better; "
        "another switch is needed",
    )
    assert not answer.fits


def test_a_thing_that_is_too_deep_is_told(asks: Asks) -> None:
    assert asks("server: 1U, 900 mm deep, in 1A-R1").cannot == ("1 x server: too deep for 1A-R1",)


def test_a_reservation_of_that_name_is_taken_up_and_not_counted_twice(asks: Asks) -> None:
    """2 U and 160 W are kept for the storage server: its own 2 U and 160 W take their place."""
    answer = asks("storage server")

    assert ("rack units", "1A-R1") not in after(answer)
    assert ("UPS load", "UPS1") not in after(answer)
    assert ("rack weight", "1A-R1") in after(answer)


def test_places_watts_and_circuit_are_those_asked_for(asks: Asks) -> None:
    answer = asks("server: 1U, 100 W, 5 kg, in 1K-R1, from UPS2, on SW3")

    assert after(answer)["rack units", "1K-R1"] == 0
    assert after(answer)["rack weight", "1K-R1"] == pytest.approx(23.5 - 5)
    assert after(answer)["UPS load", "UPS2"] == pytest.approx(420 - 99 - 72.75 - 100, abs=0.1)
    assert {("switch ports", "SW3"), ("branch circuit", "LP2-4"), ("heat", "1K")} <= after(
        answer
    ).keys()


def test_what_was_short_already_is_told_apart(asks: Asks) -> None:
    answer = asks("server: 10 W, from UPS1, in 1A")

    assert answer.first is None
    assert [(row.resource, row.where.name) for row in answer.worse] == [
        ("minutes on battery", "UPS1")
    ]


def test_asking_changes_nothing(demo: BinderFile, asks: Asks) -> None:
    before = [tuple(row) for row in demo.connection.execute("SELECT * FROM record ORDER BY id")]
    asks("3 x outdoor camera\nstorage server")

    assert before == [
        tuple(row) for row in demo.connection.execute("SELECT * FROM record ORDER BY id")
    ]


def test_what_is_kept_gives_the_rows_that_were_shown_and_one_undo_takes_it_back(
    demo: BinderFile, today: date, asked: Callable[[], Headroom]
) -> None:
    additions = parse(demo, "3 x outdoor camera\nserver: 1U, 80 W", system="us")
    before, shown = asked(), what_if(demo, additions, today=today)
    keep(demo, "R. Adeyemi", additions, today=today)
    rows = {row.key: row for row in headroom(demo, today=today).rows}

    for moved in shown.moved:
        kept = rows[moved.after.key]
        assert (kept.used, kept.reserved, kept.state) == (
            moved.after.used, pytest.approx(moved.after.reserved), moved.after.state,
        )  # fmt: skip
    assert resolve(demo, "outdoor camera 3").kind == "hardware"
    Editor(demo, "R. Adeyemi").undo()
    assert asked() == before
