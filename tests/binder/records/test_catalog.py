"""The declarations hold together: labels, examples, units, references, names."""

from __future__ import annotations

from datetime import UTC, datetime

import pytest

from binder.records.catalog import (
    BY_NAME,
    BY_PLURAL,
    DIVIDERS,
    KINDS,
    kinds_on,
    references_to,
)
from binder.records.fields import Kind, OnRemoval, Type
from binder.records.quantities import UNITS
from binder.records.values import check, parse

NOW = datetime(2026, 3, 14, 9, 40, tzinfo=UTC)
every_kind = pytest.mark.parametrize("kind", KINDS, ids=lambda kind: kind.name)


def test_names_and_plurals_are_unique() -> None:
    assert len(BY_NAME) == len(KINDS)
    assert len(BY_PLURAL) == len(KINDS)
    assert not BY_PLURAL.keys() & {"format", "contents"}


def test_every_divider_holds_kinds_and_every_kind_is_on_one() -> None:
    on_dividers = [kind.name for divider in DIVIDERS for kind in kinds_on(divider)]
    assert sorted(on_dividers) == sorted(BY_NAME)
    assert all(kinds_on(divider) for divider in DIVIDERS)


@every_kind
def test_kind_is_told_what_it_is(kind: Kind) -> None:
    assert kind.label
    assert kind.help.endswith(".")


@every_kind
def test_columns_and_names_are_fields(kind: Kind) -> None:
    for name in (*kind.columns, *kind.named_by):
        assert kind.has(name), name
    for together in kind.unique_together:
        assert all(kind.has(name) for name in together)


@every_kind
def test_field_names_are_unique_within_a_kind(kind: Kind) -> None:
    names = [field.name for field in kind.all_fields]
    columns = [field.column for field in kind.all_fields]
    assert len(set(names)) == len(names)
    assert len(set(columns)) == len(columns)
    assert "id" not in columns


@every_kind
def test_what_names_a_record_is_required_or_numbered(kind: Kind) -> None:
    for name in kind.named_by:
        field = kind.field(name)
        assert field.required != bool(kind.series), name


@every_kind
def test_names_are_made_of_names_one_level_deep(kind: Kind) -> None:
    # The triggers that rename follow a name one level down, and so does the search index.
    for field in map(kind.field, kind.named_by):
        if field.is_reference:
            target = BY_NAME[field.target]
            assert KINDS.index(target) < KINDS.index(kind)
            assert not any(target.field(part).is_reference for part in target.named_by)


@every_kind
def test_series_ends_in_what_no_number_starts_with(kind: Kind) -> None:
    assert not kind.series or not kind.series[-1].isdigit()
    others = [other.series for other in KINDS if other.series and other is not kind]
    assert kind.series not in others


@every_kind
def test_fields_are_labelled(kind: Kind) -> None:
    wrong = [f.name for f in kind.all_fields if not f.label or f.label != f.label.strip()]
    assert wrong == []


@every_kind
def test_examples_are_accepted(kind: Kind) -> None:
    for field in kind.all_fields:
        for system in ("metric", "us"):
            if field.example and not field.is_reference:
                assert parse(field, field.example, system=system, now=NOW) is not None, field.name


@every_kind
def test_fields_that_must_be_right_show_an_example(kind: Kind) -> None:
    free = (Type.TEXT, Type.LINES, Type.SUBJECT)
    wrong = [
        field.name
        for field in kind.all_fields
        if (field.required or field.type not in free) and not field.example
    ]
    assert wrong == []


@every_kind
def test_choices_and_defaults_are_accepted(kind: Kind) -> None:
    for field in kind.all_fields:
        assert bool(field.choices) == (field.type is Type.CHOICE), field.name
        for choice in field.choices:
            assert parse(field, choice, system="us", now=NOW) == choice
        assert len({choice.casefold() for choice in field.choices}) == len(field.choices)
        if field.default is not None:
            assert check(field, field.default) == field.default


@every_kind
def test_units_of_numbers_are_known(kind: Kind) -> None:
    for field in kind.all_fields:
        if field.type is Type.NUMBER:
            assert not field.unit or field.unit in UNITS, field.name


@every_kind
def test_names_that_end_in_a_unit_hold_that_unit(kind: Kind) -> None:
    # `rating_h` says hours in the short form; a letter alone is also the end of many words.
    for field in kind.all_fields:
        ending = field.name.rsplit("_", 1)[-1]
        if field.type is Type.NUMBER and "_" in field.name and ending in UNITS:
            assert field.unit == ending, field.name


@every_kind
def test_references_name_a_kind(kind: Kind) -> None:
    for field in kind.all_fields:
        assert bool(field.target) == (field.type is Type.REF), field.name
        assert not field.target or field.target in BY_NAME
        assert field.is_reference or field.on_removal is OnRemoval.REFUSE
        assert not (field.required and field.on_removal is OnRemoval.CLEAR), field.name


def test_references_to_hardware_include_those_to_anything() -> None:
    found = {(kind.name, field.name) for kind, field in references_to("hardware")}
    assert ("port", "hardware") in found
    assert ("touch", "subject") in found
    assert ("port", "vlan") not in found
    assert ("link", "port_a") not in found
