"""The change log gives the binder as it stood at any place in it.

Property: after any edits, turning back to a place gives what a dump gave there.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from binder.as_of import as_of
from binder.edit import Editor
from binder.errors import BinderError, RequestError
from binder.file import BinderFile
from binder.history import position
from binder.intake.json_form import dump
from binder.read import read

# What one may do to the closet, by the names of what it is done to.
ACTS = st.lists(
    st.one_of(
        st.tuples(st.just("change"), st.sampled_from(["SW1:01", "SW1:03", "1A-A:02"]),
                  st.integers(1, 4094)),
        st.tuples(st.just("add"), st.sampled_from(["SW7", "SW8", "SW9"]), st.just(0)),
        st.tuples(st.just("remove"), st.sampled_from(["SW7", "SW8", "121-1", "PH1", "SW1"]),
                  st.just(0)),
        st.tuples(st.just("move"), st.sampled_from(["SW1", "GW1"]), st.integers(1, 18)),
        st.tuples(st.just("rename"), st.sampled_from(["SW1", "SW7", "PH1"]), st.integers(1, 3)),
        st.tuples(st.sampled_from(["undo", "redo"]), st.just(""), st.just(0)),
    ),
    max_size=8,
)  # fmt: skip


def act(binder: BinderFile, editor: Editor, what: str, name: str, number: int) -> None:
    from binder.read import resolve

    if what in ("undo", "redo"):
        editor.undo() if what == "undo" else editor.redo()
        return
    with editor.step(what) as step:
        if what == "add":
            step.add("hardware", {"identifier": name, "form": "switch"})
        elif what == "remove":
            step.remove(resolve(binder, name).id, with_dependents=True)
        elif what == "move":
            step.change(resolve(binder, name).id, {"u_position": number})
        elif what == "rename":
            step.change(resolve(binder, name).id, {"identifier": f"{name}-{number}"})
        else:
            step.change(resolve(binder, name).id, {"vlan": number})


@settings(
    max_examples=25, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture]
)
@given(before=ACTS, after=ACTS)
def test_turned_back_the_binder_is_as_it_was(
    closet: BinderFile, editor: Editor, before: list[Any], after: list[Any]
) -> None:
    def do(acts: list[Any]) -> None:
        for one in acts:
            try:
                act(closet, editor, *one)
            except BinderError:  # a U that is taken, a name that is gone: nothing was changed
                continue

    do(before)
    stood, place = dump(closet), position(closet)
    do(after)
    with as_of(closet, place) as then:
        assert dump(then) == stood
        ends = "SELECT * FROM cord_end ORDER BY port_id"
        assert position(then) == place
        names = "SELECT id, kind, name, position FROM record ORDER BY id"
        rows = then.connection.execute(names).fetchall()
        assert all(row["position"] <= place for row in rows)
        assert len(then.connection.execute(ends).fetchall()) % 2 == 0


def test_fields_that_a_rule_needs_together_are_turned_back_together(
    closet: BinderFile, editor: Editor, add: Callable[..., int]
) -> None:
    call = add("log_entry", summary="phone dead", opened_at="2026-03-01T10:00:00Z",
               closed_at="2026-03-01T11:00:00Z")  # fmt: skip
    stood, place = dump(closet), position(closet)
    with editor.step("a month later, and two cables read from the other end") as step:
        step.change(
            call, {"opened_at": "2026-04-01T10:00:00Z", "closed_at": "2026-04-01T11:00:00Z"}
        )
        for kind in ("cord", "link"):
            row = closet.connection.execute(
                f"SELECT id, port_a_id, port_b_id FROM {kind}"
            ).fetchone()
            step.change(row[0], {"port_a": row[2], "port_b": row[1]})
    with as_of(closet, place) as then:
        assert dump(then) == stood


def test_the_binder_itself_is_left_as_it_is(
    closet: BinderFile, id_of: Callable[[str], int], change: Callable[..., None]
) -> None:
    place = position(closet)
    change("SW1:01", vlan=4000)
    with as_of(closet, place) as then:
        assert read(then, id_of("SW1:01"))["vlan"] != 4000
    assert read(closet, id_of("SW1:01"))["vlan"] == 4000


def test_there_is_no_place_to_come(closet: BinderFile) -> None:
    with pytest.raises(RequestError, match="there is no place"), as_of(closet, 10**9):
        pass
