"""Writes the demo: the invented client's binder, its envelope filled, and its handoff document."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from datetime import date
from pathlib import Path

from binder.errors import FileError
from binder.file import SUFFIX, create
from demo.envelope import document_passphrase, fill_envelope, passphrases, seal_all
from demo.quarters import load_client

NAME = "quillmere"


@dataclass(frozen=True, slots=True)
class Demo:
    """What was written: the binder, and the handoff document to open in a browser, also sealed.

    `passphrases`: what opens the envelope, by keyholder, and `sealed_passphrase`, what opens the
    secrets in the sealed document; no secret, as the client is invented.
    """

    binder: Path
    handoff: Path
    sealed: Path
    passphrases: Mapping[str, str]
    sealed_passphrase: str


def write_demo(folder: Path, today: date, tell: Callable[[str], None]) -> Demo:
    """Make the binder and the handoff document, in Markdown and HTML, in `folder`.

    A folder that holds a demo already is refused rather than overwritten. Raises FileError.
    """
    from exporters.export import export

    path = folder / f"{NAME}{SUFFIX}"
    try:
        folder.mkdir(parents=True, exist_ok=True)
    except OSError as error:
        raise FileError(f"{folder}: cannot be made: {error.strerror}") from error
    if path.exists():
        raise FileError(
            f"{path}: there is a demo here already; `binder {path}` opens it, "
            "`binder demo FOLDER` makes another"
        )
    with create(path, "") as binder:
        count = load_client(binder, today)
        fill_envelope(binder, today)
        tell(f"made {path}: {count} records, and values for its secrets")
        pages = export(binder, "handoff", form="markdown", target=folder, today=today)
        tell(f"wrote {pages[0]} and {len(pages) - 1} more")
        page = export(binder, "handoff", form="html", target=folder, today=today)[0]
        tell(f"wrote {page}")
        sealing = seal_all(binder, today)
        sealed = export(
            binder, "handoff", form="html", target=folder, today=today, sealing=sealing
        )[0]
        sealing.envelope.seal()
        tell(f"wrote {sealed}, which carries the secrets too, sealed")
    return Demo(path, page, sealed, passphrases(), document_passphrase())
