"""Records are read as stored, and found by the names people use."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest

from binder.edit import Editor
from binder.errors import RequestError
from binder.file import BinderFile, create
from binder.read import (
    Named,
    client,
    kind_of,
    names,
    read,
    read_where,
    reference_names,
    resolve,
    unit_system,
)
from binder.records.catalog import BY_NAME

IdOf = Callable[[str], int]
Add = Callable[..., int]


class TestRead:
    def test_values_by_field_name_as_stored(self, closet: BinderFile, id_of: IdOf) -> None:
        port = read(closet, id_of("SW1:02"))
        assert (port.kind.name, port.name) == ("port", "SW1:02")
        assert port["label"] == "02"
        assert port["vlan"] == 20
        assert port["hardware"] == id_of("hardware SW1")
        assert port["current_use"] is None
        assert list(port.values) == [field.name for field in port.kind.all_fields]

    def test_position_is_that_of_the_last_change(
        self, closet: BinderFile, editor: Editor, id_of: IdOf
    ) -> None:
        before = read(closet, id_of("SW1:02"))
        with editor.step("change") as step:
            step.change(before.id, {"vlan": 30})
        now = read(closet, before.id)
        last = closet.connection.execute("SELECT max(position) FROM change").fetchone()[0]
        assert now.position == last > before.position

    def test_a_record_that_is_gone(self, closet: BinderFile, editor: Editor, id_of: IdOf) -> None:
        port = id_of("SW1:02")
        with editor.step("remove") as step:
            step.remove(port)
        assert kind_of(closet, port) is None
        with pytest.raises(RequestError, match="not in the binder any more; undo brings it back"):
            read(closet, port)

    def test_those_for_which_something_holds(self, closet: BinderFile) -> None:
        phones = read_where(closet, BY_NAME["hardware"], "t.form = ?", ("outlet",))
        assert [record.name for record in phones] == ["114-1", "121-1"]
        last = read_where(closet, BY_NAME["space"], "r.name LIKE '1%'", order_by="r.name DESC")
        assert [record.name for record in last] == ["1E", "1A", "121", "114"]

    def test_names_of_what_is_referred_to(self, closet: BinderFile, id_of: IdOf) -> None:
        cords = read_where(closet, BY_NAME["cord"], "r.name = 'C-0001'")
        found = reference_names(closet, cords)
        assert {named.name for named in found.values()} == {"1A-A:01", "SW1:01"}
        assert found[id_of("SW1:01")] == Named(id_of("SW1:01"), "port", "SW1:01")

    def test_names_of_more_than_a_statement_takes(self, binder: BinderFile, editor: Editor) -> None:
        with editor.step("add") as step:
            ids = step.add_many("building", [{"identifier": f"B{n}"} for n in range(1200)])
        found = names(binder, [*ids, 4711])
        assert len(found) == 1200
        assert found[ids[-1]].name == "B1199"

    def test_the_client_and_their_units(self, binder: BinderFile, tmp_path: Path) -> None:
        sheet = client(binder)
        assert sheet is not None
        assert sheet.name == "Quillmere Veterinary Clinic"
        assert unit_system(binder) == "metric"
        with create(tmp_path / "nameless", "") as nameless:
            assert client(nameless) is None
            assert unit_system(nameless) == "us"


class TestResolve:
    @pytest.mark.parametrize(
        ("text", "kind", "name"),
        [
            ("SW1:03", "port", "SW1:03"),
            ("sw1:03", "port", "SW1:03"),
            ("  SW1:03 ", "port", "SW1:03"),
            ("hardware SW1", "hardware", "SW1"),
            ("hardware:sw1", "hardware", "SW1"),
            ("Hardware SW1", "hardware", "SW1"),
            ("port SW1:03", "port", "SW1:03"),
            ("account SW1 / admin", "account", "SW1 / admin"),
            ("192.0.2.20", "address", "192.0.2.20"),
            ("fibre", "circuit", "fibre"),
        ],
    )
    def test_any_way_of_saying_it(
        self, closet: BinderFile, text: str, kind: str, name: str
    ) -> None:
        found = resolve(closet, text)
        assert (found.kind, found.name) == (kind, name)

    def test_a_kind_of_two_words(self, closet: BinderFile, add: Add) -> None:
        entry = add("log_entry", opened_at="2026-03-14T09:40:00Z")
        for text in ("log entry L-0001", "log-entry L-0001", "log_entry:L-0001"):
            assert resolve(closet, text).id == entry

    def test_among_one_kind(self, closet: BinderFile, add: Add) -> None:
        add("contact", identifier="SW1")
        assert resolve(closet, "SW1", "contact").kind == "contact"
        assert resolve(closet, "SW1", "hardware").kind == "hardware"
        with pytest.raises(RequestError, match="no circuit is named 'SW1'"):
            resolve(closet, "SW1", "circuit")

    def test_a_name_of_two_things(self, closet: BinderFile, add: Add) -> None:
        add("contact", identifier="SW1")
        with pytest.raises(RequestError, match=r"'SW1' names 2 records: .*'hardware SW1'") as said:
            resolve(closet, "SW1")
        assert "'contact SW1'" in str(said.value)
        assert str(said.value).endswith("say which")

    def test_a_thing_comes_before_a_paper_of_its_name(self, closet: BinderFile, add: Add) -> None:
        add("warranty", identifier="SW1", form="maker", start_event="delivery")
        assert resolve(closet, "SW1").kind == "hardware"
        assert resolve(closet, "warranty SW1").kind == "warranty"

    def test_nearly_a_name(self, closet: BinderFile) -> None:
        with pytest.raises(RequestError, match=r"no record is named '1A-'; is it 1A-A, 1A-R1, "):
            resolve(closet, "1A-")

    def test_where_there_is_none_of_its_kind_it_is_to_be_added_first(
        self, closet: BinderFile
    ) -> None:
        says = "no busbar is named 'TMGB'; the binder has none yet: add it first, under Patching"
        with pytest.raises(RequestError, match=says):
            resolve(closet, "TMGB", "busbar")
        with pytest.raises(RequestError, match=r"no hardware is named 'SW9'$"):
            resolve(closet, "SW9", "hardware")

    @pytest.mark.parametrize("text", ["%", "_", "\\", "' OR 1=1 --", "", " ", "\udce9", "\x00"])
    def test_what_no_record_is_named(self, closet: BinderFile, text: str) -> None:
        with pytest.raises(RequestError, match="no record is named"):
            resolve(closet, text)
