"""Readings: what is usually read, units held to, doubts asked about, corrections kept."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from binder.edit import Editor
from binder.errors import FaultsError, RequestError
from binder.file import BinderFile
from binder.read import read, resolve
from binder.readings import Taken, add, doubts, modified_z, quantity_named, usual, value_of

AT = "2026-11-25T15:00:00Z"
NUMBERS = st.floats(-1e6, 1e6)


def load_of(demo: BinderFile, value: float, corrects: str = "") -> Taken:
    wrong = resolve(demo, corrects, "reading").id if corrects else None
    return Taken(resolve(demo, "UPS1", "hardware").id, "UPS load W", value, AT, "", wrong)


def test_everything_that_carries_a_load_is_on_the_list_with_its_last_value(
    demo: BinderFile,
) -> None:
    last = {(one.subject, one.quantity): one.last_value for one in usual(demo)}
    assert last["UPS1", "UPS load W"] == 418
    assert last["UPS3", "UPS runtime min"] is None  # never read, but asked for
    assert last["fibre", "received power dBm"] == -21.7
    assert last["LP1-12", "current A"] == 3.8  # not usual, but read before
    assert ("voice", "DHCP leases") in last
    assert ("cellular", "received power dBm") not in last  # no light in it


def test_a_corrected_reading_is_never_the_last(demo: BinderFile) -> None:
    add(Editor(demo, "M. Osei"), [load_of(demo, 4250)])
    wrong = demo.connection.execute("SELECT identifier FROM reading WHERE value = 4250").fetchone()
    add(Editor(demo, "M. Osei"), [load_of(demo, 425, wrong[0])])
    (found,) = [o for o in usual(demo) if (o.subject, o.quantity) == ("UPS1", "UPS load W")]
    assert found.last_value == 425
    assert read(demo, resolve(demo, wrong[0], "reading").id)["value"] == 4250  # it stays


def test_a_reading_itself_cannot_be_altered(demo: BinderFile) -> None:
    (made,) = add(Editor(demo, "M. Osei"), [load_of(demo, 425)])
    with (
        pytest.raises(RequestError, match="never altered"),
        Editor(demo, "M. Osei").step("alter") as step,
    ):
        step.change(made, {"value": 1.0})


def test_a_correction_of_something_else_is_refused_and_nothing_added(demo: BinderFile) -> None:
    leases = demo.connection.execute(
        "SELECT identifier FROM reading WHERE quantity = 'DHCP leases'"
    ).fetchone()[0]
    before = demo.connection.execute("SELECT count(*) FROM reading").fetchone()[0]
    with pytest.raises(FaultsError, match="no reading of the same"):
        add(Editor(demo, "M. Osei"), [load_of(demo, 425), load_of(demo, 425, leases)])
    assert demo.connection.execute("SELECT count(*) FROM reading").fetchone()[0] == before


def test_readings_of_one_round_are_one_step(demo: BinderFile) -> None:
    editor = Editor(demo, "M. Osei")
    add(editor, [load_of(demo, 425), load_of(demo, 426)])
    assert editor.undo().summary == "undo 2 readings"


# Units. -----------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("quantity", "typed", "stored"),
    [
        ("UPS load W", "1.2 kW", 1200),  # SI prefixes, arithmetic
        ("temperature C", "86F", 30),  # (86 - 32) 5/9, arithmetic
        ("disk used GB", "6 TB", 6000),
        ("received power dBm", "-21.7", -21.7),
        ("DHCP leases", "100", 100),
    ],
)
def test_a_value_may_bear_its_unit(quantity: str, typed: str, stored: float) -> None:
    assert value_of(quantity, typed, "metric") == pytest.approx(stored)


@pytest.mark.parametrize(
    ("quantity", "typed"),
    [("UPS load W", "3 A"), ("DHCP leases", "41.5"), ("wireless clients", "nan"),
     ("PoE draw W", "-3"), ("temperature C", "warm"), ("DHCP leases", "-1")],
)  # fmt: skip
def test_another_unit_or_no_count_is_refused(quantity: str, typed: str) -> None:
    with pytest.raises(ValueError, match=typed):
        value_of(quantity, typed, "metric")


def test_the_beginning_of_a_quantity_is_enough_when_it_is_the_only_one() -> None:
    assert quantity_named("poe") == "PoE draw W"
    with pytest.raises(RequestError, match="more than one"):
        quantity_named("UPS")


# Doubts. ----------------------------------------------------------------------------------


def test_the_score_is_that_of_iglewicz_and_hoaglin() -> None:
    # Iglewicz and Hoaglin 1993: M = 0.6745 (x - median)/MAD. Median 2.45, MAD 0.15, arithmetic:
    # 0.6745 * 5.75/0.15
    sample = [2.1, 2.6, 2.4, 2.5, 2.3, 2.1, 2.3, 2.6, 8.2, 8.3]
    middle, mad = 2.35 + 0.1, 0.15
    assert modified_z(8.2, sample) == pytest.approx(0.6745 * (8.2 - middle) / mad, rel=1e-9)


@given(NUMBERS, st.lists(NUMBERS, min_size=1, max_size=12))
def test_the_score_does_not_depend_on_the_order(value: float, before: list[float]) -> None:
    assert modified_z(value, before) == modified_z(value, sorted(before))


def test_a_digit_too_many_is_asked_about_and_the_usual_is_not(demo: BinderFile) -> None:
    (doubt,) = doubts(demo, [load_of(demo, 4250), load_of(demo, 425)])
    assert doubt.taken.value == 4250
    assert doubt.says == (
        "UPS1, UPS load W: 4250 W is far from the 5 readings before, 352 W to 418 W"
    )


def test_nothing_is_doubted_before_four_readings(demo: BinderFile) -> None:
    ups3 = Taken(resolve(demo, "UPS3", "hardware").id, "UPS load W", 9999, AT)
    assert doubts(demo, [ups3]) == ()
