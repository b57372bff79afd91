"""The punch list, whole or sent to one trade: open items with place, day, photo and signature.

A list of items to be corrected before acceptance, by responsible party: common practice of
construction closeout, no published source.
"""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest

from binder.edit import Editor
from binder.errors import RequestError
from binder.file import BinderFile
from exporters.documents import Options
from exporters.export import export, is_as_released, release, render
from tests.exporters.conftest import TODAY
from tests.exporters.reading import PAYLOADS, page, tags
from tests.exporters.test_handoff import row

Add = Callable[..., int]
Change = Callable[..., None]
Listed = Callable[..., str]


@pytest.fixture
def listed(closet: BinderFile, add: Add) -> Listed:
    """The list as Markdown, of items of two trades: cabling open, cabling closed, electrical."""
    add("punch_item", description="relabel the outlet", trade="cabling", due_on="2026-03-01",
        subject="hardware 114-1")  # fmt: skip
    add("punch_item", description="close the firestop", trade="cabling", due_on="2026-04-01",
        space="1E")  # fmt: skip
    add("punch_item", description="dress the cords", trade="cabling", closed_on="2026-02-01",
        closed_by="K. Brandt")  # fmt: skip
    add("punch_item", description="label breaker 12", trade="electrical", space="1A")

    def listed(trade: str = "") -> str:
        options = Options(trade=trade)
        files = render(closet, "punch list", form="markdown", today=TODAY, options=options)
        return "\n".join(map(str, files.values()))

    return listed


def test_a_trade_is_sent_its_own_items_alone(listed: Listed) -> None:
    text = listed("cabling")
    assert "Punch list, cabling" in text
    assert "relabel the outlet" in text
    assert "breaker 12" not in text
    assert "lectrical" not in text


def test_without_a_trade_each_has_a_section_and_the_cover_counts_them(listed: Listed) -> None:
    text = listed()
    assert "# 1. Cabling" in text
    assert "# 2. Electrical" in text
    assert row(text, "Cabling") == ["Cabling", "2", "1", "1"] or row(text, "Cabling")[:3] == [
        "Cabling", "2", "1",
    ]  # fmt: skip


def test_the_item_due_first_stands_first_and_overdue_is_said(listed: Listed) -> None:
    text = listed("cabling")
    assert "2026-03-01, overdue" in text
    assert text.index("relabel the outlet") < text.index("close the firestop")
    assert "2026-04-01, overdue" not in text


def test_a_closed_item_is_told_apart_and_needs_no_signature(listed: Listed) -> None:
    before, _, after = listed("cabling").partition("## Closed already")
    assert "dress the cords" not in before
    assert "dress the cords" in after
    assert "Done, for the trade (cabling): ____" in after


def test_it_says_where_how_to_get_in_and_what_can_hurt_there(
    listed: Listed, change: Change
) -> None:
    change("space 1E", hazards="gas meter", access_hours="with key K-04", alarm="code 5555")
    text = listed("cabling")
    assert "114-1: 114 Reception" in text
    assert "Hazards: gas meter" in text
    assert "Access hours: with key K-04" in text
    assert "5555" not in text
    assert "Never look into the end of a fibre" in text  # cabling
    assert "gas meter" not in listed("electrical")  # no item of theirs is in that room


def test_the_photo_of_an_item_is_named(listed: Listed, add: Add) -> None:
    add("attachment", identifier="outlet without label", form="photo", subject="hardware 114-1",
        file_name="114-1.jpg")  # fmt: skip
    line = next(line for line in listed("cabling").splitlines() if "relabel" in line)
    assert "outlet without label: 114-1.jpg" in line


def test_nothing_internal_and_no_management_address_is_sent(listed: Listed, add: Add) -> None:
    add("punch_item", description="SW1 at 192.0.2.2 unlabelled", trade="cabling",
        internal_notes="they never come on Mondays")  # fmt: skip
    text = listed("cabling")
    assert "192.0.2.2" not in text
    assert "Mondays" not in text


def test_a_trade_that_there_is_not_is_refused_with_those_there_are(listed: Listed) -> None:
    with pytest.raises(RequestError, match="no trade is called 'plumbing'; there are: cabling, "):
        listed("plumbing")


def test_an_option_of_another_document_is_refused(closet: BinderFile) -> None:
    with pytest.raises(RequestError, match="the handoff takes no --trade"):
        render(closet, "handoff", form="html", today=TODAY, options=Options(trade="cabling"))


def test_its_issues_are_numbered_apart_and_give_the_same_bytes_again(
    closet: BinderFile, editor: Editor, listed: Listed, change: Change, tmp_path: Path
) -> None:
    options = Options(trade="cabling")
    release(editor, "handoff", form="html", target=tmp_path, today=TODAY, issued_to="Ann")
    made = release(editor, "punch list", form="html", target=tmp_path, today=TODAY,
                   issued_to="Lowfield", options=options)  # fmt: skip
    assert made.issue.number == 1
    assert made.files[0].name.endswith("punch-list-cabling-issue-1.html")
    assert "DRAFT" not in made.files[0].read_text()
    change("punch item P-0001", closed_on="2026-03-14")
    again = export(closet, "punch list", form="html", target=tmp_path / "again", today=TODAY,
                   issue=1, options=options)  # fmt: skip
    assert is_as_released(closet, "punch list", 1, again)


def test_what_people_typed_is_never_markup(closet: BinderFile, listed: Listed, add: Add) -> None:
    plain = page(str(*render(closet, "punch list", form="html", today=TODAY).values()))
    for payload in PAYLOADS:
        add("punch_item", description=f"item {payload}".replace("\n", " "), trade="cabling",
            owner=payload, notes=payload)  # fmt: skip
    made = page(str(*render(closet, "punch list", form="html", today=TODAY).values()))
    assert tags(made) - {"blockquote", "br"} <= tags(plain)
