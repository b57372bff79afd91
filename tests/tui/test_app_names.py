"""Names as people type them, on every screen: shown as text, in their columns, harmless.

The terminal is pyte, an emulator that is no part of this project. A new screen of the app is a line
in `SCREENS`; one that is missing there fails a test.
"""

from __future__ import annotations

import importlib
import pkgutil
import re
import shutil
from collections.abc import Awaitable, Callable
from pathlib import Path

import pyte
import pytest

import tui.app
from binder.edit import Editor
from binder.envelope.keys import weak_work_for_tests
from binder.file import BinderFile
from binder.read import read, read_where, resolve
from binder.records.catalog import BY_NAME
from binder.text import visible
from tests.tui.envelope_at_hand import fill_envelope, open_envelope_by_keys
from tests.tui.screen_text import Terminal, terminal
from tui.app.actions import ACTIONS
from tui.app.ask import Answer
from tui.app.help_screen import PLACES
from tui.app.many import paste_lines
from tui.app.screen import BinderScreen
from tui.app.shadow import Shadow

NAMES = {
    "markup": "[bold red]x[/]",
    "escapes": "\x1b[31mred\x1b[2J\x1b]0;t\x07",
    "right to left": "\u202eevil\u202c\u200fx",
    "family": "\N{MAN}\u200d\N{WOMAN}\u200d\N{GIRL} room",
    "camera": "\N{VIDEO CAMERA}\ufe0f\N{THUMBS UP SIGN}\N{EMOJI MODIFIER FITZPATRICK TYPE-4} door",
    "flag": "\N{REGIONAL INDICATOR SYMBOL LETTER D}\N{REGIONAL INDICATOR SYMBOL LETTER E} line",
    "combining": "Zu\u0308rich e\u0301\u0323\u0302 cam",
    "full width": "受付電話の交換機",
    "three hundred": "Beginning" + "x" * 291,
}
Visit = Callable[[Terminal, int], Awaitable[None]]


def opened(method: str) -> Visit:
    async def visit(t: Terminal, hardware_id: int) -> None:
        getattr(t.app, method)(hardware_id)
        await t.pilot.pause()

    return visit


async def listed(t: Terminal, hardware_id: int) -> None:
    t.app.turn_to(BY_NAME["hardware"])
    await t.pilot.pause()


async def drawn(t: Terminal, hardware_id: int) -> None:
    t.app.open_rack(read_where(t.app.binder, BY_NAME["rack"])[0].id, at=hardware_id)
    await t.pilot.pause()


async def ordered(t: Terminal, hardware_id: int) -> None:
    t.app.open_impact(hardware_id)
    await t.pilot.pause()
    await t.press("s")


async def found(t: Terminal, hardware_id: int) -> None:
    await t.press("slash")
    await t.type("192.0.2.2")
    await t.until(lambda: "found" in t.lines[0], "something found")


async def computed(t: Terminal, hardware_id: int) -> None:
    await t.press("9")
    await t.until(lambda: "PoE" in t.text, "the headroom")
    for _ in range(40):
        if t.app.screen.PLACE == "headroom sheet":  # type: ignore[attr-defined]
            return
        await t.press("enter")


async def supposed(t: Terminal, hardware_id: int) -> None:
    await t.press("9", "w")


async def reviewed(t: Terminal, hardware_id: int) -> None:
    await t.press("9", "v")


async def joined(t: Terminal, hardware_id: int) -> None:
    t.app.open_join(BY_NAME["cord"])
    await t.pilot.pause()


async def asked(t: Terminal, hardware_id: int) -> None:
    await t.press("colon")


async def helped(t: Terminal, hardware_id: int) -> None:
    await t.press("question_mark")


async def kept(t: Terminal, hardware_id: int) -> None:
    t.app.open_envelope_page()
    await t.sees("Who knows what (1)", "3 values in use")


async def known(t: Terminal, hardware_id: int) -> None:
    """What somebody of that name knows, who set secrets of that name."""
    t.app.open_person(read(t.app.binder, hardware_id).name)
    await t.sees("In use (3)")
    for secret in ("guest key", "SW1 admin password"):
        assert "set it, version 1" in t.line_with(secret), "a long name leaves room for others"


async def revealed(t: Terminal, hardware_id: int) -> None:
    """A secret whose name, circuit, instructions, reason and value are that name."""
    name = read(t.app.binder, hardware_id).name
    await open_envelope_by_keys(t)
    t.app.open_sheet(resolve(t.app.binder, name, "secret").id)
    await t.press("k")
    await t.sees("Why do you look at")
    t.app.screen.query_one("#answer", Answer).value = name
    await t.press("enter")
    await t.sees("gone in 20 s")


async def previewed(t: Terminal, hardware_id: int) -> None:
    """Two lines pasted: one of a name that is taken, one that is new, with more of it."""
    name = read(t.app.binder, hardware_id).name
    pasted = f"Identifier\tKind\tDescription\n{name}\tcamera\n{name}2\tcamera\t{name}"
    t.app.errand(paste_lines(t.app, BY_NAME["hardware"], pasted))
    await t.sees("Preview")
    await t.until(lambda: t.text.count("is in the binder already") == 2, "in the list, and below")


# By class: how it is reached, and whether the name of the hardware must stand on it. That of the
# shelf is the client's, below.
SCREENS: dict[str, tuple[Visit | None, bool]] = {
    "DividerScreen": (listed, True),
    "SheetScreen": (opened("open_sheet"), True),
    "RackScreen": (drawn, True),
    "FaceScreen": (opened("open_face"), True),
    "TraceScreen": (opened("open_trace"), True),
    "TroubleScreen": (opened("open_trouble"), True),
    "ImpactScreen": (opened("open_impact"), True),
    "OrderScreen": (ordered, True),
    "HistoryScreen": (opened("open_history"), True),
    "FormScreen": (opened("open_edit"), True),
    "FindScreen": (found, True),
    "HeadroomScreen": (computed, False),
    "WhatIfScreen": (supposed, False),
    "JoinForm": (joined, False),
    "ReviewScreen": (reviewed, False),
    "PaletteScreen": (asked, False),
    "HelpScreen": (helped, False),
    "EnvelopeScreen": (kept, True),
    "PersonScreen": (known, True),
    "SecretScreen": (revealed, True),
    "ProposalScreen": (previewed, True),
    "ShelfScreen": (None, True),  # test_the_shelf_shows_any_name below
}
CUT = "…"


def screens() -> set[type[BinderScreen]]:
    """Every screen of the app that can be shown."""
    for module in pkgutil.iter_modules(tui.app.__path__):
        importlib.import_module(f"tui.app.{module.name}")

    def below(kind: type) -> set[type]:
        return {kind}.union(*(below(other) for other in kind.__subclasses__()))

    return {kind for kind in below(BinderScreen) if hasattr(kind, "PLACE")}


def test_every_screen_is_in_the_table() -> None:
    assert {kind.__name__ for kind in screens()} == set(SCREENS)


def shown_by_pyte(t: Terminal) -> list[str]:
    """The screen as a terminal shows it; each sign of sure width must stand in its own column."""
    columns, lines = t.app.size
    frame = t.app.screen._compositor.render_full_update().render_segments(t.app.console)
    assert not re.search(r"\x1b(?!\[[\d;]*[Hm])", frame)
    assert not re.search("[\x00-\x09\x0b-\x1a\x1c-\x1f\x7f-\x9f]", frame)
    shadow, screen = Shadow(columns, lines), pyte.Screen(columns, lines)
    shadow.take(frame)
    screen.reset_mode(pyte.modes.DECAWM)
    pyte.Stream(screen).feed(shadow.difference())
    for y, row in enumerate(shadow.meant):
        assert len(row) == columns
        for x, (sign, _) in enumerate(row):
            if sign and (sign.isascii() or sign in "│─┌┐└┘├┤…›"):
                assert screen.buffer[y][x].data == sign, (y, x, "".join(s for s, _ in row))
    return ["".join(sign for sign, _ in row) for row in shadow.meant]


def is_whole_or_marked(text: str, name: str) -> bool:
    """Whether a name stands somewhere in full, or its beginning with a sign that it goes on.

    Somewhere: a long name wraps, and beside it on the same lines stands another pane.
    """
    seen = re.sub(r"[\s│]", "", text)
    wanted = re.sub(r"\s", "", visible(name))
    begun = [seen[match.start() :] for match in re.finditer(re.escape(wanted[:8]), seen)]
    return any(
        wanted in rest or (CUT in rest and wanted.startswith(rest[: rest.index(CUT)]))
        for rest in begun
    )


@pytest.mark.parametrize("size", [(80, 24), (120, 40)], ids=str)
@pytest.mark.parametrize("which", NAMES)
async def test_any_name_stands_as_text_in_its_columns_on_every_screen(
    closet: BinderFile, editor: Editor, which: str, size: tuple[int, int]
) -> None:
    name = NAMES[which]
    switch = resolve(closet, "SW1").id
    fill_envelope(closet, editor, who=name, pin=(name, name))
    with editor.step("named") as step:
        step.change(switch, {"identifier": name})
        step.change(resolve(closet, "fibre", "circuit").id, {"identifier": name})
        step.change(resolve(closet, name, "secret").id, {"instructions": name})
    async with terminal(closet.path, size=size) as t:
        t.app.envelope_work = weak_work_for_tests()
        for screen, (visit, is_named) in SCREENS.items():
            if visit is None:
                continue
            await visit(t, switch)
            await t.until(lambda s=screen: type(t.app.screen).__name__ == s, screen)  # type: ignore[misc]
            await t.until(lambda: bool(t.text.partition("\n")[0].strip()), f"{screen}: its title")
            rows = shown_by_pyte(t)
            if is_named:
                told = is_whole_or_marked("\n".join(rows), name)
                assert told, "\n".join([screen, *rows])
            while len(t.app.screen_stack) > 1:
                t.app.pop_screen()
                await t.pilot.pause()


@pytest.mark.parametrize("which", NAMES)
async def test_the_shelf_shows_any_name(
    closet: BinderFile, editor: Editor, tmp_path: Path, which: str
) -> None:
    with editor.step("named") as step:
        step.change(read_where(closet, BY_NAME["client"])[0].id, {"identifier": NAMES[which]})
    folder = tmp_path / "shelf"
    folder.mkdir()
    closet.close()
    shutil.copy(closet.path, folder / "one.binder")
    async with terminal(folder) as t:
        await t.sees("1 binder")
        await t.sees_no("looked into 0")
        rows = shown_by_pyte(t)
        assert is_whole_or_marked("\n".join(rows), NAMES[which]), "\n".join(rows)


# Keys and help ----------------------------------------------------------------------------


def places() -> set[str]:
    return {place for action in ACTIONS for place in action.places} - {"help"}


def test_every_place_has_a_sentence_in_the_help_and_a_word_in_the_bottom_line() -> None:
    """A place of a screen, and those a screen turns into: carrying hardware, a cord in hand."""
    assert places() == set(PLACES)
    assert {kind.PLACE for kind in screens()} - {"help"} <= set(PLACES)
    for place in places():
        assert any(place in action.places and action.word for action in ACTIONS), place


def test_every_screen_with_a_list_under_its_keys_has_help() -> None:
    """Where letters are typed into an input, F1 would be the only key, and Esc leaves."""
    typed_into = {"find", "palette", "form", "what if", "moving", "plugging", "shelf"}
    helped_at = {place for action in ACTIONS if action.id == "help" for place in action.places}
    assert places() - helped_at <= typed_into
