"""What a gap is, and how a rule that finds gaps is declared."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any, Final, Literal

from binder.read import Named, Record

if TYPE_CHECKING:
    from binder.closeout.facts import Facts

Severity = Literal["must", "should"]
COMMON: Final = "common practice, no published source"


@dataclass(frozen=True, slots=True)
class Gap:
    """Something that is missing: what, where, why it matters, how to mend it, what asks for it.

    `place` is the space or building of `subject`, '' where it is in none. It is mended in `field`
    of the subject, or by adding a record of the kind `adds`, which begins with `given`.
    """

    rule: str
    severity: Severity
    subject: Named
    place: str
    place_id: int | None
    says: str
    why: str
    mend: str
    basis: str
    field: str = ""
    adds: str = ""
    given: Mapping[str, Any] | None = None


@dataclass(frozen=True, slots=True)
class Waived:
    """A gap that somebody accepted; dates are ISO, `until` '' when it holds for good."""

    gap: Gap
    waiver_id: int
    reason: str
    by: str
    on: str
    until: str


@dataclass(frozen=True, slots=True)
class Found:
    """What a rule found: the record it is about, and where it is mended."""

    record: Record
    says: str
    field: str = ""
    adds: str = ""
    given: Mapping[str, Any] | None = None


@dataclass(frozen=True, slots=True)
class Rule:
    """A rule by its permanent name. `find` yields what is missing."""

    name: str
    severity: Severity
    why: str
    mend: str
    basis: str
    find: Callable[[Facts], Iterator[Found]]


RULES: Final[dict[str, Rule]] = {}


def rule(
    name: str, severity: Severity, *, why: str, mend: str, basis: str = COMMON
) -> Callable[[Callable[[Facts], Iterator[Found]]], Callable[[Facts], Iterator[Found]]]:
    """Declare a rule. Its name stands in waivers: it is never changed."""

    def declared(
        find: Callable[[Facts], Iterator[Found]],
    ) -> Callable[[Facts], Iterator[Found]]:
        if name in RULES:
            raise ValueError(f"two rules are called {name}")
        RULES[name] = Rule(name, severity, why, mend, basis, find)
        return find

    return declared
