"""The invented client of the demo, on the 25th of November 2026."""

from __future__ import annotations

import contextlib
import sqlite3
from collections.abc import Callable, Iterator
from datetime import date
from pathlib import Path

import pytest

from binder.edit import Editor
from binder.file import BinderFile, create
from binder.headroom import Headroom, Row, headroom
from binder.intake.json_form import load
from binder.read import resolve
from demo.build import client_data

TODAY = date(2026, 11, 25)


@pytest.fixture(scope="session")
def _demo(tmp_path_factory: pytest.TempPathFactory) -> Path:
    path = tmp_path_factory.mktemp("demo") / "quillmere.binder"
    with create(path, "") as binder:
        load(binder, client_data(TODAY), "demo")
    return path


@pytest.fixture
def demo(tmp_path: Path, _demo: Path) -> Iterator[BinderFile]:
    """A copy that the test may change."""
    with create(tmp_path / "quillmere.binder", "") as binder:
        with contextlib.closing(sqlite3.connect(_demo)) as built:
            built.backup(binder.connection)
        yield binder


@pytest.fixture
def asked(demo: BinderFile) -> Callable[[], Headroom]:
    """Headroom of the demo as it stands, on its day."""
    return lambda: headroom(demo, today=TODAY)


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
