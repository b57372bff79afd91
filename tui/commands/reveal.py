"""`binder reveal`: a secret's value, once the log says who was shown it and why."""

from __future__ import annotations

import contextlib
from datetime import UTC, datetime

import click

from binder.envelope.secret_value import SecretValue
from binder.errors import RequestError
from binder.file import BinderFile
from tui.console import binder_argument, name_of_person, tell
from tui.passphrase import (
    Opening,
    binder_to_unlock,
    descriptor,
    opened_envelope,
    opening_options,
)
from tui.reveal import require_outlet, show, show_codes, write


@click.command(
    epilog="Examples: binder reveal harrow fibre account PIN --why 'the carrier asks for it'; "
    "binder reveal harrow SW1 admin password --why 'nightly copy' --passphrase-fd 3 --to-fd 4 "
    "3<phrase 4>password"
)
@binder_argument
@click.argument("secret", nargs=-1, required=True)
@click.option("--why", required=True, help="The reason, as the log is to tell it.")
@click.option("--call", metavar="ENTRY", help="The call or visit it belongs to, as L-0040.")
@click.option("--version", type=click.IntRange(1), help="An earlier value; the newest if not said.")
@click.option("--seed", is_flag=True, help="The seed of one-time codes, and not a code.")
@click.option("--spell", is_flag=True, help="Also in words, to be read out over the phone.")
@click.option(
    "--to-fd", metavar="N", type=descriptor, help="Write the bare value to this descriptor."
)
@opening_options
@click.pass_context
def reveal(
    ctx: click.Context,
    name: str,
    secret: tuple[str, ...],
    why: str,
    call: str | None,
    version: int | None,
    seed: bool,
    spell: bool,
    to_fd: int | None,
    opening: Opening,
) -> None:
    """Show a secret on the terminal for 20 seconds, or write it to a descriptor.

    The log of the envelope tells who was shown it, when and why, before it is shown. From a
    one-time-code seed the codes are shown, with the seconds each is still good for.
    """
    from binder.read import read, resolve

    require_outlet(to_fd)
    if spell and to_fd is not None:
        raise RequestError("--spell is for the terminal; leave out --to-fd")
    binder = binder_to_unlock(ctx, name)
    record = read(binder, resolve(binder, " ".join(secret), "secret").id)
    _require_value(binder, record.id, record.name, version)
    log_entry_id = resolve(binder, call, "log_entry").id if call else None
    codes_shown = record["form"] == "one-time-code seed" and not seed
    if codes_shown and (version is not None or spell):
        raise RequestError("--version and --spell are for a value: with --seed, the seed itself")
    envelope = opened_envelope(ctx, binder, opening)
    if codes_shown:
        codes = envelope.codes(record.id, why, log_entry_id=log_entry_id)
        envelope.seal()
        if to_fd is not None:
            write(codes.at(datetime.now(UTC)).value, to_fd)
        else:
            with contextlib.suppress(KeyboardInterrupt):  # an end as good as Enter
                show_codes(f"{record.name}, codes", codes)
    else:
        value = envelope.reveal(record.id, why, version=version, log_entry_id=log_entry_id)
        envelope.seal()
        _give(value, record.name, spell, to_fd)
    tell(f"{record.name}: the log has it, as shown to {name_of_person(ctx)}")


def _require_value(binder: BinderFile, secret_id: int, name: str, version: int | None) -> None:
    """Asked before anyone types a passphrase for it."""
    from binder.envelope.reports import versions

    kept = [one.version for one in versions(binder, secret_id)]
    if not kept:
        raise RequestError(f"{name} has no value yet; `binder envelope put` gives it one")
    if version is not None and version not in kept:
        raise RequestError(
            f"{name} has no version {version}; kept are: {', '.join(map(str, sorted(kept)))}"
        )


def _give(value: SecretValue, name: str, spell: bool, to_fd: int | None) -> None:
    if to_fd is not None:
        write(value, to_fd)
        return
    shown = [value]
    if spell:
        from binder.envelope.passwords import spelled

        shown += [SecretValue(""), spelled(value)]
    with contextlib.suppress(KeyboardInterrupt):
        show(name, *shown)
