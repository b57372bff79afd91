"""What has no secret to do with does not pay for `cryptography`."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[3]
LIGHT = (
    "binder.find, binder.edit, binder.file, binder.verify, binder.intake.json_form, "
    "binder.envelope.reports, binder.envelope.carried, exporters.export, tui.main, "
    "tui.commands.export"
)


@pytest.mark.parametrize("module", LIGHT.split(", "))
def test_importing_it_does_not_load_cryptography(module: str) -> None:
    code = f"import sys, {module}; sys.exit('cryptography' in sys.modules)"
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=False)
    assert (done.returncode, done.stderr) == (0, "")


def test_parameters_for_tests_are_used_by_tests_only() -> None:
    """They protect nothing: only the module that defines them names them."""
    users = [
        path.relative_to(ROOT).as_posix()
        for package in ("binder", "exporters", "tui", "demo")
        for path in (ROOT / package).rglob("*.py")
        if "weak_work_for_tests" in path.read_text("utf-8")
        or "may_be_weak=True" in path.read_text("utf-8")
    ]
    assert users == ["binder/envelope/keys.py"]
