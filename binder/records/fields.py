"""The language in which record kinds are declared: Field and Kind, and short makers of fields.

Reading order: `Type` says how a value is stored and typed in, `Field` is one line of a form,
`Kind` is a sheet of the binder. The kinds themselves are in `binder.records.kinds`.
"""

from __future__ import annotations

import enum
from dataclasses import dataclass, replace
from functools import cached_property
from typing import Any


class Type(enum.Enum):
    """How a field's value is stored, checked and typed in."""

    TEXT = "text"
    LINES = "lines"  # several lines, Markdown
    INTEGER = "integer"
    NUMBER = "number"  # a plain number, or a quantity when the field has a unit
    MONEY = "money"  # whole cents, so that sums are exact
    CHOICE = "choice"
    FLAG = "flag"
    DATE = "date"  # YYYY-MM-DD
    MOMENT = "moment"  # YYYY-MM-DDTHH:MM:SSZ
    REF = "ref"  # the id of a record of one kind
    SUBJECT = "subject"  # the id of a record of any kind
    MAC = "mac"  # 00-00-5E-00-53-01
    IP = "ip"
    CIDR = "cidr"
    PHONE = "phone"
    EMAIL = "email"
    URL = "url"
    RRULE = "rrule"  # RFC 5545
    ZONE = "zone"  # a name of the time zone database
    CURVE = "curve"  # 'watts:minutes, watts:minutes', a maker's runtime table


REFERENCES = (Type.REF, Type.SUBJECT)


class OnRemoval(enum.Enum):
    """What becomes of this record when the one a reference field names is removed."""

    REFUSE = "refuse"  # say what hangs on it; take it along only when told to
    CLEAR = "clear"  # empty the field
    OWNED = "owned"  # a part of it, shown on its sheet; removed as under REFUSE


@dataclass(frozen=True)
class Field:
    """One fact a record holds. `name` carries the unit it is stored in (`depth_mm`)."""

    name: str
    label: str
    type: Type
    help: str = ""
    example: str = ""
    choices: tuple[str, ...] = ()
    required: bool = False
    unique: bool = False
    unit: str = ""  # a key of binder.records.quantities.UNITS
    minimum: float | None = None
    maximum: float | None = None
    default: Any = None
    target: str = ""  # for REF: the kind it refers to
    on_removal: OnRemoval = OnRemoval.REFUSE
    searched: bool = True
    compact: bool = False  # also found without its punctuation: serials, circuit numbers
    internal: bool = False  # for the technician; kept out of what the client is handed
    only_for: tuple[str, ...] = ()  # the forms of the record it makes sense for; () for all

    @cached_property
    def is_reference(self) -> bool:
        return self.type in REFERENCES

    @cached_property
    def is_compact(self) -> bool:
        """Whether it is found whatever punctuation it is typed with."""
        return self.compact or self.type in (Type.MAC, Type.PHONE)

    @cached_property
    def column(self) -> str:
        """The column of the table: references are stored by id, and their column says so."""
        return f"{self.name}_id" if self.is_reference else self.name


@dataclass(frozen=True, slots=True)
class Rule:
    """An invariant of one record, kept by the database. `sql` is true when all is well."""

    sql: str
    says: str  # the sentence shown when it is broken


@dataclass(frozen=True)
class Kind:
    """A kind of record: its table, its sheet and its form."""

    name: str  # table and `binder show` word: 'hardware'
    plural: str  # key of the list in the JSON form
    label: str
    divider: str
    help: str
    fields: tuple[Field, ...]
    named_by: tuple[str, ...] = ("identifier",)
    separator: str = " "  # between the parts of a name made of several fields
    series: str = ""  # 'C-' : identifiers numbered by the program when left empty
    columns: tuple[str, ...] = ()  # what a list shows beside the name
    statuses: tuple[str, ...] = ("planned", "installed", "spare", "abandoned", "removed")
    rules: tuple[Rule, ...] = ()
    unique_together: tuple[tuple[str, ...], ...] = ()
    single: bool = False  # a binder holds exactly one
    label_plural: str = ""

    @property
    def table(self) -> str:
        return self.name

    @cached_property
    def all_fields(self) -> tuple[Field, ...]:
        """Declared fields, then the ones every record carries."""
        return self.fields + _common_fields(self.statuses)

    @cached_property
    def _by_name(self) -> dict[str, Field]:
        return {field.name: field for field in self.all_fields}

    def field(self, name: str) -> Field:
        """The field of that name. Raises KeyError with the kind's name when there is none."""
        try:
            return self._by_name[name]
        except KeyError:
            raise KeyError(f"{self.label} has no field '{name}'") from None

    def offered(self, form: str | None) -> tuple[Field, ...]:
        """The fields that make sense for a record of that form, or of any when it is not known."""
        return tuple(f for f in self.all_fields if not f.only_for or form in f.only_for)

    def has(self, name: str) -> bool:
        return name in self._by_name

    @property
    def owner(self) -> Field | None:
        """The reference to the record this one is a part of, if it is a part."""
        for field in self.fields:
            if field.on_removal is OnRemoval.OWNED:
                return field
        return None


_COMMON_TAIL = (
    Field("notes", "Notes", Type.LINES, "For the client's binder; Markdown.",
          "Door sticks; lift while turning."),
    Field("internal_notes", "Internal notes", Type.LINES,
          "For the technician; not in what the client is handed.",
          "Ask for the second-floor manager.", internal=True),
    Field("verified_on", "Verified on", Type.DATE,
          "The day someone looked and it was so.", "2026-03-14", searched=False),
    Field("verified_by", "Verified by", Type.TEXT, "Who looked.", "M. Osei"),
    Field("source", "Source", Type.TEXT, "The document or party this came from.",
          "carrier order form, 2025-11-02"),
)  # fmt: skip


def _common_fields(statuses: tuple[str, ...]) -> tuple[Field, ...]:
    """What every record carries: status, notes, verification and source."""
    default = "installed" if "installed" in statuses else statuses[0]
    status = Field(
        "status", "Status", Type.CHOICE, "Where it is in its life.", default,
        choices=statuses, required=True, default=default, searched=False,
    )  # fmt: skip
    return (status, *_COMMON_TAIL)


# Makers: a declaration reads as one line of a form. ---------------------------------------


def text(name: str, label: str, help: str = "", example: str = "", **more: Any) -> Field:
    return Field(name, label, Type.TEXT, help, example, **more)


def lines(name: str, label: str, help: str = "", example: str = "", **more: Any) -> Field:
    return Field(name, label, Type.LINES, help, example, **more)


def choice(name: str, label: str, choices: str, help: str = "", **more: Any) -> Field:
    """`choices` are given as one string, parted by commas; the first is the example."""
    options = tuple(option.strip() for option in choices.split(","))
    return Field(
        name, label, Type.CHOICE, help, options[0], choices=options, searched=False, **more
    )


def count(name: str, label: str, help: str = "", example: str = "", **more: Any) -> Field:
    """A whole number, zero or more."""
    more.setdefault("minimum", 0)
    return Field(name, label, Type.INTEGER, help, example, searched=False, **more)


def number(name: str, label: str, help: str = "", example: str = "", **more: Any) -> Field:
    """A number; its unit is the last part of the name when that is a unit."""
    more.setdefault("minimum", 0)
    unit = more.pop("unit", None)
    if unit is None:
        unit = name.rsplit("_", 1)[-1]
    return Field(name, label, Type.NUMBER, help, example, unit=unit, searched=False, **more)


def money(name: str, label: str, help: str = "", example: str = "120.00", **more: Any) -> Field:
    return Field(name, label, Type.MONEY, help, example, minimum=0, searched=False, **more)


def flag(name: str, label: str, help: str = "", **more: Any) -> Field:
    return Field(name, label, Type.FLAG, help, "no", searched=False, **more)


def date(name: str, label: str, help: str = "", example: str = "2026-03-14", **more: Any) -> Field:
    return Field(name, label, Type.DATE, help, example, searched=False, **more)


def moment(name: str, label: str, help: str = "", **more: Any) -> Field:
    return Field(name, label, Type.MOMENT, help, "2026-03-14T09:40:00Z", searched=False, **more)


def ref(name: str, label: str, target: str, help: str = "", example: str = "",
        **more: Any) -> Field:  # fmt: skip
    return Field(name, label, Type.REF, help, example, target=target, **more)


def owner(name: str, label: str, target: str, help: str = "", example: str = "",
          **more: Any) -> Field:  # fmt: skip
    """A reference to the record this one is a part of."""
    more.setdefault("required", True)
    return Field(
        name, label, Type.REF, help, example, target=target, on_removal=OnRemoval.OWNED, **more
    )


def subject(name: str, label: str, help: str = "", example: str = "", **more: Any) -> Field:
    """A reference to a record of any kind."""
    return Field(name, label, Type.SUBJECT, help, example, **more)


def of(type_: Type, name: str, label: str, help: str = "", example: str = "",
       **more: Any) -> Field:  # fmt: skip
    """A field of one of the checked text types: MAC, IP, CIDR, phone, e-mail, URL, rule, curve."""
    return Field(name, label, type_, help, example, **more)


def identifier(help: str, example: str, label: str = "Identifier", **more: Any) -> Field:
    """The name of a record, unique among its kind."""
    more.setdefault("required", True)
    return Field("identifier", label, Type.TEXT, help, example, unique=True, **more)


def only_for(forms: str, *fields: Field) -> tuple[Field, ...]:
    """The fields, offered only for records of these forms, which are parted by commas.

    A value that is there already is shown whatever the form.
    """
    told = tuple(form.strip() for form in forms.split(","))
    return tuple(replace(field, only_for=told) for field in fields)


def cleared(field: Field) -> Field:
    """The same reference, emptied (not refused) when what it names is removed."""
    return replace(field, on_removal=OnRemoval.CLEAR)
