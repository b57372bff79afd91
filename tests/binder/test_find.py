"""Find: what a technician types with the client on the telephone, and what comes first.

What a good order and a good answer are is common practice, no published source. Forms of a MAC
address: IEEE 802 (hyphens), and the colon and dotted forms in use. Distances of misspellings: the
optimal string alignment distance, values by hand.
"""

from __future__ import annotations

import subprocess
import sys
from collections.abc import Callable

import pytest
from hypothesis import HealthCheck, assume, given, settings
from hypothesis import strategies as st

from binder.edit import Editor
from binder.file import BinderFile
from binder.find import Hit, find
from binder.read import resolve

Add = Callable[..., int]
Change = Callable[..., None]
Found = Callable[[str], tuple[Hit, ...]]


@pytest.fixture
def found(closet: BinderFile) -> Found:
    return lambda text: find(closet, text)


def first(hits: tuple[Hit, ...]) -> tuple[str, str]:
    return (hits[0].kind, hits[0].name) if hits else ("", "")


def names(hits: tuple[Hit, ...]) -> list[str]:
    return [hit.name for hit in hits]


# What is found. ---------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("typed", "kind", "name"),
    [
        ("114-1:A", "port", "114-1:A"),
        ("114-1:a", "port", "114-1:A"),
        ("reception", "space", "114"),
        ("front desk", "port", "114-1:A"),
        ("desk front", "port", "114-1:A"),
        ("printer1", "address", "192.0.2.20"),
        ("quillmere guest", "ssid", "Quillmere Guest"),
        ("priya", "contact", "Priya Nandakumar"),
        ("nandakumar priya", "contact", "Priya Nandakumar"),
        ("practice manager", "contact", "Priya Nandakumar"),
        ("switch sw1", "hardware", "SW1"),
        ("camera", "hardware", "CAM1"),
        ("alder row", "building", "B1"),
        ("vlan 20", "subnet", "staff"),
        ("VLAN30", "subnet", "voice"),
    ],
)
def test_part_of_anything_is_enough(found: Found, typed: str, kind: str, name: str) -> None:
    assert first(found(typed)) == (kind, name)


@pytest.mark.parametrize(
    "typed",
    [
        "00-00-5E-00-53-01",
        "00:00:5e:00:53:01",
        "0000.5e00.5301",
        "00005e005301",
        "00 00 5E 00 53 01",
        "5e:00:53:01",
        "5301",
    ],
)
def test_a_mac_is_found_in_any_form(found: Found, typed: str) -> None:
    assert first(found(typed)) == ("hardware", "SW1")


@pytest.mark.parametrize(
    "typed", ["192.0.2.20", "192.000.002.020", "192-0-2-20", "192 0 2 20", "192,0,2,20", "0.2.20"]
)
def test_an_address_is_found_with_leading_zeros_and_any_punctuation(
    found: Found, typed: str
) -> None:
    assert first(found(typed)) == ("address", "192.0.2.20")


def test_an_ipv6_address_is_found_written_out(found: Found, add: Add) -> None:
    add("address", ip="2001:db8::5", hostname="printer2")  # RFC 3849; shortened as by RFC 5952
    assert first(found("2001:0DB8:0:0:0:0:0:5")) == ("address", "2001:db8::5")


def test_an_address_nobody_recorded_finds_its_subnet(found: Found) -> None:
    assert [(hit.name, hit.field, hit.value) for hit in found("192.0.2.70")] == [
        ("voice", "Network", "192.0.2.64/26")  # 64 to 127, RFC 4632
    ]


@pytest.mark.parametrize(
    "typed",
    [
        "+1 312 555 0100",
        "312 555 0100",
        "(312) 555-0100",
        "312.555.0100",
        "3125550100",
        "13125550100",
        "001 312 555 0100",
        "555 0100",
        "0100",
    ],
)
def test_a_telephone_number_is_found_however_it_is_written(found: Found, typed: str) -> None:
    assert first(found(typed)) == ("contact", "Priya Nandakumar")


def test_a_number_stored_without_its_country_is_found_with_it(found: Found, add: Add) -> None:
    add("contact", identifier="Night desk", office_phone="(312) 555-0177")
    assert first(found("+1 312 555 0177")) == ("contact", "Night desk")


@pytest.mark.parametrize(
    ("typed", "name"),
    [
        ("LKF-2203-118-QM", "fibre"),
        ("lkf2203118qm", "fibre"),
        ("LKF 2203 118", "fibre"),
        ("44102287", "fibre"),
        ("4410 2287", "fibre"),
        ("NV24P 004417", "SW1"),
        ("nv24p-004417", "SW1"),
    ],
)
def test_circuit_account_and_serial_numbers_are_found_in_any_punctuation(
    found: Found, change: Change, typed: str, name: str
) -> None:
    change("circuit fibre", circuit_id="LKF-2203-118-QM", account_number="4410-2287")
    change("hardware SW1", serial="NV24P-004417")
    assert names(found(typed))[0] == name


def test_short_words_go_by_the_beginnings_of_the_words_of_names(found: Found) -> None:
    assert "SW1:07" in names(found("07"))
    assert "1A" in names(found("1a"))
    assert names(found("a 03"))[0] in ("1A-A:03", "1A-A03")
    assert names(found("w1")) == []


def test_all_words_must_match(found: Found) -> None:
    assert names(found("front desk 114")) == ["114-1:A"]
    assert all(hit.is_partly for hit in found("desk 121"))


def test_what_lacks_one_word_of_three_is_told_as_such(found: Found) -> None:
    assert [(hit.name, hit.is_partly) for hit in found("front desk 121")] == [("114-1:A", True)]


@pytest.mark.parametrize(
    ("said", "meant"),
    [
        ("the camera in treatment is dead", "CAM1"),
        ("our router", "GW1"),
        ("phone at the reception, please", "PH1"),
        ("socket 114-1", "114-1"),
    ],
)
def test_words_are_taken_as_a_caller_says_them(found: Found, said: str, meant: str) -> None:
    """Everyday words for those of the trade: common practice, no published source."""
    assert meant in names(found(said))
    assert not any(hit.is_partly for hit in found(said))


@pytest.mark.parametrize(
    "said",
    [
        "internet is down",
        "no internet",
        "Internet is down at the main clinic",
        "internet reception",
    ],
)
def test_the_circuit_comes_first_when_the_internet_is_down(
    found: Found, add: Add, said: str
) -> None:
    """The carrier is what one calls: common practice, no published source."""
    add("subnet", identifier="cameras", vlan=40, purpose="no way out to the internet")
    assert names(found(said))[:2] == ["fibre", "cellular"]


def test_the_circuit_that_comes_into_the_building_leads(
    closet: BinderFile, found: Found, add: Add, change: Change
) -> None:
    add("building", identifier="B2", name="Kennels")
    add("space", identifier="1K", building="B2", form="telecommunications room")
    change("cellular", demarc_space=resolve(closet, "1K").id)
    assert names(found("internet is down at the kennels"))[:2] == ["cellular", "fibre"]
    assert names(found("internet is down at the clinic"))[:2] == ["fibre", "cellular"]


def test_what_is_itself_called_so_and_what_is_said_of_another_thing_leads(
    found: Found, add: Add
) -> None:
    add("ssid", identifier="Internet", security="WPA2-Personal")
    assert first(found("internet")) == ("ssid", "Internet")
    assert "circuit" not in {hit.kind for hit in found("internet printer1")[:1]}


def test_the_thing_comes_before_the_log_of_its_last_failure(found: Found, add: Add) -> None:
    add("log_entry", opened_at="2026-01-08T09:00:00Z", form="call", who="M. Osei",
        summary="Front desk phone dead: cord replaced")  # fmt: skip
    hits = found("front desk phone dead")
    assert hits[0].kind == "port"
    assert "log_entry" in [hit.kind for hit in hits]
    assert not any(hit.is_partly for hit in hits)


def test_a_building_and_a_room_are_found_first_by_what_people_call_them(
    found: Found, add: Add
) -> None:
    add("attachment", identifier="treatment, floor plan", form="drawing")
    assert first(found("treatment")) == ("space", "121")
    assert first(found("main clinic")) == ("building", "B1")


def test_when_no_record_has_all_words_the_rarest_of_them_leads(found: Found) -> None:
    hits = found("room LKF-2203-118-QM")  # one circuit has that number, three rooms the other
    assert (hits[0].kind, hits[0].is_partly) == ("circuit", True)
    assert names(found("SW1:09 nonsense"))[0] == "SW1:09"  # before the cord that is in it


def test_whose_number_it_is_comes_before_what_else_holds_it(
    found: Found, add: Callable[..., int]
) -> None:
    add("contact", identifier="Ines Calder", mobile_phone="+1 312 555 0188")
    add("account", system="portal", login="ines", recovery_phone="+1 312 555 0188")
    for typed in ("+1 312 555 0188", "3125550188", "5550188"):
        assert [hit.kind for hit in found(typed)][:2] == ["contact", "account"]


def test_a_thing_is_found_by_the_room_it_is_in_and_what_people_call_that(found: Found) -> None:
    assert first(found("treatment camera")) == ("hardware", "CAM1")
    assert set(names(found("phone reception"))) == {"PH1", "114-1:A"}
    assert all(hit.is_partly for hit in found("treatment phone"))


def test_a_kind_of_record_may_be_named(found: Found) -> None:
    assert first(found("port SW1:01")) == ("port", "SW1:01")
    assert first(found("link 1a-a01")) == ("link", "1A-A01")
    assert {hit.kind for hit in found("ports 03")} == {"port"}
    assert first(found("circuit fib")) == ("circuit", "fibre")


@pytest.mark.parametrize(
    ("typed", "name"),
    [
        ("nandakmar", "Priya Nandakumar"),  # a letter missing
        ("nandakkumar", "Priya Nandakumar"),  # one too many
        ("prlya", "Priya Nandakumar"),  # one wrong, in the middle of a short word
        ("pirya", "Priya Nandakumar"),  # two changed over
        ("recpetion", "114"),
        ("nanadkumra", "Priya Nandakumar"),  # two slips in a long word
        ("frnt desk", "114-1:A"),
    ],
)
def test_a_misspelling_is_forgiven_when_nothing_matches(
    found: Found, typed: str, name: str
) -> None:
    assert names(found(typed))[0] == name


def test_two_slips_in_a_short_word_are_another_word(found: Found) -> None:
    assert found("plyra") == ()
    assert found("xyz") == ()


def test_the_fewest_slips_win(found: Found, change: Change) -> None:
    change("space 121", notes="two double receptacles")
    assert names(found("recepton")) == ["114"]


def test_what_matches_as_typed_is_not_joined_by_what_is_merely_like_it(
    found: Found, add: Add
) -> None:
    add("contact", identifier="Prita Vane")
    assert names(found("priya")) == ["Priya Nandakumar", "SW1 / admin"]


# The order. -------------------------------------------------------------------------------


def test_the_exact_name_then_names_that_begin_so_then_names_that_hold_it(
    found: Found, add: Add
) -> None:
    add("hardware", identifier="OLD-SW1", form="switch")
    add("hardware", identifier="SW10", form="switch")
    order = names(found("sw1"))
    assert order[0] == "SW1"
    assert order.index("SW10") < order.index("SW1:01") < order.index("OLD-SW1")
    assert order.index("OLD-SW1") < order.index("C-0001")  # whose end B is SW1:01


def test_the_device_of_exactly_that_address_comes_before_addresses_that_begin_so(
    found: Found,
) -> None:
    assert names(found("192.0.2.2"))[:3] == ["192.0.2.2", "SW1", "192.0.2.20"]


def test_names_come_in_the_order_people_count(found: Found, add: Add) -> None:
    for label in ("10", "2", "1"):
        add("port", hardware="114-1", label=label)
    order = names(found("114-1:"))
    assert order.index("114-1:2") < order.index("114-1:10")


def test_what_is_removed_or_former_comes_last(found: Found, change: Change, add: Add) -> None:
    add("contact", identifier="Priya Vane")
    change("Priya Nandakumar", status="former")
    assert names(found("priya"))[0] == "Priya Vane"
    change("hardware SW1", status="removed")
    assert names(found("sw1"))[-1] == "SW1"
    assert found("sw1")[-1].line == "removed, 1A-R1 U16, 192.0.2.2"
    assert names(found("nandakmar"))[-1] == "Priya Nandakumar"


def test_no_more_than_the_limit(closet: BinderFile) -> None:
    assert len(find(closet, "sw1", 3)) == 3
    assert find(closet, "sw1", 0) == ()


# The answer. ------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("typed", "line"),
    [
        ("114-1:A", "SW1:01, VLAN 20, PoE type 2, front desk phone"),
        ("1A-A:01", "SW1:01, VLAN 20, PoE type 2"),
        ("114-1:B", "not patched to a switch"),
        ("SW1:01", "VLAN 20, PoE type 2, to PH1:1"),
        ("SW1:09", "uplink, to GW1:LAN1"),
        ("SW1:05", "VLAN 20, PoE type 2, nothing plugged in"),
        ("114-1", "A: SW1:01, VLAN 20, PoE type 2; B: not patched to a switch; 114 Reception"),
        ("1A-A01", "1A-A:01 to 114-1:A, SW1:01, VLAN 20, PoE type 2"),
        ("C-0006", "114-1:A to PH1:1, SW1:01, VLAN 20, PoE type 2"),
        ("SW1", "1A-R1 U16, 192.0.2.2"),
        ("PH1", "114 Reception, from SW1:01, VLAN 20, PoE type 2"),
        ("reception", "Reception, room, B1, outlets 114-1"),
        ("priya", "practice manager, office +1 312 555 0100, mobile +1 312 555 0101"),
        ("printer1", "printer1, MAC 00-00-5E-00-53-0A, staff"),
    ],
)
def test_the_line_beside_a_hit_is_the_answer(found: Found, typed: str, line: str) -> None:
    assert found(typed)[0].line == line


def test_a_cord_that_leads_nowhere_is_plugged_in_all_the_same(found: Found, add: Add) -> None:
    add("port", hardware="1A-A", label="24")
    add("cord", port_a="SW1:05", port_b="1A-A:24")
    line = "VLAN 20, PoE type 2, to 1A-A:24, which leads nowhere"
    assert found("SW1:05")[0].line == line


def test_a_cord_to_a_switch_tells_its_port_once(found: Found) -> None:
    cord = next(hit for hit in found("C-0001") if hit.kind == "cord")
    assert cord.line == "1A-A:01 to SW1:01, VLAN 20, PoE type 2"


def test_a_circuit_answers_with_whom_to_call_and_its_id(found: Found, change: Change) -> None:
    change(
        "circuit fibre", circuit_id="LKF-1", support_phone="+1 312 555 0160",
        support_phone_24h="+1 312 555 0161",
    )  # fmt: skip
    answer = "support +1 312 555 0160, circuit ID LKF-1, 24 h +1 312 555 0161"
    assert found("fibre")[0].line == answer


def test_a_bad_jack_says_so(found: Found, change: Change) -> None:
    change("114-1:B", condition="bad", condition_reason="bent contact, pin 4")
    assert found("114-1:B")[0].line == "not patched to a switch, bad: bent contact, pin 4"


@pytest.mark.parametrize(
    ("typed", "field", "value"),
    [
        ("SW1", "Name", "SW1"),
        ("front", "Current use", "front desk phone"),
        ("0000.5e00.5301", "MAC", "00-00-5E-00-53-01"),
        ("555-0101", "Mobile phone", "+1 312 555 0101"),
        ("vlan 20", "VLAN", "20"),
    ],
)
def test_where_it_matched_is_told(found: Found, typed: str, field: str, value: str) -> None:
    assert (found(typed)[0].field, found(typed)[0].value) == (field, value)


def test_the_name_of_what_a_record_refers_to_is_told_by_the_label_of_the_reference(
    found: Found,
) -> None:
    hit = next(hit for hit in found("PH1:1") if hit.kind == "cord")
    assert (hit.field, hit.value) == ("End B", "PH1:1")


def test_of_several_lines_the_one_that_matched_is_told(found: Found, change: Change) -> None:
    change("space 114", hazards="low beam over the door\noxygen store next door")
    assert found("oxygen")[0].value == "oxygen store next door"


# For any text. ----------------------------------------------------------------------------

on_one_binder = settings(
    suppress_health_check=[HealthCheck.function_scoped_fixture], max_examples=200, deadline=None
)
SYNTAX = st.text(alphabet="\"*^(){}[]:+-.,%_\\'/ ANDORTNEAabc019\x00\n\ud800é漢", max_size=60)


@given(text=st.text(max_size=80) | SYNTAX)
@on_one_binder
def test_no_text_is_an_error(closet: BinderFile, text: str) -> None:
    for hit in find(closet, text):
        assert resolve(closet, hit.name, hit.kind).id == hit.id


@pytest.mark.parametrize("text", ["x" * 100_000, "zq " * 20_000, '"' * 999, "%" * 60_000])
def test_a_page_pasted_by_mistake_is_no_error(closet: BinderFile, text: str) -> None:
    assert find(closet, text) == ()


def typed_name() -> st.SearchStrategy[str]:
    """A name as a form takes it: one line, no NUL, no half of a pair, no blanks around it."""
    shown = st.text(
        st.characters(codec="utf-8", exclude_characters="\x00\n"), min_size=1, max_size=40
    )
    return shown.map(str.strip).filter(bool)


@given(name=typed_name())
@on_one_binder
def test_any_record_is_found_first_by_its_own_name(
    closet: BinderFile, editor: Editor, name: str
) -> None:
    with closet.reading() as connection:
        taken = connection.execute("SELECT 1 FROM record WHERE name = ?", (name,)).fetchone()
    assume(not taken)
    with editor.step("a name") as step:
        record_id = step.add("contact", {"identifier": name})
    hit = find(closet, name)[0]
    editor.undo()
    assert (hit.id, hit.field, hit.value) == (record_id, "Name", name)


@given(data=st.data())
@on_one_binder
def test_a_part_of_three_letters_of_a_name_finds_it(
    closet: BinderFile, editor: Editor, data: st.DataObject
) -> None:
    name = data.draw(st.text("abcdefghXYZ-: 0123é", min_size=3, max_size=20).map(str.strip))
    start = data.draw(st.integers(0, max(0, len(name) - 3)))
    part = name[start : data.draw(st.integers(start + 3, max(start + 3, len(name))))]
    assume(len(part.strip()) == len(part) >= 3 and " " not in part)
    with editor.step("a name") as step:
        record_id = step.add("contact", {"identifier": f"{name} of the tests"})
    hits = find(closet, part, 1000)
    editor.undo()
    assert record_id in [hit.id for hit in hits]


# What it costs. ---------------------------------------------------------------------------


def test_sqlite_is_asked_as_often_for_fifty_hits_as_for_one_of_each_kind(
    closet: BinderFile, add: Add
) -> None:
    def asked(text: str, limit: int) -> int:
        statements: list[str] = []
        closet.connection.set_trace_callback(statements.append)
        kinds = {hit.kind for hit in find(closet, text, limit)}
        closet.connection.set_trace_callback(None)
        ours = [s for s in statements if s.startswith(("SELECT", "WITH")) and "'main'" not in s]
        assert len(ours) > len(kinds)
        return len(ours) - len(kinds)

    many = asked("114-1", 50)
    for label in ("C", "D", "E", "F", "G", "H"):
        add("port", hardware="114-1", label=label, current_use="spare desk")
    assert asked("114-1", 50) == many


def test_the_imports_of_find_are_those_of_a_command_that_answers_at_once() -> None:
    heavy = "textual rich jinja2 cryptography sqlite_utils dateutil rapidfuzz markdown_it wcwidth"
    code = (
        "import sys, binder.find, binder.file\n"
        f"print(*(set({heavy.split()!r}) & {{name.split('.')[0] for name in sys.modules}}))"
    )
    ran = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert ran.stdout.strip() == ""
