"""What the driver sends leaves a terminal as if all that Textual wrote had been sent.

The terminal is pyte, an emulator that is no part of this project; ECMA-48 5th edition is what both
go by.
"""

from __future__ import annotations

import re

import pyte
from hypothesis import given, settings
from hypothesis import strategies as st
from rich.cells import cell_len

from tui.app.shadow import Shadow

COLUMNS, LINES = 24, 5
SIGNS = st.sampled_from("ab1 .│─…é→   ")
WIDE = st.sampled_from("ab 受付電 1")
LOOKS = st.sampled_from(["", "1", "2", "7", "1;4", "33", "31;1", "33;7", "97;40", "39;49"])
Piece = tuple[int, int, str, str]


def pieces(signs: st.SearchStrategy[str]) -> st.SearchStrategy[list[list[Piece]]]:
    """Frames: what a compositor writes, pieces of a line that stay on the screen."""
    piece = st.tuples(
        st.integers(0, LINES - 1), st.integers(0, COLUMNS - 1), st.text(signs, max_size=24), LOOKS
    )
    return st.lists(st.lists(piece, max_size=6), min_size=1, max_size=5)


def written(frame: list[Piece]) -> str:
    """A frame as Textual writes it, ending with the place of the cursor."""
    sent = []
    for line, column, text, look in frame:
        while cell_len(text) > COLUMNS - column:
            text = text[:-1]
        sent.append(f"\x1b[{line + 1};{column + 1}H" + (f"\x1b[{look}m{text}\x1b[0m"))
    return "".join(sent) + "\x1b[2;3H"


def on_screen(screen: pyte.Screen) -> list[list[tuple[object, ...]]]:
    """The cells of a terminal as they look: nothing but its ground is seen of most blanks."""
    rows = []
    for y in range(LINES):
        cells = [screen.buffer[y][x] for x in range(COLUMNS)]
        rows.append(
            [
                (c.data, c.bg, c.underscore, c.reverse)
                if c.data == " " and not c.reverse
                else (c.data, c.fg, c.bg, c.bold, c.underscore, c.reverse)
                for c in cells
            ]
        )
    return rows


def terminal() -> tuple[pyte.Screen, pyte.Stream]:
    screen = pyte.Screen(COLUMNS, LINES)
    screen.reset_mode(pyte.modes.DECAWM)  # as Textual sets it: no line runs over into the next
    return screen, pyte.Stream(screen)


def shown_both_ways(frames: list[list[Piece]]) -> tuple[list, list, int, int]:  # type: ignore[type-arg]
    all_of_it, whole = terminal()
    what_differs, thrifty = terminal()
    shadow = Shadow(COLUMNS, LINES)
    bytes_whole = bytes_thrifty = 0
    for frame in frames:
        data = written(frame)
        whole.feed(data)
        shadow.take(data)
        sent = shadow.difference()
        thrifty.feed(sent)
        bytes_whole += len(data.encode())
        bytes_thrifty += len(sent.encode())
        assert (what_differs.cursor.y, what_differs.cursor.x) == (1, 2)
    return on_screen(all_of_it), on_screen(what_differs), bytes_whole, bytes_thrifty


@given(pieces(SIGNS))
@settings(max_examples=300, deadline=None)
def test_the_terminal_shows_what_all_of_it_would_have_shown(frames: list[list[Piece]]) -> None:
    all_of_it, what_differs, _, _ = shown_both_ways(frames)
    assert what_differs == all_of_it


@given(pieces(WIDE))
@settings(max_examples=200, deadline=None)
def test_so_it_does_with_signs_two_cells_wide(frames: list[list[Piece]]) -> None:
    """Whole wide signs only: what terminals make of half a sign differs."""
    last = [[piece for piece in frame if piece[1] == 0] for frame in frames]
    fresh = [[(y, x, text + " " * (COLUMNS - cell_len(text)), look) for y, x, text, look in frame]
             for frame in last]  # fmt: skip
    all_of_it, what_differs, _, _ = shown_both_ways(fresh)
    assert what_differs == all_of_it


@given(pieces(SIGNS))
@settings(deadline=None)
def test_the_same_frame_again_sends_nothing(frames: list[list[Piece]]) -> None:
    shadow = Shadow(COLUMNS, LINES)
    data = "".join(written(frame) for frame in frames)
    shadow.take(data)
    assert shadow.difference()
    shadow.take(data)
    assert shadow.difference() == ""


@given(st.text(max_size=60))
@settings(max_examples=300, deadline=None)
def test_no_control_gets_through_but_places_looks_and_erasing(text: str) -> None:
    """Whatever a frame holds: ESC c would reset a terminal, OSC 52 write its clipboard."""
    shadow = Shadow(COLUMNS, LINES)
    shadow.take(f"\x1b[1;1H{text}\x1b]52;c;eA==\x07\x1bc\x1b[3;1Hx")
    sent = re.sub(r"\x1b\[[\d;]*[HmCJK]", "", shadow.difference())
    assert not re.search("[\x00-\x1f\x7f-\x9f]", sent)


@given(st.text(st.sampled_from("e\u0301❤\ufe0f👍🏽👩🇩🇪நி한"), max_size=8))
@settings(deadline=None)
def test_a_sign_of_disputed_width_moves_nothing_after_it(text: str) -> None:
    """The frame of the screen stands in its columns however wide a terminal finds a sign."""
    screen, stream = terminal()
    shadow = Shadow(COLUMNS, LINES)
    shadow.take("\x1b[1;1H" + "x" * COLUMNS)
    stream.feed(shadow.difference())
    shadow.take(f"\x1b[1;1H{text}{' ' * (20 - cell_len(text))}│abc")
    stream.feed(shadow.difference())
    assert [screen.buffer[0][x].data for x in range(20, 24)] == list("│abc")
    assert not any(screen.buffer[0][x].data == "x" for x in range(20))


def test_what_another_program_wrote_is_painted_over() -> None:
    screen, stream = terminal()
    shadow = Shadow(COLUMNS, LINES)
    shadow.take("\x1b[1;1Hours")
    stream.feed(shadow.difference())
    stream.feed("\x1b[3;1Htheirs\x1b[1;1H####")
    shadow.forget()
    stream.feed(shadow.difference())
    assert [line.rstrip() for line in screen.display] == ["ours", "", "", "", ""]


def test_a_step_of_a_cursor_over_forty_columns_sends_each_sign_once() -> None:
    """At most the signs of both lines, and four places and looks around them."""
    shadow = Shadow(80, 24)
    row = "OUT1:01   cord PH1:1, link PP1:01   edge"
    shadow.take(f"\x1b[3;1H\x1b[7m{row:80}\x1b[0m\x1b[4;1H{row:80}\x1b[1;1H")
    shadow.difference()
    shadow.take(f"\x1b[3;1H{row:80}\x1b[4;1H\x1b[7m{row:80}\x1b[0m\x1b[1;1H")
    assert len(shadow.difference()) <= 80 + len(row) + 40
