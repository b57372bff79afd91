"""Headroom in words and bars: lines of 80 columns, readable without colour.

A bar has `#` for what is used, `=` for what is planned or reserved, `.` for what is free, and ends
in `>` when more is asked for than there is. Figures are shown as the binder shows them; the sums
behind them are worked in metric units, with the result in both where they differ.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from textwrap import wrap
from typing import Final

from binder.engineering.figures import Step, plain
from binder.headroom.rows import Headroom, Row
from binder.headroom.what_if import WhatIf
from binder.records.quantities import UNITS, format_quantity
from binder.text import visible

# The units of the formulae, and the quantities they are stored as.
_QUANTITIES: Final = {
    "W": "w", "VA": "va", "kg": "kg", "mm": "mm", "m": "m", "A": "a", "min": "min",
    "years": "years", "days": "days", "°C": "c", "GB": "gb", "Mb/s": "mbps", "dB": "db",
    "dBm": "dbm", "%": "percent", "U": "u", "N": "n", "ohm": "ohm",
}  # fmt: skip
BAR: Final = 12
HEADS: Final = f"{'state':<10} {'resource':<18} {'where':<12} {'#used =kept':<13}of the limit"
_WIDTH: Final = 80
_INDENT: Final = " " * 11


_ONE: Final = {
    "addresses": "address", "cameras": "camera", "clients": "client", "licences": "licence",
    "ports": "port", "strands": "strand",
}  # fmt: skip


def shown(value: float | None, unit: str, system: str, *, difference: bool = False) -> str:
    """A figure with its unit, as the binder shows it; '?' for what is not known.

    `difference`: between two temperatures, which has no zero to shift.
    """
    if value is None:
        return "?"
    if unit == "°C" and difference:
        return f"{plain(value * 9 / 5)} °F" if system == "us" else f"{plain(value)} °C"
    if unit == "K" and system == "us":
        return f"{plain(value * 9 / 5)} °F of rise"
    if unit in _QUANTITIES:
        return format_quantity(value, _QUANTITIES[unit], system)
    number = plain(round(value, 3))
    return f"{number} {_ONE.get(unit, unit) if number == '1' else unit}".rstrip()


_TURNED: Final = ("kg", "mm", "m", "°C")  # told otherwise in US customary
_METRIC: Final = re.compile(rf"([+-]?\d+(?:\.\d+)?) ({'|'.join(_TURNED)})(?![\w²])( a year)?")


def in_system(text: str, system: str) -> str:
    """A sentence of headroom, worded in metric, with its quantities as the binder shows them."""
    if system != "us":
        return text

    def told(found: re.Match[str]) -> str:
        value, unit, a_year = found.groups()
        sign = "+" if value.startswith("+") else ""
        return sign + shown(float(value), unit, system, difference=bool(a_year)) + (a_year or "")

    return _METRIC.sub(told, text)


def two(one: float | None, joined_by: str, other: float | None, unit: str) -> str:
    """'296 to 320 W': the unit once, and at each where `in_system` will turn each."""
    first, last = ("not known" if value is None else plain(value) for value in (one, other))
    if unit in _TURNED and one is not None:
        first = f"{first} {unit}"
    return f"{first} {joined_by} {last}" + ("" if other is None else f" {unit}")


def bar(row: Row, width: int = BAR) -> str:
    """What is used, kept and free of the limit, in that many characters; blank when not known."""
    if row.limit is None or row.used is None or row.reserved is None:
        return "?" * 3 + " " * (width - 3)
    if row.limit <= 0:
        return "#" * (width - 1) + (">" if row.state in ("over", "short") else "#")
    used = round(min(1.0, row.used / row.limit) * width)
    taken = max(used, round(min(1.0, (row.used + row.reserved) / row.limit) * width))
    if row.reserved > 0 and taken == used and used < width:
        taken += 1
    drawn = "#" * used + "=" * (taken - used) + "." * (width - taken)
    return drawn[:-1] + ">" if row.state in ("over", "short") else drawn


def figures(row: Row, system: str) -> str:
    """'68 + 72.8 of 104 W': used, what is kept, and the limit, the unit told once."""
    if row.used is None or row.limit is None:
        return ""
    told = [_rounded(row.used, row, system), _rounded(row.limit, row, system)]
    if row.reserved:
        told.insert(1, _rounded(row.reserved, row, system, difference=True))
    unit = told[-1].partition(" ")[2]
    if unit and all(each.endswith(f" {unit}") for each in told):
        told[:-1] = [each.removesuffix(f" {unit}") for each in told[:-1]]
    return f"{' + '.join(told[:-1])} of {told[-1]}"


def free(row: Row, system: str) -> str:
    """'36.8 W too much', 'at most 30 kg free', '' when not known."""
    if row.free is None:
        return ""
    told = _rounded(abs(row.free), row, system, difference=True)
    if row.free < 0 and row.state in ("over", "short"):
        return f"{told} too much"
    return " ".join(filter(None, (row.bound, told if row.free else "none", "free")))


def _rounded(value: float, row: Row, system: str, *, difference: bool = False) -> str:
    """A figure of a row to the digits that planning has a use for."""
    return shown(round(value, 1 if abs(value) >= 10 else 2), row.unit, system,
                 difference=difference)  # fmt: skip


def lines(answer: Headroom, system: str, *, basis: bool = False) -> list[str]:
    """The answer as lines of at most 80 columns; with `basis` the sum behind each row."""
    found = [HEADS] if answer.rows else ["nothing to show"]
    for row in answer.rows:
        found += row_lines(row, system, basis=basis)
    found.append(_counted(answer))
    for note in answer.notes:
        found += _wrapped(f"note: {note}", "")
    return found


def _counted(answer: Headroom) -> str:
    return ", ".join(f"{count} {state}" for state, count in answer.counts().items() if count)


def row_lines(row: Row, system: str, *, basis: bool = False) -> list[str]:
    """One line a row, and below it what asks for attention."""
    head = f"{row.state:<10} {row.resource:<18} {row.where.name:<12} {bar(row)} "
    found = [f"{head}{figures(row, system)}".rstrip()]
    if len(found[0]) > _WIDTH:
        found = [head.rstrip(), f"{_INDENT}{figures(row, system)}"]
    below = list(_below(row, system))
    if basis:
        below += _basis(row, system)
    for line in below:
        found += _wrapped(line, _INDENT)
    return found


def _below(row: Row, system: str) -> Iterator[str]:
    left = free(row, system)
    which = f"{row.which}: " if row.which else ""
    if row.state == "not known":
        yield f"{which}{row.told}" + (f"; {left}" if left else "")
        return
    if which or row.state != "fine" or row.bound:
        yield f"{which}{left}"
    if row.fix:
        yield f"mend: {in_system(row.fix, system)}"
    if row.state != "fine" and row.outlook:
        yield f"trend: {in_system(row.outlook.says, system)}"
    if row.needs:
        yield "not recorded: " + ", ".join(map(str, row.needs[:3]))


def _basis(row: Row, system: str) -> Iterator[str]:
    """The sum worked through: every step, and what the row stands on."""
    yield f"rated {shown(row.rated, row.unit, system)}; limit: {row.limit_because}"
    for step in row.steps:
        yield f"- {step_line(step, system)}"
    yield f"basis: {row.basis}"
    if row.measured:
        value = shown(row.measured.value, row.measured.unit, system)
        yield f"read {row.measured.at[:10]}: {value}"
    if row.outlook and row.state == "fine":
        yield f"trend: {in_system(row.outlook.says, system)}"
    for note in row.notes:
        yield f"note: {in_system(note, system)}"
    if row.caution:
        yield f"caution: {row.caution}"


def step_line(step: Step, system: str) -> str:
    """A step of a sum in metric, its result also as the binder shows it where that differs."""
    quantity = _QUANTITIES.get(step.unit)
    other = ""
    if system == "us" and quantity and UNITS[quantity].symbol_us != UNITS[quantity].symbol_metric:
        other = f" ({format_quantity(step.value, quantity, system)})"
    told = f"{step.what}: {step.working} = {plain(step.value)} {step.unit}".rstrip() + other
    return f"{told} [{step.basis}]" if step.basis else told


_SIGNS: Final = {"at most": "<= ", "at least": ">= ", "about": "~ ", "": ""}


def left(row: Row, system: str) -> str:
    """What is free, negative where too much is asked for."""
    if row.free is None:
        return "?"
    return _SIGNS[row.bound] + _rounded(row.free, row, system, difference=True)


def what_if_lines(answer: WhatIf, system: str) -> list[str]:
    """What runs out first and how to mend it, then every row that moves: before and after."""
    found = _wrapped(f"with {', '.join(answer.additions)}", "")
    for cannot in answer.cannot:
        found += _wrapped(f"cannot: {cannot}", "")
    if answer.first is not None:
        row = answer.first
        which = f" ({row.which})" if row.which else ""
        found += _wrapped(f"runs out first: {row.resource} of {row.where.name}{which}", "")
        found += _wrapped(f"{figures(row, system)}, {free(row, system)}", "  ")
        if row.fix:
            found += _wrapped(f"smallest change: {in_system(row.fix, system)}", "  ")
    elif not answer.cannot:
        found.append("nothing new runs out")
    for row in answer.worse:
        found += _wrapped(f"was short already: {row.resource} of {row.where.name}", "")
    found.append(f"{'state':<10} {'resource':<18} {'where':<12} {'free before':<17} after")
    for moved in answer.moved:
        row, before, after = moved.after, left(moved.before, system), left(moved.after, system)
        found.append(
            f"{row.state:<10} {row.resource:<18} {row.where.name:<12} {before:<17} {after}"
        )
    for placed in answer.placed:
        found += _wrapped(placed, "")
    for note in answer.notes:
        found += _wrapped(f"note: {note}", "")
    return found


def _wrapped(text: str, indent: str) -> list[str]:
    return wrap(
        visible(text), _WIDTH, initial_indent=indent, subsequent_indent=indent + "  ",
        break_long_words=False, break_on_hyphens=False,
    )  # fmt: skip
