"""Forms: made from the declarations, filled by keys; nothing typed is lost."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from binder.edit import Editor
from binder.file import BinderFile
from binder.read import client, read, read_where, resolve
from binder.records.catalog import BY_NAME, KINDS
from tests.tui.screen_text import NOW, Terminal, terminal
from tui.app.draft import Draft, copied_values
from tui.app.form import FormScreen
from tui.app.form_rows import hint


async def go_to_field(t: Terminal, name: str) -> None:
    """Walk to a field of the form by its name in the declaration."""
    form = t.app.screen
    assert isinstance(form, FormScreen)
    for _ in range(len(form.draft.fields)):
        if form.field is not None and form.field.name == name:
            return
        await t.press("down")
    raise AssertionError(f"no field {name}\n{t.text}")


async def open_new(t: Terminal, kind: str) -> None:
    t.app.open_new(BY_NAME[kind])
    await t.sees(f"New {BY_NAME[kind].label.lower()}")


async def test_a_record_is_added_from_its_list(closet: BinderFile) -> None:
    async with terminal(closet.path) as t:
        await t.press("4", "n")
        await t.type("guest")
        await t.press("enter")
        await t.type("40")
        await t.press("enter")
        await t.type("192.0.2.128/26")
        await t.press("f2")
        await t.sees("added subnet guest", "192.0.2.128/26")
    subnet = read(closet, resolve(closet, "guest", "subnet").id)
    assert (subnet["vlan"], subnet["cidr"], subnet["status"]) == (40, "192.0.2.128/26", "current")


async def test_faults_stand_beside_their_fields_and_what_was_typed_stays(
    closet: BinderFile,
) -> None:
    async with terminal(closet.path) as t:
        await t.press("4", "n")
        await t.type("guest")
        await t.press("enter")
        await t.type("4095")
        await t.press("enter")
        await t.type("192.0.2.129/26")
        await t.press("f2")
        await t.sees("not saved: VLAN, and 1 more")
        assert "4095" in t.line_with("! VLAN is from 1 to 4094")
        assert "192.0.2.129/26" in t.line_with("! Network is a network with its prefix")
        assert "guest" in t.line_with("Name")
        await t.press("backspace", "f2")
        await t.sees("not saved: Network")
        assert read_where(closet, BY_NAME["subnet"], "identifier = 'guest'") == ()


async def test_from_the_row_that_saves_one_can_go_back_and_type(closet: BinderFile) -> None:
    async with terminal(closet.path) as t:
        await t.press("4", "n")
        await t.type("guest")
        await go_to_field(t, "cidr")
        await t.type("192.0.2.129/26")
        await t.press("pagedown", "pagedown")
        await t.sees("Enter saves")
        await t.press("enter")
        await t.sees("not saved: Network")
        await t.press("end", *["backspace"] * 4)
        await t.type("8/26")
        await t.press("pagedown", "pagedown", "enter")
        await t.sees("added subnet guest", "192.0.2.128/26")


async def test_a_choice_that_is_emptied_stays_empty_on_enter(closet: BinderFile) -> None:
    async with terminal(closet.path) as t:
        await open_new(t, "port")
        await go_to_field(t, "field_colour")
        await t.type("blue")
        await t.press(*["backspace"] * 4, "enter")
        form = t.app.screen
        assert isinstance(form, FormScreen)
        assert form.draft.texts["field_colour"] == ""


def test_an_example_is_in_the_units_a_bare_number_is_taken_in() -> None:
    warmest = BY_NAME["space"].field("ambient_max_c")  # 30 °C is 86 °F
    assert hint(warmest, "us").endswith("A bare 24 is 24 °F; or type the unit. Like 86 °F.")
    assert hint(warmest, "metric").endswith("Like 30 °C.")
    for field in (field for kind in KINDS for field in kind.all_fields):
        assert hint(field, "us"), field.name


async def test_what_the_database_refuses_is_told_and_the_form_stays(closet: BinderFile) -> None:
    async with terminal(closet.path) as t:
        await t.press("4", "n")
        await t.type("guest")
        await t.press("enter", "enter")
        await t.type("192.0.2.128/26")
        await t.press("enter")
        await t.type("192.0.2.1")
        await t.press("f2")
        await t.sees("the gateway must lie inside its subnet", "192.0.2.128/26")


async def test_a_name_that_is_taken_is_told_when_its_field_is_left(closet: BinderFile) -> None:
    async with terminal(closet.path) as t:
        await t.press("4", "n")
        await t.type("Staff")
        await t.press("down")
        await t.sees("! subnet Staff is in the binder already")


async def test_a_date_is_typed_as_days_from_now(closet: BinderFile) -> None:
    async with terminal(closet.path) as t:
        t.app.open_edit(resolve(closet, "SW1").id, "support_ends_on")
        await t.sees("Change hardware SW1")
        await t.type("+30d")
        await t.press("f2")
        await t.sees("saved SW1")
    assert read(closet, resolve(closet, "SW1").id)["support_ends_on"] == "2026-04-13"


async def test_a_quantity_is_typed_in_any_unit_of_its_kind(closet: BinderFile) -> None:
    async with terminal(closet.path) as t:
        t.app.open_edit(resolve(closet, "SW1").id, "depth_mm")
        await t.sees("Depth. A bare 24 is 24 mm")
        await t.type("11 in")
        await t.press("down")
        await t.type("4.1")
        await t.press("f2")
        await t.sees("saved SW1")
    switch = read(closet, resolve(closet, "SW1").id)
    assert (switch["depth_mm"], switch["weight_kg"]) == (279.4, 4.1)  # 1 in = 25.4 mm exactly


async def test_what_is_not_touched_keeps_its_last_digit(
    closet: BinderFile, change: Callable[..., None]
) -> None:
    change("SW1", depth_mm=279.4444)
    async with terminal(closet.path) as t:
        t.app.open_edit(resolve(closet, "SW1").id, "model")
        await t.sees("Change hardware SW1")
        await t.type("NV-24")
        await t.press("f2")
        await t.sees("saved SW1")
    switch = read(closet, resolve(closet, "SW1").id)
    assert (switch["depth_mm"], switch["model"]) == (279.4444, "NV-24")


async def test_choices_are_gone_through_and_found_by_typing(closet: BinderFile) -> None:
    async with terminal(closet.path) as t:
        t.app.open_edit(resolve(closet, "SW1").id, "criticality")
        await t.sees("Left and right go through the choices")
        await t.press("right")
        await t.until(lambda: t.line_with("Criticality").endswith(" high"), "high")
        await t.press("right", "down")
        await go_to_field(t, "face_order")
        await t.type("odd")
        await t.press("enter", "f2")
        await t.sees("saved SW1")
    switch = read(closet, resolve(closet, "SW1").id)
    assert (switch["criticality"], switch["face_order"]) == ("normal", "odd over even")


async def test_a_reference_is_found_by_typing_part_of_its_name(closet: BinderFile) -> None:
    async with terminal(closet.path) as t:
        t.app.open_edit(resolve(closet, "GW1").id, "rack")
        await t.sees("Type part of its name")
        await t.press("ctrl+u")
        await t.type("r1")
        await t.sees("1A-R1")
        await t.press("enter")
        await go_to_field(t, "space")
        await t.type("back")
        await t.until(lambda: "Back hall" in t.line_with("│1A "), "the space by its words")
        await t.press("escape", "f2")
        await t.sees("! no space is named 'back'")


async def test_ports_are_offered_with_what_is_plugged_into_them(closet: BinderFile) -> None:
    async with terminal(closet.path) as t:
        await open_new(t, "cord")
        await go_to_field(t, "port_a")
        await t.type("1A-A:0")
        await t.sees("1A-A:02  free", "1A-A:01  cord C-0001 to SW1:01")
        assert t.text.index("1A-A:06  free") < t.text.index("1A-A:01  cord")
        await t.press("end")
        await t.type("1")
        await t.sees("1A-A:01  cord C-0001 to SW1:01")
        await t.press("enter")
        await t.sees("! taken by cord C-0001 to SW1:01")


async def test_a_free_port_is_offered_with_its_poe_and_what_speaks_against_it_after_others(
    closet: BinderFile, change: Callable[..., None]
) -> None:
    change("SW1:02", condition="bad", condition_reason="bent contact")
    change("SW1:05", reserved_for="doors")
    async with terminal(closet.path) as t:
        await open_new(t, "cord")
        await go_to_field(t, "port_a")
        await t.type("SW1:0")
        await t.sees("SW1:04  free, PoE type 2", "SW1:02  free, bad: bent contact, PoE type 2")
        await t.sees("SW1:05  free, reserved for doors")
        assert t.text.index("SW1:06") < t.text.index("SW1:02")


async def test_ports_for_a_link_are_told_by_their_rear(closet: BinderFile) -> None:
    async with terminal(closet.path) as t:
        await open_new(t, "link")
        await go_to_field(t, "port_a")
        await t.type("1A-A:0")
        await t.sees("1A-A:04  free", "1A-A:02  link 1A-A02 to 114-1:B")


async def test_a_record_of_any_kind_is_told_with_its_kind(closet: BinderFile) -> None:
    async with terminal(closet.path) as t:
        await open_new(t, "known_issue")
        await t.type("hums")
        await t.press("enter")
        await t.type("GW")
        await t.sees("hardware GW1")
        await t.press("enter", "f2")
        await t.sees("added known issue hums")
    issue = read_where(closet, BY_NAME["known_issue"])[0]
    assert issue["subject"] == resolve(closet, "GW1").id


async def test_leaving_a_form_asks_before_what_was_typed_is_dropped(closet: BinderFile) -> None:
    async with terminal(closet.path) as t:
        await t.press("4", "n")
        await t.type("guest")
        await t.press("escape")
        await t.sees("Drop what you typed")
        await t.press("n")
        await t.sees("New subnet", "guest")
        await t.press("ctrl+c")
        await t.sees("Drop what you typed")
        await t.press("n")
        await t.sees("New subnet")
        await t.press("escape", "y")
        await t.sees_no("New subnet")
    assert read_where(closet, BY_NAME["subnet"], "identifier = 'guest'") == ()


async def test_an_untouched_form_is_left_without_a_question(closet: BinderFile) -> None:
    async with terminal(closet.path) as t:
        await t.press("4", "e")
        await t.sees("Change subnet staff")
        await t.press("escape")
        await t.sees_no("Change subnet")
        assert len(t.app.screen_stack) == 1


async def test_text_of_several_lines_has_a_screen_of_its_own(closet: BinderFile) -> None:
    async with terminal(closet.path) as t:
        t.app.open_edit(resolve(closet, "SW1").id, "notes")
        await t.sees("F4 opens a page", "F4 page")
        await t.press("f4")
        await t.sees("takes it into the form")
        await t.type("door sticks")
        await t.press("enter")
        await t.type("lift it")
        await t.press("escape")
        await t.sees("door sticks ¶ lift it")
        await t.press("f2")
        await t.sees("saved SW1")
    assert read(closet, resolve(closet, "SW1").id)["notes"] == "door sticks\nlift it"


async def test_a_copy_counts_on_and_leaves_out_what_belongs_to_one_thing(
    closet: BinderFile,
) -> None:
    async with terminal(closet.path) as t:
        await t.press("2", "right")
        await t.until(lambda: "SW1" in t.text, "SW1")
        t.app.screen.main_list.move_to(
            t.app.screen.main_list.lines.index(  # type: ignore[attr-defined]
                resolve(closet, "SW1").id
            )
        )
        await t.press("y")
        await t.sees("New hardware", "SW2")
        await t.press("f2")
        await t.sees("added hardware SW2")
    copy = read(closet, resolve(closet, "SW2").id)
    assert (copy["form"], copy["poe_budget_w"], copy["rack"]) == (
        "switch", 370.0, resolve(closet, "1A-R1").id,
    )  # fmt: skip
    assert [copy[n] for n in ("serial", "mac", "management_address", "u_position")] == [None] * 4


def test_a_copy_of_any_record_can_be_drawn_as_a_form(closet: BinderFile) -> None:
    for kind in KINDS:
        for record in read_where(closet, kind)[:1]:
            values: dict[str, Any] = copied_values(closet, record)
            draft = Draft(
                closet, kind.all_fields, values, system="metric", now=NOW, is_new=True, kind=kind
            )
            assert set(draft.texts) == {field.name for field in kind.all_fields}


async def test_every_kind_has_a_form_with_its_fields(closet: BinderFile) -> None:
    async with terminal(closet.path, size=(80, 100)) as t:
        for kind in KINDS:
            if not kind.single:
                await open_new(t, kind.name)
                await t.sees("[ Save ]", *(field.label for field in kind.offered("")))
                await t.press("escape")
                await t.sees_no("[ Save ]")


# Two people. ------------------------------------------------------------------------------


async def clash(t: Terminal, closet: BinderFile, editor: Editor) -> None:
    """R. Adeyemi types a firmware and a model while M. Osei saves another firmware."""
    switch = resolve(closet, "SW1").id
    t.app.open_edit(switch, "model")
    await t.sees("Change hardware SW1")
    await t.type("NV-24")
    await go_to_field(t, "firmware")
    await t.type("4.2.1")
    with editor.step("firmware brought up to date") as step:
        step.change(switch, {"firmware": "5.0.0", "owner": "client"})
    await t.press("f2")
    await t.sees("M. Osei changed SW1 while you were typing", "mine: 4.2.1", "theirs: 5.0.0")


async def test_a_clash_shows_both_versions_and_mine_can_stand(
    closet: BinderFile, editor: Editor
) -> None:
    async with terminal(closet.path) as t:
        await clash(t, closet, editor)
        await t.press("m", "f2")
        await t.sees("saved SW1")
    switch = read(closet, resolve(closet, "SW1").id)
    assert [switch[n] for n in ("firmware", "model", "owner")] == ["4.2.1", "NV-24", "client"]


async def test_in_a_clash_theirs_can_stand_and_the_rest_of_mine_is_saved(
    closet: BinderFile, editor: Editor
) -> None:
    async with terminal(closet.path) as t:
        await clash(t, closet, editor)
        await t.press("t", "f2")
        await t.sees("saved SW1")
    switch = read(closet, resolve(closet, "SW1").id)
    assert [switch[n] for n in ("firmware", "model", "owner")] == ["5.0.0", "NV-24", "client"]


async def test_a_clash_left_alone_loses_nothing(closet: BinderFile, editor: Editor) -> None:
    async with terminal(closet.path) as t:
        await clash(t, closet, editor)
        await t.press("escape")
        await t.sees("nothing you typed is lost", "4.2.1", "NV-24")
    assert read(closet, resolve(closet, "SW1").id)["firmware"] == "5.0.0"


async def test_a_time_is_typed_and_told_by_the_clock_on_the_clients_wall(
    closet: BinderFile, change: Callable[..., None]
) -> None:
    """14 March 2026, 09:40 UTC is 04:40 in Chicago: daylight time began there on the 8th."""
    change("Quillmere Veterinary Clinic", time_zone="America/Chicago")
    async with terminal(closet.path) as t:
        await open_new(t, "log_entry")
        await go_to_field(t, "opened_at")
        await t.press("end", "ctrl+u")
        await t.type("04:15")
        await t.press("f2")
        await t.sees("added log entry L-0001")
        t.app.turn_to(BY_NAME["log_entry"])
        await t.sees("2026-03-14 04:15")
    assert read_where(closet, BY_NAME["log_entry"])[0]["opened_at"] == "2026-03-14T09:15:00Z"


async def test_with_a_mouse_a_row_is_gone_to_by_a_click(closet: BinderFile) -> None:
    async with terminal(closet.path) as t:
        await open_new(t, "subnet")
        await t.pilot.click("#rows", offset=(3, 4))
        await t.type("192.0.2.130")
        await t.sees("field 5 of")
        assert "192.0.2.130" in t.line_with("DHCP from")


async def test_a_name_typed_whole_or_in_part_is_left_by_tab_or_down(closet: BinderFile) -> None:
    """A hand that types on must not fall into the list of what is offered."""
    async with terminal(closet.path) as t:
        await open_new(t, "hardware")
        for typed, key in (("1A-R1", "down"), ("1a-r1", "tab"), ("R1", "tab")):
            await go_to_field(t, "rack")
            await t.press("ctrl+u")
            await t.type(typed)
            await t.sees("│1A-R1")
            await t.press(key)
            form = t.app.screen
            assert isinstance(form, FormScreen)
            assert form.field is not None
            assert form.field.name == "u_position"
            await t.press("up")
        assert form.draft.texts["rack"] == "1A-R1"


async def test_a_form_offers_what_makes_sense_for_what_the_hardware_is(
    closet: BinderFile,
) -> None:
    """A camera has no battery, a UPS no recorder: common practice, no published source."""
    async with terminal(closet.path, size=(80, 60)) as t:
        await t.press("2", "right", "n")
        await t.type("UPS9")
        await t.press("enter")
        await t.type("UPS")
        await t.press("enter")
        await t.sees("Battery installed")
        await t.sees_no("Recorder")
        assert "Retention target" not in t.text


async def test_what_stands_in_a_field_is_shown_whatever_the_hardware_is(
    closet: BinderFile, editor: Editor, id_of: Callable[[str], int]
) -> None:
    with editor.step("odd") as step:
        step.change(id_of("hardware SW1"), {"battery_part": "B-12-9"})
    async with terminal(closet.path, size=(80, 60)) as t:
        await t.press("slash")
        await t.type("hardware SW1")
        await t.press("enter", "e")
        await t.sees("Change hardware SW1", "B-12-9")
        assert "Battery installed" not in t.text


async def test_a_row_stays_under_the_hand_that_empties_it(closet: BinderFile) -> None:
    async with terminal(closet.path) as t:
        await open_new(t, "hardware")
        await go_to_field(t, "form")
        await t.type("ups")
        await go_to_field(t, "battery_part")
        await t.type("B-12-9")
        while t.app.screen.field.name != "form":  # type: ignore[attr-defined]
            await t.press("up")
        await t.press("ctrl+u")
        await t.type("switch")
        await go_to_field(t, "battery_part")
        await t.press("ctrl+u")
        await t.type("B-12-7")
        assert "B-12-7" in t.line_with("Battery part")


async def test_a_note_of_one_line_is_typed_in_the_form_and_enter_goes_on(
    closet: BinderFile,
) -> None:
    async with terminal(closet.path) as t:
        t.app.open_edit(resolve(closet, "SW1").id, "notes")
        await t.sees("F4 opens a page")
        await t.type("door sticks")
        await t.press("enter")
        await t.type("ask upstairs")
        await t.press("enter", "f2")
        await t.sees("saved SW1")
    saved = read(closet, resolve(closet, "SW1").id)
    assert (saved["notes"], saved["internal_notes"]) == ("door sticks", "ask upstairs")


async def test_a_bare_figure_is_shown_with_its_unit_and_a_day_by_its_date(
    closet: BinderFile, editor: Editor
) -> None:
    """10 ft are 3.048 m: NIST Handbook 44 (2023), appendix C, 1 ft = 0.3048 m exactly."""
    sheet = client(closet)
    assert sheet is not None
    with editor.step("feet") as step:
        step.change(sheet.id, {"unit_system": "us"})
    async with terminal(closet.path) as t:
        await open_new(t, "cord")
        await go_to_field(t, "length_m")
        await t.type("10")
        await t.press("enter")
        await t.until(lambda: t.line_with("Length").endswith(" 10 ft"), "10 ft")
        form = t.app.screen
        assert isinstance(form, FormScreen)
        form.draft.look_at("length_m")  # read again, it is as it was
        assert form.draft.texts["length_m"] == "10 ft"
        assert form.draft.values()["length_m"] == 3.048
        await open_new(t, "hardware")
        await go_to_field(t, "support_ends_on")
        await t.type("+30d")
        await t.press("enter")
        await t.sees("2026-04-13")


async def test_what_a_field_is_to_name_is_added_from_the_form(closet: BinderFile) -> None:
    async with terminal(closet.path) as t:
        await open_new(t, "hardware")
        await t.type("CAM9")
        await t.press("enter")
        await t.type("camera")
        await go_to_field(t, "space")
        await t.type("Kennel 3")
        await t.sees('add space "Kennel 3"')
        await t.press("enter")
        await t.sees("New space, then back to the form", "Kennel 3")
        await go_to_field(t, "building")
        await t.press("f2")
        await t.sees("not saved: Building")
        await t.type("B1")
        await t.press("enter", "f2")
        await t.sees("added space", "New hardware", "CAM9")
        await t.press("f2")
        await t.sees("added hardware CAM9")
    camera = read(closet, resolve(closet, "hardware CAM9").id)
    assert camera["space"] == resolve(closet, "space Kennel 3").id


async def test_tab_and_the_arrows_never_lead_to_another_form(closet: BinderFile) -> None:
    async with terminal(closet.path) as t:
        await open_new(t, "hardware")
        for key in ("tab", "down"):
            await go_to_field(t, "space")
            await t.press("ctrl+u")
            await t.type("Kennel 3")
            await t.sees('add space "Kennel 3"')
            await t.press(key)
            await t.sees("no space is named")
            assert "New hardware" in t.text
            await t.press("up")
