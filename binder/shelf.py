"""The shelf: a folder of binders, and what is known of each without working in it."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path

from binder.call import open_call
from binder.errors import FileError
from binder.file import SUFFIX, open_binder
from binder.identifiers import natural_key
from binder.read import client
from binder.records.dates import format_moment


@dataclass(frozen=True, slots=True)
class Shelved:
    """A binder on a shelf. `problem` is one line, and empty when it opens; `open_call` is the call
    that whoever asks has open there."""

    name: str
    path: str
    client: str
    size_bytes: int
    changed: str  # the file's last change, YYYY-MM-DDTHH:MM:SSZ
    opens: bool
    problem: str
    open_call: str = ""


def shelf(folder: Path, who: str = "") -> tuple[Shelved, ...]:
    """The binders of a folder by name. A folder that is not there is an empty shelf.

    Raises FileError when the folder cannot be read, or is a file.
    """
    return tuple(shelved(path, who) for path in binders_in(folder))


def binders_in(folder: Path) -> tuple[Path, ...]:
    """The binder files of a folder in natural order of name. Raises FileError."""
    try:
        found = [path for path in folder.iterdir() if path.suffix == SUFFIX]
    except FileNotFoundError:
        return ()
    except OSError as error:
        raise FileError(f"{folder}: cannot be read: {error.strerror}") from error
    return tuple(sorted(found, key=lambda path: natural_key(path.stem)))


def shelved(path: Path, who: str = "") -> Shelved:
    """What is known of one binder, and whether `who` has a call open in it; never raises for one
    that does not open."""
    size_bytes, changed = 0, ""
    try:
        status = path.stat()
        size_bytes = status.st_size
        changed = format_moment(datetime.fromtimestamp(status.st_mtime, UTC))
        name, call = _client_and_call(path, who)
    except FileError as error:
        problem = str(error).removeprefix(f"{path}: ")
        return Shelved(path.stem, str(path), "", size_bytes, changed, False, problem)
    except OSError as error:
        problem = f"cannot be read: {error.strerror}"
        return Shelved(path.stem, str(path), "", size_bytes, changed, False, problem)
    return Shelved(path.stem, str(path), name, size_bytes, changed, True, "", call)


def _client_and_call(path: Path, who: str) -> tuple[str, str]:
    with open_binder(path, read_only=True, wait_s=0.5) as binder:
        sheet = client(binder)
        call = open_call(binder, who) if who else None
        return sheet.name if sheet else "", call.name if call else ""
