"""A value in memory, kept from being seen by accident.

What this does: the value is in no repr, so in no log line, f-string, traceback with its local
variables, pickle, or copy. What it cannot do: Python strings can be neither wiped nor locked in
memory; whoever reads this process's memory, its swap or its core dump reads the value.
"""

from __future__ import annotations

import hmac


class SecretValue:
    """Text that prints as `<secret>`. `expose()` gives it, for as short a while as can be."""

    __slots__ = ("_text",)

    def __init__(self, text: str) -> None:
        self._text = text

    def expose(self) -> str:
        """The text itself. Do not keep it in a variable; empty once forgotten."""
        return self._text

    def forget(self) -> None:
        """Let go of the text. Other references to it, and its bytes in memory, may remain."""
        self._text = ""

    def __repr__(self) -> str:
        return "<secret>"

    def __format__(self, specification: str) -> str:
        return format("<secret>", specification)

    def __bool__(self) -> bool:
        return bool(self._text)

    def __eq__(self, other: object) -> bool:
        if not isinstance(other, SecretValue):
            return NotImplemented
        ours, theirs = (v._text.encode(errors="surrogatepass") for v in (self, other))
        return hmac.compare_digest(ours, theirs)

    __hash__ = None  # type: ignore[assignment]  # a hash would tell equal values apart

    def __reduce_ex__(self, protocol: object) -> str:
        raise TypeError("a secret value is neither copied nor stored")
