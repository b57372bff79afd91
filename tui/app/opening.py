"""Opening the envelope, and making it where there is none."""

from __future__ import annotations

import asyncio
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING

from binder.envelope import has_envelope, reports
from binder.envelope.secret_value import SecretValue
from binder.errors import EnvelopeError, RequestError
from binder.file import open_binder
from tui.app.ask import Ask, AskLine, Choose
from tui.app.ask_unseen import AskUnseen
from tui.app.envelope_state import must_wait
from tui.app.lines import line

if TYPE_CHECKING:
    from binder.envelope.keys import KeyFile
    from binder.envelope.opened import Envelope
    from tui.app.binder_app import BinderApp

STAYS = "it seals itself after 5 minutes without a key; o seals it now"


async def opened(app: BinderApp) -> Envelope | None:
    """The open envelope; asks for a passphrase when it is sealed. None when that is left.

    Raises RequestError when there is none, or the binder is open read-only.
    """
    if app.envelope.open is not None:
        return app.envelope.open
    if app.read_only:
        raise RequestError(
            "open read-only: what is shown must be written down in the log, so nothing can be; "
            "start without --read-only"
        )
    if not has_envelope(app.binder):
        raise RequestError("this binder has no envelope yet; o makes one")
    keyholder, key_file = "", None
    if any(one.key_file for one in reports.keyholders(app.binder)):
        named = await _whose(app)
        if named is None:
            return None
        keyholder, key_file = named
    return await _unlocked(app, keyholder, key_file)


async def _unlocked(app: BinderApp, keyholder: str, key_file: KeyFile | None) -> Envelope | None:
    """Ask until a passphrase opens it, or that is left."""
    whose = f" of {keyholder}" if keyholder else ""
    says = "It is not shown while you type."
    while True:
        passphrase = await app.ask(
            AskUnseen(f"The envelope is sealed. Passphrase{whose}:", says, wait=partial(_wait, app))
        )
        if passphrase is None:
            return None
        if not passphrase:
            says = "! nothing was typed"
            continue
        try:
            envelope = await _derived(app, passphrase, keyholder, key_file)
        except EnvelopeError as error:
            says = f"! {error}"
        else:
            app.envelope.opened(envelope)
            app.changed()
            await _tell_faults(app, envelope)
            return app.envelope.open
        finally:
            passphrase.forget()
            app.say("")


def _wait(app: BinderApp) -> str:
    return must_wait(app.binder, app.clock())


async def _derived(
    app: BinderApp, passphrase: SecretValue, keyholder: str, key_file: KeyFile | None
) -> Envelope:
    """Open it in a thread, over a connection of its own: deriving takes up to a second."""
    from binder.envelope.keys import RECOMMENDED
    from binder.envelope.opened import open_envelope

    app.say("opening ...")

    def derive() -> Envelope:
        with open_binder(app.binder.path, look_through=False) as binder:
            return open_envelope(
                binder, passphrase, who=app.who, keyholder=keyholder, key_file=key_file,
                work=app.envelope_work or RECOMMENDED, clock=app.clock,
            )  # fmt: skip

    return (await asyncio.to_thread(derive)).through(app.binder)


async def _tell_faults(app: BinderApp, envelope: Envelope) -> None:
    """What was tampered with stands in the way until a key is pressed."""
    if envelope.faults:
        faults = [str(fault) for fault in envelope.faults]
        question = (
            "The envelope opened, but it was tampered with. `binder envelope check` tells all. "
            "Go on?"
        )
        if not await app.ask(Ask(question, faults)):
            app.seal_envelope()


async def _whose(app: BinderApp) -> tuple[str, KeyFile | None] | None:
    """Which keyholder, and their key file where they have one."""
    from binder.envelope.keys import KeyFile

    keyholders = {one.name: one for one in reports.keyholders(app.binder)}
    rows = [
        (name, line(f" {name}", ("  with a key file" if one.key_file else "", "label")))
        for name, one in keyholders.items()
    ]
    name = await app.ask(Choose("The envelope is sealed. Whose passphrase do you have?", rows))
    if name is None:
        return None
    if not keyholders[str(name)].key_file:
        return str(name), None
    path = await app.ask(AskLine(f"The key file of {name}:", "Its path on this computer."))
    return (str(name), KeyFile.read(Path(path).expanduser())) if path else None


# Open or seal, make. ----------------------------------------------------------------------


async def open_or_seal(app: BinderApp) -> None:
    """Seal it when it is open; open it when it is sealed; make it when there is none."""
    if app.envelope.open is not None:
        app.seal_envelope()
        app.say("the envelope is sealed")
    elif app.read_only or has_envelope(app.binder):
        envelope = await opened(app)
        if envelope is not None:
            app.say(f"opened with the passphrase of {envelope.keyholder}; {STAYS}")
    else:
        await _make(app)


async def _make(app: BinderApp) -> None:
    from binder.envelope.keys import RECOMMENDED
    from binder.envelope.opened import create_envelope

    keyholder = await app.ask(
        AskLine(
            "This binder has no envelope yet. Who is the first to hold it?",
            "A keyholder is a name with a passphrase: a team, a person, the client's safe. "
            "Whoever has the passphrase reads every secret; without one, nobody ever does.",
            start="shop team",
        )
    )
    if keyholder is None:
        return
    passphrase = await _new_passphrase(app, keyholder)
    if passphrase is None:
        return

    def make() -> Envelope:
        with open_binder(app.binder.path, look_through=False) as binder:
            return create_envelope(
                binder, keyholder, passphrase, who=app.who,
                work=app.envelope_work or RECOMMENDED, clock=app.clock,
            )  # fmt: skip

    envelope = (await asyncio.to_thread(make)).through(app.binder)
    app.envelope.opened(envelope)
    app.changed()
    app.say(
        f"the envelope is made, and open. Give a second keyholder a passphrase soon, against loss: "
        f"`binder envelope add {app.binder.path.stem} NAME`"
    )


async def _new_passphrase(app: BinderApp, keyholder: str) -> SecretValue | None:
    """Typed twice, or made, shown, and typed once; None when left."""
    from binder.envelope.passphrases import ADVICE, weakness

    rows = [("made", line(" Have one made")), ("own", line(" Type one of my own"))]
    how = await app.ask(Choose(f"The passphrase of {keyholder}:", rows))
    if how == "made":
        return await _made(app, keyholder)
    says, question = ADVICE, f"New passphrase of {keyholder}:"
    while how is not None:
        first = await app.ask(AskUnseen(question, says))
        if first is None:
            break
        weak = weakness(first, (app.binder.path.stem, keyholder, app.client_name))
        if weak:
            says = f"! {weak}"
            continue
        again = await app.ask(AskUnseen(question, "The same again:"))
        if again is None or again == first:
            return again
        says = "! the two differ"
    return None


async def _made(app: BinderApp, keyholder: str) -> SecretValue | None:
    from binder.envelope.passphrases import new_passphrase
    from tui.app.secret_screen import SecretScreen, Showing

    made = new_passphrase()
    says = f"! Write it down first: only who types it back gets an envelope ({made.bits:.0f} bits)."
    while True:
        shown = Showing(
            f"passphrase of {keyholder}", SecretValue(made.value.expose()), seconds=300,
            facts=(("now", "write it down where only the keyholder finds it; Esc when you have"),),
        )  # fmt: skip
        await app.ask(SecretScreen(shown))
        typed = await app.ask(AskUnseen(f"The passphrase of {keyholder}, as you wrote it:", says))
        if typed is None or typed == made.value:
            return typed
        says = "! that is not it; Enter on nothing shows it again"
        again = await app.ask(AskUnseen(f"The passphrase of {keyholder}, as you wrote it:", says))
        if again is None or again == made.value:
            return again
