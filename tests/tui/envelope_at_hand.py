"""The closet with an envelope and secrets in it, and a clock on the wall that a test moves."""

from __future__ import annotations

from collections.abc import AsyncIterator
from contextlib import asynccontextmanager
from datetime import datetime, timedelta
from pathlib import Path

from binder.edit import Editor
from binder.envelope.keys import weak_work_for_tests
from binder.envelope.opened import create_envelope
from binder.envelope.secret_value import SecretValue
from binder.file import BinderFile, open_binder
from binder.read import resolve
from tests.conftest import add_by_name
from tests.tui.screen_text import NOW, Terminal, terminal

PASSPHRASE = "kettle ladder moonrise"
PIN = "4410-canary-2287"
WIRELESS_KEY = "lantern canary guest"
PASSWORD = "Zebra;canary 7Q2x "  # a blank at its end


class Wall:
    """The clock on the wall."""

    def __init__(self) -> None:
        self.now = NOW

    def __call__(self) -> datetime:
        return self.now

    def passes(self, **span: float) -> None:
        self.now += timedelta(**span)


def fill_envelope(
    binder: BinderFile,
    editor: Editor,
    who: str = "M. Osei",
    pin: tuple[str, str] = ("fibre account PIN", PIN),
) -> None:
    """Four secrets: of a circuit, an SSID, an account, and a seed of the account without value;
    that of the circuit may have another name and value."""
    with editor.step("secrets") as step:
        for name, form, of in (
            (pin[0], "PIN", "circuit fibre"),
            ("guest key", "pre-shared key", "ssid Quillmere Guest"),
            ("SW1 admin password", "password", "account SW1 / admin"),
            ("SW1 second factor", "one-time-code seed", "account SW1 / admin"),
        ):
            add_by_name(binder, step, "secret", identifier=name, form=form, belongs_to=of)
    envelope = create_envelope(
        binder, "shop team", SecretValue(PASSPHRASE), who=who,
        work=weak_work_for_tests(), clock=lambda: NOW,
    )  # fmt: skip
    for name, value in (
        pin,
        ("guest key", WIRELESS_KEY),
        ("SW1 admin password", PASSWORD),
    ):
        envelope.put(resolve(binder, name, "secret").id, SecretValue(value))
    envelope.seal()


@asynccontextmanager
async def at_work(
    path: Path, *, size: tuple[int, int] = (80, 24), read_only: bool = False
) -> AsyncIterator[tuple[Terminal, Wall]]:
    """The app, whose clock a test moves, and where deriving a key costs nothing."""
    async with terminal(path, size=size, read_only=read_only) as t:
        wall = Wall()
        t.app.clock = wall
        t.app.envelope_work = weak_work_for_tests()
        yield t, wall


async def open_envelope_by_keys(t: Terminal) -> None:
    await t.press("o")
    await t.sees("The envelope is sealed. Passphrase:")
    await t.type(PASSPHRASE)
    await t.press("enter")
    await t.sees("opened with the passphrase of shop team", "envelope open")


async def show_pin(t: Terminal) -> None:
    """From anywhere in the binder, with the envelope open, to the PIN on the screen."""
    t.app.open_sheet(circuit(t))
    await t.sees("Circuit fibre")
    await t.press("k")
    await t.sees("Why do you look at fibre account PIN?")
    await t.type("carrier asks")
    await t.press("enter")
    await t.sees(PIN, "gone in 20 s")


def circuit(t: Terminal) -> int:
    with open_binder(t.app.binder.path, read_only=True) as binder:
        return resolve(binder, "fibre", "circuit").id
