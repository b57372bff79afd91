"""The documents there are: what each is called, and what makes it. A new one is a line here."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import Final

from binder.errors import RequestError
from exporters.contents.handoff import handoff
from exporters.model import Document
from exporters.source import Source


@dataclass(frozen=True, slots=True)
class DocumentKind:
    """`build` makes it of a source and an issue; `internal` tells the technician's fields too."""

    name: str
    build: Callable[[Source, int | None], Document]
    internal: bool = False


DOCUMENTS: Final[Mapping[str, DocumentKind]] = {
    kind.name: kind for kind in (DocumentKind("handoff", handoff),)
}


def document_kind(name: str) -> DocumentKind:
    """The document of that name. Raises RequestError that lists the names there are."""
    try:
        return DOCUMENTS[name]
    except KeyError:
        raise RequestError(
            f"no document is called '{name}'; there are: {', '.join(DOCUMENTS)}"
        ) from None
