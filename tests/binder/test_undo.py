"""Undo takes back one's own last step, whole; redo does it again; nobody else's work is touched."""

from __future__ import annotations

import contextlib
import tempfile
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from hypothesis import settings
from hypothesis import strategies as st
from hypothesis.stateful import RuleBasedStateMachine, invariant, precondition, rule

from binder.edit import Editor
from binder.errors import ConflictError, RequestError
from binder.file import BinderFile
from binder.history import recent
from binder.intake.json_form import dump, load, to_text
from binder.read import read, resolve
from binder.records.catalog import BY_NAME, KINDS
from binder.records.fields import Field, Type
from binder.records.schema import quoted
from binder.step import Step
from binder.verify import verify
from tests.binder.generated import base_binder, fresh_binder, stored

IdOf = Callable[[str], int]
Add = Callable[..., int]


def records(binder: BinderFile) -> list[tuple[Any, ...]]:
    """Every row of every kind, ids too, and what is at the ends of links and cords."""
    tables = [*(kind.table for kind in KINDS), "link_end", "cord_end"]
    return [
        (table, *row)
        for table in tables
        for row in binder.connection.execute(f"SELECT * FROM {quoted(table)} ORDER BY 1")
    ]


class TestUndo:
    def test_takes_back_the_last_step_whole(
        self, closet: BinderFile, editor: Editor, id_of: IdOf
    ) -> None:
        before = records(closet)
        with editor.step("patch the spare outlet") as step:
            cord = step.add("cord", {"port_a": id_of("1A-A:02"), "port_b": id_of("SW1:02")})
            step.change(id_of("SW1:02"), {"current_use": "spare desk", "vlan": 30})
            step.change(cord, {"colour": "blue"})
        done = editor.undo()
        assert (done.form, done.summary) == ("undo", "undo patch the spare outlet")
        assert (done.who, done.at) == ("M. Osei", "2026-03-14T09:40:00Z")
        assert records(closet) == before
        assert verify(closet) == ()

    def test_brings_back_what_was_removed_with_what_hung_on_it(
        self, closet: BinderFile, editor: Editor, id_of: IdOf
    ) -> None:
        before, text = records(closet), to_text(dump(closet))
        with editor.step("remove") as step:
            step.remove(id_of("hardware SW1"), with_dependents=True)
            step.remove(id_of("building B1"), with_dependents=True)
        editor.undo()
        assert records(closet) == before
        assert to_text(dump(closet)) == text
        assert verify(closet) == ()

    def test_goes_back_step_by_step_and_forth_again(
        self, closet: BinderFile, editor: Editor, id_of: IdOf
    ) -> None:
        port, seen = id_of("SW1:02"), [records(closet)]
        for use in ("scanner", "camera", "phone"):
            with editor.step(use) as step:
                step.change(port, {"current_use": use})
            seen.append(records(closet))
        for before in reversed(seen[:-1]):
            editor.undo()
            assert records(closet) == before
        for after in seen[1:]:
            editor.redo()
            assert records(closet) == after
        editor.undo()
        editor.undo()
        assert read(closet, port)["current_use"] == "scanner"

    def test_nothing_to_undo(self, closet: BinderFile) -> None:
        newcomer = Editor(closet, "A newcomer")
        with pytest.raises(RequestError, match="nothing of yours to undo"):
            newcomer.undo()
        with pytest.raises(RequestError, match="nothing to redo"):
            newcomer.redo()

    def test_redo_ends_with_the_next_change(
        self, closet: BinderFile, editor: Editor, id_of: IdOf
    ) -> None:
        with editor.step("one") as step:
            step.change(id_of("SW1:02"), {"vlan": 30})
        editor.undo()
        with editor.step("two") as step:
            step.change(id_of("SW1:03"), {"vlan": 30})
        with pytest.raises(RequestError, match="nothing to redo"):
            editor.redo()

    def test_undoing_is_a_line_of_the_history(
        self, closet: BinderFile, editor: Editor, id_of: IdOf
    ) -> None:
        with editor.step("one") as step:
            step.change(id_of("SW1:02"), {"vlan": 30})
        editor.undo()
        newest, older = recent(closet, 2)
        assert (newest.summary, newest.before, newest.after) == ("undo one", 30, 20)
        assert (older.summary, older.before, older.after) == ("one", 20, 30)

    @pytest.mark.parametrize(
        ("name", "first", "second"),
        [
            # Fields that hold only together come back together.
            (
                "subnet staff",
                {"dhcp_first": "192.0.2.20", "dhcp_last": "192.0.2.60"},
                {"dhcp_first": None, "dhcp_last": None},
            ),
            (
                "subnet staff",
                {"cidr": "198.51.100.0/24", "gateway": "198.51.100.1"},
                {"cidr": "203.0.113.0/24", "gateway": "203.0.113.1"},
            ),
            ("hardware PH1", {"u_position": 2, "height_u": 1}, {"u_position": 8, "height_u": 3}),
        ],
    )
    def test_fields_that_hold_only_together(
        self, closet: BinderFile, editor: Editor, id_of: IdOf, name: str, first: Any, second: Any
    ) -> None:
        for values in (first, second):
            with editor.step("change") as step:
                more = {"rack": id_of("1A-R1")} if "u_position" in values else {}
                step.change(id_of(name), values | more)
        editor.undo()
        assert {f: read(closet, id_of(name))[f] for f in first} == first
        editor.undo()
        editor.redo()
        editor.redo()
        assert {f: read(closet, id_of(name))[f] for f in second} == second

    def test_a_cord_turned_round(self, closet: BinderFile, editor: Editor, id_of: IdOf) -> None:
        cord = read(closet, id_of("C-0001"))
        with editor.step("turn round") as step:
            step.change(cord.id, {"port_a": cord["port_b"], "port_b": cord["port_a"]})
        editor.undo()
        assert read(closet, cord.id).values == cord.values
        assert verify(closet) == ()

    def test_a_value_changed_twice_in_one_step(
        self, closet: BinderFile, editor: Editor, id_of: IdOf
    ) -> None:
        before = records(closet)
        with editor.step("twice") as step:
            step.change(id_of("SW1:02"), {"vlan": 30})
            step.change(id_of("SW1:02"), {"vlan": 40, "notes": "x"})
        with editor.step("there and back") as step:
            step.change(id_of("SW1:03"), {"vlan": 30})
            step.change(id_of("SW1:03"), {"vlan": 20})
        editor.undo()
        editor.undo()
        assert records(closet) == before
        assert verify(closet) == ()
        changes = [line for line in recent(closet) if line.act == "change"]
        assert all(line.before != line.after for line in changes)


class TestTwoPeople:
    @pytest.fixture
    def other(self, closet: BinderFile) -> Editor:
        return Editor(closet, "R. Adeyemi")

    def test_each_takes_back_their_own(
        self, closet: BinderFile, editor: Editor, other: Editor, id_of: IdOf
    ) -> None:
        with editor.step("mine") as step:
            step.change(id_of("SW1:02"), {"current_use": "scanner"})
        with other.step("theirs") as step:
            step.change(id_of("SW1:02"), {"vlan": 30})
        assert editor.undo().summary == "undo mine"
        port = read(closet, id_of("SW1:02"))
        assert (port["current_use"], port["vlan"]) == (None, 30)
        assert other.undo().summary == "undo theirs"
        assert read(closet, id_of("SW1:02"))["vlan"] == 20

    def test_what_someone_changed_since_is_a_clash(
        self, closet: BinderFile, editor: Editor, other: Editor, id_of: IdOf
    ) -> None:
        for person, use in ((editor, "scanner"), (other, "camera")):
            with person.step("use") as step:
                step.change(id_of("SW1:02"), {"current_use": use})
        before = list(closet.connection.iterdump())
        with pytest.raises(ConflictError, match=r"SW1:02: R\. Adeyemi changed") as clash:
            editor.undo()
        assert (clash.value.mine, clash.value.theirs) == (
            {"current_use": "scanner"},
            {"current_use": "camera"},
        )
        assert list(closet.connection.iterdump()) == before

    def test_a_record_someone_filled_in_since_is_not_taken_away(
        self, closet: BinderFile, editor: Editor, other: Editor, add: Add
    ) -> None:
        building = add("building", identifier="B2")
        with other.step("fill in") as step:
            step.change(building, {"name": "Annex"})
        with pytest.raises(ConflictError) as clash:
            editor.undo()
        assert clash.value.theirs == {"name": "Annex"}
        assert read(closet, building)["name"] == "Annex"

    def test_a_record_someone_built_upon_since_is_not_taken_away(
        self, closet: BinderFile, editor: Editor, other: Editor, add: Add
    ) -> None:
        building = add("building", identifier="B2")
        with other.step("build upon") as step:
            step.add("space", {"identifier": "2A", "building": building, "form": "room"})
        with pytest.raises(RequestError, match="others still hang on it"):
            editor.undo()
        assert verify(closet) == ()

    def test_a_record_someone_removed_since(
        self, closet: BinderFile, editor: Editor, other: Editor, id_of: IdOf
    ) -> None:
        port = id_of("SW1:02")
        with editor.step("mine") as step:
            step.change(port, {"vlan": 30})
        with other.step("theirs") as step:
            step.remove(port)
        with pytest.raises(RequestError, match="removed since; undo its removal first"):
            editor.undo()

    def test_a_place_someone_took_since(
        self, closet: BinderFile, editor: Editor, other: Editor, id_of: IdOf
    ) -> None:
        with editor.step("take the cord out") as step:
            step.remove(id_of("C-0001"))
        with other.step("put another in") as step:
            step.add("cord", {"port_a": id_of("1A-A:01"), "port_b": id_of("SW1:05")})
        with pytest.raises(RequestError, match="at most one cord at its front"):
            editor.undo()
        assert verify(closet) == ()


def test_a_load_is_one_step(binder: BinderFile) -> None:
    before = to_text(dump(binder))
    data = {
        "format": 1, "buildings": [{"identifier": "B1"}],
        "attachments": [{"identifier": "a", "form": "photo", "sha256": _DIGEST}],
        "contents": {_DIGEST: "aGVsbG8="},
    }  # fmt: skip
    load(binder, data, "M. Osei")
    Editor(binder, "M. Osei").undo()
    assert to_text(dump(binder)) == before


# SHA-256 of 'hello' (FIPS 180-4; value from memory).
_DIGEST = "2cf24dba5fb0a30e26e83b2ac5b9e29e1b161e5c1fa7425e73043362938b9824"


USED = (
    "building", "space", "rack", "hardware", "port", "link", "cord", "inlet", "branch_circuit",
    "contact", "key", "busbar", "pathway", "run", "subnet", "circuit", "account", "log_entry",
    "touch", "authorised_caller", "known_issue",
)  # fmt: skip


class WritingAndUndoing(RuleBasedStateMachine):
    """Steps by chance: the binder is whole after each, and undo and redo walk the same road."""

    def __init__(self) -> None:
        super().__init__()
        self.folder = tempfile.TemporaryDirectory()
        self.binder = fresh_binder(Path(self.folder.name) / "binder")
        load(self.binder, base_binder(), "someone else")
        self.editor = Editor(self.binder, "M. Osei")
        self.first = to_text(dump(self.binder))
        self.behind: list[Any] = []
        self.ahead: list[Any] = []

    @rule(data=st.data(), acts=st.lists(st.sampled_from("aaccr"), min_size=1, max_size=4))
    def write(self, data: st.DataObject, acts: list[str]) -> None:
        before, lines = records(self.binder), self.lines()
        try:
            with self.editor.step("by chance") as step:
                for act in acts:
                    {"a": self.add, "c": self.change, "r": self.remove}[act](data, step)
        except RequestError:
            assert records(self.binder) == before
            assert self.lines() == lines
        if self.lines() > lines:
            self.behind.append(before)
            self.ahead.clear()

    def add(self, data: st.DataObject, step: Step) -> None:
        kind = BY_NAME[data.draw(st.sampled_from(USED))]
        wanted = [f for f in kind.all_fields if f.required or f.name in kind.named_by]
        wanted += data.draw(st.lists(st.sampled_from(kind.all_fields), max_size=2))
        with contextlib.suppress(NoneThereError):
            step.add(kind.name, {field.name: self.value(data, field) for field in wanted})

    def change(self, data: st.DataObject, step: Step) -> None:
        record_id, kind_name = self.one(data, USED)
        fields = BY_NAME[kind_name].all_fields
        wanted = data.draw(st.lists(st.sampled_from(fields), min_size=1, max_size=3, unique=True))
        with contextlib.suppress(NoneThereError):
            empty = data.draw(st.booleans())
            step.change(
                record_id,
                {
                    field.name: None if empty and not field.required else self.value(data, field)
                    for field in wanted
                },
            )

    def remove(self, data: st.DataObject, step: Step) -> None:
        record_id, _ = self.one(data, USED)
        step.remove(record_id, with_dependents=data.draw(st.booleans()))

    @precondition(lambda self: self.behind)
    @rule()
    def undo(self) -> None:
        self.ahead.append(records(self.binder))
        self.editor.undo()
        assert records(self.binder) == self.behind.pop()

    @precondition(lambda self: self.ahead)
    @rule()
    def redo(self) -> None:
        self.behind.append(records(self.binder))
        self.editor.redo()
        assert records(self.binder) == self.ahead.pop()

    @invariant()
    def binder_is_whole(self) -> None:
        assert verify(self.binder) == ()

    def teardown(self) -> None:
        last = to_text(dump(self.binder))
        steps = len(self.behind)
        for _ in range(steps):
            self.editor.undo()
        assert to_text(dump(self.binder)) == self.first
        for _ in range(steps):
            self.editor.redo()
        assert to_text(dump(self.binder)) == last
        self.binder.close()
        self.folder.cleanup()

    def lines(self) -> int:
        return int(self.binder.connection.execute("SELECT count(*) FROM step").fetchone()[0])

    def value(self, data: st.DataObject, field: Field) -> Any:
        if field.type is Type.REF:
            return self.one(data, (field.target,))[0]
        if field.type is Type.SUBJECT:
            return self.one(data, USED)[0]
        return data.draw(stored(field))

    def one(self, data: st.DataObject, kinds: tuple[str, ...]) -> tuple[int, str]:
        """A record of one of these kinds."""
        kind = data.draw(st.sampled_from(kinds))
        ids = self.binder.connection.execute(
            "SELECT id FROM record WHERE kind = ? ORDER BY name", (kind,)
        ).fetchall()
        if not ids:
            raise NoneThereError
        return data.draw(st.sampled_from([row[0] for row in ids])), kind


class NoneThereError(RequestError):
    """There is no record of the kind that was drawn."""


TestWritingAndUndoing = WritingAndUndoing.TestCase
TestWritingAndUndoing.settings = settings(max_examples=10, stateful_step_count=25, deadline=None)


def test_everything_resolves_after_undo(closet: BinderFile, editor: Editor, id_of: IdOf) -> None:
    with editor.step("rename") as step:
        step.change(id_of("hardware SW1"), {"identifier": "CORE1"})
    editor.undo()
    assert resolve(closet, "SW1:03").kind == "port"
