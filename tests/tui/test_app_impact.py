"""Impact at the app: what a failure takes, by keys from any sheet or list."""

from __future__ import annotations

from itertools import chain
from pathlib import Path

import pytest

from binder.file import BinderFile, open_binder
from binder.impact import FAILING, failing, impact
from binder.read import read, read_where, resolve
from binder.records.catalog import BY_NAME
from binder.start_order import start_order
from tests.tui.screen_text import NOW, Terminal, terminal
from tui.app.impact_screen import ImpactScreen
from tui.app.kind_words import CAN_FAIL


def told(t: Terminal) -> list[str]:
    """Every line of the list in front, whether it is in view or not."""
    shown = t.app.screen.main_list  # type: ignore[attr-defined]
    width = shown.size.width
    return ["".join(part.text for part in shown.lines.line(at, width))
            for at in range(len(shown.lines))]  # fmt: skip


async def open_impact(t: Terminal, record_id: int) -> None:
    t.app.open_sheet(record_id)
    await t.pilot.pause()
    await t.press("i")
    await t.sees(" fails")


def test_the_key_is_offered_for_what_can_fail() -> None:
    assert CAN_FAIL == FAILING


@pytest.mark.parametrize("size", [(60, 20), (80, 24), (120, 40)])
async def test_the_failing_poe_switch_names_its_phones_and_cameras(
    quillmere: Path, size: tuple[int, int]
) -> None:
    """What the demo's patch map has on SW1's powered ports, followed by hand."""
    dark = ("PH1", "PH2", "PH3", "PH4", "CAM1")
    with open_binder(quillmere, read_only=True) as binder:
        answer = impact(binder, failing(binder, "SW1"))
        switch = resolve(binder, "SW1").id
    async with terminal(quillmere, size=size) as t:
        await open_impact(t, switch)
        await t.sees("If hardware SW1 fails", f"{len(answer.power)} lose power")
        lines = told(t)
        end = next(at for at, text in enumerate(lines) if "keep power, lose data" in text)
        for name in dark:
            assert any(f" {name} " in text and "SW1 fails" in text for text in lines[:end])
        assert all(len(text.rstrip()) <= size[0] for text in lines)


async def test_enter_folds_a_group_and_opens_a_thing(quillmere: Path) -> None:
    async with terminal(quillmere) as t:
        await open_impact(t, resolve(t.app.binder, "SW1").id)
        while not t.app.screen.subject():  # type: ignore[attr-defined]
            await t.press("down")
        first = t.app.screen.subject()  # type: ignore[attr-defined]
        await t.press("enter")
        await t.sees("Hardware PH1")
        assert t.app.screen.subject() == first  # type: ignore[attr-defined]
        await t.press("q", "home")
        await t.until(lambda: isinstance(t.app.screen, ImpactScreen), "the impact again")
        while " lose power" not in told(t)[t.app.screen.main_list.cursor]:  # type: ignore[attr-defined]
            await t.press("down")
        await t.press("enter")
        await t.until(lambda: not any("  PH1 " in text for text in told(t)), "the group folded")
        await t.press("enter")
        await t.until(lambda: any("  PH1 " in text for text in told(t)), "the group unfolded")


async def test_the_fibre_circuit_says_what_carries_on_and_that_a_way_is_gone(
    quillmere: Path,
) -> None:
    with open_binder(quillmere, read_only=True) as binder:
        circuits = read_where(binder, BY_NAME["circuit"], "t.status = 'installed'")
        answers = [impact(binder, circuit.id) for circuit in circuits]
        backed = next(each for each in answers if each.circuits_left and each.redundancy)
    async with terminal(quillmere) as t:
        await open_impact(t, backed.id)
        await t.sees(f"still up: {', '.join(backed.circuits_left)}", "lose only redundancy")
        await t.sees_no("lose data")
        assert any("one way less" in text for text in told(t))


async def test_a_branch_circuit_tells_what_is_left_when_batteries_are_empty(
    quillmere: Path,
) -> None:
    with open_binder(quillmere, read_only=True) as binder:
        found = read_where(binder, BY_NAME["branch_circuit"])
        answers = [impact(binder, each.id, today=NOW.date()) for each in found]
        late = next(each for each in answers
                    if each.on_battery and any(one.after_min for one in each.power))  # fmt: skip
        after = min(one.after_min for one in late.power if one.after_min)
    async with terminal(quillmere) as t:
        await open_impact(t, late.id)
        await t.sees("goes on battery for", f"after {after:.0f} min: ")


async def test_what_someone_else_unplugs_is_reckoned_anew(quillmere: Path) -> None:
    async with terminal(quillmere) as t:
        app = t.app
        await open_impact(t, resolve(app.binder, "SW1").id)
        before = t.lines[0]
        with app.editor.step("phone taken out") as step:
            step.change(resolve(app.binder, "PH1").id, {"status": "removed"})
        app.changed()
        await t.until(lambda: t.lines[0] != before, "other counts")
        assert not any("  PH1 " in text for text in told(t))


async def test_the_order_of_starting_is_that_of_stopping_backwards(quillmere: Path) -> None:
    with open_binder(quillmere, read_only=True) as binder:
        order = start_order(binder, "UPS1")
    async with terminal(quillmere) as t:
        await open_impact(t, resolve(t.app.binder, "UPS1").id)
        await t.press("s")
        await t.sees("Start UPS1 and what hangs on it", f"{len(order.stages)} stages")

        def names() -> list[str]:
            rows = [text.split() for text in told(t)]
            return [row[1] if row[0].endswith(".") else row[0] for row in rows]

        expected = [[item.name for item in stage] for stage in order.stages]
        assert names() == list(chain(*expected))
        await t.press("s")
        await t.sees("Stop UPS1")
        assert names() == list(chain(*reversed(expected)))


async def test_what_cannot_fail_says_what_can(closet: BinderFile) -> None:
    async with terminal(closet.path) as t:
        await t.press("1", "i")
        await t.sees("what can fail is")


@pytest.mark.parametrize(
    "keys",
    [
        ("2", "right", "i"),
        ("2", "enter", "i"),
        ("2", "right", "enter", "t", "i"),
        ("9", "i"),
        ("9", "enter", "i"),
        ("8", "2", "right", "i", "s", "i"),
    ],
    ids=["a list", "a rack", "a trace", "headroom", "a row of headroom", "an order"],
)
async def test_the_key_works_wherever_a_thing_is_pointed_at(
    quillmere: Path, keys: tuple[str, ...]
) -> None:
    async with terminal(quillmere) as t:
        await t.press(*keys[:-1])
        subject = t.app.screen.subject()  # type: ignore[attr-defined]
        assert subject is not None
        await t.press("i")
        await t.sees(f" {read(t.app.binder, subject).name} fails")
