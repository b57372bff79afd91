"""Identifiers against ANSI/TIA-606: editions A (2002), A-1 (2008), B (2012), and TIA-942 (2005)."""

from __future__ import annotations

import re

import pytest
from hypothesis import assume, example, given
from hypothesis import strategies as st

from binder.identifiers import (
    LONGEST_SERIES,
    TERMINATION_COLOURS,
    administration_class,
    check,
    far_end_label,
    natural_key,
    next_identifier,
    parse,
    series,
)
from binder.tia606 import (
    BuildingBackbone,
    Busbar,
    Cabinet,
    CampusBackbone,
    Firestop,
    Form,
    HorizontalLink,
    Identifier,
    Panel,
    Port,
    PortLink,
    Rack,
    Space,
)

# ANSI/TIA-606-A (2002) formats; which examples are printed there and which only fit, as noted.
TIA_606_A = [
    ("1A", Space("1", "A")),
    ("1B", Space("1", "B")),
    ("1W", Space("1", "W")),
    ("11C", Space("11", "C")),
    ("11C-D32", HorizontalLink("11C", "D", "32")),
    ("1C-B15", HorizontalLink("1C", "B", "15")),
    ("1A-B07", HorizontalLink("1A", "B", "07")),  # fits the format
    ("1A-AB07", HorizontalLink("1A", "AB", "07")),  # the rule past 26 panels; fits the format
    ("01B/5C-D", BuildingBackbone("01B", "5C", "D", "")),
    ("1A/2B-1.04", BuildingBackbone("1A", "2B", "1", ".04")),  # value from memory
    ("[B1-1A]/[B2-2B]-1", CampusBackbone("B1", "1A", "B2", "2B", "1", "")),  # value from memory
    ("[B1-1A]/[B2-2B]-1.04", CampusBackbone("B1", "1A", "B2", "2B", "1", ".04")),  # from memory
    ("1A-TMGB", Busbar("1A", "TMGB")),  # value from memory
    ("3A-TGB", Busbar("3A", "TGB")),  # value from memory
    ("1A-PBB", Busbar("1A", "PBB")),  # the names of TIA-607-D
    ("3A-SBB", Busbar("3A", "SBB")),
    ("3-FSL02(2)", Firestop("3", "02", "2")),  # value from memory
]

# ANSI/TIA-606-A-1 (2008) and 606-B (2012); TIA-942 (2005) where noted.
TIA_606_B = [
    ("AJ05", Cabinet("", "", "AJ", "05")),  # TIA-942 floor grid; value from memory
    ("C03", Cabinet("", "", "C", "03")),
    ("DC.C03", Cabinet("DC", ".", "C", "03")),
    ("4BK01", Cabinet("4BK", "", "", "01")),
    ("DC.C03-55", Panel("DC.C03", "55")),
    ("DC.C03-14:04", Port("DC.C03", "14", ":", "04")),
    ("4BK01-55:50", Port("4BK01", "55", ":", "50")),
    ("1A.C03-14:04", Port("1A.C03", "14", ":", "04")),
    ("4BK01-55:50/DC.C03-14:04", PortLink("4BK01-55:50", "DC.C03-14:04")),
    ("AJ05-A01", Port("AJ05", "A", "", "01")),  # TIA-942; value from memory
    ("AJ05-A01/AQ03-B02", PortLink("AJ05-A01", "AQ03-B02")),  # TIA-942; value from memory
]

OUR_OWN = [("1A-R1", Rack("1A", "1")), ("1A-A", Panel("1A", "A")), ("1A-AB", Panel("1A", "AB"))]


@pytest.mark.parametrize(("text", "identifier"), TIA_606_A + TIA_606_B + OUR_OWN)
def test_an_identifier_reads_into_its_parts_and_writes_back(
    text: str, identifier: Identifier
) -> None:
    assert parse(text) == identifier
    assert identifier.text() == text
    assert check(text, identifier.form) is None
    assert check(text) is None


# None of these is a form of 606-A (section on formats; made up to break one rule each).
MISFITS: list[tuple[str, Form, str]] = [
    ("A1-B07", "horizontal link", "where 'A1-B07' stands it needs a space, floor digits then room"),
    ("1A-B", "horizontal link", "at the end it needs two to four digits of the port"),
    ("1A-7B", "horizontal link", "where '7B' stands it needs one or two letters of the panel"),
    ("1A-ABC07", "horizontal link", "where 'C07' stands it needs two to four digits of the port"),
    ("1A-B7", "horizontal link", "where '7' stands it needs two to four digits of the port"),
    ("1A-B00007", "horizontal link", "'7' is left over"),
    ("1A/2A", "building backbone cable", "at the end it needs '-'"),
    ("[B1-1A]/2B-1", "campus backbone cable", "where ']/2B-1' stands it needs ']/['"),
    ("1A-GND", "busbar", "where 'GND' stands it needs TMGB, TGB, PBB or SBB"),
    ("3-FSL02", "firestop", "at the end it needs '('"),
    ("1A-R01", "rack", "where '01' stands it needs the number of the rack"),
    ("A", "space", "where 'A' stands it needs the digits of the floor"),
    ("1A-14", "panel", "where '1A-14' stands it needs a space or a cabinet"),
    ("DC.C03-14", "port", "where '14' stands it needs the U of the panel and ':'"),
    ("DC.C03-14:04", "link between ports", "at the end it needs '/'"),
    ("C", "cabinet", "at the end it needs row letters and two or three digits"),
]


@pytest.mark.parametrize(("text", "form", "says"), MISFITS)
def test_a_misfit_is_pointed_out_in_one_sentence(text: str, form: Form, says: str) -> None:
    sentence = check(text, form)
    assert sentence is not None
    assert sentence.startswith(f"'{text}' is not a {form}")
    assert says in sentence


@pytest.mark.parametrize("text", ["A1-B07", "1A-7B", "1A-ABC07", "1A/2A", ".05", "05", "", "1A "])
def test_what_fits_no_form_is_not_parsed(text: str) -> None:
    with pytest.raises(ValueError, match="fits no form of ANSI/TIA-606"):
        parse(text)


def test_a_panel_is_not_a_horizontal_link_until_it_has_a_port() -> None:
    assert isinstance(parse("1A-B"), Panel)
    assert isinstance(parse("1A-B07"), HorizontalLink)


def test_the_tenth_rack_is_accepted_where_a_rack_is_expected() -> None:
    """`1A-R10` is also port 10 of panel R, and reads so when nothing says otherwise."""
    assert check("1A-R10", "rack") is None
    assert isinstance(parse("1A-R10"), HorizontalLink)


def test_small_letters_are_pointed_out() -> None:
    assert check("1a-b07", "horizontal link") == (
        "'1a-b07' is written in capitals in the standard: 1A-B07"
    )


def test_an_owners_own_scheme_is_pointed_out_and_nothing_more() -> None:
    """Room 0020T, rack 2, panel A, port 22: Washington State Univ. design guide 2015, 4.10.1.1."""
    assert "fits no form" in (check("0020T:2A22") or "")


def test_the_lesser_space_of_a_backbone_is_written_first() -> None:
    """ANSI/TIA-606-A; value from memory."""
    assert check("1A/2B-1", "building backbone cable") is None
    assert check("2B/1A-1", "building backbone cable") == (
        "'2B/1A-1' names the greater space first: begin with 1A"
    )
    assert check("10A/9A-1", "building backbone cable") is not None


def test_an_unknown_form_is_refused() -> None:
    with pytest.raises(ValueError, match="horizontal link"):
        check("1A", "closet")  # type: ignore[arg-type]


spaces = st.builds("{}{}".format, st.integers(1, 99), st.sampled_from(["A", "B", "BK", "W"]))
panels = st.sampled_from(["A", "Z", "AB", "R"])
ports = st.integers(1, 9999).map("{:02d}".format)
cabinets = st.one_of(
    st.builds("{}.C{:02d}".format, spaces, st.integers(1, 99)),
    st.builds("{}{:02d}".format, spaces, st.integers(1, 99)),
    st.sampled_from(["AJ05", "C03", "DC.C03"]),
)
cabinet_ports = st.one_of(
    st.builds("{}-{}:{}".format, cabinets, st.integers(1, 60), st.integers(1, 96)),
    st.builds("{}-{}{}".format, cabinets, panels, ports),
)
labels: dict[Form, st.SearchStrategy[str]] = {
    "space": spaces,
    "horizontal link": st.builds("{}-{}{}".format, spaces, panels, ports),
    "rack": st.builds("{}-R{}".format, spaces, st.integers(1, 9)),
    "panel": st.builds("{}-{}".format, spaces | cabinets, panels),
    "cabinet": cabinets,
    "port": cabinet_ports,
    "link between ports": st.builds("{}/{}".format, cabinet_ports, cabinet_ports),
}


@pytest.mark.parametrize("form", labels)
@given(st.data())
def test_every_label_of_a_form_reads_as_that_form_and_writes_back(
    form: Form, data: st.DataObject
) -> None:
    label = data.draw(labels[form])
    assert parse(label).form == form
    assert parse(label).text() == label
    assert check(label, form) is None


@given(st.text())
def test_a_sentence_about_any_text_is_printable(text: str) -> None:
    assert (check(text) or "").isprintable()


@pytest.mark.parametrize(
    ("sites", "buildings", "equipment_rooms", "telecommunications_rooms", "backbone", "expected"),
    [
        (1, 1, 1, 0, 0, 1),
        (1, 1, 1, 2, 0, 2),
        (1, 1, 1, 0, 1, 2),  # a backbone to a second space in the same building
        (1, 2, 1, 0, 0, 3),
        (2, 2, 1, 0, 0, 4),
        (2, 1, 1, 0, 0, 4),
    ],
)
def test_the_class_of_administration_follows_the_extent(
    sites: int,
    buildings: int,
    equipment_rooms: int,
    telecommunications_rooms: int,
    backbone: int,
    expected: int,
) -> None:
    """ANSI/TIA-606-A, classes 1 to 4."""
    found = administration_class(
        sites=sites,
        buildings=buildings,
        equipment_rooms=equipment_rooms,
        telecommunications_rooms=telecommunications_rooms,
        backbone_cables=backbone,
    )
    assert found == expected


def test_premises_without_a_building_have_no_class() -> None:
    with pytest.raises(ValueError, match="0 buildings: at least 1"):
        administration_class(sites=1, buildings=0, equipment_rooms=1, telecommunications_rooms=0)


def test_the_other_end_of_a_cable_has_its_ends_swapped() -> None:
    """ANSI/TIA-606-B; value from memory."""
    assert far_end_label("4BK01-55:50/DC.C03-14:04") == "DC.C03-14:04/4BK01-55:50"


def test_a_backbone_cable_has_one_identifier_at_both_ends() -> None:
    assert far_end_label("01B/5C-D") == "01B/5C-D"
    assert far_end_label("[B1-1A]/[B2-2B]-1.04") == "[B1-1A]/[B2-2B]-1.04"


@pytest.mark.parametrize("text", ["1A-A07", "/1A", "1A/", "a/b/c", ""])
def test_a_label_without_two_ends_has_no_other_end(text: str) -> None:
    with pytest.raises(ValueError, match="does not name two ends"):
        far_end_label(text)


@given(st.text(alphabet="1AB-:.[]", min_size=1), st.text(alphabet="1AB-:.[]", min_size=1))
def test_the_other_end_of_the_other_end_is_this_one(near: str, far: str) -> None:
    label = f"{near}/{far}"
    assume(far_end_label(label) != label)
    assume(far_end_label(far_end_label(label)) != far_end_label(label))
    assert far_end_label(far_end_label(label)) == label


def test_termination_fields_have_the_colours_of_the_standard() -> None:
    """ANSI/TIA-606-A table of termination-field colours. Gray is not security, orange not fibre."""
    assert set(TERMINATION_COLOURS) == {
        "orange",
        "green",
        "purple",
        "white",
        "gray",
        "brown",
        "blue",
        "yellow",
        "red",
    }
    assert "demarcation" in TERMINATION_COLOURS["orange"]
    assert "horizontal" in TERMINATION_COLOURS["blue"]
    assert "second-level backbone" in TERMINATION_COLOURS["gray"]
    assert "security" in TERMINATION_COLOURS["yellow"]


# Series ------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("text", "first", "last", "length"),
    [
        ("1A-A01..24", "1A-A01", "1A-A24", 24),
        ("1A-A01..1A-A24", "1A-A01", "1A-A24", 24),
        ("SW1:1..24", "SW1:1", "SW1:24", 24),
        ("8..12", "8", "12", 5),
        ("98..102", "98", "102", 5),
        ("098..102", "098", "102", 5),
        ("1A-A01..04, 1A-B01", "1A-A01", "1A-B01", 5),
        ("1A-A07", "1A-A07", "1A-A07", 1),
        ("P1..5000", "P1", "P5000", LONGEST_SERIES),
    ],
)
def test_a_series_counts_from_its_first_to_its_last(
    text: str, first: str, last: str, length: int
) -> None:
    identifiers = series(text)
    assert (identifiers[0], identifiers[-1], len(identifiers)) == (first, last, length)


def test_a_series_keeps_the_zeros_of_its_first_number() -> None:
    assert series("A08..11") == ("A08", "A09", "A10", "A11")
    assert series("A8..11") == ("A8", "A9", "A10", "A11")


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ("1A-A24..01", "runs backwards"),
        ("1A-A..24", "is no series: write it as 1A-A01..24"),
        ("1A-A01..", "is no series"),
        ("1A-A01..2x", "is no series"),
        ("1..2..3", "is no series"),
        ("1A-A01..1B-A24", "is no series"),
        ("P1..5001", "longer than 5000"),
        ("P1..5000,Q", "longer than 5000"),
        ("P1..999999999", "longer than 5000"),
        ("A1..3,A2", "'A2' is named twice"),
        ("A1,,A2", "empty item"),
        ("", "empty item"),
    ],
)
def test_a_series_that_cannot_be_meant_is_refused(text: str, says: str) -> None:
    with pytest.raises(ValueError, match=re.escape(says)):
        series(text)


stems = st.text(alphabet="ABXYab-:/#é", max_size=6)


@given(stems, st.integers(0, 2000), st.integers(0, 400), st.integers(1, 4))
def test_a_series_has_one_identifier_for_every_number(
    stem: str, first: int, more: int, digits: int
) -> None:
    identifiers = series(f"{stem}{first:0{digits}d}..{first + more}")
    assert len(identifiers) == more + 1
    assert [int(name.removeprefix(stem)) for name in identifiers] == [
        *range(first, first + more + 1)
    ]
    assert list(identifiers) == sorted(identifiers, key=natural_key)


@given(stems, st.integers(0, 2000), st.integers(0, 50), st.integers(1, 4))
def test_a_series_is_what_counting_on_gives(stem: str, first: int, more: int, digits: int) -> None:
    identifiers = series(f"{stem}{first:0{digits}d}..{first + more}")
    assert [next_identifier(name) for name in identifiers[:-1]] == list(identifiers[1:])


# Counting on -------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("text", "following"),
    [
        ("1A-A09", "1A-A10"),
        ("1A-A99", "1A-A100"),
        ("CAM9", "CAM10"),
        ("1A-R1", "1A-R2"),
        ("1A-A", "1A-B"),
        ("Z", "AA"),  # 606-A: more than 26 panels take two letters
        ("1A-AZ", "1A-BA"),
        ("1a-z", "1a-aa"),
        ("1A", "1B"),
        ("3-FSL02(2)", "3-FSL03(2)"),
        ("[B1-1A]/[B2-2B]-1.04", "[B1-1A]/[B2-2B]-1.05"),
        ("UPS", "UPS2"),
        ("Büro", "Büro2"),
    ],
)
def test_the_next_identifier_counts_on(text: str, following: str) -> None:
    assert next_identifier(text) == following


@pytest.mark.parametrize("text", ["", "1A-", "(2)", "#"])
def test_without_a_number_or_letter_there_is_no_next(text: str) -> None:
    with pytest.raises(ValueError, match="no number or letter"):
        next_identifier(text)


@example("\n", "0")
@given(st.text(max_size=8), st.from_regex(r"[0-9]{1,12}", fullmatch=True))
def test_counting_on_from_a_number_always_comes_later(stem: str, number: str) -> None:
    text = stem + number
    assert natural_key(next_identifier(text)) > natural_key(text)


@given(stems, st.sampled_from("ABCDEFGHIJKLMNOPQRSTUVWXY"))
def test_counting_on_from_a_letter_before_z_comes_later(stem: str, letter: str) -> None:
    text = f"{stem}-{letter}"
    assert natural_key(next_identifier(text)) > natural_key(text)


# Natural order -----------------------------------------------------------------------------


def test_numbers_sort_by_value_and_letters_whatever_their_case() -> None:
    names = ["a10", "A2", "B1", "A1", "A01", "A", "10", "9", "a2"]
    assert sorted(names, key=natural_key) == [
        *("9", "10"),
        *("A", "A01", "A1", "A2", "a2", "a10", "B1"),
    ]


@given(st.text(alphabet="aAbB019é-"), st.text(alphabet="aAbB019é-"))
def test_different_texts_never_tie(one: str, other: str) -> None:
    assert (natural_key(one) == natural_key(other)) == (one == other)


@given(stems, st.integers(0), st.integers(0), st.integers(0, 4), st.integers(0, 4))
def test_numbers_after_the_same_letters_sort_by_value(
    stem: str, one: int, other: int, zeros: int, other_zeros: int
) -> None:
    assume(one != other)
    first = natural_key(f"{stem}{'0' * zeros}{one}")
    second = natural_key(f"{stem}{'0' * other_zeros}{other}")
    assert (first < second) == (one < other)


@given(st.lists(st.text(max_size=6), max_size=12))
def test_the_order_is_total_so_that_sorting_forgets_how_it_started(names: list[str]) -> None:
    in_order = sorted(names, key=natural_key)
    assert sorted(reversed(names), key=natural_key) == in_order
