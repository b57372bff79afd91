"""Secrets that go into a document sealed: which, for whom, and the log of it."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date
from typing import TYPE_CHECKING

from binder.envelope.reports import newest_versions
from binder.errors import RequestError
from binder.file import BinderFile
from binder.identifiers import natural_key
from binder.read import Record, client, names, read_where, resolve
from binder.records.catalog import BY_NAME

if TYPE_CHECKING:
    from binder.envelope.opened import Envelope
    from binder.envelope.sealed import SealedSecret
    from binder.envelope.secret_value import SecretValue

_SECRET = BY_NAME["secret"]


@dataclass(frozen=True, slots=True)
class Chosen:
    """Secrets to be sealed, by name; and those left out because they have no value."""

    secret_ids: tuple[int, ...]
    without_value: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Sealing:
    """What to seal into a document. The passphrase is made for this one document."""

    envelope: Envelope
    secret_ids: tuple[int, ...]
    recipient: str
    passphrase: SecretValue


@dataclass(frozen=True, slots=True)
class Sealed:
    """What was sealed. `block` is the text the document carries, FORMAT.md of the envelope."""

    block: str
    recipient: str
    secret_ids: frozenset[int]


def choose(binder: BinderFile, named: Sequence[str] = (), kept_by: str = "") -> Chosen:
    """The secrets of these names, and of these records; all, if none is named.

    `kept_by` leaves those that this person or team keeps. A secret that is named, and has no
    value, is told; so is a choice that leaves nothing. Raises RequestError.
    """
    wanted = _named(binder, named) if named else _current(binder)
    if kept_by:
        wanted = [s for s in wanted if (s["kept_by"] or "").casefold() == kept_by.casefold()]
        if not wanted:
            raise RequestError(f"no secret is kept by '{kept_by}'; `binder show` lists secrets")
    valued = newest_versions(binder)
    chosen = {s.id: None for s in sorted(wanted, key=lambda s: natural_key(s.name))}
    without = tuple(dict.fromkeys(s.name for s in wanted if s.id not in valued))
    found = tuple(secret_id for secret_id in chosen if secret_id in valued)
    if not found:
        raise RequestError("none of these secrets has a value in the envelope; set one first")
    return Chosen(found, without)


def _current(binder: BinderFile) -> list[Record]:
    return list(read_where(binder, _SECRET, "t.status <> 'former'"))


def _named(binder: BinderFile, named: Iterable[str]) -> list[Record]:
    found: list[Record] = []
    for text in named:
        record = _resolved(binder, text)
        theirs = read_where(binder, _SECRET, "? IN (t.id, t.belongs_to_id)", (record,))
        if not theirs:
            raise RequestError(f"'{text}' is no secret, and no secret belongs to it")
        found += theirs
    return found


def _resolved(binder: BinderFile, text: str) -> int:
    """A secret comes before whatever else has the name."""
    rows = read_where(binder, _SECRET, "r.name = ?", (text.strip(),))
    return rows[0].id if len(rows) == 1 else resolve(binder, text).id


def sealed(binder: BinderFile, sealing: Sealing, *, into: str, today: date) -> Sealed:
    """Seal the secrets; each is written down first as known to the recipient.

    `into` names the document in the log: 'handoff, Issue 3'. Raises RequestError for a passphrase
    that is no good, before anything is written down; EnvelopeError when a value does not open.
    """
    from binder.envelope import sealed as sealing_format
    from binder.envelope.passphrases import require_good

    sheet = client(binder)
    called = sheet.name if sheet else ""
    require_good(sealing.passphrase, (called, sealing.recipient))
    values = sealing.envelope.hand_over(
        sealing.secret_ids, sealing.recipient, f"sealed into {into}"
    )
    told = _told(binder, values)
    recipient = " ".join(sealing.recipient.split())
    contents = sealing_format.Contents(called, today.isoformat(), recipient, told)
    block = sealing_format.seal(contents, sealing.passphrase)
    return Sealed(block, recipient, frozenset(values))


def _told(binder: BinderFile, values: dict[int, SecretValue]) -> tuple[SealedSecret, ...]:
    from binder.envelope.sealed import SealedSecret

    marks = ",".join("?" * len(values))
    secrets = {s.id: s for s in read_where(binder, _SECRET, f"t.id IN ({marks})", values)}
    owners = names(binder, (s["belongs_to"] for s in secrets.values()))
    networks = {network.id: network for network in read_where(binder, BY_NAME["ssid"])}
    made = []
    for secret_id, value in values.items():
        secret = secrets[secret_id]
        network = networks.get(secret["belongs_to"])
        qr = _qr(network, value) if network and secret["form"] == "pre-shared key" else ()
        owner = owners[secret["belongs_to"]].name
        made.append(SealedSecret(secret.name, secret["form"], owner, value, qr))
    return tuple(made)


def _qr(network: Record, key: SecretValue) -> tuple[str, ...]:
    """The QR code that phones join by, row by row; empty for a network they cannot join so."""
    from binder.envelope import wifi

    try:
        text = wifi.join_text(
            network.name, key, security=network["security"], hidden=bool(network["hidden"])
        )
    except RequestError:  # its key is no pre-shared key, or it has accounts of its own
        return ()
    return tuple("".join(map(str, row)) for row in wifi.qr_code(text).matrix)
