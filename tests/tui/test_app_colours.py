"""Colours: the terminal's own sixteen, none where none are wanted, and never the only sign.

NO_COLOR: no-color.org, "when present and not an empty string". Sixteen colours: ECMA-48 5th
edition 8.3.117 (30-37, 40-47) and the bright ones of aixterm (90-97, 100-107), values from memory.
What the app sends is taken from a pseudo-terminal, as it leaves.
"""

from __future__ import annotations

import os
import re
import sys
from pathlib import Path

import pytest

from binder.edit import Editor
from binder.file import BinderFile
from binder.read import resolve
from tests.pseudo_terminal import PseudoTerminal
from tests.tui.screen_text import terminal
from tui.app.lines import LOOKS

# A list, a sheet, its form, a rack, a trace, find with what is found, the headroom, a what-if, the
# history, the envelope, help, the palette.
WALK = (
    *("2", "enter", "e", "down", "esc", "q", "1", "t", "q", "/", "g", "w", "esc"),
    *("9", "down", "w", "d", "esc", "esc", "h", "q", "l", "q", "?", "q", ":", "r", "esc"),
    *("3", "down", "=", "esc"),
)


def sent(path: Path, tmp_path: Path, **settings: str) -> str:
    """All that the app sends over a walk through its screens."""
    base = {key: value for key, value in os.environ.items() if key not in ("NO_COLOR", "COLORTERM")}
    env = {**base, "BINDER_WHO": "M. Osei", "XDG_STATE_HOME": str(tmp_path / "state"), **settings}
    t = PseudoTerminal([sys.executable, "-m", "tui.main", str(path)], env)
    try:
        t.wait_for("Quillmere")
        for key in WALK:
            t.press(key)
            t.read(0.1)
    finally:
        t.kill()
    assert len(t.history) > 5000, t.text
    return t.history.decode()


def codes(data: str) -> set[str]:
    """The parameters of every SGR, one by one; those of colours from a palette stay together."""
    found = set()
    for sgr in re.findall(r"\x1b\[([\d;]*)m", data):
        found |= set(re.findall(r"[34]8;(?:5;\d+|2;\d+;\d+;\d+)|\d+", sgr))
    return found


@pytest.mark.parametrize("term", ["xterm", "linux", "xterm-256color", "screen", "vt220"])
def test_only_the_terminals_own_sixteen_colours_are_used(
    quillmere: Path, tmp_path: Path, term: str
) -> None:
    used = codes(sent(quillmere, tmp_path, TERM=term))
    assert not {code for code in used if ";" in code}, used
    assert used <= {"0", "1", "2", "3", "4", "7", *map(str, [*range(30, 38), *range(40, 48),
                    *range(90, 98), *range(100, 108)])}, used  # fmt: skip


def test_where_no_colour_is_wanted_there_is_none(quillmere: Path, tmp_path: Path) -> None:
    used = codes(sent(quillmere, tmp_path, TERM="xterm-256color", NO_COLOR="1"))
    assert used <= {"0", "1", "2", "3", "4", "7"}, used
    assert "7" in used  # the cursor is seen all the same


def test_a_setting_that_is_empty_asks_for_nothing(quillmere: Path, tmp_path: Path) -> None:
    used = codes(sent(quillmere, tmp_path, TERM="xterm-256color", NO_COLOR=""))
    assert used & {str(code) for code in range(30, 38)}


def test_text_takes_no_ground_of_its_own_and_no_grey() -> None:
    """On a light terminal black is on white, on a dark one the other way round: both the
    terminal's. Bright white, bright black and black vanish on one of the two."""
    for look, style in LOOKS.items():
        if look != "code":  # a QR code, which brings its ground
            assert style.bgcolor is None, look
            assert style.color is None or style.color.name in {"red", "yellow", "green"}, look


async def test_a_state_is_told_by_a_word_or_a_sign_where_it_has_a_colour(
    closet: BinderFile, editor: Editor
) -> None:
    with editor.step("a bad port") as step:
        step.change(resolve(closet, "1A-A:05").id, {"condition": "bad"})
    async with terminal(closet.path) as t:
        t.app.open_sheet(resolve(closet, "1A-A:05").id)
        await t.sees("Condition", "bad")
        await t.press("q", "e", "q")
        t.app.say("it did not work", bad=True)
        await t.sees("! it did not work")
