"""The punch list to send out: one trade's items alone, or every trade's, a page each.

What a trade needs to mend an item without asking: where it is, how to get in, what can hurt
someone there, until when, which photo shows it, and lines to sign. By trade: common practice, no
published source.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from typing import Final

from binder.errors import RequestError
from binder.read import Record
from binder.records.catalog import BY_NAME
from exporters.contents.cautions import GENERAL
from exporters.contents.parts import Column, cell, counted, joined, notes, table
from exporters.contents.places import title_of, whereabouts
from exporters.documents import Asked
from exporters.model import Block, Cell, Document, Facts, Part, Section, SignatureLines, Table
from exporters.model import Paragraph as Text
from exporters.source import Source

TRADES: Final = BY_NAME["punch_item"].field("trade").choices
_ON_THE_COVER = ("address", "hours", "integrator", "integrator_phone")
_HAZARDS: Final[Mapping[str, tuple[str, ...]]] = {
    "cabling": ("Light in fibre", "Walls and ceilings", "Emergency lines"),
    "electrical": ("Mains power", "Batteries", "Emergency lines"),
    "general": ("Walls and ceilings",),
    "carrier": ("Light in fibre", "Mains power", "Emergency lines"),
    "security": ("Walls and ceilings", "Emergency lines"),
    "client": (),
    "integrator": ("Mains power", "Batteries", "Light in fibre", "Anchors and racks", "Lifting",
                   "Emergency lines"),
}  # fmt: skip


def punch_list(asked: Asked) -> Document:
    """Open items by trade, or of one. Raises RequestError for a trade that there is not."""
    source, trade = asked.source, asked.options.trade
    if trade and trade not in TRADES:
        raise RequestError(f"no trade is called '{trade}'; there are: {', '.join(TRADES)}")
    items = {
        each: [item for item in source.of("punch_item") if item["trade"] == each]
        for each in ((trade,) if trade else TRADES)
    }
    shown = [each for each in items if _open(items[each]) or each == trade]
    return Document(
        asked.document,
        f"Punch list, {trade}" if trade else "Punch list",
        source.name(source.client) or "Client not named",
        asked.release,
        asked.dated,
        (Facts(_cover_facts(source)), *(() if trade else _summary(source, items))),
        tuple(_of_trade(source, each, items[each]) for each in shown),
    )


def _cover_facts(source: Source) -> tuple[tuple[str, Cell], ...]:
    client = source.client
    if client is None:
        return ()
    told = ((client.kind.field(name).label, cell(source, client, name)) for name in _ON_THE_COVER)
    return tuple((label, value) for label, value in told if value)


def _summary(source: Source, items: Mapping[str, Sequence[Record]]) -> tuple[Block, ...]:
    rows = []
    for trade, of_trade in items.items():
        due = _open(of_trade)
        overdue = sum(_is_overdue(source, item) for item in due)
        if of_trade:
            closed = len(of_trade) - len(due)
            rows.append((trade.capitalize(), str(len(due)), str(overdue), str(closed)))
    if not rows:
        return (Text("No item is on the punch list."),)
    return (Table(("Trade", "Open", "Of these overdue", "Closed"), tuple(rows)),)


def _of_trade(source: Source, trade: str, items: Sequence[Record]) -> Section:
    due = _open(items)
    closed = [item for item in items if item["closed_on"] is not None]
    blocks: list[Block | Part] = [Text(f"{counted(len(due), 'open item')}.")]
    if due:
        blocks += _before_work(source, trade, due)
        blocks.append(Part("To do", _told(source, due)))
    if closed:
        told = table(source, closed, "description", "closed_on", "closed_by")
        blocks.append(Part("Closed already", (told,)))
    if due:
        parties = (f"Done, for the trade ({trade})", "Checked and accepted")
        blocks.append(Part("Signatures", (SignatureLines(parties),)))
    return Section(f"trade-{trade}", trade.capitalize(), tuple(blocks))


def _told(source: Source, items: Sequence[Record]) -> tuple[Block, ...]:
    photos = source.belonging("attachment", "subject")
    where = Column("Where", lambda item: _place(source, item), ("space", "subject"))
    due = Column("Due", lambda item: _due(source, item), ("due_on",))
    photo = Column("Photo", lambda item: _photos(source, item, photos))
    done = Column("Done on, by", lambda item: "")
    return (
        table(source, items, where, "description", "owner", due, photo, done),
        *notes(source, items),
    )


def _open(items: Sequence[Record]) -> list[Record]:
    """What is not closed, the first due first; what has no day last."""
    found = [item for item in items if item["closed_on"] is None]
    return sorted(found, key=lambda item: item["due_on"] or "9999")


def _is_overdue(source: Source, item: Record) -> bool:
    return item["due_on"] is not None and item["due_on"] < source.today.isoformat()


def _due(source: Source, item: Record) -> str:
    day = source.shown(item, "due_on") or "no day agreed"
    return f"{day}, overdue" if _is_overdue(source, item) else day


def _place(source: Source, item: Record) -> str:
    """The room, then the thing in it that the item concerns."""
    space, subject = _space(source, item), source.get(item["subject"])
    thing = source.shown(item, "subject")
    if subject is not None and subject.kind.name == "hardware":
        return joined(thing, whereabouts(source, subject), by=": ")
    return joined(title_of(source, space) if space else "", thing, by=": ")


def _space(source: Source, item: Record) -> Record | None:
    """Where it is: as noted, else where the thing it concerns is."""
    if (found := source.get(item["space"])) is not None:
        return found
    at = source.get(item["subject"])
    for name in ("hardware", "rack", "space"):
        if at is not None and any(field.name == name for field in at.kind.all_fields):
            at = source.get(at[name]) or at
    return at if at is not None and at.kind.name == "space" else None


def _photos(source: Source, item: Record, photos: Mapping[int, tuple[Record, ...]]) -> str:
    """The photos of the item, else of what it concerns, as one asks for them."""
    for subject in (item.id, item["subject"]):
        shown = [photo for photo in photos.get(subject, ()) if photo["form"] == "photo"]
        if shown:
            return "; ".join(
                joined(source.name(p), source.shown(p, "file_name"), by=": ") for p in shown
            )
    return ""


def _before_work(source: Source, trade: str, items: Sequence[Record]) -> Iterator[Part]:
    """What can hurt someone, and how to get in, for the rooms that this list leads to."""
    general = tuple(caution for caution in GENERAL if caution.hazard in _HAZARDS[trade])
    rooms = {space.id: space for item in items if (space := _space(source, item)) is not None}
    ways = ("access_hours", "escort", "hazards", "shut_offs")
    rows: list[tuple[str, Cell]] = []
    for space in rooms.values():
        lines = [f"{space.kind.field(name).label}: {text}" for name in ways
                 if (text := source.shown(space, name))]  # fmt: skip
        if lines:
            rows.append((title_of(source, space), "\n".join(lines)))
    here = (Facts(tuple(rows)),) if rows else ()
    if general or here:
        yield Part("Before work begins", (*general, *here))
