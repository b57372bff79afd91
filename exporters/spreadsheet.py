"""Rows as CSV that a spreadsheet shows as it was typed, and never computes.

The form is RFC 4180: CRLF, every cell in quotes. A cell that begins as a formula does gets an
apostrophe before it (OWASP, 'CSV Injection'): such text may come from anyone who filled in a
field, and the one who opens the file trusts it.
"""

from __future__ import annotations

import csv
import io
from collections.abc import Iterable, Sequence
from typing import Final

from binder.text import visible_lines

# OWASP's list: = + - @ tab and carriage return, line feed, and their forms of full width.
_STARTS: Final = ("=", "+", "-", "@", "\t", "\r", "\n", "＝", "＋", "－", "＠")
_MARK: Final = "\ufeff"  # without it some spreadsheets take UTF-8 for another code


def harmless(text: str) -> str:
    """The text of a cell: controls shown as signs, and no formula."""
    shown = visible_lines(text)
    return f"'{shown}" if text.startswith(_STARTS) or shown.startswith(_STARTS) else shown


def csv_text(
    header: Sequence[str], rows: Iterable[Sequence[str]], *, for_spreadsheet: bool = True
) -> str:
    """A table as CSV with a header line; a mark of its encoding stands first for a spreadsheet."""
    written = io.StringIO()
    writer = csv.writer(written, quoting=csv.QUOTE_ALL, lineterminator="\r\n")
    writer.writerow([harmless(cell) for cell in header])
    writer.writerows([harmless(cell) for cell in row] for row in rows)
    return (_MARK if for_spreadsheet else "") + written.getvalue()
