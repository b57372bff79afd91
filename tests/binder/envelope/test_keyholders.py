"""Keyholders: who opens the envelope, and with what."""

from __future__ import annotations

import time
from collections.abc import Callable
from pathlib import Path

import pytest

from binder.edit import Editor
from binder.envelope import has_envelope, reports
from binder.envelope.keys import (
    MOST,
    RECOMMENDED,
    KeyFile,
    Work,
    require_enough,
    weak_work_for_tests,
)
from binder.envelope.opened import Envelope, create_envelope, open_envelope
from binder.envelope.secret_value import SecretValue
from binder.errors import EnvelopeError, FileError, RequestError
from binder.file import BinderFile, open_binder
from tests.binder.envelope.conftest import (
    ESCROW,
    PASSPHRASE,
    SHOP,
    WRONG,
    clock,
    make_envelope,
    open_again,
    opens,
)

WEAK = weak_work_for_tests()


def names(binder: BinderFile) -> list[str]:
    return [keyholder.name for keyholder in reports.keyholders(binder)]


def test_the_product_derives_with_what_rfc_9106_recommends(binder: BinderFile) -> None:
    """RFC 9106, section 4, second recommended option, or stronger: 64 MiB, 3 passes, 4 lanes."""
    create_envelope(binder, SHOP, PASSPHRASE, who="M. Osei")
    row = binder.connection.execute("SELECT memory_kib, passes, lanes FROM keyholder").fetchone()
    assert row["memory_kib"] >= 65_536
    assert row["passes"] >= 3
    assert row["lanes"] >= 4
    assert open_envelope(binder, PASSPHRASE, who="M. Osei").faults == ()


@pytest.mark.parametrize(
    "work",
    [
        Work(65_535, 4, 4),
        Work(65_536, 3, 4),
        Work(32, 1, 4),
        Work(MOST.memory_kib + 1, 4, 4),
        Work(65_536, MOST.passes + 1, 4),
        Work(65_536, 4, MOST.lanes + 1),
        Work(65_536, 4, 0),
    ],
)
def test_no_keyholder_is_made_with_less_or_with_more_than_would_be_opened(
    binder: BinderFile, work: Work
) -> None:
    with pytest.raises(RequestError):
        create_envelope(binder, SHOP, PASSPHRASE, who="M. Osei", work=work)
    assert not has_envelope(binder)
    require_enough(RECOMMENDED)


def test_parameters_weaker_than_wished_are_raised_at_the_next_opening(
    binder: BinderFile, envelope: Envelope
) -> None:
    before = binder.connection.execute("SELECT salt, private_key FROM keyholder").fetchone()
    stronger = Work(64, 2, 4, may_be_weak=True)
    assert open_envelope(binder, PASSPHRASE, who="M. Osei", work=stronger).faults == ()
    row = binder.connection.execute(
        "SELECT memory_kib, passes, salt, private_key, added_by FROM keyholder"
    ).fetchone()
    assert tuple(row[:2]) == (64, 2)
    assert row[2] != before[0]
    assert row[3] != before[1]
    assert [line.act for line in reports.log(binder, 2)] == ["open", "raise keyholder"]
    assert open_again(binder).faults == ()
    assert [line.act for line in reports.log(binder, 2)] == ["open", "open"]


class Interrupted(SecretValue):
    """A passphrase that lets something else happen when it is derived from the second time."""

    __slots__ = ("act", "times")

    def __init__(self, text: str, act: Callable[[], None]) -> None:
        super().__init__(text)
        self.act = act
        self.times = 0

    def expose(self) -> str:
        self.times += 1
        if self.times == 2:
            self.act()
        return super().expose()


def test_raising_does_not_undo_a_passphrase_changed_meanwhile(
    binder: BinderFile, envelope: Envelope
) -> None:
    passphrase = Interrupted(
        PASSPHRASE.expose(), lambda: envelope.change_keyholder(SHOP, ESCROW, work=WEAK)
    )
    open_envelope(binder, passphrase, who="M. Osei", work=Work(64, 2, 4, may_be_weak=True))
    assert opens(binder, ESCROW)
    assert not opens(binder, PASSPHRASE)


@pytest.mark.parametrize(
    ("column", "value"),
    [("memory_kib", 2**40), ("memory_kib", 524_289), ("memory_kib", 31), ("memory_kib", -1),
     ("passes", 11), ("passes", 2**62), ("passes", 0), ("lanes", 17), ("lanes", 0)],
)  # fmt: skip
def test_a_hostile_file_cannot_ask_for_hours_or_all_memory(
    binder: BinderFile, envelope: Envelope, column: str, value: int
) -> None:
    binder.connection.execute(f"UPDATE keyholder SET {column} = ?", (value,))
    started = time.perf_counter()
    with pytest.raises(EnvelopeError, match="did not open"):
        open_again(binder)
    assert time.perf_counter() - started < 1


def test_a_hostile_file_cannot_ask_for_a_thousand_derivations(
    binder: BinderFile, envelope: Envelope
) -> None:
    binder.connection.executemany(
        "INSERT INTO keyholder SELECT ?, 'k' || ?, added_at, added_by, salt, memory_kib, passes, "
        "lanes, key_file, private_key, data_key, public_key FROM keyholder LIMIT 1",
        [(number, number) for number in range(1, 17)],
    )
    with pytest.raises(EnvelopeError, match="did not open"):
        open_again(binder)


def test_whose_passphrase_it_is_need_not_be_said(binder: BinderFile, envelope: Envelope) -> None:
    envelope.add_keyholder("Client escrow", ESCROW, work=WEAK)
    assert open_again(binder, ESCROW).keyholder == "Client escrow"
    assert open_again(binder, PASSPHRASE).keyholder == SHOP
    assert open_again(binder, ESCROW, keyholder="client ESCROW").keyholder == "Client escrow"
    with pytest.raises(EnvelopeError):
        open_again(binder, ESCROW, keyholder=SHOP)
    with pytest.raises(RequestError, match=f"there are: Client escrow, {SHOP}"):
        open_again(binder, ESCROW, keyholder="second shop")


def test_a_wrong_passphrase_and_a_damaged_row_read_the_same(
    binder: BinderFile, envelope: Envelope
) -> None:
    with pytest.raises(EnvelopeError) as wrong:
        open_again(binder, WRONG)
    binder.connection.execute("UPDATE keyholder SET private_key = zeroblob(60)")
    with pytest.raises(EnvelopeError) as damaged:
        open_again(binder)
    assert str(wrong.value) == str(damaged.value)
    assert wrong.value.exit_status == damaged.value.exit_status == 4
    assert "\n" not in str(wrong.value)


def test_added_changed_renamed_removed(binder: BinderFile, envelope: Envelope) -> None:
    envelope.add_keyholder("Escrow", ESCROW, work=WEAK)
    envelope.rename_keyholder("escrow", "Client's safe")
    assert names(binder) == ["Client's safe", SHOP]
    changed = SecretValue("velvet anchor thistle")
    envelope.change_keyholder("Client's safe", changed, work=WEAK)
    assert not opens(binder, ESCROW)
    assert open_again(binder, changed).keyholder == "Client's safe"
    envelope.remove_keyholder("Client's safe")
    assert not opens(binder, changed)
    assert opens(binder, PASSPHRASE)
    assert [line.act for line in reports.log(binder, 20) if "keyholder" in line.act] == [
        "remove keyholder", "change keyholder", "rename keyholder", "add keyholder",
        "add keyholder",
    ]  # fmt: skip
    assert envelope.check() == ()


def test_the_last_keyholder_cannot_be_removed(binder: BinderFile, envelope: Envelope) -> None:
    with pytest.raises(RequestError, match="last keyholder"):
        envelope.remove_keyholder(SHOP)
    assert names(binder) == [SHOP]


def test_two_keyholders_cannot_have_one_name(binder: BinderFile, envelope: Envelope) -> None:
    with pytest.raises(RequestError, match="there is a keyholder named"):
        envelope.add_keyholder(SHOP.upper(), ESCROW, work=WEAK)
    envelope.add_keyholder("Escrow", ESCROW, work=WEAK)
    with pytest.raises(RequestError, match="there is a keyholder named"):
        envelope.rename_keyholder("Escrow", SHOP)
    envelope.rename_keyholder("Escrow", "ESCROW")
    assert names(binder) == ["ESCROW", SHOP]


def test_there_are_at_most_sixteen_keyholders(envelope: Envelope) -> None:
    for number in range(15):
        envelope.add_keyholder(f"k{number}", SecretValue(f"trombone lichen {number}"), work=WEAK)
    with pytest.raises(RequestError, match="at most 16"):
        envelope.add_keyholder("one more", ESCROW, work=WEAK)


def test_a_poor_passphrase_makes_no_keyholder(binder: BinderFile, envelope: Envelope) -> None:
    for poor in ("short", "passwordpassword", "Quillmere Veterinary Clinic!"):
        with pytest.raises(RequestError):
            envelope.add_keyholder("Escrow", SecretValue(poor), work=WEAK)
        with pytest.raises(RequestError):
            envelope.change_keyholder(SHOP, SecretValue(poor), work=WEAK)
    assert names(binder) == [SHOP]
    assert opens(binder, PASSPHRASE)


def test_a_binder_has_one_envelope(binder: BinderFile, envelope: Envelope) -> None:
    with pytest.raises(RequestError, match="has an envelope"):
        make_envelope(binder)
    assert opens(binder, PASSPHRASE)


def test_a_binder_without_an_envelope_says_so(binder: BinderFile) -> None:
    with pytest.raises(RequestError, match="no envelope yet"):
        open_again(binder)


def test_a_binder_opened_read_only_opens_no_envelope(
    binder: BinderFile, envelope: Envelope
) -> None:
    """A reveal could not be written down there."""
    with (
        open_binder(binder.path, read_only=True) as reading,
        pytest.raises(RequestError, match="open it for writing"),
    ):
        open_again(reading)


# Key files. -------------------------------------------------------------------------------


def test_a_key_file_is_needed_beside_the_passphrase(binder: BinderFile, tmp_path: Path) -> None:
    key_file = KeyFile.make(tmp_path / "quillmere.key")
    other = KeyFile.make(tmp_path / "other.key")
    make_envelope(binder, key_file=key_file)
    assert open_again(binder, key_file=KeyFile.read(tmp_path / "quillmere.key")).is_open
    for wrong in ((PASSPHRASE, other), (WRONG, key_file)):
        with pytest.raises(EnvelopeError):
            open_again(binder, wrong[0], key_file=wrong[1])
    with pytest.raises(RequestError, match="key file too"):
        open_again(binder)


def test_a_key_file_left_out_of_the_row_does_not_make_it_optional(
    binder: BinderFile, tmp_path: Path
) -> None:
    make_envelope(binder, key_file=KeyFile.make(tmp_path / "quillmere.key"))
    binder.connection.execute("UPDATE keyholder SET key_file = 0")
    with pytest.raises(EnvelopeError):
        open_again(binder)


def test_a_keyholder_without_one_opens_though_a_key_file_is_given(
    binder: BinderFile, envelope: Envelope, tmp_path: Path
) -> None:
    key_file = KeyFile.make(tmp_path / "escrow.key")
    envelope.add_keyholder("Escrow", ESCROW, key_file=key_file, work=WEAK)
    assert open_again(binder, PASSPHRASE, key_file=key_file).keyholder == SHOP
    assert open_again(binder, ESCROW, key_file=key_file).keyholder == "Escrow"
    stronger = Work(64, 2, 4, may_be_weak=True)
    for passphrase in (ESCROW, PASSPHRASE):
        open_envelope(binder, passphrase, who="M. Osei", key_file=key_file, work=stronger)
    assert open_again(binder, ESCROW, key_file=key_file).keyholder == "Escrow"
    assert open_again(binder, PASSPHRASE).keyholder == SHOP


def test_a_key_file_is_private_new_and_long_enough(tmp_path: Path) -> None:
    path = tmp_path / "quillmere.key"
    made = KeyFile.make(path)
    assert path.stat().st_mode & 0o077 == 0
    assert path.stat().st_size == 32
    assert repr(made) == "KeyFile()"
    with pytest.raises(FileError, match="cannot be made"):
        KeyFile.make(path)
    (tmp_path / "short").write_bytes(bytes(31))
    (tmp_path / "long").write_bytes(bytes(2**20 + 1))
    for name in ("short", "long"):
        with pytest.raises(FileError, match="32 bytes to 1 MiB"):
            KeyFile.read(tmp_path / name)
    with pytest.raises(FileError, match="cannot be read"):
        KeyFile.read(tmp_path / "none")


# Open and sealed. -------------------------------------------------------------------------


def test_a_sealed_envelope_does_nothing_until_opened_again(
    binder: BinderFile, envelope: Envelope, password: int
) -> None:
    envelope.put(password, SecretValue("first"))
    with open_binder(binder.path) as elsewhere:
        other = envelope.through(elsewhere)
        assert other.reveal(password, "from another thread").expose() == "first"
        envelope.seal()
        assert not other.is_open
    for act in (
        lambda: envelope.reveal(password, "call"),
        lambda: envelope.put(password, SecretValue("second")),
        lambda: envelope.discard(password, [1]),
        lambda: envelope.add_keyholder("Escrow", ESCROW, work=WEAK),
        lambda: envelope.rename_keyholder(SHOP, "x"),
        lambda: envelope.change_keyholder(SHOP, ESCROW, work=WEAK),
        lambda: envelope.remove_keyholder(SHOP),
        lambda: envelope.renew(),
        lambda: envelope.check(),
        lambda: envelope.head(),
    ):
        with pytest.raises(EnvelopeError, match="sealed"):
            act()
    assert open_again(binder).reveal(password, "call").expose() == "first"


def test_openings_and_failures_are_told_with_who_and_when(
    binder: BinderFile, envelope: Envelope
) -> None:
    for _ in range(3):
        with pytest.raises(EnvelopeError):
            open_again(binder, WRONG, who="D. Ferro from 192.0.2.7")
    assert reports.refused_since_opening(binder) == reports.Refused(3, "2026-03-14T09:40:00Z")
    open_again(binder, who="M. Osei")
    assert reports.refused_since_opening(binder) == reports.Refused(0, "")
    told = [(one.who, one.keyholder, one.opened) for one in reports.openings(binder)]
    assert sorted(told) == [("D. Ferro from 192.0.2.7", "", False)] * 3 + [("M. Osei", SHOP, True)]


def test_a_name_that_is_no_line_of_text_is_refused(
    binder: BinderFile, editor: Editor, envelope: Envelope
) -> None:
    for name in ("", "  ", "\ud800", "x" * 501, "a\x00b"):
        with pytest.raises(RequestError):
            envelope.rename_keyholder(SHOP, name)
        with pytest.raises(RequestError):
            open_envelope(binder, PASSPHRASE, who=name, work=WEAK, clock=clock)
