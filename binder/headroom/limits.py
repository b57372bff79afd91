"""Planning limits: how full things may get, with where each figure is from.

A planning limit record of the same name takes the place of a default. A practice without a
published source says so; nothing here is a code or a standard unless it names one.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType
from typing import Final


@dataclass(frozen=True, slots=True)
class Limit:
    """A planning limit: its value in `unit`, and why that much."""

    name: str
    value: float
    unit: str
    because: str

    @property
    def share(self) -> float:
        """A percentage as a share of one. Raises ValueError above 100 %."""
        if self.value > 100:
            raise ValueError(f"planning limit {self.name} {self.value:g}: must be from 0 to 100 %")
        return self.value / 100


_PRACTICE = "common practice, no published source"

# fmt: off
LIMITS: Final[tuple[Limit, ...]] = (
    Limit("tight percent", 90, "%",
          f"of a limit, from where a row is called tight; {_PRACTICE}"),
    Limit("rack units percent", 80, "%",
          f"{_PRACTICE}; Washington State University's design guide (TDDG 4.3.5 C) has half a "
          "rack free at design"),
    Limit("rack weight percent", 100, "%", "the maker's load rating has its own margin"),
    Limit("panel ports percent", 100, "%", "every port may be terminated"),
    Limit("switch ports percent", 100, "%", "every port may be patched"),
    Limit("PoE watts percent", 80, "%", f"room for start-up and growth; {_PRACTICE}"),
    Limit("uplink ratio", 20, ": 1", "access to distribution, 20 to 1; vendor design guides"),
    Limit("UPS load percent", 80, "%", f"room for start-up and growth; {_PRACTICE}"),
    Limit("power factor", 0.9, "", f"of equipment that has none recorded; {_PRACTICE}"),
    Limit("branch circuit percent", 80, "%", "continuous load, NFPA 70 (NEC) 210.20(A)"),
    Limit("outage minutes", 15, "min", f"to shut down in order, or a generator start; {_PRACTICE}"),
    Limit("cooling percent", 100, "%", "the rating of the room's cooling"),
    Limit("air around C", 24, "°C", f"of the rooms around a closed one; {_PRACTICE}"),
    Limit("recorder cameras percent", 75, "%",
          f"of the advertised count; {_PRACTICE}"),
    Limit("recorder rate percent", 80, "%", f"of the rated rate; {_PRACTICE}"),
    Limit("retention days", 30, "days", f"where a recorder has no target of its own; {_PRACTICE}"),
    Limit("disk percent", 80, "%", f"of a file store; {_PRACTICE}"),
    Limit("DHCP range percent", 90, "%", f"{_PRACTICE}"),
    Limit("fixed addresses percent", 100, "%", "every address may be given"),
    Limit("tray percent", 50, "%", "of its section, the most (TIA-569, value from memory)"),
    Limit("hooks percent", 50, "%",
          "of a hook's opening (Washington State University, TDDG 4.5.2.1 B)"),
    Limit("strands percent", 100, "%", "every strand may be lit"),
    Limit("optical margin dB", 3, "dB", "kept for repair and age; FOA guide (value from memory)"),
    Limit("circuit rate percent", 80, "%", f"of the rate, at the 95th percentile; {_PRACTICE}"),
    Limit("wireless clients", 30, "clients", f"on one access point; {_PRACTICE}"),
)
# fmt: on

BY_NAME: Final[Mapping[str, Limit]] = MappingProxyType({limit.name: limit for limit in LIMITS})


class Limits:
    """The planning limits of one binder: its own where it has set them, else the defaults."""

    def __init__(self, own: Mapping[str, tuple[float, str]]) -> None:
        """`own` has value and reason of each planning limit record, by its name."""
        self._own = {name.strip().casefold(): given for name, given in own.items()}

    def __getitem__(self, name: str) -> Limit:
        known = BY_NAME[name]
        own = self._own.get(name.casefold())
        if own is None:
            return known
        value, because = own
        because = because or "planning limit of this binder"
        return Limit(name, value, known.unit, f"{because} ({known.name} {value:g})")

    @property
    def tight(self) -> float:
        """The share from which a row is tight; from 100 % on, none is before it is full."""
        return min(1.0, self["tight percent"].value / 100)

    def strangers(self) -> tuple[str, ...]:
        """Names of planning limit records that stand for nothing here."""
        known = {name.casefold() for name in BY_NAME}
        return tuple(name for name in self._own if name not in known)
