"""`binder export`: which documents there are, how they are spelt, what narrows them."""

from __future__ import annotations

import subprocess
import sys
from collections.abc import Callable
from pathlib import Path

import pytest

from binder.file import BinderFile

Run = Callable[..., tuple[int, str, str]]


@pytest.mark.parametrize("spelt", ["door sheet", "door-sheet"])
def test_a_document_of_two_words_needs_no_quotes(
    closet: BinderFile, ran: Run, tmp_path: Path, spelt: str
) -> None:
    _, told, _ = ran("export", closet.path, spelt, "--to", tmp_path)
    assert "door-sheet-draft.html" in told


def test_one_trades_punch_list_has_its_name_in_the_file(
    closet: BinderFile, ran: Run, tmp_path: Path
) -> None:
    _, told, _ = ran("export", closet.path, "punch-list", "--trade", "cabling", "--to", tmp_path)
    assert "punch-list-cabling-draft.html" in told


def test_asking_what_can_be_exported_imports_nothing_that_makes_it() -> None:
    program = (
        "import sys; from tui.commands.export import export; "
        "heavy = {'jinja2', 'markdown_it', 'cryptography', 'exporters.source', 'binder.headroom'}; "
        "print(sorted(heavy & set(sys.modules)))"
    )
    told = subprocess.run([sys.executable, "-c", program], capture_output=True, text=True)
    assert told.stdout.strip() == "[]"
