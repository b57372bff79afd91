"""Links and cords in series, and what a copy is called: the next of its kind."""

from __future__ import annotations

from collections.abc import Callable
from datetime import UTC, datetime

import pytest

from binder.edit import Editor
from binder.errors import RequestError
from binder.file import BinderFile
from binder.numbering import next_free, next_port
from binder.pairing import join
from binder.proposal import rehearsed, write
from binder.read import names, read, read_where, resolve
from binder.records.catalog import BY_NAME

NOW = datetime(2026, 3, 14, 9, 40, tzinfo=UTC)
LINK, CORD = BY_NAME["link"], BY_NAME["cord"]
Add = Callable[..., int]


def test_a_panel_is_linked_to_outlets_and_named_as_the_standard_has_it(
    closet: BinderFile, editor: Editor, add: Add
) -> None:
    """Horizontal link identifier: space, panel and port, 1A-A04 (ANSI/TIA-606)."""
    add("hardware", identifier="115-1", form="outlet", space="114")
    for label in "ABC":
        add("port", hardware="115-1", label=label)
    shared = {"cable": "4-pair", "category": "6A", "installed_on": "2026-03-10"}
    proposal = join(closet, LINK, "1A-A:04..06", "115-1:*", shared=shared, now=NOW)
    write(editor, rehearsed(editor, proposal))
    made = read_where(closet, LINK, "t.installed_on = '2026-03-10'")
    ends = names(closet, [one[end] for one in made for end in ("port_a", "port_b")])
    assert [
        (one.name, ends[one["port_a"]].name, ends[one["port_b"]].name, one["category"])
        for one in made
    ] == [
        ("1A-A04", "1A-A:04", "115-1:A", "6A"),
        ("1A-A05", "1A-A:05", "115-1:B", "6A"),
        ("1A-A06", "1A-A:06", "115-1:C", "6A"),
    ]
    editor.undo()
    assert not read_where(closet, LINK, "t.installed_on = '2026-03-10'")


def test_identifiers_count_on_from_the_first(closet: BinderFile) -> None:
    proposal = join(closet, LINK, "1A-A:04..06", "SW1:04..06", first="H-098", shared={}, now=NOW)
    assert [one.name for one in proposal.records] == ["H-098", "H-099", "H-100"]


def test_cords_are_numbered_by_the_program(closet: BinderFile) -> None:
    proposal = join(closet, CORD, "1A-A:04..05", "SW1:04..05", shared={}, now=NOW)
    assert [one.name for one in proposal.records] == ["C-0008", "C-0009"]


def test_ranges_of_two_lengths_are_refused(closet: BinderFile) -> None:
    with pytest.raises(RequestError, match=r"3 ports at the one end .* and 2 at the other"):
        join(closet, LINK, "1A-A:04..06", "SW1:04..05", shared={}, now=NOW)


def test_a_taken_port_is_told_with_what_is_in_it(closet: BinderFile, editor: Editor) -> None:
    proposal = rehearsed(
        editor, join(closet, CORD, "1A-A:01..02", "SW1:05..06", shared={}, now=NOW)
    )
    assert [str(fault) for fault in proposal.faults] == ["C-0008: 1A-A:01 is taken by cord C-0001"]


def test_a_port_joined_to_itself_is_refused(closet: BinderFile, editor: Editor) -> None:
    proposal = join(closet, CORD, "SW1:04..05", "SW1:04..05", shared={}, now=NOW)
    says = {fault.says for fault in rehearsed(editor, proposal).faults}
    assert says == {"a cord needs two different ports"}


# Copies. ----------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("name", "following"),
    [
        ("link 1A-A02", {"identifier": "1A-A04"}),  # 1A-A03 is there
        ("hardware SW1", {"identifier": "SW2"}),
        ("port SW1:08", {"label": "10", "position": 9}),  # 09 is there
        ("port 114-1:A", {"label": "C"}),
        ("address 192.0.2.2", {"ip": "192.0.2.3"}),
        ("cord C-0001", {}),  # numbered when it is filed
    ],
)
def test_a_copy_counts_on_to_what_is_free(
    closet: BinderFile, name: str, following: dict[str, str]
) -> None:
    assert next_free(closet, read(closet, resolve(closet, name).id)) == following


def test_an_issue_counts_on_as_a_number(closet: BinderFile, add: Add) -> None:
    issue = add("issue", document="handoff", number=3, issued_on="2026-03-01")
    assert next_free(closet, read(closet, issue)) == {"number": 4}


def test_after_the_last_address_there_is_none(closet: BinderFile, add: Add) -> None:
    last = add("address", ip="255.255.255.255")
    assert next_free(closet, read(closet, last)) == {}


def test_the_next_port_is_offered_only_when_it_is_free(
    closet: BinderFile, id_of: Callable[[str], int]
) -> None:
    assert next_port(closet, id_of("SW1:01"), "cord") == id_of("SW1:02")
    assert next_port(closet, id_of("SW1:02"), "cord") is None  # SW1:03 has a cord
    assert next_port(closet, id_of("1A-A:01"), "link") is None
    assert next_port(closet, id_of("1A-A:06"), "link") is None  # the last of the panel
