"""Rack elevations: every U of a face once, and what is in the way told with what is free.

Units are counted from U 1 at the bottom (EIA/ECA-310-E) unless a rack is numbered from the top.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable
from datetime import date

import pytest
from hypothesis import given
from hypothesis import strategies as st

from binder.edit import Editor
from binder.elevation import FACES, Elevation, Mounted, Reserved, State, elevation, faces
from binder.engineering import rack as engineering
from binder.errors import RequestError
from binder.file import BinderFile
from binder.headroom import headroom
from binder.read import read, resolve
from tests.conftest import Add

TODAY = date(2026, 3, 14)
SIDES = st.sampled_from(["front", "rear", "both"])
STATUSES = st.sampled_from(["installed", "planned", "spare", "abandoned"])


@st.composite
def racks(draw: st.DrawFn) -> tuple[int, bool, list[Mounted], list[Reserved]]:
    """A rack with hardware that does not overlap (the database sees to it), and reservations that
    may."""
    height_u = draw(st.integers(1, 24))
    taken: dict[str, set[int]] = {"front": set(), "rear": set()}
    mounted = []
    for n in range(draw(st.integers(0, 8))):
        u, size_u, side = draw(st.integers(1, height_u)), draw(st.integers(0, 4)), draw(SIDES)
        span = set(range(u, u + size_u))
        sides = FACES if side == "both" else (side,)
        if u + size_u - 1 <= height_u and all(span.isdisjoint(taken[each]) for each in sides):
            for each in sides:
                taken[each] |= span
            mounted.append(Mounted(n, f"H{n}", "other", "", draw(STATUSES), u, size_u, side))
    reserved = [
        Reserved(100 + n, f"use {n}", draw(st.none() | st.integers(1, 30)),
                 draw(st.integers(1, 6)), draw(SIDES), "")
        for n in range(draw(st.integers(0, 3)))
    ]  # fmt: skip
    return height_u, draw(st.booleans()), mounted, reserved


@given(racks())
def test_every_u_of_a_face_is_accounted_for_exactly_once(
    rack: tuple[int, bool, list[Mounted], list[Reserved]],
) -> None:
    height_u, from_top, mounted, reserved = rack
    rising = list(range(1, height_u + 1))
    for face in faces(height_u, from_top, mounted, reserved):
        spans = [list(block.span) if from_top else list(block.span)[::-1] for block in face.blocks]
        assert [u for span in spans for u in span] == (rising if from_top else rising[::-1])
        assert face.units(*State) == height_u
        for one in mounted:
            if one.is_placed and one.is_on(face.side):
                assert {face.at(u).thing for u in rising if one.takes(u)} == {one}


@given(racks())
def test_what_is_taken_and_free_is_what_engineering_reckons(
    rack: tuple[int, bool, list[Mounted], list[Reserved]],
) -> None:
    """Reckoned a second way, by `binder.engineering.rack.occupancy`, which knows no overlap."""
    height_u, from_top, mounted, _ = rack
    standing = [
        engineering.Mounted(one.name, one.u or 0, one.height_u, one.face, None, one.status)  # type: ignore[arg-type]
        for one in mounted
        if one.is_placed
    ]
    for face, side in zip(faces(height_u, from_top, mounted, ()), FACES, strict=True):
        reckoned = engineering.occupancy(height_u, standing, side)  # type: ignore[arg-type]
        counted = {s: len(units) for s, units in reckoned.units.items()}
        assert counted == {str(s): face.units(s) for s in State if str(s) in counted}
        assert face.open_u == frozenset(reckoned.free)


def test_the_first_of_two_that_overlap_is_shown_and_the_second_keeps_the_rest() -> None:
    a = Mounted(1, "A", "other", "", "installed", 2, 1, "front")
    b = Reserved(2, "B", 1, 3, "front", "")
    front, _ = faces(4, False, [a], [b])
    assert [(block.first_u, block.height_u, block.thing) for block in front.blocks] == [
        (4, 1, None), (3, 1, b), (2, 1, a), (1, 1, b),
    ]  # fmt: skip


def test_free_units_are_gathered_into_blocks() -> None:
    a = Mounted(1, "A", "other", "", "installed", 4, 1, "front")
    front, rear = faces(10, False, [a], [])
    assert (front.units(State.FREE), front.largest_free_u) == (9, 6)
    assert rear.at(4).state is State.OTHER_FACE


def of(binder: BinderFile, **asked: bool) -> Elevation:
    return elevation(binder, resolve(binder, "1A-R1").id, TODAY, **asked)


def test_the_closet(closet: BinderFile, add: Add) -> None:
    add("hardware", identifier="UPS1", form="UPS", rack="1A-R1", u_position=10, height_u=2,
        face="rear")  # fmt: skip
    add("reservation", identifier="storage server", subject=resolve(closet, "1A-R1").id,
        resource="rack units", quantity=2, u_position=2, until="2026-03-14")  # fmt: skip
    add("reservation", identifier="fell away", subject=resolve(closet, "1A-R1").id,
        resource="rack units", quantity=2, u_position=5, until="2026-03-13")  # fmt: skip
    drawn = of(closet)
    counts = Counter({b.state: drawn.front.units(b.state) for b in drawn.front.blocks})
    assert counts == {State.INSTALLED: 3, State.RESERVED: 2, State.OTHER_FACE: 2, State.FREE: 11}
    panel = drawn.hardware(resolve(closet, "1A-A").id)
    assert panel is not None
    assert (panel.patched, panel.ports) == (2, 6)
    assert drawn.rear.at(11).thing == drawn.front.at(10).thing


def test_the_watts_of_a_switch_are_those_of_headroom(closet: BinderFile) -> None:
    switch = of(closet, with_power=True).hardware(resolve(closet, "SW1").id)
    assert switch is not None
    assert switch.poe_budget_w == 370
    (told,) = [row for row in headroom(closet, today=TODAY).rows
               if row.resource == "PoE watts" and row.where.id == switch.id]  # fmt: skip
    assert told.used is not None
    assert switch.poe_used_w == pytest.approx(told.used)
    assert told.used > 0


class TestRefusals:
    """What the database refuses is told with the rack, what is in the way and what is free."""

    @pytest.mark.parametrize(
        ("place", "says"),
        [
            ({"u_position": 16, "height_u": 1},
             "U 16 of 1A-R1 front is taken by SW1 (U 16); free: 1-14, 17"),
            ({"u_position": 14, "height_u": 4},
             "U 15-16 of 1A-R1 front are taken by GW1 (U 15), SW1 (U 16); free for 4U: 1-14"),
            ({"u_position": 16, "height_u": 1, "face": "both"},
             "U 16 of 1A-R1 front is taken by SW1 (U 16); free: 1-14, 17"),
            ({"u_position": 19, "height_u": 1},
             "U 19 of 1A-R1 front does not exist: 1A-R1 is 18U high; free: 1-14, 17"),
            ({"u_position": 18, "height_u": 2, "face": "rear"},
             "U 18-19 of 1A-R1 rear does not exist: 1A-R1 is 18U high; free for 2U: 1-18"),
            ({"u_position": 2, "height_u": 20},
             "U 2-21 of 1A-R1 front does not exist: 1A-R1 is 18U high; "
             "no 20U in a row are free there"),
        ],
    )  # fmt: skip
    def test_adding(
        self, closet: BinderFile, add: Add, place: dict[str, object], says: str
    ) -> None:
        with pytest.raises(RequestError) as refused:
            add("hardware", identifier="X", form="server", rack="1A-R1", **place)
        assert str(refused.value) == says

    def test_units_that_are_reserved_are_not_told_as_free(
        self, closet: BinderFile, add: Add
    ) -> None:
        add("reservation", identifier="storage server", subject=resolve(closet, "1A-R1").id,
            resource="rack units", quantity=12, u_position=3)  # fmt: skip
        with pytest.raises(RequestError, match=r"free: 1-2, 17$"):
            add("hardware", identifier="X", form="server", rack="1A-R1", u_position=16, height_u=1)

    def test_moving_and_growing(self, closet: BinderFile, change: Callable[..., None]) -> None:
        with pytest.raises(RequestError, match=r"^U 16 of 1A-R1 front is taken by SW1 .*: 1-15,"):
            change("GW1", u_position=16)
        with pytest.raises(RequestError, match=r"^U 16 of .* is taken by SW1 .*for 2U: 1-15$"):
            change("GW1", height_u=2)
        assert read(closet, resolve(closet, "GW1").id)["height_u"] == 1

    def test_one_of_many_at_once(self, closet: BinderFile, editor: Editor) -> None:
        rack = resolve(closet, "1A-R1").id
        rows = [
            {"identifier": f"X{u}", "form": "blank", "rack": rack, "u_position": u, "height_u": 1}
            for u in (13, 14, 15)
        ]
        with pytest.raises(RequestError, match=r"^U 15 of 1A-R1 front is taken by GW1"):  # noqa: SIM117
            with editor.step("blanks") as step:
                step.add_many("hardware", rows)

    def test_undoing_into_units_taken_since(
        self, closet: BinderFile, editor: Editor, change: Callable[..., None], add: Add
    ) -> None:
        change("SW1", u_position=3)
        other = Editor(closet, "R. Adeyemi", clock=editor.clock)
        with other.step("a recorder") as step:
            place = {"rack": resolve(closet, "1A-R1").id, "u_position": 16, "height_u": 1}
            step.add("hardware", {"identifier": "REC1", "form": "recorder", **place})
        with pytest.raises(RequestError, match=r"^U 16 of 1A-R1 front is taken by REC1"):
            editor.undo()

    def test_a_rack_made_lower_than_what_stands_in_it(
        self, closet: BinderFile, change: Callable[..., None]
    ) -> None:
        says = r"^SW1 \(U 16\), 1A-A \(U 18\) stand above 15U in 1A-R1; move it first$"
        with pytest.raises(RequestError, match=says):
            change("1A-R1", height_u=15)
