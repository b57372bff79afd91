"""Writing a document: the one way from a binder to files of Markdown or HTML."""

from __future__ import annotations

import contextlib
import os
import re
import tempfile
from collections.abc import Callable, Mapping
from datetime import date
from pathlib import Path
from typing import Final

from binder.collector import collector_at_rest
from binder.errors import FileError, RequestError
from binder.file import BinderFile
from exporters.documents import document_kind
from exporters.model import Document
from exporters.sealing import Sealing, sealed
from exporters.source import gather


def render(
    binder: BinderFile,
    document: str,
    *,
    form: str,
    today: date,
    issue: int | None = None,
    sealing: Sealing | None = None,
) -> dict[str, str]:
    """The files of a document by their path under the target folder, the first to read first.

    One that carries secrets says for whom in its name, so that no other one replaces it.

    The same binder, issue and day give the same text, unless secrets are sealed into it; that is
    written down in the log of the envelope. Raises RequestError for a document or form that there
    is not, an issue below 1, or a passphrase that is no good.
    """
    kind = document_kind(document)
    if form not in _FORMS:
        raise RequestError(f"no form is called '{form}'; there are: {', '.join(_FORMS)}")
    if issue is not None and issue < 1:
        raise RequestError(f"issue {issue}: issues are numbered from 1")
    if sealing and form != "html":
        raise RequestError(f"{form} cannot carry sealed secrets; the form html can")
    release = f"issue {issue}" if issue else "draft"
    into = f"{document}, {release}"
    carried = sealed(binder, sealing, into=into, today=today) if sealing else None
    with collector_at_rest():
        source = gather(binder, today, internal=kind.internal, sealed=carried)
        built = kind.build(source, issue)
        client = source.client
        called = (client and (client["short_name"] or client.name)) or "client"
        stem = f"{_slug(called)}-{_slug(document)}-{_slug(built.release)}"
        if carried:
            stem += f"-sealed-for-{_slug(carried.recipient)}"
        return _FORMS[form](built, stem)


def export(
    binder: BinderFile,
    document: str,
    *,
    form: str,
    target: Path,
    today: date,
    issue: int | None = None,
    sealing: Sealing | None = None,
) -> tuple[Path, ...]:
    """Write a document under the folder `target`; gives the files, the first to read first.

    Each file appears whole or not at all, for its owner's eyes only; an earlier one of its name is
    replaced. Raises RequestError as `render` does, and FileError when the folder cannot be written.
    """
    texts = render(binder, document, form=form, today=today, issue=issue, sealing=sealing)
    written = []
    for name, text in texts.items():
        path = target / name
        try:
            path.parent.mkdir(parents=True, exist_ok=True)
            _replace(path, text)
        except OSError as error:
            raise FileError(f"{path}: cannot be written: {error.strerror}") from error
        written.append(path)
    return tuple(written)


def _replace(path: Path, text: str) -> None:
    """Write beside the file and put it in its place, so that nobody ever reads half a document."""
    handle, beside = tempfile.mkstemp(dir=path.parent, prefix=f".{path.name}.")
    try:
        with os.fdopen(handle, "w", encoding="utf-8", newline="\n") as file:
            file.write(text)
            file.flush()
            os.fsync(file.fileno())
        os.replace(beside, path)
    except BaseException:
        with contextlib.suppress(FileNotFoundError):
            os.unlink(beside)
        raise


def _markdown(document: Document, stem: str) -> dict[str, str]:
    from exporters import markdown

    return {f"{stem}/{name}": text for name, text in markdown.files(document).items()}


def _html(document: Document, stem: str) -> dict[str, str]:
    from exporters import html

    return {f"{stem}.html": html.page(document)}


_FORMS: Final[Mapping[str, Callable[[Document, str], dict[str, str]]]] = {
    "markdown": _markdown,
    "html": _html,
}


def _slug(text: str) -> str:
    """A file name of plain letters: safe on any disk, never a path."""
    return re.sub(r"[^a-z0-9]+", "-", text.casefold()).strip("-")[:60] or "client"
