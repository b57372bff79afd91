"""What a test needs of the system beside Python: a browser, a server, another user."""

from __future__ import annotations

import os
import shutil
import tempfile
from collections.abc import Callable
from pathlib import Path
from typing import NoReturn

import pytest


def needs(program: str, *others: str) -> str:
    """The path of the first of these programs that is installed.

    Skips the test when there is none; fails it instead when BINDER_TEST_SYSTEM=required.
    """
    for name in (program, *others):
        if path := shutil.which(name):
            return path
    _lacking(f"{' or '.join((program, *others))} is not installed")


def needs_weasyprint() -> None:
    """WeasyPrint, and Pango, which pip does not bring. Skips or fails as `needs` does."""
    try:
        import weasyprint  # noqa: F401
    except (ImportError, OSError) as error:
        _lacking(f"PDF cannot be made: {error}")


def _lacking(reason: str) -> NoReturn:
    if os.environ.get("BINDER_TEST_SYSTEM") == "required":
        pytest.fail(f"{reason}, and BINDER_TEST_SYSTEM says it is required")
    pytest.skip(reason)


def as_nobody(path: Path, question: Callable[[Path], str]) -> str:
    """What `question` answers in a process without the rights of root, so that modes count.

    The file or folder is moved to where that process may look at it.
    """
    with tempfile.TemporaryDirectory() as folder:
        os.chmod(folder, 0o755)
        moved = Path(shutil.move(path, folder))
        said, says = os.pipe()
        child = os.fork()
        if child == 0:
            try:
                if os.geteuid() == 0:
                    os.setgroups([])
                    os.setgid(65534)
                    os.setuid(65534)
                answer = question(moved)
            except BaseException as error:
                answer = repr(error)
            os.write(says, answer.encode())
            os._exit(0)
        os.close(says)
        with open(said, encoding="utf-8") as answers:
            answer = answers.read()
        os.waitpid(child, 0)
    return answer
