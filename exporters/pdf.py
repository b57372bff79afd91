"""A document as PDF, made from its page: bookmarks, page numbers, running titles on paper.

Through WeasyPrint, which the extra `pdf` brings. It is given nothing to fetch: what a document
shows stands in it. No moment of the clock goes in, so the same page gives the same bytes with the
same version of WeasyPrint and the same fonts.
"""

from __future__ import annotations

import hashlib
import logging
from importlib.resources import files as package_files
from typing import Final

from binder.errors import RequestError

PAPERS: Final = ("a4", "letter")
_NO_EXTRA: Final = (
    "PDF needs the extra 'pdf': pip install 'handoff-binder[pdf]'; or print the HTML from a browser"
)


def pdf(page: str, paper: str = "a4") -> bytes:
    """The page as PDF on that paper. Raises RequestError without the extra `pdf`."""
    if paper not in PAPERS:
        raise RequestError(f"no paper is called '{paper}'; there are: {', '.join(PAPERS)}")
    try:
        from weasyprint import CSS, HTML
        from weasyprint.urls import URLFetcher
    except (ImportError, OSError) as error:  # OSError: without the libraries it draws with
        raise RequestError(f"{_NO_EXTRA} ({_first_line(error)})") from error
    _mute()
    style = package_files("exporters").joinpath("assets", "pdf.css").read_text(encoding="utf-8")
    made = HTML(string=page, url_fetcher=URLFetcher(allowed_protocols={"data"})).write_pdf(
        stylesheets=[CSS(string=f"@page {{ size: {paper} }}\n{style}")],
        pdf_identifier=hashlib.sha256(page.encode()).digest()[:16],
    )
    return bytes(made)


def _first_line(error: Exception) -> str:
    return str(error).strip().partition("\n")[0]


def _mute() -> None:
    """What the page says to browsers alone is no news to whoever makes a PDF of it."""
    logging.getLogger("weasyprint").setLevel(logging.CRITICAL)
    logging.getLogger("fontTools").setLevel(logging.CRITICAL)
