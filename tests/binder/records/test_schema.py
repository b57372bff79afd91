"""Invariants of the trade, kept by the database itself: written past the door, they still hold."""

from __future__ import annotations

import ipaddress
import itertools
import sqlite3
from collections.abc import Callable, Iterator
from contextlib import closing

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from binder.records import schema
from binder.records.catalog import KINDS
from binder.records.schema import quoted
from tests.binder.generated import networks

Insert = Callable[..., int]


@pytest.fixture
def database() -> Iterator[sqlite3.Connection]:
    """A binder's make-up in memory, as any SQLite program would write to it."""
    with closing(sqlite3.connect(":memory:", isolation_level=None)) as connection:
        connection.execute("PRAGMA foreign_keys = ON")
        for statement in schema.statements():
            connection.execute(statement)
        yield connection


@pytest.fixture
def insert(database: sqlite3.Connection) -> Insert:
    """Insert a row; the status is the default one where none is given."""
    ids = itertools.count(1)

    def insert(table: str, **values: object) -> int:
        kind = next(kind for kind in KINDS if kind.table == table)
        row = {"id": next(ids), "status": kind.field("status").default} | values
        database.execute(
            f"INSERT INTO {quoted(table)} ({', '.join(map(quoted, row))}) "
            f"VALUES ({', '.join('?' * len(row))})",
            tuple(row.values()),
        )
        return int(str(row["id"]))

    return insert


@pytest.fixture
def ports(insert: Insert) -> list[int]:
    """Eight ports of one panel."""
    panel = insert("hardware", identifier="1A-A", form="patch panel")
    return [insert("port", hardware_id=panel, label=f"{n:02}") for n in range(1, 9)]


@pytest.fixture
def rack(insert: Insert) -> int:
    """A rack of 18 U."""
    building = insert("building", identifier="B1")
    space = insert("space", identifier="1A", building_id=building, form="room")
    return insert(
        "rack", identifier="1A-R1", space_id=space, height_u=18, numbering="bottom", mount="floor"
    )


def refused(says: str) -> pytest.RaisesExc[sqlite3.IntegrityError]:
    return pytest.raises(sqlite3.IntegrityError, match=says)


class TestPorts:
    """ANSI/TIA-568: a permanent link ends at the rear of a port, a patch cord at its front."""

    @pytest.mark.parametrize(
        ("table", "says"),
        [
            ("link", "at most one link at its rear"),
            ("cord", "at most one cord at its front"),
        ],
    )
    def test_one_of_each_at_a_port(
        self, insert: Insert, ports: list[int], table: str, says: str
    ) -> None:
        insert(table, identifier="one", port_a_id=ports[0], port_b_id=ports[1], **self.also(table))
        for ends in ((0, 2), (2, 0), (1, 2), (2, 1), (1, 0)):
            with refused(says):
                insert(
                    table, identifier=f"other {ends}", port_a_id=ports[ends[0]],
                    port_b_id=ports[ends[1]], **self.also(table),
                )  # fmt: skip
        insert(table, identifier="two", port_a_id=ports[2], port_b_id=ports[3], **self.also(table))

    def also(self, table: str) -> dict[str, str]:
        return {"cable": "4-pair"} if table == "link" else {}

    def test_a_link_and_a_cord_at_one_port(self, insert: Insert, ports: list[int]) -> None:
        insert("link", identifier="l", cable="4-pair", port_a_id=ports[0], port_b_id=ports[1])
        insert("cord", identifier="c", port_a_id=ports[0], port_b_id=ports[2])

    def test_moving_a_cord_onto_a_taken_port(
        self, database: sqlite3.Connection, insert: Insert, ports: list[int]
    ) -> None:
        insert("cord", identifier="one", port_a_id=ports[0], port_b_id=ports[1])
        moved = insert("cord", identifier="two", port_a_id=ports[2], port_b_id=ports[3])
        with refused("at most one cord"):
            database.execute("UPDATE cord SET port_b_id = ? WHERE id = ?", (ports[1], moved))
        database.execute(
            "UPDATE cord SET port_a_id = port_b_id, port_b_id = port_a_id WHERE id = ?", (moved,)
        )
        ends = database.execute("SELECT * FROM cord_end WHERE cord_id = ? ORDER BY 1", (moved,))
        assert ends.fetchall() == [(ports[2], moved, ports[3]), (ports[3], moved, ports[2])]

    @pytest.mark.parametrize("table", ["link", "cord"])
    def test_both_ends_at_one_port(self, insert: Insert, ports: list[int], table: str) -> None:
        with refused("two different ports"):
            insert(
                table, identifier="x", port_a_id=ports[0], port_b_id=ports[0], **self.also(table)
            )

    @pytest.mark.parametrize("table", ["link", "cord"])
    def test_a_removed_one_makes_room_until_it_comes_back(
        self, database: sqlite3.Connection, insert: Insert, ports: list[int], table: str
    ) -> None:
        ends = {"port_a_id": ports[0], "port_b_id": ports[1], **self.also(table)}
        one = insert(table, identifier="one", **ends)
        database.execute(f"UPDATE {table} SET status = 'removed' WHERE id = ?", (one,))
        insert(table, identifier="two", **ends)
        with refused("at most one"):
            database.execute(f"UPDATE {table} SET status = 'installed' WHERE id = ?", (one,))

    def test_an_abandoned_link_is_still_there(self, insert: Insert, ports: list[int]) -> None:
        # NEC article 800 (2017): abandoned cable is installed cable that is not terminated and
        # not tagged; it stays until it is taken out.
        ends = {"port_a_id": ports[0], "cable": "4-pair"}
        insert("link", identifier="one", status="abandoned", **ends)
        with refused("at most one link"):
            insert("link", identifier="two", **ends)

    def test_a_deleted_cord_makes_room(
        self, database: sqlite3.Connection, insert: Insert, ports: list[int]
    ) -> None:
        insert("cord", identifier="one", port_a_id=ports[0], port_b_id=ports[1])
        database.execute("DELETE FROM cord")
        insert("cord", identifier="two", port_a_id=ports[0], port_b_id=ports[1])

    def test_labels_do_not_hold_what_parts_a_name(self, insert: Insert, ports: list[int]) -> None:
        panel = insert("hardware", identifier="1A-B", form="patch panel")
        with refused("cannot contain ':'"):
            insert("port", hardware_id=panel, label="1:2")


class TestRacks:
    """EIA/ECA-310-E: units of 44.45 mm, counted from 1; a rack has a front and a rear face."""

    @pytest.mark.parametrize(
        ("face", "other", "fits"),
        [
            ("front", "front", False),
            ("rear", "rear", False),
            ("both", "front", False),
            ("both", "rear", False),
            ("front", "both", False),
            ("both", "both", False),
            ("front", "rear", True),
            ("rear", "front", True),
            (None, "front", False),  # not said: the front
            (None, "rear", True),
        ],
    )
    def test_one_thing_in_a_unit_of_a_face(
        self, insert: Insert, rack: int, face: str | None, other: str, fits: bool
    ) -> None:
        place = {"form": "switch", "rack_id": rack, "u_position": 5, "height_u": 2}
        insert("hardware", identifier="one", face=face, **place)
        if fits:
            insert("hardware", identifier="two", face=other, **place)
        else:
            with refused("two things cannot share a U on the same face"):
                insert("hardware", identifier="two", face=other, **place)

    @given(
        first=st.tuples(st.integers(1, 18), st.integers(0, 4)),
        second=st.tuples(st.integers(1, 18), st.integers(0, 4)),
    )
    @settings(max_examples=150, deadline=None)
    def test_overlap_is_that_of_the_units_taken(
        self, first: tuple[int, int], second: tuple[int, int]
    ) -> None:
        taken = [set(range(u, u + height)) for u, height in (first, second)]
        in_rack = [u + max(height, 1) - 1 <= 18 for u, height in (first, second)]
        assert rack_takes(first, second) == (all(in_rack) and not taken[0] & taken[1])

    def test_other_rack_other_units(self, insert: Insert, rack: int) -> None:
        space = insert(
            "space", identifier="2A", building_id=insert("building", identifier="B2"), form="room"
        )
        other = insert(
            "rack", identifier="2A-R1", space_id=space, height_u=18, numbering="top", mount="floor"
        )
        for number, place in enumerate((rack, other)):
            insert(
                "hardware", identifier=f"SW{number}", form="switch", rack_id=place, u_position=1,
                height_u=1,
            )  # fmt: skip

    @pytest.mark.parametrize(
        "move", ["u_position = 5", "height_u = 3", "face = 'front'", "status = 'installed'"]
    )
    def test_moving_into_taken_units(
        self, database: sqlite3.Connection, insert: Insert, rack: int, move: str
    ) -> None:
        in_rack = {"form": "switch", "rack_id": rack}
        insert("hardware", identifier="low", u_position=5, height_u=1, **in_rack)
        start = {"u_position": 3, "height_u": 2, "face": "front"}
        if move.startswith("face"):
            start |= {"u_position": 5, "face": "rear"}
        if move.startswith("status"):
            start |= {"u_position": 5, "status": "removed"}
        insert("hardware", identifier="moved", **in_rack, **start)
        with refused("cannot share a U"):
            database.execute(f"UPDATE hardware SET {move} WHERE identifier = 'moved'")

    def test_a_unit_beyond_the_rack(
        self, database: sqlite3.Connection, insert: Insert, rack: int
    ) -> None:
        in_rack = {"form": "switch", "rack_id": rack, "height_u": 2}
        insert("hardware", identifier="top", u_position=17, **in_rack)
        with refused("that U does not exist in this rack"):
            database.execute("UPDATE hardware SET u_position = 18")
        with refused("hardware stands above that height"):
            database.execute("UPDATE rack SET height_u = 17")
        database.execute("UPDATE rack SET height_u = 24")

    def test_a_unit_without_a_rack(self, insert: Insert) -> None:
        with refused("a U position needs a rack"):
            insert("hardware", identifier="SW1", form="switch", u_position=3)


def rack_takes(*places: tuple[int, int]) -> bool:
    """Whether a rack of 18 U takes hardware of these (lowest U, height) on one face."""
    with closing(sqlite3.connect(":memory:")) as connection:
        for statement in _rack_statements():
            connection.execute(statement)
        connection.execute(
            "INSERT INTO rack (id, identifier, space_id, height_u, numbering, mount, status) "
            "VALUES (1, 'R', 1, 18, 'bottom', 'floor', 'installed')"
        )
        try:
            connection.executemany(
                "INSERT INTO hardware (identifier, form, status, rack_id, u_position, height_u) "
                "VALUES (?, 'switch', 'installed', 1, ?, ?)",
                [(f"SW{n}", *place) for n, place in enumerate(places)],
            )
        except sqlite3.IntegrityError:
            return False
        return True


def _rack_statements() -> list[str]:
    needed = ("TABLE record ", 'TABLE "rack"', 'TABLE "hardware"', "TRIGGER hardware_fits")
    return [sql for sql in schema.statements() if any(word in sql for word in needed)]


class TestAddresses:
    @given(network=networks(), data=st.data())
    @settings(max_examples=300, deadline=None)
    def test_gateway_and_dhcp_range_lie_in_the_subnet(
        self, network: str, data: st.DataObject
    ) -> None:
        # Reference: the standard library's ipaddress.
        there = ipaddress.IPv4Network(network)
        edge = st.integers(-2, 2).map(lambda n: int(there.network_address) + n)
        end = st.integers(-2, 2).map(lambda n: int(there.broadcast_address) + n)
        inside = st.integers(int(there.network_address), int(there.broadcast_address))
        numbers = (edge | end | inside).filter(lambda number: 0 <= number < 2**32)
        address = st.builds(ipaddress.IPv4Address, numbers)
        gateway, first, last = (data.draw(address) for _ in range(3))
        allowed = all(one in there for one in (gateway, first, last)) and first <= last
        assert subnet_takes(network, str(gateway), str(first), str(last)) == allowed

    @pytest.mark.parametrize(
        ("network", "gateway"),
        [("0.0.0.0/0", "::1"), ("0.0.0.0/8", "::1"), ("2001:db8::/64", "192.0.2.1")],
    )
    def test_an_address_of_the_other_version_is_outside(self, network: str, gateway: str) -> None:
        assert not subnet_takes(network, gateway, None, None)

    def test_a_range_within_one_version(self) -> None:
        assert subnet_takes("2001:db8::/64", "2001:db8::1", "2001:db8::10", "2001:db8::20")
        assert not subnet_takes(None, None, "192.0.2.1", "2001:db8::20")
        assert not subnet_takes(None, None, "2001:db8::20", "192.0.2.1")

    @pytest.mark.parametrize(
        ("first", "last"), [("192.0.2.20", None), (None, "192.0.2.60")], ids=["first", "last"]
    )
    def test_a_range_has_two_ends(self, first: str | None, last: str | None) -> None:
        assert not subnet_takes("192.0.2.0/26", None, first, last)

    @pytest.mark.parametrize(
        ("vlan", "allowed"), [(0, False), (1, True), (4094, True), (4095, False), (-1, False)]
    )
    def test_vlan_ids_are_1_to_4094(
        self, insert: Insert, ports: list[int], database: sqlite3.Connection, vlan: int,
        allowed: bool,
    ) -> None:  # fmt: skip
        # IEEE 802.1Q-2018, table 9-2: 0 is the null VLAN id, 4095 (FFF) is reserved.
        for write in (
            lambda: insert("subnet", identifier="staff", vlan=vlan),
            lambda: database.execute("UPDATE port SET vlan = ?", (vlan,)),
        ):
            if allowed:
                write()
            else:
                with refused("VLAN is from 1 to 4094"):
                    write()

    def test_an_address_is_in_use_once(self, insert: Insert) -> None:
        insert("address", ip="192.0.2.10", assigned="fixed")
        with refused("UNIQUE"):
            insert("address", ip="192.0.2.10", assigned="DHCP")


_SUBNETS = sqlite3.connect(":memory:", isolation_level=None, check_same_thread=False)
_SUBNETS.execute(schema.table_sql(next(kind for kind in KINDS if kind.name == "subnet")))


def subnet_takes(network: str | None, gateway: str | None, *dhcp: str | None) -> bool:
    try:
        _SUBNETS.execute(
            "INSERT INTO subnet (identifier, status, cidr, gateway, dhcp_first, dhcp_last) "
            "VALUES ('staff', 'current', ?, ?, ?, ?)",
            (network, gateway, *dhcp),
        )
    except sqlite3.IntegrityError:
        return False
    return True


class TestNeverAltered:
    @pytest.fixture
    def test_id(self, insert: Insert) -> int:
        link = insert("link", identifier="1A-A01", cable="4-pair")
        return insert(
            "test", identifier="T-0001", link_id=link, tested_on="2026-02-02", result="fail"
        )

    @pytest.mark.parametrize(
        "change",
        [
            "result = 'pass'", "tested_on = '2026-02-03'", "length_m = 90", "link_id = NULL",
            "worst_margin_db = 4.2", "strand = '1'", "limit_name = 'other'",
        ],
    )  # fmt: skip
    def test_a_test(self, database: sqlite3.Connection, test_id: int, change: str) -> None:
        with refused("a test is never altered; add a retest that follows it"):
            database.execute(f"UPDATE test SET {change} WHERE id = ?", (test_id,))

    @pytest.mark.parametrize("change", ["reviewed_by = 'R. Adeyemi'", "notes = 'n'"])
    def test_a_test_is_signed_off(
        self, database: sqlite3.Connection, test_id: int, change: str
    ) -> None:
        database.execute(f"UPDATE test SET {change} WHERE id = ?", (test_id,))

    def test_a_measured_loss(
        self, database: sqlite3.Connection, insert: Insert, test_id: int
    ) -> None:
        insert("loss", test_id=test_id, wavelength_nm=1310, direction="A to B", loss_db=0.62)
        with refused("a test is never altered"):
            database.execute("UPDATE loss SET loss_db = 0.1")

    def test_a_review(self, database: sqlite3.Connection, insert: Insert) -> None:
        insert("review", identifier="Q-0001", taken_on="2026-03-14", body="{}")
        with refused("a review is never altered"):
            database.execute("UPDATE review SET body = '{1}'")
        database.execute("UPDATE review SET actions = 'buy a switch'")

    @pytest.mark.parametrize(
        "act",
        [
            "UPDATE change SET after = 'x'", "DELETE FROM change", "UPDATE step SET who = 'x'",
            "DELETE FROM step",
        ],
    )  # fmt: skip
    def test_the_change_log(self, database: sqlite3.Connection, act: str) -> None:
        database.execute(
            "INSERT INTO step (at, who, summary, form) "
            "VALUES ('2026-03-14T09:40:00Z', 'M. Osei', 'add', 'edit')"
        )
        database.execute(
            "INSERT INTO change (step_id, record_id, kind, name, act, after) "
            "VALUES (1, 1, 'building', 'B1', 'add', '{}')"
        )
        with refused("the change log is never altered"):
            database.execute(act)


class TestNames:
    def test_one_client(self, insert: Insert) -> None:
        insert("client", identifier="Harrow Dental", unit_system="us")
        with refused("a binder holds exactly one client"):
            insert("client", identifier="Quillmere", unit_system="us")

    def test_names_of_one_kind_differ_without_regard_to_case(self, insert: Insert) -> None:
        insert("hardware", identifier="SW1", form="switch")
        with refused("record.kind, record.name"):
            insert("hardware", identifier="sw1", form="switch")
        insert("contact", identifier="SW1")

    def test_ids_are_unique_over_all_kinds_and_exact_in_json(self, insert: Insert) -> None:
        insert("contact", identifier="one", id=7_000)
        with refused("UNIQUE"):
            insert("building", identifier="two", id=7_000)
        insert("building", identifier="three", id=2**53 - 1)
        for number in (0, -1, 2**53):
            with refused("CHECK"):
                insert("building", identifier=f"four {number}", id=number)

    @pytest.mark.parametrize("name", ["SW9", "sw1"])
    def test_what_is_named_after_another_follows_its_name(
        self, database: sqlite3.Connection, insert: Insert, name: str
    ) -> None:
        switch = insert("hardware", identifier="SW1", form="switch")
        insert("port", hardware_id=switch, label="03")
        insert("inlet", hardware_id=switch, label="PS1")
        database.execute("UPDATE hardware SET identifier = ?", (name,))
        names = {row[0] for row in database.execute("SELECT name FROM record")}
        assert names == {name, f"{name}:03", f"{name} inlet PS1"}

    def test_a_deleted_record_leaves_the_registry(
        self, database: sqlite3.Connection, insert: Insert
    ) -> None:
        insert("building", identifier="B1")
        database.execute("DELETE FROM building")
        assert database.execute("SELECT * FROM record").fetchall() == []


class TestValues:
    @pytest.mark.parametrize(
        ("column", "value"),
        [
            ("mac", "00:00:5E:00:53:01"),
            ("mac", "00-00-5e-00-53-01"),
            ("mac", "-----------------"),
            ("installed_on", "2026-02-30"),
            ("installed_on", "14 March"),
            ("support_ends_on", "2026-2-3"),
            ("approved", 2),
            ("maker", ""),
            ("status", "lost"),
            ("weight_kg", -1),
            ("u_position", "three"),
            ("poe_class", 9),  # IEEE 802.3: classes 0 to 8
        ],
    )
    def test_what_does_not_fit_a_column(
        self, insert: Insert, column: str, value: str | int
    ) -> None:
        with pytest.raises(sqlite3.IntegrityError):
            insert("hardware", identifier="SW1", form="switch", **{column: value})

    def test_a_reference_names_a_record_that_is_there(
        self, database: sqlite3.Connection, insert: Insert
    ) -> None:
        for table, columns in (
            ("port", {"hardware_id": 999, "label": "1"}),
            ("known_issue", {"identifier": "x", "subject_id": 999}),
        ):
            database.execute("BEGIN")
            insert(table, **columns)
            with refused("FOREIGN KEY"):
                database.execute("COMMIT")
            database.execute("ROLLBACK")

    def test_every_reference_is_found_through_an_index(self, database: sqlite3.Connection) -> None:
        # Removing a record asks of every kind what hangs on it: no table is read from end to end.
        for kind in KINDS:
            for field in kind.all_fields:
                if field.is_reference:
                    plan = database.execute(
                        f"EXPLAIN QUERY PLAN SELECT id FROM {quoted(kind.table)} "
                        f"WHERE {quoted(field.column)} = 1"
                    ).fetchall()
                    assert "USING" in plan[0][3], (kind.name, field.name)
