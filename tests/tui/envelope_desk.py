"""A small binder with an envelope, and a person at the commands that use it."""

from __future__ import annotations

import contextlib
import os
import sqlite3
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

import pytest

from binder.edit import Editor
from binder.envelope.opened import create_envelope
from binder.envelope.secret_value import SecretValue
from binder.file import create
from tui.main import run

PHRASE = "kettle ladder moonrise"
OTHER = "harbour trombone lichen"
PIN = "fibre account PIN"
PASSWORD = "SW1 admin password"
SEED = "controller code"
KEY = "staff wireless key"
SECRETS = {PIN: "PIN", PASSWORD: "password", SEED: "one-time-code seed", KEY: "pre-shared key"}


def make_binder(path: Path) -> None:
    """A circuit, a switch, a network, and four secrets without a value; M. Osei's envelope."""
    with create(path, "Quillmere Veterinary Clinic") as binder:
        with Editor(binder, "M. Osei").step("as installed") as step:
            circuit = step.add("circuit", {"identifier": "fibre", "service": "internet access"})
            account = step.add("account", {"system": "SW1", "login": "admin"})
            ssid = step.add("ssid", {"identifier": "Staff", "security": "WPA2-Personal"})
            for name, form in SECRETS.items():
                on = {PIN: circuit, KEY: ssid}.get(name, account)
                step.add("secret", {"identifier": name, "form": form, "belongs_to": on})
            step.add(
                "log_entry",
                {"opened_at": "2026-03-14T09:40:00Z", "form": "call", "summary": "fibre is slow"},
            )
        create_envelope(binder, "shop team", SecretValue(PHRASE), who="M. Osei").seal()


@contextlib.contextmanager
def _holding(text: str | bytes) -> Iterator[int]:
    """A descriptor from which that can be read."""
    out, into = os.pipe()
    os.write(into, text if isinstance(text, bytes) else text.encode())
    os.close(into)
    try:
        yield out
    finally:
        os.close(out)


@dataclass(frozen=True, slots=True)
class Answer:
    """What a command gave: `written` is what came through the descriptor of --to-fd."""

    status: int
    out: str
    err: str
    written: str


@dataclass
class Desk:
    """`desk("reveal", PIN, "--why", "call")`: one command on this binder, by this person."""

    path: Path
    capture: pytest.CaptureFixture[str]
    who: str = "M. Osei"

    def __call__(
        self,
        *words: str,
        phrase: str | None = PHRASE,
        to_fd: bool = False,
        before: tuple[str, ...] = (),
        **descriptors: str | bytes,
    ) -> Answer:
        """`from_fd="x"` gives `--from-fd N`, where x can be read from N."""
        verb = 2 if words[0] == "envelope" else 1
        said = ["--who", self.who, *before, *words[:verb], str(self.path), *words[verb:]]
        given = dict(descriptors) if phrase is None else {"passphrase_fd": phrase, **descriptors}
        with contextlib.ExitStack() as held:
            for option, text in given.items():
                said += [f"--{option.replace('_', '-')}", str(held.enter_context(_holding(text)))]
            written, into = os.pipe()
            if to_fd:
                said += ["--to-fd", str(into)]
            self.capture.readouterr()
            status = run(said)
            os.close(into)
            with os.fdopen(written, "rb") as pipe:
                got = pipe.read().decode()
        return Answer(status, *self.capture.readouterr(), got)

    def put(self, secret: str, value: str) -> None:
        assert self("envelope", "put", secret, from_fd=value).status == 0

    def reveal(self, secret: str, *more: str, why: str = "call", phrase: str = PHRASE) -> Answer:
        return self("reveal", secret, "--why", why, *more, phrase=phrase, to_fd=True)

    def report(self, *words: str) -> Answer:
        """A command that needs no passphrase."""
        return self("envelope", *words, phrase=None)

    def sql(self, *statements: str) -> None:
        """As one does who has another program and means no good."""
        with contextlib.closing(sqlite3.connect(self.path)) as connection, connection:
            guards = connection.execute(
                "SELECT name, sql FROM sqlite_master WHERE type = 'trigger' AND tbl_name IN "
                "('envelope_log', 'secret_version')"
            ).fetchall()
            for statement in (
                *(f'DROP TRIGGER "{name}"' for name, _ in guards),
                *statements,
                *(sql for _, sql in guards),
            ):
                connection.execute(statement)
