"""The documents there are: what each is called, and what makes it. A new one is a line here.

Nothing of what makes them is imported before one is made: the command line names them all.
"""

from __future__ import annotations

from collections.abc import Callable, Collection, Mapping
from dataclasses import dataclass, fields
from pkgutil import resolve_name
from typing import TYPE_CHECKING, Final, cast

from binder.errors import RequestError

if TYPE_CHECKING:
    from binder.trouble import Trouble
    from exporters.model import Document
    from exporters.source import Source

DRAFT: Final = "DRAFT"


@dataclass(frozen=True, slots=True)
class Options:
    """What narrows a document: the trade of a punch list, the rack of a door sheet, the kinds or
    places whose labels are wanted; and on what labels are printed, from which one of the sheet.
    `with_attachments` is a word of `binder.attachments.SHOWN`: which photos go in."""

    trade: str = ""
    rack: str = ""
    only: str = ""
    stock: str = ""
    start: int = 1
    with_attachments: str = ""

    def said(self) -> dict[str, str]:
        """Those that were given, by name."""
        values = ((field, getattr(self, field.name)) for field in fields(self))
        return {field.name: str(value) for field, value in values if value != field.default}

    @property
    def narrowing(self) -> tuple[str, ...]:
        """Those that leave something out, so that the file's name must tell."""
        return tuple(filter(None, (self.trade, self.rack, self.only)))


@dataclass(frozen=True, slots=True)
class Asked:
    """What a document is made of: the binder as read, the issue (None: a draft), how narrowed.

    `photos` are those that go in, by the SHA-256 of each. `trouble` gives the trouble page of a
    record, for documents that the technician reads;
    `revised` when each record was last changed, by its id.
    """

    source: Source
    document: str
    issue: int | None
    options: Options
    trouble: Callable[[int], Trouble]
    photos: Mapping[str, bytes]
    binder_id: str
    revised: Callable[[], Mapping[int, str]]

    @property
    def release(self) -> str:
        return DRAFT if self.issue is None else f"Issue {self.issue}"

    @property
    def dated(self) -> str:
        """The day an issue is recorded with, or today while it is being made."""
        for issue in self.source.of("issue"):
            if issue["document"] == self.document and issue["number"] == self.issue:
                return str(issue["issued_on"])
        return self.source.today.isoformat()


@dataclass(frozen=True, slots=True)
class DocumentKind:
    """`contents` names the module and function of `exporters.contents` that makes it.

    `internal` tells the technician's fields too; `options` are those of `Options` it takes. What is
    no pages of text but a sheet of labels or a table has `forms` of its own, the usual one first,
    and `files` names the module and function of `exporters` that makes its files in one of them.
    """

    name: str
    contents: str = ""
    internal: bool = False
    options: frozenset[str] = frozenset()
    forms: tuple[str, ...] = ()
    files: str = ""

    @property
    def usual_form(self) -> str:
        return self.forms[0] if self.forms else "html"

    def build(self, asked: Asked) -> Document:
        made = cast(
            "Callable[[Asked], Document]", resolve_name(f"exporters.contents.{self.contents}")
        )
        return made(asked)

    def build_files(self, asked: Asked, form: str, stem: str) -> dict[str, str | bytes]:
        """The files of what has forms of its own, by path; `stem` begins their names."""
        made = cast(
            "Callable[[Asked, str, str], dict[str, str | bytes]]",
            resolve_name(f"exporters.{self.files}"),
        )
        return made(asked, form, stem)

    def require_form(self, form: str, pages: Collection[str]) -> None:
        """Raises RequestError for a form it is not made in; `pages` are those of text."""
        forms = self.forms or tuple(pages)
        if form not in forms:
            raise RequestError(
                f"no form of the {self.name} is called '{form}'; there are: {', '.join(forms)}"
            )

    def require_takes(self, options: Options) -> None:
        """Raises RequestError for an option that this document does not take."""
        for name in options.said():
            if name not in self.options:
                takers = [kind.name for kind in DOCUMENTS.values() if name in kind.options]
                option = name.replace("_", "-")
                raise RequestError(
                    f"the {self.name} takes no --{option}; leave it out (it is for the "
                    f"{' and the '.join(takers)})"
                )


DOCUMENTS: Final[Mapping[str, DocumentKind]] = {
    kind.name: kind
    for kind in (
        DocumentKind("handoff", "handoff:handoff", options=frozenset({"with_attachments"})),
        DocumentKind("support", "support:support", internal=True),
        DocumentKind("review", "review:review"),
        DocumentKind("door sheet", "door_sheet:door_sheet", options=frozenset({"rack"})),
        DocumentKind("punch list", "punch_list:punch_list", options=frozenset({"trade"})),
        DocumentKind(
            "labels",
            files="labels_sheet:files",
            forms=("html", "csv"),
            options=frozenset({"only", "stock", "start"}),
        ),
        DocumentKind("calendar", files="calendar:files", forms=("ics",)),
        DocumentKind("schedules", files="schedules:files", forms=("csv",)),
    )
}


def document_kind(name: str) -> DocumentKind:
    """The document of that name. Raises RequestError that lists the names there are."""
    try:
        return DOCUMENTS[name]
    except KeyError:
        raise RequestError(
            f"no document is called '{name}'; there are: {', '.join(DOCUMENTS)}"
        ) from None
