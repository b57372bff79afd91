"""What the formulae share: ranges checked, sums worked through, what a limit leaves free."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from math import inf, isfinite


def require(what: str, value: float, unit: str, least: float = 0.0, most: float = inf) -> None:
    """Raises ValueError, naming the quantity and its unit, for a value outside those bounds."""
    if isfinite(value) and least <= value <= most:
        return
    bounds = f"from {least:g} to {most:g}" if isfinite(most) else f"finite, {least:g}"
    unit = f" {unit}" if unit else ""
    or_more = "" if isfinite(most) else " or more"
    raise ValueError(f"{what} {value:g}{unit}: must be {bounds}{unit}{or_more}")


def require_above(what: str, value: float, unit: str, floor: float = 0.0) -> None:
    """Raises ValueError, naming the quantity and its unit, for a value not above that floor."""
    if not (isfinite(value) and value > floor):
        unit = f" {unit}" if unit else ""
        raise ValueError(f"{what} {value:g}{unit}: must be finite, above {floor:g}{unit}")


def plain(value: float) -> str:
    """A number as it stands in a sum: four significant digits, and never an exponent."""
    if value == round(value) or abs(value) >= 1000:
        return f"{value:.0f}"
    return f"{value:.4g}" if abs(value) >= 0.001 else f"{value:.6f}"


@dataclass(frozen=True, slots=True)
class Step:
    """One line of a sum: what is found, the working in numbers, what it comes to, and its basis."""

    what: str
    working: str
    value: float
    unit: str
    basis: str = ""

    def __str__(self) -> str:
        told = f"{self.what}: {self.working} = {plain(self.value)} {self.unit}".rstrip()
        return f"{told} ({self.basis})" if self.basis else told


@dataclass(frozen=True, slots=True)
class Budget:
    """A limit, what is used and kept of it, and how that was found. `free` is negative when over.

    The limit is what may be planned up to, not what a maker rates: the steps tell how one came
    from the other.
    """

    limit: float
    used: float
    reserved: float
    unit: str
    steps: tuple[Step, ...] = ()

    @property
    def free(self) -> float:
        return self.limit - self.used - self.reserved

    @property
    def share(self) -> float:
        """Used and reserved over the limit: 1 when full, infinite when there is no limit at all."""
        taken = self.used + self.reserved
        if self.limit:
            return taken / self.limit
        return inf if taken else 0.0


def scarcest(budgets: Iterable[Budget]) -> Budget:
    """The budget with the greatest share taken. Raises ValueError when there is none."""
    found = max(budgets, key=lambda budget: budget.share, default=None)
    if found is None:
        raise ValueError("no budget given: at least one is compared")
    return found
