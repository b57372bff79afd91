"""From what headroom misses to the form where it is typed."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

from binder.read import read
from binder.records.catalog import BY_NAME

if TYPE_CHECKING:
    from binder.headroom import Need
    from tui.app.binder_app import BinderApp


def fill_in(app: BinderApp, need: Need) -> None:
    """Open the form of a record at the missing field, or that of the record that is missing.

    Raises RequestError when the record is not in the binder any more.
    """
    if not need.add:
        app.open_edit(need.id, need.field)
        return
    read(app.binder, need.id)
    app.open_new(BY_NAME[need.add], dict(_known(need)))


def _known(need: Need) -> Iterator[tuple[str, int | str]]:
    """What a new record says by itself: what it is about, and of a reading, of what quantity."""
    kind = BY_NAME[need.add]
    able = [
        each for each in kind.all_fields if each.is_reference and each.target in ("", need.kind)
    ]
    able.sort(key=lambda each: kind.owner is each)  # plugged into a UPS, not an inlet of its own
    if able:
        yield able[0].name, need.id
    if need.field and need.add == "reading":
        yield "quantity", need.field
