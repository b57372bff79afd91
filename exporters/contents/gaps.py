"""What is missing, listed as missing; what was let through, with the reason; the gates."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import Final

from binder.closeout import Waived
from binder.closeout.acceptance import Gate
from binder.closeout.gap import Severity
from exporters.contents.parts import Column, counted, schedule
from exporters.model import Block, Paragraph, Part, Section, Table
from exporters.source import Source

_TITLES: Final[Mapping[Severity, str]] = {
    "must": "Must be mended before acceptance",
    "should": "Should be mended",
}
_EVERYWHERE: Final = "The binder as a whole"


def gaps(source: Source) -> Section:
    """Every gap, what must be mended first, by place; then what was waived, and why."""
    return Section("gaps", "What is missing", tuple(_blocks(source)))


def _blocks(source: Source) -> Iterator[Block | Part]:
    found = source.closeout
    should = len(found.gaps) - found.open_musts
    if not found.gaps:
        yield Paragraph("No rule of the closeout finds anything missing.")
    else:
        yield Paragraph(
            f"{counted(found.open_musts, 'gap')} must be mended before acceptance, "
            f"{should} should be. Nothing that is missing is left out of this list."
        )
    for severity, title in _TITLES.items():
        rows = tuple(
            (place or _EVERYWHERE, source.cleared(gap.says), gap.mend)
            for place, standing in found.by_place().items()
            for gap in standing
            if gap.severity == severity
        )
        if rows:
            yield Part(title, (Table(("Where", "What", "How to mend it"), rows),))
    yield Part("Waived, with the reason", waived(source))
    applied = {one.waiver_id for one in found.waived}
    if others := [waiver for waiver in source.of("waiver") if waiver.id not in applied]:
        of = Column("Of", lambda waiver: in_words(source.shown(waiver, "rule")), ("rule",))
        blocks = schedule(
            source, others, of, "subject", "reason", "waived_by", "waived_on", "until"
        )  # fmt: skip
        yield Part("Other waivers on record", blocks)


def in_words(rule: str) -> str:
    """The permanent name of a rule as words: what it wants to be so."""
    return rule.replace("-", " ")


def waived(source: Source) -> tuple[Block, ...]:
    """What was let through: by whom, when, why, until when."""
    found = source.closeout.waived
    if not found:
        return (Paragraph("Nothing was waived."),)
    head = ("What", "Reason", "By", "On", "Until")
    return (Table(head, tuple(_waived(source, one) for one in found)),)


def _waived(source: Source, one: Waived) -> tuple[str, ...]:
    return (
        source.cleared(one.gap.says), source.cleared(one.reason), one.by, one.on,
        one.until or "for good",
    )  # fmt: skip


def gates(source: Source) -> Table:
    """The four gates of acceptance as the records stand."""
    rows = tuple(_gate(gate) for gate in source.acceptance.gates)
    return Table(("Gate", "Stands", "What keeps it shut"), rows)


def _gate(gate: Gate) -> tuple[str, ...]:
    shut = [gate.missing] if gate.missing else []
    if gate.open:
        rules = dict.fromkeys(gap.rule for gap in gate.open)
        wanted = ", ".join(map(in_words, rules))
        shut.append(f"{counted(len(gate.open), 'gap')}, not yet so: {wanted}")
    if gate.waived:
        shut.append(f"{len(gate.waived)} waived")
    return gate.label, "met" if gate.met else "open", "; ".join(shut) or "nothing"
