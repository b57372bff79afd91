"""Making and opening an envelope, and what can be done while it is open.

    envelope = open_envelope(binder, SecretValue(typed), who="M. Osei")
    pin = envelope.reveal(secret_id, why="carrier asks for it")
    envelope.seal()

Everything done is a line of the log, committed before a value is given.
"""

from __future__ import annotations

import contextlib
import uuid
from collections.abc import Callable, Iterator, Sequence
from datetime import UTC, datetime
from typing import TYPE_CHECKING

from binder.edit import Editor
from binder.envelope import keyholders, log, rows, values
from binder.envelope.ciphers import Unopened
from binder.envelope.keys import RECOMMENDED, KeyFile, Keys, Work
from binder.envelope.log import Entry
from binder.envelope.secret_value import SecretValue
from binder.errors import Fault, RequestError
from binder.file import BinderFile
from binder.records.dates import utc_now

if TYPE_CHECKING:
    from binder.envelope.one_time import OneTimeCodes

Clock = Callable[[], datetime]


def create_envelope(
    binder: BinderFile,
    keyholder: str,
    passphrase: SecretValue,
    *,
    who: str,
    key_file: KeyFile | None = None,
    work: Work = RECOMMENDED,
    clock: Clock = utc_now,
) -> Envelope:
    """Make the binder's envelope with its first keyholder, and leave it open.

    Raises RequestError when there is one, or the passphrase is no good.
    """
    keyholder = values.words("name", keyholder)
    envelope = Envelope(binder, Keys.new(str(uuid.uuid4()), 1), who, keyholder, clock=clock)
    row = keyholders.checked_new(envelope, keyholder, passphrase, key_file, work)
    with binder.writing() as connection:
        if rows.state(connection) is not None:
            raise RequestError("this binder has an envelope; open it and add a keyholder")
        keyholders.insert(connection, row)
        log.begin(connection, envelope.keys)
        with envelope.writing_log() as writer:
            writer.write(Entry("create", envelope.who))
            writer.write(Entry("add keyholder", envelope.who, keyholder=row.name))
    return envelope


def open_envelope(
    binder: BinderFile,
    passphrase: SecretValue,
    *,
    who: str,
    keyholder: str = "",
    key_file: KeyFile | None = None,
    work: Work = RECOMMENDED,
    clock: Clock = utc_now,
) -> Envelope:
    """Open the envelope with one keyholder's passphrase; whose need not be said.

    Takes 0.1 to 1 s of derivation for each keyholder tried. Whether it opened is written down. A
    keyholder whose parameters are weaker than `work` is raised to them. Look at `faults` of the
    result. Raises EnvelopeError when it does not open; RequestError when there is none, the file
    is read-only, or no keyholder could open with what is given.
    """
    who = values.words("who", who)
    if binder.read_only:
        raise RequestError(
            f"{binder.path.name} is open read-only, where a reveal cannot be written down; "
            "open it for writing"
        )
    with binder.reading() as connection:
        state = rows.state(connection)
        if state is None:
            raise RequestError("this binder has no envelope yet; make one first")
        candidates = keyholders.candidates(connection, keyholder, key_file)
    opened = keyholders.first_opened(candidates, state, passphrase, key_file)
    if opened is None:
        _write_refusal(binder, who, clock, state.log_count)
        raise Unopened
    row, keys = opened
    envelope = Envelope(binder, keys, who, row.name, clock=clock)
    raised = keyholders.raised(envelope, row, passphrase, key_file, work)
    with binder.writing() as connection, envelope.writing_log() as writer:
        if raised is not None and keyholders.unchanged(connection, row):
            rows.replace(connection, "keyholder", keyholders.columns(raised))
            writer.write(Entry("raise keyholder", who, keyholder=row.name))
        writer.write(Entry("open", who, keyholder=row.name))
    envelope.faults = envelope.check()
    return envelope


def _write_refusal(binder: BinderFile, who: str, clock: Clock, after_line: int) -> None:
    with binder.writing() as connection:
        rows.insert(connection, "refused_opening", (_moment(clock), who, after_line))


def _moment(clock: Clock) -> str:
    return clock().astimezone(UTC).strftime("%Y-%m-%dT%H:%M:%SZ")


def _reason(why: str) -> str | None:
    return values.words("why", why) if why.strip() else None


class Envelope:
    """An open envelope, in one person's name. Made by `open_envelope` and `create_envelope`.

    `keyholder` is whose passphrase opened it; `faults` what was found amiss at opening. Every
    method raises EnvelopeError once it is sealed, or when someone else renewed the data key.
    """

    def __init__(
        self, binder: BinderFile, keys: Keys, who: str, keyholder: str, *, clock: Clock
    ) -> None:
        self.binder = binder
        self.keys = keys
        self.who = values.words("who", who)
        self.keyholder = keyholder
        self.clock = clock
        self.faults: tuple[Fault, ...] = ()

    def through(self, binder: BinderFile) -> Envelope:
        """The same open envelope over another connection, as another thread needs.

        It is sealed together with this one.
        """
        other = Envelope(binder, self.keys, self.who, self.keyholder, clock=self.clock)
        other.faults = self.faults
        return other

    @property
    def is_open(self) -> bool:
        return bool(self.keys)

    def seal(self) -> None:
        """Forget the keys. Values given out before are not called back."""
        self.keys.forget()

    def moment(self) -> str:
        return _moment(self.clock)

    @contextlib.contextmanager
    def writing_log(self) -> Iterator[log.Writer]:
        """Inside a transaction: lines are added, and the head is made anew at the end."""
        writer = log.Writer(self.binder.connection, self.keys, self.moment(), self.who)
        yield writer
        writer.finish()

    def check(self, *, every_value: bool = False) -> tuple[Fault, ...]:
        """What was tampered with: log, keyholders, values. None when all is whole.

        Whether each value opens is tried only when asked for.
        """
        with self.binder.reading() as connection:
            faults = [*log.check(connection, self.keys), *keyholders.check(connection, self.keys)]
            if every_value:
                faults += values.check(connection, self.keys)
        return tuple(faults)

    def head(self) -> tuple[int, str]:
        """How many lines the log has and the MAC of the last, in hex: to be noted elsewhere."""
        with self.binder.reading() as connection:
            state = log.require_current(connection, self.keys)
            return state.log_count, state.log_mac.hex()

    # Secrets. -------------------------------------------------------------------------

    def put(self, secret_id: int, value: SecretValue, *, log_entry_id: int | None = None) -> int:
        """Give a secret a new value; gives its version. The one before is kept until discarded.

        The record is told: set today, by whom, and nothing left to rotate. Raises RequestError
        when there is no such secret, or the value cannot be one of its kind.
        """
        editor = Editor(self.binder, self.who, clock=self.clock)
        name, form = values.named(self.binder, secret_id)
        values.require_fit(form, value)
        with (
            editor.step(f"set {name}", log_entry_id=log_entry_id) as step,
            self.writing_log() as writer,
        ):
            version = values.insert(self, secret_id, form, value)
            entry = Entry("set", self.who, seen_by=self.who, log_entry_id=log_entry_id)
            writer.write(values.about(entry, secret_id, name, version))
            step.change(secret_id, values.marks_of_rotation(self, secret_id, version))
        return version

    def reveal(
        self,
        secret_id: int,
        why: str,
        *,
        version: int | None = None,
        log_entry_id: int | None = None,
    ) -> SecretValue:
        """The value, once the log says who was shown it and why. The newest unless told.

        Raises RequestError when there is no such value, EnvelopeError when it does not open.
        """
        entry = Entry(
            "reveal", self.who, seen_by=self.who, why=values.words("why", why),
            log_entry_id=log_entry_id,
        )  # fmt: skip
        return self._logged(entry, [secret_id], version)[secret_id]

    def codes(self, secret_id: int, why: str, *, log_entry_id: int | None = None) -> OneTimeCodes:
        """One-time codes from a seed; whoever is shown the codes does not know the seed."""
        from binder.envelope import one_time

        entry = Entry("code", self.who, why=values.words("why", why), log_entry_id=log_entry_id)
        name, form = values.named(self.binder, secret_id)
        if form != values.SEED:
            raise RequestError(f"{name} is no one-time-code seed")
        return one_time.parse(self._logged(entry, [secret_id], None)[secret_id])

    def hand_over(
        self,
        secret_ids: Sequence[int],
        recipient: str,
        why: str,
        *,
        log_entry_id: int | None = None,
    ) -> dict[int, SecretValue]:
        """The newest values, written down as known to the recipient: for a sealed document."""
        entry = Entry(
            "hand over", self.who, seen_by=values.words("recipient", recipient),
            why=values.words("why", why), log_entry_id=log_entry_id,
        )  # fmt: skip
        return self._logged(entry, secret_ids, None)

    def _logged(
        self, entry: Entry, secret_ids: Sequence[int], version: int | None
    ) -> dict[int, SecretValue]:
        """Values that open, after the transaction that wrote them down is committed."""
        found = {}
        with self.binder.writing(), self.writing_log() as writer:
            for secret_id in secret_ids:
                name, _ = values.named(self.binder, secret_id)
                chosen, found[secret_id] = values.opened(self, secret_id, name, version)
                writer.write(values.about(entry, secret_id, name, chosen))
        return found

    def discard(self, secret_id: int, versions: Sequence[int], why: str = "") -> None:
        """Destroy versions of a secret for good: undo does not bring them back.

        Also for a secret whose record was removed. Raises RequestError when one is not there.
        """
        entry = Entry("discard", self.who, why=_reason(why))
        with self.binder.writing() as connection, self.writing_log() as writer:
            name = values.name_then(connection, secret_id)
            values.delete(connection, secret_id, name, versions)
            for version in versions:
                writer.write(values.about(entry, secret_id, name, version))

    # Keyholders. ----------------------------------------------------------------------

    def add_keyholder(
        self,
        name: str,
        passphrase: SecretValue,
        *,
        key_file: KeyFile | None = None,
        work: Work = RECOMMENDED,
    ) -> None:
        """Let another passphrase open the envelope. Raises RequestError."""
        row = keyholders.checked_new(self, name, passphrase, key_file, work)
        with self.binder.writing() as connection, self.writing_log() as writer:
            keyholders.insert(connection, row)
            writer.write(Entry("add keyholder", self.who, keyholder=row.name))

    def change_keyholder(
        self,
        name: str,
        passphrase: SecretValue,
        *,
        key_file: KeyFile | None = None,
        work: Work = RECOMMENDED,
    ) -> None:
        """Give a keyholder another passphrase and key file. Renew the data key when one leaked."""
        with self.binder.reading() as connection:
            before = keyholders.named(connection, name)
        row = keyholders.checked_new(
            self, before.name, passphrase, key_file, work, keyholder_id=before.id
        )
        with self.binder.writing() as connection, self.writing_log() as writer:
            keyholders.named(connection, row.name)
            rows.replace(connection, "keyholder", keyholders.columns(row))
            writer.write(Entry("change keyholder", self.who, keyholder=row.name))

    def rename_keyholder(self, name: str, new_name: str) -> None:
        """Raises RequestError when there is no such keyholder, or the new name is taken."""
        new_name = values.words("name", new_name)
        with self.binder.writing() as connection, self.writing_log() as writer:
            before = keyholders.named(connection, name)
            keyholders.require_free(connection, new_name, before.id)
            row = before.renamed(self.keys, new_name)
            rows.replace(connection, "keyholder", keyholders.columns(row))
            writer.write(
                Entry("rename keyholder", self.who, keyholder=new_name, why=f"was {before.name}")
            )
        if self.keyholder == before.name:
            self.keyholder = new_name

    def remove_keyholder(self, name: str) -> None:
        """Take a keyholder's passphrase away; never the last. Renew the data key after."""
        with self.binder.writing() as connection, self.writing_log() as writer:
            row = keyholders.named(connection, name)
            if keyholders.count(connection) < 2:
                raise RequestError(f"{row.name} is the last keyholder; add another first")
            connection.execute("DELETE FROM keyholder WHERE id = ?", (row.id,))
            writer.write(Entry("remove keyholder", self.who, keyholder=row.name))

    def renew(self, why: str = "") -> int:
        """Encrypt everything anew under a new data key, for all keyholders; gives its number.

        One transaction: on any failure all is as before. Raises EnvelopeError when a value or a
        keyholder does not open. What was copied before stays readable with the old key.
        """
        new = Keys.new(self.keys.envelope_id, self.keys.key_number + 1)
        with self.binder.writing() as connection:
            writer = log.Writer(connection, self.keys, self.moment(), self.who)
            writer.write(Entry("renew", self.who, why=_reason(why)))
            keyholders.rewrap(connection, self.keys, new)
            values.reencrypt(connection, self.keys, new)
            log.keep_old_key(connection, self.keys, new)
            writer.finish(new)
        self.keys.become(new)
        return new.key_number
