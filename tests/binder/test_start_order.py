"""In what order things start, and that no ring is passed over in silence."""

from __future__ import annotations

from collections.abc import Callable

import pytest

from binder.edit import Editor
from binder.file import BinderFile
from binder.read import resolve
from binder.start_order import Order, start_order


def stage_of(order: Order) -> dict[str, int]:
    return {item.name: n for n, stage in enumerate(order.stages) for item in stage}


@pytest.mark.parametrize(
    ("first", "later"),
    [
        ("UPS1", "GW1"),  # what feeds comes first
        ("UPS2", "STRIP2"),
        ("STRIP2", "SW3"),
        ("GW1", "SW1"),  # what leads to the carrier comes first
        ("SW1", "SW2"),
        ("SW2", "CAM7"),  # what gives power over the cable
        ("SW3", "PH8"),
        ("PH1", "WS1"),  # the computer behind the phone
        ("REC1", "CAM1"),  # the recorder before what it records
    ],
)
def test_what_others_wait_for_starts_first(demo: BinderFile, first: str, later: str) -> None:
    stages = stage_of(start_order(demo))

    assert stages[first] < stages[later]


def test_everything_that_is_switched_stands_in_the_order_once(demo: BinderFile) -> None:
    order = start_order(demo)
    named = [item.name for stage in order.stages for item in stage]

    assert len(named) == len(set(named))
    assert {"UPS1", "UPS2", "UPS3", "STRIP1", "ONT1", "CELL1", "FIRE1", "NAS1"} <= set(named)
    assert {"BL1", "CM1", "1A-A", "DC1"}.isdisjoint(named)  # dressing, panels, what is planned
    assert order.rings == ()


def test_the_order_of_one_thing_is_of_it_and_what_hangs_on_it(demo: BinderFile) -> None:
    order = start_order(demo, "UPS2")

    assert [[item.name for item in stage] for stage in order.stages[:3]] == [
        ["UPS2"], ["STRIP2"], ["SW3"],
    ]  # fmt: skip
    assert {item.name for item in order.stages[3]} == {
        "AP4", "AP5", "CAM8", "CAM9", "CAM10", "CAM11", "CAM12", "PH7", "PH8", "PR3", "WS13",
    }  # fmt: skip


def test_an_item_says_what_it_waits_for(demo: BinderFile) -> None:
    (sw3,) = [item for stage in start_order(demo).stages for item in stage if item.name == "SW3"]

    assert (sw3.space, sw3.after) == ("1K", ("STRIP2", "SW1"))


def test_things_that_wait_for_each_other_are_told_and_still_put_in_order(
    closet: BinderFile, add: Callable[..., int], change: Callable[..., None]
) -> None:
    """The gateway takes its power from the switch that it leads to the carrier."""
    change("GW1", poe_class=4)
    change("SW1:09", poe_type="2")
    order = start_order(closet)

    assert len(order.rings) == 1
    assert "GW1 is fed by SW1" in order.rings[0]
    assert "SW1 is reached through GW1" in order.rings[0]
    stages = stage_of(order)
    assert stages["SW1"] < stages["GW1"]  # power is waited for; data may come later


def test_strips_that_feed_each_other_are_told(demo: BinderFile) -> None:
    with Editor(demo, "M. Osei").step("a ring") as step:
        one, other = (resolve(demo, name).id for name in ("STRIP1", "STRIP2"))
        step.add("inlet", {"hardware": one, "label": "IN2", "fed_by": other})
        step.add("inlet", {"hardware": other, "label": "IN2", "fed_by": one})
    order = start_order(demo)

    assert [ring for ring in order.rings if "STRIP1 is fed by STRIP2" in ring]
    assert {"STRIP1", "STRIP2", "SW3"} <= stage_of(order).keys()
