"""Showing a secret: which, why, and only once the log tells of it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import partial
from typing import TYPE_CHECKING

from binder.envelope.secret_value import SecretValue
from binder.errors import RequestError
from binder.read import Record, read
from tui.app.ask import AskLine, Choose
from tui.app.kind_words import one
from tui.app.lines import Line, fit, line, width_of
from tui.app.opening import opened
from tui.app.secret_screen import SECONDS, SecretScreen, Showing
from tui.app.secrets_of import Kept, secrets_of

if TYPE_CHECKING:
    from binder.envelope.one_time import OneTimeCodes
    from tui.app.binder_app import BinderApp

SEED = "one-time-code seed"


@dataclass(frozen=True, slots=True)
class Reason:
    """Why a secret is shown, as the log tells it, and the open log entry it belongs to."""

    why: str
    log_entry_id: int | None = None
    entry: str = ""


async def reveal(app: BinderApp, record_id: int, version: int | None = None) -> None:
    """Show a secret of a record for 20 seconds; asks what is not known yet."""
    secret = await choose_secret(app, record_id, "Which secret of {}?")
    if secret is None:
        return
    if not secret.version:
        raise RequestError(f"the envelope holds no value of {secret.name} yet; g gives it one")
    if await opened(app) is None:
        return
    reason = await _reason(app, secret.name)
    if reason is not None:
        await _show(app, secret, reason, version)


async def choose_secret(app: BinderApp, record_id: int, question: str) -> Kept | None:
    """The one secret of a record, or which of several. Raises RequestError when it has none."""
    found = secrets_of(app.binder, record_id)
    record = read(app.binder, record_id)
    if not found:
        raise RequestError(f"no secrets of {record.name}; n on its sheet adds one")
    if len(found) == 1:
        return found[0]
    rows = list(zip([secret.id for secret in found], _rows(found), strict=True))
    chosen = await app.ask(Choose(question.format(record.name), rows))
    return next((secret for secret in found if secret.id == chosen), None)


def _rows(found: Sequence[Kept]) -> list[Line]:
    names = max(width_of(secret.name) for secret in found)
    return [
        line(
            f" {fit(secret.name, names)}  ",
            (f"{secret.form}, {secret.belongs_to}", "label"),
            ("" if secret.version else "  no value yet", "warn"),
        )
        for secret in found
    ]


async def _reason(app: BinderApp, name: str) -> Reason | None:
    entry = app.call
    if entry is not None:
        about = entry.summary or entry.caller
        return Reason(" ".join(filter(None, (entry.form, about)))[:400], entry.id, entry.name)
    says = "One line; it stays in the log of the envelope."
    why = await app.ask(AskLine(f"Why do you look at {name}?", says))
    return Reason(why) if why else None


async def _show(app: BinderApp, secret: Kept, reason: Reason, version: int | None) -> None:
    """Write it down in the log, and show it."""
    envelope = await opened(app)  # it may have sealed itself over the question
    if envelope is None:
        return
    why, entry = reason.why, reason.log_entry_id
    codes: OneTimeCodes | None = None
    if secret.form == SEED and version is None:
        codes, value = envelope.codes(secret.id, why, log_entry_id=entry), SecretValue("")
    else:
        value = envelope.reveal(secret.id, why, version=version, log_entry_id=entry)
    app.attach_to_call([secret.id], "revealed")
    app.changed()
    record = read(app.binder, secret.id)
    which = "its codes" if codes else f"version {version or secret.version}"
    app.push_screen(
        SecretScreen(
            Showing(
                secret.name, value, _facts(app, record, secret, reason),
                what=f"{secret.form}, {which}", codes=codes,
                join_text=_join_text(app, record, value),
                again=partial(_again, app, secret, reason, version),
                seconds=max(SECONDS, 2 * codes.period_s) if codes else SECONDS,
            )
        )
    )  # fmt: skip


def _again(app: BinderApp, secret: Kept, reason: Reason, version: int | None) -> None:
    app.errand(_show(app, secret, reason, version))


def _facts(
    app: BinderApp, record: Record, secret: Kept, reason: Reason
) -> tuple[tuple[str, str], ...]:
    owner = read(app.binder, record["belongs_to"])
    because = f"{reason.entry} {reason.why}" if reason.entry else reason.why
    told = (
        ("of", f"{one(owner.kind)} {owner.name}"),
        ("set", " by ".join(record[name] for name in ("set_on", "set_by") if record[name])),
        ("rotate by", record["rotate_by"] or ""),
        ("use", record["instructions"] or ""),
        ("logged", f"shown to {app.who}: {because}"),
    )
    return tuple((label, text) for label, text in told if text)


def _join_text(app: BinderApp, record: Record, value: SecretValue) -> SecretValue | None:
    """What the QR code of a wireless key holds; None for any other secret."""
    owner = read(app.binder, record["belongs_to"])
    if owner.kind.name != "ssid" or record["form"] != "pre-shared key":
        return None
    from binder.envelope.wifi import join_text

    try:
        return join_text(
            owner["identifier"], value, security=owner["security"], hidden=bool(owner["hidden"])
        )
    except RequestError:  # a network or a key that no code can join: the key is shown nonetheless
        return None
