"""Reports: who knows what, what to rotate when somebody leaves, what is overdue."""

from __future__ import annotations

from datetime import date

import pytest

from binder import history
from binder.edit import Editor
from binder.envelope import has_envelope, reports
from binder.envelope.keys import weak_work_for_tests
from binder.envelope.opened import Envelope
from binder.envelope.secret_value import SecretValue
from binder.errors import EnvelopeError, RequestError
from binder.file import BinderFile, open_binder
from binder.read import read
from tests.binder.envelope.conftest import ESCROW, SHOP, WRONG, clock, open_again

WEAK = weak_work_for_tests()


@pytest.fixture
def secrets(envelope: Envelope, password: int, pin: int, key: int) -> tuple[int, int, int]:
    """Three secrets that M. Osei has set."""
    for secret in (password, pin, key):
        envelope.put(secret, SecretValue("mypass12"))
    return password, pin, key


@pytest.fixture
def ferro(binder: BinderFile, secrets: tuple[int, int, int]) -> Envelope:
    """The envelope, opened by D. Ferro over SSH with the shop's passphrase."""
    return open_again(binder, who="D. Ferro from 192.0.2.7")


def to_rotate(binder: BinderFile, person: str) -> list[str]:
    return [seen.secret for seen in reports.leaver(binder, person).to_rotate]


def test_a_leaver_who_saw_three_secrets_leaves_exactly_these_to_rotate(
    binder: BinderFile, editor: Editor, envelope: Envelope, ferro: Envelope,
    secrets: tuple[int, int, int],
) -> None:  # fmt: skip
    with editor.step("a fourth, never shown") as step:
        account = read(binder, secrets[0])["belongs_to"]
        fourth = step.add("secret", {"identifier": "alarm code", "belongs_to": account})
    envelope.put(fourth, SecretValue("8891"))
    for secret in secrets:
        ferro.reveal(secret, "call")
    assert to_rotate(binder, "D. Ferro") == [
        "fibre account PIN", "guest key", "SW1 admin password",
    ]  # fmt: skip
    for secret in secrets:
        assert "D. Ferro" in reports.people(binder)
        envelope.put(secret, SecretValue("mypass34"))
    assert to_rotate(binder, "D. Ferro") == []
    assert len(reports.seen_by(binder, "D. Ferro")) == 3


def test_the_count_of_values_in_use_is_that_of_each_persons_list(
    binder: BinderFile, editor: Editor, envelope: Envelope, ferro: Envelope,
    secrets: tuple[int, int, int],
) -> None:  # fmt: skip
    for secret in secrets:
        ferro.reveal(secret, "call")
        ferro.reveal(secret, "call again")
    envelope.put(secrets[0], SecretValue("mypass34"))
    with editor.step("no longer used") as step:
        step.remove(secrets[1])
    counts = reports.in_use_by_person(binder)
    assert counts == {"D. Ferro": 1, "M. Osei": 2}
    assert counts == {person: len(to_rotate(binder, person)) for person in reports.people(binder)}


def test_all_of_a_leavers_secrets_are_marked_in_one_step(
    binder: BinderFile, editor: Editor, ferro: Envelope, secrets: tuple[int, int, int]
) -> None:
    for secret in secrets[:2]:
        ferro.reveal(secret, "call")
    ids = [seen.secret_id for seen in reports.leaver(binder, "D. Ferro").to_rotate]
    assert reports.mark_for_rotation(editor, ids, date(2026, 3, 20), "D. Ferro left") == 2
    for secret in secrets[:2]:
        record = read(binder, secret)
        assert (record["rotate_by"], record["rotate_reason"]) == ("2026-03-20", "D. Ferro left")
    assert read(binder, secrets[2])["rotate_by"] is None
    assert history.recent(binder, 1)[0].summary == "rotate 2 secrets: D. Ferro left"
    editor.undo()
    assert read(binder, secrets[0])["rotate_by"] is None


def test_nothing_to_mark_is_said(editor: Editor) -> None:
    with pytest.raises(RequestError, match="nothing to rotate"):
        reports.mark_for_rotation(editor, [], date(2026, 3, 20), "D. Ferro left")


def test_whoever_set_a_value_knows_it(
    binder: BinderFile, ferro: Envelope, secrets: tuple[int, int, int]
) -> None:
    ferro.put(secrets[1], SecretValue("9920"))
    assert to_rotate(binder, "d. ferro") == ["fibre account PIN"]
    assert "fibre account PIN" not in to_rotate(binder, "M. Osei")


def test_a_replaced_value_is_no_more_to_rotate_and_still_told_as_seen(
    binder: BinderFile, envelope: Envelope, ferro: Envelope, secrets: tuple[int, int, int]
) -> None:
    ferro.reveal(secrets[1], "first call")
    ferro.reveal(secrets[1], "second call")
    envelope.put(secrets[1], SecretValue("9920"))
    (seen,) = reports.seen_by(binder, "D. Ferro")
    assert (seen.secret, seen.version, seen.how, seen.why, seen.current) == (
        "fibre account PIN", 1, "reveal", "second call", False,
    )  # fmt: skip


def test_the_old_value_made_current_again_is_to_rotate_again(
    binder: BinderFile, envelope: Envelope, ferro: Envelope, secrets: tuple[int, int, int]
) -> None:
    ferro.reveal(secrets[1], "call")
    envelope.put(secrets[1], SecretValue("9920"))
    envelope.discard(secrets[1], [2], "the device never took it")
    assert to_rotate(binder, "D. Ferro") == ["fibre account PIN"]


def test_codes_shown_are_not_the_seed_known(
    binder: BinderFile, editor: Editor, envelope: Envelope, ferro: Envelope,
    secrets: tuple[int, int, int],
) -> None:  # fmt: skip
    with editor.step("it is a seed") as step:
        step.change(secrets[2], {"form": "one-time-code seed"})
    envelope.put(secrets[2], SecretValue("GEZDGNBVGY3TQOJQ"))
    ferro.codes(secrets[2], "log in to the portal")
    assert to_rotate(binder, "D. Ferro") == []
    assert reports.log(binder, 1)[0].act == "code"


def test_a_removed_secret_is_told_as_seen_and_not_to_be_rotated(
    binder: BinderFile, editor: Editor, ferro: Envelope, secrets: tuple[int, int, int]
) -> None:
    ferro.reveal(secrets[1], "call")
    with editor.step("account closed") as step:
        step.remove(secrets[1])
    assert to_rotate(binder, "D. Ferro") == []
    (seen,) = reports.seen_by(binder, "D. Ferro")
    assert (seen.secret, seen.removed) == ("fibre account PIN", True)


def test_a_leaver_leaves_passphrases_to_change_and_a_data_key_to_renew(
    binder: BinderFile, envelope: Envelope, ferro: Envelope
) -> None:
    """Whoever opens with a passphrase, or sets one for others, knows it."""
    ferro.add_keyholder("Client escrow", ESCROW, work=WEAK)
    leaver = reports.leaver(binder, "D. Ferro")
    assert (leaver.passphrases, leaver.renew) == (("Client escrow", SHOP), True)
    envelope.change_keyholder(SHOP, SecretValue("velvet anchor thistle"), work=WEAK)
    envelope.rename_keyholder("Client escrow", "Client's safe")
    assert reports.leaver(binder, "D. Ferro").passphrases == ("Client's safe",)
    envelope.remove_keyholder("Client's safe")
    envelope.renew()
    leaver = reports.leaver(binder, "D. Ferro")
    assert (leaver.passphrases, leaver.renew) == ((), False)
    assert reports.leaver(binder, "M. Osei").passphrases == (SHOP,)


def test_one_who_never_opened_it_leaves_nothing(binder: BinderFile, ferro: Envelope) -> None:
    assert reports.leaver(binder, "P. Nandakumar") == reports.Leaver("P. Nandakumar", (), (), False)


def test_where_somebody_came_from_is_not_who_they_are(
    binder: BinderFile, envelope: Envelope, secrets: tuple[int, int, int]
) -> None:
    for who in ("dana from 192.0.2.7", "dana from 2001:db8::7", "dana", "Dana from accounting"):
        open_again(binder, who=who).reveal(secrets[0], "call")
    assert reports.people(binder) == ("dana", "Dana from accounting", "M. Osei")
    assert len(reports.seen_by(binder, "DANA")) == 1
    envelope.hand_over(secrets[1:], "Dana from accounting", "issue 3")
    assert len(reports.seen_by(binder, "dana")) == 1
    assert len(reports.seen_by(binder, "dana from accounting")) == 3


def test_secrets_past_their_day_are_overdue_the_longest_first(
    binder: BinderFile, editor: Editor, secrets: tuple[int, int, int]
) -> None:
    for secret, day in zip(secrets, ("2026-03-13", "2026-02-14", "2026-03-15"), strict=True):
        reports.mark_for_rotation(editor, [secret], date.fromisoformat(day), "yearly")
    found = reports.overdue(binder, date(2026, 3, 14))
    assert [(one.secret, one.days, one.reason) for one in found] == [
        ("fibre account PIN", 28, "yearly"), ("SW1 admin password", 1, "yearly"),
    ]  # fmt: skip
    with editor.step("account closed") as step:
        step.change(secrets[1], {"status": "former"})
    assert len(reports.overdue(binder, date(2026, 3, 15))) == 2


def test_reports_need_no_passphrase_and_no_writing(
    binder: BinderFile, ferro: Envelope, secrets: tuple[int, int, int]
) -> None:
    ferro.reveal(secrets[0], "call")
    with pytest.raises(EnvelopeError):
        open_again(binder, WRONG)
    with open_binder(binder.path, read_only=True) as reading:
        assert to_rotate(reading, "D. Ferro") == ["SW1 admin password"]
        assert [one.opened for one in reports.openings(reading)] == [True, False]
        assert [k.name for k in reports.keyholders(reading)] == [SHOP]
        assert reports.newest_versions(reading) == dict.fromkeys(secrets, 1)
        assert has_envelope(reading)


def test_pages_of_the_log_follow_each_other(binder: BinderFile, ferro: Envelope) -> None:
    first = reports.log(binder, 3)
    rest = reports.log(binder, before=first[-1].number)
    assert [line.number for line in (*first, *rest)] == [6, 5, 4, 3, 2, 1]
    assert first[0].at == clock().strftime("%Y-%m-%dT%H:%M:%SZ")
