"""Risks: what is known to be wrong and accepted, what is missing from the records; and the lines to
sign, with the day of the next review."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Final

from dateutil.relativedelta import relativedelta

from exporters.contents.closeout import parties
from exporters.contents.gaps import in_words
from exporters.contents.parts import cell, counted, joined, shortened
from exporters.model import Block, Facts, Paragraph, Part, Section, SignatureLines, Table
from exporters.source import Source

_QUARTER: Final = relativedelta(months=3)


def risks(source: Source) -> Section:
    return Section(
        "risks",
        "Risks",
        (
            Part("Known to be wrong or weak", tuple(_known(source))),
            Part("Missing, and must be mended", tuple(_missing(source))),
            Part("What could not be told", tuple(_untold(source))),
        ),
    )


def _known(source: Source) -> Iterator[Block]:
    issues = source.of("known_issue")
    if not issues:
        yield Paragraph("No issue is recorded.")
        return
    rows = tuple(
        (
            source.name(issue), source.shown(issue, "effect"), source.shown(issue, "work_around"),
            joined(source.shown(issue, "accepted_by"), source.shown(issue, "accepted_on"))
            or "nobody yet",
            _review_by(source, source.shown(issue, "review_by")),
        )
        for issue in sorted(issues, key=lambda one: (one["review_by"] or "9999", one.name))
    )  # fmt: skip
    yield Table(("Issue", "Effect", "Work-around", "Accepted by", "Look again by"), rows)


def _review_by(source: Source, day: str) -> str:
    return f"{day}, past" if day and day < source.reviewed.on else day or "no day set"


def _missing(source: Source) -> Iterator[Block]:
    """What acceptance does not do without, by rule."""
    found: dict[str, list[str]] = {}
    why: dict[str, str] = {}
    for gap in source.closeout.gaps:
        if gap.severity == "must":
            found.setdefault(gap.rule, []).append(source.cleared(gap.subject.name))
            why[gap.rule] = gap.why
    if not found:
        yield Paragraph("Nothing.")
        return
    rows = tuple(
        (in_words(rule), str(len(names)), why[rule], shortened(", ".join(dict.fromkeys(names)), 80))
        for rule, names in sorted(found.items(), key=lambda item: -len(item[1]))
    )
    yield Table(("Not yet so", "Number", "Why it matters", "Which"), rows)


def _untold(source: Source) -> Iterator[Block]:
    rows = [row for row in source.reviewed.headroom.rows if row.state == "not known"]
    if not rows:
        yield Paragraph("Every figure could be found.")
        return
    yield Table(
        ("What", "Why"),
        tuple(
            (joined(row.where.name, row.resource, row.which), row.told.removeprefix("not known: "))
            for row in rows
        ),
    )


# Sign-off. --------------------------------------------------------------------------------


def sign_off(source: Source) -> Section:
    return Section("sign-off", "Sign-off", tuple(_signed(source)))


def _signed(source: Source) -> Iterator[Block | Part]:
    found = source.reviewed
    facts = [("Next review", (found.day + _QUARTER).isoformat())]
    if found.review is not None:
        facts += [
            ("This review", joined(found.review.name, found.on, found.review.taken_by)),
            ("Fingerprint of its records (SHA-256)", found.review.fingerprint),
        ]
    client = source.client
    if client is not None and (keeper := cell(source, client, "keeper")):
        facts.append(("Kept by", str(keeper)))
    yield Facts(tuple(facts))
    proposed = sum(one.state == "proposed" for one in found.actions)
    if proposed:
        yield Paragraph(f"{counted(proposed, 'action')} proposed, and not decided on yet.")
    yield Part("Signatures", (SignatureLines(parties(source)),))
