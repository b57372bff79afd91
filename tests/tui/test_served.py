"""Over SSH with a forced command the program is the only door: what it lets through, and what not.

The forced command and SSH_ORIGINAL_COMMAND: sshd(8), section AUTHORIZED_KEYS FILE FORMAT.
"""

from __future__ import annotations

import shutil
from pathlib import Path

import pytest

from tui.main import run
from tui.served import QUESTIONS, asked, is_served


@pytest.fixture
def shelf(quillmere: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A shelf with the client on it, and a technician served over SSH."""
    folder = tmp_path / "shelf"
    folder.mkdir()
    shutil.copy(quillmere, folder / "quillmere.binder")
    monkeypatch.setenv("BINDER_SHELF", str(folder))
    monkeypatch.setenv("SSH_CONNECTION", "192.0.2.7 50222 192.0.2.1 22")
    return folder


def sent(
    words: str, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str], *options: str
) -> tuple[int, str, str]:
    """What `ssh HOST words` gives the technician whose key starts `binder --who 'M. Osei'`."""
    monkeypatch.setenv("SSH_ORIGINAL_COMMAND", words)
    status = run(["--who", "M. Osei", *options])
    out, err = capsys.readouterr()
    return status, out, err


def test_a_name_given_on_the_line_over_ssh_shuts_the_doors() -> None:
    over_ssh = {"SSH_CONNECTION": "192.0.2.7 50222 192.0.2.1 22"}
    assert is_served("M. Osei", over_ssh)
    assert not is_served("M. Osei", {})
    assert not is_served(None, over_ssh)


def test_a_technician_asks_a_question_without_the_screen(
    shelf: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    status, out, err = sent("binder find quillmere 'front desk'", monkeypatch, capsys)
    assert (status, err) == (0, "")
    assert "front desk" in out


def test_the_log_is_written_in_the_name_of_the_key(
    shelf: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    sent("log quillmere 'cord replaced' --kind visit", monkeypatch, capsys)
    assert "M. Osei" in sent("log quillmere --limit 1", monkeypatch, capsys)[1]


def test_a_read_only_key_writes_nothing_whatever_it_asks(
    shelf: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    status, _, err = sent("log quillmere 'cord replaced'", monkeypatch, capsys, "--read-only")
    assert status == 2
    assert "read-only" in err


@pytest.mark.parametrize(
    "words",
    [
        "dump quillmere --to out.json", "export quillmere handoff --to .", "backup quillmere",
        "load quillmere /etc/passwd", "new out --client X", "envelope make quillmere shop",
        "--who 'R. Adeyemi' find quillmere desk", "sh -c id", "find 'quillmere",
        "headroom quillmere --what-if /etc/passwd", "headroom quillmere --what-if=/etc/passwd",
        "find ./quillmere.binder desk", "find ../shelf/quillmere desk", "/etc/passwd",
    ],
)  # fmt: skip
def test_nothing_leads_past_the_program(
    shelf: Path, words: str, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.chdir(shelf)
    status, out, err = sent(words, monkeypatch, capsys)
    assert (status, out) == (2, "")
    assert err.count("\n") == 1
    assert sorted(path.name for path in shelf.iterdir()) == ["quillmere.binder"]


def test_a_shell_of_ones_own_opens_any_binder(
    shelf: Path,
    quillmere: Path,
    monkeypatch: pytest.MonkeyPatch,
    capsys: pytest.CaptureFixture[str],
) -> None:
    monkeypatch.delenv("SSH_CONNECTION")
    assert run(["--who", "M. Osei", "find", str(quillmere), "front desk"]) == 0
    assert "front desk" in capsys.readouterr().out


@pytest.mark.parametrize("command", QUESTIONS)
def test_every_question_is_let_through(command: str) -> None:
    assert asked({"SSH_ORIGINAL_COMMAND": f"binder {command} quillmere desk"})[0] == command
