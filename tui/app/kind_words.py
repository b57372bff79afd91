"""What kinds of record are called, and what can be done with which."""

from __future__ import annotations

from typing import Final

from binder.records.fields import Kind

# As `binder.impact.FAILING` has them; told here so that starting up costs no impact.
CAN_FAIL: Final = (
    "hardware", "port", "link", "cord", "circuit", "branch_circuit", "pathway", "rack", "space",
)  # fmt: skip
TRACED: Final = ("port", "link", "cord", "hardware", "circuit")
# As `binder.trouble` has them, for the same reason.
TROUBLED: Final = (
    "circuit", "hardware", "space", "building", "rack", "port", "link", "cord", "contact",
    "client", "authorised_caller", "account", "secret", "inlet", "configuration_copy", "warranty",
    "known_issue", "reading", "duty", "key", "address",
)  # fmt: skip
HAS_FACE: Final = ("hardware", "port", "link", "cord")
JOINED: Final = ("link", "cord")  # two ports
DRAWN: Final = (
    "rack", "hardware", "inlet", "configuration_copy", "port", "link", "cord", "circuit",
)  # fmt: skip
IN_A_RACK: Final = ("hardware", "port", "inlet", "configuration_copy")


def one(kind: Kind) -> str:
    """What one of a kind is called within a sentence: 'log entry', 'SSID'."""
    return kind.label if kind.label.isupper() else kind.label.lower()


def many(kind: Kind) -> str:
    """What several of a kind are called: 'Log entries'."""
    if kind.label_plural:
        return kind.label_plural
    if kind.label.isupper():
        return f"{kind.label}s"
    return kind.plural.replace("_", " ").capitalize()
