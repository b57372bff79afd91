"""The client's year: what came into the binder when, and the four reviews taken of it.

Nothing of a review is written down in the demo. The binder is filled as it was, up to the day of
each review, and the review is taken of that; so it can be computed again from its place in the
change log, as of any other binder. Records that tell no day of their own were there from the
beginning.
"""

from __future__ import annotations

import json
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass
from datetime import date, datetime
from importlib.resources import files
from typing import Any, Final
from zoneinfo import ZoneInfo

from binder.edit import Editor
from binder.file import BinderFile
from binder.intake import json_form
from binder.read import resolve
from binder.records.catalog import BY_NAME, BY_PLURAL
from binder.records.fields import Kind, Type
from binder.records.values import from_json
from binder.review.actions import actions, decide, propose
from binder.review.cures import ailing
from binder.review.taken import take
from demo.build import client_data, set_around

# The field that tells when a record of a kind came into the binder.
_CAME: Final = {
    "hardware": "installed_on", "reading": "read_at", "log_entry": "opened_at",
    "known_issue": "accepted_on", "punch_item": "raised_on", "issue": "issued_on",
    "copy": "handed_on", "configuration_copy": "taken_on", "training": "held_on",
}  # fmt: skip
_Data = dict[str, list[dict[str, Any]]]


@dataclass(frozen=True, slots=True)
class _Told:
    """`reviews.json`, and how its dates are read on a day."""

    today: date
    zone: ZoneInfo
    said: Mapping[str, Any]

    def day(self, text: str) -> date:
        return date.fromisoformat(set_around(self.today, text, self.zone))

    def clock(self, text: str, hour: int) -> Callable[[], datetime]:
        """A clock that stands at an hour of that day, on the client's wall."""
        at = datetime.fromisoformat(set_around(self.today, f"{text} {hour:02d}:00", self.zone))
        return lambda: at


def load_client(binder: BinderFile, today: date) -> int:
    """Fill a new binder with the client as it came to be, and take its reviews.

    Gives how many records the binder holds then.
    """
    whole = client_data(today)
    data = {plural: whole[plural] for plural in BY_PLURAL if plural in whole}
    text = files("demo").joinpath("reviews.json").read_text(encoding="utf-8")
    told = _Told(today, ZoneInfo(data["clients"][0]["time_zone"]), json.loads(text))
    replaced = [_as_it_was(data, one, told) for one in told.said["replaced"]]
    came = _came(data, told)
    before = date.min
    for review in told.said["reviews"]:
        day = told.day(review["on"])
        for one in replaced:
            if before < one.on <= day:
                one.replace(binder)
        _decide(binder, told, before, day)
        _load(binder, data, came, before, day, told.clock(review["on"], 15))
        _review(binder, told, review)
        before = day
    _decide(binder, told, before, today)
    _load(binder, data, came, before, date.max, told.clock("@-0d", 8))
    return int(binder.connection.execute("SELECT count(*) FROM record").fetchone()[0])


# What was there when. ---------------------------------------------------------------------


def _came(data: _Data, told: _Told) -> dict[str, list[date]]:
    """The day each record came, in the order of the lists; none before what it names."""
    planned, reserved = told.day(told.said["planned_from"]), told.day(told.said["reserved_from"])
    days: dict[tuple[str, str], date] = {}
    own: dict[str, list[date]] = {}
    for plural, records in data.items():
        kind = BY_PLURAL[plural]
        field = _CAME.get(kind.name, "")
        own[plural] = [
            reserved if kind.name == "reservation"
            else planned if record.get("status") == "planned"
            else date.fromisoformat(record[field][:10]) if record.get(field)
            else date.min
            for record in records
        ]  # fmt: skip
    moved = True
    while moved:
        moved = False
        for plural, records in data.items():
            kind, on = BY_PLURAL[plural], own[plural]
            for at, record in enumerate(records):
                on[at] = max([on[at], *(days.get(one, date.min) for one in _named(kind, record))])
                key = (kind.name, _name(kind, record))
                if on[at] > days.get(key, date.min):
                    days[key], moved = on[at], True
    return own


def _name(kind: Kind, record: Mapping[str, Any]) -> str:
    return kind.separator.join(str(record.get(part, "")) for part in kind.named_by).casefold()


def _named(kind: Kind, record: Mapping[str, Any]) -> Iterator[tuple[str, str]]:
    for field in kind.all_fields:
        if field.is_reference and (value := record.get(field.name)):
            named = {field.target: value} if field.type is Type.REF else value
            yield from ((target, name.casefold()) for target, name in named.items())


def _load(
    binder: BinderFile,
    data: _Data,
    came: Mapping[str, list[date]],
    after: date,
    until: date,
    clock: Callable[[], datetime],
) -> None:
    """Load what came after one day and until another; from the beginning, after `date.min`."""
    part: dict[str, Any] = {"format": 1}
    for plural, records in data.items():
        part[plural] = [
            record
            for record, on in zip(records, came[plural], strict=True)
            if on <= until and (on > after or after == date.min)
        ]
    json_form.load(binder, part, "demo", clock=clock)


@dataclass(frozen=True, slots=True)
class _Replaced:
    """A device that another took the place of: whose day, and what it is since."""

    on: date
    kind: str
    name: str
    values: Mapping[str, Any]
    who: str
    summary: str
    clock: Callable[[], datetime]

    def replace(self, binder: BinderFile) -> None:
        record_id = resolve(binder, self.name, self.kind).id
        with Editor(binder, self.who, clock=self.clock).step(self.summary) as step:
            step.change(record_id, self.values)


def _as_it_was(data: _Data, said: Mapping[str, Any], told: _Told) -> _Replaced:
    """Put a record in `data` as it was before; gives what makes it as it is."""
    ((kind_name, name),) = said["of"].items()
    kind = BY_NAME[kind_name]
    record = next(one for one in data[kind.plural] if _name(kind, one) == name.casefold())
    now = {field: from_json(kind.field(field), record[field]) for field in said["was"]}
    record |= said["was"]
    if "installed_on" in said["was"]:
        record["installed_on"] = told.day(said["was"]["installed_on"]).isoformat()
    return _Replaced(
        told.day(said["on"]), kind_name, name, now, said["who"], said["summary"],
        told.clock(said["on"], 9),
    )  # fmt: skip


# The reviews. -----------------------------------------------------------------------------


def _review(binder: BinderFile, told: _Told, said: Mapping[str, Any]) -> None:
    """Take a review, and propose what mends the rows that were talked about."""
    editor = Editor(binder, said["by"], clock=told.clock(said["on"], 16))
    review = take(editor, told.day(said["on"]))
    about = {(resource, name) for resource, name in said["propose"]}
    chosen = tuple(
        one for one in ailing(binder, review.headroom)
        if (one.row.resource, one.row.where.name) in about
    )  # fmt: skip
    if len(chosen) != len(about):
        raise ValueError(f"the review of {review.taken_on} finds nothing wrong with one of {about}")
    propose(editor, review.id, chosen)


def _decide(binder: BinderFile, told: _Told, after: date, until: date) -> None:
    """What became of the actions in these days."""
    for said in told.said["decided"]:
        on = told.day(said["on"])
        if after < on <= until:
            resource, name = said["about"]
            subject_id = resolve(binder, name).id
            action = next(
                one for one in actions(binder)
                if one.is_open and (one.resource, one.subject_id) == (resource, subject_id)
            )  # fmt: skip
            editor = Editor(binder, said["who"], clock=told.clock(said["on"], 12))
            decide(editor, action.id, said["state"], by=said["by"], on=on)
