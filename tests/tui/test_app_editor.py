"""Notes in the person's own editor; over a shared account that door is shut.

VISUAL before EDITOR: POSIX.1-2017, environment variables; value from memory for the order.
"""

from __future__ import annotations

import os
import sys
from pathlib import Path

import pytest

from binder.errors import RequestError
from tests.pseudo_terminal import PseudoTerminal
from tests.tui.ssh_host import ssh_host
from tui.app.outside_editor import editor_command


@pytest.fixture
def editor(tmp_path: Path) -> Path:
    """An editor that appends a line, and tells what mode its file had."""
    script = tmp_path / "my editor"
    script.write_text('#!/bin/sh\nstat -c %a "$2" > "$1"\nprintf \'\\nfrom the editor\' >> "$2"\n')
    script.chmod(0o755)
    return script


def in_notes(seen: PseudoTerminal) -> None:
    """To the notes of the client's first contact, on their own page."""
    seen.wait_for("Quillmere Veterinary Clinic")
    seen.press("right", "e")
    seen.wait_for("Change contact")
    for _ in range(15):
        seen.press("down")
    seen.wait_for("F4 page")
    seen.press("f4")
    seen.wait_for("your editor")


def test_visual_comes_before_editor_and_may_have_words() -> None:
    assert editor_command({"VISUAL": "sh -e", "EDITOR": "cat"}) == ["sh", "-e"]
    assert editor_command({"EDITOR": "cat"}) == ["cat"]


@pytest.mark.parametrize("said", ["", "no-such-editor-here", "'unclosed"])
def test_an_editor_that_is_not_there_is_told_in_one_line(said: str) -> None:
    with pytest.raises(RequestError) as told:
        editor_command({"EDITOR": said})
    assert "\n" not in str(told.value)


def test_a_text_goes_to_the_editor_and_comes_back(
    quillmere: Path, tmp_path: Path, editor: Path
) -> None:
    mode = tmp_path / "mode"
    env = dict(os.environ, TERM="xterm-256color", BINDER_WHO="M. Osei",
               EDITOR=f"'{editor}' '{mode}'", XDG_STATE_HOME=str(tmp_path / "state"))  # fmt: skip
    env.pop("VISUAL", None)
    seen = PseudoTerminal([sys.executable, "-m", "tui.main", str(quillmere)], env)
    in_notes(seen)
    seen.press("f4")
    seen.wait_for("from the editor")
    seen.kill()
    assert mode.read_text().strip() == "600"


def test_over_ssh_no_program_of_the_host_is_started(
    demo_folder: Path, tmp_path: Path, editor: Path
) -> None:
    (tmp_path / "shelf").mkdir()
    (tmp_path / "shelf/quillmere.binder").write_bytes(
        (demo_folder / "quillmere.binder").read_bytes()
    )
    forced = f"command=\"EDITOR='{tmp_path}/ed' binder --who 'M. Osei'\",restrict,pty"
    editor.rename(tmp_path / "ed")
    with ssh_host(tmp_path, tmp_path / "shelf", {"osei": forced}) as host:
        seen = host.session("osei", "quillmere")
        in_notes(seen)
        seen.press("f4")
        seen.wait_for("no program of the host is started")
        seen.kill()
