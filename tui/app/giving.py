"""Giving a secret a new value: typed twice unseen, or made and shown once; discarding old ones."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

from binder.envelope.secret_value import SecretValue
from binder.errors import RequestError
from tui.app.ask import Ask, AskLine, Choose
from tui.app.ask_unseen import AskUnseen
from tui.app.lines import line
from tui.app.opening import opened
from tui.app.revealing import choose_secret, reveal
from tui.app.secret_screen import SecretScreen, Showing
from tui.app.secrets_of import Kept

if TYPE_CHECKING:
    from tui.app.binder_app import BinderApp

# What is made for which kind of secret, the likeliest first; the others are only typed.
_MADE: Final = {
    "password": ("mixed", "plain", "phone"),
    "PIN": ("digits",),
    "combination": ("digits",),
    "pre-shared key": ("phone", "plain"),
    "SNMP credentials": ("plain",),
}


async def give_value(app: BinderApp, record_id: int) -> None:
    """A new value for a secret of a record. The one before is kept until discarded."""
    secret = await choose_secret(app, record_id, "Which secret of {} gets a new value?")
    if secret is None or await opened(app) is None:
        return
    style = await _style(app, secret)
    if style is None:
        return
    if style == "typed":
        value = await _typed(app, secret)
    else:
        value = await _made(app, secret, style)
    if value is None:
        app.say(f"{secret.name} is as it was")
        return
    envelope = await opened(app)  # it may have sealed itself meanwhile
    if envelope is None:
        return
    version = envelope.put(secret.id, value, log_entry_id=app.call.id if app.call else None)
    app.changed()
    before = "; the one before is kept, Enter on it discards it" if version > 1 else ""
    if style != "typed":
        await app.ask(SecretScreen(_once(app, secret, value, version)))
    value.forget()
    app.say(f"kept as version {version} of {secret.name}{before}. No day to rotate: e sets one")


async def _style(app: BinderApp, secret: Kept) -> str | None:
    from binder.envelope.passwords import STYLES

    made = _MADE.get(secret.form, ())
    if not made:
        return "typed"
    rows = [(name, line(f" {STYLES[name].says}")) for name in made]
    rows.append(("typed", line(" none made: I type it, unseen, twice")))
    question = f"A new value for {secret.name} ({secret.form}), made of:"
    chosen = await app.ask(Choose(question, rows))
    return str(chosen) if chosen else None


async def _typed(app: BinderApp, secret: Kept) -> SecretValue | None:
    lines = secret.form not in ("password", "PIN", "pre-shared key", "combination")
    question = f"New value of {secret.name} ({secret.form}):"
    says = "Typed or pasted; it is not shown."
    while True:
        first = await app.ask(AskUnseen(question, says, several_lines=lines))
        if first is None:
            return None
        if not first:
            says = "! nothing was typed"
            continue
        again = await app.ask(AskUnseen(question, "The same again:", several_lines=lines))
        if again is None or again == first:
            return again
        says = "! the two differ"


async def _made(app: BinderApp, secret: Kept, style: str) -> SecretValue | None:
    from binder.envelope.passwords import STYLES, new_password

    says = "As many as the device or the carrier takes."
    while True:
        answer = await app.ask(
            AskLine(
                f"How many characters for {secret.name}?", says, start=str(STYLES[style].length)
            )
        )
        if answer is None:
            return None
        try:
            length = int(answer) if answer.isascii() and answer.isdecimal() else 0
            return new_password(style, length).value
        except RequestError as error:
            says = f"! {error}"


def _once(app: BinderApp, secret: Kept, value: SecretValue, version: int) -> Showing:
    return Showing(
        secret.name, SecretValue(value.expose()), what=f"{secret.form}, version {version}",
        facts=(
            ("kept", "in the envelope already; put it into the device or tell the carrier now"),
            ("logged", f"set by {app.who}"),
        ),
        seconds=60,
    )  # fmt: skip


# Versions. --------------------------------------------------------------------------------


async def look_at_version(app: BinderApp, secret_id: int, version: int, *, current: bool) -> None:
    """The current one is shown; an old one shown or discarded."""
    if current:
        await reveal(app, secret_id)
        return
    rows = [
        ("reveal", line(" Show it", ("  the device may still have it", "label"))),
        ("discard", line(" Discard it for good", ("  undo does not bring it back", "label"))),
    ]
    chosen = await app.ask(Choose(f"Version {version}, which was replaced:", rows))
    if chosen == "reveal":
        await reveal(app, secret_id, version)
    elif chosen == "discard" and await app.ask(
        Ask(f"Discard version {version} for good? Be sure that no device still has it.")
    ):
        envelope = await opened(app)
        if envelope is not None:
            envelope.discard(secret_id, [version])
            app.changed()
            app.say(f"version {version} is discarded")
