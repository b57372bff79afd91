"""Adding, from a form, the record that one of its fields was to name and the binder lacks."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import TYPE_CHECKING

from binder.read import read
from binder.records.catalog import BY_NAME
from binder.records.fields import Field, Kind, Type
from tui.app.filing import AddRecord
from tui.app.kind_words import one
from tui.app.suggestions import Suggestion

if TYPE_CHECKING:
    from tui.app.binder_app import BinderApp


class AddNamed(AddRecord):
    """A record that a form lacked: what it is called and the little a list shows of it."""

    def __init__(self, kind: Kind, added: Callable[[str], None]) -> None:
        super().__init__(kind)
        wanted = {*kind.named_by, *kind.columns}
        self.fields = tuple(f for f in kind.all_fields if f.required or f.name in wanted)
        self.title = f"New {one(kind)}, then back to the form"
        self._added = added

    def follow_up(self, app: BinderApp, record_id: int) -> None:
        name = read(app.binder, record_id).name
        self._added(name)
        app.say(f"added {one(self.kind)} {name}")


def offer_to_add(field: Field, typed: str, offered: Sequence[Suggestion]) -> Suggestion | None:
    """The last of the suggestions for a reference: to add what is typed, if it can be named so."""
    kind, name = _meant(field, typed.strip())
    texts = [suggestion.text.casefold() for suggestion in offered]
    if kind is None or not name or typed.strip().casefold() in texts:
        return None
    return Suggestion(f'add {one(kind)} "{name}"', "not in the binder yet", adds=kind.name)


def add_missing(app: BinderApp, field: Field, typed: str, taken: Callable[[str], None]) -> None:
    """Open the short form of what is missing; `taken` gets the text that then names it."""
    kind, name = _meant(field, typed.strip())
    assert kind is not None

    def added(named: str) -> None:
        taken(f"{kind.name} {named}" if field.type is Type.SUBJECT else named)

    app.open_short(AddNamed(kind, added), {kind.named_by[0]: name})


def _meant(field: Field, typed: str) -> tuple[Kind | None, str]:
    """The kind and the name of what was typed; no kind where a name alone does not make one."""
    word, name = field.target, typed
    if field.type is Type.SUBJECT:
        word, _, name = typed.partition(" ")
    kind = BY_NAME.get(word)
    if kind is None or kind.single or len(kind.named_by) > 1:
        return None, ""
    named = kind.field(kind.named_by[0])
    return (kind if named.type is Type.TEXT else None), name.strip()
