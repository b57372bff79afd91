"""Each rule of `verify` finds what breaks it, and nothing else does.

Every test breaks one thing in a whole binder, past the triggers that would not let it.
"""

from __future__ import annotations

import sqlite3
from collections.abc import Callable

import pytest

from binder.edit import Editor
from binder.errors import Fault
from binder.file import BinderFile, open_binder
from binder.verify import verify

IdOf = Callable[[str], int]
Add = Callable[..., int]


def tamper(binder: BinderFile, *statements: str, triggers: bool = False) -> None:
    """Write to the file as if there were no triggers, no foreign keys and no checks.

    With `triggers` those of records run: only the change log is written past.
    """
    connection = binder.connection
    where = "AND tbl_name IN ('step', 'change')" if triggers else ""
    kept = connection.execute(
        f"SELECT name, sql FROM sqlite_master WHERE type = 'trigger' {where}"
    ).fetchall()
    connection.execute("PRAGMA foreign_keys = OFF")
    connection.execute("PRAGMA ignore_check_constraints = ON")
    connection.execute("BEGIN")
    for name, _ in kept:
        connection.execute(f'DROP TRIGGER "{name}"')
    for statement in statements:
        assert connection.execute(statement).rowcount != 0, statement
    for _, sql in kept:
        connection.execute(sql)
    connection.execute("COMMIT")
    connection.execute("PRAGMA ignore_check_constraints = OFF")


def found(binder: BinderFile) -> set[str]:
    return {str(fault) for fault in verify(binder)}


def test_a_whole_binder_has_no_fault(closet: BinderFile) -> None:
    assert verify(closet) == ()


def test_tampering_alone_is_no_fault(closet: BinderFile) -> None:
    tamper(closet)
    assert verify(closet) == ()


class TestFile:
    def test_an_index_that_disagrees_is_missed_at_opening_and_found_here(
        self, closet: BinderFile
    ) -> None:
        # SQLite, PRAGMA quick_check: "does not verify that index content matches table content".
        closet.connection.execute("PRAGMA writable_schema = ON")
        closet.connection.execute(
            "UPDATE sqlite_master SET sql = replace(sql, 'ON change (record_id)', "
            "'ON change (step_id)') WHERE name = 'change_record'"
        )
        closet.close()
        with open_binder(closet.path) as binder:
            faults = verify(binder)
        assert {fault.where for fault in faults} == {"file"}
        assert any("missing from index change_record" in fault.says for fault in faults)

    def test_bytes_that_are_no_text(self, closet: BinderFile) -> None:
        tamper(closet, "UPDATE subnet SET purpose = CAST(x'ff41' AS TEXT)")
        assert any(fault.where == "file" for fault in verify(closet))


class TestMakeUp:
    @pytest.mark.parametrize(
        ("statement", "fault"),
        [
            (
                "DROP TRIGGER cord_ends_added",
                "cord_ends_added: a table, index or trigger is missing",
            ),
            ("DROP INDEX record_name", "record_name: a table, index or trigger is missing"),
            (
                "CREATE TABLE extra (a)",
                "extra: a table, index or trigger that this program does not make",
            ),
            (
                "CREATE TRIGGER spy AFTER INSERT ON cord BEGIN DELETE FROM search; END",
                "spy: a table, index or trigger that this program does not make",
            ),
        ],
    )
    def test_what_is_missing_or_too_much(
        self, closet: BinderFile, statement: str, fault: str
    ) -> None:
        closet.connection.execute(statement)
        assert found(closet) == {fault}

    def test_a_trigger_that_does_something_else(self, closet: BinderFile) -> None:
        closet.connection.execute("DROP TRIGGER test_kept")
        closet.connection.execute(
            "CREATE TRIGGER test_kept BEFORE UPDATE OF notes ON test BEGIN SELECT 1; END"
        )
        assert found(closet) == {"test_kept: a table, index or trigger was altered"}

    def test_a_sentence_put_better_is_no_fault(self, closet: BinderFile) -> None:
        sql = closet.connection.execute(
            "SELECT sql FROM sqlite_master WHERE name = 'test_kept'"
        ).fetchone()[0]
        closet.connection.execute("DROP TRIGGER test_kept")
        closet.connection.execute(sql.replace("a test is never altered", "it''s kept"))
        assert verify(closet) == ()


class TestRecords:
    def test_a_reference_to_nothing(self, closet: BinderFile, id_of: IdOf) -> None:
        address = id_of("192.0.2.20")
        tamper(closet, f"UPDATE address SET hardware_id = 4711 WHERE id = {address}")
        fault = f"address {address}: names a record of 'hardware' that is not there"
        assert fault in found(closet)

    def test_a_name_that_is_not_the_records(self, closet: BinderFile, id_of: IdOf) -> None:
        building = id_of("B1")
        tamper(closet, f"UPDATE record SET name = 'b1' WHERE id = {building}")
        assert f"building {building}: is not registered under its name" in found(closet)

    def test_a_record_that_is_not_registered(self, closet: BinderFile, id_of: IdOf) -> None:
        entry = id_of("ssid Quillmere Guest")
        tamper(closet, f"DELETE FROM record WHERE id = {entry}")
        assert f"ssid {entry}: is not registered under its name" in found(closet)

    def test_a_registration_without_a_record(self, closet: BinderFile, id_of: IdOf) -> None:
        entry = id_of("ssid Quillmere Guest")
        tamper(closet, f"DELETE FROM ssid WHERE id = {entry}")
        assert f"ssid {entry}: is registered but not there" in found(closet)

    def test_a_registration_of_no_kind(self, closet: BinderFile) -> None:
        tamper(closet, "INSERT INTO record (id, kind, name) VALUES (4711, 'gizmo', 'x')")
        assert "record 4711: is registered as 'gizmo', which is no kind" in found(closet)

    @pytest.mark.parametrize(
        "statement",
        [
            "DELETE FROM cord_end WHERE port_id = {port}",
            "UPDATE cord_end SET far_port_id = port_id WHERE port_id = {port}",
            "UPDATE cord_end SET cord_id = 4711 WHERE port_id = {port}",
        ],
    )
    def test_ends_that_disagree_with_the_cord(
        self, closet: BinderFile, id_of: IdOf, statement: str
    ) -> None:
        port = id_of("SW1:03")
        tamper(closet, statement.format(port=port))
        assert found(closet) == {f"port {port}: its cord and the table of ends disagree"}

    def test_an_end_of_no_link(self, closet: BinderFile, id_of: IdOf) -> None:
        port = id_of("SW1:02")
        tamper(closet, f"INSERT INTO link_end VALUES ({port}, 4711, NULL)")
        assert found(closet) == {f"port {port}: its link and the table of ends disagree"}

    def test_a_range_outside_its_ipv6_subnet(self, closet: BinderFile, add: Add) -> None:
        ends = {"dhcp_first": "2001:db8::20", "dhcp_last": "2001:db8::10"}
        add("subnet", identifier="six", cidr="2001:db8::/64", gateway="2001:db8:1::1", **ends)
        assert found(closet) == {
            "subnet six: 2001:db8:1::1 is outside 2001:db8::/64",
            "subnet six: its DHCP range ends before it starts",
        }

    def test_bytes_of_an_attachment(self, closet: BinderFile) -> None:
        digest = "ab" * 32
        tamper(closet, f"INSERT INTO content VALUES ('{digest}', x'00')")
        assert found(closet) == {"content abababababab: its bytes have another SHA-256"}


class TestHistory:
    def test_a_record_changed_past_the_door(self, closet: BinderFile, id_of: IdOf) -> None:
        # Its fields: neither searched nor part of its name.
        link = id_of("1A-A01")
        tamper(closet, f"UPDATE link SET length_m = 90 WHERE id = {link}", triggers=True)
        assert found(closet) == {f"link {link}: length_m is not what the change log says"}

    def test_a_record_added_past_the_door(self, closet: BinderFile) -> None:
        tamper(
            closet,
            "INSERT INTO building (id, identifier, status) VALUES (4711, 'B9', 'installed')",
            triggers=True,
        )
        assert {
            "building 4711: changed without a line in the change log",
            "building 4711: identifier is not what the change log says",
        } <= found(closet)

    def test_a_position_that_is_not_the_last_change(self, closet: BinderFile, id_of: IdOf) -> None:
        port = id_of("SW1:02")
        tamper(closet, f"UPDATE record SET position = 1 WHERE id = {port}")
        assert found(closet) == {f"port {port}: changed without a line in the change log"}

    @pytest.mark.parametrize("which", ["min", "max"])
    def test_a_line_taken_out(self, closet: BinderFile, which: str) -> None:
        tamper(
            closet,
            f"DELETE FROM change WHERE position = (SELECT {which}(position) FROM change)",
        )
        assert "change log: 1 lines are missing" in found(closet)

    def test_the_last_line_of_a_removed_record(
        self, closet: BinderFile, editor: Editor, add: Add
    ) -> None:
        building = add("building", identifier="B9")
        with editor.step("remove") as step:
            step.remove(building)
        tamper(closet, "DELETE FROM change WHERE act = 'remove'")
        assert found(closet) == {"change log: 1 lines are missing"}

    def test_a_step_taken_out(self, closet: BinderFile) -> None:
        tamper(closet, "DELETE FROM step WHERE id = (SELECT max(id) FROM step)")
        faults = found(closet)
        assert "change log: 1 steps are missing" in faults
        assert any("names a record of 'step' that is not there" in fault for fault in faults)

    def test_a_value_of_the_past_altered(
        self, closet: BinderFile, change: Callable[..., None]
    ) -> None:
        change("SW1:02", vlan=30)
        change("SW1:02", vlan=40)
        middle = "(SELECT max(position) - 1 FROM change)"
        last = closet.connection.execute("SELECT max(position) FROM change").fetchone()[0]
        tamper(closet, f"UPDATE change SET after = 99 WHERE position = {middle}")
        assert found(closet) == {f"change log {last}: does not follow from the lines before it"}

    @pytest.mark.parametrize("packed", ["'{'", "NULL", "7", "'[1]'"])
    def test_a_line_that_cannot_be_read(self, closet: BinderFile, packed: str) -> None:
        tamper(closet, f"UPDATE change SET after = {packed} WHERE position = 2")
        assert "change log 2: does not follow from the lines before it" in found(closet)


class TestSearch:
    @pytest.mark.parametrize("column", ["name", "body", "compact"])
    def test_words_that_are_not_the_records(
        self, closet: BinderFile, id_of: IdOf, column: str
    ) -> None:
        switch = id_of("hardware SW1")
        tamper(closet, f"UPDATE search SET {column} = 'other' WHERE rowid = {switch}")
        assert found(closet) == {f"hardware {switch}: is not in the search index as it stands"}

    def test_a_record_that_is_not_found(self, closet: BinderFile, id_of: IdOf) -> None:
        switch = id_of("hardware SW1")
        tamper(closet, f"DELETE FROM search WHERE rowid = {switch}")
        assert found(closet) == {f"hardware {switch}: is not in the search index as it stands"}

    def test_a_removed_record_that_is_still_found(self, closet: BinderFile) -> None:
        tamper(closet, "INSERT INTO search (rowid, name) VALUES (4711, 'gone')")
        assert found(closet) == {"search 4711: a removed record is still in the search index"}


def test_faults_tell_where_and_what(closet: BinderFile) -> None:
    closet.connection.execute("DROP INDEX record_name")
    (fault,) = verify(closet)
    assert fault == Fault("record_name", "a table, index or trigger is missing")


def test_verifying_changes_nothing(closet: BinderFile) -> None:
    closet.close()
    before = closet.path.read_bytes()
    with open_binder(closet.path, read_only=True) as binder:
        verify(binder)
    assert closet.path.read_bytes() == before
    assert sqlite3.sqlite_version_info >= (3, 37, 0)  # STRICT tables
