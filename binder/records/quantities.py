"""Quantities: stored metric, typed and shown metric or US customary as the binder says.

A unit is known by the ending it has in field names (`depth_mm`, `power_w`, `rate_mbps`).
Conversions are exact: 1 in = 25.4 mm, 1 ft = 0.3048 m, 1 mi = 1609.344 m and 1 lb = 0.45359237 kg
(international yard and pound agreement, 1959; NIST SP 811, 2008, appendix B), degrees Fahrenheit =
9/5 degrees Celsius + 32 (same). Data sizes keep decimal GB (IEC 80000-13, 10^9 bytes) apart from
binary GiB (2^30 bytes).
"""

from __future__ import annotations

import math
import re
from collections.abc import Mapping
from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction
from functools import cache
from reprlib import repr as quoted
from types import MappingProxyType
from typing import Final, Literal

System = Literal["metric", "us"]

KEPT_DECIMALS: Final = 9  # of a stored number: a nanometre of a metre


@dataclass(frozen=True, slots=True)
class Scale:
    """One way to write a quantity: stored value = (number - zero) x factor."""

    symbol: str
    factor: Fraction = Fraction(1)
    zero: Fraction = Fraction(0)

    def stored(self, number: Fraction) -> Fraction:
        """What is kept for `number` of this scale."""
        return (number - self.zero) * self.factor

    def shown(self, stored: Fraction) -> Fraction:
        """The number of this scale for a kept value."""
        return stored / self.factor + self.zero


@dataclass(frozen=True, slots=True)
class Unit:
    """A stored unit: what it measures, the symbol of each system, and every scale it is typed in.

    `larger` names the scales that take over from 1,000 on (Mb/s, then Gb/s); `decimals` is the most
    that is shown.
    """

    name: str
    symbol_metric: str
    symbol_us: str
    scales: tuple[Scale, ...]
    larger: tuple[str, ...] = ()
    decimals: int = 3
    decimals_us: int | None = None  # where a US unit is so small that fewer say enough

    def symbol(self, system: str) -> str:
        """The symbol a number without one is read in, and a column is headed with."""
        if system not in ("metric", "us"):
            raise ValueError(f"unit system {quoted(system)} is not known: metric or us")
        return self.symbol_us if system == "us" else self.symbol_metric

    def shown_decimals(self, system: str) -> int:
        """The most decimals that are shown."""
        fewer = self.decimals_us if system == "us" else None
        return self.decimals if fewer is None else fewer

    def scale(self, symbol: str) -> Scale:
        """The scale of that symbol."""
        return next(scale for scale in self.scales if scale.symbol == symbol)


def _lengths(stored_in_mm: int) -> tuple[Scale, ...]:
    in_mm = {
        "mm": "1",
        "cm": "10",
        "m": "1000",
        "km": "1000000",
        "in": "25.4",
        "ft": "304.8",
        "mi": "1609344",
    }
    return tuple(Scale(symbol, Fraction(mm) / stored_in_mm) for symbol, mm in in_mm.items())


def _scales(**factors: str) -> tuple[Scale, ...]:
    return tuple(Scale(symbol, Fraction(factor)) for symbol, factor in factors.items())


def _plain(
    name: str, symbol: str, *others: Scale, larger: tuple[str, ...] = (), decimals: int = 3
) -> Unit:
    """A unit that both systems show alike."""
    return Unit(name, symbol, symbol, (Scale(symbol), *others), larger, decimals)


_POUND_KG = Fraction("0.45359237")
_AREAS = _scales(m2="1", ft2="0.09290304")  # a foot is 0.3048 m
_MASSES = (*_scales(kg="1", g="0.001"), Scale("lb", _POUND_KG), Scale("oz", _POUND_KG / 16))
_FORCES = (*_scales(N="1", kN="1000"), Scale("lbf", _POUND_KG * Fraction("9.80665")))
_TEMPERATURES = (Scale("°C"), Scale("°F", Fraction(5, 9), Fraction(32)))
_RATES = (
    Scale("Gb/s", Fraction(1000)),
    Scale("Tb/s", Fraction(10**6)),
    Scale("kb/s", Fraction(1, 1000)),
)
_DATA_SIZES = (
    *_scales(MB="0.001", TB="1000", PB="1000000"),
    *(
        Scale(symbol, Fraction(2**power, 10**9))
        for symbol, power in (("MiB", 20), ("GiB", 30), ("TiB", 40), ("PiB", 50))
    ),
)
_MINUTES = (*_scales(hours="60", days="1440"), Scale("s", Fraction(1, 60)))
_HOURS = (*_scales(days="24"), Scale("min", Fraction(1, 60)))

UNITS: Final[Mapping[str, Unit]] = MappingProxyType(
    {
        "mm": Unit("length", "mm", "in", _lengths(1)),
        "m": Unit("length", "m", "ft", _lengths(1000), decimals_us=1),
        "km": Unit("distance", "km", "mi", _lengths(10**6)),
        "m2": Unit("area", "m2", "ft2", _AREAS, decimals=2, decimals_us=1),
        "kg": Unit("weight", "kg", "lb", _MASSES, decimals=2),
        "n": Unit("force", "N", "lbf", _FORCES, decimals=2),
        "c": Unit("temperature", "°C", "°F", _TEMPERATURES, decimals=1),
        "w": _plain("power", "W", *_scales(kW="1000"), decimals=2),
        "va": _plain("apparent power", "VA", *_scales(kVA="1000"), decimals=2),
        "wh": _plain("energy", "Wh", *_scales(kWh="1000"), decimals=2),
        "a": _plain("current", "A", *_scales(mA="0.001")),
        "v": _plain("voltage", "V", decimals=2),
        "ohm": _plain("resistance", "ohm"),
        "mm2": _plain("cross-section", "mm2"),
        "mbps": _plain("data rate", "Mb/s", *_RATES, larger=("Gb/s", "Tb/s")),
        "gb": _plain("data size", "GB", *_DATA_SIZES, larger=("TB", "PB")),
        "percent": _plain("percentage", "%", decimals=1),
        "db": _plain("loss or gain", "dB", decimals=2),
        "dbm": _plain("optical power", "dBm", decimals=2),
        "u": _plain("rack units", "U"),
        "min": _plain("minutes", "min", *_MINUTES, decimals=1),
        "hours": _plain("hours", "hours", *_HOURS, decimals=2),
        "days": _plain("days", "days", *_scales(weeks="7"), decimals=1),
        "months": _plain("months", "months", *_scales(years="12"), decimals=1),
        "years": _plain("years", "years", Scale("months", Fraction(1, 12)), decimals=1),
    }
)

# Other ways people write a symbol. Letters match in either case.
_SPELLINGS: Final[Mapping[str, tuple[str, ...]]] = {
    "mm": ("millimetre", "millimetres", "millimeter", "millimeters"),
    "cm": ("centimetre", "centimetres", "centimeter", "centimeters"),
    "m": ("metre", "metres", "meter", "meters"),
    "km": ("kilometre", "kilometres", "kilometer", "kilometers"),
    "in": ('"', "''", "inch", "inches", "in."),
    "ft": ("'", "foot", "feet", "ft."),
    "mi": ("mile", "miles"),
    "m2": ("m²", "m^2", "sq m"),
    "ft2": ("ft²", "ft^2", "sq ft", "sqft", "sq. ft.", "square feet"),
    "kg": ("kilo", "kilos", "kilogram", "kilograms"),
    "lb": ("lbs", "lb.", "lbs.", "pound", "pounds"),
    "lbf": ("lb", "lbs", "pound", "pounds"),
    "oz": ("ounce", "ounces"),
    "°C": ("c", "deg c", "degc", "celsius"),
    "°F": ("f", "deg f", "degf", "fahrenheit"),
    "W": ("watt", "watts"),
    "A": ("amp", "amps", "ampere", "amperes"),
    "V": ("volt", "volts", "vac", "vdc", "v ac", "v dc"),
    "ohm": ("ohms", "Ω"),
    "mm2": ("mm²", "mm^2", "sq mm"),
    "kb/s": ("kbps", "kbit/s", "kb", "k"),
    "Mb/s": ("mbps", "mbit/s", "mb", "m", "meg"),
    "Gb/s": ("gbps", "gbit/s", "gb", "g", "gig"),
    "Tb/s": ("tbps", "tbit/s", "tb", "t"),
    "MB": ("m",),
    "GB": ("g",),
    "TB": ("t",),
    "%": ("percent", "pct"),
    "U": ("ru", "rack unit", "rack units"),
    "s": ("sec", "second", "seconds"),
    "min": ("mins", "minute", "minutes"),
    "hours": ("h", "hr", "hrs", "hour"),
    "days": ("d", "day"),
    "weeks": ("w", "wk", "week"),
    "months": ("mo", "month"),
    "years": ("y", "yr", "yrs", "year"),
}

# Two scales that are written one after the other: 6' 2", 35 lb 4 oz, 1 h 30 min.
_PAIRS: Final = frozenset({("ft", "in"), ("lb", "oz"), ("hours", "min"), ("years", "months")})
_TAKE_FRACTIONS: Final = frozenset({"in", "ft"})
_COUNTED: Final = frozenset({"hours", "days", "months", "years"})

# At most twelve digits before the point and after it: more is a slip, and would not be exact.
_NUMBER: Final = (
    r"(?:(?:[0-9]{1,6}[ -])?[0-9]{1,6}/[1-9][0-9]{0,5}"
    r"|[0-9]{1,12}(?:\.[0-9]{1,12})?|\.[0-9]{1,12})"
)
_LOOKALIKES: Final = str.maketrans({"′": "'", "’": "'", "″": '"', "”": '"', "“": '"', "−": "-"})
_BYTES_A_SECOND: Final = re.compile(r"[kKMGT]?B(?:/|ps)")


def parse_quantity(text: str, unit: str, system: str) -> float:
    """The stored value of what someone typed, in the unit named (`mm`, `kg`, `c`, ...).

    A bare number is in the unit the system shows (`24` is inches in a US binder); a unit in the
    text wins (`61 cm`, `24"`, `6' 2"`, `3/4 in`, `70F`, `1.5 kW`, `2 TB`). Raises ValueError in one
    line that names what is accepted: for another unit, a comma, or no plain number.
    """
    known = UNITS[unit]
    plain = " ".join(text.translate(_LOOKALIKES).split())
    if "," in plain:
        raise ValueError(
            f"{quoted(text)} has a comma: write a decimal point (1.5) and no thousands marks (1500)"
        )
    if unit == "mbps" and _BYTES_A_SECOND.search(plain):
        raise ValueError(
            f"{quoted(text)} is in bytes a second: write the rate in bits, as 80 Mb/s for 10 MB/s"
        )
    pattern, scale_of = _grammar(unit)
    found = pattern.fullmatch(plain)
    if found is None:
        raise _not_understood(text, known, system)
    scale = scale_of[(found["suffix"] or known.symbol(system)).casefold()]
    parts = [(found["number"], scale)]
    if found["number2"]:
        second = scale_of[found["suffix2"].casefold()]
        if (scale.symbol, second.symbol) not in _PAIRS or not found["suffix"]:
            raise _not_understood(text, known, system)
        parts.append((found["number2"], second))
    if any("/" in number and part.symbol not in _TAKE_FRACTIONS for number, part in parts):
        raise _not_understood(text, known, system)
    sign = -1 if found["sign"] == "-" else 1
    return float(sum(part.stored(sign * _exact(number)) for number, part in parts))


def format_quantity(value: float, unit: str, system: str) -> str:
    """A stored value as the binder shows it, with its unit: `24 in`, `610 mm`, `2U`, `1 Gb/s`.

    Four significant digits (whole units are never rounded away), no more decimals than the unit
    has a use for, no trailing zeros. Below 10^12 it can be typed back, and then shows the same.
    Raises ValueError for a value that is not finite.
    """
    known = UNITS[unit]
    if not math.isfinite(value):
        raise ValueError(f"{known.name} {value} is not a finite number")
    exact = Fraction(value)
    symbol = known.symbol(system)
    decimals = known.shown_decimals(system)
    number = _rounded(known.scale(symbol).shown(exact), decimals)
    for larger in known.larger:
        if abs(number) < 1000:
            break
        symbol = larger
        number = _rounded(known.scale(symbol).shown(exact), decimals)
    digits = f"{float(number):.3f}".rstrip("0").rstrip(".")
    if digits == "1" and symbol in _COUNTED:
        symbol = symbol.removesuffix("s")
    return f"{digits}U" if symbol == "U" else f"{digits} {symbol}"


def type_quantity(value: float, unit: str, system: str) -> str:
    """A stored value as it would be typed to store the same: as shown when that is exact.

    Else with more decimals (`24.375 in`), else in the stored unit (`618.066666667 mm`). `value` has
    at most nine decimals and is below 10^11.
    """
    known = UNITS[unit]
    symbol = known.symbol(system)
    number = round(known.scale(symbol).shown(Fraction(value)), 6)
    for text in (format_quantity(value, unit, system), f"{decimal_text(float(number))} {symbol}"):
        if round(parse_quantity(text, unit, system), KEPT_DECIMALS) == value:
            return text
    return f"{decimal_text(value)} {known.symbol_metric}"


def decimal_text(number: float) -> str:
    """The shortest decimal digits that give this number back, never with an exponent."""
    digits = f"{Decimal(repr(number)):f}"
    return digits.rstrip("0").rstrip(".") if "." in digits else digits


def _exact(number: str) -> Fraction:
    whole, _, fraction = number.replace("-", " ").rpartition(" ")
    return Fraction(fraction) + Fraction(whole or 0)


def _rounded(number: Fraction, decimals: int) -> Fraction:
    whole_digits = len(str(int(abs(number))))
    return round(number, min(decimals, max(0, 4 - whole_digits)))


@cache
def _grammar(unit: str) -> tuple[re.Pattern[str], Mapping[str, Scale]]:
    """The pattern of what may be typed for a unit, and the scale of every suffix in it."""
    scale_of = {
        spelling.casefold(): scale
        for scale in UNITS[unit].scales
        for spelling in (scale.symbol, *_SPELLINGS.get(scale.symbol, ()))
    }
    names = "|".join(re.escape(name) for name in sorted(scale_of, key=len, reverse=True))
    pattern = re.compile(
        rf"(?P<sign>[+-])? ?(?P<number>{_NUMBER}) ?(?P<suffix>{names})?"
        rf"(?: ?-? ?(?P<number2>{_NUMBER}) ?(?P<suffix2>{names}))?",
        re.IGNORECASE,
    )
    return pattern, scale_of


def _not_understood(text: str, unit: Unit, system: str) -> ValueError:
    shown = unit.symbol(system)
    others = ", ".join(scale.symbol for scale in unit.scales if scale.symbol != shown)
    accepted = f", or a number with its unit: {others}" if others else ""
    return ValueError(
        f"{quoted(text)} is not understood as {unit.name}: write 24 (taken as 24 {shown}){accepted}"
    )
