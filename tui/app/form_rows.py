"""The rows of a form, drawn: a label, what is typed, and what is wrong with it."""

from __future__ import annotations

from collections.abc import Hashable

from binder.records.fields import Field, Type
from binder.records.quantities import UNITS, format_quantity, parse_quantity
from tui.app.draft import Draft
from tui.app.lines import Line, Part, fit, line, width_of
from tui.app.suggestions import options

SAVE = "save"


class FormRows:
    """One row a field, in the order of the declaration, and the row that saves.

    Fields that make no sense for the form of the record as it is typed now are left out, unless
    something stands, or stood, in them: a row does not go from under the hand that empties it.
    """

    def __init__(self, draft: Draft) -> None:
        self.draft = draft
        self.current = 0
        self.label_width = max(width_of(field.label) for field in draft.fields) + 4
        self._filled: set[str] = set()
        self.fields: list[Field] = []  # those that are offered now
        self.settle()

    def settle(self) -> bool:
        """Offer what makes sense as it is typed now; gives whether the rows are others."""
        draft, here = self.draft, self.key(self.current)
        form = draft.texts.get("form", "").strip().casefold()
        self._filled |= {name for name, text in draft.texts.items() if text} | set(draft.faults)
        before, self.fields = self.fields, [
            field for field in draft.fields
            if not field.only_for or field.name in self._filled
            or form in (one.casefold() for one in field.only_for)
        ]  # fmt: skip
        if before == self.fields:
            return False
        found = self.index(here)
        self.current = len(self.fields) if here == SAVE and before else found or 0
        return True

    def __len__(self) -> int:
        return len(self.fields) + 1

    def key(self, index: int) -> Hashable:
        field = self.field(index)
        return field.name if field else SAVE

    def index(self, key: Hashable) -> int | None:
        names = [field.name for field in self.fields]
        return names.index(str(key)) if key in names else None

    def field(self, index: int) -> Field | None:
        """The field of a row; None for the row that saves."""
        return self.fields[index] if index < len(self.fields) else None

    def line(self, index: int, width: int) -> Line:
        field = self.field(index)
        here = index == self.current
        mark = "›" if here else " "
        if field is None:
            return line(f"{mark} ", ("[ Save ]", "here" if here else "strong"))
        star = "*" if field.required else " "
        label = fit(f"{mark}{star}{field.label}", self.label_width)
        value = one_line(self.draft.texts[field.name])
        changed = self.draft.texts[field.name] != self.draft.start[field.name]
        fault = self.draft.faults.get(field.name, "")
        parts = [Part(label, "strong" if here else "label")]
        if fault:
            room = self.value_width(index, width)
            parts += [Part(fit(value, room)), Part(f" ! {fault}", "bad")]
        else:
            parts.append(Part(value, "strong" if changed else ""))
        return tuple(parts)

    def value_width(self, index: int, width: int) -> int:
        """Cells for the value: less when what is wrong stands beside it."""
        field = self.field(index)
        room = max(width - self.label_width, 8)
        if field is None or field.name not in self.draft.faults:
            return room
        typed = width_of(one_line(self.draft.texts[field.name]))
        return min(room, 20 if index == self.current else min(max(typed, 8), 20))


def one_line(text: str) -> str:
    """Text of several lines on one, the breaks shown."""
    return text.replace("\n", " ¶ ")


def hint(field: Field | None, system: str) -> str:
    """What the field is for and how it is typed."""
    if field is None:
        return "Enter saves; so does F2 from any field."
    says = field.help or f"{field.label}."
    how = _how(field, system)
    example = f" Like {_example(field, system)}." if field.example and not options(field) else ""
    return f"{says} {how}{example}".replace("  ", " ").strip()


def _example(field: Field, system: str) -> str:
    """The example of the declaration, which is metric, as this binder would have it typed."""
    if field.type is not Type.NUMBER or not field.unit:
        return field.example
    stored = parse_quantity(field.example, field.unit, "metric")
    return format_quantity(stored, field.unit, system)


def _how(field: Field, system: str) -> str:
    if options(field):
        return "Left and right go through the choices; or type."
    match field.type:
        case Type.NUMBER if field.unit:
            return f"A bare 24 is 24 {UNITS[field.unit].symbol(system)}; or type the unit."
        case Type.DATE:
            return "A day, today, mon, +30d or -2w."
        case Type.MOMENT:
            return "now, 09:40, yesterday 09:40 or -15min."
        case Type.REF | Type.SUBJECT:
            return "Type part of its name."
        case Type.LINES:
            return "One line here; F4 opens a page for several."
        case _:
            return ""
