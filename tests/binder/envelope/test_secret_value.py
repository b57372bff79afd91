"""A value in memory is not seen by accident."""

from __future__ import annotations

import copy
import pickle
import traceback

import pytest

from binder.envelope.secret_value import SecretValue

CANARY = "canary-7Q2x-Zebra"


def test_a_value_prints_as_secret() -> None:
    value = SecretValue(CANARY)
    for shown in (
        repr(value),
        str(value),
        f"{value}",
        f"{value!r:>20}",
        "{}".format(value),  # noqa: UP032
        repr([value]),
    ):
        assert CANARY not in shown
        assert "<secret>" in shown


def test_a_value_is_not_in_a_traceback_with_local_variables() -> None:
    value = SecretValue(CANARY)
    try:
        raise RuntimeError(f"{value}")
    except RuntimeError as error:
        told = traceback.TracebackException.from_exception(error, capture_locals=True)
        text = "".join(told.format())
    assert value
    assert "<secret>" in text
    assert CANARY not in text.replace(f'"{CANARY}"', "")  # the source line above shows no value


def test_a_value_is_neither_copied_nor_stored() -> None:
    for act in (pickle.dumps, copy.copy, copy.deepcopy):
        with pytest.raises(TypeError, match="neither copied nor stored"):
            act(SecretValue(CANARY))
    with pytest.raises(TypeError):
        hash(SecretValue(CANARY))


def test_values_compare_by_what_they_hold() -> None:
    assert SecretValue("a\ud800") == SecretValue("a\ud800")
    assert SecretValue("a") != SecretValue("b")
    assert SecretValue("a") != "a"


def test_a_forgotten_value_is_gone_from_the_object() -> None:
    value = SecretValue(CANARY)
    value.forget()
    assert not value
    assert value.expose() == ""
