"""Writing a document: the one way from a binder to files of Markdown, HTML or PDF."""

from __future__ import annotations

import contextlib
import os
import re
import tempfile
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from functools import partial
from pathlib import Path
from typing import Final

from binder.as_of import as_of
from binder.attachments import photos_shown
from binder.collector import collector_at_rest
from binder.edit import Editor
from binder.errors import BinderError, FileError, RequestError
from binder.file import BinderFile
from binder.history import revised_at
from binder.issues import Issue, Recipient, digest_of, issue_of, record_digest, record_issue
from binder.read import binder_id
from binder.trouble import trouble
from exporters.documents import Asked, DocumentKind, Options, document_kind
from exporters.house import Look
from exporters.model import Document
from exporters.sealing import Sealed, Sealing, sealed
from exporters.source import gather

_WHOLE: Final = Options()
_PLAIN: Final = Look()


@dataclass(frozen=True, slots=True)
class Released:
    """An issue as it was written: the files, the first to read first, and their digest."""

    issue: Issue
    files: tuple[Path, ...]
    sha256: str


def render(
    binder: BinderFile,
    document: str,
    *,
    form: str,
    today: date,
    issue: int | None = None,
    sealing: Sealing | None = None,
    options: Options = _WHOLE,
    look: Look = _PLAIN,
) -> dict[str, str | bytes]:
    """The files of a document by their path under the target folder, the first to read first.

    Without `issue` it is a draft of that day. An issue of the register is made of the binder as it
    stood when it was released, and bears the date it has there: today it gives the same bytes as
    then, unless secrets are sealed into it. One that carries secrets says for whom in its name, so
    that no other one replaces it; that is written down in the log of the envelope.

    Raises RequestError for a document, form or issue that there is not, an option that the document
    does not take, or a passphrase that is no good.
    """
    kind = document_kind(document)
    kind.require_takes(options)
    kind.require_form(form, _FORMS)
    if sealing and (kind.files or form != "html"):
        raise RequestError(f"{form} cannot carry sealed secrets; the form html can")
    if issue is not None and issue < 1:
        raise RequestError(f"issue {issue}: issues are numbered from 1")
    release = f"issue {issue}" if issue else "draft"
    into = f"{document}, {release}"
    carried = sealed(binder, sealing, into=into, today=today) if sealing else None
    if issue is None:
        return _rendered(binder, kind, form, today, None, carried, options, look)
    released = issue_of(binder, document, issue)
    if released.change_position is None:
        raise RequestError(
            f"issue {issue} of the {document} was only written down here: its place in the change "
            "log is not known, so that it cannot be made again"
        )
    with as_of(binder, released.change_position) as stood:
        on = date.fromisoformat(released.issued_on)
        return _rendered(stood, kind, form, on, issue, carried, options, look)


def _rendered(
    binder: BinderFile,
    kind: DocumentKind,
    form: str,
    today: date,
    issue: int | None,
    carried: Sealed | None,
    options: Options,
    look: Look,
) -> dict[str, str | bytes]:
    with collector_at_rest(), binder.reading():
        source = gather(
            binder, today, internal=kind.internal, sealed=carried, document=kind.name, issue=issue
        )
        pages = partial(trouble, binder, today=today)
        revised = partial(revised_at, binder)
        shown = "with_attachments" in kind.options
        photos = photos_shown(binder, options.with_attachments or "fitting") if shown else {}
        asked = Asked(source, kind.name, issue, options, pages, photos, binder_id(binder), revised)
        client = source.client
        called = (client and (client["short_name"] or client.name)) or "client"
        narrowed = " ".join((kind.name, *options.narrowing))
        stem = f"{_slug(called)}-{_slug(narrowed)}-{_slug(asked.release)}"
        if carried:
            stem += f"-sealed-for-{_slug(carried.recipient)}"
        if kind.files:
            return kind.build_files(asked, form, stem)
        paper = look.paper or ("letter" if source.system == "us" else "a4")
        return _FORMS[form](kind.build(asked), stem, Look(look.house, paper))


def export(
    binder: BinderFile,
    document: str,
    *,
    form: str,
    target: Path,
    today: date,
    issue: int | None = None,
    sealing: Sealing | None = None,
    options: Options = _WHOLE,
    look: Look = _PLAIN,
) -> tuple[Path, ...]:
    """Write a document under the folder `target`; gives the files, the first to read first.

    Each file appears whole or not at all, for its owner's eyes only; an earlier one of its name is
    replaced. Raises RequestError as `render` does, and FileError when the folder cannot be written.
    """
    made = render(
        binder, document, form=form, today=today, issue=issue, sealing=sealing, options=options,
        look=look,
    )  # fmt: skip
    return _written(made, target)


def release(
    editor: Editor,
    document: str,
    *,
    form: str,
    target: Path,
    today: date,
    issued_to: str,
    reason: str = "",
    recipients: Sequence[Recipient] = (),
    sealing: Sealing | None = None,
    options: Options = _WHOLE,
    look: Look = _PLAIN,
) -> Released:
    """Write the next issue of a document, and write it into the register with its digest.

    Raises as `export` does; what cannot be written is taken out of the register again.
    """
    document_kind(document).require_takes(options)
    _require_folder(target)
    issue = record_issue(
        editor, document, issued_on=today, issued_to=issued_to, reason=reason,
        recipients=recipients,
    )  # fmt: skip
    try:
        made = render(
            editor.binder, document, form=form, today=today, issue=issue.number, sealing=sealing,
            options=options, look=look,
        )  # fmt: skip
        files = _written(made, target)
    except BinderError:
        with editor.step(f"{document} {issue.number} could not be written") as step:
            step.remove(issue.id, with_dependents=True)
        raise
    data = {Path(name).name: _bytes(held) for name, held in made.items()}
    digest = record_digest(editor, issue, data)
    return Released(issue, files, digest)


def is_as_released(binder: BinderFile, document: str, issue: int, made: Iterable[Path]) -> bool:
    """Whether files that were made again have the digest of their issue. Raises FileError."""
    try:
        data = {path.name: path.read_bytes() for path in made}
    except OSError as error:
        raise FileError(f"{error.filename}: cannot be read: {error.strerror}") from error
    return digest_of(data) == issue_of(binder, document, issue).sha256


def _bytes(data: str | bytes) -> bytes:
    return data.encode() if isinstance(data, str) else data


def _require_folder(target: Path) -> None:
    """Raises FileError when nothing can be written there, before anything is written down."""
    try:
        target.mkdir(parents=True, exist_ok=True)
        with tempfile.NamedTemporaryFile(dir=target, prefix=".issue."):
            pass
    except OSError as error:
        raise FileError(f"{target}: cannot be written: {error.strerror}") from error


def _written(made: Mapping[str, str | bytes], target: Path) -> tuple[Path, ...]:
    written = []
    for name, data in made.items():
        path = target / name
        try:
            path.parent.mkdir(parents=True, exist_ok=True)
            _replace(path, _bytes(data))
        except OSError as error:
            raise FileError(f"{path}: cannot be written: {error.strerror}") from error
        written.append(path)
    return tuple(written)


def _replace(path: Path, data: bytes) -> None:
    """Write beside the file and put it in its place, so that nobody ever reads half a document."""
    handle, beside = tempfile.mkstemp(dir=path.parent, prefix=f".{path.name}.")
    try:
        with os.fdopen(handle, "wb") as file:
            file.write(data)
            file.flush()
            os.fsync(file.fileno())
        os.replace(beside, path)
    except BaseException:
        with contextlib.suppress(FileNotFoundError):
            os.unlink(beside)
        raise


def _markdown(document: Document, stem: str, look: Look) -> dict[str, str | bytes]:
    from exporters import markdown

    made = markdown.files(document, look.house)
    photos = {f"{stem}/{path}": photo.data for path, photo in document.photos().items()}
    return {f"{stem}/{name}": text for name, text in made.items()} | photos


def _html(document: Document, stem: str, look: Look) -> dict[str, str | bytes]:
    from exporters import html

    return {f"{stem}.html": html.page(document, look.house)}


def _pdf(document: Document, stem: str, look: Look) -> dict[str, str | bytes]:
    from exporters import html, pdf

    return {f"{stem}.pdf": pdf.pdf(html.page(document, look.house), look.paper)}


_FORMS: Final[Mapping[str, Callable[[Document, str, Look], dict[str, str | bytes]]]] = {
    "markdown": _markdown,
    "html": _html,
    "pdf": _pdf,
}


def _slug(text: str) -> str:
    """A file name of plain letters: safe on any disk, never a path."""
    return re.sub(r"[^a-z0-9]+", "-", text.casefold()).strip("-")[:60] or "client"
