"""Upkeep as a calendar that any program takes in (RFC 5545): duties, renewals, ends, reviews.

All entries are days without a time zone, and block nobody's time. The same binder gives the same
bytes: an entry is named after its record for life, and stamped with the record's last change.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from datetime import UTC, date, datetime, time, timedelta
from typing import TYPE_CHECKING, Final

from binder.read import Record
from binder.records.recurrence import repeats
from binder.text import visible, visible_lines
from binder.upkeep import next_due, warranty_end
from exporters.contents.parts import joined
from exporters.documents import DRAFT, Asked
from exporters.source import Source

if TYPE_CHECKING:
    from icalendar import Calendar, Event

_PRODUCT: Final = "-//Handoff binder//Calendar of upkeep//EN"
# Days before an end at which one is reminded where no notice is recorded: common practice, no
# published source.
_ENDS_DAYS: Final = 30
_REVIEW_DAYS: Final = 14
_ORDER_DAYS: Final = 60


@dataclass(frozen=True, slots=True)
class Entry:
    """A day, or a series of them. `part` tells apart the entries of one record.

    `rule` is of RFC 5545, and starts on `on`; a reminder comes `reminds_days` before, if any.
    """

    record: Record
    part: str
    on: date
    says: str
    told: tuple[str, ...]
    category: str
    reminds_days: int | None = None
    rule: str = ""


def files(asked: Asked, form: str, stem: str) -> dict[str, str | bytes]:
    """The calendar as one file of the form `ics`."""
    return {f"{stem}.{form}": calendar(asked).to_ical()}


def calendar(asked: Asked) -> Calendar:
    """The calendar of a binder."""
    from icalendar import Calendar

    source, revised = asked.source, asked.revised()
    name = visible(f"{source.name(source.client) or 'Client'}: network upkeep")
    made = Calendar()
    made.add("prodid", _PRODUCT)
    made.add("version", "2.0")
    made.add("calscale", "GREGORIAN")
    made.add("x-wr-calname", name)
    made.add("x-wr-caldesc", f"{asked.release} of {asked.dated}" if asked.issue else DRAFT)
    for entry in entries(source):
        stamp = revised.get(entry.record.id, f"{asked.dated}T00:00:00Z")
        made.add_component(_event(asked.binder_id, entry, datetime.fromisoformat(stamp)))
    return made


def entries(source: Source) -> tuple[Entry, ...]:
    """Every entry, by the day it (or its series) starts, then by name."""
    found = [entry for make in _MAKERS for entry in make(source)]
    return tuple(sorted(found, key=lambda e: (e.on, e.says, e.record.id, e.part)))


def _event(binder_id: str, entry: Entry, stamp: datetime) -> Event:
    from icalendar import Alarm, Event, vRecur

    event = Event()
    event.add("uid", "-".join(filter(None, (binder_id, str(entry.record.id), entry.part))))
    event.add("dtstamp", stamp.astimezone(UTC))
    event.add("last-modified", stamp.astimezone(UTC))
    event.add("dtstart", entry.on)
    event.add("summary", visible(entry.says))
    if told := "\n".join(filter(None, entry.told)):
        event.add("description", visible_lines(told))
    event.add("categories", [entry.category])
    event.add("transp", "TRANSPARENT")
    if entry.rule:
        # a series of days ends on a day (RFC 5545, 3.3.10)
        rule = re.sub(r"(UNTIL=[0-9]{8})T[0-9]{6}Z?", r"\1", entry.rule)
        event.add("rrule", vRecur.from_ical(rule))
    if entry.reminds_days is not None:
        alarm = Alarm()
        alarm.add("action", "DISPLAY")
        alarm.add("description", visible(entry.says))
        alarm.add("trigger", timedelta(days=-entry.reminds_days))
        event.add_component(alarm)
    return event


# What becomes an entry. -------------------------------------------------------------------


def _duties(source: Source) -> Iterator[Entry]:
    """Each duty as its rule has it, from its first day on, and so whether it was done or not.

    RFC 5545 (3.8.5.3) leaves open what a series is whose first day its rule does not give: such a
    first day is an entry of its own, and the series starts with the rule.
    """
    for duty in source.of("duty"):
        starts_on = date.fromisoformat(duty["starts_on"])
        first = _first(duty["rule"], starts_on)
        said, subject = source.name(duty), source.shown(duty, "subject")
        said = said if subject in said else f"{said}: {subject}"
        told = _told(source, duty, "duration_min", "basis", "instructions", "done_on", "result")
        told = (f"Repeats: {repeats(duty['rule'])}", *told, _next(duty))
        if first != starts_on:
            yield Entry(duty, "first", starts_on, said, told, "Duty")
        if first is not None:
            yield Entry(duty, "", first, said, told, "Duty", rule=duty["rule"])


def _first(rule: str, starts_on: date) -> date | None:
    """The first day of a rule, on or after `starts_on`; None when it gives none."""
    from dateutil.rrule import rrulestr

    start = datetime.combine(starts_on, time())
    found = rrulestr(rule, dtstart=start, ignoretz=True).after(start, inc=True)
    return found.date() if found else None


def _next(duty: Record) -> str:
    done = date.fromisoformat(duty["done_on"]) if duty["done_on"] else None
    due = next_due(duty["rule"], date.fromisoformat(duty["starts_on"]), done)
    return f"Next due: {due.isoformat() if due else 'no more'}"


def _renewals(source: Source) -> Iterator[Entry]:
    for renewal in source.of("renewal"):
        told = _told(source, renewal, "form", "vendor", "reference", "subject", "cost", "payer",
                     "automatic")  # fmt: skip
        what = source.name(renewal)
        verb = "Renews by itself" if renewal["automatic"] else "Renew"
        yield from _ending(renewal, "", renewal["renews_on"], f"{verb}: {what}", told, "Renewal",
                           renewal["notice_days"], what)  # fmt: skip


def _circuits(source: Source) -> Iterator[Entry]:
    renewed = {(renewal["subject"], renewal["renews_on"]) for renewal in source.of("renewal")}
    for circuit in source.of("circuit"):
        if (circuit.id, circuit["contract_ends_on"]) in renewed:
            continue  # it is told as a renewal
        told = _told(source, circuit, "provider", "circuit_id", "account_number", "monthly_cost")
        what = f"contract of circuit {source.name(circuit)}"
        yield from _ending(circuit, "contract", circuit["contract_ends_on"], f"Ends: {what}", told,
                           "Contract", circuit["notice_days"], what)  # fmt: skip


def _agreements(source: Source) -> Iterator[Entry]:
    if (client := source.client) is not None:
        told = _told(source, client, "agreement", "integrator", "integrator_phone")
        says = "Ends: managed-service agreement"
        yield from _ending(client, "agreement", client["agreement_ends_on"], says, told,
                           "Contract", None, "")  # fmt: skip


def _ending(
    record: Record, part: str, on: str | None, says: str, told: tuple[str, ...], category: str,
    notice_days: int | None, what: str,
) -> Iterator[Entry]:  # fmt: skip
    """The day something ends, with a reminder when notice is due; and the last day for that."""
    if on is None:
        return
    ends = date.fromisoformat(on)
    reminds = _ENDS_DAYS if notice_days is None else notice_days
    yield Entry(record, part, ends, says, told, category, reminds)
    if notice_days:
        last = ends - timedelta(days=notice_days)
        yield Entry(record, joined(part, "notice", by="-"), last,
                    f"Last day to give notice: {what}", (f"Ends on {on}", *told), category,
                    _REVIEW_DAYS)  # fmt: skip


def _warranties(source: Source) -> Iterator[Entry]:
    for warranty in source.of("warranty"):
        if warranty["starts_on"] and warranty["term_months"] is not None:
            ends = warranty_end(date.fromisoformat(warranty["starts_on"]), warranty["term_months"])
            told = _told(source, warranty, "form", "covers", "covers_note", "registration",
                         "claim_contact", "claim_phone", "conditions")  # fmt: skip
            yield Entry(warranty, "", ends, f"Warranty ends: {source.name(warranty)}", told,
                        "Warranty", _ENDS_DAYS)  # fmt: skip


def _batteries(source: Source) -> Iterator[Entry]:
    from binder.engineering.battery import replace_by

    for ups in source.of("hardware"):
        if ups["battery_installed_on"] and ups["battery_life_years"]:
            on = replace_by(
                date.fromisoformat(ups["battery_installed_on"]), ups["battery_life_years"]
            )
            told = _told(source, ups, "battery_part", "rack", "u_position", "space",
                         "battery_installed_on", "battery_life_years")  # fmt: skip
            yield Entry(ups, "battery", on, f"Replace battery: {source.name(ups)}",
                        (*told, "Sooner where it is warmer than 25 °C."), "Battery",
                        _ORDER_DAYS)  # fmt: skip


def _of_a_day(
    kind: str, field: str, says: str, category: str, *tells: str, reminds: int = _REVIEW_DAYS,
    part: str = "", until: str = "",
) -> Callable[[Source], Iterator[Entry]]:  # fmt: skip
    """A kind's records by one of their dates; not those whose field `until` is filled in."""

    def make(source: Source) -> Iterator[Entry]:
        for record in source.of(kind):
            if record[field] and not (until and record[until]):
                yield Entry(record, part, date.fromisoformat(record[field]),
                            f"{says}: {source.name(record)}", _told(source, record, *tells),
                            category, reminds)  # fmt: skip

    return make


def _told(source: Source, record: Record, *names: str) -> tuple[str, ...]:
    """What this document may tell of these fields, a line each."""
    told = ((record.kind.field(name).label, source.shown(record, name)) for name in names)
    return tuple(f"{label}: {text}" for label, text in told if text)


_MAKERS: Final[tuple[Callable[[Source], Iterator[Entry]], ...]] = (
    _duties,
    _renewals,
    _circuits,
    _agreements,
    _warranties,
    _batteries,
    _of_a_day("hardware", "support_ends_on", "Maker's support ends", "Support", "maker", "model",
              "serial", "firmware", reminds=_ORDER_DAYS, part="support"),
    _of_a_day("waiver", "until", "Waiver ends", "Review", "rule", "subject", "reason", "waived_by"),
    _of_a_day("known_issue", "review_by", "Review known issue", "Review", "subject", "effect",
              "work_around", "accepted_by"),
    _of_a_day("account", "review_on", "Review account", "Review", "form", "custodian"),
    _of_a_day("secret", "rotate_by", "Change secret", "Review", "form", "belongs_to", "kept_by",
              "rotate_reason"),
    _of_a_day("instrument", "calibration_due_on", "Calibration due", "Review", "description",
              "serial", "certificate", reminds=_ENDS_DAYS),
    _of_a_day("spare", "replace_by", "Replace spare", "Battery", "fits", "quantity", "kept_at"),
    _of_a_day("reservation", "until", "Reservation falls away", "Review", "subject", "resource",
              "quantity", "asked_by"),
    _of_a_day("punch_item", "due_on", "Punch item due", "Punch list", "description", "trade",
              "owner", reminds=2, until="closed_on"),
)  # fmt: skip
