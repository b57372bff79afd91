"""The envelope in the JSON form: carried as ciphertext, and as good after as before."""

from __future__ import annotations

import copy
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest

from binder.edit import Editor
from binder.envelope import has_envelope, reports
from binder.envelope.opened import Envelope
from binder.envelope.secret_value import SecretValue
from binder.errors import EnvelopeError, FaultsError, RequestError
from binder.file import BinderFile, create
from binder.intake.json_form import dump, from_text, load, to_text
from binder.read import resolve
from binder.verify import verify
from tests.binder.envelope.conftest import make_envelope, open_again

VALUE = "canary-7Q2x-Zebra"


@pytest.fixture
def rebuilt(tmp_path: Path) -> Iterator[BinderFile]:
    with create(tmp_path / "rebuilt.binder", "") as binder:
        yield binder


@pytest.fixture
def data(binder: BinderFile, editor: Editor, envelope: Envelope, password: int, pin: int) -> Any:
    """A dump of a binder with two secrets, one revealed in a call, one removed, a key renewed."""
    with editor.step("a call") as step:
        call = step.add(
            "log_entry", {"form": "call", "opened_at": "2026-03-14T09:40:00Z", "summary": "PIN"}
        )
    envelope.put(password, SecretValue("first"))
    envelope.renew()
    envelope.put(password, SecretValue(VALUE))
    envelope.put(pin, SecretValue("4410"))
    envelope.reveal(password, "call", log_entry_id=call)
    with editor.step("account closed") as step:
        step.remove(pin)
    return dump(binder)


def test_dump_load_dump_gives_the_same_bytes(data: Any, rebuilt: BinderFile) -> None:
    load(rebuilt, from_text(to_text(data)), "M. Osei")
    assert to_text(dump(rebuilt)) == to_text(data)
    assert VALUE not in to_text(data)


def test_a_rebuilt_binder_opens_with_the_same_passphrase(data: Any, rebuilt: BinderFile) -> None:
    load(rebuilt, data, "M. Osei")
    envelope = open_again(rebuilt)
    secret = resolve(rebuilt, "SW1 admin password", "secret").id
    assert envelope.faults == ()
    assert envelope.check(every_value=True) == ()
    assert envelope.reveal(secret, "rebuilt").expose() == VALUE
    assert envelope.reveal(secret, "rebuilt", version=1).expose() == "first"
    assert verify(rebuilt) == ()


def test_the_log_still_names_its_secrets_and_its_call(data: Any, rebuilt: BinderFile) -> None:
    load(rebuilt, data, "M. Osei")
    line = reports.log(rebuilt, 1)[0]
    assert line.log_entry_id == rebuilt.connection.execute("SELECT id FROM log_entry").fetchone()[0]
    assert [seen.secret for seen in reports.leaver(rebuilt, "M. Osei").to_rotate] == [
        "SW1 admin password"
    ]
    assert reports.left_behind(rebuilt)[0].secret == "fibre account PIN"


def test_a_binder_without_an_envelope_has_none_in_its_dump(
    binder: BinderFile, secret_id: Callable[[str], int]
) -> None:
    assert "envelope" not in dump(binder)


def test_an_envelope_is_loaded_only_where_there_is_none(data: Any, rebuilt: BinderFile) -> None:
    make_envelope(rebuilt)
    with pytest.raises(RequestError, match="load it into a new binder"):
        load(rebuilt, data, "M. Osei")
    assert open_again(rebuilt).faults == ()
    assert rebuilt.connection.execute("SELECT count(*) FROM secret").fetchone()[0] == 0


def test_records_without_an_envelope_load_beside_one(data: Any, rebuilt: BinderFile) -> None:
    make_envelope(rebuilt)
    plain = {key: value for key, value in data.items() if key != "envelope"}
    load(rebuilt, plain, "M. Osei")
    assert open_again(rebuilt).faults == ()


def altered(data: Any, act: Callable[[Any], None]) -> Any:
    changed = copy.deepcopy(data)
    act(changed["envelope"])
    return changed


@pytest.mark.parametrize(
    ("act", "where"),
    [
        (lambda e: e.pop("keyholder"), "envelope"),
        (lambda e: e.update(more=[]), "envelope"),
        (lambda e: e.update(envelope=[]), "envelope.envelope"),
        (lambda e: e.update(keyholder={}), "envelope.keyholder"),
        (lambda e: e.update(ids=[]), "envelope.ids"),
        (lambda e: e["ids"].update(secrets={"SW1 admin password": "7"}), "envelope.ids"),
        (lambda e: e["ids"].update(secrets={"SW1 admin password": 2**53}), "envelope.ids"),
        (lambda e: e["keyholder"][0].update(salt="not base64!"), "envelope.keyholder[0]"),
        (lambda e: e["keyholder"][0].update(salt="AAAA"), "envelope.keyholder[0]"),
        (lambda e: e["keyholder"][0].update(passes=True), "envelope.keyholder[0]"),
        (lambda e: e["keyholder"][0].update(passes=2**63), "envelope.keyholder[0]"),
        (lambda e: e["keyholder"][0].pop("name"), "envelope.keyholder[0]"),
        (lambda e: e["keyholder"][0].update(other=1), "envelope.keyholder[0]"),
        (lambda e: e["keyholder"].append(e["keyholder"][0]), "envelope.keyholder[1]"),
        (lambda e: e["envelope_log"].insert(0, 7), "envelope.envelope_log[0]"),
        (lambda e: e["envelope_log"][2].update(number=0), "envelope.envelope_log[2]"),
    ],
)
def test_an_envelope_of_another_shape_is_refused_with_its_place(
    data: Any, rebuilt: BinderFile, act: Callable[[Any], None], where: str
) -> None:
    with pytest.raises(FaultsError) as caught:
        load(rebuilt, altered(data, act), "M. Osei")
    assert where in [fault.where for fault in caught.value.faults]
    assert not has_envelope(rebuilt)
    assert rebuilt.connection.execute("SELECT count(*) FROM record").fetchone()[0] == 0


def test_ids_that_belong_to_other_secrets_open_nothing(data: Any, rebuilt: BinderFile) -> None:
    """A dump edited by hand: the ids are bound into the values."""

    def swap(envelope: Any) -> None:
        ids = envelope["ids"]["secrets"]
        ids["guest key"] = ids.pop("SW1 admin password")

    load(rebuilt, altered(data, swap), "M. Osei")
    key = resolve(rebuilt, "guest key", "secret").id
    assert open_again(rebuilt).reveal(key, "x").expose() == VALUE  # named anew, as a record may be
    password = resolve(rebuilt, "SW1 admin password", "secret").id
    with pytest.raises(RequestError, match="no value"):
        open_again(rebuilt).reveal(password, "x")


def test_a_value_altered_in_the_dump_does_not_open(data: Any, rebuilt: BinderFile) -> None:
    def swap(envelope: Any) -> None:
        ours = envelope["ids"]["secrets"]["SW1 admin password"]
        first, second = (row for row in envelope["secret_version"] if row["secret_id"] == ours)
        first["sealed"], second["sealed"] = second["sealed"], first["sealed"]

    load(rebuilt, altered(data, swap), "M. Osei")
    envelope = open_again(rebuilt)
    assert len(envelope.check(every_value=True)) == 2
    secret = resolve(rebuilt, "SW1 admin password", "secret").id
    with pytest.raises(EnvelopeError, match="did not open"):
        envelope.reveal(secret, "x")
