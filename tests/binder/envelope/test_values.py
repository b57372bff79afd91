"""Values of secrets: set, revealed, kept, discarded."""

from __future__ import annotations

import sqlite3
from datetime import UTC, datetime

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from binder import history
from binder.edit import Editor
from binder.envelope import reports
from binder.envelope.opened import Envelope
from binder.envelope.secret_value import SecretValue
from binder.errors import RequestError
from binder.file import BinderFile, open_binder
from binder.read import read
from binder.verify import verify
from tests.binder.envelope.conftest import open_again


@settings(
    max_examples=60, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture]
)
@given(st.text(st.characters(exclude_categories=["Cs"]), min_size=1, max_size=300))
def test_what_was_put_in_is_what_comes_out(envelope: Envelope, password: int, text: str) -> None:
    envelope.put(password, SecretValue(text))
    assert envelope.reveal(password, "round trip").expose() == text


@pytest.mark.parametrize("text", ["\x80", "a\x00", "\x00\x00", "x" * 63, "x" * 64, "x" * 65_536])
def test_values_that_look_like_their_own_padding_come_out_whole(
    envelope: Envelope, password: int, text: str
) -> None:
    """ISO/IEC 7816-4: what is padded ends in 80 00 00 ..."""
    envelope.put(password, SecretValue(text))
    assert envelope.reveal(password, "edges").expose() == text


def test_the_file_does_not_tell_how_long_a_value_is(
    binder: BinderFile, envelope: Envelope, pin: int
) -> None:
    for value in (
        "4410",
        "441022",
        "a whole sentence of sixty-three characters, or nearly so much",
    ):
        envelope.put(pin, SecretValue(value))
    sizes = binder.connection.execute("SELECT DISTINCT length(sealed) FROM secret_version")
    assert [row[0] for row in sizes] == [12 + 64 + 16]


def test_equal_values_are_sealed_differently(
    binder: BinderFile, envelope: Envelope, password: int, pin: int
) -> None:
    for secret in (password, pin, pin):
        envelope.put(secret, SecretValue("4410"))
    sealed = [row[0] for row in binder.connection.execute("SELECT sealed FROM secret_version")]
    assert len({value[:12] for value in sealed}) == len({value[12:] for value in sealed}) == 3


@pytest.mark.parametrize("text", ["", "half a pair \ud800", "x" * 65_537])
def test_what_cannot_be_a_value_is_refused(envelope: Envelope, password: int, text: str) -> None:
    with pytest.raises(RequestError, match="1 to 65536 bytes"):
        envelope.put(password, SecretValue(text))
    with pytest.raises(RequestError, match="no value in the envelope"):
        envelope.reveal(password, "nothing was put in")


def test_a_seed_must_make_codes(
    envelope: Envelope, editor: Editor, password: int, key: int
) -> None:
    with editor.step("it is a seed") as step:
        step.change(key, {"form": "one-time-code seed"})
    with pytest.raises(RequestError, match="base32"):
        envelope.put(key, SecretValue("not a seed 1"))
    envelope.put(key, SecretValue("otpauth://totp/q?secret=GEZDGNBVGY3TQOJQGEZDGNBVGY3TQOJQ"))
    codes = envelope.codes(key, "log in to the portal")
    assert codes.at(datetime.fromtimestamp(59, UTC)).value.expose() == "287082"
    assert codes.at(datetime.fromtimestamp(59, UTC)).seconds_left == 1
    with pytest.raises(RequestError, match="no one-time-code seed"):
        envelope.codes(password, "no codes")


def test_a_new_version_keeps_the_old_until_it_is_discarded(
    binder: BinderFile, envelope: Envelope, password: int
) -> None:
    """The device may still have the old one."""
    assert [envelope.put(password, SecretValue(v)) for v in ("first", "second")] == [1, 2]
    assert envelope.reveal(password, "device still has it", version=1).expose() == "first"
    assert [(v.version, v.current) for v in reports.versions(binder, password)] == [
        (2, True), (1, False),
    ]  # fmt: skip
    envelope.discard(password, [1], "changed on the device")
    with pytest.raises(RequestError, match="no version 1"):
        envelope.reveal(password, "too late", version=1)
    assert envelope.reveal(password, "the new one").expose() == "second"
    assert envelope.check(every_value=True) == ()


def test_a_version_number_is_never_used_again(envelope: Envelope, password: int) -> None:
    envelope.put(password, SecretValue("first"))
    envelope.discard(password, [1])
    assert envelope.put(password, SecretValue("second")) == 2


def test_discarding_what_is_not_there_discards_nothing(envelope: Envelope, password: int) -> None:
    envelope.put(password, SecretValue("first"))
    with pytest.raises(RequestError, match="no version 7"):
        envelope.discard(password, [1, 7])
    assert envelope.reveal(password, "still there").expose() == "first"


def test_setting_a_value_marks_the_record_as_rotated(
    binder: BinderFile, editor: Editor, envelope: Envelope, password: int
) -> None:
    with editor.step("the maker's own") as step:
        step.change(password, {"default_value": 1})
    envelope.put(password, SecretValue("as it came"))
    assert read(binder, password)["default_value"] == 1
    with editor.step("must change") as step:
        step.change(password, {"rotate_by": "2026-03-01", "rotate_reason": "D. Ferro left"})
    envelope.put(password, SecretValue("another"))
    record = read(binder, password)
    assert (record["set_on"], record["set_by"]) == ("2026-03-14", "M. Osei")
    assert (record["rotate_by"], record["rotate_reason"]) == (None, None)
    assert record["default_value"] == 0


def test_a_secret_corrected_to_another_kind_still_opens(
    editor: Editor, envelope: Envelope, password: int
) -> None:
    envelope.put(password, SecretValue("4410"))
    with editor.step("it is a PIN") as step:
        step.change(password, {"form": "PIN"})
    assert envelope.reveal(password, "call").expose() == "4410"


# Before it is shown, it is written down. --------------------------------------------------


def test_a_reveal_is_in_the_log_with_who_which_and_why(
    binder: BinderFile, envelope: Envelope, pin: int
) -> None:
    envelope.put(pin, SecretValue("4410"))
    envelope.reveal(pin, "carrier asks for it", log_entry_id=77)
    line = reports.log_of_secret(binder, pin)[0]
    assert (line.at, line.who, line.act, line.seen_by) == (
        "2026-03-14T09:40:00Z", "M. Osei", "reveal", "M. Osei",
    )  # fmt: skip
    assert (line.secret, line.version, line.why, line.log_entry_id) == (
        "fibre account PIN", 1, "carrier asks for it", 77,
    )  # fmt: skip


def test_no_value_is_given_whose_line_was_not_committed(
    binder: BinderFile, envelope: Envelope, pin: int
) -> None:
    """Someone else holds the file: the line cannot be written, so nothing is shown."""
    envelope.put(pin, SecretValue("4410"))
    binder.connection.execute("PRAGMA busy_timeout = 0")
    with (
        open_binder(binder.path) as elsewhere,
        elsewhere.writing(),
        pytest.raises(Exception, match="someone else is writing"),
    ):
        envelope.reveal(pin, "call")
    assert [line.act for line in reports.log_of_secret(binder, pin)] == ["set"]


def test_the_line_is_committed_by_the_time_the_value_is_there(
    binder: BinderFile, envelope: Envelope, pin: int
) -> None:
    envelope.put(pin, SecretValue("4410"))
    statements: list[str] = []
    binder.connection.set_trace_callback(statements.append)
    value = envelope.reveal(pin, "call")
    binder.connection.set_trace_callback(None)
    assert value.expose() == "4410"
    assert statements[-1] == "COMMIT"
    assert any("envelope_log" in sql and sql.startswith("INSERT") for sql in statements)


@pytest.mark.parametrize("why", ["", "   ", "\n"])
def test_a_reveal_without_a_reason_is_refused(envelope: Envelope, pin: int, why: str) -> None:
    envelope.put(pin, SecretValue("4410"))
    with pytest.raises(RequestError, match="why"):
        envelope.reveal(pin, why)


def test_handing_over_is_logged_as_known_to_the_recipient(
    binder: BinderFile, envelope: Envelope, pin: int, password: int
) -> None:
    envelope.put(pin, SecretValue("4410"))
    envelope.put(password, SecretValue("first"))
    values = envelope.hand_over([pin, password], "Priya Nandakumar", "issue 3 of the handoff")
    assert {key: value.expose() for key, value in values.items()} == {
        pin: "4410",
        password: "first",
    }
    assert {seen.secret for seen in reports.seen_by(binder, "Priya Nandakumar")} == {
        "fibre account PIN", "SW1 admin password",
    }  # fmt: skip


def test_all_are_handed_over_or_none(
    binder: BinderFile, envelope: Envelope, pin: int, key: int
) -> None:
    envelope.put(pin, SecretValue("4410"))
    with pytest.raises(RequestError, match="guest key has no value"):
        envelope.hand_over([pin, key], "Priya Nandakumar", "issue 3")
    assert reports.seen_by(binder, "Priya Nandakumar") == ()


def test_only_a_secret_has_a_value(envelope: Envelope, binder: BinderFile, password: int) -> None:
    account = read(binder, password)["belongs_to"]
    with pytest.raises(RequestError, match=r"SW1 / admin \(account\) is not a secret"):
        envelope.put(account, SecretValue("x"))
    with pytest.raises(RequestError, match="not in the binder"):
        envelope.put(42, SecretValue("x"))


# Removal and undo. ------------------------------------------------------------------------


def test_undo_of_a_removal_brings_the_value_back(
    binder: BinderFile, editor: Editor, envelope: Envelope, password: int
) -> None:
    envelope.put(password, SecretValue("first"))
    with editor.step("remove it") as step:
        step.remove(password)
    with pytest.raises(RequestError, match="not in the binder"):
        envelope.reveal(password, "gone")
    (left,) = reports.left_behind(binder)
    assert left == reports.LeftBehind(password, "SW1 admin password", (1,))
    assert envelope.check(every_value=True) == ()
    editor.undo()
    assert envelope.reveal(password, "back").expose() == "first"
    assert reports.left_behind(binder) == ()
    assert verify(binder) == ()


def test_the_values_of_a_removed_secret_can_be_destroyed(
    binder: BinderFile, editor: Editor, envelope: Envelope, password: int
) -> None:
    envelope.put(password, SecretValue("first"))
    with editor.step("remove it") as step:
        step.remove(password)
    (left,) = reports.left_behind(binder)
    envelope.discard(left.secret_id, left.versions, "account closed")
    assert reports.left_behind(binder) == ()
    assert reports.log(binder, 1)[0].secret == "SW1 admin password"
    editor.undo()
    with pytest.raises(RequestError, match="no value"):
        envelope.reveal(password, "destroyed")


def test_a_removed_secret_outlives_a_renewal_too(
    editor: Editor, envelope: Envelope, password: int
) -> None:
    envelope.put(password, SecretValue("first"))
    with editor.step("remove it") as step:
        step.remove(password)
    envelope.renew()
    editor.undo()
    assert envelope.reveal(password, "back").expose() == "first"


def test_setting_a_value_stands_in_the_history_without_it(
    binder: BinderFile, envelope: Envelope, password: int
) -> None:
    envelope.put(password, SecretValue("first"), log_entry_id=77)
    changes = [c for c in history.of_record(binder, password) if c.act == "change"]
    assert {(c.field, c.who, c.summary, c.log_entry_id) for c in changes} == {
        ("set_on", "M. Osei", "set SW1 admin password", 77),
        ("set_by", "M. Osei", "set SW1 admin password", 77),
    }


def test_two_technicians_setting_one_secret_lose_neither_value(
    binder: BinderFile, envelope: Envelope, password: int
) -> None:
    with open_binder(binder.path) as elsewhere:
        other = open_again(elsewhere, who="D. Ferro")
        envelope.put(password, SecretValue("mine"))
        other.put(password, SecretValue("theirs"))
        values = [envelope.reveal(password, "both", version=v).expose() for v in (1, 2)]
    assert values == ["mine", "theirs"]
    assert envelope.check(every_value=True) == ()


def test_a_failure_half_way_leaves_neither_value_nor_line(
    binder: BinderFile, envelope: Envelope, password: int
) -> None:
    binder.connection.execute(
        "CREATE TEMP TRIGGER full BEFORE UPDATE ON secret BEGIN SELECT RAISE(ABORT, 'full'); END"
    )
    with pytest.raises(RequestError, match="full"):
        envelope.put(password, SecretValue("first"))
    binder.connection.execute("DROP TRIGGER full")
    assert reports.versions(binder, password) == ()
    assert envelope.check() == ()
    with pytest.raises(sqlite3.OperationalError):
        binder.connection.execute("ROLLBACK")
