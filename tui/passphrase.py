"""Passphrases and values on their way in: from a prompt, a descriptor, or a file of the owner's.

Never an argument and never a plain variable of the environment: other accounts of the machine can
see the first, and every program started from here inherits the second.
"""

from __future__ import annotations

import contextlib
import functools
import getpass
import os
import stat
import warnings
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from binder.envelope import has_envelope
from binder.envelope.secret_value import SecretValue
from binder.errors import FileError, RequestError
from binder.file import BinderFile
from tui.console import binder_path, name_of_person, opened, tell
from tui.reveal import require_outlet, show_new

if TYPE_CHECKING:
    from binder.envelope.keys import KeyFile
    from binder.envelope.opened import Envelope

FILE_VARIABLE = "BINDER_PASSPHRASE_FILE"
_MOST_BYTES = 1 << 20


def descriptor(text: str) -> int:
    """The type of options that name a descriptor."""
    if not (text.isascii() and text.isdecimal() and len(text) < 7):
        raise click.BadParameter(f"'{text}' is not the number of a descriptor")
    return int(text)


# Opening. ---------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class Opening:
    """How the envelope is to be opened, as said on the command line."""

    keyholder: str
    key_file: Path | None
    passphrase_fd: int | None

    @property
    def said(self) -> bool:
        return bool(self.keyholder or self.key_file or self.passphrase_fd is not None)


def opening_options(function: Callable[..., Any]) -> Callable[..., Any]:
    """Options of a command that opens the envelope; it is given `opening`."""

    @click.option("--keyholder", metavar="NAME", default="", help="Whose passphrase it is.")
    @click.option(
        "--key-file", type=click.Path(path_type=Path, dir_okay=False), help="The key file."
    )
    @click.option(
        "--passphrase-fd",
        metavar="N",
        type=descriptor,
        help="Read the passphrase, one line, from this descriptor. Without it: from the file "
        f"that {FILE_VARIABLE} names, or a prompt.",
    )
    @functools.wraps(function)
    def gathered(
        *given: Any, keyholder: str, key_file: Path | None, passphrase_fd: int | None, **named: Any
    ) -> Any:
        return function(*given, opening=Opening(keyholder, key_file, passphrase_fd), **named)

    return gathered


def binder_to_unlock(ctx: click.Context, name: str) -> BinderFile:
    """The binder, for writing: opening its envelope, and each reveal, is written in its log."""
    path = binder_path(name)
    if ctx.obj.read_only:
        raise RequestError(
            "this session is read-only, and opening the envelope writes a line of its log; "
            "leave out --read-only"
        )
    if path.exists() and not os.access(path, os.W_OK):
        raise FileError(
            f"{path}: no permission to write, and opening the envelope writes a line of its log; "
            "check who owns the file"
        )
    return opened(ctx, name, writing=True)


def opened_envelope(ctx: click.Context, binder: BinderFile, opening: Opening) -> Envelope:
    """The binder's envelope, open until the command ends. Tells what was tampered with."""
    if not has_envelope(binder):
        raise RequestError(
            f"{binder.path.name} has no envelope yet; `binder envelope make` makes one"
        )
    from binder.envelope.keys import KeyFile
    from binder.envelope.opened import open_envelope

    envelope = open_envelope(
        binder,
        _passphrase(opening),
        who=name_of_person(ctx),
        keyholder=opening.keyholder,
        key_file=KeyFile.read(opening.key_file) if opening.key_file else None,
    )
    ctx.call_on_close(envelope.seal)
    for fault in envelope.faults:
        tell(f"binder: {fault}; `binder envelope check` tells all")
    return envelope


def _passphrase(opening: Opening) -> SecretValue:
    if opening.passphrase_fd is not None:
        return line_from(opening.passphrase_fd)
    if os.environ.get(FILE_VARIABLE):
        return _from_own_file(Path(os.environ[FILE_VARIABLE]))
    whose = f" of {opening.keyholder}" if opening.keyholder else ""
    return asked(f"passphrase{whose}: ")


def _from_own_file(path: Path) -> SecretValue:
    """The first line of a file. One that others may read is refused: its passphrase is known."""
    try:
        number = os.open(path, os.O_RDONLY)
    except OSError as error:
        raise FileError(f"{FILE_VARIABLE}: {path}: cannot be read: {error.strerror}") from error
    try:
        if os.name == "posix" and stat.S_IMODE(os.fstat(number).st_mode) & 0o077:
            raise RequestError(
                f"{FILE_VARIABLE}: {path}: others than its owner may read it; chmod 600 it, and "
                "change the passphrase if they did"
            )
        return line_from(number)
    finally:
        os.close(number)


# A new passphrase. ------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class NewPassphrase:
    """How a keyholder's new passphrase is given, as said on the command line."""

    passphrase_fd: int | None
    generate: bool
    to_fd: int | None
    key_file: Path | None

    def require_sound(self) -> None:
        """Raises RequestError when it cannot be given like this, before anything is done."""
        if self.generate and self.passphrase_fd is not None:
            raise RequestError("give --generate or --new-passphrase-fd, not both")
        if self.to_fd is not None and not self.generate:
            raise RequestError("--to-fd is for the passphrase that --generate makes")
        if self.generate:
            require_outlet(self.to_fd)


def new_passphrase_options(function: Callable[..., Any]) -> Callable[..., Any]:
    """Options of a command that sets a passphrase; it is given `new`."""

    @click.option(
        "--new-passphrase-fd",
        metavar="N",
        type=descriptor,
        help="Read the new passphrase, one line, from this descriptor; without it, from a prompt.",
    )
    @click.option("--generate", is_flag=True, help="Make a passphrase, and show it once.")
    @click.option(
        "--to-fd",
        metavar="N",
        type=descriptor,
        help="Write the one made to this descriptor, not the screen.",
    )
    @click.option(
        "--new-key-file",
        type=click.Path(path_type=Path, dir_okay=False),
        help="A file needed beside the passphrase from now on; made if it is not there.",
    )
    @functools.wraps(function)
    def gathered(
        *given: Any,
        new_passphrase_fd: int | None,
        generate: bool,
        to_fd: int | None,
        new_key_file: Path | None,
        **named: Any,
    ) -> Any:
        new = NewPassphrase(new_passphrase_fd, generate, to_fd, new_key_file)
        new.require_sound()
        return function(*given, new=new, **named)

    return gathered


def new_passphrase(new: NewPassphrase, keyholder: str) -> SecretValue:
    """The passphrase for a keyholder: typed twice, read, or made and shown."""
    from binder.envelope import passphrases

    if new.generate:
        made = passphrases.new_passphrase()
        show_new(made.value, f"new passphrase of {keyholder}, {made.bits:.0f} bits", new.to_fd)
        return made.value
    if new.passphrase_fd is not None:
        return line_from(new.passphrase_fd)
    tell(f"{passphrases.ADVICE} `--generate` makes one.")
    return asked_twice(f"new passphrase of {keyholder}")


def new_key_file(new: NewPassphrase) -> KeyFile | None:
    """The second factor of a new passphrase, made when it is not there."""
    from binder.envelope.keys import KeyFile

    if new.key_file is None:
        return None
    if new.key_file.exists():
        return KeyFile.read(new.key_file)
    made = KeyFile.make(new.key_file)
    tell(f"made the key file {new.key_file}; keep it away from the binder, and a copy of it")
    return made


# Reading. ---------------------------------------------------------------------------------


def asked_twice(what: str) -> SecretValue:
    """Typed twice at a prompt that shows nothing. Raises RequestError when the two differ."""
    first = asked(f"{what}: ")
    if asked(f"{what}, again: ") != first:
        raise RequestError("the two differ; nothing was changed")
    return first


def asked(prompt: str) -> SecretValue:
    """Typed at a prompt that shows nothing. Raises RequestError without a terminal."""
    """Typed at a prompt that shows nothing. Raises RequestError without a terminal, or a word."""
    typed = None
    with contextlib.suppress(getpass.GetPassWarning), warnings.catch_warnings():
        warnings.simplefilter("error", getpass.GetPassWarning)  # it could not hide the typing
        typed = SecretValue(getpass.getpass(prompt))
    if typed is None:
        raise RequestError(
            "there is no terminal to ask on; give --passphrase-fd, or another descriptor that "
            "--help tells of"
        )
    if not typed:
        raise RequestError("nothing was typed; nothing was changed")
    return typed


def line_from(number: int) -> SecretValue:
    """The next line of a descriptor, which is read no further: another may be asked of it."""
    return _text(_read(number, one_line=True), number)


def rest_from(number: int) -> SecretValue:
    """All that is left in a descriptor, but for one line end at the end."""
    return _text(_read(number, one_line=False), number)


class _Bytes:
    """Bytes that no traceback shows."""

    def __init__(self) -> None:
        self.held = bytearray()

    def text(self) -> SecretValue | None:
        """None when they are no UTF-8. (Python's own error would carry them along.)"""
        with contextlib.suppress(UnicodeDecodeError):
            return SecretValue(self.held.removesuffix(b"\n").removesuffix(b"\r").decode())
        return None


def _read(number: int, *, one_line: bool) -> _Bytes:
    read = _Bytes()
    try:
        while len(read.held) <= _MOST_BYTES and not (one_line and read.held.endswith(b"\n")):
            before = len(read.held)
            read.held += os.read(number, 1 if one_line else 65_536)
            if len(read.held) == before:
                break
    except OSError as error:
        raise FileError(f"descriptor {number}: cannot be read: {error.strerror}") from error
    return read


def _text(read: _Bytes, number: int) -> SecretValue:
    if len(read.held) > _MOST_BYTES:
        raise RequestError(f"descriptor {number}: more than {_MOST_BYTES // 1024} KiB")
    text = read.text()
    if text is None:
        raise RequestError(f"descriptor {number}: not UTF-8 text")
    if not text:
        raise RequestError(f"descriptor {number}: nothing to read there")
    return text
