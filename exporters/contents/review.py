"""The quarterly review: one front page that an owner understands, then what stands behind it.

What a review tells and in which order: quarterly capacity reviews as practitioners publish them
(common practice, no published source); attestations by CIS Controls v8.1, 5.1, 5.5 and 17.2 (values
from memory).
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Final

from exporters.contents.review_front import front
from exporters.contents.review_log import calls
from exporters.contents.review_people import people
from exporters.contents.review_risks import risks, sign_off
from exporters.contents.review_rows import resources
from exporters.contents.review_since import since
from exporters.contents.review_spend import actions, costs
from exporters.contents.review_trends import trends
from exporters.documents import Asked
from exporters.model import Document, Section
from exporters.source import Source

SECTIONS: Final[tuple[Callable[[Source], Section], ...]] = (
    resources,
    trends,
    since,
    calls,
    people,
    costs,
    actions,
    risks,
    sign_off,
)


def review(asked: Asked) -> Document:
    source = asked.source
    return Document(
        asked.document,
        "Quarterly review",
        source.name(source.client) or "Client not named",
        asked.release,
        asked.dated,
        front(source),
        tuple(section(source) for section in SECTIONS),
    )
