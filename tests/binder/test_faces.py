"""Faces: which port is where. Numbering on faces is common practice, no published source."""

from __future__ import annotations

from collections.abc import Callable

import pytest
from hypothesis import given
from hypothesis import strategies as st

from binder import patching
from binder.edit import Editor
from binder.errors import RequestError
from binder.faces import Arrangement, Face, FacePort, beside, face, others, placed, usual
from binder.file import BinderFile
from binder.read import read, resolve
from binder.records.kinds.cabling import CONNECTORS
from tests.conftest import Add

Change = Callable[..., None]
TODAY = "2026-03-14"


def a_port(number: int, label: str, position: int | None, connector: str = "8P8C") -> FacePort:
    return FacePort(
        number, 0, f"X:{label}", label, position, connector, "edge", None, "none", None, "", "",
        "good", "", "", "", "installed",
    )  # fmt: skip


def rows_of(form: str, count: int, sfp: int = 0) -> list[list[str]]:
    """The labels of a face as one reads them: row by row, bay after bay."""
    ports = [a_port(n, f"{n:02}", n) for n in range(1, count + 1)]
    ports += [a_port(n, f"{n:02}", n, "SFP") for n in range(count + 1, count + sfp + 1)]
    labels = {port.id: port.label for port in ports}
    rows: dict[int, list[tuple[int, int, str]]] = {}
    for where in placed(form, ports, usual(form, ports)):
        here = (where.bay, where.column, labels[where.port_id])
        rows.setdefault(where.row, []).append(here)
    return [[label for _, _, label in sorted(row)] for _, row in sorted(rows.items())]


def face_of(binder: BinderFile, name: str) -> Face:
    return face(binder, resolve(binder, name, "hardware").id)


def port_of(binder: BinderFile, name: str) -> FacePort:
    found = face_of(binder, name.partition(":")[0]).port(resolve(binder, name, "port").id)
    assert found is not None
    return found


# Where the ports are. --------------------------------------------------------------------------


def test_a_panel_of_24_has_one_row_in_order() -> None:
    assert rows_of("patch panel", 24) == [[f"{n:02}" for n in range(1, 25)]]


def test_a_panel_of_48_has_25_under_1() -> None:
    upper, lower = rows_of("patch panel", 48)
    assert (upper[0], upper[-1], lower[0], lower[-1]) == ("01", "24", "25", "48")


def test_a_switch_of_24_and_4_has_odd_over_even_and_what_is_pluggable_at_the_right() -> None:
    upper, lower = rows_of("switch", 24, 4)
    assert upper == [f"{n:02}" for n in range(1, 28, 2)]
    assert lower == [f"{n:02}" for n in range(2, 29, 2)]


def test_a_small_switch_has_one_row() -> None:
    assert rows_of("switch", 8, 2) == [[f"{n:02}" for n in range(1, 11)]]


def test_ports_not_documented_leave_their_places_empty() -> None:
    ports = [a_port(n, f"{n:02}", n) for n in (1, 2, 6, 24)]
    where = {one.port_id: (one.row, one.column)
             for one in placed("switch", ports, usual("switch", ports))}  # fmt: skip
    assert where == {1: (0, 0), 2: (1, 0), 6: (1, 2), 24: (1, 11)}


def test_what_is_told_of_rows_and_order_counts_before_habit() -> None:
    ports = [a_port(n, str(n), n) for n in range(1, 9)]
    assert usual("switch", ports, 2, None) == Arrangement(2, "odd over even")
    assert usual("switch", ports, 2, "in order") == Arrangement(2, "in order")
    assert usual("patch panel", ports, 2, "odd over even") == Arrangement(2, "odd over even")


@given(
    form=st.sampled_from(("switch", "patch panel", "gateway", "outlet")),
    ports=st.lists(
        st.tuples(
            st.text(max_size=8),
            st.none() | st.integers(1, 10**6),
            st.sampled_from(CONNECTORS.split(", ")),
        ),
        min_size=1,
        max_size=96,
    ),
    rows=st.none() | st.integers(1, 4),
    order=st.none() | st.sampled_from(("in order", "odd over even")),
)
def test_every_port_has_one_place_and_no_other_port_is_there(
    form: str, ports: list[tuple[str, int | None, str]], rows: int | None, order: str | None
) -> None:
    made = [a_port(n, *facts) for n, facts in enumerate(ports)]
    for arrangement in (usual(form, made, rows, order), *others(len(made))):
        where = list(placed(form, made, arrangement))
        assert sorted(one.port_id for one in where) == list(range(len(made)))
        assert len({(one.bay, one.row, one.column) for one in where}) == len(made)
        assert all(0 <= one.row < arrangement.rows for one in where)


# How they stand. -------------------------------------------------------------------------------


def test_a_patched_port_is_used_and_tells_where_it_leads(closet: BinderFile) -> None:
    port = port_of(closet, "1A-A:01")
    assert port.state == "used"
    assert port.cord is not None
    assert port.link is not None
    assert (port.cord.far_name, port.link.far_name) == ("SW1:01", "114-1:A")
    assert port.link.last_test == "2026-02-02 pass"
    ends = {end.port_name: (end.vlan, end.poe_type) for end in port.reached}
    assert ends == {"SW1:01": (20, "2"), "PH1:1": (None, "none")}


def test_the_jack_in_the_room_is_told_on_the_way(closet: BinderFile) -> None:
    assert [end.port_name for end in port_of(closet, "SW1:01").reached] == ["114-1:A", "PH1:1"]


def test_a_way_that_ends_at_a_jack_tells_it(closet: BinderFile, add: Add) -> None:
    add("cord", port_a="1A-A:02", port_b="SW1:02")
    assert [end.port_name for end in port_of(closet, "SW1:02").reached] == ["114-1:B"]


def test_the_states_of_a_panel(closet: BinderFile, change: Change) -> None:
    change("1A-A:03", condition="bad", condition_reason="bent contact, pin 4")
    change("1A-A:05", status="planned")
    change("1A-A:06", reserved_for="door controller")
    states = [port.state for port in face_of(closet, "1A-A").ports]
    assert states == ["used", "spare", "bad", "unterminated", "planned", "reserved"]
    assert port_of(closet, "1A-A:03").why == "bent contact, pin 4"


def test_a_switch_port_with_no_cable_is_spare_and_not_unterminated(closet: BinderFile) -> None:
    assert port_of(closet, "SW1:05").state == "spare"


def test_a_port_with_a_use_written_beside_it_is_not_called_spare(
    closet: BinderFile, change: Change
) -> None:
    change("SW1:05", current_use="fire alarm communicator")
    assert port_of(closet, "SW1:05").state == "used"


def test_a_port_before_an_abandoned_link_is_not_to_be_used(
    closet: BinderFile, change: Change
) -> None:
    change("link 1A-A02", status="abandoned")
    assert port_of(closet, "1A-A:02").state == "bad"
    assert "1A-A02" in port_of(closet, "1A-A:02").why


def test_every_port_is_counted_once(closet: BinderFile) -> None:
    assert face_of(closet, "SW1").counts() == {
        "used": 3, "spare": 6, "reserved": 0, "planned": 0, "bad": 0, "unterminated": 0
    }  # fmt: skip


def test_faces_of_a_rack_are_told_from_the_top(closet: BinderFile) -> None:
    rack = [(one.name, one.ports) for one in beside(closet, resolve(closet, "SW1").id)]
    assert rack == [("1A-A", 6), ("SW1", 9), ("GW1", 3)]


def test_hardware_with_one_port_at_no_rack_has_what_is_in_its_room(closet: BinderFile) -> None:
    near = [one.name for one in beside(closet, resolve(closet, "PH1").id)]
    assert near == ["114-1", "PH1"]


def test_hardware_that_is_gone_has_no_face(closet: BinderFile) -> None:
    with pytest.raises(RequestError, match="undo brings it back"):
        face(closet, 1)


# What is done there. ---------------------------------------------------------------------------


def test_a_cord_is_one_record_with_the_next_number(closet: BinderFile, editor: Editor) -> None:
    near, far = port_of(closet, "1A-A:02"), port_of(closet, "SW1:02")
    cord = patching.plug_in(editor, near, far, editor.clock().date())
    assert (cord.name, cord["cable"], cord["installed_on"]) == ("C-0008", "4-pair", TODAY)
    assert port_of(closet, "SW1:02").state == "used"


def test_a_taken_port_is_refused_with_what_is_in_it(closet: BinderFile, editor: Editor) -> None:
    with pytest.raises(RequestError, match=r"SW1:01 is taken: cord C-0001 to 1A-A:01"):
        patching.plug_in(
            editor, port_of(closet, "1A-A:02"), port_of(closet, "SW1:01"), editor.clock().date()
        )


def test_what_speaks_against_a_cord_is_told(closet: BinderFile, change: Change) -> None:
    change("SW1:02", condition="bad", condition_reason="no link light")
    change("1A-A:04", reserved_for="door controller")
    change("SW1:05", connector="LC")
    near = port_of(closet, "1A-A:04")
    assert patching.doubts(near, port_of(closet, "SW1:02")) == (
        "1A-A:04 is reserved for door controller.",
        "1A-A:04 is unterminated: no link behind it.",
        "SW1:02 is bad: no link light.",
    )
    fibre = patching.doubts(port_of(closet, "1A-A:02"), port_of(closet, "SW1:05"))
    assert fibre == ("1A-A:02 is 8P8C and SW1:05 is LC: no plain cord fits both.",)


def test_a_fibre_cord_is_of_the_fibre_behind_the_panel(
    closet: BinderFile, add: Add, change: Change, editor: Editor
) -> None:
    change("1A-A:05", connector="LC")
    change("SW1:05", connector="LC")
    add("link", identifier="F1", port_a="1A-A:05", cable="singlemode fibre")
    near, far = port_of(closet, "1A-A:05"), port_of(closet, "SW1:05")
    assert patching.plug_in(editor, near, far, editor.clock().date())["cable"] == "singlemode fibre"


def test_unplugging_frees_both_ports_and_the_log_still_names_the_cord(
    closet: BinderFile, add: Add, editor: Editor
) -> None:
    entry = add("log_entry", opened_at="2026-03-14T09:00:00Z", summary="phone moved", form="visit")
    cord = resolve(closet, "C-0001").id
    add("touch", log_entry=entry, subject=cord)
    port = port_of(closet, "SW1:01")
    assert port.cord is not None
    patching.unplug(editor, port.cord)
    assert port_of(closet, "SW1:01").state == port_of(closet, "1A-A:01").state == "spare"
    assert read(closet, cord).name == "C-0001"
    editor.undo()
    assert port_of(closet, "SW1:01").state == "used"


def test_a_port_is_set_aside_marked_bad_and_good_again(closet: BinderFile, editor: Editor) -> None:
    today = editor.clock().date()
    patching.set_aside(editor, port_of(closet, "SW1:05"), "camera 12")
    assert port_of(closet, "SW1:05").state == "reserved"
    patching.mark_bad(editor, port_of(closet, "SW1:05"), "no link light", today)
    bad = port_of(closet, "SW1:05")
    assert (bad.state, bad.why, bad.condition_on) == ("bad", "no link light", TODAY)
    patching.mark_good(editor, bad, today)
    patching.set_aside(editor, port_of(closet, "SW1:05"), "")
    assert port_of(closet, "SW1:05").state == "spare"
