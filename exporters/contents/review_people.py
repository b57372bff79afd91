"""What the quarter attests: the duties it asks for, accounts and who answers for them, contacts.

Accounts quarterly and contacts yearly: CIS Controls v8.1, 5.1, 5.5 and 17.2 (values from memory).
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from typing import Final

from binder.read import Record
from binder.sheet import is_stale
from exporters.contents.parts import counted, joined, shortened
from exporters.contents.review_log import period
from exporters.model import Block, Paragraph, Part, Section, Table
from exporters.source import Source

_CONTACT_MONTHS: Final = 12


def people(source: Source) -> Section:
    return Section(
        "people",
        "Accounts, contacts and duties",
        (
            Part("What the quarter asks for", tuple(_duties(source))),
            Part("Accounts", tuple(_told(_accounts(source), len(source.of("account")), "account"))),
            Part("Secrets", tuple(_told(_secrets(source), len(source.of("secret")), "secret"))),
            Part("Contacts", tuple(_told(_contacts(source), len(source.of("contact")), "contact"))),
        ),
    )  # fmt: skip


def _duties(source: Source) -> Iterator[Block]:
    """What is due, and what was done since the last review, by whom."""
    due = source.reviewed.asked
    after = period(source)[0].isoformat()
    open_ids = {one.id for one in due}
    rows = []
    for one in due:
        duty = source.get(one.id)
        last = joined(one.last_done_on, source.shown(duty, "done_by"), by=" by ")
        late = ", overdue" if one.due_on < source.reviewed.on else ""
        rows.append((one.name, f"due {one.due_on}{late}", last or "never", one.basis))
    for duty in source.of("duty"):
        if duty["done_on"] and duty["done_on"] > after and duty.id not in open_ids:
            done = joined(duty["done_on"], source.shown(duty, "done_by"), by=" by ")
            told = joined("done", source.shown(duty, "result"), by=": ")
            rows.append((source.name(duty), told, done, source.shown(duty, "basis")))
    if not rows:
        yield Paragraph("Nothing is due, and nothing was done since the last review.")
        return
    yield Table(("Duty", "How it stands", "Last done, by whom", "What asks for it"), tuple(rows))


def _told(found: Iterator[tuple[str, list[str]]], number: int, word: str) -> Iterator[Block]:
    rows = tuple(
        (what, str(len(names)), shortened(", ".join(names))) for what, names in found if names
    )
    yield Paragraph(
        f"{counted(number, word)} on record."
        + ("" if rows else " Nothing about them asks for attention." if number else "")
    )
    if rows:
        yield Table(("What asks for attention", "Number", "Which"), rows)


def _accounts(source: Source) -> Iterator[tuple[str, list[str]]]:
    held, on = source.of("account"), source.reviewed.on
    gone = {contact.id for contact in source.of("contact") if _has_left(contact, on)}
    known = {contact.id for contact in source.of("contact")}
    yield "nobody answers for it", _names(source, held, lambda a: a["custodian"] is None)
    yield "who answers for it has left", _names(
        source, held,
        lambda a: a["custodian"] is not None
        and (a["custodian"] in gone or a["custodian"] not in known),
    )  # fmt: skip
    yield (
        "no second factor recorded",
        _names(
            source,
            held,
            lambda a: a["form"] == "administrator" and a["second_factor"] in (None, "none"),
        ),
    )
    yield (
        "the maker's default login may still work",
        _names(source, held, lambda a: a["form"] == "default" and not a["default_changed"]),
    )
    yield (
        "to be looked at again, and that day is past",
        _names(source, held, lambda a: a["review_on"] is not None and a["review_on"] <= on),
    )
    yield "nobody ever tried it", _names(source, held, lambda a: a["tried_on"] is None)


def _secrets(source: Source) -> Iterator[tuple[str, list[str]]]:
    held, on = source.of("secret"), source.reviewed.on
    yield (
        "to be changed, and that day is past",
        _names(source, held, lambda s: s["rotate_by"] is not None and s["rotate_by"] <= on),
    )
    yield "still the maker's default", _names(source, held, lambda s: bool(s["default_value"]))
    yield (
        "who keeps it is not recorded",
        _names(source, held, lambda s: s["kept_by"] is None and s.id not in source.in_envelope),
    )


def _contacts(source: Source) -> Iterator[tuple[str, list[str]]]:
    held, on = source.of("contact"), source.reviewed.on
    yield "has left", _names(source, held, lambda c: _has_left(c, on))
    there = [contact for contact in held if not _has_left(contact, on)]
    yield (
        "not called to make sure within a year",
        _names(source, there, lambda c: is_stale(c["verified_on"], source.today, _CONTACT_MONTHS)),
    )
    yield "no telephone number", _names(
        source, there,
        lambda c: not (c["office_phone"] or c["mobile_phone"] or c["anytime_phone"]),
    )  # fmt: skip
    first = [contact for contact in there if contact["escalation"] is not None]
    yield (
        "nobody else to call when the first cannot be reached",
        (_names(source, first, lambda c: True) if len(first) == 1 else []),
    )


def _has_left(contact: Record, on: str) -> bool:
    return contact["left_on"] is not None and contact["left_on"] <= on


def _names(source: Source, records: Sequence[Record], holds: Callable[[Record], bool]) -> list[str]:
    return [source.name(record) for record in records if holds(record)]
