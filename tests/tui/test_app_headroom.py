"""Headroom at the app: the rows of divider 9, the sheet behind one, what is filled in from it."""

from __future__ import annotations

from pathlib import Path

import pytest

from binder.file import open_binder
from binder.headroom import headroom
from tests.tui.screen_text import NOW, Terminal, terminal


async def stand_on(t: Terminal, text: str) -> None:
    """Walk down to the first line that has a text."""
    lines = t.app.screen.main_list  # type: ignore[attr-defined]
    for at in range(len(lines.lines)):
        if text in "".join(part.text for part in lines.lines.line(at, lines.size.width)):
            lines.move_to(at)
            await t.pilot.pause()
            return
    raise AssertionError(f"no line has {text}\n{t.text}")


@pytest.mark.parametrize("size", [(60, 20), (80, 24), (120, 40)])
async def test_the_divider_opens_on_what_is_scarcest(
    quillmere: Path, size: tuple[int, int]
) -> None:
    with open_binder(quillmere, read_only=True) as binder:
        answer = headroom(binder, today=NOW.date())
    rows = answer.rows
    async with terminal(quillmere, size=size) as t:
        await t.press("9")
        await t.sees("Headroom", rows[0].resource, f"1 of {len(rows) + len(answer.notes)}")
        first = next(at for at, each in enumerate(t.lines) if rows[0].resource in each)
        for row, drawn in zip(rows[:6], t.lines[first:], strict=False):
            assert all(word in drawn for word in (row.state, row.resource, row.where.name))
            assert ("#>" in drawn or "=>" in drawn) == (row.state in ("over", "short"))
        assert all(len(each) <= size[0] for each in t.lines)
