"""Labels as files: sheets that print at true size on common stock, or CSV for a label printer."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from functools import cache, lru_cache
from importlib.resources import files as package_files
from textwrap import wrap
from typing import TYPE_CHECKING, Final

from binder.errors import RequestError
from binder.text import visible
from exporters.documents import Asked
from exporters.html import source_hash
from exporters.label_stock import COMMON, USUAL, Place, Stock, stock_of
from exporters.labels import DO_NOT_DISCONNECT, HEADER, Label, labels, rows
from exporters.spreadsheet import csv_text

if TYPE_CHECKING:
    from jinja2 import Template
    from markupsafe import Markup

_QUIET: Final = 4  # modules of white around a QR code (ISO/IEC 18004)
# Common practice, no published source: what a telephone's camera and an eye at arm's length read.
_LEAST_MODULE_MM: Final = 0.25
_LEAST_TEXT_MM: Final = 1.5
_GOOD_TEXT_MM: Final = 2.0
_MOST_TEXT_MM: Final = 5.0
_HEAD: Final = 1.6  # how much larger the identifier may be than the rest
_MOST_CODE_MM: Final = 22.0
_REPEATED_MM: Final = 11.0  # of a label's height for each time its text stands on it
_LINE: Final = 1.15  # height of a line, as in labels.css
# Widths of the widest common sans, DejaVu Sans: of a figure and of a capital, bold and plain.
_BOLD: Final = (0.7, 0.86)
_PLAIN: Final = (0.64, 0.79)
_NARROW: Final = frozenset("IJ.,:;-/|()' ")
_WIDE: Final = frozenset("MW@%")


@dataclass(frozen=True, slots=True)
class Laid:
    """A label on its place. Sizes of its text are in tenths of a millimetre."""

    place: Place
    head: str
    body: tuple[str, ...]
    code: Markup | str
    head_size: int
    body_size: int
    repeats: int
    warns: bool

    @property
    def least_mm(self) -> float:
        return min(self.head_size, self.body_size if self.body else self.head_size) / 10


def files(asked: Asked, form: str, stem: str) -> dict[str, str | bytes]:
    """The labels as one file. Raises RequestError when none is wanted, or they cannot be laid."""
    options, source = asked.options, asked.source
    found = labels(source, options.only)
    if not found:
        raise RequestError(
            "there is nothing to label" + (f" at '{options.only}'" if options.only else "")
        )
    if form == "csv":
        if options.stock or options.start != 1:
            raise RequestError("CSV has no sheet: leave out --stock and --start")
        return {f"{stem}.csv": csv_text(HEADER, rows(found), for_spreadsheet=False)}
    stock = stock_of(options.stock) if options.stock else COMMON[USUAL[source.system]]
    title = visible(f"{source.name(source.client) or 'Client'}: labels, {asked.release}")
    return {f"{stem}.html": page(stock, found, title=title, start=options.start)}


def page(stock: Stock, found: Sequence[Label], *, title: str, start: int = 1) -> str:
    """Sheets of these labels as one HTML text, from label `start` of the first sheet on."""
    every = [label for label in found for _ in range(label.copies)]
    laid = [
        _laid(stock, label, place)
        for label, place in zip(every, stock.places(len(every), start), strict=True)
    ]
    sheets: list[list[Laid]] = [[] for _ in range(laid[-1].place.sheet + 1)] if laid else []
    for each in laid:
        sheets[each.place.sheet].append(each)
    style = _asset() + _style(stock, laid)
    policy = (
        f"default-src 'none'; style-src {source_hash(style)}; base-uri 'none'; form-action 'none'"
    )
    from markupsafe import Markup

    return _template().render(
        title=title, policy=policy, style=Markup(style), sheets=sheets,
        summary=f"{_told(len(every), 'label')} on {_told(len(sheets), 'sheet')} of "
        f"{stock.columns} x {stock.rows} labels of {stock.label_width:g} x "
        f"{stock.label_height:g} mm, from label {start} on.",
        remarks=list(_remarks(laid)),
    )  # fmt: skip


def _told(number: int, what: str) -> str:
    return f"{number} {what}{'s' * (number != 1)}"


def _remarks(laid: Sequence[Laid]) -> Iterator[str]:
    bare = sum(not each.code for each in laid)
    small = sum(each.least_mm < _LEAST_TEXT_MM for each in laid)
    if bare:
        yield f"{_told(bare, 'label')} without a QR code: this stock is too small for it."
    if small:
        yield (
            f"{_told(small, 'label')} with text under {_LEAST_TEXT_MM:g} mm: take larger stock, "
            "or shorten the identifiers."
        )


# Measures. --------------------------------------------------------------------------------


def _laid(stock: Stock, label: Label, place: Place) -> Laid:
    code = _code(label.code, _code_mm(stock))
    width = stock.label_width - 2 * _pad_mm(stock) - (_code_mm(stock) if code else 0)
    height = stock.label_height - 2 * _pad_mm(stock)
    head, *body = label.lines
    repeats = max(1, min(3, int(stock.label_height // _REPEATED_MM))) if label.wraps else 1
    ways = [
        (times, rest, *_fitted(head, rest, width, height / times))
        for rest in (body, _halved(body))
        for times in range(repeats, 0, -1)
    ]
    good = (way for way in ways if way[3] >= _GOOD_TEXT_MM)
    times, rest, head_mm, body_mm = next(good, None) or max(ways, key=lambda way: way[3])
    sizes = max(1, int(head_mm * 10)), max(1, int(body_mm * 10))
    return Laid(place, head, tuple(rest), code, *sizes, times, _warns(label))


def _fitted(head: str, body: Sequence[str], width: float, height: float) -> tuple[float, float]:
    """The sizes in mm, of the identifier and of the rest, that fill this room."""
    body_mm = min([width / _ems(line, _PLAIN) for line in body] + [_MOST_TEXT_MM])
    head_mm = min(width / _ems(head, _BOLD), _HEAD * body_mm)
    share = min(1.0, height / (_LINE * (head_mm + len(body) * body_mm)))
    return head_mm * share, body_mm * share


def _halved(body: Iterable[str]) -> list[str]:
    """The lines, each of several words as two."""
    return [half for line in body for half in wrap(line, max(1, len(line) * 2 // 3))]


def _warns(label: Label) -> bool:
    return DO_NOT_DISCONNECT in label.lines


def _pad_mm(stock: Stock) -> float:
    """Kept free at each edge, since printers and stock do not meet to a millimetre."""
    return 1.5 if min(stock.label_width, stock.label_height) >= 15 else 0.8


def _code_mm(stock: Stock) -> float:
    return min(
        stock.label_height - 2 * _pad_mm(stock), 0.4 * stock.label_width, _MOST_CODE_MM
    )  # fmt: skip


def _ems(line: str, widths: tuple[float, float]) -> float:
    """How wide the line is at a size of 1, rather too much than too little."""
    figure, letter = widths
    return sum(
        0.48 if sign in _NARROW
        else figure if sign.isascii() and sign.isdigit()
        else letter if sign.isascii() and sign not in _WIDE
        else 1.11
        for sign in line
    )  # fmt: skip


@lru_cache(4096)
def _code(text: str, side_mm: float) -> Markup | str:
    """The QR code (ISO/IEC 18004) of an identifier; empty where it would be too fine to read."""
    import segno
    from markupsafe import Markup

    try:
        code = segno.make_qr(text, error="m", encoding=None if text.isascii() else "utf-8")
    except segno.DataOverflowError:
        return ""
    if side_mm / (code.symbol_size(border=0)[0] + 2 * _QUIET) < _LEAST_MODULE_MM:
        return ""
    return Markup(code.svg_inline(border=_QUIET, omitsize=True, svgclass="qr", lineclass=None))


def _style(stock: Stock, laid: Iterable[Laid]) -> str:
    """The measures of this stock, and of the text on it."""
    code, pad = _code_mm(stock), _pad_mm(stock)
    lines = [
        f"@page {{ size: {stock.page_width:g}mm {stock.page_height:g}mm; margin: 0; }}",
        # a little lower than the page: rounding must not push an empty page out
        f".sheet {{ width: {stock.page_width:g}mm; height: {stock.page_height - 0.2:g}mm; }}",
        f".label {{ width: {stock.label_width:g}mm; height: {stock.label_height:g}mm; "
        f"padding: {pad:g}mm; }}",
        # the frame of a warning stays within the space kept free
        f".warns::after {{ inset: {0.4 * pad:g}mm; border-width: {0.4 * pad:g}mm; }}",
        f".qr {{ width: {code:g}mm; height: {code:g}mm; }}",
    ]
    lines += [f".c{at} {{ left: {stock.column_mm(at):g}mm; }}" for at in range(stock.columns)]
    lines += [f".r{at} {{ top: {stock.row_mm(at):g}mm; }}" for at in range(stock.rows)]
    for letter, sizes in (("h", {each.head_size for each in laid}),
                          ("f", {each.body_size for each in laid})):  # fmt: skip
        lines += [f".{letter}{at} {{ font-size: {at / 10:g}mm; }}" for at in sorted(sizes)]
    return "\n".join((*lines, ""))


@cache
def _asset() -> str:
    return package_files("exporters").joinpath("assets", "labels.css").read_text("utf-8")


@cache
def _template() -> Template:
    from jinja2 import Environment, PackageLoader, StrictUndefined

    environment = Environment(
        loader=PackageLoader("exporters"), autoescape=True, undefined=StrictUndefined,
        trim_blocks=True, lstrip_blocks=True,
    )  # fmt: skip
    return environment.get_template("labels/sheet.html.j2")
