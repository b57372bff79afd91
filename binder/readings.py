"""Readings: what is usually read here, with its last value; added in one step, doubts asked about.

A reading is never altered. One that was wrong stays, and a later one says that it corrects it.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from statistics import fmean, median
from typing import Final

from binder.edit import Editor
from binder.engineering.figures import plain
from binder.errors import Fault, FaultsError, RequestError
from binder.file import BinderFile
from binder.identifiers import natural_key
from binder.read import unit_system
from binder.records.catalog import BY_NAME
from binder.records.quantities import UNITS as QUANTITIES
from binder.records.quantities import format_quantity, parse_quantity
from binder.records.values import check

# The unit of each quantity, as `quantities.UNITS` names it; '' is a count.
UNITS: Final = {
    "UPS load W": "w", "UPS runtime min": "min", "PoE draw W": "w",
    "rate 95th percentile Mb/s": "mbps", "disk used GB": "gb", "received power dBm": "dbm",
    "temperature C": "c", "DHCP leases": "", "wireless clients": "", "current A": "a",
}  # fmt: skip
SIGNED: Final = ("received power dBm", "temperature C")
# Iglewicz and Hoaglin, How to Detect and Handle Outliers (ASQC 1993): modified z-scores above 3.5
# in absolute value are to be looked at. With a median absolute deviation of nought, the mean one
# stands in for it.
MOST_SCORE: Final = 3.5
LEAST_BEFORE: Final = 4
_MAD_SHARE: Final = 0.6745  # of the standard deviation of a normal distribution
_MEAN_SHARE: Final = 0.797885  # the square root of 2/pi: likewise, of the mean deviation

_IN_USE: Final = "status IN ('installed', 'current')"
# What is usually read, in the order of a walk: the quantity, and where.
_USUAL: Final = (
    ("temperature C", "SELECT DISTINCT space_id FROM rack WHERE " + _IN_USE),
    ("UPS load W", f"SELECT id FROM hardware WHERE form = 'UPS' AND {_IN_USE}"),
    ("UPS runtime min", f"SELECT id FROM hardware WHERE form = 'UPS' AND {_IN_USE}"),
    ("PoE draw W",
     f"SELECT id FROM hardware WHERE form = 'switch' AND poe_budget_w > 0 AND {_IN_USE}"),
    ("disk used GB",
     f"SELECT id FROM hardware WHERE form IN ('recorder', 'storage') AND {_IN_USE}"),
    ("rate 95th percentile Mb/s", f"SELECT id FROM circuit WHERE {_IN_USE}"),
    ("received power dBm",
     f"SELECT id FROM circuit WHERE received_min_dbm IS NOT NULL "
     f"AND {_IN_USE}"),
    ("DHCP leases", f"SELECT id FROM subnet WHERE dhcp_first IS NOT NULL AND {_IN_USE}"),
    ("wireless clients", f"SELECT id FROM hardware WHERE form = 'access point' AND {_IN_USE}"),
)  # fmt: skip
_STANDING: Final = (
    "SELECT t.subject_id, t.quantity, t.value, t.read_at, t.identifier, t.id FROM reading t "
    "WHERE t.status = 'current' AND NOT EXISTS (SELECT 1 FROM reading c "
    "WHERE c.corrects_id = t.id AND c.status = 'current') ORDER BY t.read_at, t.id"
)


@dataclass(frozen=True, slots=True)
class Usual:
    """Something usually read. `last_value` is as stored, in the unit the quantity names; None and
    '' where it was never read."""

    subject_id: int
    subject: str
    quantity: str
    last_value: float | None
    last_at: str


@dataclass(frozen=True, slots=True)
class Taken:
    """A reading to be added. `value` is as stored, `read_at` a moment as stored."""

    subject_id: int
    quantity: str
    value: float
    read_at: str
    read_by: str = ""
    corrects_id: int | None = None


@dataclass(frozen=True, slots=True)
class Doubt:
    """A reading far from those before it. `score` is its modified z-score, None where all those
    before were the same."""

    taken: Taken
    subject: str
    usually: float
    score: float | None
    says: str


def usual(binder: BinderFile) -> tuple[Usual, ...]:
    """What is usually read here: what the records ask for, then what else was read before."""
    last = {(row[0], row[1]): (row[2], row[3]) for row in binder.connection.execute(_STANDING)}
    names = {row[0]: row[1] for row in binder.connection.execute("SELECT id, name FROM record")}
    asked = []
    for quantity, sql in _USUAL:
        ids = [row[0] for row in binder.connection.execute(sql)]
        asked += [(i, quantity) for i in sorted(ids, key=lambda one: natural_key(names[one]))]
    more = sorted(last.keys() - set(asked), key=lambda one: (one[1], natural_key(names[one[0]])))
    return tuple(
        Usual(
            subject_id, names[subject_id], quantity, *last.get((subject_id, quantity), (None, ""))
        )
        for subject_id, quantity in (*asked, *more)
    )


def quantity_named(text: str) -> str:
    """The quantity meant by its name or the beginning of it. Raises RequestError."""
    word = " ".join(text.split()).casefold()
    choices = BY_NAME["reading"].field("quantity").choices
    exact = [one for one in choices if one.casefold() == word]
    found = exact or [one for one in choices if word and one.casefold().startswith(word)]
    if len(found) == 1:
        return found[0]
    says = "more than one quantity begins with" if found else "no quantity is named"
    raise RequestError(f"{says} '{text}'; there are: {', '.join(found or choices)}")


def value_of(quantity: str, text: str, system: str) -> float:
    """The stored value of what was typed for a quantity. `system` is 'us' or 'metric'.

    Raises ValueError for another unit, for no number, and for less than nothing.
    """
    unit = UNITS.get(quantity, "")
    if unit:
        value = parse_quantity(text, unit, system)
    else:
        try:
            value = float(text)
        except ValueError:
            raise ValueError(f"'{text}' is no number; {quantity} is written like 42") from None
        if quantity != "other" and not value.is_integer():
            raise ValueError(f"'{text}': {quantity} is a count, a whole number")
    if value < 0 and quantity in UNITS and quantity not in SIGNED:
        raise ValueError(f"'{text}': {quantity} is never less than 0")
    check(BY_NAME["reading"].field("value"), value)
    return value


def symbol(quantity: str, system: str) -> str:
    """The unit that a bare number typed for a quantity is taken in; '' for a count."""
    unit = UNITS.get(quantity, "")
    return QUANTITIES[unit].symbol(system) if unit else ""


def shown(quantity: str, value: float, system: str) -> str:
    """A stored value as the binder shows it, with the unit in which it is typed."""
    unit = UNITS.get(quantity, "")
    return format_quantity(value, unit, system) if unit else plain(value)


def modified_z(value: float, before: Sequence[float]) -> float | None:
    """How far a value lies from earlier ones: 0.6745 (x - median)/MAD; with no MAD, by the mean
    absolute deviation. None when the earlier ones are all the same.

    Iglewicz and Hoaglin 1993. Raises ValueError for no earlier values.
    """
    if not before:
        raise ValueError("there is nothing to compare with")
    middle = median(before)
    off = [abs(one - middle) for one in before]
    if mad := median(off):
        return _MAD_SHARE * (value - middle) / mad
    if mean := fmean(off):
        return _MEAN_SHARE * (value - middle) / mean
    return None


def doubts(binder: BinderFile, taken: Iterable[Taken]) -> tuple[Doubt, ...]:
    """Those that lie far from what was read before, to be asked about once, then saved as typed.

    Nothing is doubted before four readings. Where all were the same, a change by half is.
    """
    held: dict[tuple[int, str], list[tuple[int, float]]] = {}
    for subject_id, quantity, value, _, _, record_id in binder.connection.execute(_STANDING):
        held.setdefault((subject_id, quantity), []).append((record_id, value))
    names = {row[0]: row[1] for row in binder.connection.execute("SELECT id, name FROM record")}
    system, found = unit_system(binder), []
    for one in taken:
        known = held.get((one.subject_id, one.quantity), [])
        before = [value for record_id, value in known if record_id != one.corrects_id]
        if len(before) < LEAST_BEFORE:
            continue
        middle, score = median(before), modified_z(one.value, before)
        far = abs(one.value - middle) > abs(middle) / 2 if score is None else (
            abs(score) > MOST_SCORE
        )  # fmt: skip
        if far:
            subject = names.get(one.subject_id, "")
            told, least, most = (
                shown(one.quantity, value, system)
                for value in (one.value, min(before), max(before))
            )
            says = (
                f"{subject}, {one.quantity}: {told} is far from the {len(before)} "
                f"readings before, {least} to {most}"
            )
            found.append(Doubt(one, subject, middle, score, says))
    return tuple(found)


def add(editor: Editor, taken: Sequence[Taken], *, method: str = "by hand") -> tuple[int, ...]:
    """Add readings in one step; gives their ids. Raises FaultsError, and adds none, when one
    corrects a reading of something else."""
    _check_corrections(editor.binder, taken)
    if not taken:
        return ()
    rows = [
        {
            "subject": one.subject_id, "quantity": one.quantity, "value": one.value,
            "read_at": one.read_at, "read_by": one.read_by or editor.who, "method": method,
            "corrects": one.corrects_id,
        }
        for one in taken
    ]  # fmt: skip
    with editor.step(f"{len(rows)} reading{'s' if len(rows) > 1 else ''}") as step:
        return tuple(step.add_many("reading", rows))


def is_held(binder: BinderFile, taken: Taken) -> bool:
    """Whether the very same reading is in the binder already."""
    return (
        binder.connection.execute(
            "SELECT 1 FROM reading WHERE subject_id = ? AND quantity = ? AND read_at = ? "
            "AND value = ?",
            (taken.subject_id, taken.quantity, taken.read_at, taken.value),
        ).fetchone()
        is not None
    )


def _check_corrections(binder: BinderFile, taken: Sequence[Taken]) -> None:
    faults = []
    for at, one in enumerate(taken, 1):
        if one.corrects_id is None:
            continue
        row = binder.connection.execute(
            "SELECT subject_id, quantity, identifier FROM reading WHERE id = ?", (one.corrects_id,)
        ).fetchone()
        if row is None or (row[0], row[1]) != (one.subject_id, one.quantity):
            name = row[2] if row else "that"
            faults.append(
                Fault(f"reading {at}", f"{name} is no reading of the same; it cannot correct it")
            )
    if faults:
        raise FaultsError(tuple(faults))
