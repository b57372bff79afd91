"""The demo's envelope opens with what `binder demo` says, and its log tells the demo's story."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date

import pytest

from binder.envelope import passphrases, reports, wifi
from binder.envelope.opened import open_envelope
from binder.envelope.secret_value import SecretValue
from binder.file import BinderFile, create
from binder.intake.json_form import load
from binder.read import read_where, resolve
from binder.records.catalog import BY_NAME
from demo.build import client_data
from demo.envelope import fill_envelope
from demo.envelope import passphrases as demo_passphrases

TODAY = date(2026, 3, 14)


@pytest.fixture(scope="module")
def quillmere(tmp_path_factory: pytest.TempPathFactory) -> Iterator[BinderFile]:
    with create(tmp_path_factory.mktemp("demo") / "quillmere.binder", "") as binder:
        load(binder, client_data(TODAY), "demo")
        fill_envelope(binder, TODAY)
        yield binder


@pytest.mark.parametrize("keyholder", demo_passphrases())
def test_each_keyholder_opens_it_with_the_passphrase_told(
    quillmere: BinderFile, keyholder: str
) -> None:
    phrase = SecretValue(demo_passphrases()[keyholder])
    assert not passphrases.weakness(phrase, [keyholder])
    envelope = open_envelope(quillmere, phrase, who="test", keyholder=keyholder)
    assert envelope.check(every_value=True) == ()


def test_every_secret_has_a_value(quillmere: BinderFile) -> None:
    secrets = {record.id for record in read_where(quillmere, BY_NAME["secret"])}
    assert reports.newest_versions(quillmere).keys() == secrets


def test_the_technician_who_left_knows_what_the_log_entry_says_is_still_open(
    quillmere: BinderFile,
) -> None:
    # entry L-0028 of the demo: 'three still open: SW3, REC1, handset wireless key'
    leaves = reports.leaver(quillmere, "K. Brandt")
    assert [one.secret for one in leaves.to_rotate] == [
        "handset wireless key", "REC1 admin password", "SW3 admin password",
    ]  # fmt: skip
    assert (leaves.passphrases, leaves.renew) == ((), False)


def test_the_bookkeeper_who_left_knows_the_carriers_pin(quillmere: BinderFile) -> None:
    leaves = reports.leaver(quillmere, "Dana Whitlock")
    assert [one.secret for one in leaves.to_rotate] == ["fibre account PIN"]


def test_nothing_was_done_after_the_day_of_building(quillmere: BinderFile) -> None:
    told = [line for line in reports.log(quillmere) if line.who != "test"]
    assert len(told) > 40
    assert [line.at for line in told] == sorted((line.at for line in told), reverse=True)
    assert told[0].at[:10] <= TODAY.isoformat()


def test_wireless_keys_can_be_joined_by_and_codes_be_made(quillmere: BinderFile) -> None:
    # IEEE 802.11i, annex H.4: 8 to 63 printable characters; RFC 6238: a base32 seed
    envelope = open_envelope(
        quillmere, SecretValue(demo_passphrases()["shop team"]), who="test", keyholder="shop team"
    )
    for record in read_where(quillmere, BY_NAME["secret"]):
        if record["form"] == "pre-shared key":
            wifi.join_text("Staff", envelope.reveal(record.id, "test"))
    assert envelope.codes(resolve(quillmere, "wireless controller one-time code").id, "test")
