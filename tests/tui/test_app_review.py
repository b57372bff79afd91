"""The quarter's review at the app: taken, its actions decided, its duties ticked.

Quarterly capacity review with actions carried over: common practice, no published source.
"""

from __future__ import annotations

from datetime import date
from pathlib import Path

import pytest

from binder.file import open_binder
from binder.headroom import headroom
from binder.review.actions import actions
from binder.review.exhaustion import Point, exhaustion
from binder.review.taken import reviews
from tests.tui.screen_text import Terminal, terminal
from tui.app.review_lines import Told, chart, review_rows


async def walk_to(t: Terminal, text: str) -> None:
    listed = t.app.screen.main_list  # type: ignore[attr-defined]
    for at in range(len(listed.lines)):
        if text in "".join(part.text for part in listed.lines.line(at, 200)):
            listed.move_to(at)
            await t.pilot.pause()
            return
    raise AssertionError(f"no line holds {text}\n{t.text}")


@pytest.mark.parametrize("size", [(80, 24), (120, 40)])
async def test_a_review_is_taken_and_its_actions_are_decided(
    quillmere: Path, size: tuple[int, int]
) -> None:
    with open_binder(quillmere, read_only=True) as binder:
        before = len(reviews(binder))
        known = {one.id for one in actions(binder)}
    async with terminal(quillmere, size=size) as t:
        await t.press("9", "v")
        await t.sees("Review of the quarter", "What is used up, and when")
        await t.press("n")
        await t.sees("Take the review of 2026-03-14?")
        await t.press("y")
        await t.sees("is taken")
        await walk_to(t, "proposed")
        await t.press("enter")
        await t.sees("What became of")
        await t.press("enter")
        await t.sees("By whom?")
        await t.press("enter")
        await t.sees("is agreed")
    with open_binder(quillmere, read_only=True) as binder:
        assert len(reviews(binder)) == before + 1
        decided = [one for one in actions(binder) if one.state == "agreed"]
        assert decided or known
        assert any(one.decided_by == "R. Adeyemi" for one in decided)


async def test_a_duty_the_quarter_asks_for_is_ticked(quillmere: Path) -> None:
    async with terminal(quillmere, size=(100, 60)) as t:
        await t.press("9", "v")
        await t.sees("The quarter asks for")
        await walk_to(t, "contacts called")
        await t.press("enter")
        await t.sees("Done today: contacts called?")
        await t.type("all three answered")
        await t.press("enter")
        await t.sees("done: contacts called")
    with open_binder(quillmere, read_only=True) as binder:
        row = binder.connection.execute(
            "SELECT done_on, done_by, result FROM duty WHERE identifier = 'contacts called'"
        ).fetchone()
    assert tuple(row) == ("2026-03-14", "R. Adeyemi", "all three answered")


def test_a_chart_in_letters_has_the_limit_for_its_height() -> None:
    points = [Point("2026-01-01", value, "reading") for value in (0.0, 50.0, 100.0, 120.0)]
    assert chart(points, 100.0, 4) == "▁▅█!"
    assert chart([], 100.0, 4) == "    "


def test_minutes_that_fall_below_what_is_asked_are_marked() -> None:
    points = [Point("2026-01-01", value, "reading") for value in (40.0, 20.0, 15.0, 14.0)]
    assert chart(points, 15.0, 4, falls=True) == "█▅▄!"


@pytest.mark.parametrize("width", [80, 120])
def test_a_switch_that_was_replaced_leads_to_no_date_and_the_words_say_why(
    quillmere: Path, width: int
) -> None:
    day = date.today()  # the demo is built on it
    with open_binder(quillmere, read_only=True) as binder:
        leads = exhaustion(binder, headroom(binder, today=day), day)
    told = [
        "".join(part.text for part in row.parts)
        for row in review_rows(Told(leads, None, "", (), (), "us"), width)
    ]
    assert [line for line in told if len(line.rstrip()) > width] == []
    at = next(at for at, line in enumerate(told) if line.startswith(" PoE watts SW3"))
    assert " ".join(" ".join(told[at : at + 3]).split()).startswith(
        "PoE watts SW3: not enough readings: 2 of 4; since "
    )
    assert "SW3 as it is now was put in" in " ".join(" ".join(told[at : at + 3]).split())
    assert not any("PoE watts SW3" in line for line in told[:at])


def test_what_is_full_already_is_told_with_no_day(quillmere: Path) -> None:
    day = date.today()
    with open_binder(quillmere, read_only=True) as binder:
        leads = exhaustion(binder, headroom(binder, today=day), day)
    told = [
        "".join(part.text for part in row.parts)
        for row in review_rows(Told(leads, None, "", (), (), "us"), 80)
    ]
    assert any(line.startswith(" reached    ") and "panel ports 1A-A" in line for line in told)
    assert any(line.startswith(" with plans ") and "rack units 1A-R1" in line for line in told)
    assert not any(day.isoformat() in line for line in told)
