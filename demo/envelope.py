"""Fills the demo's envelope: values set, shown and handed over through two invented years.

They stand in `envelope.json` for all to read, passphrases too: the client is invented, and so are
they. Nothing of the kind belongs beside a real binder.
"""

from __future__ import annotations

import itertools
import json
from collections.abc import Callable, Mapping
from datetime import date, datetime, timedelta
from importlib.resources import files
from typing import TYPE_CHECKING, Any
from zoneinfo import ZoneInfo

from binder.envelope import values
from binder.envelope.log import Entry
from binder.envelope.opened import Envelope, create_envelope, open_envelope
from binder.envelope.secret_value import SecretValue
from binder.file import BinderFile
from binder.read import resolve, time_zone
from demo.build import set_around

if TYPE_CHECKING:
    from exporters.sealing import Sealing


def _told() -> dict[str, Any]:
    text = files("demo").joinpath("envelope.json").read_text(encoding="utf-8")
    told: dict[str, Any] = json.loads(text)
    return told


def passphrases() -> dict[str, str]:
    """What opens the demo's envelope, by keyholder."""
    return {one["name"]: one["passphrase"] for one in _told()["keyholders"]}


def fill_envelope(binder: BinderFile, today: date) -> None:
    """Make the envelope of the loaded client, and do in it what `envelope.json` tells."""
    told, phrases = _told(), passphrases()
    zone = ZoneInfo(time_zone(binder))
    made, *openings = told["openings"]
    who, clock = made["who"], _clock(set_around(today, made["at"], zone))
    (make,) = made["did"]
    phrase = SecretValue(told["first_passphrase"])
    envelope = create_envelope(binder, make["make"], phrase, who=who, clock=clock)
    for opening in openings:
        clock = _clock(set_around(today, opening["at"], zone))
        envelope = _opened_again(envelope, opening["who"], clock)
        call = opening.get("call")
        log_entry_id = resolve(binder, call, "log_entry").id if call else None
        for act in opening["did"]:
            _do(envelope, act, phrases, log_entry_id)
    envelope.seal()


def _opened_again(envelope: Envelope, who: str, clock: Callable[[], datetime]) -> Envelope:
    """The envelope as the next one opens it, and the line of its log that tells so.

    The keys are those at hand: the passphrase would give the same, a fifth of a second of work
    later, and twelve openings are told.
    """
    again = Envelope(envelope.binder, envelope.keys, who, envelope.keyholder, clock=clock)
    with again.binder.writing(), again.writing_log() as writer:
        writer.write(Entry("open", who, keyholder=again.keyholder))
    return again


def document_passphrase() -> str:
    """What opens the secrets sealed into the demo's handoff document."""
    return str(_told()["document"]["passphrase"])


def seal_all(binder: BinderFile, today: date) -> Sealing:
    """All secrets, to be sealed into the handoff document; the envelope is left open."""
    from exporters.sealing import Sealing, choose

    document = _told()["document"]
    start = set_around(today, "@+0d 09:00", ZoneInfo(time_zone(binder)))
    envelope = open_envelope(
        binder,
        SecretValue(passphrases()["shop team"]),
        who=document["by"],
        keyholder="shop team",
        clock=_clock(start),
    )
    passphrase = SecretValue(document["passphrase"])
    return Sealing(envelope, choose(binder).secret_ids, document["for"], passphrase)


def _clock(start: str) -> Callable[[], datetime]:
    """A clock by which everything takes a minute."""
    minutes = itertools.count()
    return lambda: datetime.fromisoformat(start) + timedelta(minutes=next(minutes))


def _do(
    envelope: Envelope,
    act: Mapping[str, str],
    phrases: Mapping[str, str],
    log_entry_id: int | None,
) -> None:
    match act:
        case {"set": name, "to": value}:
            _set(envelope, name, SecretValue(value), log_entry_id)
        case {"reveal": name, "why": why}:
            envelope.reveal(_id(envelope, name), why, log_entry_id=log_entry_id)
        case {"hand_over": name, "to": person, "why": why}:
            envelope.hand_over([_id(envelope, name)], person, why, log_entry_id=log_entry_id)
        case {"add": keyholder}:
            envelope.add_keyholder(keyholder, SecretValue(phrases[keyholder]))
        case {"change": keyholder, "renew": why}:
            envelope.change_keyholder(keyholder, SecretValue(phrases[keyholder]))
            envelope.renew(why)
        case _:
            raise ValueError(f"the demo's envelope: nothing is known that is done like {act}")


def _id(envelope: Envelope, name: str) -> int:
    return resolve(envelope.binder, name, "secret").id


def _set(envelope: Envelope, name: str, value: SecretValue, log_entry_id: int | None) -> None:
    """As `Envelope.put`, but for the record: as loaded, it tells already when it was set."""
    secret_id = _id(envelope, name)
    _, form = values.named(envelope.binder, secret_id)
    values.require_fit(form, value)
    with envelope.binder.writing(), envelope.writing_log() as writer:
        version = values.insert(envelope, secret_id, form, value)
        entry = Entry("set", envelope.who, seen_by=envelope.who, log_entry_id=log_entry_id)
        writer.write(values.about(entry, secret_id, name, version))
