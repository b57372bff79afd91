"""The one door for writing: all of a step or none of it, and nobody's change is overwritten."""

from __future__ import annotations

import json
from collections.abc import Callable, Iterator
from datetime import UTC, datetime
from typing import Any

import pytest

from binder.edit import Editor
from binder.errors import ConflictError, FaultsError, HangsOnError, RequestError
from binder.file import BinderFile, open_binder
from binder.intake.json_form import dump
from binder.read import read, resolve
from binder.step import Step
from binder.verify import verify

IdOf = Callable[[str], int]
Add = Callable[..., int]


def lines(binder: BinderFile, table: str) -> int:
    return int(binder.connection.execute(f"SELECT count(*) FROM {table}").fetchone()[0])


@pytest.fixture
def other(closet: BinderFile) -> Iterator[Editor]:
    """R. Adeyemi, at the same binder through a connection of their own."""
    with open_binder(closet.path, wait_s=0.05) as second:
        yield Editor(second, "R. Adeyemi")


class TestStep:
    def test_all_of_it_is_kept(self, closet: BinderFile, editor: Editor, id_of: IdOf) -> None:
        steps = lines(closet, "step")
        with editor.step("patch the spare outlet") as step:
            step.add("cord", {"port_a": id_of("1A-A:02"), "port_b": id_of("SW1:02")})
            step.change(id_of("SW1:02"), {"current_use": "spare desk"})
        assert lines(closet, "step") == steps + 1
        assert read(closet, id_of("SW1:02"))["current_use"] == "spare desk"
        assert resolve(closet, "C-0008").kind == "cord"

    def test_none_of_it_is_kept_when_something_fails(
        self, closet: BinderFile, editor: Editor, id_of: IdOf
    ) -> None:
        before = list(closet.connection.iterdump())
        for wrong in (
            lambda step: step.add("cord", {"port_a": id_of("1A-A:01"), "port_b": id_of("SW1:02")}),
            lambda step: step.add("port", {"hardware": 4711, "label": "99"}),
            lambda step: step.add("hardware", {"identifier": "X"}),
            lambda step: step.remove(id_of("1A-A")),
            lambda step: step.change(4711, {"notes": "x"}),
            lambda step: 1 / 0,
        ):
            with (  # noqa: PT012
                pytest.raises((RequestError, ZeroDivisionError)),
                editor.step("half of it") as step,
            ):
                step.add("building", {"identifier": "B2"})
                step.change(id_of("SW1"), {"identifier": "SW2"})
                wrong(step)
            assert list(closet.connection.iterdump()) == before
            assert verify(closet) == ()

    def test_a_step_that_changes_nothing_leaves_no_line(
        self, closet: BinderFile, editor: Editor, id_of: IdOf
    ) -> None:
        switch = read(closet, id_of("hardware SW1"))
        before = list(closet.connection.iterdump())
        with editor.step("nothing"):
            pass
        with editor.step("the same again") as step:
            step.change(switch.id, switch.values)
            step.change(switch.id, {"serial": f" {switch['serial']} ", "form": "SWITCH"})
            step.change(switch.id, {})
            step.add_many("cord", [])
        assert list(closet.connection.iterdump()) == before

    def test_a_line_says_when_who_and_for_which_log_entry(
        self, closet: BinderFile, editor: Editor, add: Add
    ) -> None:
        entry = add("log_entry", opened_at="2026-03-14T09:30:00Z", summary="call")
        with editor.step("patch", log_entry_id=entry) as step:
            step.add("building", {"identifier": "B2"})
        last = closet.connection.execute("SELECT * FROM step ORDER BY id DESC LIMIT 1").fetchone()
        assert dict(last) == {
            "id": last["id"], "at": "2026-03-14T09:40:00Z", "who": "M. Osei", "summary": "patch",
            "form": "edit", "of_step": None, "log_entry_id": entry,
        }  # fmt: skip

    def test_a_clock_of_another_zone_is_written_in_utc(self, binder: BinderFile) -> None:
        clock = datetime(2026, 3, 14, 9, 40, tzinfo=UTC).astimezone
        with Editor(binder, "M. Osei", clock=clock).step("add") as step:
            step.add("building", {"identifier": "B2"})
        at = binder.connection.execute("SELECT at FROM step ORDER BY id DESC").fetchone()[0]
        assert at == "2026-03-14T09:40:00Z"


class TestAdding:
    def test_every_fault_is_told_at_once(self, editor: Editor) -> None:
        values = {"identifier": "", "mac": "no", "colour": "red", "weight_kg": -1.0}
        with pytest.raises(FaultsError) as wrong, editor.step("add") as step:
            step.add("hardware", values)
        assert [fault.says.split(",")[0] for fault in wrong.value.faults] == [
            "Identifier is required",
            "Kind is required",
            "Weight is at least 0",
            "MAC is 12 hex digits",
            "Hardware has no field 'colour'",
        ]
        assert wrong.value.faults[3].given == "no"
        assert str(wrong.value).endswith("(and 4 more)")

    def test_faults_among_many_rows_say_which_row(self, editor: Editor) -> None:
        rows = [{"identifier": "B2"}, {"identifier": ""}, {"identifier": "B4"}]
        with (
            pytest.raises(FaultsError, match="Building 2: Identifier is required"),
            editor.step("add") as step,
        ):
            step.add_many("building", rows)

    def test_defaults_fill_what_is_not_given(self, binder: BinderFile, add: Add) -> None:
        client = read(binder, resolve(binder, "Quillmere Veterinary Clinic").id)
        assert client["identifier_scheme"] == "ANSI/TIA-606"
        assert client["status"] == "current"
        assert read(binder, add("building", identifier="B2"))["status"] == "installed"

    def test_a_name_is_taken_once_per_kind(self, closet: BinderFile, add: Add) -> None:
        with pytest.raises(RequestError, match="that name is taken; names of one kind differ"):
            add("hardware", identifier="sw1", form="switch")
        add("contact", identifier="SW1")

    def test_a_sentence_of_the_trade_and_not_of_the_database(
        self, closet: BinderFile, add: Add
    ) -> None:
        with pytest.raises(RequestError, match=r"^a port has at most one cord at its front; take"):
            add("cord", port_a="1A-A:01", port_b="SW1:02")
        with pytest.raises(RequestError, match=r"^U 16 of 1A-R1 front is taken by SW1"):
            add("hardware", identifier="X", form="blank", rack="1A-R1", u_position=16, height_u=1)
        with pytest.raises(RequestError, match=r"^the gateway must lie inside its subnet$"):
            add("subnet", identifier="x", cidr="192.0.2.0/26", gateway="192.0.2.64")

    def test_a_reference_to_the_wrong_kind(self, closet: BinderFile, id_of: IdOf, add: Add) -> None:
        with pytest.raises(RequestError, match="a record named here is not in the binder"):
            add("port", hardware=id_of("space 114"), label="1")


class TestSeries:
    def test_numbers_follow_the_highest(self, closet: BinderFile, add: Add) -> None:
        ends = [("1A-A:02", "SW1:02"), ("1A-A:04", "SW1:04"), ("1A-A:05", "SW1:05")]
        add("cord", port_a=ends[0][0], port_b=ends[0][1], identifier="C-0040")
        assert read(closet, add("cord", port_a=ends[1][0], port_b=ends[1][1])).name == "C-0041"
        assert read(closet, add("cord", port_a=ends[2][0], port_b=ends[2][1])).name == "C-0042"

    def test_a_fifth_digit_when_four_are_used_up(self, binder: BinderFile, add: Add) -> None:
        at = {"opened_at": "2026-03-14T09:40:00Z"}
        add("log_entry", identifier="L-9999", **at)
        assert read(binder, add("log_entry", **at)).name == "L-10000"
        assert read(binder, add("log_entry", **at)).name == "L-10001"

    @pytest.mark.parametrize(
        "name", ["L-", "L-12a", "L-12-3", "L-99999999999999999999", "LT-0700", "L-٣٣", "L 9"]
    )
    def test_names_that_are_no_numbers_do_not_count(
        self, binder: BinderFile, add: Add, name: str
    ) -> None:
        at = {"opened_at": "2026-03-14T09:40:00Z"}
        add("log_entry", identifier="l-0007", **at)
        add("log_entry", identifier=name, **at)
        assert read(binder, add("log_entry", **at)).name == "L-0008"

    def test_numbers_given_in_the_same_batch_are_not_given_again(
        self, binder: BinderFile, editor: Editor
    ) -> None:
        at = {"opened_at": "2026-03-14T09:40:00Z"}
        rows = [at, {"identifier": "l-0001", **at}, at, {"identifier": " L-0003 ", **at}]
        with editor.step("add") as step:
            ids = step.add_many("log_entry", rows)
        assert [read(binder, i).name for i in ids] == ["L-0004", "l-0001", "L-0005", "L-0003"]

    def test_a_number_is_not_taken_away(
        self, closet: BinderFile, editor: Editor, id_of: IdOf
    ) -> None:
        with (
            pytest.raises(FaultsError, match="Identifier names it and cannot be emptied"),
            editor.step("change") as step,
        ):
            step.change(id_of("C-0001"), {"identifier": " "})


class TestSeen:
    def test_a_change_made_meanwhile_is_not_overwritten(
        self, closet: BinderFile, editor: Editor, other: Editor, id_of: IdOf
    ) -> None:
        port = read(closet, id_of("SW1:02"))
        with other.step("theirs") as step:
            step.change(port.id, {"current_use": "scanner", "vlan": 30})
        before = dump(closet)
        with pytest.raises(ConflictError) as clash, editor.step("mine") as mine:
            mine.change(port.id, {"current_use": "camera", "label": "02b"}, seen=port.position)
        assert clash.value.mine == {"current_use": "camera"}
        assert clash.value.theirs == {"current_use": "scanner"}
        assert clash.value.who == "R. Adeyemi"
        assert str(clash.value) == (
            "SW1:02: R. Adeyemi changed current_use since you read it; look at both and choose"
        )
        assert dump(closet) == before

    def test_who_is_the_one_who_changed_that_field(
        self, closet: BinderFile, editor: Editor, other: Editor, id_of: IdOf
    ) -> None:
        port = read(closet, id_of("SW1:02"))
        with other.step("theirs") as step:
            step.change(port.id, {"current_use": "scanner"})
        with Editor(closet, "A third").step("another field, later") as step:
            step.change(port.id, {"vlan": 30})
        with (
            pytest.raises(ConflictError, match=r"R\. Adeyemi changed"),
            editor.step("mine") as step,
        ):
            step.change(port.id, {"current_use": "camera"}, seen=port.position)

    @pytest.mark.parametrize(
        "mine", [{"current_use": "scanner"}, {"label": "02b"}, {"notes": "by the door"}]
    )
    def test_other_fields_and_the_same_value_are_no_clash(
        self, closet: BinderFile, editor: Editor, other: Editor, id_of: IdOf, mine: dict[str, Any]
    ) -> None:
        port = read(closet, id_of("SW1:02"))
        with other.step("theirs") as step:
            step.change(port.id, {"current_use": "scanner"})
        with editor.step("mine") as step:
            step.change(port.id, mine, seen=port.position)
        now = read(closet, port.id)
        assert now.values == {**port.values, "current_use": "scanner", **mine}

    def test_a_record_removed_meanwhile(
        self, closet: BinderFile, editor: Editor, other: Editor, id_of: IdOf
    ) -> None:
        port = read(closet, id_of("SW1:02"))
        with other.step("theirs") as step:
            step.remove(port.id)
        with (
            pytest.raises(RequestError, match="not in the binder any more"),
            editor.step("mine") as step,
        ):
            step.change(port.id, {"vlan": 30}, seen=port.position)

    def test_one_who_writes_keeps_the_other_waiting(
        self, closet: BinderFile, editor: Editor, other: Editor
    ) -> None:
        with editor.step("mine") as step:
            step.add("building", {"identifier": "B2"})
            with pytest.raises(Exception, match="someone else is writing"), other.step("theirs"):
                pass
        with other.step("theirs") as step:
            step.add("building", {"identifier": "B3"})
        assert resolve(closet, "B3").kind == "building"


class TestRenaming:
    @pytest.mark.parametrize("name", ["CORE1", "sw1"])
    def test_what_is_named_after_a_record_follows_it(
        self, closet: BinderFile, editor: Editor, id_of: IdOf, name: str
    ) -> None:
        switch, port = id_of("hardware SW1"), id_of("SW1:03")
        with editor.step("rename") as step:
            step.change(switch, {"identifier": name})
        assert read(closet, port).name == f"{name}:03"
        assert verify(closet) == ()

    def test_two_swap_their_names(self, closet: BinderFile, editor: Editor, id_of: IdOf) -> None:
        one, two = id_of("hardware SW1"), id_of("hardware GW1")
        with editor.step("swap") as step:
            step.change(one, {"identifier": "between"})
            step.change(two, {"identifier": "SW1"})
            step.change(one, {"identifier": "GW1"})
        assert read(closet, two).name == "SW1"
        assert resolve(closet, "GW1:03").kind == "port"
        assert verify(closet) == ()


class TestRemoving:
    def test_what_hangs_on_it_is_told(
        self, closet: BinderFile, editor: Editor, id_of: IdOf
    ) -> None:
        before = dump(closet)
        with pytest.raises(HangsOnError) as hangs, editor.step("remove") as step:
            step.remove(id_of("ONT1"))
        assert [(d.kind, d.name, d.through) for d in hangs.value.dependents] == [
            ("port", "ONT1:1", "Hardware"),
            ("cord", "C-0004", "End B"),
        ]
        assert str(hangs.value) == (
            "ONT1 cannot go alone: port ONT1:1, cord C-0004 hang on it; "
            "remove it with its dependents, or move them first"
        )
        assert dump(closet) == before

    def test_it_goes_with_what_hangs_on_it(
        self, closet: BinderFile, editor: Editor, id_of: IdOf
    ) -> None:
        with editor.step("remove") as step:
            step.remove(id_of("ONT1"), with_dependents=True)
        for name in ("ONT1", "ONT1:1", "C-0004"):
            with pytest.raises(RequestError, match="is named"):
                resolve(closet, name)
        assert resolve(closet, "GW1:WAN1").kind == "port"  # the other end of the cord stays
        fibre = read(closet, id_of("circuit fibre"))
        assert fibre["handoff_port"] is None  # emptied, and not taken along
        assert fibre["carrier_equipment"] is None
        assert verify(closet) == ()

    def test_emptied_references_stand_in_the_change_log(
        self, closet: BinderFile, editor: Editor, id_of: IdOf
    ) -> None:
        fibre, port = id_of("circuit fibre"), id_of("ONT1:1")
        with editor.step("remove") as step:
            step.remove(port, with_dependents=True)
        logged = closet.connection.execute(
            "SELECT field, before, after FROM change WHERE record_id = ? ORDER BY position DESC",
            (fibre,),
        ).fetchone()
        assert tuple(logged) == ("handoff_port", port, None)

    def test_a_rack_is_emptied_before_it_goes(
        self, closet: BinderFile, editor: Editor, id_of: IdOf
    ) -> None:
        # A U position without a rack would mean nothing.
        says = r"1A-R1 cannot go alone: hardware 1A-A, hardware GW1, hardware SW1, cord C-0001 and"
        with pytest.raises(HangsOnError, match=says), editor.step("remove") as step:
            step.remove(id_of("1A-R1"))

    def test_records_that_hang_on_each_other(
        self, closet: BinderFile, editor: Editor, add: Add
    ) -> None:
        # A busbar's space, and a rack bonded to it in that space.
        busbar = add("busbar", identifier="1A-TGB", space="1A", form="secondary")
        rack = add("rack", identifier="1A-R2", space="1A", height_u=12, busbar=busbar)
        with editor.step("remove") as step:
            step.remove(busbar, with_dependents=True)
        assert not closet.connection.execute("SELECT 1 FROM rack WHERE id = ?", (rack,)).fetchone()
        assert verify(closet) == ()

    def test_the_client_stays(self, binder: BinderFile, editor: Editor) -> None:
        client = resolve(binder, "Quillmere Veterinary Clinic")
        with (
            pytest.raises(RequestError, match="exactly one client; change it instead"),
            editor.step("remove") as step,
        ):
            step.remove(client.id, with_dependents=True)

    def test_a_removed_id_is_gone(self, closet: BinderFile, editor: Editor, id_of: IdOf) -> None:
        port = id_of("SW1:02")
        with editor.step("remove") as step:
            step.remove(port)
        with (
            pytest.raises(RequestError, match="undo brings it back"),
            editor.step("remove") as step,
        ):
            step.remove(port)


def test_ids_are_exact_in_json(binder: BinderFile, editor: Editor) -> None:
    # RFC 8259, section 6: integers below 2^53 are read alike by all.
    with editor.step("add") as step:
        ids = step.add_many("building", [{"identifier": f"B{n}"} for n in range(2, 60)])
    assert all(0 < i < 2**53 for i in ids)
    assert len(set(ids)) == len(ids)
    assert max(ids) > 2**45  # random over the whole range
    assert json.loads(json.dumps(ids), parse_int=float) == ids


def test_a_step_is_made_by_the_editor(binder: BinderFile, editor: Editor) -> None:
    with editor.step("nothing") as step:
        assert isinstance(step, Step)
