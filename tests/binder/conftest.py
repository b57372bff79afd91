"""The invented client of the demo, on the 25th of November 2026, and two ways of asking it."""

from __future__ import annotations

import contextlib
import sqlite3
from collections.abc import Iterator
from datetime import date
from pathlib import Path

import pytest

from binder.file import BinderFile, create
from binder.intake.json_form import load
from demo.build import client_data

TODAY = date(2026, 11, 25)


@pytest.fixture
def today() -> date:
    return TODAY


@pytest.fixture(scope="session")
def _demo(tmp_path_factory: pytest.TempPathFactory) -> Path:
    path = tmp_path_factory.mktemp("demo") / "quillmere.binder"
    with create(path, "") as binder:
        load(binder, client_data(TODAY), "demo")
    return path


@pytest.fixture
def demo(tmp_path: Path, _demo: Path) -> Iterator[BinderFile]:
    """A copy that the test may change."""
    with create(tmp_path / "demo.binder", "") as binder:
        with contextlib.closing(sqlite3.connect(_demo)) as built:
            built.backup(binder.connection)
        yield binder
