"""From what headroom misses to the form where it is typed."""

from __future__ import annotations

from typing import TYPE_CHECKING

from binder.records.catalog import BY_NAME
from binder.records.fields import Kind

if TYPE_CHECKING:
    from binder.headroom import Need
    from tui.app.binder_app import BinderApp


def fill_in(app: BinderApp, need: Need) -> None:
    """Open the form of a record at the missing field, or that of the record that is missing.

    Raises RequestError when the record is not in the binder any more.
    """
    kind, about = BY_NAME[need.kind], app.kind_of(need.id)
    if kind.name == "reading":
        app.open_new(kind, {"subject": need.id, "quantity": need.field})
    elif about == kind.name and need.field in {field.name for field in kind.all_fields}:
        app.open_edit(need.id, need.field)
    elif about and about != kind.name:
        app.open_new(kind, {_referring(kind, about, need.field): need.id})
    else:
        app.open_record(need.id)
        app.say(f"{need.label} is missing: n adds what belongs to {need.name}")


def _referring(kind: Kind, about: str, wanted: str) -> str:
    """The field of a kind that names records of another: the wanted one if it can."""
    able = [f.name for f in kind.all_fields if f.is_reference and f.target in ("", about)]
    return wanted if wanted in able else able[0]
