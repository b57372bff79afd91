"""One table of actions feeds the keys, the bottom line, the help and the palette."""

from __future__ import annotations

from collections import Counter

import pytest

from binder.file import BinderFile
from binder.read import resolve
from binder.records.catalog import KINDS
from tests.tui.screen_text import terminal
from tui.app.actions import (
    ACTIONS,
    ASKED,
    FACE,
    FORM,
    FOUND,
    HELD,
    HELP,
    KNOWN,
    LIST,
    LOST,
    MOVING,
    PAST,
    PATH,
    PLUGGING,
    RACK,
    REVIEWED,
    SCARCE,
    SHEET,
    SHELF,
    SHOWN,
    STAGED,
    SUPPOSED,
    WORKED,
)
from tui.app.dividers import DividerScreen
from tui.app.envelope_screen import EnvelopeScreen
from tui.app.face_screen import FaceScreen
from tui.app.find_screen import FindScreen
from tui.app.form import FormScreen
from tui.app.headroom_screen import HeadroomScreen
from tui.app.help_screen import PLACES, HelpScreen
from tui.app.help_screen import _rows as key_rows
from tui.app.history_screen import HistoryScreen
from tui.app.impact_screen import ImpactScreen
from tui.app.kind_words import many
from tui.app.order_screen import OrderScreen
from tui.app.palette_screen import PaletteScreen, commands
from tui.app.person_screen import PersonScreen
from tui.app.proposal_screen import ProposalScreen
from tui.app.rack_screen import RackScreen
from tui.app.screen import BinderScreen
from tui.app.secret_screen import SecretScreen
from tui.app.sheet_screen import SheetScreen
from tui.app.shelf_screen import ShelfScreen
from tui.app.trace_screen import TraceScreen
from tui.app.what_if_screen import WhatIfScreen

SCREENS: dict[str, type[BinderScreen]] = {
    LIST: DividerScreen,
    SHEET: SheetScreen,
    RACK: RackScreen,
    MOVING: RackScreen,
    FORM: FormScreen,
    FOUND: FindScreen,
    ASKED: PaletteScreen,
    PATH: TraceScreen,
    PAST: HistoryScreen,
    SHELF: ShelfScreen,
    HELP: HelpScreen,
    HELD: EnvelopeScreen,
    KNOWN: PersonScreen,
    SHOWN: SecretScreen,
    SCARCE: DividerScreen,
    WORKED: HeadroomScreen,
    REVIEWED: ProposalScreen,
    SUPPOSED: WhatIfScreen,
    LOST: ImpactScreen,
    STAGED: OrderScreen,
    FACE: FaceScreen,
    PLUGGING: FaceScreen,
}
# What terminals send for other keys, or keep: Textual's _ansi_sequences.py; XON and XOFF of
# ITU-T T.50; the prefix keys of common multiplexers; suspend.
TAKEN = {
    "ctrl+m", "ctrl+i", "ctrl+h", "ctrl+j", "ctrl+left_square_bracket", "ctrl+s", "ctrl+q",
    "ctrl+b", "ctrl+a", "ctrl+z",
}  # fmt: skip


@pytest.mark.parametrize("place", SCREENS)
def test_no_key_means_two_things_in_one_place(place: str) -> None:
    keys = [key for a in ACTIONS if place in a.places for key in a.keys.split(",")]
    assert [key for key, times in Counter(keys).items() if times > 1] == []


def test_no_key_is_one_that_terminals_keep_or_cannot_send() -> None:
    keys = {key for action in ACTIONS for key in action.keys.split(",")}
    assert not keys & TAKEN
    assert not {key for key in keys if key.startswith(("alt+", "ctrl+shift+"))}


@pytest.mark.parametrize("place", SCREENS)
def test_every_action_is_done_by_the_screen_of_its_place(place: str) -> None:
    missing = [
        action.id
        for action in ACTIONS
        if place in action.places
        and not hasattr(SCREENS[place], f"action_{action.id.partition('(')[0]}")
    ]
    assert missing == []


@pytest.mark.parametrize("place", SCREENS)
def test_no_two_actions_of_a_place_have_the_same_sentence(place: str) -> None:
    """The palette tells them apart by nothing else."""
    told = Counter(action.sentence for action in ACTIONS if place in action.places)
    assert [sentence for sentence, times in told.items() if times > 1] == []


def test_every_place_has_a_way_out() -> None:
    for place in SCREENS:
        keys = {key for a in ACTIONS if place in a.places for key in a.keys.split(",")}
        assert {"escape", "ctrl+c"} <= keys, place


def test_sentences_fit_beside_their_keys_on_the_narrowest_line() -> None:
    assert [action.id for action in ACTIONS if len(action.sentence) > 66] == []


async def test_help_tells_every_key_of_the_place_one_came_from(closet: BinderFile) -> None:
    async with terminal(closet.path, size=(80, 60)) as t:
        await t.press("question_mark")
        await t.sees("Keys in a list")
        head = t.text.index("Keys in a list")
        here = t.text[head : t.text.index("\n\n", head)]
        for action in ACTIONS:
            if LIST in action.places and not action.id.startswith("divider"):
                assert action.sentence in here
        await t.press("q")
        await t.sees("Quillmere Veterinary Clinic")


async def test_help_tells_first_how_to_get_anywhere_and_that_it_goes_on(
    closet: BinderFile,
) -> None:
    async with terminal(closet.path) as t:
        await t.press("question_mark")
        await t.sees("PgDn: more keys", "Turn to a divider", "The next kind on this divider")
        await t.press("end")
        await t.sees("Keys at the shelf", "the last of them")


@pytest.mark.parametrize("place", PLACES)
def test_help_tells_of_no_key_twice(place: str) -> None:
    signs = Counter(parts[0].text.strip() for _, parts in key_rows(place, read_only=False))
    assert [sign for sign, times in signs.items() if times > 1] == []


async def test_help_is_there_with_a_cord_in_hand(closet: BinderFile) -> None:
    async with terminal(closet.path) as t:
        t.app.open_face(resolve(closet, "1A-A").id)
        await t.sees("Face of 1A-A")
        await t.press("right", "p")
        await t.sees("Cord from 1A-A:02", "? help")
        await t.press("question_mark")
        await t.sees("Keys with a cord in hand")
        await t.press("q")
        await t.sees("Cord from 1A-A:02")


@pytest.mark.parametrize("size", [(60, 20), (80, 24), (120, 40)])
async def test_the_bottom_line_holds_whole_words_and_ends_with_help(
    closet: BinderFile, size: tuple[int, int]
) -> None:
    async with terminal(closet.path, size=size) as t:
        await t.press("3")
        await t.sees("1A-A:01")
        bottom = t.lines[-1]
        assert len(bottom) <= size[0]
        assert bottom.endswith("? help")
        words = {action.word for action in ACTIONS}
        told = bottom.split("  ")
        assert {part.split(" ", 2)[-1] for part in told if part} <= words | {"help"}


async def test_the_palette_reaches_every_action_and_every_kind(closet: BinderFile) -> None:
    async with terminal(closet.path) as t:
        await t.press("2")
        screen = t.app.screen
        assert isinstance(screen, BinderScreen)
        titles = [title for title, _, _ in commands(t.app, screen)]
        assert len(titles) == len(set(titles))
        for kind in KINDS:
            assert many(kind) in titles
        for action in ACTIONS:
            if LIST in action.places and screen.is_offered(action.id) and action.id != "palette":
                assert action.sentence[:-1] in titles


async def test_an_action_is_done_by_words_of_it(closet: BinderFile) -> None:
    async with terminal(closet.path) as t:
        await t.press("4", "ctrl+p")
        await t.type("look today")
        await t.sees("v       Note that you looked, today, and it is so")
        await t.press("enter")
        await t.sees("staff: verified today by R. Adeyemi")


async def test_the_palette_says_when_nothing_is_called_so(closet: BinderFile) -> None:
    async with terminal(closet.path) as t:
        await t.press("colon")
        await t.type("zzz")
        await t.press("pagedown", "enter")
        await t.sees("nothing is called 'zzz'")


async def test_a_kind_is_opened_by_its_name(closet: BinderFile) -> None:
    async with terminal(closet.path) as t:
        await t.press("colon")
        await t.type("subnets")
        await t.sees("Subnets")
        await t.press("enter")
        await t.sees("staff", "192.0.2.0/26")


async def test_hardware_is_added_by_what_it_is_called(closet: BinderFile) -> None:
    async with terminal(closet.path) as t:
        await t.press("colon")
        await t.type("camera")
        await t.sees("New camera")
        await t.press("enter")
        await t.sees("New hardware", "camera")
        await t.type("CAM9")
        await t.press("f2", "y", "f2")
        await t.sees("CAM9 now has 1 port; p patches")  # in the list it stands in now
        await t.press("p")
        await t.sees("New cord", "CAM9:1")


async def test_where_something_else_is_pointed_at_no_key_is_told_that_would_be_about_that(
    closet: BinderFile,
) -> None:
    async with terminal(closet.path) as t:
        await t.sees("Quillmere Veterinary Clinic")  # the client is
        t.app.open_port_series(resolve(closet, "PH1").id)
        await t.sees("Ports of PH1")
        await t.type("2")
        await t.press("f2")
        await t.sees("PH1 now has 2 ports; u takes this step back")


async def test_a_read_only_binder_offers_nothing_that_writes(closet: BinderFile) -> None:
    async with terminal(closet.path, read_only=True) as t:
        await t.press("2", "right")
        await t.sees("read-only", "GW1")
        for word in ("edit", "new", "remove", "undo"):
            assert f" {word} " not in t.lines[-1]
        await t.press("e")
        await t.sees("open read-only: nothing can be changed here")
