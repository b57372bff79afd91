"""What a field may hold, offered while it is typed: choices, yes and no, records by name."""

from __future__ import annotations

from collections.abc import Iterable
from typing import NamedTuple

from binder.file import BinderFile
from binder.find import find
from binder.read import Named
from binder.records.catalog import BY_NAME
from binder.records.fields import Field, Type
from tui.app.ports import connections

MOST = 6


class Suggestion(NamedTuple):
    """`text` is what goes into the field, `note` what is told beside it; `adds` the kind of record
    that is added first, when it is not in the binder."""

    text: str
    note: str = ""
    adds: str = ""


def options(field: Field) -> tuple[str, ...]:
    """The closed list of what a field takes, or nothing when it is not closed."""
    if field.type is Type.FLAG:
        return ("yes", "no")
    return field.choices


def suggest(
    binder: BinderFile | None, field: Field, text: str, *, kind: str = ""
) -> tuple[Suggestion, ...]:
    """The likeliest completions of what is typed, best first; none when it stands complete.

    Where nothing is typed nothing is offered: Enter on a field just emptied leaves it empty.

    `kind` is what the field is of: for a cord or a link, ports that are free come first.
    """
    typed = text.strip()
    if not typed:
        return ()
    if field.is_reference:
        return _records(binder, field, typed, kind) if binder else ()
    known = options(field)
    folded = typed.casefold()
    if folded in (option.casefold() for option in known):
        return ()
    begins = [option for option in known if option.casefold().startswith(folded)]
    holds = [o for o in known if folded in o.casefold() and o not in begins]
    return tuple(Suggestion(option) for option in (*begins, *holds)[:MOST])


def next_option(field: Field, text: str, by: int) -> str:
    """The choice after (or before) the one that is typed; empty stands among them if allowed."""
    known = options(field) if field.required else ("", *options(field))
    if text not in known:
        return known[0]
    return known[(known.index(text) + by) % len(known)]


def _records(binder: BinderFile, field: Field, typed: str, kind: str) -> tuple[Suggestion, ...]:
    target = field.target
    word, _, rest = typed.partition(" ")
    if not target and word in BY_NAME:  # 'hardware SW1', as a record of any kind is written
        target, typed = word, rest.strip()
    found = {named.id: named for named in _by_name(binder, target, typed)}
    if len(found) < MOST and typed:
        for hit in find(binder, typed, 4 * MOST):
            if target in ("", hit.kind):
                found.setdefault(hit.id, Named(hit.id, hit.kind, hit.name))
    if field.target == "port" and kind in ("cord", "link"):
        return _ports(binder, list(found.values()), kind)
    return tuple(_noted(binder, field, tuple(found.values())[:MOST]))


def _ports(binder: BinderFile, found: list[Named], kind: str) -> tuple[Suggestion, ...]:
    """Ports with what is in them already; those that are free, and good for use, first."""
    ids = [named.id for named in found]
    ends = connections(binder, ids)
    taken = {named.id: ends[named.id].side_of(kind) for named in found}
    poe, against = _standing(binder, ids)
    found.sort(key=lambda named: (taken[named.id] is not None, named.id in against))
    words = {
        port: end.words if end else ", ".join(("free", *against.get(port, ()), *poe.get(port, ())))
        for port, end in taken.items()
    }
    return tuple(Suggestion(named.name, words[named.id]) for named in found[:MOST])


def _standing(
    binder: BinderFile, ports: list[int]
) -> tuple[dict[int, list[str]], dict[int, list[str]]]:
    """What each port supplies, and what speaks against taking it, where there is any."""
    poe, against = dict[int, list[str]](), dict[int, list[str]]()
    marks = ",".join("?" * len(ports))
    for port, poe_type, condition, why, purpose in binder.connection.execute(
        "SELECT id, poe_type, condition, condition_reason, reserved_for "
        f"FROM port WHERE id IN ({marks})",
        ports,
    ):
        if poe_type not in (None, "none"):
            poe[port] = [f"PoE type {poe_type}"]
        said = [f"bad: {why}" if why else "bad"] if condition == "bad" else []
        said += [f"reserved for {purpose}"] if purpose else []
        if said:
            against[port] = said
    return poe, against


def _by_name(binder: BinderFile, target: str, typed: str) -> Iterable[Named]:
    """Names that begin with what is typed, the shortest first, then those that hold it."""
    escaped = typed.replace("\\", "\\\\").replace("%", "\\%").replace("_", "\\_")
    rows = binder.connection.execute(
        "SELECT id, kind, name FROM record "
        "WHERE name LIKE ?1 ESCAPE '\\' AND (?2 = '' OR kind = ?2) "
        "ORDER BY name NOT LIKE ?3 ESCAPE '\\', length(name), name LIMIT ?4",
        (f"%{escaped}%", target, f"{escaped}%", 8 * MOST),
    )
    return (Named(row[0], row[1], row[2]) for row in rows)


def _noted(binder: BinderFile, field: Field, found: tuple[Named, ...]) -> Iterable[Suggestion]:
    for named in found:
        if field.type is Type.SUBJECT:
            yield Suggestion(f"{named.kind} {named.name}", BY_NAME[named.kind].label)
        else:
            yield Suggestion(named.name, _description(binder, named))


def _description(binder: BinderFile, named: Named) -> str:
    """A few words that tell records of one kind apart."""
    kind = BY_NAME[named.kind]
    field = next((name for name in ("description", "name", "role", "form") if kind.has(name)), "")
    if not field:
        return ""
    row = binder.connection.execute(
        f'SELECT "{field}" FROM "{kind.table}" WHERE id = ?', (named.id,)
    ).fetchone()
    return str(row[0] or "") if row else ""
