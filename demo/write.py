"""Writes the demo: the invented client's binder and its handoff document, into a folder."""

from __future__ import annotations

from collections.abc import Callable
from datetime import date
from pathlib import Path

from binder.errors import FileError
from binder.file import SUFFIX, create
from binder.intake import json_form
from demo.build import client_data

NAME = "quillmere"


def write_demo(folder: Path, today: date, tell: Callable[[str], None]) -> Path:
    """Make the binder and the document in `folder`; gives the binder's path.

    A folder that holds a demo already is refused rather than overwritten. Raises FileError.
    """
    from exporters.export import export

    path = folder / f"{NAME}{SUFFIX}"
    try:
        folder.mkdir(parents=True, exist_ok=True)
    except OSError as error:
        raise FileError(f"{folder}: cannot be made: {error.strerror}") from error
    if path.exists():
        raise FileError(f"{path}: there is a demo here already; name another folder, or remove it")
    with create(path, "") as binder:
        counts = json_form.load(binder, client_data(today), "demo")
        tell(f"made {path}: {sum(counts.values())} records")
        for form in ("markdown", "html"):
            written = export(binder, "handoff", form=form, target=folder, today=today)
            tell(f"wrote {written[0]}" + (f" and {len(written) - 1} more" if written[1:] else ""))
    return path
