"""What goes wrong, in one line for the person it happens to, with the exit status it causes.

BinderError
├── RequestError          2  what was asked for cannot be done as asked
│   ├── FaultsError       2  several values do not fit; each is told with its place
│   ├── HangsOnError      2  other records hang on what was to be removed
│   └── ConflictError     2  someone else changed it meanwhile; both versions are given
├── FileError             3  the binder could not be read or written
└── EnvelopeError         4  the envelope did not open
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any


class BinderError(Exception):
    """One sentence: what, where, and what to do."""

    exit_status = 2


class RequestError(BinderError):
    exit_status = 2


@dataclass(frozen=True, slots=True)
class Fault:
    """One value that does not fit: where it is, what was given, what is accepted."""

    where: str
    says: str
    given: str = ""

    def __str__(self) -> str:
        given = f" (given: {self.given})" if self.given else ""
        return f"{self.where}: {self.says}{given}"


class FaultsError(RequestError):
    """Values that do not fit. Nothing was changed."""

    def __init__(self, faults: tuple[Fault, ...]) -> None:
        self.faults = faults
        more = f" (and {len(faults) - 1} more)" if len(faults) > 1 else ""
        super().__init__(f"{faults[0]}{more}")


@dataclass(frozen=True, slots=True)
class Dependent:
    """A record that hangs on another through one of its fields."""

    id: int
    kind: str
    name: str
    through: str  # label of the field


class HangsOnError(RequestError):
    """Records hang on what was to be removed; remove with its dependents to take them along."""

    def __init__(self, name: str, dependents: tuple[Dependent, ...]) -> None:
        self.name = name
        self.dependents = dependents
        shown = ", ".join(f"{d.kind.replace('_', ' ')} {d.name}" for d in dependents[:4])
        more = f" and {len(dependents) - 4} more" if len(dependents) > 4 else ""
        super().__init__(
            f"{name} cannot go alone: {shown}{more} hang on it; "
            "remove it with its dependents, or move them first"
        )


class ConflictError(RequestError):
    """The record changed since it was read. `mine` and `theirs` hold the fields that differ."""

    def __init__(
        self, name: str, mine: Mapping[str, Any], theirs: Mapping[str, Any], who: str
    ) -> None:
        self.mine = dict(mine)
        self.theirs = dict(theirs)
        self.who = who
        fields = ", ".join(self.theirs) or "it"
        super().__init__(
            f"{name}: {who} changed {fields} since you read it; look at both and choose"
        )


class FileError(BinderError):
    exit_status = 3


class EnvelopeError(BinderError):
    exit_status = 4
