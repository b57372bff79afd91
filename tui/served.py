"""The program as a technician's only door to a host: started by sshd, in a name it was given.

    command="binder --who 'M. Osei'",restrict,pty ssh-ed25519 AAAA...

A line like this in `authorized_keys` starts the program and nothing else. Then nothing here may
lead past it: no editor or file of the host is opened, only binders of the shelf, and what the
technician asked ssh to run is taken as one of the commands that only ask.
"""

from __future__ import annotations

import os
import shlex
from collections.abc import Mapping
from typing import Any, Final

import click

from binder.errors import RequestError

# Commands a technician may have ssh run; none of them writes a file or asks for a passphrase.
QUESTIONS: Final = (
    "find", "show", "trace", "topology", "impact", "trouble", "headroom", "closeout", "history",
    "log", "shelf",
)  # fmt: skip


def is_served(who: str | None, environment: Mapping[str, str] = os.environ) -> bool:
    """Whether whoever set up the host chose the name, and this comes over SSH.

    In a shell of one's own the name comes from BINDER_WHO or the login instead.
    """
    return bool(who) and "SSH_CONNECTION" in environment


def asked(environment: Mapping[str, str] = os.environ) -> list[str]:
    """The words that the technician gave ssh beside the host; none opens the shelf.

    Raises RequestError when they are not one of the QUESTIONS, or a binder to open.
    """
    typed = environment.get("SSH_ORIGINAL_COMMAND", "")
    try:
        words = shlex.split(typed)
    except ValueError as error:
        raise RequestError(f"'{typed}' cannot be read: {error}") from error
    if words[:1] == ["binder"]:
        words = words[1:]
    is_option = bool(words) and words[0].startswith("-")
    if is_option or (len(words) > 1 and words[0] not in QUESTIONS):
        raise RequestError(
            f"'{words[0]}' is not done over this line; it takes {', '.join(QUESTIONS)}, the name "
            "of a binder to open, or nothing for the shelf"
        )
    return words


class OnlySent(click.File):
    """In place of a parameter that names a file: what is sent to standard input, no file."""

    def convert(self, value: Any, param: click.Parameter | None, ctx: click.Context | None) -> Any:
        if value != "-":
            self.fail("no file of the host is opened over this line; '-' takes what you send")
        return super().convert(value, param, ctx)


def without_files(command: click.Command) -> click.Command:
    """The command, its parameters that name files shut."""
    for parameter in command.params:
        if isinstance(parameter.type, click.Path | click.File):
            parameter.type = OnlySent(encoding="utf-8")
    return command


def is_session_served() -> bool:
    """Whether the command line being run is one of a technician served over SSH."""
    context = click.get_current_context(silent=True)
    return bool(context and getattr(context.find_root().obj, "served", False))
