"""Programs of the system that a test needs beside Python: a browser, a multiplexer, a server."""

from __future__ import annotations

import os
import shutil

import pytest


def needs(program: str, *others: str) -> str:
    """The path of the first of these programs that is installed.

    Skips the test when there is none; fails it instead when BINDER_TEST_SYSTEM=required.
    """
    for name in (program, *others):
        if path := shutil.which(name):
            return path
    reason = f"{' or '.join((program, *others))} is not installed"
    if os.environ.get("BINDER_TEST_SYSTEM") == "required":
        pytest.fail(f"{reason}, and BINDER_TEST_SYSTEM says it is required")
    pytest.skip(reason)
