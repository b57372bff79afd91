"""A binder with an envelope that costs nothing to open, and three secrets in it."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

import pytest

from binder.edit import Editor
from binder.envelope.keys import KeyFile, weak_work_for_tests
from binder.envelope.opened import Envelope, create_envelope, open_envelope
from binder.envelope.secret_value import SecretValue
from binder.errors import EnvelopeError
from binder.file import BinderFile, create
from binder.read import resolve

PASSPHRASE = SecretValue("kettle ladder moonrise")
ESCROW = SecretValue("harbour trombone lichen")
WRONG = SecretValue("kettle ladder moonrisf")
SHOP = "Lowfield shop"


def clock() -> datetime:
    return datetime(2026, 3, 14, 9, 40, tzinfo=UTC)


def make_envelope(binder: BinderFile, *, key_file: KeyFile | None = None) -> Envelope:
    """An envelope of M. Osei's, whose parameters protect nothing."""
    return create_envelope(
        binder, SHOP, PASSPHRASE, who="M. Osei", key_file=key_file,
        work=weak_work_for_tests(), clock=clock,
    )  # fmt: skip


def open_again(
    binder: BinderFile, passphrase: SecretValue = PASSPHRASE, who: str = "M. Osei", **more: Any
) -> Envelope:
    """Open at no cost."""
    return open_envelope(
        binder, passphrase, who=who, work=weak_work_for_tests(), clock=clock, **more
    )


def opens(binder: BinderFile, passphrase: SecretValue) -> bool:
    """Whether it does."""
    try:
        open_again(binder, passphrase)
    except EnvelopeError:
        return False
    return True


def add_secrets(editor: Editor) -> None:
    """An account and three secrets, without their values."""
    with editor.step("accounts") as step:
        account = step.add("account", {"system": "SW1", "login": "admin"})
        for identifier, form in (
            ("SW1 admin password", "password"),
            ("fibre account PIN", "PIN"),
            ("guest key", "pre-shared key"),
        ):
            step.add("secret", {"identifier": identifier, "form": form, "belongs_to": account})


@pytest.fixture
def secret_id(binder: BinderFile, editor: Editor) -> Callable[[str], int]:
    """The id of a secret, by name, after the records were added."""
    add_secrets(editor)
    return lambda name: resolve(binder, name, "secret").id


@pytest.fixture
def envelope(binder: BinderFile) -> Envelope:
    return make_envelope(binder)


@pytest.fixture
def password(secret_id: Callable[[str], int]) -> int:
    return secret_id("SW1 admin password")


@pytest.fixture
def pin(secret_id: Callable[[str], int]) -> int:
    return secret_id("fibre account PIN")


@pytest.fixture
def key(secret_id: Callable[[str], int]) -> int:
    return secret_id("guest key")


@pytest.fixture
def other_binder(tmp_path: Path) -> Iterator[BinderFile]:
    """Another client's binder, with an envelope of the same shop under the same passphrase."""
    with create(tmp_path / "harrow.binder", "Harrow Street Dental") as binder:
        make_envelope(binder)
        yield binder
