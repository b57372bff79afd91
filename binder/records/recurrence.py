"""How often a duty repeats: kept as a rule of RFC 5545, typed and read in words.

`every 6 months` is FREQ=MONTHLY;INTERVAL=6. What words cannot say is typed as the rule itself.
"""

from __future__ import annotations

import re
from datetime import datetime
from typing import Final

_UNITS: Final = {"DAILY": "day", "WEEKLY": "week", "MONTHLY": "month", "YEARLY": "year"}
_ADVERBS: Final = {
    "daily": "FREQ=DAILY",
    "weekly": "FREQ=WEEKLY",
    "monthly": "FREQ=MONTHLY",
    "quarterly": "FREQ=MONTHLY;INTERVAL=3",
    "yearly": "FREQ=YEARLY",
    "annually": "FREQ=YEARLY",
}
_WORDS: Final = re.compile(
    r"every (?:(?P<number>[1-9][0-9]{0,3}) )?(?P<unit>day|week|month|year)s?"
)
_PART: Final = re.compile(r"[A-Z]+=[A-Z0-9,+-]+")
_WEEK: Final = "Monday Tuesday Wednesday Thursday Friday Saturday Sunday"
_YEAR: Final = (
    "January February March April May June July August September October November December"
)
_DAYS: Final = {name[:2].upper(): name for name in _WEEK.split()}
_MONTHS: Final = {str(number): name for number, name in enumerate(_YEAR.split(), start=1)}
_HOURS: Final = frozenset({"BYHOUR", "BYMINUTE", "BYSECOND"})
_MOST: Final = {"BYMONTH": 12, "BYMONTHDAY": 31, "BYYEARDAY": 366, "BYWEEKNO": 53, "BYSETPOS": 366}

_ACCEPTED: Final = (
    "is written like every 6 months, or as an RFC 5545 rule, like FREQ=MONTHLY;INTERVAL=3"
)


def parse_repeats(text: str) -> str:
    """The rule of RFC 5545 for what was typed: `every 2 weeks`, `quarterly`, or a rule.

    Raises ValueError, whose sentence begins with a verb, for what is neither.
    """
    plain = " ".join(text.split()).casefold()
    if plain in _ADVERBS:
        return _ADVERBS[plain]
    if found := _WORDS.fullmatch(plain):
        often = next(rule for rule, unit in _UNITS.items() if unit == found["unit"])
        number = int(found["number"] or 1)
        return f"FREQ={often}" if number == 1 else f"FREQ={often};INTERVAL={number}"
    return _checked(text)


def _checked(text: str) -> str:
    """The rule, in capitals. Raises ValueError when it is none.

    A duty starts on a day: a rule by hours is refused (RFC 5545, section 3.3.10).
    """
    from dateutil.rrule import rrulestr  # 15 ms, paid only where a duty is written

    text = text.upper()
    parts = text.split(";")
    if not all(_PART.fullmatch(part) for part in parts):
        raise ValueError(_ACCEPTED)
    rule = dict(part.split("=") for part in parts)
    if rule.get("FREQ") not in _UNITS or rule.keys() & _HOURS:
        raise ValueError(f"{_ACCEPTED}: by days, weeks, months or years, since it starts on a day")
    if any(rule.get(name, "1").strip("0") == "" for name in ("INTERVAL", "COUNT")):
        raise ValueError(f"{_ACCEPTED}: INTERVAL and COUNT are above zero")
    try:
        for name in _MOST.keys() & rule.keys():
            if any(abs(int(number)) > _MOST[name] for number in rule[name].split(",")):
                raise ValueError(name)
        rrulestr(text, dtstart=datetime(2026, 1, 1))
    except (ValueError, TypeError, KeyError, AttributeError):
        raise ValueError(_ACCEPTED) from None
    return text


def repeats(rule: str) -> str:
    """A rule in words: 'every 13 weeks on Wednesday', 'every year in April'.

    What words do not say is added as it stands: 'every month (BYMONTHDAY=-1)'.
    """
    parts = dict(re.findall(r"([A-Z]+)=([^;]+)", rule))
    unit = _UNITS.get(parts.pop("FREQ", ""))
    if unit is None:
        return rule
    number = parts.pop("INTERVAL", "1")
    often = f"every {unit}" if number == "1" else f"every {number} {unit}s"
    for part, joint, names in (("BYDAY", "on", _DAYS), ("BYMONTH", "in", _MONTHS)):
        values = parts.get(part, "").split(",")
        if all(value in names for value in values):
            often += f" {joint} {' and '.join(names[value] for value in values)}"
            del parts[part]
    rest = ", ".join(f"{name}={value}" for name, value in parts.items())
    return f"{often} ({rest})" if rest else often


def type_repeats(rule: str) -> str:
    """The rule as it would be typed to store the same: in words where they say all of it."""
    words = repeats(rule)
    if _WORDS.fullmatch(words) and parse_repeats(words) == rule:
        return words
    return rule
