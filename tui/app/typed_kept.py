"""What was typed and not saved: forms, kept as they are typed, and a round of readings; offered
again at the next start."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from typing import TYPE_CHECKING, Any

from binder.errors import RequestError
from binder.read import binder_id, read
from binder.records.catalog import BY_NAME
from binder.records.dates import format_moment, local_moment
from binder.unsaved import Unsaved, drop, keep, kept
from tui.app.ask import Choose
from tui.app.filing import AddRecord, ChangeRecord, Filing, PortSeries
from tui.app.join_ports import JoinPorts
from tui.app.lines import fit, line, width_of

if TYPE_CHECKING:
    from tui.app.binder_app import BinderApp
    from tui.app.form import FormScreen

FORM = "form"
ROUND = "readings"


def keep_aside(app: BinderApp, unsaved: Unsaved) -> None:
    """Keep what is typed, so that a dropped line loses none of it; tell when it cannot be."""
    try:
        keep(unsaved)
    except OSError as error:
        app.say(f"what you type cannot be kept aside: {error.strerror}", bad=True)


class Keeper:
    """Keeps one form, from the first letter typed until it is saved or dropped."""

    def __init__(self, app: BinderApp, form: FormScreen, kept_as: Unsaved | None = None) -> None:
        self.app = app
        self.form = form
        self.kept_as = kept_as

    def keep(self) -> None:
        """Keep what is typed now."""
        app, draft, field = self.app, self.form.draft, self.form.field
        if not app.has_binder or (self.kept_as is None and not draft.is_touched):
            return
        at = format_moment(app.clock())
        filed = _told(self.form.filing)
        data = filed | {
            "start": draft.start, "texts": draft.texts, "field": field.name if field else "",
        }  # fmt: skip
        if self.kept_as is None:  # two forms of one title are two
            number = len(waiting(app)) + 1
            title = f"{self.form.filing.title}\n{at} {number}"
            self.kept_as = Unsaved(binder_id(app.binder), app.who, FORM, title, at, data)
        self.kept_as = replace(self.kept_as, at=at, data=data)
        keep_aside(app, self.kept_as)

    def drop(self) -> None:
        """It was saved, or is not wanted."""
        if self.kept_as is not None:
            drop(self.kept_as)
            self.kept_as = None


def waiting(app: BinderApp) -> tuple[Unsaved, ...]:
    """What this person typed in the open binder and did not save, the latest first."""
    if not app.has_binder or app.read_only:
        return ()
    found = kept(binder_id(app.binder), app.who)
    return tuple(one for one in found if one.what in (FORM, ROUND))


def offer(app: BinderApp) -> str:
    """What to tell of them at the start; empty when there are none."""
    found = waiting(app)
    if not found:
        return ""
    more = f" and {len(found) - 1} more" if len(found) > 1 else ""
    return f"not saved: '{_title(found[0])}' of {_when(app, found[0])}{more}; z goes on with it"


async def resume(app: BinderApp) -> None:
    """Go on with what was not saved, just as it was left."""
    found = waiting(app)
    if not found:
        raise RequestError("everything you typed is saved")
    chosen: Unsaved | None = found[0]
    if len(found) > 1:
        room = max(width_of(_title(one)) for one in found)
        rows = [
            (at, line(f" {fit(_title(one), room)}  ", (_when(app, one), "label")))
            for at, one in enumerate(found)
        ]
        key = await app.ask(Choose("Which of these do you go on with?", rows))
        chosen = found[key] if isinstance(key, int) else None
    if chosen is not None and chosen.what == ROUND:
        from tui.app.reading_round import go_on

        await go_on(app, chosen)
    elif chosen is not None:
        app.open_kept_form(_filing(app, chosen.data), chosen)


def fill(form: FormScreen, texts: Mapping[str, Any]) -> None:
    """Put what was kept into a form: what it began with, too, so that a clash is still seen."""
    draft = form.draft
    for name in draft.texts:
        draft.start[name] = str(texts["start"].get(name, draft.start[name]))
        draft.texts[name] = str(texts["texts"].get(name, draft.texts[name]))


def _told(filing: Filing) -> dict[str, Any]:
    if isinstance(filing, PortSeries):
        return {"kind": "port", "series_of": filing.hardware.id}
    if isinstance(filing, JoinPorts):
        return {"kind": filing.kind.name, "joined": True}
    position = filing.record.position if isinstance(filing, ChangeRecord) else None
    return {"kind": filing.kind.name, "record": filing.record_id, "position": position}


def _filing(app: BinderApp, data: Mapping[str, Any]) -> Filing:
    """Raises RequestError when what was being changed is not in the binder any more."""
    if data.get("series_of"):
        return PortSeries(read(app.binder, data["series_of"]))
    if data.get("joined"):
        return JoinPorts(BY_NAME[data["kind"]])
    if data.get("record"):
        record = read(app.binder, data["record"])
        return ChangeRecord(replace(record, position=data["position"]))
    return AddRecord(BY_NAME[data["kind"]])


def _title(one: Unsaved) -> str:
    return one.title.partition("\n")[0]


def _when(app: BinderApp, one: Unsaved) -> str:
    return local_moment(one.at, app.zone)
