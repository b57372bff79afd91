"""What was typed and not saved yet, kept beside the person's other state, not in the binder.

A line that drops in the middle of a form loses nothing: the next start offers it again. It is kept
under the binder's id and the name of who typed it, so that technicians who share an account do not
meet each other's. Secrets never enter it.
"""

from __future__ import annotations

import contextlib
import hashlib
import json
import os
import tempfile
from collections.abc import Mapping
from dataclasses import asdict, dataclass
from pathlib import Path
from typing import Any, Final

_SUFFIX: Final = ".unsaved"


@dataclass(frozen=True, slots=True)
class Unsaved:
    """`what` says what kind of typing it is ('form', 'note'), one of a kind for a person in a
    binder and `title`; `at` is when, as a stored moment; `data` whatever JSON can hold."""

    binder_id: str
    who: str
    what: str
    title: str
    at: str
    data: Mapping[str, Any]


def state_folder() -> Path:
    """Where programs keep state of a person (XDG Base Directory Specification 0.8)."""
    base = os.environ.get("XDG_STATE_HOME") or Path.home() / ".local" / "state"
    return Path(base) / "binder"


def keep(unsaved: Unsaved) -> None:
    """Keep it in place of what was kept before under its title. Raises OSError."""
    folder = _folder(unsaved.binder_id, unsaved.who)
    folder.mkdir(parents=True, exist_ok=True, mode=0o700)
    path = folder / _name(unsaved)
    handle, beside = tempfile.mkstemp(dir=folder, prefix=f".{path.name}.")  # mode 0600
    try:
        with os.fdopen(handle, "w", encoding="utf-8") as file:
            json.dump(asdict(unsaved), file)
        os.replace(beside, path)
    except BaseException:
        with contextlib.suppress(FileNotFoundError):
            os.unlink(beside)
        raise


def kept(binder_id: str, who: str) -> tuple[Unsaved, ...]:
    """What this person has typed in this binder and not saved, the latest first.

    A file that cannot be read is set aside under another name, and passed over.
    """
    found = []
    folder = _folder(binder_id, who)
    for path in folder.glob(f"*{_SUFFIX}") if folder.is_dir() else ():
        try:
            found.append(Unsaved(**json.loads(path.read_text(encoding="utf-8"))))
        except (ValueError, TypeError):
            path.rename(path.with_suffix(".damaged"))
    return tuple(sorted(found, key=lambda one: one.at, reverse=True))


def drop(unsaved: Unsaved) -> None:
    """It was saved, or is not wanted any more.

    Where the folder is out of reach nothing was kept, and `keep` has said so.
    """
    with contextlib.suppress(FileNotFoundError, NotADirectoryError, PermissionError):
        _path(unsaved).unlink()


def _folder(binder_id: str, who: str) -> Path:
    return state_folder() / "unsaved" / binder_id / _digest(who)


def _path(unsaved: Unsaved) -> Path:
    return _folder(unsaved.binder_id, unsaved.who) / _name(unsaved)


def _name(unsaved: Unsaved) -> str:
    return f"{_digest(unsaved.what + chr(0) + unsaved.title)}{_SUFFIX}"


def _digest(text: str) -> str:
    """A file name for any text: it may hold what no file name may."""
    return hashlib.sha256(text.encode(errors="replace")).hexdigest()[:24]
