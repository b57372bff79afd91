"""The data key is renewed: for all keyholders at once, all values with it, or not at all."""

from __future__ import annotations

import pytest

from binder.envelope.keys import weak_work_for_tests
from binder.envelope.opened import Envelope
from binder.envelope.secret_value import SecretValue
from binder.errors import EnvelopeError
from binder.file import BinderFile, open_binder
from tests.binder.envelope.conftest import ESCROW, PASSPHRASE, SHOP, open_again, opens

WEAK = weak_work_for_tests()


def test_the_data_key_is_renewed_for_every_keyholder_by_one(
    binder: BinderFile, envelope: Envelope, password: int
) -> None:
    envelope.add_keyholder("Escrow", ESCROW, work=WEAK)
    envelope.put(password, SecretValue("first"))
    envelope.put(password, SecretValue("second"))
    before = binder.connection.execute("SELECT sealed FROM secret_version").fetchall()
    assert envelope.renew("D. Ferro left") == 2
    after = binder.connection.execute("SELECT sealed FROM secret_version").fetchall()
    assert not {row[0] for row in before} & {row[0] for row in after}
    for passphrase in (PASSPHRASE, ESCROW):
        again = open_again(binder, passphrase)
        assert again.check(every_value=True) == ()
        assert again.reveal(password, "test").expose() == "second"
        assert again.reveal(password, "test", version=1).expose() == "first"
    assert envelope.reveal(password, "test").expose() == "second"


def test_what_the_old_data_key_opened_it_opens_no_more(
    binder: BinderFile, envelope: Envelope, password: int
) -> None:
    """A keyholder's row from before, with the passphrase of then, does not open after."""
    envelope.put(password, SecretValue("first"))
    old_row = tuple(binder.connection.execute("SELECT * FROM keyholder").fetchone())
    envelope.change_keyholder(SHOP, ESCROW, work=WEAK)
    envelope.renew()
    binder.connection.execute("DELETE FROM keyholder")
    binder.connection.execute(f"INSERT INTO keyholder VALUES ({','.join('?' * 12)})", old_row)
    assert not opens(binder, PASSPHRASE)


def test_someone_who_has_the_envelope_open_must_open_it_again_after_a_renewal(
    binder: BinderFile, envelope: Envelope, password: int
) -> None:
    envelope.put(password, SecretValue("first"))
    with open_binder(binder.path) as elsewhere:
        other = open_again(elsewhere, who="D. Ferro")
        envelope.renew()
        for act in (
            lambda: other.reveal(password, "call"),
            lambda: other.put(password, SecretValue("second")),
            lambda: other.renew(),
            lambda: other.check(),
        ):
            with pytest.raises(EnvelopeError, match="renewed since"):
                act()
        assert open_again(elsewhere).reveal(password, "call").expose() == "first"
    assert envelope.check() == ()


def test_a_renewal_that_fails_leaves_all_as_it_was(
    binder: BinderFile, envelope: Envelope, password: int, pin: int
) -> None:
    envelope.put(password, SecretValue("first"))
    envelope.put(pin, SecretValue("4410"))
    binder.connection.execute(
        "UPDATE secret_version SET sealed = zeroblob(92) WHERE secret_id = ?", (pin,)
    )
    before = list(binder.connection.iterdump())
    with pytest.raises(EnvelopeError, match="fibre account PIN, version 1, did not open"):
        envelope.renew()
    assert list(binder.connection.iterdump()) == before
    assert envelope.reveal(password, "still open").expose() == "first"
    envelope.discard(pin, [1])
    assert envelope.renew() == 2


def test_the_data_key_is_wrapped_to_nobody_whose_row_was_tampered_with(
    binder: BinderFile, envelope: Envelope, other_binder: BinderFile
) -> None:
    """Else whoever can write the file would be handed the next data key."""
    envelope.add_keyholder("Escrow", ESCROW, work=WEAK)
    theirs = other_binder.connection.execute("SELECT public_key FROM keyholder").fetchone()[0]
    binder.connection.execute(
        "UPDATE keyholder SET public_key = ? WHERE name = 'Escrow'", (theirs,)
    )
    with pytest.raises(EnvelopeError, match="Escrow was altered"):
        envelope.renew()
