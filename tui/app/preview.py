"""The second pane of a wide terminal: the record pointed at, as far as it fits."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

from binder.elevation import FACES, elevation
from binder.read import kind_of
from binder.sheet import sheet
from tui.app.elevation import elevation_lines
from tui.app.lines import ELLIPSIS, Line, Part, line, spread
from tui.app.sheet_lines import Shown, sheet_rows, title

if TYPE_CHECKING:
    from tui.app.binder_app import BinderApp


def preview(app: BinderApp, record_id: int | None, width: int, height: int) -> Sequence[Line]:
    """The first lines of a rack's drawing or of a record's sheet; a word where it goes on."""
    kind = kind_of(app.binder, record_id) if record_id else None
    if kind is None or record_id is None:
        return ()
    if kind.name == "rack":
        drawing = elevation(app.binder, record_id, app.today)
        return elevation_lines(drawing, FACES[0], width, height)
    shown = sheet(app.binder, record_id, app.today)
    head = spread(*title(shown), width)
    rows = sheet_rows(app.binder, shown, Shown(width))
    lines = [head, (), *(row.parts for row in rows)]
    if len(lines) <= height:
        return lines
    cut = len(lines) - height + 1
    more = line((f" {ELLIPSIS} {cut} more lines: Enter opens it", "label"))
    return [*lines[: height - 1], more]


def edged(lines: Sequence[Line], height: int) -> Sequence[Line]:
    """The lines with a rule at their left, down to the foot of the pane."""
    filled = [*lines, *[()] * (height - len(lines))]
    return [(Part("│", "label"), *parts) for parts in filled]
