"""What is missing, listed as missing; what was let through, with the reason; the gates."""

from __future__ import annotations

from collections.abc import Iterator

from binder.closeout import Gap, Waived
from binder.closeout.acceptance import Gate
from exporters.contents.parts import counted, schedule
from exporters.model import Block, Paragraph, Part, Section, Table
from exporters.source import Source


def gaps(source: Source) -> Section:
    """Every gap by place, what must be mended first; then what was waived, and why."""
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
    for place, standing in found.by_place().items():
        rows = tuple((gap.severity, _says(source, gap), gap.mend) for gap in standing)
        yield Part(place or "The binder as a whole", (Table(("", "What", "How to mend it"), rows),))
    yield Part("Waived, with the reason", waived(source))
    yield Part(
        "Waivers on record",
        schedule(
            source, source.of("waiver"), "rule", "subject", "reason", "waived_by", "waived_on",
            "until",
        ),
    )  # fmt: skip


def _says(source: Source, gap: Gap) -> str:
    return source.cleared(gap.says)


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
        shut.append(f"{counted(len(gate.open), 'gap')}: {', '.join(rules)}")
    if gate.waived:
        shut.append(f"{len(gate.waived)} waived")
    return gate.label, "met" if gate.met else "open", "; ".join(shut) or "nothing"
