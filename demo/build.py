"""The invented client as one object in the JSON form, its dates set around the day of building."""

from __future__ import annotations

import json
import re
from collections.abc import Iterator, Mapping
from datetime import UTC, date, datetime, time, timedelta
from importlib.resources import files
from typing import Any
from zoneinfo import ZoneInfo

from binder.records.catalog import BY_PLURAL
from binder.records.dates import format_moment
from binder.records.fields import Type
from demo.series import written_out

_WEEKDAYS = ("mon", "tue", "wed", "thu", "fri", "sat", "sun")
_DAY = re.compile(
    r"@(?:(?P<days>[+-]\d+)d|(?P<weeks>[+-]\d+)w (?P<weekday>[a-z]{3}))(?: (?P<clock>\d\d:\d\d))?"
)


def client_data(today: date) -> dict[str, Any]:
    """The whole client: what `binder load` takes. The same `today` gives the same data.

    Dates in the files are days from today (`@-120d`), or a weekday of a week from this one
    (`@-17w tue`); moments add the clock on the client's wall (`@-17w tue 09:40`). Raises
    ValueError, with list and record, for one that cannot be read.
    """
    data: dict[str, Any] = {"format": 1}
    for plural, entries in _files():
        data.setdefault(plural, []).extend(written_out(entries))
    zone = ZoneInfo(data["clients"][0]["time_zone"])
    for plural, kind in BY_PLURAL.items():
        dated = {f.name for f in kind.all_fields if f.type in (Type.DATE, Type.MOMENT)}
        for record in data.get(plural, ()):
            for name in dated & record.keys():
                try:
                    record[name] = set_around(today, record[name], zone)
                except ValueError as error:
                    raise ValueError(f"{plural}, {name} of {record}: {error}") from error
    return data


def _files() -> Iterator[tuple[str, list[Mapping[str, Any]]]]:
    folder = files("demo") / "client"
    for file in sorted(folder.iterdir(), key=lambda each: each.name):
        yield from json.loads(file.read_text(encoding="utf-8")).items()


def set_around(today: date, text: str, zone: ZoneInfo) -> str:
    """The date or moment, as stored, that `text` means on `today`. Raises ValueError."""
    found = _DAY.fullmatch(text)
    if found is None:
        raise ValueError(f"{text!r} is not like @-120d, @-17w tue or @-17w tue 09:40")
    if found["days"]:
        day = today + timedelta(days=int(found["days"]))
    else:
        monday = today - timedelta(days=today.weekday())
        day = monday + timedelta(weeks=int(found["weeks"]), days=_WEEKDAYS.index(found["weekday"]))
    if found["clock"] is None:
        return day.isoformat()
    wall = datetime.combine(day, time.fromisoformat(found["clock"]), zone)
    return format_moment(wall.astimezone(UTC))
