"""The review of a shelf beside opening the same binders and selecting the same rows."""

from __future__ import annotations

import os
import resource
from datetime import date
from pathlib import Path

from binder.file import create, open_binder
from binder.headroom import headroom
from binder.review.compared import compared
from binder.review.cures import ailing
from binder.review.exhaustion import exhaustion
from binder.review.shelf import review_client, review_shelf
from binder.review.spend import spend
from binder.review.taken import INPUTS, last_review
from binder.shelf import binders_in
from demo.quarters import load_client
from tests.bench.measures import Figure, seconds

_ON = date(2026, 3, 14)
_KINDS = (*INPUTS, "duty", "contact", "key", "secret", "review")


def reviewing(folder: Path) -> tuple[list[Figure], float]:
    """A binder read again, and a second run beside the first; MiB of memory per 100 binders.

    `XDG_STATE_HOME` is set beside the shelf, so that nothing of the person's is touched.
    """
    os.environ["XDG_STATE_HOME"] = str(folder.parent / "state")
    paths = binders_in(folder)
    few = paths[:100]
    ours = seconds(lambda: [review_client(path, _ON) for path in few])
    floor = seconds(lambda: [_select(path) for path in few])
    before = _peak_mib()
    first = seconds(lambda: review_shelf(folder, _ON, processes=1))
    grown = (_peak_mib() - before) / max(len(paths) / 100, 1)
    again = seconds(lambda: review_shelf(folder, _ON))
    count = len(paths)
    return [
        Figure(
            "review of a client on a shelf", ours / len(few), "opening it, SELECT of its rows",
            floor / len(few), 2.0,
        ),
        Figure(f"review of {count}, nothing changed", again, "the first run", first, 0.05),
    ], grown  # fmt: skip


def of_the_demo(folder: Path) -> Figure:
    """All that a review tells of the demo, its four earlier ones read, beside headroom alone."""
    with create(folder / "reviewed.binder", "") as binder:
        load_client(binder, _ON)

        def whole() -> None:
            computed = headroom(binder, today=_ON)
            last = last_review(binder)
            if last is not None:
                compared(last.headroom, computed)
            exhaustion(binder, computed, _ON)
            ailing(binder, computed)
            spend(binder, computed)

        # by turns, so that a busy moment of the machine disturbs both or neither
        pairs = [(seconds(whole), seconds(lambda: headroom(binder, today=_ON))) for _ in range(15)]
    ours, floor = min(one for one, _ in pairs), min(other for _, other in pairs)
    return Figure("review of the demo", ours, "its headroom alone", floor, 2.0)


def _select(path: Path) -> None:
    with open_binder(path, read_only=True) as binder, binder.reading() as connection:
        for kind in _KINDS:
            connection.execute(f'SELECT * FROM "{kind}"').fetchall()


def _peak_mib() -> float:
    return resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
