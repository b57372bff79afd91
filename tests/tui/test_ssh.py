"""A team's host as the README sets it up: a real sshd, real keys, a real ssh client.

`command=` and `restrict` as in sshd(8), section AUTHORIZED_KEYS FILE FORMAT. The screen is read by
pyte, a terminal emulator that is not ours.
"""

from __future__ import annotations

import re
import shutil
from collections.abc import Iterator
from pathlib import Path

import pytest

from tests.tui.ssh_host import Host, ssh_host

README = Path(__file__).parents[2] / "README.md"


@pytest.fixture(scope="module")
def host(demo_folder: Path, tmp_path_factory: pytest.TempPathFactory) -> Iterator[Host]:
    """The README's lines of authorized_keys, with keys of our own, and the demo on the shelf."""
    folder = tmp_path_factory.mktemp("host")
    (folder / "shelf").mkdir()
    shutil.copy(demo_folder / "quillmere.binder", folder / "shelf")
    options = re.findall(r"^(command=.*) ssh-ed25519 ", README.read_text(), re.MULTILINE)
    with ssh_host(
        folder, folder / "shelf", dict(zip(("osei", "brandt"), options, strict=True))
    ) as up:
        yield up


def test_a_key_opens_the_shelf_and_leaving_it_ends_the_session(host: Host) -> None:
    seen = host.session("osei")
    seen.wait_for("Quillmere Veterinary Clinic")
    seen.press("ctrl+c")
    assert seen.wait_for_end() == 0


def test_a_question_is_answered_without_a_screen(host: Host) -> None:
    answer = host.ask("osei", "find", "quillmere", "'front desk'")
    assert (answer.returncode, answer.stderr) == (0, "")
    assert "front desk" in answer.stdout


@pytest.mark.parametrize(
    "words", ["id", "sh -i", "; id", "$(id)", "`id`", "dump quillmere", "find /etc/passwd x"]
)
def test_no_key_gives_a_shell_or_a_file(host: Host, words: str) -> None:
    answer = host.ask("osei", words)
    assert answer.returncode == 2
    assert answer.stdout == ""
    assert "uid=" not in answer.stderr


def test_a_read_only_key_cannot_write_the_log(host: Host) -> None:
    answer = host.ask("brandt", "log", "quillmere", "'cord replaced'")
    assert answer.returncode == 2
    assert "read-only" in answer.stderr
