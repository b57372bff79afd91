"""Headroom as the binder is now, reckoned once however many screens show it."""

from __future__ import annotations

from datetime import date
from typing import TYPE_CHECKING, NamedTuple
from weakref import WeakKeyDictionary

from binder.file import BinderFile
from binder.headroom import Headroom, headroom

if TYPE_CHECKING:
    from tui.app.binder_app import BinderApp


class _Reckoned(NamedTuple):
    binder: BinderFile
    revision: int
    today: date
    answer: Headroom


_latest: WeakKeyDictionary[BinderApp, _Reckoned] = WeakKeyDictionary()


def headroom_now(app: BinderApp) -> Headroom:
    """The answer for the open binder, reckoned again when it has changed or the day has."""
    last = _latest.get(app)
    if last is None or last.binder is not app.binder or last[1:3] != (app.revision, app.today):
        last = _Reckoned(app.binder, app.revision, app.today, headroom(app.binder, today=app.today))
        _latest[app] = last
    return last.answer
