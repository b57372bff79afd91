"""Values of fields: from what was typed, from JSON, to what is stored, to what is shown.

Stored forms: text, int, float (metric, to nine decimals), cents, 0 or 1, `YYYY-MM-DD`,
`YYYY-MM-DDTHH:MM:SSZ`, ids for references. Empty is None; text begins and ends with a mark that
can be seen (several lines may begin with blanks). Every refusal is a ValueError whose sentence
names what is accepted; the caller adds where it was.
"""

from __future__ import annotations

import ipaddress
import math
import re
from collections.abc import Callable, Mapping
from datetime import UTC, date, datetime
from itertools import pairwise
from typing import Any

from binder.records.dates import (
    check_year,
    format_moment,
    local_moment,
    parse_date,
    parse_moment,
    time_zone,
)
from binder.records.fields import Field, Type
from binder.records.quantities import (
    KEPT_DECIMALS,
    decimal_text,
    format_quantity,
    parse_quantity,
    type_quantity,
)
from binder.records.recurrence import parse_repeats, repeats, type_repeats

Stored = str | int | float | None

_YES = {"yes", "y", "true", "1", "on"}
_NO = {"no", "n", "false", "0", "off"}
_MAC_PUNCTUATION = re.compile(r"[-:. ]")
_PHONE = re.compile(r"[+(0-9][0-9 ().\-/]*( ?(x|ext\.?) ?[0-9]+)?")
_EMAIL = re.compile(r"[^@\s]+@[^@\s]+")
_PLAIN_NUMBER = re.compile(r"[+-]?([0-9]+(\.[0-9]*)?|\.[0-9]+)")
_AMOUNT = re.compile(r"(-?)([0-9]{1,14}|[0-9]{1,3}(?:,[0-9]{3}){1,4})(?:\.([0-9]{1,2}))?")
_MOST_WHOLE = 2**53 - 1  # beyond it a JSON reader may round (RFC 8259, section 6)
_MOST_NUMBER = 10.0**11
_SCHEMES = ("http://", "https://", "ssh://", "telnet://", "sip:", "mailto:", "tel:")
_URL = re.compile(rf"({'|'.join(_SCHEMES)})\S+", re.IGNORECASE)


def parse(field: Field, text: str, *, system: str, now: datetime) -> Stored:
    """The stored value of what was typed into a form or a CSV cell.

    `system` is 'us' or 'metric' and says what a bare number means. References are not
    resolved here. Raises ValueError.
    """
    text = _trimmed(field, text)
    if not text:
        return check(field, None)
    today = now.date()
    match field.type:
        case Type.INTEGER:
            return check(field, _whole(text, field))
        case Type.NUMBER:
            return check(field, _number(text, field, system))
        case Type.MONEY:
            return check(field, _cents(field, text))
        case Type.FLAG:
            return check(field, _flag(field, text))
        case Type.DATE:
            return check(field, parse_date(text, today).isoformat())
        case Type.MOMENT:
            return check(field, format_moment(parse_moment(text, now)))
        case Type.REF | Type.SUBJECT:
            raise ValueError("a reference is resolved against the binder, not here")
        case _:
            return check(field, text)


def check(field: Field, value: Any) -> Stored:
    """The value in the form it is stored in, or ValueError with what is accepted."""
    if isinstance(value, str):
        value = _trimmed(field, value)
    if value is None or value == "":
        if field.required:
            raise ValueError(f"{field.label} is required, like {field.example}")
        return None
    checker = _CHECKERS.get(field.type)
    return checker(field, value) if checker else _check_text(field, value)


def show(field: Field, value: Stored, *, system: str, zone: str = "UTC") -> str:
    """The value as people read it (without making it safe for a terminal or a page).

    `zone` is the client's: a moment is shown by the clock on the wall there, and says so.
    """
    if value is None:
        return ""
    match field.type:
        case Type.NUMBER if field.unit:
            return format_quantity(float(value), field.unit, system)
        case Type.NUMBER:
            return f"{float(value):g}"
        case Type.INTEGER if field.unit:
            return f"{value} {field.unit}"
        case Type.MONEY:
            return f"{int(value) / 100:,.2f}"
        case Type.FLAG:
            return "yes" if value else "no"
        case Type.MOMENT:
            return f"{local_moment(str(value), zone)} {zone}"
        case Type.RRULE:
            return repeats(str(value))
        case _:
            return str(value)


def typed(field: Field, value: Stored, *, system: str) -> str:
    """The value as it would be typed: what a form is filled with. `parse` gives it back exactly."""
    if value is None:
        return ""
    match field.type:
        case Type.INTEGER | Type.MOMENT:
            return str(value)
        case Type.NUMBER if field.unit:
            return type_quantity(float(value), field.unit, system)
        case Type.NUMBER:
            return decimal_text(float(value))
        case Type.MONEY:
            return f"{int(value) / 100:.2f}"
        case Type.RRULE:
            return type_repeats(str(value))
        case _:
            return show(field, value, system=system)


def to_json(field: Field, value: Stored) -> Any:
    """The value as the JSON form has it; references are turned into names by the caller."""
    if value is None:
        return None
    if field.type is Type.FLAG:
        return bool(value)
    if field.type is Type.MONEY:
        return int(value) / 100
    if field.type is Type.NUMBER:
        number = float(value)
        return int(number) if number.is_integer() and abs(number) < 2**53 else number
    return value


def from_json(field: Field, value: Any) -> Stored:
    """The stored value of a JSON value that is not a reference. Raises ValueError."""
    if value is not None and field.type is Type.MONEY:
        if isinstance(value, bool) or not isinstance(value, int | float) or abs(value) > 1e13:
            raise ValueError(f"{field.label} is an amount of money, like {field.example}")
        text = f"{value:.2f}"
        return check(field, _cents(field, text if float(text) == value else f"{value}"))
    return check(field, value)


# What each type accepts. ------------------------------------------------------------------


def _trimmed(field: Field, text: str) -> str:
    return text.rstrip() if field.type is Type.LINES else text.strip()


def _check_text(field: Field, value: Any) -> str:
    if not isinstance(value, str):
        raise ValueError(f"{field.label} is text, like {field.example or 'a word'}")
    if field.type is not Type.LINES and "\n" in value:
        raise ValueError(f"{field.label} is one line of text")
    try:
        value.encode()
    except UnicodeEncodeError:
        raise ValueError(f"{field.label} holds a broken character (half a pair)") from None
    if "\x00" in value:
        raise ValueError(f"{field.label} cannot hold a NUL character")
    return value


def _bounded(field: Field, value: float) -> None:
    low, high = field.minimum, field.maximum
    if (low is not None and value < low) or (high is not None and value > high):
        if low is None:
            raise ValueError(f"{field.label} is at most {high:g}")
        if high is None:
            raise ValueError(f"{field.label} is at least {low:g}")
        raise ValueError(f"{field.label} is from {low:g} to {high:g}")


def _check_integer(field: Field, value: Any) -> int:
    if isinstance(value, float) and value.is_integer():
        value = int(value)
    if isinstance(value, bool) or not isinstance(value, int) or abs(value) > _MOST_WHOLE:
        raise ValueError(f"{field.label} is a whole number, like {field.example}")
    _bounded(field, value)
    return value


def _check_number(field: Field, value: Any) -> float:
    if isinstance(value, bool) or not isinstance(value, int | float) or value != value:
        raise ValueError(f"{field.label} is a number, like {field.example}")
    if abs(value) >= _MOST_NUMBER:
        raise ValueError(f"{field.label} is too large: below {_MOST_NUMBER:,.0f}")
    _bounded(field, value)
    return round(float(value), KEPT_DECIMALS) + 0.0  # -0.0 and 0.0 are one value


def _check_flag(field: Field, value: Any) -> int:
    if value not in (0, 1, True, False):
        raise ValueError(f"{field.label} is yes or no")
    return int(value)


def _check_choice(field: Field, value: Any) -> str:
    if isinstance(value, str):
        for option in field.choices:
            if option.casefold() == value.strip().casefold():
                return option
    raise ValueError(f"{field.label} is one of: {', '.join(field.choices)}")


def _check_date(field: Field, value: Any) -> str:
    try:
        day = date.fromisoformat(value)
    except (TypeError, ValueError):
        raise ValueError(f"{field.label} is a date like 2026-03-14") from None
    check_year(value, day)
    return day.isoformat()


def _check_moment(field: Field, value: Any) -> str:
    try:
        moment = datetime.strptime(value, "%Y-%m-%dT%H:%M:%SZ").replace(tzinfo=UTC)
    except (TypeError, ValueError):
        raise ValueError(f"{field.label} is a moment like 2026-03-14T09:40:00Z") from None
    check_year(value, moment)
    return format_moment(moment)


def _check_reference(field: Field, value: Any) -> int:
    if isinstance(value, bool) or not isinstance(value, int) or not 0 < value < 2**53:
        raise ValueError(f"{field.label} names a record")
    return value


def _check_mac(field: Field, value: Any) -> str:
    digits = _MAC_PUNCTUATION.sub("", value).upper() if isinstance(value, str) else ""
    if not re.fullmatch(r"[0-9A-F]{12}", digits):
        raise ValueError(f"{field.label} is 12 hex digits, like 00-00-5E-00-53-01")
    return "-".join(digits[i : i + 2] for i in range(0, 12, 2))


def _check_ip(field: Field, value: Any) -> str:
    try:
        return str(ipaddress.ip_address(_unzoned(field, value)))
    except ValueError:
        raise ValueError(f"{field.label} is an IP address, like 192.0.2.10") from None


def _check_cidr(field: Field, value: Any) -> str:
    try:
        text = _unzoned(field, value)
        if "/" not in text:
            raise ValueError(text)
        return str(ipaddress.ip_network(text))
    except ValueError as error:
        hint = "; host bits are set" if "host bits" in str(error) else ""
        raise ValueError(
            f"{field.label} is a network with its prefix, like 192.0.2.0/26{hint}"
        ) from None


def _unzoned(field: Field, value: Any) -> str:
    """An address's text without a zone (RFC 4007): a zone means nothing on another machine."""
    text = _check_text(field, value)
    if "%" in text:
        raise ValueError(text)
    return text


def _check_phone(field: Field, value: Any) -> str:
    text = _check_text(field, value)
    if not _PHONE.fullmatch(text) or sum(c.isdigit() for c in text) < 3:
        raise ValueError(f"{field.label} is a phone number, like +1 312 555 0100 x12")
    return text


def _check_email(field: Field, value: Any) -> str:
    text = _check_text(field, value)
    if not _EMAIL.fullmatch(text):
        raise ValueError(f"{field.label} is an e-mail address, like name@example.com")
    return text


def _check_url(field: Field, value: Any) -> str:
    text = _check_text(field, value)
    if not _URL.fullmatch(text):
        raise ValueError(f"{field.label} starts with one of: {', '.join(_SCHEMES)}")
    return text


def _check_rrule(field: Field, value: Any) -> str:
    text = _check_text(field, value)
    try:
        return parse_repeats(text)
    except ValueError as error:
        raise ValueError(f"{field.label} {error}") from None


def parse_curve(text: str) -> tuple[tuple[float, float], ...]:
    """The points (load in W, minutes) of a maker's runtime table, by rising load.

    Raises ValueError when it is not `watts:minutes, ...` or minutes rise with load.
    """
    points = []
    for part in text.split(","):
        load, _, minutes = part.partition(":")
        points.append((float(load), float(minutes)))
    for (load_1, minutes_1), (load_2, minutes_2) in pairwise(points):
        if load_2 <= load_1 or minutes_2 > minutes_1:
            raise ValueError("loads rise and minutes fall")
    if any(not math.isfinite(x) or x <= 0 for point in points for x in point):
        raise ValueError("loads and minutes are above zero")
    return tuple(points)


def _check_zone(field: Field, value: Any) -> str:
    text = _check_text(field, value)
    try:
        time_zone(text)
    except ValueError as error:
        raise ValueError(f"{field.label}: {error}") from None
    return text


def _check_curve(field: Field, value: Any) -> str:
    text = _check_text(field, value)
    try:
        points = parse_curve(text)
    except ValueError:
        raise ValueError(
            f"{field.label} is watts:minutes, rising loads, like 200:48, 400:20, 800:7"
        ) from None
    return ", ".join(f"{load:g}:{minutes:g}" for load, minutes in points)


_CHECKERS: Mapping[Type, Callable[[Field, Any], Stored]] = {
    Type.INTEGER: _check_integer,
    Type.MONEY: _check_integer,
    Type.NUMBER: _check_number,
    Type.FLAG: _check_flag,
    Type.CHOICE: _check_choice,
    Type.DATE: _check_date,
    Type.MOMENT: _check_moment,
    Type.REF: _check_reference,
    Type.SUBJECT: _check_reference,
    Type.MAC: _check_mac,
    Type.IP: _check_ip,
    Type.CIDR: _check_cidr,
    Type.PHONE: _check_phone,
    Type.EMAIL: _check_email,
    Type.URL: _check_url,
    Type.RRULE: _check_rrule,
    Type.ZONE: _check_zone,
    Type.CURVE: _check_curve,
}


# From typed text. -------------------------------------------------------------------------


def _whole(text: str, field: Field) -> int:
    match = re.fullmatch(r"([+-]?[0-9]{1,16})\s*([A-Za-z]*)", text)
    if not match or (match[2] and match[2].casefold() != field.unit.casefold()):
        raise ValueError(f"{field.label} is a whole number, like {field.example}")
    return int(match[1])


def _number(text: str, field: Field, system: str) -> float:
    if field.unit:
        return parse_quantity(text, field.unit, system)
    if not _PLAIN_NUMBER.fullmatch(text):
        raise ValueError(f"{field.label} is a number, like {field.example}")
    return float(text)


def _cents(field: Field, text: str) -> int:
    match = _AMOUNT.fullmatch(text)
    if not match:
        raise ValueError(f"{field.label} has at most two decimals, like 1,200.00 or 120")
    cents = int(match[2].replace(",", "")) * 100 + int((match[3] or "0").ljust(2, "0"))
    return -cents if match[1] else cents


def _flag(field: Field, text: str) -> int:
    word = text.casefold()
    if word in _YES:
        return 1
    if word in _NO:
        return 0
    raise ValueError(f"{field.label} is yes or no")
