"""What the dividers show: the records of a kind, and what is computed from them."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

from binder.records.catalog import BY_NAME, kinds_on
from binder.records.fields import Kind
from tui.app.kind_words import many


@dataclass(frozen=True, slots=True)
class Page:
    """The list of a kind; without a kind, rows that are computed."""

    divider: str
    label: str
    kind: Kind | None = None


HEADROOM_PAGE: Final = Page("Headroom", "Headroom")
GAPS_PAGE: Final = Page("Closeout", "Gaps")
TOPOLOGY_PAGE: Final = Page("Circuits", "Topology")
# Computed pages come before the kinds of their divider.
_COMPUTED: Final = {"Headroom": HEADROOM_PAGE, "Closeout": GAPS_PAGE, "Circuits": TOPOLOGY_PAGE}
# What a divider opens on, where that is not its first page.
_OPENS_ON: Final = {"Racks": "rack", "Circuits": "circuit"}


def page_of(kind: Kind) -> Page:
    """The page that lists a kind."""
    return Page(kind.divider, many(kind), kind)


def pages_on(divider: str) -> tuple[Page, ...]:
    """The pages of a divider, as left and right go through them."""
    listed = tuple(page_of(kind) for kind in kinds_on(divider))
    return (_COMPUTED[divider], *listed) if divider in _COMPUTED else listed


def first_page(divider: str) -> Page:
    """What a divider opens on."""
    if divider in _OPENS_ON:
        return page_of(BY_NAME[_OPENS_ON[divider]])
    return pages_on(divider)[0]
