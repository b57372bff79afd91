"""The third pane of a large terminal: the drawing of where a thing is, or of its way."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING, Final

from binder.elevation import FACES, elevation
from binder.errors import RequestError
from binder.read import Record, read
from tui.app.elevation import elevation_lines, side_of
from tui.app.kind_words import DRAWN
from tui.app.lines import Line, line, wrapped

if TYPE_CHECKING:
    from tui.app.binder_app import BinderApp

_OF_HARDWARE: Final = ("inlet", "configuration_copy")


def whereabouts(app: BinderApp, record_id: int | None, width: int, height: int) -> Sequence[Line]:
    """The rack with the thing marked in it; of cabling, and of what is in no rack, its way.

    Of a rack, its rear: the front is beside it.
    """
    if app.kind_of(record_id) not in DRAWN:
        return ()
    record = read(app.binder, record_id or 0)
    if record.kind.name in _OF_HARDWARE:
        record = read(app.binder, record["hardware"])
    if record.kind.name == "rack":
        drawing = elevation(app.binder, record.id, app.today)
        return elevation_lines(drawing, FACES[1], width, height)
    if record.kind.name == "hardware" and record["rack"] is not None:
        drawing = elevation(app.binder, record["rack"], app.today)
        side = side_of(drawing, record.id)
        return elevation_lines(drawing, side, width, height, at=record.id)
    return _way(app, record, width, height)


def _way(app: BinderApp, record: Record, width: int, height: int) -> Sequence[Line]:
    from binder.trace import path_lines, trace

    try:
        answer = trace(app.binder, record.id)
    except RequestError as error:
        return [line((f" {row}", "label")) for row in wrapped(str(error), width - 2)][:height]
    title = line(" Way of ", (record.name, "strong"))
    texts = path_lines(answer, app.system)
    return [title, (), *(line(f" {row}") for t in texts for row in wrapped(t, width - 2))][:height]
