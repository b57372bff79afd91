"""`binder unseal`: the secrets that a document carries sealed."""

from __future__ import annotations

import json
from pathlib import Path
from typing import TYPE_CHECKING

import click

from binder.errors import EnvelopeError, FileError, RequestError
from tui.console import json_option
from tui.passphrase import asked, descriptor, line_from

if TYPE_CHECKING:
    from binder.envelope.sealed import Contents
    from binder.envelope.secret_value import SecretValue

_MOST_BYTES = 64 * 2**20
_SHOWN_S = 300


@click.command(epilog="Example: binder unseal harrow-handoff-draft-sealed-for-dr-voss.html")
@click.argument("document", metavar="FILE", type=click.Path(path_type=Path, dir_okay=False))
@click.option(
    "--passphrase-fd",
    metavar="N",
    type=descriptor,
    help="Read the document's passphrase, one line, from this descriptor; else from a prompt.",
)
@click.option(
    "--to-fd", metavar="N", type=descriptor, help="Write them to this descriptor, not the screen."
)
@json_option
def unseal(document: Path, passphrase_fd: int | None, to_fd: int | None, as_json: bool) -> None:
    """Show the secrets sealed into a document, for a while, on the terminal.

    It takes the document and its passphrase, and no binder.
    """
    from tui.reveal import require_outlet, show, write

    require_outlet(to_fd)
    page = _page(document)
    if passphrase_fd is None:
        passphrase = asked("passphrase of the document: ")
    else:
        passphrase = line_from(passphrase_fd)
    contents = _unsealed(document, page, passphrase)
    text = _as_json(contents) if as_json else _as_text(contents)
    if to_fd is not None:
        write(text, to_fd)
    else:
        caption = f"{contents.client}, sealed on {contents.sealed_on} for {contents.recipient}"
        show(caption, text, seconds=_SHOWN_S)


def _page(document: Path) -> str:
    try:
        with document.open("rb") as file:
            data = file.read(_MOST_BYTES + 1)
    except OSError as error:
        raise FileError(f"{document}: cannot be read: {error.strerror}") from error
    if len(data) > _MOST_BYTES:
        raise FileError(f"{document}: too large to be a document of ours")
    return data.decode(errors="replace")  # the block is ASCII; what is none does not open


def _unsealed(document: Path, page: str, passphrase: SecretValue) -> Contents:
    from binder.envelope.sealed import unseal

    try:
        return unseal(page, passphrase)
    except EnvelopeError as error:
        raise EnvelopeError(f"{document}: {error}") from error
    except RequestError as error:
        raise RequestError(f"{document}: {error}") from error


def _as_text(contents: Contents) -> SecretValue:
    """Each secret under what it is, its lines set in, a blank line between."""
    from binder.envelope.secret_value import SecretValue

    return SecretValue(
        "\n".join(
            f"{secret.name} ({secret.kind}, {secret.belongs_to})\n"
            + "".join(f"    {line}\n" for line in secret.value.expose().split("\n"))
            for secret in contents.secrets
        )
    )


def _as_json(contents: Contents) -> SecretValue:
    """The same as data: ASCII only, so that no stored character reaches a terminal raw."""
    from binder.envelope.secret_value import SecretValue

    members = {
        "client": contents.client,
        "sealed_on": contents.sealed_on,
        "recipient": contents.recipient,
        "secrets": [
            {
                "name": secret.name,
                "kind": secret.kind,
                "belongs_to": secret.belongs_to,
                "value": secret.value.expose(),
            }
            for secret in contents.secrets
        ],
    }
    return SecretValue(json.dumps(members, indent=1) + "\n")
