"""What a document is made of, before it is Markdown or HTML.

A document is a cover and sections; a section is blocks, some gathered into parts under a heading
of their own. Every text in here is as it was typed: the templates escape it on its way out.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import ClassVar, Protocol

from exporters.documents import DRAFT
from exporters.sealing import Sealed


@dataclass(frozen=True, slots=True)
class Link:
    """A text that leads to an address. Made by our own code only, of fields checked as such."""

    text: str
    address: str


Cell = str | Link


class Drawable(Protocol):
    """A drawing that is text in Markdown and, where it has one, a picture in HTML."""

    form: ClassVar[str]

    def text(self) -> str:
        """The drawing in lines of equal width, for a fixed-width page."""

    def svg(self, key: str) -> str:
        """The same as an SVG element, with ids that begin with `key`; empty if it has none."""


@dataclass(frozen=True, slots=True)
class Paragraph:
    form: ClassVar[str] = "paragraph"
    text: str


@dataclass(frozen=True, slots=True)
class Caution:
    """What can hurt someone, and what to do about it."""

    form: ClassVar[str] = "caution"
    hazard: str
    text: str


@dataclass(frozen=True, slots=True)
class Notes:
    """What people wrote about `subject`, in their own lines."""

    form: ClassVar[str] = "notes"
    subject: str
    text: str


@dataclass(frozen=True, slots=True)
class Facts:
    """Labels and what is known under each; a text may have several lines."""

    form: ClassVar[str] = "facts"
    rows: tuple[tuple[str, Cell], ...]


@dataclass(frozen=True, slots=True)
class Table:
    form: ClassVar[str] = "table"
    head: tuple[str, ...]
    rows: tuple[tuple[Cell, ...], ...]


@dataclass(frozen=True, slots=True)
class Steps:
    """What is done one after the other, numbered."""

    form: ClassVar[str] = "steps"
    texts: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Drawing:
    """`key` names the drawing within its document: lower-case letters, digits and hyphens."""

    form: ClassVar[str] = "drawing"
    key: str
    of: Drawable


@dataclass(frozen=True, slots=True)
class SignatureLines:
    """Lines to be signed on paper, each in the name of a party."""

    form: ClassVar[str] = "signatures"
    parties: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class SealedSecrets:
    """Where the secrets that the document carries sealed are opened, in HTML."""

    form: ClassVar[str] = "sealed"


@dataclass(frozen=True, slots=True)
class Photo:
    """A photo of the binder; `path` is its file's within the Markdown folder."""

    form: ClassVar[str] = "photo"
    path: str
    title: str
    media_type: str
    data: bytes


Block = (
    Paragraph
    | Caution
    | Notes
    | Facts
    | Table
    | Steps
    | Drawing
    | Photo
    | SignatureLines
    | SealedSecrets
)


@dataclass(frozen=True, slots=True)
class Part:
    """Blocks under a heading within a section: a rack, a panel, a circuit's card."""

    form: ClassVar[str] = "part"
    title: str
    blocks: tuple[Block, ...]


@dataclass(frozen=True, slots=True)
class Section:
    """`name` is its file name and its anchor: lower-case letters and hyphens."""

    name: str
    title: str
    blocks: tuple[Block | Part, ...] = ()


@dataclass(frozen=True, slots=True)
class Document:
    """`name` is the document's word ('handoff'), `release` 'DRAFT' or 'Issue 3'.

    `sealed` is what it carries of secrets, if it does.
    """

    name: str
    title: str
    client: str
    release: str
    dated: str
    cover: tuple[Block | Part, ...]
    sections: tuple[Section, ...]
    sealed: Sealed | None = None

    @property
    def slug(self) -> str:
        """Its name as a file's: the folder of its templates, its own style."""
        return self.name.replace(" ", "-")

    @property
    def is_draft(self) -> bool:
        return self.release == DRAFT

    def drawings(self) -> dict[str, Drawable]:
        """Every drawing of the document by its key."""
        return {block.key: block.of for block in self._blocks() if isinstance(block, Drawing)}

    def photos(self) -> dict[str, Photo]:
        """Every photo of the document by its path."""
        return {block.path: block for block in self._blocks() if isinstance(block, Photo)}

    def _blocks(self) -> Iterator[Block]:
        for section in self.sections:
            for block in section.blocks:
                yield from block.blocks if isinstance(block, Part) else (block,)


NOTHING = Paragraph("Nothing recorded.")
