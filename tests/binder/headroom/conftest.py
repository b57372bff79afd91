"""Asking the invented client of the demo for its headroom."""

from __future__ import annotations

from collections.abc import Callable
from datetime import date

import pytest

from binder.edit import Editor
from binder.file import BinderFile
from binder.headroom import Headroom, Row, headroom
from binder.read import resolve


@pytest.fixture
def asked(demo: BinderFile, today: date) -> Callable[[], Headroom]:
    """Headroom of the demo as it stands, on its day."""
    return lambda: headroom(demo, today=today)


@pytest.fixture
def row(asked: Callable[[], Headroom]) -> Callable[..., Row]:
    """`row("PoE watts", "SW3")`: the one row of that resource and name."""

    def row(resource: str, name: str, which: str = "") -> Row:
        found = [
            each
            for each in asked().rows
            if (each.resource, each.where.name) == (resource, name)
            and (not which or each.which == which)
        ]
        assert len(found) == 1, f"{len(found)} rows of {resource} {name}"
        return found[0]

    return row


@pytest.fixture
def change(demo: BinderFile) -> Callable[..., None]:
    """`change("UPS1", battery_wh=None)` in a step of its own."""

    def change(named: str, **values: object) -> None:
        with Editor(demo, "M. Osei").step(f"change {named}") as step:
            step.change(resolve(demo, named).id, values)

    return change
