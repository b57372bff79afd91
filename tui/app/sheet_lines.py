"""The lines of a sheet: fields, both ends of a port, and what refers to the record."""

from __future__ import annotations

from collections.abc import Hashable, Iterator, Sequence
from dataclasses import dataclass
from itertools import groupby

from binder.file import BinderFile
from binder.records.catalog import BY_NAME
from binder.sheet import Referring, Sheet, SheetLine
from tui.app.kind_words import many
from tui.app.lines import Line, Part, fit, line, width_of, wrapped
from tui.app.ports import Connection, connections

FEW = 12  # groups of at most so many are open from the start
_ALWAYS_OPEN = ("port",)
EVENTS = 4  # of what changed here lately


@dataclass(frozen=True, slots=True)
class SheetRow:
    """A drawn line, and what standing on it means."""

    key: Hashable
    parts: Line
    field: str = ""
    target: int | None = None
    group: str = ""
    version: int = 0  # of the secret's value that it tells of


@dataclass(frozen=True, slots=True)
class Shown:
    """How much of a sheet to show, and how wide."""

    width: int
    all_fields: bool = False
    turned: frozenset[str] = frozenset()  # groups that are not as they would be by themselves


def title(sheet: Sheet) -> tuple[Sequence[Part], Sequence[Part]]:
    """The head of a sheet: what it is, and how long ago someone looked."""
    age = Part(f"{sheet.verified}, stale", "warn") if sheet.stale else Part(sheet.verified)
    if sheet.verified.startswith("never"):
        age = Part(sheet.verified, "warn")
    return (Part(f" {sheet.label} "), Part(sheet.name, "strong")), (age,)


def sheet_rows(binder: BinderFile, sheet: Sheet, shown: Shown) -> list[SheetRow]:
    """All rows of a sheet, drawn for a width."""
    label_width = max(width_of(part.label) for part in sheet.lines) + 3
    form = next((part.value for part in sheet.lines if part.field == "form"), None)
    offered = {field.name for field in BY_NAME[sheet.kind].offered(form)}
    rows = [
        row for part in sheet.lines if part.shown or part.field in offered
        for row in _field_rows(part, shown, label_width)
    ]  # fmt: skip
    if sheet.kind == "port":
        rows += _end_rows(connections(binder, [sheet.id])[sheet.id], label_width)
    rows += _touched_rows(sheet)
    told = {"port": ("cord", "link"), "log_entry": ("touch",)}.get(sheet.kind, ())
    for (kind, through), members in _groups(sheet.referring):
        if kind not in told:
            rows += _group_rows(binder, kind, through, members, shown)
    return [*rows, *_event_rows(sheet, shown)]


def _touched_rows(sheet: Sheet) -> Iterator[SheetRow]:
    """What a log entry touched, by name: the numbers of the notes that say so tell nothing."""
    if sheet.touched:
        yield SheetRow(("touched", "head"), line((f" Touched ({len(sheet.touched)})", "strong")))
    room = min(max([width_of(one.name) for one in sheet.touched], default=0), 40)
    for one in sheet.touched:
        how = f"  {', '.join(one.how)}"
        kind = fit(BY_NAME[one.kind].label, 14)
        yield SheetRow(
            ("touched", one.id),
            line((f"   {kind} ", "label"), fit(one.name, room), (how, "label")),
            target=one.id,
        )


def _event_rows(sheet: Sheet, shown: Shown) -> Iterator[SheetRow]:
    if sheet.lately:
        yield SheetRow(("lately", "head"), line((" What changed here lately", "strong")))
    for at, event in enumerate(sheet.lately):
        by = f" ({event.who})" if event.who else ""
        lead = f"   {event.at[:10]} "
        for piece, text in enumerate(wrapped(f"{event.says}{by}", shown.width - 15)):
            head = lead if piece == 0 else " " * len(lead)
            yield SheetRow(("lately", at, piece), line((head, "label"), text), target=event.id)


def _field_rows(part: SheetLine, shown: Shown, label_width: int) -> Iterator[SheetRow]:
    if not part.shown and not shown.all_fields:
        return
    label = fit(f" {part.label}", label_width)
    pieces = wrapped(part.shown, shown.width - label_width - 1)
    for at, piece in enumerate(pieces):
        mark = " ›" if part.refers_to is not None and at == len(pieces) - 1 else ""
        yield SheetRow(
            (part.field, at),
            line((label if at == 0 else " " * label_width, "label"), piece, (mark, "label")),
            part.field,
            part.refers_to,
        )


def _end_rows(connection: Connection, label_width: int) -> Iterator[SheetRow]:
    for name, what, end in (("Front", "cord", connection.front), ("Rear", "link", connection.rear)):
        label = fit(f" {name}", label_width)
        if end is None:
            yield SheetRow((name, 0), line((label, "label"), f"no {what}"))
            continue
        yield SheetRow(
            (name, 0), line((label, "label"), f"{what} {end.by}", (" ›", "label")), target=end.id
        )
        far = end.to or "nothing documented"
        mark = " ›" if end.far_id else ""
        yield SheetRow(
            (name, 1),
            line((fit("   to", label_width), "label"), far, (mark, "label")),
            target=end.far_id,
        )


def _groups(
    referring: Sequence[Referring],
) -> Iterator[tuple[tuple[str, str], list[Referring]]]:
    for key, members in groupby(referring, key=lambda one: (one.kind, one.through)):
        yield key, list(members)


def _group_rows(
    binder: BinderFile, kind: str, through: str, members: list[Referring], shown: Shown
) -> Iterator[SheetRow]:
    name = f"{kind}/{through}"
    opens = kind in _ALWAYS_OPEN or len(members) <= FEW
    is_open = opens != (name in shown.turned)
    count = f"{len(members)}" if len(members) < 500 else "500 or more"
    yield SheetRow(
        (name, "head"),
        line(
            (f" {'-' if is_open else '+'} {many(BY_NAME[kind])} ({count})", "strong"),
            (f"  by their '{through}'", "label"),
        ),
        group=name,
    )
    if is_open:
        yield from _member_rows(binder, name, members)


def _member_rows(binder: BinderFile, group: str, members: list[Referring]) -> Iterator[SheetRow]:
    ports = [one.id for one in members if one.kind == "port"]
    ends = connections(binder, ports) if ports else {}
    room = min(max(width_of(one.name) for one in members), 40)
    for one in members:
        words = f"  {ends[one.id].words or 'free'}" if one.id in ends else ""
        yield SheetRow(
            (group, one.id), line(f"   {fit(one.name, room)}", (words, "label")), target=one.id
        )
