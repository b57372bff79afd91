"""What is typed for fields of many records, read against the binder: references are names.

A form reads one record; this reads thousands. The names of a kind are asked once.
"""

from __future__ import annotations

import re
from collections.abc import Iterable
from datetime import datetime
from typing import Final

from binder.errors import RequestError
from binder.file import BinderFile
from binder.read import names, resolve, time_zone, unit_system
from binder.records.catalog import BY_NAME
from binder.records.dates import time_zone as zone_of
from binder.records.fields import Field, Kind, Type
from binder.records.values import Stored, check, parse, show

_MOST_HINTS: Final = 20  # misspelt names for which a near one is looked up: each costs a search
_NO_LETTER = re.compile(r"[^a-z0-9]+")


class Cells:
    """Reads and shows values as the binder's client has them: its units, its clock.

    `now` is the present moment, with its zone or to be taken into the client's.
    """

    def __init__(self, binder: BinderFile, now: datetime) -> None:
        self.binder = binder
        self.system = unit_system(binder)
        self.zone = time_zone(binder)
        self.now = now.astimezone(zone_of(self.zone))
        self._known: dict[str, dict[str, int]] = {}
        self._subjects: dict[str, int | str] = {}
        self._misses: dict[tuple[str, str], str] = {}

    def known(self, kind: str) -> dict[str, int]:
        """Ids of the records of a kind by their names, folded. What is put in is found, too."""
        if kind not in self._known:
            rows = self.binder.connection.execute(
                "SELECT name, id FROM record WHERE kind = ?", (kind,)
            )
            self._known[kind] = {folded(row[0]): row[1] for row in rows}
        return self._known[kind]

    def read(self, field: Field, text: str) -> Stored:
        """The stored value of what was typed. Raises ValueError with what is accepted."""
        if not field.is_reference:
            return parse(field, text, system=self.system, now=self.now)
        text = text.strip()
        if not text:
            return check(field, None)
        if field.type is Type.SUBJECT:
            return self._subject(text)
        found = self.known(field.target).get(folded(text))
        if found is None:
            raise ValueError(self._miss(field.target, text))
        return found

    def _subject(self, text: str) -> int:
        if text not in self._subjects:
            try:
                self._subjects[text] = resolve(self.binder, text).id
            except RequestError as error:
                self._subjects[text] = str(error)
        found = self._subjects[text]
        if isinstance(found, str):
            raise ValueError(found)
        return found

    def _miss(self, kind: str, text: str) -> str:
        if (kind, text) not in self._misses:
            says = f"no {BY_NAME[kind].label.lower()} is named '{text}'"
            if len(self._misses) < _MOST_HINTS:
                try:
                    resolve(self.binder, text, kind)
                except RequestError as error:
                    says = str(error)
            self._misses[kind, text] = says
        return self._misses[kind, text]

    def names(self, ids: Iterable[int]) -> dict[int, str]:
        """Names of records that are referred to, for `text`."""
        return {named.id: named.name for named in names(self.binder, ids).values()}

    def text(self, field: Field, value: Stored, named: dict[int, str]) -> str:
        """The value as people read it; a reference by its name in `named`."""
        if field.is_reference:
            return named.get(int(value), "") if value is not None else ""
        return show(field, value, system=self.system, zone=self.zone).replace("\n", ", ")


def folded(name: str) -> str:
    """Upper and lower case are one, for ASCII letters, as SQLite's NOCASE has it."""
    if name.isascii():
        return name.lower()
    return name.encode(errors="replace").lower().decode(errors="replace")


def field_called(kind: Kind, word: str) -> Field:
    """The field that a word means: its name or its label, with or without the unit, in any case.

    The beginning of one is enough where only one begins so. Raises RequestError.
    """
    wanted = letters(word)
    if not wanted:
        raise RequestError("type part of the name of a field, or go to one with Down")
    whole = fields_called(kind, word)
    begun = whole or [
        field for field in kind.all_fields
        if wanted and any(words.startswith(wanted) for words in field_words(field))
    ]  # fmt: skip
    if len(begun) == 1:
        return begun[0]
    if begun:
        which = ", ".join(field.name for field in begun)
        raise RequestError(f"'{word}' may be {which}; type more of it")
    raise RequestError(
        f"a {kind.label.lower()} has no field '{word}'; there are: "
        + ", ".join(field.name for field in kind.all_fields)
    )


def fields_called(kind: Kind, word: str) -> list[Field]:
    """The fields that are called by a whole word: one, none, or two that share a label."""
    wanted = letters(word)
    named = [field for field in kind.all_fields if letters(field.name) == wanted]
    return named or [field for field in kind.all_fields if wanted in field_words(field)]


def field_words(field: Field) -> tuple[str, ...]:
    """What a field may be called, in small letters and blanks."""
    name, label, unit = letters(field.name), letters(field.label), letters(field.unit)
    return name, label, f"{label} {unit}", name.removesuffix(f" {unit}") if unit else name


def letters(text: str) -> str:
    """A word as it is compared: in small letters, anything else a blank."""
    return _NO_LETTER.sub(" ", text.casefold()).strip()
