"""The index holds what people ask for, as it stands, and nothing of what is gone."""

from __future__ import annotations

from collections.abc import Callable

import pytest

from binder import search_index
from binder.edit import Editor
from binder.file import BinderFile

IdOf = Callable[[str], int]
Add = Callable[..., int]
Change = Callable[..., None]


def document(binder: BinderFile, record_id: int) -> tuple[str, list[str], list[str]]:
    """Name, and the pieces of body and compact, of a record."""
    row = binder.connection.execute(
        "SELECT name, body, compact FROM search WHERE rowid = ?", (record_id,)
    ).fetchone()
    return row[0], row[1].split("\n"), row[2].split("\n")


def matches(binder: BinderFile, words: str) -> set[str]:
    rows = binder.connection.execute("SELECT name FROM search WHERE search MATCH ?", (words,))
    return {row[0] for row in rows}


def whole_index(binder: BinderFile) -> list[tuple[int, str, str, str]]:
    rows = binder.connection.execute("SELECT rowid, name, body, compact FROM search ORDER BY 1")
    return [tuple(row) for row in rows]


@pytest.fixture
def line(closet: BinderFile, add: Add) -> int:
    """A leased line, in words that nothing else in the closet has."""
    return add(
        "circuit", identifier="leased line", service="private line", provider="Ochre Heron Lines",
        circuit_id="OHL-77/3.b", support_phone="+1 (312) 555-0188", handoff_port="ONT1:1",
    )  # fmt: skip


def test_a_record_is_found_by_its_words_and_by_what_it_refers_to(
    closet: BinderFile, line: int
) -> None:
    name, body, _ = document(closet, line)
    assert name == "leased line"
    for word in ("Ochre Heron Lines", "OHL-77/3.b", "ONT1:1", "+1 (312) 555-0188"):
        assert word in body


def test_what_kind_of_thing_it_is_is_asked_for(closet: BinderFile, id_of: IdOf) -> None:
    assert "switch" in document(closet, id_of("hardware SW1"))[1]


def test_numbers_are_found_without_their_punctuation(
    closet: BinderFile, line: int, id_of: IdOf
) -> None:
    assert "13125550188" in document(closet, line)[2]
    assert "ohl773b" in document(closet, line)[2]
    assert "00005e005301" in document(closet, id_of("hardware SW1"))[2]
    assert matches(closet, '"3125550188"') == {"leased line"}


@pytest.mark.parametrize("part", ["heron", "CHRE HER", "hRE h", "ohl773", "OHL-77/3"])
def test_any_part_in_any_case(closet: BinderFile, line: int, part: str) -> None:
    # SQLite, FTS5, "The Trigram Tokenizer": any three characters or more, in any case.
    assert matches(closet, f'"{part}"') == {"leased line"}


def test_what_nothing_is_called(closet: BinderFile, line: int) -> None:
    assert matches(closet, '"zzz"') == set()
    assert matches(closet, '"he"') == set()  # below three characters the index answers nothing


def test_it_follows_a_change(closet: BinderFile, change: Change) -> None:
    assert matches(closet, '"turquoise"') == set()
    change("SW1:02", current_use="the turquoise phone")
    assert matches(closet, '"turquoise"') == {"SW1:02"}
    change("SW1:02", current_use=None)
    assert matches(closet, '"turquoise"') == set()


def test_it_follows_a_name_to_those_who_mention_it(closet: BinderFile, change: Change) -> None:
    # The cord mentions a port that is named after the switch.
    change("hardware SW1", identifier="TURQUOISE")
    assert {"TURQUOISE", "TURQUOISE:01", "C-0001", "192.0.2.2"} <= matches(closet, '"turquoise"')
    assert "TURQUOISE:01" in matches(closet, '"quoise:01"')
    assert matches(closet, '"SW1:01"') == set()


def test_a_removed_record_is_not_found(closet: BinderFile, editor: Editor, line: int) -> None:
    with editor.step("remove") as step:
        step.remove(line)
    assert matches(closet, '"ochre"') == set()
    editor.undo()
    assert matches(closet, '"ochre"') == {"leased line"}


def test_kept_in_step_it_is_the_one_made_anew(
    closet: BinderFile, editor: Editor, id_of: IdOf, change: Change
) -> None:
    change("hardware 114-1", identifier="114-9")
    with editor.step("remove") as step:
        step.remove(id_of("ONT1"), with_dependents=True)
    kept = whole_index(closet)
    with closet.writing() as connection:
        search_index.rebuild(connection)
    assert whole_index(closet) == kept


def test_more_records_at_once_than_a_statement_takes(binder: BinderFile, editor: Editor) -> None:
    with editor.step("add") as step:
        step.add_many("building", [{"identifier": f"turquoise {n}"} for n in range(1200)])
    assert len(matches(binder, '"turquoise"')) == 1200


def test_every_record_is_in_it_once(closet: BinderFile) -> None:
    ids = [row[0] for row in closet.connection.execute("SELECT id FROM record ORDER BY id")]
    assert [row[0] for row in whole_index(closet)] == ids
