"""The person's own editor for a long text: VISUAL or EDITOR, on a file for their eyes only."""

from __future__ import annotations

import os
import shlex
import shutil
import subprocess
import tempfile
from collections.abc import Mapping
from pathlib import Path
from typing import TYPE_CHECKING

from binder.attachments import safe_name
from binder.errors import RequestError

if TYPE_CHECKING:
    from tui.app.binder_app import BinderApp


def editor_command(environment: Mapping[str, str] = os.environ) -> list[str]:
    """The words that start the editor. Raises RequestError when there is none to start."""
    said = environment.get("VISUAL") or environment.get("EDITOR") or ""
    try:
        words = shlex.split(said)
    except ValueError as error:
        raise RequestError(f"EDITOR is '{said}' and cannot be read: {error}") from error
    if not words:
        raise RequestError("no editor is set; set VISUAL or EDITOR, or type here")
    if shutil.which(words[0]) is None:
        raise RequestError(f"the editor '{words[0]}' is not installed; type here, or set EDITOR")
    return words


def edited_outside(app: BinderApp, label: str, text: str) -> str:
    """The text as it comes back from the person's editor; the app stands aside meanwhile.

    Raises RequestError when doors are shut, there is no editor, or it ends with an error: then the
    text is as it was.
    """
    if not app.doors_open:
        raise RequestError("no program of the host is started in this session; type here")
    words = editor_command()
    with tempfile.TemporaryDirectory(prefix="binder-") as folder:  # mode 0700
        path = Path(folder) / f"{safe_name(label)}.md"
        path.write_text(text, encoding="utf-8")
        path.chmod(0o600)
        with app.suspend():
            try:
                status = subprocess.run([*words, str(path)], check=False).returncode
            except OSError as error:
                raise RequestError(f"'{words[0]}' does not start: {error.strerror}") from error
        if status:
            raise RequestError(f"'{words[0]}' ended with status {status}; the text is as it was")
        try:
            return path.read_text(encoding="utf-8").removesuffix("\n")
        except (OSError, UnicodeDecodeError) as error:
            raise RequestError("what the editor wrote is no text; it is as it was") from error
