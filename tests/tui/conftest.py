"""The invented client's binder on disk, and the command line as a technician uses it."""

from __future__ import annotations

import shutil
from collections.abc import Callable
from datetime import date
from pathlib import Path

import pytest

from demo.write import write_demo
from tui.main import run


@pytest.fixture(autouse=True)
def _state(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """What the program keeps beside a person's other state goes where the test can see it."""
    monkeypatch.setenv("XDG_STATE_HOME", str(tmp_path / "state"))


@pytest.fixture(scope="session")
def demo_folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The demo as `binder demo` writes it, on the 25th of November 2026. Not to be changed."""
    folder = tmp_path_factory.mktemp("demo")
    write_demo(folder, date(2026, 11, 25), lambda line: None)
    return folder


@pytest.fixture
def quillmere(demo_folder: Path, tmp_path: Path) -> Path:
    """A copy of the demo's binder that the test may change."""
    return Path(shutil.copy(demo_folder / "quillmere.binder", tmp_path))


@pytest.fixture
def ran(
    capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> Callable[..., tuple[int, str, str]]:
    """`ran("find", path, "reception")` gives exit status, standard output and error."""
    monkeypatch.setenv("BINDER_WHO", "M. Osei")

    def call(*words: object) -> tuple[int, str, str]:
        capsys.readouterr()
        status = run([str(word) for word in words])
        out, err = capsys.readouterr()
        return status, out, err

    return call
