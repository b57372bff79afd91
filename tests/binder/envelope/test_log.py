"""The log of the envelope: a line removed, altered, reordered, added or truncated is found."""

from __future__ import annotations

from collections.abc import Iterator

import pytest

from binder.envelope import log, reports, rows
from binder.envelope.keys import Keys, weak_work_for_tests
from binder.envelope.opened import Envelope
from binder.envelope.secret_value import SecretValue
from binder.file import BinderFile
from binder.verify import verify
from tests.binder.envelope.conftest import ESCROW, open_again

UNLOCKED = ("envelope_log_kept_update", "envelope_log_kept_delete")


def tamper(binder: BinderFile, *statements: str) -> None:
    """As one who can write the file, who puts the triggers back after."""
    kept = [
        binder.connection.execute("SELECT sql FROM sqlite_master WHERE name = ?", (n,)).fetchone()[
            0
        ]
        for n in UNLOCKED
    ]
    for name in UNLOCKED:
        binder.connection.execute(f"DROP TRIGGER {name}")
    for statement in statements:
        assert binder.connection.execute(statement).rowcount != 0, statement
    for sql in kept:
        binder.connection.execute(sql)


def told(envelope: Envelope) -> list[str]:
    return [str(fault) for fault in envelope.check()]


@pytest.fixture
def used(envelope: Envelope, password: int, pin: int) -> Envelope:
    """An envelope with eight lines in its log; the reveals are lines 5, 6, 7 and 8."""
    envelope.put(password, SecretValue("first"))
    envelope.put(pin, SecretValue("4410"))
    for secret in (password, pin, password, pin):
        envelope.reveal(secret, "call")
    assert envelope.check() == ()
    return envelope


def test_an_altered_line_is_found(binder: BinderFile, used: Envelope) -> None:
    tamper(binder, "UPDATE envelope_log SET seen_by = 'nobody' WHERE number = 6")
    assert told(used) == ["envelope log line 6: was altered, added, or moved"]


def test_a_removed_line_is_found(binder: BinderFile, used: Envelope) -> None:
    tamper(binder, "DELETE FROM envelope_log WHERE number = 6")
    assert told(used) == ["envelope log: line 6 is missing"]


def test_a_removed_line_whose_place_was_closed_up_is_found(
    binder: BinderFile, used: Envelope
) -> None:
    tamper(
        binder,
        "DELETE FROM envelope_log WHERE number = 6",
        "UPDATE envelope_log SET number = number - 1 WHERE number = 7",
        "UPDATE envelope_log SET number = number - 1 WHERE number = 8",
    )
    assert "envelope log line 6: was altered, added, or moved" in told(used)


def test_reordered_lines_are_found(binder: BinderFile, used: Envelope) -> None:
    tamper(
        binder,
        "UPDATE envelope_log SET number = 99 WHERE number = 6",
        "UPDATE envelope_log SET number = 6 WHERE number = 7",
        "UPDATE envelope_log SET number = 7 WHERE number = 99",
    )
    assert "envelope log line 6: was altered, added, or moved" in told(used)
    assert "envelope log line 7: was altered, added, or moved" in told(used)


def test_a_truncated_log_is_found(binder: BinderFile, used: Envelope) -> None:
    tamper(binder, "DELETE FROM envelope_log WHERE number > 6")
    assert told(used) == ["envelope log: lines 7 to 8 are missing"]


def test_an_added_line_is_found(binder: BinderFile, used: Envelope) -> None:
    tamper(
        binder,
        "INSERT INTO envelope_log SELECT 9, key_number, at, who, act, seen_by, secret_id, "
        "secret_name, version, keyholder, why, log_entry_id, mac FROM envelope_log "
        "WHERE number = 8",
    )
    assert "envelope log line 9: was altered, added, or moved" in told(used)


def test_a_log_cut_to_fit_its_head_is_found(binder: BinderFile, used: Envelope) -> None:
    """Lines taken from the end, and the count and last MAC in the head made to agree."""
    tamper(
        binder,
        "DELETE FROM envelope_log WHERE number > 6",
        "UPDATE envelope SET log_count = 6, "
        "log_mac = (SELECT mac FROM envelope_log WHERE number = 6)",
    )
    (fault,) = told(used)
    assert "the head of the log did not verify" in fault


def test_a_head_of_before_is_found(binder: BinderFile, used: Envelope, pin: int) -> None:
    """The head as an older copy of the file has it, while the lines went on."""
    head = tuple(
        binder.connection.execute("SELECT log_count, log_mac, head_mac FROM envelope").fetchone()
    )
    used.reveal(pin, "call")
    binder.connection.execute("UPDATE envelope SET log_count = ?, log_mac = ?, head_mac = ?", head)
    (fault,) = told(used)
    assert "the head of the log did not verify" in fault


def test_faults_found_at_opening_are_told(binder: BinderFile, used: Envelope) -> None:
    tamper(binder, "UPDATE envelope_log SET why = 'no reason' WHERE number = 7")
    assert [f.where for f in open_again(binder).faults] == ["envelope log line 7"]


@pytest.mark.parametrize(
    "attack",
    [
        ("DELETE FROM envelope_log WHERE number > 6",),
        ("DELETE FROM envelope_log WHERE number = 6",),
        ("UPDATE envelope_log SET who = 'nobody' WHERE number = 6",),
        (
            "DELETE FROM envelope_log WHERE number > 6",
            "UPDATE envelope SET head_mac = zeroblob(32)",
        ),
        (
            "DELETE FROM envelope_log WHERE number > 6",
            "UPDATE envelope SET log_count = 6, "
            "log_mac = (SELECT mac FROM envelope_log WHERE number = 6)",
        ),
        ("UPDATE envelope SET log_count = 9007199254740990",),
        ("UPDATE envelope SET log_mac = zeroblob(32)",),
    ],
)
def test_what_was_tampered_with_is_told_for_ever(
    binder: BinderFile, used: Envelope, pin: int, attack: tuple[str, ...]
) -> None:
    """The technician still gets the PIN at two in the morning; the log goes on, and says so."""
    tamper(binder, *attack)
    assert used.reveal(pin, "call").expose() == "4410"
    envelope = open_again(binder)
    envelope.reveal(pin, "another call")
    assert envelope.faults
    assert envelope.check()
    envelope.renew()
    assert open_again(binder).faults


def test_the_chain_holds_over_renewals(binder: BinderFile, used: Envelope, password: int) -> None:
    for _ in range(3):
        used.renew()
        used.reveal(password, "call")
    assert open_again(binder).check(every_value=True) == ()
    tamper(binder, "UPDATE envelope_log SET why = 'no reason' WHERE number = 5")
    assert told(open_again(binder)) == ["envelope log line 5: was altered, added, or moved"]


def test_a_line_of_an_older_key_cannot_follow_one_of_a_newer(
    binder: BinderFile, used: Envelope, password: int
) -> None:
    used.renew()
    used.reveal(password, "call")
    tamper(binder, "UPDATE envelope_log SET key_number = 1 WHERE number = 10")
    assert "envelope log line 10: was altered, added, or moved" in told(used)
    tamper(binder, "UPDATE envelope_log SET key_number = 2 WHERE number = 8")
    assert any("line 9: is under key number 1" in fault for fault in told(used))


@pytest.mark.parametrize("lines_after", [0, 1])
def test_whoever_knew_the_old_data_key_cannot_rewrite_the_lines_before(
    binder: BinderFile, used: Envelope, password: int, lines_after: int
) -> None:
    """A leaver with the old key makes the MACs of the old lines anew: what hangs on them tells."""
    old = Keys(used.keys.envelope_id, used.keys.key_number, used.keys._data_key)
    used.renew()
    for _ in range(lines_after):
        used.reveal(password, "call")
    assert used.check() == ()
    tamper(binder, *rewritten(binder, old))
    (fault,) = told(used)
    assert "was altered" in fault if lines_after else "head of the log" in fault


def rewritten(binder: BinderFile, old: Keys) -> Iterator[str]:
    """SQL that puts someone else in line 6, with good MACs from there to line 9, the renewal."""
    (before,) = binder.connection.execute(
        "SELECT mac FROM envelope_log WHERE number = 5"
    ).fetchone()
    for row in list(rows.read(binder.connection, "envelope_log", "WHERE number BETWEEN 6 AND 9")):
        line = list(row[:-1])
        line[5] = "someone else" if line[0] == 6 else line[5]
        before = log._line_mac(old.log, old.envelope_id, before, tuple(line))
        seen_by = "NULL" if line[5] is None else f"'{line[5]}'"
        yield (
            f"UPDATE envelope_log SET seen_by = {seen_by}, mac = x'{before.hex()}' "
            f"WHERE number = {line[0]}"
        )


def test_an_altered_key_of_older_lines_is_found(binder: BinderFile, used: Envelope) -> None:
    used.renew()
    binder.connection.execute("UPDATE old_log_key SET sealed = zeroblob(60)")
    assert "envelope log: the key of lines under key number 1 does not open" in told(used)


def test_verify_misses_lines_without_opening_the_envelope(
    binder: BinderFile, used: Envelope
) -> None:
    assert verify(binder) == ()
    tamper(binder, "DELETE FROM envelope_log WHERE number = 8")
    assert [str(f) for f in verify(binder)] == [
        "envelope log: 7 lines are there, and 8 were written"
    ]


def test_the_head_can_be_noted_elsewhere(binder: BinderFile, used: Envelope) -> None:
    count, mac = used.head()
    assert count == 8
    stored = binder.connection.execute("SELECT mac FROM envelope_log WHERE number = 8").fetchone()[
        0
    ]
    assert mac == stored.hex()


def test_everything_done_with_the_envelope_has_its_line(
    binder: BinderFile, used: Envelope, pin: int
) -> None:
    used.add_keyholder("Escrow", ESCROW, work=weak_work_for_tests())
    used.rename_keyholder("Escrow", "Safe")
    used.discard(pin, [1], "account closed")
    used.renew("yearly")
    assert [
        (line.act, line.keyholder or line.secret, line.why) for line in reports.log(binder, 4)
    ] == [
        ("renew", "", "yearly"),
        ("discard", "fibre account PIN", "account closed"),
        ("rename keyholder", "Safe", "was Escrow"),
        ("add keyholder", "Escrow", ""),
    ]
