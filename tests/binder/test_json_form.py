"""A binder as plain data: nothing is lost on the way out and in, and bad data changes nothing."""

from __future__ import annotations

import base64
import hashlib
import json
import tempfile
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given, settings

from binder.edit import Editor
from binder.errors import FaultsError, RequestError
from binder.file import BinderFile, create
from binder.history import recent
from binder.intake.json_form import dump, from_text, load, to_text
from binder.read import client, read, resolve
from binder.records.catalog import KINDS
from binder.verify import verify
from tests.binder.generated import PAYLOADS, base_binder, fresh_binder, plain_binders

Add = Callable[..., int]


def faults_of(binder: BinderFile, data: Any) -> list[str]:
    """The faults for which `data` is refused; the binder is as before."""
    before = list(binder.connection.iterdump())
    with pytest.raises(FaultsError) as refused:
        load(binder, data, "M. Osei")
    assert list(binder.connection.iterdump()) == before
    return [str(fault) for fault in refused.value.faults]


def form(**lists: Any) -> dict[str, Any]:
    return {"format": 1, **lists}


class TestThereAndBack:
    @given(plain_binders())
    @settings(max_examples=30, deadline=None)
    def test_dump_load_dump_gives_the_same_bytes(self, data: dict[str, Any]) -> None:
        with (
            tempfile.TemporaryDirectory() as folder,
            fresh_binder(Path(folder) / "one") as one,
            fresh_binder(Path(folder) / "two") as two,
        ):
            load(one, data, "M. Osei")
            text = to_text(dump(one))
            load(two, from_text(text), "R. Adeyemi")
            assert to_text(dump(two)) == text
            assert verify(two) == ()
            assert without_defaults(data) == without_defaults(json.loads(text))

    def test_the_demo_closet(self, closet: BinderFile, tmp_path: Path) -> None:
        text = to_text(dump(closet))
        with create(tmp_path / "two", "") as two:
            load(two, from_text(text), "R. Adeyemi")
            assert to_text(dump(two)) == text

    def test_every_kind_goes_there_and_back(self, tmp_path: Path) -> None:
        with create(tmp_path / "one", "") as one:
            load(one, base_binder(), "M. Osei")
            assert list(dump(one)) == ["format", *(kind.plural for kind in KINDS)]

    def test_the_order_depends_on_what_it_holds_only(self, tmp_path: Path) -> None:
        names = ["B10", "B9", "B1", "b2"]
        texts = []
        for order in (names, names[::-1]):
            with create(tmp_path / str(len(texts)), "") as binder:
                load(binder, form(buildings=[{"identifier": name} for name in order]), "M. Osei")
                texts.append(to_text(dump(binder)))
        assert texts[0] == texts[1]
        found = [building["identifier"] for building in json.loads(texts[0])["buildings"]]
        assert found == ["B1", "b2", "B9", "B10"]

    def test_contents_of_attachments(self, binder: BinderFile, tmp_path: Path) -> None:
        content = bytes(range(256))
        digest = hashlib.sha256(content).hexdigest()
        data = form(
            attachments=[{"identifier": "rack, front", "form": "photo", "sha256": digest}],
            contents={digest: base64.b64encode(content).decode()},
        )
        load(binder, data, "M. Osei")
        assert dump(binder)["contents"] == data["contents"]
        with create(tmp_path / "two", "") as two:
            load(two, from_text(to_text(dump(binder))), "M. Osei")
            kept = two.connection.execute("SELECT bytes FROM content").fetchone()[0]
            assert kept == content
            assert verify(two) == ()

    def test_contents_that_no_attachment_names_are_left_behind(
        self, binder: BinderFile, editor: Editor
    ) -> None:
        digest = hashlib.sha256(b"x").hexdigest()
        photo = {"identifier": "a", "form": "photo", "sha256": digest}
        load(binder, form(attachments=[photo], contents={digest: "eA=="}), "M. Osei")
        with editor.step("remove") as step:
            step.remove(resolve(binder, "a").id)
        assert "contents" not in dump(binder)

    def test_text_is_written_so_that_a_terminal_shows_it(
        self, binder: BinderFile, add: Add
    ) -> None:
        notes = "".join(PAYLOADS) + "\u2028\x7f\x85"
        add("building", identifier="B1", notes=notes)
        text = to_text(dump(binder))
        assert not set(text) & {chr(code) for code in (*range(9), *range(11, 32), *range(127, 160))}
        assert from_text(text)["buildings"][0]["notes"] == notes.rstrip()

    def test_an_emptied_default_stays_empty(self, binder: BinderFile, tmp_path: Path) -> None:
        sheet = client(binder)
        assert sheet is not None
        with Editor(binder, "M. Osei").step("empty") as step:
            step.change(sheet.id, {"identifier_scheme": None})
        assert dump(binder)["clients"][0]["identifier_scheme"] is None
        with create(tmp_path / "two", "") as two:
            load(two, dump(binder), "M. Osei")
            again = client(two)
            assert again is not None
            assert again["identifier_scheme"] is None


def without_defaults(data: dict[str, Any]) -> dict[str, list[str]]:
    """What records say beside their defaults and the numbers the program gives them."""
    told = {}
    for kind in KINDS:
        left_out = {field.name: field.default for field in kind.all_fields} | {"status": None}
        left_out["status"] = kind.field("status").default
        told[kind.plural] = sorted(
            json.dumps(
                {
                    name: value
                    for name, value in record.items()
                    if value != left_out[name] and not (kind.series and name == "identifier")
                },
                sort_keys=True,
            )
            for record in data.get(kind.plural, [])
        )
    return told


class TestLoading:
    def test_how_many_of_each(self, binder: BinderFile) -> None:
        counts = load(binder, base_binder(), "M. Osei")
        assert counts["ports"] == 8
        assert counts["clients"] == 1
        assert sum(counts.values()) == len(KINDS) * 2 - 1 + 6

    def test_it_is_one_step_of_one_person(self, binder: BinderFile) -> None:
        load(binder, form(buildings=[{"identifier": "B1"}, {"identifier": "B2"}]), "M. Osei")
        one, two = recent(binder, 2)
        assert one.step_id == two.step_id
        assert (one.who, one.summary) == ("M. Osei", "load 2 records")

    def test_the_order_of_lists_does_not_matter(self, binder: BinderFile) -> None:
        data = base_binder()
        turned = {key: data[key] for key in reversed(list(data))}
        load(binder, turned, "M. Osei")
        assert verify(binder) == ()

    def test_the_clients_sheet_takes_the_place_of_the_one_that_is_there(
        self, binder: BinderFile
    ) -> None:
        data = form(clients=[{"identifier": "Harrow Dental", "keeper": "R. Adeyemi"}])
        assert load(binder, data, "M. Osei") == {"clients": 1}
        sheet = client(binder)
        assert sheet is not None
        assert (sheet.name, sheet["keeper"]) == ("Harrow Dental", "R. Adeyemi")
        assert sheet["unit_system"] == "us"  # absent is the default

    def test_references_to_what_is_in_the_binder_already(self, closet: BinderFile) -> None:
        data = form(
            cords=[{"port_a": "1a-a:02", "port_b": " SW1:02 "}],
            touches=[{"log_entry": "L-0001", "subject": {"hardware": "sw1"}}],
            log_entries=[{"opened_at": "2026-03-14T09:40:00Z"}],
        )
        load(closet, data, "M. Osei")
        assert read(closet, resolve(closet, "C-0008").id)["port_a"] == resolve(closet, "1A-A:02").id

    def test_numbers_follow_those_in_the_binder_and_those_given(self, closet: BinderFile) -> None:
        at = {"opened_at": "2026-03-14T09:40:00Z"}
        load(closet, form(log_entries=[at, {"identifier": "l-9999", **at}, at]), "M. Osei")
        names = {record["identifier"] for record in dump(closet)["log_entries"]}
        assert names == {"l-9999", "L-10000", "L-10001"}
        load(closet, form(log_entries=[at]), "M. Osei")
        assert resolve(closet, "L-10002").kind == "log_entry"

    def test_an_address_is_referred_to_in_any_form(self, binder: BinderFile) -> None:
        data = form(
            addresses=[{"ip": "2001:0DB8:0::1", "assigned": "fixed", "mac": "00:00:5e:00:53:01"}],
            known_issues=[{"identifier": "x", "subject": {"address": "2001:db8::1"}}],
        )
        load(binder, data, "M. Osei")
        assert dump(binder)["addresses"][0] == {"ip": "2001:db8::1", "mac": "00-00-5E-00-53-01",
                                                "assigned": "fixed"}  # fmt: skip

    def test_progress_reaches_the_total(self, binder: BinderFile) -> None:
        told: list[tuple[int, int]] = []
        buildings = [{"identifier": f"B{number}"} for number in range(2500)]
        data = form(buildings=buildings, contacts=[{"identifier": "Priya"}])
        load(binder, data, "M. Osei", progress=lambda done, total: told.append((done, total)))
        assert told[-1] == (2501, 2501)
        assert [done for done, _ in told] == sorted(done for done, _ in told)
        assert len(told) >= 3

    def test_nothing_to_load(self, binder: BinderFile) -> None:
        before = list(binder.connection.iterdump())
        assert load(binder, form(buildings=[]), "M. Osei") == {}
        assert list(binder.connection.iterdump()) == before


BUILDING = {"identifier": "B1"}
SPACE = {"identifier": "1A", "building": "B1", "form": "room"}
SWITCH = {"identifier": "SW1", "form": "switch"}


class TestFaults:
    """Each is told with its list, index and field, what was given, and what is accepted."""

    @pytest.mark.parametrize(
        ("lists", "fault"),
        [
            (
                {"buildings": [BUILDING, {"name": "Annex"}]},
                "buildings[1].identifier: Identifier is required, like B1",
            ),
            (
                {"spaces": [SPACE]},
                "spaces[0].building: no building of that name (given: B1)",
            ),
            (
                {"buildings": [BUILDING], "spaces": [{"identifier": "1A", "form": "room"}]},
                "spaces[0].building: Building is required, like B1",
            ),
            (
                {"hardware": [{**SWITCH, "weight_kg": "heavy"}]},
                "hardware[0].weight_kg: Weight is a number, like 4.1 (given: heavy)",
            ),
            (
                {"hardware": [{**SWITCH, "weight_kg": True}]},
                "hardware[0].weight_kg: Weight is a number, like 4.1 (given: True)",
            ),
            (
                {"hardware": [{**SWITCH, "price": 1.234}]},
                "hardware[0].price: Price has at most two decimals, like 1,200.00 or 120 "
                "(given: 1.234)",
            ),
            (
                {"hardware": [{**SWITCH, "price": "12"}]},
                "hardware[0].price: Price is an amount of money, like 120.00 (given: 12)",
            ),
            (
                {"hardware": [{**SWITCH, "approved": "yes"}]},
                "hardware[0].approved: Approved is yes or no (given: yes)",
            ),
            (
                {"hardware": [{**SWITCH, "installed_on": "14/03/2026"}]},
                "hardware[0].installed_on: Installed on is a date like 2026-03-14 "
                "(given: 14/03/2026)",
            ),
            (
                {"hardware": [SWITCH, {**SWITCH, "identifier": "sw1"}]},
                "hardware[1].identifier: that name is taken (given: sw1)",
            ),
            (
                {"hardware": [SWITCH], "ports": [{"hardware": 7, "label": "1"}]},
                "ports[0].hardware: a hardware is named by text (given: 7)",
            ),
            (
                {"known_issues": [{"identifier": "x", "subject": "SW1"}]},
                'known_issues[0].subject: a record of any kind is named like {"hardware": "SW1"} '
                "(given: SW1)",
            ),
            (
                {"known_issues": [{"identifier": "x", "subject": {"gizmo": "SW1"}}]},
                "known_issues[0].subject: no record kind 'gizmo' (given: {'gizmo': 'SW1'})",
            ),
            (
                {"known_issues": [{"identifier": "x", "subject": {"hardware": "SW9"}}]},
                "known_issues[0].subject: no hardware of that name (given: {'hardware': 'SW9'})",
            ),
            ({"buildings": ["B1"]}, "buildings[0]: an object of fields is expected (given: B1)"),
            ({"buildings": {"B1": {}}}, "buildings: a list of records is expected (given: dict)"),
            ({"contents": []}, "contents: an object of base64 text by SHA-256 is expected"),
            ({"contents": {"ab": "?"}}, "contents.ab: base64 text is expected"),
            ({"contents": {"ab": 7}}, "contents.ab: base64 text is expected"),
            ({"contents": {"ab": "eA=="}}, "contents.ab: the bytes have another SHA-256"),
        ],
    )
    def test_what_and_where(self, binder: BinderFile, lists: dict[str, Any], fault: str) -> None:
        assert faults_of(binder, form(**lists)) == [fault]

    @pytest.mark.parametrize(
        ("key", "says"),
        [("gizmos", "gizmos: no record kind; there are: clients, contacts, keys")],
    )
    def test_unknown_lists(self, binder: BinderFile, key: str, says: str) -> None:
        assert faults_of(binder, form(**{key: []}))[0].startswith(says)

    def test_a_misspelt_list_hides_nothing_else_that_is_wrong(self, binder: BinderFile) -> None:
        lists = {
            "bulidings": [{**BUILDING, "colour": "red"}],
            "space": [{"identifier": "1A", "building": "B1", "form": "den"}],
        }
        told = [fault.partition(";")[0] for fault in faults_of(binder, form(**lists))]
        assert told[:3] == [
            "bulidings: no record kind",
            "space: no record kind",
            "buildings[0].colour: no such field",
        ]
        assert len(told) == 4
        assert told[3].startswith("spaces[0].form: ")

    def test_unknown_fields(self, binder: BinderFile) -> None:
        (fault,) = faults_of(binder, form(buildings=[{**BUILDING, "colour": "red"}]))
        assert fault.startswith("buildings[0].colour: no such field; there are: identifier, name,")

    def test_a_name_that_is_in_the_binder_already(self, closet: BinderFile) -> None:
        (fault,) = faults_of(closet, form(hardware=[SWITCH]))
        assert fault == "hardware[0].identifier: that name is taken (given: SW1)"

    @pytest.mark.parametrize(
        ("lists", "fault"),
        [
            (
                {"cords": [{"port_a": "1A-A:02", "port_b": "SW1:02"},
                           {"port_a": "1A-A:02", "port_b": "SW1:04"}]},
                "cords[1]: a port has at most one cord at its front; take the other one out first",
            ),
            (
                {"subnets": [{"identifier": "guest", "cidr": "203.0.113.0/24",
                              "gateway": "192.0.2.1"}]},
                "subnets[0]: the gateway must lie inside its subnet",
            ),
            (
                {"hardware": [{"identifier": "X", "form": "blank", "rack": "1A-R1",
                               "u_position": 16, "height_u": 1}]},
                "hardware[0]: U 16 of 1A-R1 front is taken by SW1 (U 16); free: 1-14, 17",
            ),
            (
                {"clients": [{"identifier": "Harrow"}, {"identifier": "Quillmere"}]},
                "clients[1]: a binder holds exactly one",
            ),
        ],
    )  # fmt: skip
    def test_what_the_database_refuses(
        self, closet: BinderFile, lists: dict[str, Any], fault: str
    ) -> None:
        assert faults_of(closet, form(**lists)) == [fault]

    def test_two_clients_in_a_binder_without_one(self, tmp_path: Path) -> None:
        with create(tmp_path / "new", "") as binder:
            data = form(clients=[{"identifier": "Harrow"}, {"identifier": "Quillmere"}])
            assert faults_of(binder, data) == ["clients[1]: a binder holds exactly one client"]

    def test_all_of_them_are_told(self, binder: BinderFile) -> None:
        data = form(
            buildings=[{"identifier": " "}, {"identifier": "B2", "notes": 7}],
            spaces=[{"identifier": "1A", "building": "B9", "form": "cave"}],
        )
        told = faults_of(binder, data)
        assert [fault.split(":")[0] for fault in told] == [
            "buildings[0].identifier",
            "buildings[1].notes",
            "spaces[0].form",
            "spaces[0].building",
        ]

    def test_a_fault_does_not_cause_others(self, binder: BinderFile) -> None:
        # What refers to a faulty record is not told as a fault of its own.
        data = form(
            hardware=[{**SWITCH, "form": "gizmo"}], ports=[{"hardware": "SW1", "label": "1"}]
        )
        assert len(faults_of(binder, data)) == 1

    def test_what_is_given_is_cut_short(self, binder: BinderFile) -> None:
        (fault,) = faults_of(binder, form(buildings=["x" * 5000]))
        assert len(fault) < 200

    @pytest.mark.parametrize(
        ("data", "says"),
        [
            ([], "one object of lists"),
            ("x", "one object of lists"),
            (None, "one object of lists"),
            ({}, "'format' is None; this program reads format 1"),
            ({"format": 2}, "'format' is 2; this program reads format 1"),
            ({"format": "1"}, "'format' is '1'"),
        ],
    )
    def test_no_binder_at_all(self, binder: BinderFile, data: Any, says: str) -> None:
        with pytest.raises(RequestError, match=says):
            load(binder, data, "M. Osei")


class TestReadingText:
    @pytest.mark.parametrize(
        ("text", "says"),
        [
            ("", "not JSON at line 1, column 1"),
            ('{"format": 1,\n "buildings": [}', "not JSON at line 2, column 16"),
            ('{"format": 1} x', "not JSON at line 1, column 15"),
            ('{"ports": [], "ports": []}', "'ports' stands twice"),
            ('{"ports": [{"label": "1", "label": "2"}]}', "'label' stands twice"),
            ('{"x": NaN}', "NaN is no number"),
            ('{"x": -Infinity}', "-Infinity is no number"),
            ("[" * 200_000, "nested too deep"),
        ],
    )
    def test_what_is_no_json(self, text: str, says: str) -> None:
        # RFC 8259: section 4 (names should be unique), section 6 (no NaN, no Infinity).
        with pytest.raises(RequestError, match=says):
            from_text(text)

    def test_what_is(self) -> None:
        assert from_text('{"format": 1, "ports": [{"label": "\\u00e9"}]}') == form(
            ports=[{"label": "é"}]
        )
