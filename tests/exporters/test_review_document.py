"""The quarterly review as a document: a front page for the owner, then the figures behind it.

What it must hold: quarterly capacity reviews as practitioners publish them (common practice, no
published source). Attestations: CIS Controls v8.1, 5.1 and 5.5 (values from memory).
"""

from __future__ import annotations

import re
from collections.abc import Callable
from datetime import date
from pathlib import Path

import pytest

from binder.edit import Editor
from binder.file import BinderFile
from binder.headroom import RESOURCES, headroom
from binder.review.actions import decide, propose
from binder.review.cures import ailing
from binder.review.taken import take
from exporters.contents.review import SECTIONS
from exporters.contents.review_words import PLAIN
from exporters.export import release, render
from exporters.source import gather

Add = Callable[..., int]
Change = Callable[..., None]
IdOf = Callable[[str], int]
Pages = Callable[..., dict[str, str]]
TODAY = date(2026, 3, 14)
BEFORE = date(2025, 12, 14)
ISO_DAY = re.compile(r"\b20\d\d-\d\d-\d\d\b")


@pytest.fixture
def pages(binder: BinderFile) -> Pages:
    """The review's Markdown by the name of the section, as the binder is now."""

    def pages(today: date = TODAY) -> dict[str, str]:
        files = render(binder, "review", form="markdown", today=today)
        return {re.sub(r".*/\d\d-|\.md$", "", path): str(text) for path, text in files.items()}

    return pages


@pytest.fixture
def read_poe(closet: BinderFile, add: Add, id_of: IdOf) -> Callable[[dict[str, float]], None]:
    """Put readings of SW1's PoE draw into the binder, by day."""

    def put(values: dict[str, float]) -> None:
        for day, value in values.items():
            add("reading", subject=id_of("hardware SW1"), quantity="PoE draw W", value=value,
                read_at=f"{day}T08:00:00Z")  # fmt: skip

    return put


def lines_of(text: str, begins: str) -> list[str]:
    """The table rows whose first cell begins so, each as its cells joined by single blanks."""
    rows = (re.sub(r"\s*\|\s*", "|", line) for line in text.splitlines() if line.startswith("|"))
    return [row for row in rows if row.startswith(f"|{begins}")]


# Which review it is of. -------------------------------------------------------------------


def test_a_review_that_cannot_be_read_is_named_and_left_out(
    closet: BinderFile, editor: Editor, add: Add, pages: Pages
) -> None:
    taken = take(editor, TODAY)
    add("review", identifier="Q-typed", taken_on="2026-03-14", body="<b>by hand</b>")
    cover = " ".join(pages()["cover"].split())
    assert f"Review {taken.name}, taken on 2026-03-14" in cover
    assert "Left out, because its computation cannot be read: Q-typed." in cover


def test_without_a_review_the_front_page_says_so(closet: BinderFile, pages: Pages) -> None:
    cover = " ".join(pages()["cover"].split())
    assert (
        "No review has been taken yet. The figures are those of the records on 2026-03-14" in cover
    )
    assert "There is no earlier review to compare with." in pages()["since"]


def test_it_is_of_the_last_review_by_its_day_and_compared_with_the_one_before(
    closet: BinderFile, editor: Editor, pages: Pages
) -> None:
    take(editor, BEFORE)
    take(editor, TODAY)
    take(editor, date(2026, 6, 14))
    cover = " ".join(pages()["cover"].split())
    assert "Review Q-0002, taken on 2026-03-14 by M. Osei and compared with Q-0001" in cover
    assert "Q-0003" not in cover


def test_a_review_taken_anew_the_same_day_is_not_compared_with_itself(
    closet: BinderFile, editor: Editor, pages: Pages
) -> None:
    take(editor, BEFORE)
    take(editor, TODAY)
    take(editor, TODAY)
    assert "Q-0003, taken on 2026-03-14" in pages()["cover"]
    assert "compared with Q-0001" in " ".join(pages()["cover"].split())


def test_the_figures_are_those_of_the_review_and_not_of_later_changes(
    closet: BinderFile, editor: Editor, change: Change, pages: Pages
) -> None:
    take(editor, TODAY)
    before = lines_of(pages()["resources"], "SW1, PoE watts")
    change("hardware SW1", poe_budget_w=40.0)
    assert lines_of(pages()["resources"], "SW1, PoE watts") == before


# The front page. --------------------------------------------------------------------------


def test_every_resource_has_words_that_an_owner_understands() -> None:
    assert set(RESOURCES) <= set(PLAIN)
    jargon = re.compile(r"\b(PoE|UPS|DHCP|VLAN|uplink|rack|switch port|Mb/s|dBm?|subnet|AP)\b")
    said = [text for plain in PLAIN.values() for text in (plain.what, plain.otherwise, plain.ask)]
    assert all(said)
    assert [text for text in said if jargon.search(text)] == []


def test_the_counts_on_the_front_page_are_those_of_the_review(
    closet: BinderFile, editor: Editor, pages: Pages
) -> None:
    counts = take(editor, TODAY).headroom.counts()
    cover = " ".join(pages()["cover"].split())
    assert f"Of {sum(counts.values())} things that can run out, {counts['fine']} are fine" in cover


def test_what_is_short_is_told_plainly_with_what_happens_and_what_we_ask(
    closet: BinderFile, editor: Editor, change: Change, pages: Pages
) -> None:
    # A budget of 1 W: whatever is connected, power over the cables is beyond its limit.
    change("hardware SW1", poe_budget_w=1.0)
    take(editor, TODAY)
    cover = pages()["cover"]
    told = lines_of(cover, "Power for cameras and telephones")
    assert len(told) == 1
    assert "(SW1)" in told[0]
    assert "The next one does not start" in told[0]
    assert any("Equipment that gives more power" in line for line in cover.splitlines())


def test_an_action_that_is_decided_is_asked_for_no_more(
    closet: BinderFile, editor: Editor, change: Change, pages: Pages
) -> None:
    change("hardware SW1", poe_budget_w=1.0)
    review = take(editor, TODAY)
    ids = propose(editor, review.id, ailing(closet, review.headroom))
    assert "Equipment that gives more power" in pages()["cover"]
    for action in ids:
        decide(editor, action, "agreed", by="Priya Nandakumar", on=TODAY)
    assert "Equipment that gives more power" not in pages()["cover"]
    assert "agreed by Priya Nandakumar, asked for in Q-0001" in pages()["actions"]


def test_what_a_person_proposed_stands_as_typed(
    closet: BinderFile, editor: Editor, add: Add, id_of: IdOf, pages: Pages
) -> None:
    review = take(editor, TODAY)
    add("action", review=review.id, what="move the <b>freezer</b> to LP2-4",
        subject=id_of("hardware SW1"), cost=12_500)  # fmt: skip
    assert r"\<b>freezer" in pages()["cover"] or "freezer" in pages()["cover"]
    html = str(next(iter(render(closet, "review", form="html", today=TODAY).values())))
    assert "<b>freezer</b>" not in html
    assert "&lt;b&gt;freezer" in html


def test_a_contract_that_ends_asks_for_a_word_before_its_day_of_notice(
    closet: BinderFile, editor: Editor, change: Change, pages: Pages
) -> None:
    # 60 days before the 30th of June 2026 is the 1st of May.
    change("circuit fibre", contract_ends_on="2026-06-30", notice_days=60)
    take(editor, TODAY)
    assert "say no by 2026-05-01" in pages()["cover"]


# Dates. -----------------------------------------------------------------------------------


def test_three_readings_give_no_date_on_any_page(
    closet: BinderFile, editor: Editor, read_poe: Callable[[dict[str, float]], None], pages: Pages
) -> None:
    read_poe({"2025-09-14": 100.0, "2025-12-14": 120.0, "2026-03-14": 140.0})
    take(editor, TODAY)
    made = pages()
    (row,) = lines_of(made["resources"], "SW1, PoE watts")
    assert "|not enough readings|" in row
    assert ISO_DAY.findall(row) == []
    assert "```trend" not in made["trends"]
    after = [day for day in ISO_DAY.findall(made["trends"]) if day > TODAY.isoformat()]
    # Batteries are due by their age, which no line is drawn for.
    aged = [day for row in made["trends"].splitlines() if "battery life" in row
            for day in ISO_DAY.findall(row)]  # fmt: skip
    assert set(after) <= set(aged)


def test_four_readings_give_a_range_and_a_drawing(
    closet: BinderFile, editor: Editor, read_poe: Callable[[dict[str, float]], None], pages: Pages
) -> None:
    # 20 W more each quarter, 296 W may be planned up to: it fills within three years.
    read_poe({"2025-06-14": 80.0, "2025-09-14": 100.0, "2025-12-14": 120.0, "2026-03-14": 141.0})
    take(editor, TODAY)
    made = pages()
    (row,) = lines_of(made["resources"], "SW1, PoE watts")
    first, last = ISO_DAY.findall(row)[:2]
    assert TODAY.isoformat() < first < last
    assert "```trend trend-1\nSW1, PoE watts: +" in made["trends"]
    html = str(next(iter(render(closet, "review", form="html", today=TODAY).values())))
    assert '<svg class="trend"' in html
    assert ">today</text>" in html


# What stands behind it. -------------------------------------------------------------------


def test_every_row_of_the_review_stands_in_the_table(
    closet: BinderFile, editor: Editor, pages: Pages
) -> None:
    rows = take(editor, TODAY).headroom.rows
    table = pages()["resources"]
    assert rows
    for row in rows:
        name = ", ".join(filter(None, (row.where.name, row.resource, row.which)))
        assert any(line.startswith(f"|{name}|{row.state}|") for line in lines_of(table, name)), name


def test_bad_ports_are_told_apart_from_free_ones(
    closet: BinderFile, editor: Editor, change: Change, pages: Pages
) -> None:
    rows = {row.key: row for row in headroom(closet, today=TODAY).rows}
    whole = next(row for row in rows.values() if row.resource == "panel ports")
    port = closet.connection.execute(
        "SELECT r.name FROM port p JOIN record r ON r.id = p.id WHERE p.hardware_id = ? "
        "AND NOT EXISTS (SELECT 1 FROM link_end l WHERE l.port_id = p.id) ORDER BY p.id LIMIT 1",
        (whole.where.id,),
    ).fetchone()[0]
    change(f"port {port}", condition="bad")
    take(editor, TODAY)
    (row,) = lines_of(pages()["resources"], f"{whole.where.name}, panel ports")
    assert row.split("|")[6] == "1"


def test_what_moved_is_told_in_words(
    closet: BinderFile, editor: Editor, change: Change, pages: Pages
) -> None:
    take(editor, BEFORE)
    change("hardware SW1", poe_budget_w=400.0)
    take(editor, TODAY)
    made = pages()
    # The planning limit of PoE is 80 % of the budget: 296 of 370 W, 320 of 400 W.
    assert "limit 296 to 320 W" in made["since"]
    (row,) = lines_of(made["resources"], "SW1, PoE watts")
    assert "limit +24 W" in row
    assert re.search(r"SW1 \([^)]*PoE budget", made["since"])
    assert lines_of(made["since"], "SW1, PoE watts")  # it is called so in every table
    assert "Removed" not in made["since"]  # nothing was


def test_calls_are_summed_by_kind_since_the_review_before(
    closet: BinderFile, editor: Editor, add: Add, id_of: IdOf, pages: Pages
) -> None:
    take(editor, BEFORE)
    take(editor, TODAY)
    for day, spent, outage in (("2025-12-10", 50, 9), ("2026-01-10", 20, 5), ("2026-02-10", 55, 7)):
        entry = add("log_entry", form="call", opened_at=f"{day}T15:00:00Z", summary="no dial tone",
                    spent_min=spent, outage_min=outage)  # fmt: skip
        add("touch", log_entry=entry, subject=id_of("hardware SW1"), how="concerned")
    calls = pages()["calls"]
    # 20 + 55 and 5 + 7 minutes: the call of the 10th of December came before the earlier review.
    assert "|call|2|2|1 h 15 min|12 min|" in lines_of(calls, "call|")
    # Within a year there were three of them: 9 + 5 + 7 minutes.
    assert lines_of(calls, "SW1, switch") == ["|SW1, switch|3|2|21 min|"]


def test_what_neither_rises_nor_falls_is_listed_by_resource(
    closet: BinderFile, editor: Editor, pages: Pages
) -> None:
    for day in ("2025-06-14", "2025-09-14", "2025-12-14", "2026-03-14"):
        take(editor, date.fromisoformat(day))
    level = pages()["trends"].partition("## As it was at each review")[2]
    assert "- **Panel ports:** 1A-A" in level


def test_an_ssid_keeps_its_capitals(
    closet: BinderFile, editor: Editor, add: Add, id_of: IdOf, pages: Pages
) -> None:
    """The term is written so in IEEE 802.11."""
    for day in ("2026-01-10", "2026-02-10"):
        entry = add("log_entry", form="call", opened_at=f"{day}T15:00:00Z", summary="no Wi-Fi")
        add("touch", log_entry=entry, subject=id_of("ssid Quillmere Guest"), how="concerned")
    assert lines_of(pages()["calls"], "Quillmere Guest, SSID")


def test_accounts_that_nobody_answers_for_are_named(
    closet: BinderFile, editor: Editor, add: Add, pages: Pages
) -> None:
    add("account", system="recorder", login="desk")
    take(editor, TODAY)
    (row,) = lines_of(pages()["people"], "nobody answers for it")
    assert "recorder / desk" in row


def test_must_gaps_are_counted_by_what_is_not_so(
    closet: BinderFile, editor: Editor, pages: Pages
) -> None:
    take(editor, TODAY)
    source = gather(closet, TODAY, internal=False, document="review")
    musts = [gap.rule for gap in source.closeout.gaps if gap.severity == "must"]
    risks = pages()["risks"]
    assert musts
    for rule in set(musts):
        assert lines_of(risks, f"{rule.replace('-', ' ')}|{musts.count(rule)}|"), rule


def test_it_ends_with_lines_to_sign_and_the_next_day(
    closet: BinderFile, editor: Editor, pages: Pages
) -> None:
    review = take(editor, TODAY)
    signed = pages()["sign-off"]
    assert "2026-06-14" in signed
    assert review.fingerprint in signed
    assert signed.count("Date: ____") == 2


# As a document. ---------------------------------------------------------------------------


def test_every_section_stands_in_the_contents(closet: BinderFile, pages: Pages) -> None:
    assert len(pages()) == 1 + len(SECTIONS)


def test_no_management_address_and_no_internal_note_is_in_it(
    closet: BinderFile, editor: Editor, change: Change, add: Add, id_of: IdOf
) -> None:
    change("hardware SW1", management_address="192.0.2.77", internal_notes="canary of the shop")
    review = take(editor, TODAY)
    add("action", review=review.id, what="move 192.0.2.77 away", subject=id_of("hardware SW1"))
    add("known_issue", identifier="SW1 answers at 192.0.2.77 only")
    for form in ("html", "markdown"):
        text = "".join(map(str, render(closet, "review", form=form, today=TODAY).values()))
        assert "192.0.2.77" not in text
        assert "canary of the shop" not in text
        assert "[management address]" in text.replace("\\", "")


def test_an_issue_made_again_is_the_same_though_a_review_was_taken_since(
    closet: BinderFile, editor: Editor, tmp_path: Path
) -> None:
    take(editor, BEFORE)
    first = release(editor, "review", form="html", target=tmp_path, today=TODAY, issued_to="all")
    bytes_then = first.files[0].read_bytes()
    take(editor, TODAY)
    again = render(closet, "review", form="html", today=date(2026, 9, 1), issue=1)
    assert [str(text).encode() for text in again.values()] == [bytes_then]


def test_the_queries_do_not_grow_with_the_binder(
    closet: BinderFile, editor: Editor, add: Add, read_poe: Callable[[dict[str, float]], None]
) -> None:
    take(editor, BEFORE)

    def asked() -> int:
        seen: list[str] = []
        closet.connection.set_trace_callback(seen.append)
        gather(closet, TODAY, internal=False, document="review")
        closet.connection.set_trace_callback(None)
        return len(seen)

    few = asked()
    for number in range(12):
        add("renewal", identifier=f"licence {number}", form="licence", renews_on="2026-05-01",
            cost=9_900)  # fmt: skip
        add("account", system=f"system {number}", login="desk")
    read_poe({f"2026-02-{day:02}": 80.0 + day for day in range(1, 20)})
    assert asked() == few


def test_reviews_are_read_for_no_other_document(closet: BinderFile, editor: Editor) -> None:
    take(editor, TODAY)
    with pytest.raises(LookupError, match="review document only"):
        _ = gather(closet, TODAY, internal=False).reviewed
