"""The door sheet: one page for the inside of a rack's door, safe for whoever opens it.

It is one page at 10 point. What does not fit is cut in the order of `door_sheet_limits.CUTS`; where
something is left out it says '...' or 'more', and on top what that means. Telephone numbers are
never cut, and what can hurt someone is shortened last.
"""

from __future__ import annotations

from typing import Final

from binder.errors import RequestError
from binder.read import Record
from exporters.contents import one_page
from exporters.contents.door_sheet_limits import levels, one_line
from exporters.contents.door_sheet_sections import Sheet
from exporters.contents.parts import joined
from exporters.documents import Asked
from exporters.model import Document, Section, Table
from exporters.source import Source

_ROWS_TO_WRITE: Final = (2, 16)  # at least, at most


def door_sheet(asked: Asked) -> Document:
    """The sheet of the rack named, else of the rack that holds the gateway.

    Raises RequestError for a rack that there is not.
    """
    source = asked.source
    rack = _rack(source, asked.options.rack)
    least, most = _ROWS_TO_WRITE
    for limits in levels():
        sections = Sheet(asked, rack, limits).sections()
        rows = one_page.written_rows(sections)
        if rows >= least:
            break
    return Document(
        asked.document,
        joined("Door sheet", one_line(source.name(rack), 32), by=" of "),
        one_line(source.name(source.client) or "Client not named", 44),
        asked.release,
        asked.dated,
        (),
        (*sections, _write_in(min(most, max(least, rows)))),
    )


def _rack(source: Source, name: str) -> Record | None:
    racks = source.of("rack")
    if name:
        for rack in racks:
            if rack.name.casefold() == name.casefold():
                return rack
        there_are = ", ".join(rack.name for rack in racks) or "none"
        raise RequestError(f"no rack is called '{name}'; there are: {there_are}")
    for form in ("gateway", "switch"):
        for hardware in source.of("hardware"):
            if hardware["form"] == form and (holds := source.get(hardware["rack"])) is not None:
                return holds
    return racks[0] if racks else None


def _write_in(rows: int) -> Section:
    head = ("Date, time", "Who", "What was seen and done", "Working again at")
    return Section(
        "write-in",
        "Write in what you do; correct the binder before you leave",
        (Table(head, (("",) * len(head),) * rows),),
    )
