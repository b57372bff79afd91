"""Headroom as the binder is now, reckoned once however many screens show it."""

from __future__ import annotations

from datetime import date
from typing import TYPE_CHECKING, NamedTuple
from weakref import WeakKeyDictionary

from binder.file import BinderFile
from binder.headroom import Headroom, headroom
from binder.review.exhaustion import Exhaustion, exhaustion, with_outlooks

if TYPE_CHECKING:
    from tui.app.binder_app import BinderApp


class _Reckoned(NamedTuple):
    binder: BinderFile
    revision: int
    today: date
    answer: Headroom
    leads: tuple[Exhaustion, ...]


_latest: WeakKeyDictionary[BinderApp, _Reckoned] = WeakKeyDictionary()


def headroom_now(app: BinderApp) -> Headroom:
    """The answer for the open binder, each row with where it leads; reckoned again when the binder
    has changed or the day has."""
    return _now(app).answer


def leads_now(app: BinderApp) -> tuple[Exhaustion, ...]:
    """Where each of its rows leads, what is used up first, first."""
    return _now(app).leads


def _now(app: BinderApp) -> _Reckoned:
    last = _latest.get(app)
    if last is None or last.binder is not app.binder or last[1:3] != (app.revision, app.today):
        computed = headroom(app.binder, today=app.today)
        leads = exhaustion(app.binder, computed, app.today)
        answer = with_outlooks(computed, leads)
        last = _latest[app] = _Reckoned(app.binder, app.revision, app.today, answer, leads)
    return last
