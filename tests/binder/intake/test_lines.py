"""Lines that were pasted or typed, read into records of a kind.

Cells between commas: RFC 4180. Cells between tabs and between blanks: common practice, no published
source. Port and panel identifiers are in the forms of ANSI/TIA-606.
"""

from __future__ import annotations

import csv
import io
import tempfile
from collections.abc import Callable
from datetime import UTC, date, datetime
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from binder.edit import Editor
from binder.errors import FaultsError, RequestError
from binder.file import BinderFile, create
from binder.intake.lines import propose
from binder.intake.table import BLANKS, COMMAS, LINES, TABS, Row, table
from binder.proposal import CHANGE, Proposal, rehearsed, write
from binder.read import read, read_where, reference_names, resolve
from binder.records.catalog import BY_NAME
from binder.records.values import show
from tests.binder.generated import PAYLOADS

NOW = datetime(2026, 3, 14, 9, 40, tzinfo=UTC)


def proposed(binder: BinderFile, kind: str, text: str, **more: Any) -> Proposal:
    return propose(binder, BY_NAME[kind], text, now=NOW, **more)


def faults(proposal: Proposal) -> list[str]:
    return [str(fault) for fault in proposal.faults]


# Columns and rows. ------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("text", "parted_by", "cells"),
    [
        ("a\tb\nc\t", TABS, [("a", "b"), ("c", "")]),
        ('a,"b, ""c"""\r\nd,e', COMMAS, [("a", 'b, "c"'), ("d", "e")]),
        ('a,"two\nlines"', COMMAS, [("a", "two\nlines")]),
        ("Port    Use\nSW1:01  front desk", BLANKS, [("Port", "Use"), ("SW1:01", "front desk")]),
        ("one thing\nanother", LINES, [("one thing",), ("another",)]),
        ('5" pipe\tx\n"north\ty', TABS, [('5" pipe', "x"), ('"north', "y")]),
    ],
)  # fmt: skip
def test_what_parts_the_cells_is_seen(
    text: str, parted_by: str, cells: list[tuple[str, ...]]
) -> None:
    found = table(text)
    assert (found.parted_by, [row.cells for row in found.rows]) == (parted_by, cells)


def test_an_empty_cell_between_blanks_is_seen_under_its_heading() -> None:
    found = table("Port    VLAN  Use\nSW1:01        front desk\nSW1:02  20    camera\n")
    assert [row.cells for row in found.rows][1:] == [
        ("SW1:01", "", "front desk"), ("SW1:02", "20", "camera"),
    ]  # fmt: skip


def test_lines_keep_their_numbers_over_empty_ones_and_cells_of_several() -> None:
    assert [row.line for row in table('\ufeffa,b\n\n"two\nlines",c\nd,e\n').rows] == [1, 3, 5]


def test_a_quote_left_open_is_told_with_its_line() -> None:
    with pytest.raises(RequestError, match="line 2: a quote"):
        table('a,b\nc,"d\ne,f')


@pytest.mark.parametrize("text", ["", " \n\t\n"])
def test_nothing_is_said_to_be_nothing(text: str) -> None:
    with pytest.raises(RequestError, match="nothing in it"):
        table(text)


# Records. ---------------------------------------------------------------------------------


def test_ports_are_made_from_a_spreadsheet_in_one_step(closet: BinderFile, editor: Editor) -> None:
    text = "label\tHARDWARE\tVlan\tCurrent use\n10\tSW1\t30\tcamera, north\n11\tsw1\t\t=1+1\n"
    proposal = rehearsed(editor, proposed(closet, "port", text))
    assert proposal.told == "2 to add"
    assert [one.name for one in proposal.records] == ["SW1:10", "SW1:11"]
    write(editor, proposal)
    made = read(closet, resolve(closet, "SW1:11").id)
    assert (made["vlan"], made["current_use"], made["connector"]) == (None, "=1+1", "8P8C")
    editor.undo()
    with pytest.raises(RequestError):
        resolve(closet, "SW1:10")


def test_without_a_heading_the_columns_are_those_of_the_list_and_that_is_told(
    closet: BinderFile, editor: Editor
) -> None:
    proposal = proposed(closet, "link", "1A-A04,1A-A:04,SW1:04,6A,38 ft\n1A-A05,1A-A:05,,5e,")
    assert proposal.notes == (
        "no line names the columns; read as: Link, Panel end, Far end, Category, Length",
    )
    write(editor, rehearsed(editor, proposal))
    made = read(closet, resolve(closet, "1A-A04", "link").id)
    assert made["length_m"] == pytest.approx(38 * 0.3048)  # the international foot, 1959


def test_dates_are_read_as_in_a_form(closet: BinderFile, editor: Editor) -> None:
    text = "Link\tInstalled on\n1A-A04\t+30d\n1A-A05\ttoday"
    proposal = proposed(closet, "link", text)
    assert [one.values["installed_on"] for one in proposal.records] == ["2026-04-13", "2026-03-14"]


def test_cords_are_numbered_when_no_identifier_is_given(closet: BinderFile, editor: Editor) -> None:
    proposal = proposed(closet, "cord", "End A\tEnd B\n1A-A:04\tSW1:04\n1A-A:05\tSW1:05")
    assert [one.name for one in proposal.records] == ["C-0008", "C-0009"]
    write(editor, rehearsed(editor, proposal))


def test_a_record_may_refer_to_one_of_the_same_paste(closet: BinderFile, editor: Editor) -> None:
    """A retest follows the test before it, whichever line it stands on."""
    text = (
        "Test\tLink\tTested on\tResult\tFollows\n"
        "T-0101\t1A-A01\t2026-03-02\tpass\tT-0100\nT-0100\t1A-A01\t2026-03-01\tfail\t"
    )
    write(editor, rehearsed(editor, proposed(closet, "test", text)))
    second = read(closet, resolve(closet, "T-0101").id)
    assert second["follows"] == resolve(closet, "T-0100").id


def test_every_fault_is_told_by_line_and_column_and_nothing_is_added(
    closet: BinderFile, editor: Editor
) -> None:
    text = "Port\tVLAN\tRole\nSW1:10\t4095\tedge\nSW9:01\t20\tedge\nSW1:11\t20\ttrunk\n\t20\tedge"
    proposal = rehearsed(editor, proposed(closet, "port", text))
    assert faults(proposal) == [
        "line 2, VLAN: VLAN is from 1 to 4094 (given: 4095)",
        "line 3, Hardware: no hardware is named 'SW9' (given: SW9)",
        "line 4, Role: Role is one of: edge, uplink, hand-off (given: trunk)",
        "line 5: a port is named like 1A-A:07",
        "line 5, Hardware: Hardware is required, like 1A-A",
        "line 5, Label: Label is required, like 07",
    ]
    with pytest.raises(FaultsError):
        write(editor, proposal)
    assert not read_where(closet, BY_NAME["port"], "t.label = '10'")


def test_a_column_that_no_field_is_called_is_a_fault_and_not_dropped(closet: BinderFile) -> None:
    says = faults(proposed(closet, "port", "Port\tSpeed\tVLAN\nSW1:10\tfast\t20"))
    assert len(says) == 1
    assert says[0].startswith("line 1: no column is called so; there are: hardware, label")


def test_what_a_screen_cut_off_is_no_value(closet: BinderFile) -> None:
    says = faults(proposed(closet, "port", "Port    Current use\nSW1:10  front desk ph…"))
    assert says == [
        "line 2, Current use: cut off by a screen; type it in full (given: front desk ph…)"
    ]


def test_what_the_list_computes_is_passed_over(closet: BinderFile) -> None:
    proposal = proposed(closet, "port", "Port\tconnected to\tRole\nSW1:10\tcord 1A-A:01\tuplink")
    assert not proposal.faults
    assert proposal.records[0].values["role"] == "uplink"


def test_a_name_that_stands_twice_is_told_with_both_lines(closet: BinderFile) -> None:
    says = faults(proposed(closet, "port", "Port\tVLAN\nSW1:10\t20\nsw1:10\t30"))
    assert says == ["line 3: line 2 has that name already (given: sw1:10)"]


def test_what_the_database_would_refuse_is_told_by_line(closet: BinderFile, editor: Editor) -> None:
    text = "End A\tEnd B\n1A-A:04\tSW1:04\n1A-A:01\tSW1:05"
    assert faults(rehearsed(editor, proposed(closet, "cord", text))) == [
        "line 3: a port has at most one cord at its front; take the other one out first"
    ]


def test_the_client_has_one_sheet(closet: BinderFile) -> None:
    with pytest.raises(RequestError, match="exactly one client"):
        proposed(closet, "client", "x")


# Those that are there. --------------------------------------------------------------------


def test_a_name_that_is_there_is_a_fault_until_changing_is_chosen(
    closet: BinderFile, editor: Editor
) -> None:
    text = "Port\tVLAN\tCurrent use\nSW1:01\t30\t\nSW1:02\t20\t\nSW1:10\t20\t"
    taken = proposed(closet, "port", text)
    assert [one.is_taken for one in taken.records] == [True, True, False]
    assert faults(taken)[0] == "line 2: is in the binder already (given: SW1:01)"
    proposal = rehearsed(editor, proposed(closet, "port", text, change_existing=True))
    assert proposal.told == "1 to add, 1 to change, 1 left alone"
    assert [(s.before, s.after) for s in proposal.records[0].settings] == [("20", "30")]
    write(editor, proposal)
    assert read(closet, resolve(closet, "SW1:01").id)["vlan"] == 30


def test_an_empty_cell_empties_nothing_that_is_there(
    closet: BinderFile, editor: Editor, change: Callable[..., None]
) -> None:
    change("SW1:01", current_use="front desk phone")
    text = "Port\tVLAN\tCurrent use\nSW1:01\t30\t"
    proposal = proposed(closet, "port", text, change_existing=True)
    assert proposal.records[0].act == CHANGE
    write(editor, proposal)
    assert read(closet, resolve(closet, "SW1:01").id)["current_use"] == "front desk phone"


# There and back. --------------------------------------------------------------------------

_TEXT = st.sampled_from(PAYLOADS).map(str.strip) | st.from_regex(
    r"\A[A-Za-z=+@\-][ -~]{0,9}[!-~]\Z"
)
_NAMES = st.lists(
    st.from_regex(r"\A[0-9A-Z]{1,4}-[A-Z][0-9]{0,3}\Z"), min_size=1, max_size=6, unique=True
)


def as_listed(binder: BinderFile, kind_name: str, delimiter: str) -> str:
    """What the list of a kind shows, with its headings, as a spreadsheet would copy it."""
    kind = BY_NAME[kind_name]
    records = read_where(binder, kind)
    named = reference_names(binder, records)
    fields = [kind.field(column) for column in kind.columns]
    out = io.StringIO()
    writer = csv.writer(out, delimiter=delimiter)
    writer.writerow([kind.label, *(field.label for field in fields), "Status"])
    for record in records:
        cells = [record.name]
        for field in fields:
            value = record[field.name]
            is_named = field.is_reference and value is not None
            shown = show(field, value, system="metric", zone="UTC")
            cells.append(named[value].name if is_named else shown)
        writer.writerow([*cells, record["status"]])
    return out.getvalue()


def stored(binder: BinderFile, kind_name: str) -> list[tuple[Any, ...]]:
    """The values that the list shows, references by name."""
    kind = BY_NAME[kind_name]
    records = read_where(binder, kind)
    named = reference_names(binder, records)
    shown = (*kind.columns, "status")
    return [
        (one.name, *(named[one[f]].name if one[f] in named else one[f] for f in shown))
        for one in records
    ]


@settings(deadline=None, max_examples=40)
@given(_NAMES, st.data(), st.sampled_from(["\t", ","]))
def test_what_a_list_shows_pasted_into_an_empty_binder_is_the_same(
    names: list[str], data: st.DataObject, delimiter: str
) -> None:
    """Hardware, its ports and links: names, text, choices, numbers, quantities, references."""
    uses = st.none() | _TEXT.filter(lambda text: bool(text) and "\r" not in text)
    with tempfile.TemporaryDirectory() as folder:
        first, second = (
            create(Path(folder) / f"{name}.binder", "Q", unit_system="metric") for name in "ab"
        )
        with first, second:
            with Editor(first, "M. Osei").step("as installed") as step:
                for name in names:
                    model = data.draw(uses)
                    hardware = step.add(
                        "hardware", {"identifier": name, "form": "switch", "model": model}
                    )
                    vlan = data.draw(st.none() | st.integers(1, 4094))
                    port = {"hardware": hardware, "label": "01", "vlan": vlan,
                            "current_use": data.draw(uses)}  # fmt: skip
                    port_a = step.add("port", port)
                    length_m = data.draw(st.none() | st.integers(1, 90).map(float))
                    link = {"identifier": name, "port_a": port_a, "length_m": length_m,
                            "cable": "4-pair"}  # fmt: skip
                    step.add("link", link)
            editor = Editor(second, "R. Adeyemi")
            for kind in ("hardware", "port", "link"):
                text = as_listed(first, kind, delimiter)
                write(editor, rehearsed(editor, proposed(second, kind, text)))
                assert stored(second, kind) == stored(first, kind)


@settings(deadline=None)
@given(st.text(st.characters(exclude_categories=["Cs"], exclude_characters="\x00"), max_size=80))
def test_any_text_is_read_or_refused(text: str) -> None:
    if text.strip():
        rows = read_or_refused(text)
        assert all(any(cell.strip() for cell in row.cells) for row in rows)
        assert [row.line for row in rows] == sorted({row.line for row in rows})


def read_or_refused(text: str) -> tuple[Row, ...]:
    try:
        return table(text).rows
    except RequestError:  # any other exception is a fault of ours
        return ()


def test_a_long_paste_is_refused_before_it_is_read() -> None:
    with pytest.raises(RequestError, match="more than 20,000 lines"):
        table("x\n" * 20_001)


def test_the_day_is_the_clients(closet: BinderFile, change: Callable[..., None]) -> None:
    """At 09:40 UTC it is the next day already on the Line Islands (UTC+14, tz database)."""
    sheet = read_where(closet, BY_NAME["client"])[0]
    with Editor(closet, "M. Osei").step("zone") as step:
        step.change(sheet.id, {"time_zone": "Pacific/Kiritimati"})
    at = datetime(2026, 3, 14, 11, 0, tzinfo=UTC)
    text = "Link\tInstalled on\n1A-A04\ttoday"
    proposal = propose(closet, BY_NAME["link"], text, now=at)
    assert proposal.records[0].values["installed_on"] == date(2026, 3, 15).isoformat()
