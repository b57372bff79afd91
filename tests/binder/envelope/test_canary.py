"""A value that is easily found is put through everything, and found nowhere."""

from __future__ import annotations

import base64
import logging
import traceback
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from binder import find, history, search_index, sheet
from binder.edit import Editor
from binder.envelope import reports
from binder.envelope.keys import weak_work_for_tests
from binder.envelope.opened import Envelope
from binder.envelope.secret_value import SecretValue
from binder.errors import BinderError, EnvelopeError
from binder.file import BinderFile, back_up
from binder.intake.json_form import dump, to_text
from tests.binder.envelope.conftest import ESCROW, PASSPHRASE, WRONG, clock, open_again

CANARY = "canary-7Q2x-Zebra-Lantern"


def forms(text: str) -> list[bytes]:
    """The text as it might lie about: plain, wide, hexadecimal, base64 at each of three places."""
    data = text.encode()
    middles = [base64.b64encode(b"?" * pad + data)[4:-4] for pad in range(3)]
    return [data, data.lower(), text.encode("utf-16-le"), data.hex().encode(), *middles]


def assert_nowhere(data: bytes, what: str, *texts: str) -> None:
    for text in texts or (CANARY, PASSPHRASE.expose(), ESCROW.expose()):
        for form in forms(text):
            assert form not in data, f"{what}: {form!r}"


class Journals:
    """Reads the file and its journal at the end of every transaction, before it is closed."""

    def __init__(self, binder: BinderFile) -> None:
        self.path = binder.path
        self.seen: list[bytes] = []
        binder.connection.set_trace_callback(self.at)

    def at(self, statement: str) -> None:
        if statement in ("COMMIT", "ROLLBACK"):
            journal = self.path.with_name(f"{self.path.name}-journal")
            self.seen.append(self.path.read_bytes())
            if journal.exists():
                self.seen.append(journal.read_bytes())


def everything(binder: BinderFile, envelope: Envelope, editor: Editor, secret: int) -> None:
    """Put in, changed, revealed, handed over, removed with undo, discarded, renewed."""
    envelope.put(secret, SecretValue(CANARY))
    envelope.put(secret, SecretValue(f"{CANARY} again"))
    assert envelope.reveal(secret, "call").expose() == f"{CANARY} again"
    envelope.hand_over([secret], "Priya Nandakumar", "issue 3")
    with editor.step("remove it") as step:
        step.remove(secret)
    editor.undo()
    editor.redo()
    editor.undo()
    assert envelope.reveal(secret, "back", version=1).expose() == CANARY
    envelope.renew()
    envelope.add_keyholder("Escrow", ESCROW, work=weak_work_for_tests())
    envelope.discard(secret, [1])
    search_index.rebuild(binder.connection)


def test_the_value_is_nowhere_on_the_disk(
    binder: BinderFile, editor: Editor, envelope: Envelope, password: int, tmp_path: Path
) -> None:
    journals = Journals(binder)
    everything(binder, envelope, editor, password)
    binder.connection.set_trace_callback(None)
    back_up(binder, tmp_path / "backup.binder")
    (tmp_path / "dump.json").write_text(to_text(dump(binder)), "utf-8")
    assert len(journals.seen) > 15
    for data in journals.seen:
        assert_nowhere(data, "the file or its journal, while written")
    for path in tmp_path.rglob("*"):
        if path.is_file():
            assert_nowhere(path.read_bytes(), path.name)


def test_the_canary_would_be_found_if_it_were_there(
    binder: BinderFile, editor: Editor, password: int
) -> None:
    with editor.step("written where it must not be") as step:
        step.change(password, {"notes": CANARY})
    with pytest.raises(AssertionError):
        assert_nowhere(binder.path.read_bytes(), "the file")
    for form in (base64.b64encode(b"xy" + CANARY.encode()), CANARY.encode().hex().encode()):
        with pytest.raises(AssertionError):
            assert_nowhere(form, "encoded")


def test_the_value_is_in_no_answer_of_the_core(
    binder: BinderFile, editor: Editor, envelope: Envelope, password: int
) -> None:
    everything(binder, envelope, editor, password)
    answers: list[Any] = [
        sheet.sheet(binder, password, clock().date()),
        history.recent(binder),
        history.of_record(binder, password),
        find.find(binder, "SW1"),
        find.find(binder, CANARY),
        reports.log(binder),
        reports.versions(binder, password),
        reports.leaver(binder, "M. Osei"),
        reports.openings(binder),
        envelope.check(every_value=True),
        envelope.reveal(password, "in an object"),
        envelope.hand_over([password], "Priya Nandakumar", "issue 4"),
        envelope,
        envelope.keys,
        vars(envelope),
        [*binder.connection.iterdump()],
    ]
    for answer in answers:
        told = repr(answer).replace(f"query={CANARY!r}", "")
        assert_nowhere(told.encode(errors="replace"), type(answer).__name__)


def test_the_value_is_in_no_error_and_no_traceback(
    binder: BinderFile,
    editor: Editor,
    envelope: Envelope,
    password: int,
    key: int,
    caplog: pytest.LogCaptureFixture,
) -> None:
    """Also not with the local variables of every frame of ours, as a crash report shows them."""
    caplog.set_level(logging.DEBUG)
    with editor.step("a seed") as step:
        step.change(key, {"form": "one-time-code seed"})
    envelope.put(password, SecretValue(CANARY))
    seed_uri = SecretValue(f"otpauth://totp/x?secret={CANARY}&digits=6")
    broken = SecretValue(f"{CANARY}\ud800")
    acts: list[Callable[[], Any]] = [
        lambda: envelope.put(key, SecretValue(CANARY)),
        lambda: envelope.put(key, seed_uri),
        lambda: envelope.put(password, broken),
        lambda: envelope.put(42, SecretValue(CANARY)),
        lambda: open_again(binder, WRONG),
        lambda: open_again(binder, PASSPHRASE, keyholder="nobody"),
        lambda: envelope.add_keyholder("x", SecretValue(CANARY[:10])),
        lambda: envelope.add_keyholder("x", SecretValue(f"{CANARY}\ud800")),
        lambda: _full(binder, lambda: envelope.put(password, SecretValue(CANARY))),
        lambda: _full(binder, lambda: envelope.reveal(password, "call")),
        lambda: _damaged(binder, lambda: envelope.reveal(password, "call")),
        lambda: _damaged(binder, envelope.renew),
    ]
    for act in acts:
        with pytest.raises(BinderError) as caught:
            act()
        assert "\n" not in str(caught.value)
        assert_nowhere(_told(caught.value).encode(errors="replace"), str(caught.value))
    assert_nowhere(caplog.text.encode(), "the log")


def _full(binder: BinderFile, act: Callable[[], Any]) -> None:
    """As on a disk that has no room for one page more."""
    pages = binder.connection.execute("PRAGMA page_count").fetchone()[0]
    binder.connection.execute(f"PRAGMA max_page_count = {pages}")
    try:
        for _ in range(2000):
            act()
    finally:
        binder.connection.execute("PRAGMA max_page_count = 1000000")


def _damaged(binder: BinderFile, act: Callable[[], Any]) -> None:
    binder.connection.execute("UPDATE secret_version SET set_by = 'nobody'")
    act()


def _told(error: BaseException) -> str:
    """The traceback with the locals of the product's own frames, and of all errors before it."""
    told = traceback.TracebackException.from_exception(error, capture_locals=True)
    text = []
    while told is not None:
        text.append(str(told))
        text += [
            f"{name} = {shown}"
            for frame in told.stack
            if "/tests/" not in frame.filename
            for name, shown in (frame.locals or {}).items()
        ]
        told = told.__cause__ or told.__context__  # type: ignore[assignment]
    return "\n".join(text)


def test_a_passphrase_is_in_no_row(binder: BinderFile, envelope: Envelope) -> None:
    with pytest.raises(EnvelopeError):
        open_again(binder, WRONG)
    assert_nowhere(binder.path.read_bytes(), "the file", PASSPHRASE.expose(), WRONG.expose())
