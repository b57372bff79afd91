"""The name that stands in the history beside a change."""

from __future__ import annotations

import getpass

import pytest

from binder.who import who


def test_the_name_given_comes_first() -> None:
    assert who("M. Osei", {"BINDER_WHO": "R. Adeyemi"}) == "M. Osei"


def test_the_environment_comes_next() -> None:
    assert who(None, {"BINDER_WHO": " R. Adeyemi "}) == "R. Adeyemi"
    assert who("", {"BINDER_WHO": "R. Adeyemi"}) == "R. Adeyemi"


def test_the_login_name_comes_last(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(getpass, "getuser", lambda: "mosei")
    assert who(None, {}) == "mosei"
    assert who("  ", {"BINDER_WHO": "  "}) == "mosei"


def test_over_ssh_the_address_stands_beside_the_login(monkeypatch: pytest.MonkeyPatch) -> None:
    # sshd(8): SSH_CONNECTION is client address, client port, server address, server port.
    monkeypatch.setattr(getpass, "getuser", lambda: "mosei")
    connection = {"SSH_CONNECTION": "203.0.113.5 50022 192.0.2.9 22"}
    assert who(None, connection) == "mosei from 203.0.113.5"
    assert who("M. Osei", connection) == "M. Osei"


def test_an_account_without_a_name(monkeypatch: pytest.MonkeyPatch) -> None:
    def no_entry() -> str:
        raise KeyError("getpwuid(): uid not found: 4711")

    monkeypatch.setattr(getpass, "getuser", no_entry)
    assert who(None, {}) == "unknown"


def test_bytes_that_are_no_text_can_be_stored() -> None:
    # PEP 383: such bytes of the environment and the command line come as lone surrogates.
    assert who("Os\udce9i", {}) == "Os?i"
