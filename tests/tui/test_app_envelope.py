"""The envelope at the app: opened, a secret shown and gone, a new value given, who knows what."""

from __future__ import annotations

import numpy as np
import pytest
import zxingcpp

from binder.edit import Editor
from binder.envelope import has_envelope, reports
from binder.envelope.keys import weak_work_for_tests
from binder.envelope.opened import open_envelope
from binder.envelope.secret_value import SecretValue
from binder.file import BinderFile
from binder.read import read, resolve
from tests.conftest import add_by_name
from tests.tui.envelope_at_hand import (
    PASSPHRASE,
    PASSWORD,
    PIN,
    WIRELESS_KEY,
    at_work,
    fill_envelope,
    open_envelope_by_keys,
    show_pin,
)
from tests.tui.screen_text import NOW, terminal


@pytest.fixture
def kept(closet: BinderFile, editor: Editor) -> BinderFile:
    fill_envelope(closet, editor)
    return closet


def value_of(binder: BinderFile, name: str, version: int | None = None) -> str:
    """A value, read from the file with the passphrase."""
    envelope = open_envelope(
        binder, SecretValue(PASSPHRASE), who="the test", work=weak_work_for_tests()
    )
    secret = resolve(binder, name, "secret").id
    return envelope.reveal(secret, "to see", version=version).expose()


# The call. --------------------------------------------------------------------------------


async def test_on_a_call_the_carriers_pin_is_seconds_away_and_the_log_names_the_call(
    kept: BinderFile, editor: Editor
) -> None:
    with editor.step("a call") as step:
        add_by_name(kept, step, "log_entry", opened_at="2026-03-14T09:38:00Z", form="call",
                    who="R. Adeyemi", summary="no internet at the front desk")  # fmt: skip
    async with at_work(kept.path) as (t, wall):
        await t.press("slash")
        await t.type("Larkfen")
        await t.sees("fibre")
        await t.press("enter")
        await t.sees("Circuit fibre", "envelope sealed", "k secret")
        await t.press("k")
        await t.type(PASSPHRASE)
        await t.press("enter")
        await t.sees(PIN, "gone in 20 s", "circuit fibre", "L-0001")
        wall.passes(seconds=19)
        await t.sees("gone in 1 s", PIN)
        wall.passes(seconds=1)
        await t.sees_no(PIN)
        await t.sees("Circuit fibre")
        t.app.open_sheet(resolve(kept, "fibre account PIN").id)
        await t.sees("Who was shown it (2)", "R. Adeyemi was shown version 1",
                     "L-0001: call no internet at the front desk")  # fmt: skip
    line = reports.log_of_secret(kept, resolve(kept, "fibre account PIN").id)[0]
    assert (line.act, line.who, line.seen_by) == ("reveal", "R. Adeyemi", "R. Adeyemi")
    assert line.log_entry_id == resolve(kept, "L-0001").id


async def test_the_whole_errand_in_one_bunch_of_keys(kept: BinderFile) -> None:
    """Each key waits for the question it is meant for; none reaches the list beneath."""
    before = len(reports.log(kept))
    async with at_work(kept.path) as (t, _):
        await t.burst("slash", *"Larkfen", "enter", "k", *PASSPHRASE, "enter", *"asked", "enter")
        await t.sees(PIN)
    opened, shown = reversed(reports.log(kept)[: len(reports.log(kept)) - before])
    assert (opened.act, shown.act, shown.why) == ("open", "reveal", "asked")


async def test_a_closed_entry_or_anothers_is_no_reason(kept: BinderFile, editor: Editor) -> None:
    with editor.step("calls") as step:
        add_by_name(kept, step, "log_entry", opened_at="2026-03-14T08:00:00Z", who="R. Adeyemi",
                    closed_at="2026-03-14T08:30:00Z", summary="done")  # fmt: skip
        add_by_name(kept, step, "log_entry", opened_at="2026-03-14T09:00:00Z", who="K. Brandt")
    async with at_work(kept.path) as (t, _):
        await open_envelope_by_keys(t)
        await show_pin(t)
    line = reports.log_of_secret(kept, resolve(kept, "fibre account PIN").id)[0]
    assert (line.why, line.log_entry_id) == ("carrier asks", None)


async def test_without_a_reason_nothing_is_shown_and_nothing_written(kept: BinderFile) -> None:
    async with at_work(kept.path) as (t, _):
        await open_envelope_by_keys(t)
        lines = len(reports.log(kept))
        t.app.open_sheet(resolve(kept, "fibre", "circuit").id)
        await t.press("k", "enter")
        await t.sees("Why do you look")
        await t.press("escape")
        await t.sees_no("Why do you look")
        assert PIN not in t.text
    assert len(reports.log(kept)) == lines


async def test_an_accounts_secrets_are_offered_and_those_of_its_device(kept: BinderFile) -> None:
    async with at_work(kept.path) as (t, _):
        await open_envelope_by_keys(t)
        t.app.open_sheet(resolve(kept, "SW1", "hardware").id)
        await t.press("k")
        await t.sees("Which secret of SW1?", "SW1 admin password", "SW1 / admin")
        assert "no value yet" in t.line_with("SW1 second factor")
        await t.press("enter")
        await t.type("firmware")
        await t.press("enter")
        await t.sees(PASSWORD.strip(), "blanks at an end belong to it: 1")


async def test_a_record_without_secrets_says_so(kept: BinderFile) -> None:
    async with at_work(kept.path) as (t, _):
        t.app.open_sheet(resolve(kept, "GW1").id)
        await t.sees("Hardware GW1")
        assert "k secret" not in t.lines[-1]
        await t.press("k")
        await t.sees("no secrets of GW1")


# Opening and sealing. ---------------------------------------------------------------------


async def test_a_wrong_passphrase_is_told_and_the_next_waits(kept: BinderFile) -> None:
    """1, 2, 4, ... seconds; counted from the file, so starting anew does not help."""
    async with at_work(kept.path) as (t, wall):
        await t.press("o")
        await t.type("kettle ladder moonrisf")
        await t.press("enter")
        await t.sees("1 passphrase did not open it; the next is taken in 1 s")
        wall.passes(seconds=1)
        await t.sees("the envelope did not open")
        await t.type("kettle ladder moonrisg")
        await t.press("enter")
        await t.sees("2 passphrases in a row did not open it; the next is taken in 2 s")
        await t.type(PASSPHRASE)
        await t.press("enter")  # too early: nothing is tried, what was typed stays
        await t.sees("••••••••••••••••••••••", "is taken in 2 s")
        wall.passes(seconds=2)
        await t.sees_no("is taken in")
        await t.press("enter")
        await t.sees("opened with the passphrase of shop team")
    assert [one.opened for one in reports.openings(kept)] == [True, False, False]


async def test_the_delay_grows_to_a_minute_and_no_further(kept: BinderFile) -> None:
    with kept.writing() as connection:
        connection.executemany(
            "INSERT INTO refused_opening (at, who, after_line) VALUES (?, 'somebody', 99)",
            [(NOW.strftime("%Y-%m-%dT%H:%M:%SZ"),)] * 40,
        )
    async with at_work(kept.path) as (t, _):
        await t.press("o")
        await t.sees("40 passphrases in a row did not open it; the next is taken in 60 s")


async def test_five_minutes_without_a_key_seal_it_and_a_key_in_time_does_not(
    kept: BinderFile,
) -> None:
    async with at_work(kept.path) as (t, wall):
        await open_envelope_by_keys(t)
        wall.passes(minutes=4, seconds=30)
        await t.sees("envelope open 0:30")
        await t.press("down")
        await t.sees_no("0:30")
        wall.passes(minutes=4, seconds=59)
        await t.sees("envelope open 0:01")
        wall.passes(seconds=1)
        await t.sees("envelope sealed", "no key for 5 minutes")
        assert t.app.envelope.open is None


async def test_a_key_that_comes_too_late_does_not_keep_it_open(kept: BinderFile) -> None:
    async with at_work(kept.path) as (t, wall):
        await open_envelope_by_keys(t)
        wall.passes(hours=9)  # the computer slept
        await t.press("down")
        assert t.app.envelope.open is None


async def test_it_is_sealed_by_a_key_and_by_leaving_the_binder(kept: BinderFile) -> None:
    async with at_work(kept.path.parent) as (t, _):
        assert "envelope" not in t.lines[0]
        await t.press("enter")
        await t.sees("envelope sealed")
        await open_envelope_by_keys(t)
        first = t.app.envelope.open
        await t.press("o")
        await t.sees("the envelope is sealed", "envelope sealed")
        await open_envelope_by_keys(t)
        second = t.app.envelope.open
        await t.press("q")
        await t.sees("Shelf")
        assert first
        assert second
        assert not first.is_open
        assert not second.is_open


async def test_read_only_says_why_nothing_can_be_shown(kept: BinderFile) -> None:
    async with at_work(kept.path, read_only=True) as (t, _):
        t.app.open_sheet(resolve(kept, "fibre", "circuit").id)
        await t.sees("Circuit fibre", "envelope sealed", "read-only")
        assert "k secret" not in t.lines[-1]
        await t.press("k")
        await t.sees("what is shown must be written down in the log")


async def test_what_was_tampered_with_stands_in_the_way(kept: BinderFile) -> None:
    triggers = kept.connection.execute(
        "SELECT name FROM sqlite_schema WHERE type = 'trigger' AND tbl_name = 'envelope_log'"
    ).fetchall()
    with kept.writing() as connection:
        for (name,) in triggers:
            connection.execute(f"DROP TRIGGER {name}")
        connection.execute("UPDATE envelope_log SET who = 'K. Brandt' WHERE number = 4")
    async with at_work(kept.path) as (t, _):
        await t.press("o")
        await t.type(PASSPHRASE)
        await t.press("enter")
        await t.sees("it was tampered with", "Go on?")
        await t.press("n")
        await t.sees("envelope sealed")


async def test_an_envelope_is_made_with_advice_and_typed_twice(closet: BinderFile) -> None:
    async with at_work(closet.path) as (t, _):
        assert "envelope" not in t.lines[0]
        await t.press("o")
        await t.sees("no envelope yet", "shop team")
        await t.press("enter")
        await t.sees("Have one made", "Type one of my own")
        await t.press("down", "enter")
        await t.sees("At least 15 characters")
        await t.type("password")
        await t.press("enter")
        await t.sees("a passphrase has at least 15 characters; this one has 8")
        await t.type(PASSPHRASE)
        await t.press("enter")
        await t.sees("The same again:")
        await t.type("kettle ladder moonrisf")
        await t.press("enter")
        await t.sees("the two differ")
        for _ in range(2):
            await t.type(PASSPHRASE)
            await t.press("enter")
        await t.sees("the envelope is made, and open", "envelope open")
    assert [one.name for one in reports.keyholders(closet)] == ["shop team"]
    open_envelope(closet, SecretValue(PASSPHRASE), who="again", work=weak_work_for_tests())


async def test_a_made_passphrase_must_be_typed_back_before_it_holds_anything(
    closet: BinderFile,
) -> None:
    async with at_work(closet.path) as (t, _):
        await t.press("o", "enter", "enter")
        await t.sees("write it down", "gone in 300 s")
        shown = t.lines[2].strip()
        assert len(shown) == 23
        await t.press("escape")
        await t.sees("as you wrote it")
        assert shown not in t.text
        assert not has_envelope(closet)
        await t.type(shown)
        await t.press("enter")
        await t.sees("the envelope is made, and open")
    open_envelope(closet, SecretValue(shown), who="again", work=weak_work_for_tests())


# While it is shown. -----------------------------------------------------------------------


async def test_a_pin_is_spelled_to_be_read_out(kept: BinderFile) -> None:
    """The radiotelephony alphabet of ICAO Annex 10 (value from memory)."""
    async with at_work(kept.path) as (t, _):
        await open_envelope_by_keys(t)
        await show_pin(t)
        await t.press("s")
        await t.sees("four, four, one, zero, hyphen, charlie, alfa, november", PIN)


async def test_another_twenty_seconds_are_another_line_of_the_log(kept: BinderFile) -> None:
    async with at_work(kept.path) as (t, wall):
        await open_envelope_by_keys(t)
        await show_pin(t)
        wall.passes(seconds=15)
        await t.press("k")
        await t.sees("gone in 20 s", PIN)
    lines = reports.log_of_secret(kept, resolve(kept, "fibre account PIN").id)
    assert [line.act for line in lines] == ["reveal", "reveal", "set"]


async def test_one_time_codes_change_while_they_are_shown(kept: BinderFile) -> None:
    """RFC 6238, appendix B: the seed of the table for SHA-1, at 1,111,111,109 s; 8 digits."""
    uri = "otpauth://totp/x?secret=GEZDGNBVGY3TQOJQGEZDGNBVGY3TQOJQ&digits=8"
    async with at_work(kept.path) as (t, wall):
        await open_envelope_by_keys(t)
        t.app.open_sheet(resolve(kept, "SW1 second factor").id)
        await t.sees("none yet: g gives it one")
        await t.press("g")
        for _ in range(2):
            await t.type(uri)
            await t.press("enter")
        await t.sees("kept as version 1 of SW1 second factor")
        wall.now = wall.now.fromtimestamp(1_111_111_109, wall.now.tzinfo)
        t.app.envelope.touch()
        await open_envelope_by_keys(t)
        await t.press("k")
        await t.type("login")
        await t.press("enter")
        await t.sees("07081804", "good for 1 s", "gone in 60 s")
        wall.passes(seconds=2)
        await t.sees("14050471", "good for 29 s")
        assert "GEZDGNBV" not in t.text
        wall.passes(seconds=58)
        await t.sees_no("14050471")


async def test_phones_read_the_wireless_code_from_an_80_by_24_terminal(kept: BinderFile) -> None:
    """The text by common practice (no published standard), read by zxing-cpp."""
    async with at_work(kept.path) as (t, _):
        await open_envelope_by_keys(t)
        t.app.open_sheet(resolve(kept, "Quillmere Guest", "ssid").id)
        await t.press("k")
        await t.type("card")
        await t.press("enter")
        await t.sees(WIRELESS_KEY, "w QR code")
        await t.press("w")
        await t.sees("▄▄▄▄▄")
        assert WIRELESS_KEY not in t.text
        drawn = t.lines[1:-1]
    assert read_code(drawn) == f"WIFI:T:WPA;S:Quillmere Guest;P:{WIRELESS_KEY};;"


async def test_a_terminal_too_low_for_the_code_says_how_many_lines_it_takes(
    kept: BinderFile,
) -> None:
    async with at_work(kept.path, size=(80, 16)) as (t, _):
        await open_envelope_by_keys(t)
        t.app.open_sheet(resolve(kept, "Quillmere Guest", "ssid").id)
        await t.press("k")
        await t.type("card")
        await t.press("enter")
        await t.sees(WIRELESS_KEY)
        await t.press("w")
        await t.sees("the code needs 21 lines; this terminal has 16")


def read_code(drawn: list[str]) -> str:
    """The code from its lines: each character is two modules, light ones drawn."""
    halves = {" ": (0, 0), "█": (1, 1), "▀": (1, 0), "▄": (0, 1)}
    width = max(map(len, drawn))
    rows = [[halves[sign][half] for sign in text.ljust(width)] for text in drawn for half in (0, 1)]
    picture = np.kron(np.array(rows, dtype=np.uint8) * 255, np.ones((6, 6), dtype=np.uint8))
    (found,) = zxingcpp.read_barcodes(picture)
    return str(found.text)


# New values. ------------------------------------------------------------------------------


async def test_a_new_value_is_typed_twice_unseen_and_the_old_one_kept(kept: BinderFile) -> None:
    pin = resolve(kept, "fibre account PIN").id
    with Editor(kept, "M. Osei").step("rotate it") as step:
        step.change(pin, {"rotate_by": "2026-03-01", "default_value": True})
    async with at_work(kept.path) as (t, _):
        await open_envelope_by_keys(t)
        t.app.open_sheet(pin)
        await t.press("g")
        await t.sees("digits only", "I type it, unseen, twice")
        await t.press("down", "enter")
        for typed in ("9911-first", "9911-second"):
            await t.type(typed)
            assert typed not in t.text
            await t.press("enter")
        await t.sees("the two differ")
        for _ in range(2):
            await t.type("9911-second")
            await t.press("enter")
        await t.sees("kept as version 2", "Values in the envelope (2)", "replaced")
        await t.press("u")
        await t.sees("undone: what the record told", "the value itself")
        await t.press("r")
        await t.sees("done again")
    record = read(kept, pin)
    told = [record[name] for name in ("set_on", "set_by", "rotate_by", "default_value")]
    assert told == ["2026-03-14", "R. Adeyemi", None, 0]
    assert value_of(kept, "fibre account PIN") == "9911-second"
    assert value_of(kept, "fibre account PIN", 1) == PIN


async def test_a_made_value_is_kept_first_and_then_shown_for_the_device(kept: BinderFile) -> None:
    async with at_work(kept.path) as (t, _):
        await open_envelope_by_keys(t)
        t.app.open_sheet(resolve(kept, "fibre account PIN").id)
        await t.press("g", "enter")
        await t.sees("How many characters")
        await t.press("backspace")
        await t.type("6")
        await t.press("enter")
        await t.sees("in the envelope already", "version 2")
        shown = t.lines[2].strip()
        assert len(shown) == 6
        assert shown.isdecimal()
        await t.press("escape")
        await t.sees("kept as version 2")
        assert shown not in t.text
    assert value_of(kept, "fibre account PIN") == shown


async def test_a_value_of_several_lines_is_typed_and_shown_as_it_is(kept: BinderFile) -> None:
    with Editor(kept, "M. Osei").step("codes") as step:
        codes = add_by_name(kept, step, "secret", identifier="mail codes", form="recovery codes",
                            belongs_to="Priya Nandakumar")  # fmt: skip
    async with at_work(kept.path) as (t, _):
        await open_envelope_by_keys(t)
        t.app.open_sheet(codes)
        await t.press("g")
        for _ in range(2):
            await t.burst(*"7f2k  91mq", "down", *"c84w", "enter")
        await t.sees("kept as version 1")
        await t.press("k")
        await t.type("to see")
        await t.press("enter")
        await t.sees("   7f2k  91mq", "   c84w")
    assert value_of(kept, "mail codes") == "7f2k  91mq\nc84w"


async def test_an_old_value_is_shown_or_discarded_from_the_sheet(kept: BinderFile) -> None:
    pin = resolve(kept, "fibre account PIN").id
    envelope = open_envelope(kept, SecretValue(PASSPHRASE), who="M. Osei",
                             work=weak_work_for_tests())  # fmt: skip
    envelope.put(pin, SecretValue("9911"))
    async with at_work(kept.path) as (t, _):
        await open_envelope_by_keys(t)
        t.app.open_sheet(pin)
        await t.sees("version 1  replaced")
        while "version 1" not in t.app.screen.row.parts[0].text:  # type: ignore[attr-defined]
            await t.press("down")
        await t.press("enter")
        await t.sees("Show it", "Discard it for good")
        await t.press("enter")
        await t.type("the device still has it")
        await t.press("enter")
        await t.sees(PIN, "PIN, version 1")
        await t.press("escape", "enter", "down", "enter")
        await t.sees("Discard version 1 for good?")
        await t.press("y")
        await t.sees("version 1 is discarded", "Values in the envelope (1)")
    assert [one.version for one in reports.versions(kept, pin)] == [2]


# Who knows what. --------------------------------------------------------------------------


async def test_when_somebody_leaves_all_they_know_is_marked_at_once(kept: BinderFile) -> None:
    async with at_work(kept.path, size=(100, 40)) as (t, _):
        await t.press("l")
        await t.sees("Who knows what (1)", "M. Osei  3 values in use")
        await t.sees("Keyholders (1)", "nothing is due", "binder envelope add")
        while "M. Osei" not in str(t.app.screen.main_list.key):  # type: ignore[attr-defined]
            await t.press("down")
        await t.press("enter")
        await t.sees("What M. Osei knows", "guest key", "held the data key")
        await t.press("m")
        await t.sees("rotate by when?")
        await t.press("backspace", "backspace", "backspace")
        await t.type("yesterdayish")
        await t.press("enter")
        await t.sees("! ")
        await t.press("ctrl+u")
        await t.type("-1d")
        await t.press("enter")
        await t.sees("3 secrets are to be rotated by 2026-03-13")
        await t.press("q")
        await t.sees("To be rotated (3)", "1 day late", "M. Osei left")
    due = reports.overdue(kept, NOW.date())
    assert {one.secret for one in due} == {"fibre account PIN", "guest key", "SW1 admin password"}


async def test_the_envelopes_page_tells_openings_and_failures(kept: BinderFile) -> None:
    async with at_work(kept.path, size=(100, 50)) as (t, wall):
        await t.press("o")
        await t.type("not the passphrase")
        await t.press("enter")
        await t.sees("did not open it")
        wall.passes(seconds=1)
        await t.press("escape")
        await open_envelope_by_keys(t)
        await t.press("l")
        await t.sees("1 did not open it", "R. Adeyemi  ! wrong passphrase")
        await t.sees("R. Adeyemi  with the passphrase of shop team", "Log of the envelope")


async def test_the_secrets_of_a_hostile_name_are_drawn_harmless(
    kept: BinderFile, editor: Editor
) -> None:
    hostile = "\x1b[2J[/x] [A1]\u202e"
    pin = resolve(kept, "fibre account PIN").id
    with editor.step("odd") as step:
        step.change(pin, {"identifier": f"PIN {hostile}", "instructions": hostile})
    envelope = open_envelope(kept, SecretValue(PASSPHRASE), who="M. Osei",
                             work=weak_work_for_tests())  # fmt: skip
    envelope.put(pin, SecretValue(f"value {hostile}"))
    async with terminal(kept.path, size=(100, 50)) as t:
        t.app.envelope_work = weak_work_for_tests()
        await open_envelope_by_keys(t)
        t.app.open_sheet(pin)
        await t.press("k")
        await t.sees("Why do you look at PIN ␛[2J[/x] [A1]")
        await t.type("to see")
        await t.press("enter")
        await t.sees("value ␛[2J[/x] [A1]")
        for text in t.lines:
            assert "\x1b" not in text
            assert "\u202e" not in text
