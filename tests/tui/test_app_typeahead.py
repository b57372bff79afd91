"""Keys that come in one bunch, as over a slow line, mean what they would have meant one by one."""

from __future__ import annotations

from binder.file import BinderFile
from binder.read import read, read_where, resolve
from binder.records.catalog import BY_NAME
from tests.tui.screen_text import terminal


async def test_a_form_is_filled_and_saved_in_one_bunch(closet: BinderFile) -> None:
    async with terminal(closet.path) as t:
        await t.burst("4", "n", *"guest", "enter", *"40", "enter", *"192.0.2.128/26", "f2")
        await t.sees("added subnet guest")
    subnet = read(closet, resolve(closet, "guest", "subnet").id)
    assert (subnet["vlan"], subnet["cidr"]) == (40, "192.0.2.128/26")


async def test_letters_do_not_overtake_the_keys_between_fields(closet: BinderFile) -> None:
    async with terminal(closet.path) as t:
        await t.burst("4", "n", *"guest", "tab", "tab", "tab", "up", *"192.0.2.128/26", "down",
                      *"192.0.2.129", "f2")  # fmt: skip
        await t.sees("added subnet guest")
    subnet = read(closet, resolve(closet, "guest", "subnet").id)
    assert (subnet["cidr"], subnet["gateway"]) == ("192.0.2.128/26", "192.0.2.129")


async def test_text_meant_for_a_form_is_never_taken_for_commands(closet: BinderFile) -> None:
    """'n' opens the form; 'dy' would remove what the cursor of the list stands on."""
    async with terminal(closet.path) as t:
        before = len(read_where(closet, BY_NAME["subnet"]))
        await t.burst("4", "n", *"dyeing room", "f2")
        await t.sees("added subnet dyeing room")
    assert len(read_where(closet, BY_NAME["subnet"])) == before + 1


async def test_a_whole_errand_in_one_bunch(closet: BinderFile) -> None:
    async with terminal(closet.path) as t:
        await t.burst(
            "2", "right", "n", *"SW2", "enter", *"switch", "enter", *"8 port", "f2", "y", "f2",
            "slash", *"SW2:03", "enter", "p", *"1A-A:04", "enter", "f2", "t",
        )  # fmt: skip
        await t.sees("Trace from SW2:03", "1A-A:04")
    assert read_where(closet, BY_NAME["cord"], order_by="r.name DESC")[0]["port_a"] == (
        resolve(closet, "SW2:03").id
    )


async def test_a_question_is_answered_ahead_and_no_other(closet: BinderFile) -> None:
    async with terminal(closet.path) as t:
        t.app.open_sheet(resolve(closet, "CAM1").id)
        await t.burst("d", "n", "d", "n")
        await t.sees("Hardware CAM1")
    assert resolve(closet, "CAM1")
