"""`binder envelope put` and `discard`: values of secrets. Showing one is `binder reveal`."""

from __future__ import annotations

import click

from binder.errors import RequestError
from binder.file import BinderFile
from tui.console import binder_argument, tell
from tui.passphrase import (
    Opening,
    asked_twice,
    binder_to_unlock,
    descriptor,
    opened_envelope,
    opening_options,
    rest_from,
)


@click.command(
    epilog="Examples: binder envelope put harrow SW1 admin password --generate phone; "
    "binder envelope put harrow backup key --from-fd 3 3<backup.key"
)
@binder_argument
@click.argument("secret", nargs=-1, required=True)
@click.option(
    "--from-fd",
    metavar="N",
    type=descriptor,
    help="Read the value from this descriptor to its end, but for one line end; it may be the "
    "passphrase's, and come after it.",
)
@click.option(
    "--generate",
    "style",
    type=click.Choice(["mixed", "plain", "phone", "digits"]),
    help="Make one: mixed signs; letters and digits; one easily read out; digits.",
)
@click.option("--length", type=click.IntRange(1), help="How many characters are made.")
@click.option("--call", metavar="ENTRY", help="The call or visit it belongs to, as L-0040.")
@opening_options
@click.pass_context
def put(
    ctx: click.Context,
    name: str,
    secret: tuple[str, ...],
    from_fd: int | None,
    style: str | None,
    length: int | None,
    call: str | None,
    opening: Opening,
) -> None:
    """Give a secret a value: typed twice, read, or made.

    The one before is kept until discarded, since a device may still have it. The secret is told
    to be set today, by you, with nothing left to rotate.
    """
    from binder.envelope.passwords import new_password
    from binder.read import resolve

    if style and from_fd is not None:
        raise RequestError("give --generate or --from-fd, not both")
    if length is not None and not style:
        raise RequestError("--length is for a value that --generate makes")
    binder = binder_to_unlock(ctx, name)
    found = resolve(binder, " ".join(secret), "secret")
    log_entry_id = resolve(binder, call, "log_entry").id if call else None
    made = new_password(style, length) if style else None
    envelope = opened_envelope(ctx, binder, opening)
    if made is not None:
        value = made.value
    elif from_fd is not None:
        value = rest_from(from_fd)
    else:
        value = asked_twice(f"value of {found.name}")
    version = envelope.put(found.id, value, log_entry_id=log_entry_id)
    strength = f"; made, {made.bits:.0f} bits, and `binder reveal` shows it" if made else ""
    before = "; the value before is kept until discarded" if version > 1 else ""
    tell(f"kept as version {version} of {found.name}{strength}{before}")


@click.command(epilog="Example: binder envelope discard harrow SW1 admin password --old")
@binder_argument
@click.argument("secret", nargs=-1, required=True)
@click.option("--version", "chosen", type=click.IntRange(1), multiple=True, help="May be repeated.")
@click.option("--old", is_flag=True, help="Every version but the current one.")
@click.option("--why", default="", help="The reason, as the log is to tell it.")
@opening_options
@click.pass_context
def discard(
    ctx: click.Context,
    name: str,
    secret: tuple[str, ...],
    chosen: tuple[int, ...],
    old: bool,
    why: str,
    opening: Opening,
) -> None:
    """Destroy values for good.

    Undo does not bring them back. Of a secret whose record was removed, every value is an old one.
    """
    if bool(chosen) == old:
        raise RequestError("say which: --version N, or --old for all but the current one")
    binder = binder_to_unlock(ctx, name)
    secret_id, called, old_ones = _kept(binder, " ".join(secret))
    versions = sorted(set(chosen)) if chosen else old_ones
    if not versions:
        raise RequestError(f"{called} has no value but the current one")
    opened_envelope(ctx, binder, opening).discard(secret_id, versions, why)
    word = "version" if len(versions) == 1 else "versions"
    tell(f"discarded {word} {', '.join(map(str, versions))} of {called}")


def _kept(binder: BinderFile, text: str) -> tuple[int, str, list[int]]:
    """Id and name of a secret, its record removed or not, and its versions that are not in use."""
    from binder.envelope.reports import left_behind, versions
    from binder.read import resolve

    gone = [one for one in left_behind(binder) if one.secret.casefold() == text.strip().casefold()]
    if len(gone) == 1 and not _is_there(binder, text):
        return gone[0].secret_id, gone[0].secret, list(gone[0].versions)
    found = resolve(binder, text, "secret")
    kept = versions(binder, found.id)
    return found.id, found.name, sorted(one.version for one in kept if not one.current)


def _is_there(binder: BinderFile, text: str) -> bool:
    sql = "SELECT 1 FROM record WHERE kind = 'secret' AND name = ?"
    return binder.connection.execute(sql, (text.strip(),)).fetchone() is not None


COMMANDS = (put, discard)
