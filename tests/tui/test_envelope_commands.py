"""Secrets at the command line: by whom they are seen, and where they must never be."""

from __future__ import annotations

import base64
import json
import os
import shutil
import sqlite3
import subprocess
import sys
import traceback
from collections.abc import Callable, Iterator
from datetime import UTC, date, datetime
from pathlib import Path
from typing import Any

import pytest

from binder.edit import Editor
from binder.file import open_binder
from binder.read import resolve
from tests.tui.envelope_desk import KEY, OTHER, PASSWORD, PHRASE, PIN, SEED, Desk, make_binder
from tui.commands.envelope import envelope

CANARY = "canary-7Q2x-Zebra-Lantern"


@pytest.fixture(scope="session")
def _made(tmp_path_factory: pytest.TempPathFactory) -> Path:
    path = tmp_path_factory.mktemp("desk") / "quillmere.binder"
    make_binder(path)
    return path


@pytest.fixture
def desk(_made: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> Desk:
    return Desk(Path(shutil.copy(_made, tmp_path)), capsys)


# Put in and shown. ------------------------------------------------------------------------


def test_a_value_comes_back_as_it_was_put_in_and_nowhere_but_there(desk: Desk) -> None:
    desk.put(PIN, "4082")
    answer = desk.reveal(PIN, why="the carrier asks")
    assert (answer.status, answer.written, answer.out) == (0, "4082", "")
    assert "4082" not in answer.err


def test_a_value_of_many_lines_loses_but_the_line_end_a_file_has(desk: Desk) -> None:
    desk.put(PASSWORD, "first\n\n third \n\n")
    assert desk.reveal(PASSWORD).written == "first\n\n third \n"


def test_passphrase_and_value_may_come_through_one_descriptor(desk: Desk) -> None:
    read, write = os.pipe()
    os.write(write, f"{PHRASE}\n4082\n".encode())
    os.close(write)
    one = str(read)
    words = ("envelope", "put", PIN, "--passphrase-fd", one, "--from-fd", one)
    assert desk(*words, phrase=None).status == 0
    os.close(read)
    assert desk.reveal(PIN).written == "4082"


def test_a_value_made_is_never_printed_and_can_be_revealed(desk: Desk) -> None:
    answer = desk("envelope", "put", PASSWORD, "--generate", "phone")
    made = desk.reveal(PASSWORD).written
    assert len(made.replace("-", "")) == 16
    assert made not in answer.out + answer.err
    assert "bits" in answer.err


def test_the_value_before_is_kept_until_it_is_discarded(desk: Desk) -> None:
    # the device may still have it
    for value in ("one", "two", "three"):
        desk.put(PASSWORD, value)
    assert desk.reveal(PASSWORD, "--version", "1").written == "one"
    assert desk("envelope", "discard", PASSWORD, "--old").status == 0
    assert desk.reveal(PASSWORD).written == "three"
    gone = desk.reveal(PASSWORD, "--version", "1")
    assert (gone.status, gone.written) == (2, "")
    assert "kept are: 3" in gone.err


def test_the_value_of_a_removed_secret_is_kept_for_undo_and_can_be_discarded(desk: Desk) -> None:
    desk.put(PIN, "4082")
    with open_binder(desk.path) as binder, Editor(binder, "M. Osei").step("remove") as step:
        step.remove(resolve(binder, PIN).id)
    assert PIN in desk.report("removed").out
    assert desk("envelope", "discard", PIN, "--old").status == 0
    assert PIN not in desk.report("removed").out


def test_one_time_codes_are_shown_and_the_seed_is_not(
    desk: Desk, monkeypatch: pytest.MonkeyPatch
) -> None:
    # RFC 6238, appendix B: SHA-1, eight digits, at 59 s and at 1111111109 s
    seed = base64.b32encode(b"12345678901234567890").decode()
    desk.put(SEED, f"otpauth://totp/lowfield?secret={seed}&digits=8")
    for moment, code in ((59, "94287082"), (1111111109, "07081804")):

        class At(datetime):
            @classmethod
            def now(cls, tz: Any = None) -> datetime:
                return datetime.fromtimestamp(moment, UTC)  # noqa: B023

        monkeypatch.setattr("tui.commands.reveal.datetime", At)
        assert desk.reveal(SEED).written == code
    monkeypatch.undo()
    acts = [line["act"] for line in json.loads(desk.report("log", SEED, "--json").out)]
    assert acts == ["code", "code", "set"]
    assert seed in desk.reveal(SEED, "--seed").written
    assert desk.report("log", SEED, "--json").out.count('"reveal"') == 1


# Written down first. ----------------------------------------------------------------------


def test_the_log_names_who_was_shown_what_why_and_on_which_call(desk: Desk) -> None:
    desk.put(PIN, "4082")
    desk.who = "L. Fontaine"
    desk.reveal(PIN, "--call", "L-0001", why="the carrier asks")
    line = json.loads(desk.report("log", PIN, "--json").out)[0]
    assert (line["act"], line["seen_by"], line["version"]) == ("reveal", "L. Fontaine", 1)
    assert line["why"] == "the carrier asks"
    assert "the carrier asks; L-0001" in desk.report("log", PIN).out


def test_a_value_that_nobody_took_was_written_down_all_the_same(desk: Desk) -> None:
    desk.put(PIN, "4082")
    read, write = os.pipe()
    os.close(read)
    answer = desk("reveal", PIN, "--why", "call", "--to-fd", str(write))
    os.close(write)
    assert (answer.status, answer.err.count("\n")) == (3, 1)
    assert "reveal" in desk.report("log", PIN).out


@pytest.mark.parametrize("words", [(), ("--to-fd", "937")], ids=["pipe", "no such descriptor"])
def test_a_value_that_cannot_be_given_is_refused_before_the_log_tells_of_it(
    desk: Desk, words: tuple[str, ...]
) -> None:
    desk.put(PIN, "4082")
    lines = desk.report("log").out
    answer = desk("reveal", PIN, "--why", "call", *words)
    assert (answer.status, answer.err.count("\n")) == (2, 1)
    assert "4082" not in answer.out + answer.err
    assert desk.report("log").out == lines


def test_a_read_only_session_shows_nothing_as_it_could_not_be_written_down(desk: Desk) -> None:
    desk.put(PIN, "4082")
    before = desk.path.read_bytes()
    answer = desk("reveal", PIN, "--why", "call", to_fd=True, before=("--read-only",))
    assert (answer.status, answer.written) == (2, "")
    assert "read-only" in answer.err
    assert "log" in answer.err
    assert desk.path.read_bytes() == before


# Passphrases. -----------------------------------------------------------------------------


@pytest.mark.parametrize(
    "words",
    [
        ("reveal", PIN, "--why", "call"),
        ("verify", "--open"),
        ("envelope", "check"),
        ("envelope", "renew"),
        ("envelope", "put", PIN, "--generate", "digits"),
        ("envelope", "add", "escrow"),
        ("envelope", "change", "shop team"),
        ("envelope", "rename", "shop team", "shop"),
        ("envelope", "remove", "shop team"),
        ("envelope", "discard", PIN, "--version", "1"),
    ],
    ids=lambda words: " ".join(words[:2]),
)
def test_a_wrong_passphrase_is_one_line_status_4_and_a_line_among_the_openings(
    desk: Desk, words: tuple[str, ...]
) -> None:
    desk.put(PIN, "4082")
    new = {"new_passphrase_fd": OTHER} if words[1] in ("add", "change") else {}
    answer = desk(*words, phrase="kettle ladder moonrisf", to_fd=words[0] == "reveal", **new)
    assert (answer.status, answer.out, answer.written) == (4, "", "")
    assert answer.err.count("\n") == 1
    assert "moonris" not in answer.err
    assert desk.report("openings").out.count("(did not open)") == 1
    assert desk.reveal(PIN).written == "4082"


def _in_file(path: Path, text: str, mode: int) -> str:
    path.write_text(text)
    path.chmod(mode)
    return str(path)


def test_a_passphrase_file_is_read_when_it_is_its_owners_alone(
    desk: Desk, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    file = tmp_path / "phrase"
    monkeypatch.setenv("BINDER_PASSPHRASE_FILE", _in_file(file, f"{PHRASE}\n", 0o600))
    assert desk("envelope", "check", phrase=None).status == 0
    for mode in (0o640, 0o604, 0o620):
        file.chmod(mode)
        answer = desk("envelope", "check", phrase=None)
        assert (answer.status, answer.out, answer.err.count("\n")) == (2, "", 1)
        assert "chmod 600" in answer.err
    file.unlink()
    assert desk("envelope", "check", phrase=None).status == 3


@pytest.mark.parametrize(
    ("phrase", "says"), [(b"", "nothing to read"), (b"\n", "nothing"), (b"\xff\xfe", "UTF-8")]
)
def test_what_is_no_passphrase_gets_one_line(desk: Desk, phrase: bytes, says: str) -> None:
    answer = desk("envelope", "check", phrase=None, passphrase_fd=phrase)
    assert (answer.status, answer.out, answer.err.count("\n")) == (2, "", 1)
    assert says in answer.err


def test_without_a_terminal_nobody_is_asked(desk: Desk) -> None:
    done = subprocess.run(
        [sys.executable, "-m", "tui.main", "envelope", "check", str(desk.path)],
        stdin=subprocess.DEVNULL, capture_output=True, text=True, start_new_session=True,
        timeout=30, check=False,
    )  # fmt: skip
    assert (done.returncode, done.stdout, done.stderr.count("\n")) == (2, "", 1)
    assert "--passphrase-fd" in done.stderr


def test_a_passphrase_is_no_argument_of_any_command() -> None:
    # arguments stand in the list of processes, for every account of the machine to read
    for command in envelope.commands.values():
        for parameter in command.params:
            if "passphrase" in (parameter.name or ""):
                assert parameter.opts[0].endswith("-fd")


# Keyholders. ------------------------------------------------------------------------------


def _opens(desk: Desk, phrase: str, *words: str) -> bool:
    status = desk("envelope", "check", *words, phrase=phrase).status
    assert status in (0, 4)
    return status == 0


def test_a_keyholder_is_added_changed_renamed_and_removed(desk: Desk) -> None:
    assert desk("envelope", "add", "escrow", new_passphrase_fd=OTHER).status == 0
    assert _opens(desk, OTHER)
    third = "umbrella glacier fennel"
    assert desk("envelope", "change", "escrow", new_passphrase_fd=third).status == 0
    assert _opens(desk, third)
    assert not _opens(desk, OTHER)
    assert desk("envelope", "rename", "escrow", "client's safe").status == 0
    assert desk("envelope", "renew", "--why", "to see").status == 0
    assert _opens(desk, third, "--keyholder", "client's safe")
    assert "client's safe" in desk.report("keyholders").out
    assert desk("envelope", "remove", "shop team", phrase=third).status == 0
    assert not _opens(desk, PHRASE)
    last = desk("envelope", "remove", "client's safe", phrase=third)
    assert (last.status, last.err.count("\n")) == (2, 1)
    assert "last" in last.err


def test_a_key_file_is_needed_beside_the_passphrase(desk: Desk, tmp_path: Path) -> None:
    key, wrong = tmp_path / "stick.key", tmp_path / "wrong.key"
    wrong.write_bytes(bytes(32))
    add = ("envelope", "add", "escrow", "--new-key-file", str(key))
    assert desk(*add, new_passphrase_fd=OTHER).status == 0
    assert key.stat().st_mode & 0o777 == 0o600
    assert "and key file" in desk.report("keyholders").out
    whose = ("--keyholder", "escrow")
    assert _opens(desk, OTHER, *whose, "--key-file", str(key))
    assert not _opens(desk, OTHER, *whose, "--key-file", str(wrong))
    without = desk("envelope", "check", *whose, phrase=OTHER)
    assert without.status == 2
    assert "key file" in without.err


def test_a_passphrase_made_is_given_once_and_opens(desk: Desk) -> None:
    answer = desk("envelope", "add", "escrow", "--generate", to_fd=True)
    assert answer.status == 0
    assert len(answer.written) > 20
    assert answer.written not in answer.out + answer.err
    assert _opens(desk, answer.written)


@pytest.mark.parametrize("phrase", ["short", "password password", "Quillmere Veterinary Clinic"])
def test_a_passphrase_that_is_guessed_first_is_refused(desk: Desk, phrase: str) -> None:
    # NIST SP 800-63B-4, 3.1.1.2: at least 15 characters, and none of those commonly used
    before = desk.report("keyholders").out
    answer = desk("envelope", "add", "escrow", new_passphrase_fd=phrase)
    assert (answer.status, answer.err.count("\n")) == (2, 1)
    assert desk.report("keyholders").out == before


def test_an_envelope_is_made_once_and_asked_for_where_there_is_none(
    desk: Desk, tmp_path: Path
) -> None:
    again = desk("envelope", "make", "second shop", phrase=None, new_passphrase_fd=OTHER)
    assert again.status == 2
    other = Desk(tmp_path / "harrow.binder", desk.capture)
    assert other("new", "--client", "Harrow Bakery", phrase=None).status == 0
    assert "binder envelope make" in other("envelope", "check").err
    made = other("envelope", "make", "shop", phrase=None, new_passphrase_fd=OTHER)
    assert made.status == 0
    assert "second keyholder" in made.err
    assert _opens(other, OTHER)


# Is the log whole? ------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("statements", "says"),
    [
        (["DELETE FROM envelope_log WHERE number = 4"], "line 4 is missing"),
        (["UPDATE envelope_log SET who = 'nobody' WHERE number = 4"], "line 4: was altered"),
        (
            [
                "UPDATE envelope_log SET number = 1000 WHERE number = 4",
                "UPDATE envelope_log SET number = 4 WHERE number = 5",
                "UPDATE envelope_log SET number = 5 WHERE number = 1000",
            ],
            "line 4: was altered, added, or moved",
        ),
        (
            ["DELETE FROM envelope_log WHERE number = (SELECT max(number) FROM envelope_log)"],
            "is missing",
        ),
        (["DELETE FROM secret_version"], "version 1 was taken away"),
    ],
    ids=["removed", "altered", "reordered", "truncated", "value taken away"],
)
def test_a_log_that_was_tampered_with_is_found(
    desk: Desk, statements: list[str], says: str
) -> None:
    desk.put(PIN, "4082")
    desk.reveal(PIN)
    assert desk("verify", "--open").status == 0
    desk.sql(*statements)
    for words in (("verify", "--open"), ("envelope", "check")):
        answer = desk(*words)
        assert answer.status == 1
        assert says in answer.out


def test_the_head_of_the_log_can_be_noted_elsewhere(desk: Desk) -> None:
    first, second = (json.loads(desk("envelope", "check", "--json").out) for _ in range(2))
    assert second["log_lines"] == first["log_lines"] + 1
    assert second["log_mac"] != first["log_mac"]
    assert first["faults"] == []


def test_a_passphrase_for_a_verify_that_opens_nothing_is_refused(desk: Desk) -> None:
    assert desk("verify").status == 2
    assert desk("verify", phrase=None).out == "whole\n"


# Somebody leaves. -------------------------------------------------------------------------


def _leaver(desk: Desk) -> dict[str, Any]:
    answer: dict[str, Any] = json.loads(desk.report("leaver", "K. Brandt", "--json").out)
    return answer


def test_what_a_leaver_has_seen_is_listed_until_it_is_rotated(desk: Desk) -> None:
    for name in (PIN, PASSWORD, KEY):
        desk.put(name, "first value")
    desk.put(SEED, "GEZDGNBVGY3TQOJQ")
    desk("envelope", "add", "escrow", new_passphrase_fd=OTHER)
    desk.who = "K. Brandt"
    for name in (PIN, PASSWORD, KEY):
        desk.reveal(name)
    desk.reveal(SEED)  # codes; the seed stays unknown
    desk.who = "M. Osei"
    assert desk.report("leaver", "K. Brandt").status == 1
    assert [one["secret"] for one in _leaver(desk)["to_rotate"]] == [PIN, KEY, PASSWORD]
    for name in (PIN, PASSWORD, KEY):
        desk("envelope", "put", name, "--generate", "plain")
    assert _leaver(desk)["to_rotate"] == []
    assert _leaver(desk)["passphrases"] == ["shop team"]
    desk("envelope", "change", "shop team", new_passphrase_fd="umbrella glacier fennel")
    assert desk.report("leaver", "K. Brandt").status == 1
    desk("envelope", "renew", phrase=OTHER)
    assert desk.report("leaver", "K. Brandt").status == 0
    assert "replaced" in desk.report("seen", "K. Brandt").out


def test_all_a_leaver_knows_is_marked_at_once_and_none_is_put_off(desk: Desk) -> None:
    desk.who = "K. Brandt"
    for name in (PIN, PASSWORD):
        desk.put(name, "first value")
    desk.who = "M. Osei"
    with open_binder(desk.path) as binder, Editor(binder, "M. Osei").step("due") as step:
        step.change(resolve(binder, PIN).id, {"rotate_by": "2020-01-31"})
    assert desk.report("overdue").out.count("2020-01-31") == 1
    answer = desk.report("leaver", "k. brandt", "--mark", "--by", "today")
    assert answer.status == 1
    assert "marked 1" in answer.err
    overdue = desk.report("overdue")
    assert overdue.status == 1
    rows = [line.split() for line in overdue.out.splitlines()]
    assert any("2020-01-31" in row for row in rows)
    assert any(date.today().isoformat() in row and "Brandt" in row for row in rows)


def test_a_name_mistyped_is_not_answered_with_nothing_to_rotate(desk: Desk) -> None:
    desk.put(PIN, "4082")
    for report in ("leaver", "seen"):
        answer = desk.report(report, "M Ose")
        assert (answer.status, answer.out, answer.err.count("\n")) == (2, "", 1)
        assert "M. Osei" in answer.err


# Nowhere else. ----------------------------------------------------------------------------


@pytest.fixture
def journals(desk: Desk, monkeypatch: pytest.MonkeyPatch) -> Iterator[list[bytes]]:
    """What the journal held at the end of every transaction of every command."""
    seen: list[bytes] = []
    connect = sqlite3.connect

    def connected(*given: Any, **named: Any) -> sqlite3.Connection:
        connection = connect(*given, **named)
        connection.set_trace_callback(
            lambda sql: seen.extend(
                path.read_bytes() for path in desk.path.parent.glob("*-journal") if sql == "COMMIT"
            )
        )
        return connection

    monkeypatch.setattr(sqlite3, "connect", connected)
    yield seen
    monkeypatch.undo()


def _forms(text: str) -> list[bytes]:
    """The text plain, wide, hexadecimal, and base64 at each of three places."""
    data = text.encode()
    middles = [base64.b64encode(b"?" * pad + data)[4:-4] for pad in range(3)]
    return [data, data.lower(), text.encode("utf-16-le"), data.hex().encode(), *middles]


def _assert_nowhere(data: bytes, what: str) -> None:
    for text in (CANARY, PHRASE, OTHER):
        for form in _forms(text):
            assert form not in data, f"{form!r} in {what}"


def test_a_value_is_found_nowhere_but_where_it_was_asked_to(
    desk: Desk, journals: list[bytes], tmp_path: Path
) -> None:
    desk.put(PASSWORD, f"{CANARY} before")
    desk.put(PASSWORD, CANARY)
    assert desk.reveal(PASSWORD, why="to see").written == CANARY
    with open_binder(desk.path) as binder:
        editor = Editor(binder, "M. Osei")
        with editor.step("remove") as step:
            step.remove(resolve(binder, PASSWORD).id)
        editor.undo()
    assert desk.reveal(PASSWORD).written == CANARY
    out = tmp_path / "out"
    said = [
        desk("envelope", "add", "escrow", new_passphrase_fd=OTHER),
        desk("envelope", "renew"), desk("verify", "--open"),
        desk("envelope", "discard", PASSWORD, "--version", "1"),
        desk("export", "handoff", "--to", str(out), phrase=None),
        desk("export", "handoff", "--format", "markdown", "--to", str(out), phrase=None),
        desk("backup", "--to", str(tmp_path / "copy.binder"), phrase=None),
        desk("dump", "--to", str(tmp_path / "dump.json"), phrase=None),
        desk("show", PASSWORD, phrase=None), desk("history", phrase=None),
        desk("find", "SW1", phrase=None), desk("show", PASSWORD, "--json", phrase=None),
        desk.report("log"), desk.report("log", "--json"), desk.report("seen", "M. Osei"),
    ]  # fmt: skip
    assert {answer.status for answer in said} == {0}
    for answer in said:
        _assert_nowhere((answer.out + answer.err + answer.written).encode(), "an answer")
    assert len(journals) > 8
    for journal in journals:
        _assert_nowhere(journal, "a journal")
    files = [path for path in tmp_path.rglob("*") if path.is_file()]
    assert len(files) > 5
    for path in files:
        _assert_nowhere(path.read_bytes(), path.name)


def test_the_canary_would_be_found_where_it_is() -> None:
    for form in _forms(CANARY):
        with pytest.raises(AssertionError):
            _assert_nowhere(b"x" + form + b"y", "here")


def _crash(*_: Any, **__: Any) -> Any:
    raise ZeroDivisionError("a fault of the program")


@pytest.mark.parametrize(
    ("where", "act"),
    [
        ("tui.commands.reveal.write", lambda desk: desk.reveal(PASSWORD)),
        ("tui.reveal.os.fdopen", lambda desk: desk.reveal(PASSWORD)),
        ("binder.envelope.opened.open_envelope", lambda desk: desk.reveal(PASSWORD)),
        ("binder.envelope.values.insert", lambda desk: desk.put(PASSWORD, CANARY)),
        ("binder.envelope.ciphers.argon2id", lambda desk: desk.reveal(PASSWORD, phrase=OTHER)),
        ("tui.passphrase._Bytes.text", lambda desk: desk.put(PASSWORD, CANARY)),
    ],
    ids=["giving", "writing", "opening", "keeping", "deriving", "reading"],
)
def test_a_crash_report_with_every_variable_does_not_hold_it(
    desk: Desk, monkeypatch: pytest.MonkeyPatch, where: str, act: Callable[[Desk], Any]
) -> None:
    desk.put(PASSWORD, CANARY)
    monkeypatch.setattr(where, _crash)
    with pytest.raises(ZeroDivisionError) as caught:
        act(desk)
    monkeypatch.undo()
    told = traceback.TracebackException.from_exception(caught.value, capture_locals=True)
    frames = [frame for frame in told.stack if "/tests/" not in frame.filename]
    assert len(frames) > 3
    for frame in frames:
        _assert_nowhere(repr(frame.locals).encode(), f"{frame.name} of {frame.filename}")


# Help. ------------------------------------------------------------------------------------


def test_every_part_shows_an_example_in_its_help() -> None:
    for name, command in envelope.commands.items():
        assert f"binder envelope {name} harrow" in (command.epilog or "")
        assert command.help
