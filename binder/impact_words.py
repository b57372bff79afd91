"""Impact and the order of starting in words, lines of at most 80 columns."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from math import isfinite
from textwrap import wrap
from typing import Final

from binder.identifiers import natural_key
from binder.impact import Affected, Impact, OnBattery
from binder.start_order import Item, Order
from binder.text import visible

_WIDTH: Final = 80
LOSSES: Final = (
    ("power", "lose power"),
    ("data", "keep power, lose data"),
    ("redundancy", "lose only redundancy"),
)


def impact_lines(answer: Impact, *, chains: bool = True) -> list[str]:
    """What is lost, the gravest first, by space; with `chains` the reason of each."""
    found = [f"if {answer.kind.replace('_', ' ')} {answer.name} fails"]
    for ups in answer.on_battery:
        found += _wrapped(battery(ups), "  ")
    if answer.circuits_lost:
        left = (
            f"left: {', '.join(answer.circuits_left)}" if answer.circuits_left else "none is left"
        )
        found += _wrapped(f"circuit lost: {', '.join(answer.circuits_lost)}; {left}", "  ")
    for loss, told in LOSSES:
        affected = [each for each in answer.affected if each.loses == loss]
        if affected:
            found.append(f"{len(affected)} {told}")
            found += _listed(affected, chains=chains and loss != "redundancy")
    if not answer.affected:
        found.append("nothing recorded here loses power, data or redundancy")
    for note in answer.notes:
        found += _wrapped(f"note: {note}", "")
    return [*found, *_counts(answer)]


def battery(ups: OnBattery) -> str:
    """How long a UPS carries what it still feeds, in a sentence."""
    if ups.minutes is None:
        return f"{ups.name} goes on battery: how long it lasts is not known"
    load = f" at {ups.load_w:.0f} W" if ups.load_w is not None else ""
    bound = f"{ups.bound} " if ups.bound else ""
    return f"{ups.name} goes on battery for {bound}{ups.minutes:.0f} min{load}, by reckoning"


def _listed(affected: Iterable[Affected], *, chains: bool) -> Iterator[str]:
    by_space: dict[tuple[float, str], list[Affected]] = {}
    for each in affected:
        by_space.setdefault((each.after_min, each.space), []).append(each)
    for after_min, space in sorted(by_space, key=lambda key: (key[0], natural_key(key[1]))):
        members = by_space[after_min, space]
        when = f" after {after_min:.0f} min" if after_min and isfinite(after_min) else ""
        head = f"  {space or 'no space'}{when}: "
        if not chains:
            yield from _wrapped(head + ", ".join(m.name for m in members), "")
            continue
        yield head.rstrip()
        for member in members:
            yield from _wrapped(f"{member.name} ({member.form})  {why(member)}", "    ")


def why(affected: Affected) -> str:
    """'SW1 fails > SW2 has no power': the chain without what it ends in."""
    return " > ".join(f"{cause.name} {cause.how}" for cause in affected.chain[:-1])


def _counts(answer: Impact) -> Iterator[str]:
    if len(answer.by_form) > 1:
        parts = [f"{t.name} {t.power + t.data}" for t in answer.by_form if t.power + t.data]
        if parts:
            yield from _wrapped(f"in all: {', '.join(parts)}", "")


def order_lines(order: Order) -> list[str]:
    """Stages to start in, then to stop in, then what waits for itself."""
    about = f" {order.about} and what hangs on it" if order.about else ""
    found = [f"start{about}"]
    for number, stage in enumerate(order.stages, 1):
        found += _stage(number, stage)
    found.append("stop")
    for number, stage in enumerate(reversed(order.stages), 1):
        found += _stage(number, stage)
    for ring in order.rings:
        found += _wrapped(f"ring: {ring}", "")
    return found


def _stage(number: int, stage: tuple[Item, ...]) -> Iterator[str]:
    members = ", ".join(item.name for item in stage)
    yield from _wrapped(f"{number:>3}. {members}", "", hanging="     ")


def _wrapped(text: str, indent: str, hanging: str = "  ") -> list[str]:
    return wrap(
        visible(text), _WIDTH, initial_indent=indent, subsequent_indent=indent + hanging,
        break_long_words=False, break_on_hyphens=False,
    )  # fmt: skip
