"""The look that a house of integrators gives its documents: templates, a logo, a style of its own.

They lie in one folder: `templates/` with any of the templates of this program under the same name
(what it replaces stands under `binder/`, to extend or include), `logo.svg` or `logo.png`, and
`house.css`. What could run or load anything is refused, so that a document stays closed to the
outside. The digest of an issue depends on this folder as on the program's own templates.
"""

from __future__ import annotations

import base64
import contextlib
import io
import re
import traceback
from collections.abc import Container, Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Final
from xml.etree import ElementTree

from binder.errors import FileError, RequestError

if TYPE_CHECKING:
    from jinja2 import Environment

LOGOS: Final = ("logo.svg", "logo.png")
STYLE: Final = "house.css"
_MOST_BYTES: Final = 512 * 1024  # of a logo: it stands in every page
_LOADS: Final = re.compile(r"@import|url\(\s*['\"]?(?!#|data:image/|['\"]?#)", re.IGNORECASE)
_RUNS: Final = frozenset(
    {"script", "foreignobject", "iframe", "object", "embed", "audio", "video", "handler",
     "listener", "animate", "set", "animatetransform", "animatemotion"}
)  # fmt: skip


@dataclass(frozen=True, slots=True)
class House:
    """`templates` by name, `logo` as a data: address, `style` as CSS; each may be empty."""

    templates: tuple[tuple[str, str], ...] = ()
    logo: str = ""
    style: str = ""


NO_HOUSE: Final = House()


@dataclass(frozen=True, slots=True)
class Look:
    """Whose look a document has, and the paper of a PDF: 'a4', 'letter', or '' as usual there."""

    house: House = NO_HOUSE
    paper: str = ""


def read_house(folder: Path) -> House:
    """The look in a folder.

    Raises FileError when it cannot be read, RequestError for what must not stand in a document.
    """
    if not folder.is_dir():
        raise FileError(f"{folder}: no such folder; it is to hold templates/, a logo, {STYLE}")
    try:
        house = House(tuple(_templates(folder / "templates")), _logo(folder), _style(folder))
    except OSError as error:
        raise FileError(f"{error.filename}: cannot be read: {error.strerror}") from error
    if house == NO_HOUSE:
        raise RequestError(f"{folder}: holds no templates/*.j2, {', '.join(LOGOS)} or {STYLE}")
    return house


def _text(path: Path) -> str:
    try:
        return path.read_text(encoding="utf-8")
    except UnicodeDecodeError as error:
        raise RequestError(f"{path}: is not UTF-8 text ({error.reason})") from error


def _templates(folder: Path) -> Iterator[tuple[str, str]]:
    for path in sorted(folder.rglob("*.j2")):
        yield path.relative_to(folder).as_posix(), _text(path)


def _style(folder: Path) -> str:
    path = folder / STYLE
    if not path.exists():
        return ""
    text = _text(path)
    if "</" in text:
        raise RequestError(f"{path}: holds '</', which would end the style; write it as '<\\/'")
    if found := _LOADS.search(text):
        line = text.count("\n", 0, found.start()) + 1
        raise RequestError(f"{path}, line {line}: a document loads nothing; take out '{found[0]}'")
    return text


def _logo(folder: Path) -> str:
    """The logo as an address that holds it whole. The SVG comes before the PNG."""
    for path in (folder / name for name in LOGOS):
        if not path.exists():
            continue
        data = path.read_bytes()
        if len(data) > _MOST_BYTES:
            raise RequestError(
                f"{path}: has {len(data) // 1024} KiB, and every document carries it; at most "
                f"{_MOST_BYTES // 1024}"
            )
        (_require_still if path.suffix == ".svg" else _require_png)(path, data)
        form = "svg+xml" if path.suffix == ".svg" else "png"
        return f"data:image/{form};base64,{base64.b64encode(data).decode()}"
    return ""


def _require_png(path: Path, data: bytes) -> None:
    """Raises RequestError unless it is a whole PNG."""
    from PIL import Image

    try:
        with Image.open(io.BytesIO(data), formats=["PNG"]) as image:
            image.verify()
    except (OSError, SyntaxError, ValueError, Image.DecompressionBombError) as error:
        raise RequestError(f"{path}: is not a PNG that can be read; save it anew") from error


def _require_still(path: Path, data: bytes) -> None:
    """Raises RequestError for an SVG that could run or load anything."""
    refused = f"{path}: holds %s; a logo is a still drawing that needs nothing else"
    if found := re.search(rb"<!DOCTYPE|<!ENTITY|<\?xml-stylesheet", data, re.IGNORECASE):
        raise RequestError(refused % f"'{found[0].decode()}'")
    try:
        root = ElementTree.fromstring(data)
    except ElementTree.ParseError as error:
        raise RequestError(f"{path}: is not SVG that can be read ({error})") from error
    if root.tag != "{http://www.w3.org/2000/svg}svg":
        raise RequestError(f"{path}: is not SVG: its element is '{root.tag}'")
    for element in root.iter():
        tag = str(element.tag).rpartition("}")[2]
        if tag.lower() in _RUNS:
            raise RequestError(refused % f"<{tag}>")
        if tag == "style" and (found_text := _LOADS.search(element.text or "")):
            raise RequestError(refused % f"'{found_text[0]}'")
        for name, value in element.attrib.items():
            attribute = name.rpartition("}")[2]
            if _acts(attribute.lower(), value):
                raise RequestError(refused % f"{attribute}='{value[:40]}'")


def _acts(attribute: str, value: str) -> bool:
    """Whether an attribute could run something or refer to another file."""
    if attribute.startswith("on"):
        return True
    if attribute in ("href", "src", "base"):
        return not value.strip().startswith(("#", "data:image/"))
    return bool(_LOADS.search(value))


# Templates. -------------------------------------------------------------------------------


def environment(house: House, *, autoescape: bool) -> Environment:
    """Jinja2 over the house's templates, then the program's, which stand under `binder/` too.

    The house's run in Jinja2's sandbox: a folder that several people share is not a place to
    trust with more than text.
    """
    from jinja2 import ChoiceLoader, FunctionLoader, PackageLoader, PrefixLoader, StrictUndefined
    from jinja2 import Environment as Plain
    from jinja2.sandbox import ImmutableSandboxedEnvironment as Sandbox

    templates = dict(house.templates)

    def of_house(name: str) -> tuple[str, str, None] | None:
        return (templates[name], _file_name(name), None) if name in templates else None

    own = PackageLoader("exporters")
    make = Sandbox if templates else Plain
    return make(
        loader=ChoiceLoader([FunctionLoader(of_house), own, PrefixLoader({"binder": own})]),
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
        keep_trailing_newline=not autoescape,
        autoescape=autoescape,
    )


def _file_name(template: str) -> str:
    return f"templates/{template} of the house"


@contextlib.contextmanager
def faults_told(house: House) -> Iterator[None]:
    """Raises RequestError, with the line, for what fails in a template of the house.

    A template may fail in any way that Python can; what fails elsewhere is let through.
    """
    try:
        yield
    except Exception as error:
        if where := _place(error, {_file_name(name) for name, _ in house.templates}):
            said = " ".join(str(error).split()) or type(error).__name__
            raise RequestError(f"{where}: {said}; mend it or take it out") from error
        raise


def _place(error: Exception, files: Container[str]) -> str:
    """The file of the house and the line that an error comes from; '' when from none."""
    if getattr(error, "filename", None) in files:  # a template that does not parse
        return f"{error.filename}, line {error.lineno}"  # type: ignore[attr-defined]
    where = ""
    for frame, line in traceback.walk_tb(error.__traceback__):
        if frame.f_code.co_filename in files:
            where = f"{frame.f_code.co_filename}, line {line}"
    return where
