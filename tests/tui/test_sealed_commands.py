"""`binder export --sealed` and `binder unseal`, as the shop seals and the recipient opens."""

from __future__ import annotations

import json
import os
import pty
import re
import shutil
import subprocess
import sys
from collections.abc import Callable
from datetime import date
from pathlib import Path

import pytest

from binder.envelope.reports import refused_since_opening, seen_by
from binder.file import open_binder
from demo.write import write_demo
from tests.tui.envelope_desk import KEY, PASSWORD, PHRASE, PIN, SEED, Desk, make_binder
from tui.main import run

PASSPHRASE = "k7m2q-9xw4t-e0vzh-3ndpr"
Unsealed = tuple[int, str, str]


@pytest.fixture(scope="session")
def _made(tmp_path_factory: pytest.TempPathFactory) -> Path:
    path = tmp_path_factory.mktemp("sealed") / "quillmere.binder"
    make_binder(path)
    return path


@pytest.fixture
def desk(_made: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> Desk:
    """Two of the four secrets have a value."""
    desk = Desk(Path(shutil.copy(_made, tmp_path)), capsys)
    desk.put(PIN, "canary 4082")
    desk.put(PASSWORD, "canary\nof two lines \x1b[2J")
    return desk


@pytest.fixture
def sealed(desk: Desk, tmp_path: Path) -> Callable[..., Path]:
    """Seal for Priya Nandakumar; gives the document."""

    def sealed(*more: str) -> Path:
        answer = desk(
            "export", "handoff", "--sealed", "--for", "Priya Nandakumar", "--to", str(tmp_path),
            *more, handoff_passphrase_fd=PASSPHRASE,
        )  # fmt: skip
        assert answer.status == 0, answer.err
        assert "canary" not in answer.out + answer.err
        return Path(answer.out.strip())

    return sealed


@pytest.fixture
def unsealed(capsys: pytest.CaptureFixture[str]) -> Callable[..., Unsealed]:
    """`unsealed(path, passphrase)`: status, what was written to the descriptor, what was said."""

    def unsealed(path: Path, passphrase: str = PASSPHRASE, *more: str) -> Unsealed:
        capsys.readouterr()
        typed, into = os.pipe()
        os.write(into, passphrase.encode())
        os.close(into)
        written, out = os.pipe()
        status = run(
            ["unseal", str(path), "--passphrase-fd", str(typed), "--to-fd", str(out), *more]
        )
        os.close(out)
        os.close(typed)
        with os.fdopen(written, "rb") as pipe:
            got = pipe.read().decode()
        said = capsys.readouterr()
        assert said.out == ""
        return status, got, said.err

    return unsealed


def test_what_was_sealed_is_unsealed(
    sealed: Callable[..., Path], unsealed: Callable[..., Unsealed]
) -> None:
    status, got, _ = unsealed(sealed(), PASSPHRASE, "--json")
    assert status == 0
    answer = json.loads(got)
    assert answer["client"] == "Quillmere Veterinary Clinic"
    assert answer["recipient"] == "Priya Nandakumar"
    assert answer["secrets"] == [
        {"name": PIN, "kind": "PIN", "belongs_to": "fibre", "value": "canary 4082"},
        {"name": PASSWORD, "kind": "password", "belongs_to": "SW1 / admin",
         "value": "canary\nof two lines \x1b[2J"},
    ]  # fmt: skip
    assert got.isascii()


def test_a_person_reads_each_secret_under_what_it_opens(
    sealed: Callable[..., Path], unsealed: Callable[..., Unsealed]
) -> None:
    _, got, _ = unsealed(sealed("--secret", PIN))
    assert got == f"{PIN} (PIN, fibre)\n    canary 4082\n"


def test_a_wrong_passphrase_and_an_altered_file_are_told_alike_with_status_4(
    sealed: Callable[..., Path], unsealed: Callable[..., Unsealed]
) -> None:
    path = sealed()
    wrong = unsealed(path, PASSPHRASE + "x")
    path.write_text(path.read_text("utf-8").replace('"iterations":600000', '"iterations":1'))
    altered = unsealed(path)
    assert wrong == altered
    assert wrong[:2] == (4, "")
    assert "did not open" in wrong[2]


def test_files_that_hold_no_secrets_say_so(
    tmp_path: Path, unsealed: Callable[..., Unsealed]
) -> None:
    plain = tmp_path / "plain.html"
    plain.write_bytes(b"<p>\xff\xfe</p>")
    assert unsealed(plain)[0] == 2
    assert "no secrets are sealed in this file" in unsealed(plain)[2]
    assert unsealed(tmp_path / "none.html")[0] == 3


def test_the_log_has_the_recipient_and_those_without_a_value_are_told(
    desk: Desk, tmp_path: Path
) -> None:
    answer = desk(
        "export", "handoff", "--sealed", "--for", " Priya  Nandakumar", "--to", str(tmp_path),
        handoff_passphrase_fd=PASSPHRASE,
    )  # fmt: skip
    for name in (SEED, KEY):
        assert name in answer.err
    assert "2 secrets sealed, and written down as known to Priya Nandakumar" in answer.err
    with open_binder(desk.path, read_only=True) as binder:
        assert [s.secret for s in seen_by(binder, "Priya Nandakumar")] == [PIN, PASSWORD]


def test_a_passphrase_that_is_made_goes_to_the_descriptor_and_nowhere_else(
    desk: Desk, tmp_path: Path, unsealed: Callable[..., Unsealed]
) -> None:
    read, write = os.pipe()
    answer = desk(
        "export", "handoff", "--sealed", "--for", "Priya Nandakumar", "--to", str(tmp_path),
        "--handoff-passphrase-to-fd", str(write),
    )  # fmt: skip
    os.close(write)
    with os.fdopen(read) as pipe:
        made = pipe.read()
    assert answer.status == 0
    assert re.fullmatch(r"([0-9a-hjkmnp-tv-z]{5}-){3}[0-9a-hjkmnp-tv-z]{5}", made)  # 100 bits
    assert made not in answer.out + answer.err
    assert unsealed(Path(answer.out.strip()), made)[0] == 0
    assert made.encode() not in desk.path.read_bytes()


@pytest.mark.parametrize(
    ("words", "says"),
    [
        (["--sealed"], "--sealed needs --for NAME"),
        (["--sealed", "--for", " "], "--sealed needs --for NAME"),
        (["--for", "Priya"], "with --sealed only"),
        (["--secret", PIN], "with --sealed only"),
        (["--sealed", "--for", "Priya", "--format", "markdown"], "markdown cannot carry"),
        (["--sealed", "--for", "Priya", "--secret", "attic"], "no record is named 'attic'"),
        (["--sealed", "--for", "Priya", "--secret", KEY], "none of these secrets has a value"),
        (["--sealed", "--for", "Priya", "--kept-by", "x"], "no secret is kept by 'x'"),
        (["--sealed", "--for", "Priya", "--type-passphrase"], "not both"),
    ],
)
def test_what_does_not_fit_together_is_told_and_nothing_is_written(
    desk: Desk, tmp_path: Path, words: list[str], says: str
) -> None:
    before = desk.path.read_bytes()
    out = tmp_path / "out"
    answer = desk("export", "handoff", "--to", str(out), *words, handoff_passphrase_fd=PASSPHRASE)
    assert answer.status == 2
    assert says in answer.err
    assert answer.err.count("\n") == 1
    assert not out.exists()
    assert desk.path.read_bytes() == before


def test_a_handoff_passphrase_that_is_guessed_first_is_refused(desk: Desk, tmp_path: Path) -> None:
    answer = desk(
        "export", "handoff", "--sealed", "--for", "Priya Nandakumar", "--to", str(tmp_path),
        handoff_passphrase_fd="Quillmere Veterinary",
    )  # fmt: skip
    assert answer.status == 2
    assert list(tmp_path.glob("*.html")) == []
    with open_binder(desk.path, read_only=True) as binder:
        assert seen_by(binder, "Priya Nandakumar") == ()


def test_an_envelope_that_does_not_open_seals_nothing(desk: Desk, tmp_path: Path) -> None:
    answer = desk(
        "export", "handoff", "--sealed", "--for", "Priya Nandakumar", "--to", str(tmp_path),
        phrase="kettle ladder moonrisf", handoff_passphrase_fd=PASSPHRASE,
    )  # fmt: skip
    assert answer.status == 4
    assert list(tmp_path.glob("*.html")) == []
    with open_binder(desk.path, read_only=True) as binder:
        assert refused_since_opening(binder).count == 1


def test_without_a_terminal_no_passphrase_is_made_that_a_log_file_would_keep(
    desk: Desk, tmp_path: Path
) -> None:
    before = desk.path.read_bytes()
    answer = desk("export", "handoff", "--sealed", "--for", "Priya", "--to", str(tmp_path))
    assert answer.status == 2
    assert "terminal" in answer.err
    assert desk.path.read_bytes() == before


def test_without_sealed_a_document_needs_no_passphrase_and_holds_no_value(
    desk: Desk, tmp_path: Path
) -> None:
    for form in ("html", "markdown"):
        answer = desk("export", "handoff", "--format", form, "--to", str(tmp_path), phrase=None)
        assert answer.status == 0
    for path in [*tmp_path.glob("*.html"), *tmp_path.glob("*/*.md")]:
        assert "canary" not in path.read_text("utf-8")


def test_on_a_terminal_the_values_are_harmless_and_taken_away_again(
    sealed: Callable[..., Path],
) -> None:
    """ECMA-48 controls in a value are shown as signs; xterm's second screen leaves nothing."""
    path = sealed()
    master, slave = pty.openpty()
    with subprocess.Popen(
        [sys.executable, "-m", "tui.main", "unseal", str(path)],
        stdin=slave, stdout=slave, stderr=slave, start_new_session=True,
        env={**os.environ, "TERM": "xterm"},
    ) as process:  # fmt: skip
        os.close(slave)
        shown = _until(master, b"passphrase of the document: ")
        os.write(master, f"{PASSPHRASE}\n".encode())
        shown += _until(master, b"it goes in")
        os.write(master, b"\n")
        shown += _until(master, b"\x1b[?1049l")
        assert process.wait(10) == 0
    os.close(master)
    assert b"canary 4082" in shown
    assert "of two lines \u241b[2J" in shown.decode()
    assert PASSPHRASE.encode() not in shown


def _until(master: int, text: bytes) -> bytes:
    seen = b""
    while text not in seen:
        seen += os.read(master, 4096)
    return seen


def test_it_opens_without_the_binder_and_without_its_passphrase(
    desk: Desk, sealed: Callable[..., Path], unsealed: Callable[..., Unsealed]
) -> None:
    path = sealed()
    desk.path.unlink()
    assert unsealed(path, PHRASE)[0] == 4
    assert unsealed(path)[0] == 0


def test_the_demo_has_one(tmp_path: Path, unsealed: Callable[..., Unsealed]) -> None:
    demo = write_demo(tmp_path, date(2026, 11, 25), lambda line: None)
    status, got, _ = unsealed(demo.sealed, demo.sealed_passphrase, "--json")
    assert status == 0
    secrets = {secret["name"]: secret["value"] for secret in json.loads(got)["secrets"]}
    assert len(secrets) > 12
    for text in (demo.sealed.read_text("utf-8"), demo.handoff.read_text("utf-8")):
        for name, value in secrets.items():
            assert len(value) < 7 or value not in text, name  # a short PIN may be part of a number
