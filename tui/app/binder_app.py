"""The app: which binder is open, what is on the screen, and the door to writing."""

from __future__ import annotations

import contextlib
from collections.abc import Callable, Iterator, Mapping
from datetime import date, datetime
from pathlib import Path
from typing import TYPE_CHECKING, Any

from textual import events, work
from textual.geometry import Size
from textual.screen import Screen
from textual.worker import Worker, WorkerState

from binder.collector import pass_over_what_stands
from binder.errors import BinderError, FileError
from binder.file import SUFFIX, BinderFile, look_through, open_binder, told
from binder.read import client, kind_of, read, unit_system
from binder.read import time_zone as zone_of
from binder.records.dates import time_zone, utc_now
from binder.records.fields import Kind
from tui.app.actions import BY_ID
from tui.app.call_keeping import CallKeeping
from tui.app.screen import BROAD, WIDE, BinderScreen

if TYPE_CHECKING:
    from binder.edit import Editor
    from binder.faces import Arrangement
    from binder.unsaved import Unsaved
    from tui.app.filing import Filing
    from tui.app.form import FormScreen

BREADTHS = [(0, "-narrow"), (72, "-medium"), (WIDE, "-wide"), (BROAD, "-broad")]
POLL_S = 0.7  # how soon another technician's change is seen


class BinderApp(CallKeeping, inherit_bindings=False):
    """One person at one terminal, with one binder open, or the shelf."""

    TITLE = "binder"
    CSS_PATH = "app.tcss"
    HORIZONTAL_BREAKPOINTS = BREADTHS
    ENABLE_COMMAND_PALETTE = False  # ours looks like our other screens, and stands an empty list

    def __init__(
        self,
        path: Path,
        *,
        who: str,
        read_only: bool = False,
        served: bool = False,
        clock: Callable[[], datetime] = utc_now,
    ) -> None:
        super().__init__(clock=clock, ansi_color=True)
        self.theme = "ansi-dark"  # the terminal's own colours
        self.path = path
        self.who = who
        self.asked_read_only = read_only
        self.doors_open = not served  # to programs and files of the host
        self.revision = 0
        self.damage: FileError | None = None
        self.arranged: dict[int, Arrangement] = {}  # faces put otherwise, in this session
        self._binder: BinderFile | None = None
        self._version = 0
        if (path.exists() or path.suffix == SUFFIX) and not path.is_dir():
            self.open(path)

    # The binder -------------------------------------------------------------------------

    @property
    def binder(self) -> BinderFile:
        if self._binder is None:
            raise RuntimeError("no binder is open")
        return self._binder

    @property
    def has_binder(self) -> bool:
        return self._binder is not None

    @property
    def client_name(self) -> str:
        """The client's name, as on its sheet."""
        sheet = client(self.binder)
        return sheet.name if sheet else self.binder.path.stem

    @property
    def read_only(self) -> bool:
        return self._binder.read_only if self._binder else self.asked_read_only

    @property
    def who_is_here(self) -> str:
        return self.who

    @property
    def editor(self) -> Editor:
        """The door to writing; what is written during a call belongs to it."""
        from binder.edit import Editor

        entry = self.call.id if self.call else None
        return Editor(self.binder, self.who, clock=self.clock, log_entry_id=entry)

    @property
    def now(self) -> datetime:
        """The present moment by the clock on the client's wall: a typed `09:40` means there."""
        return self.clock().astimezone(time_zone(self.zone))

    @property
    def today(self) -> date:
        return self.now.date()

    @property
    def system(self) -> str:
        return unit_system(self.binder)

    @property
    def zone(self) -> str:
        """The client's time zone by name; UTC at the shelf."""
        return zone_of(self._binder) if self._binder else "UTC"

    def open(self, path: Path) -> None:
        """Open a binder in place of the one that is open. Raises FileError.

        Its pages are looked through beside the first picture, not before it.
        """
        opened = open_binder(path, read_only=self.asked_read_only, look_through=False)
        self.close_binder()
        self._binder = opened
        self._version = opened.data_version()
        if self.is_running:
            self.look_through()

    @work(thread=True, group="file", exit_on_error=False, description="look through the file")
    def look_through(self) -> FileError | None:
        """Look at every page of the open binder; gives what is wrong with it."""
        try:
            look_through(self.binder.path)
        except FileError as error:
            return error
        return None

    def on_worker_state_changed(self, event: Worker.StateChanged) -> None:
        if event.state is WorkerState.SUCCESS and isinstance(event.worker.result, FileError):
            self.damage = event.worker.result
            self.exit(self.damage.exit_status)

    def open_from_shelf(self, path: Path, record_id: int | None = None) -> None:
        """Open a binder of the shelf and turn to a record, or else to the first divider.

        Raises FileError, and RequestError where the record is gone.
        """
        from tui.app.dividers import DividerScreen

        self.open(path)
        if record_id is None:
            self.push_screen(DividerScreen())
        else:
            try:
                self.open_record(record_id)
            except BinderError:
                self.close_binder()
                raise
        self.call_after_refresh(self.offer_call)
        self.call_after_refresh(self.offer_unsaved)

    def close_binder(self) -> None:
        self.seal_envelope()
        if self._binder is not None:
            self.write_attached()
            self.call = None
            self._binder.close()
            self._binder = None

    def on_mount(self) -> None:
        self.set_interval(POLL_S, self.poll)
        if self._binder is not None:
            self.call_after_refresh(self.look_through)
            self.call_after_refresh(self.offer_call)
            self.call_after_refresh(self.offer_unsaved)

    def on_ready(self) -> None:
        """The first picture stands."""
        if not self.is_headless:
            pass_over_what_stands()

    def on_unmount(self) -> None:
        self.close_binder()

    def poll(self) -> None:
        """See whether someone else has changed the file, and show it."""
        if self._binder is None or not self.screen_stack:  # at the shelf, or being left
            return
        try:
            version = self._binder.data_version()
        except FileError:
            return  # someone is writing this very moment: the next look will see it
        if version != self._version:
            self._version = version
            self.changed()

    def changed(self, *, written: int | None = None) -> None:
        """The binder is not as it was read: show it as it is, and stand on what was written."""
        self.revision += 1
        self.look_for_call()
        if self.call is not None:
            self.call_after_refresh(self.write_attached)
        screen = self.screen
        if isinstance(screen, BinderScreen):
            if written is not None:
                screen.stand_on(written)
            screen.bring_up_to_date()

    @property
    def breadth(self) -> str:
        """The class of a screen as wide as this terminal."""
        return next(name for least, name in reversed(BREADTHS) if self.size.width >= least)

    def on_resize(self, event: events.Resize) -> None:
        self.redraw(event.size)

    def redraw(self, size: Size | None = None) -> None:
        """Send the whole screen again, at a size that may be another."""
        if self.is_headless:
            return
        from tui.app.thrifty_driver import ThriftyDriver

        if isinstance(self._driver, ThriftyDriver):
            self._driver.redraw(size or self.size)

    # Telling ----------------------------------------------------------------------------

    def say(self, text: str, *, bad: bool = False) -> None:
        """Tell something on the screen that is in front."""
        for screen in reversed(self.screen_stack):
            if isinstance(screen, BinderScreen):
                screen.say(text, bad=bad)
                return

    @contextlib.contextmanager
    def telling(self) -> Iterator[None]:
        """What cannot be done is said, in one line, and nothing else happens."""
        try:
            with told(self._binder.path) if self._binder else contextlib.nullcontext():
                yield
        except BinderError as error:
            self.say(str(error), bad=True)

    async def run_action(self, action: Any, *args: Any, **more: Any) -> bool:
        """Every key and every palette entry comes through here."""
        known = BY_ID.get(action) if isinstance(action, str) else None
        if known and known.writes and self.read_only:
            self.say("open read-only: nothing can be changed here", bad=True)
            return True
        with self.telling():
            return await super().run_action(action, *args, **more)
        return True

    # Going places -----------------------------------------------------------------------

    def get_default_screen(self) -> Screen[Any]:
        if self._binder is None:
            from tui.app.shelf_screen import ShelfScreen

            return ShelfScreen(self.path)
        from tui.app.dividers import DividerScreen

        return DividerScreen()

    def go_back(self) -> None:
        """Leave this screen; at the last one, the program."""
        if len(self.screen_stack) > 1:
            self.pop_screen()
        else:
            self.exit(0)

    def open_record(self, record_id: int) -> None:
        """A rack is shown drawn; anything else as its sheet. Raises RequestError if it is gone."""
        record = read(self.binder, record_id)
        if record.kind.name == "rack":
            self.open_rack(record_id)
        else:
            self.open_sheet(record_id)

    def open_sheet(self, record_id: int) -> None:
        from tui.app.sheet_screen import SheetScreen

        self.push_screen(SheetScreen(record_id))
        self.attach_to_call([record_id], "opened")

    def open_rack(self, rack_id: int, *, at: int | None = None) -> None:
        from tui.app.rack_screen import RackScreen

        self.push_screen(RackScreen(rack_id, at=at))
        self.attach_to_call([rack_id], "opened")

    def open_face(self, hardware_id: int, *, at: int | None = None) -> None:
        """The face of hardware, the cursor on one of its ports."""
        from tui.app.face_screen import FaceScreen

        self.push_screen(FaceScreen(hardware_id, at=at))
        self.attach_to_call([hardware_id], "opened")

    def open_trace(self, record_id: int) -> None:
        """Show the way from a record. Raises RequestError where there is no cable to follow."""
        from binder.trace import trace
        from tui.app.trace_screen import TraceScreen

        self.push_screen(TraceScreen(trace(self.binder, record_id)))
        self.attach_to_call([record_id], "traced")

    def open_impact(self, record_id: int) -> None:
        """Show what a failure takes. Raises RequestError where there is nothing to fail."""
        from binder.impact import impact
        from tui.app.impact_screen import ImpactScreen

        self.push_screen(ImpactScreen(impact(self.binder, record_id, today=self.today)))
        self.attach_to_call([record_id], "opened")

    def open_trouble(self, record_id: int) -> None:
        """Show what to look at when it is down. Raises RequestError where there is no such page."""
        from binder.trouble import trouble
        from tui.app.trouble_screen import TroubleScreen

        self.push_screen(TroubleScreen(trouble(self.binder, record_id, today=self.today)))
        self.attach_to_call([record_id], "opened")

    def open_history(self, record_id: int | None) -> None:
        from tui.app.history_screen import HistoryScreen

        self.push_screen(HistoryScreen(record_id))

    def open_envelope_page(self) -> None:
        from tui.app.envelope_screen import EnvelopeScreen

        self.push_screen(EnvelopeScreen())

    def open_person(self, person: str) -> None:
        """What somebody knows of the envelope, and what to do when they leave."""
        from tui.app.person_screen import PersonScreen

        self.push_screen(PersonScreen(person))

    def open_find(self) -> None:
        from tui.app.find_screen import FindScreen

        self.push_screen(FindScreen())

    def turn_to(self, kind: Kind | None = None, *, divider: int | None = None) -> None:
        """Go back to the dividers, to one of them or to the list of a kind."""
        from tui.app.dividers import DividerScreen

        while len(self.screen_stack) > 1 and not isinstance(self.screen, DividerScreen):
            self.pop_screen()
        if not isinstance(self.screen, DividerScreen):  # come to a record from the shelf
            self.push_screen(DividerScreen(kind=kind, divider=divider))
        else:
            self.screen.turn_to(kind=kind, divider=divider)

    # Forms ------------------------------------------------------------------------------

    def open_new(self, kind: Kind, given: Mapping[str, Any] | None = None) -> None:
        """The form of a new record, filled with what is `given` by field name."""
        from tui.app.filing import AddRecord

        self._open_form(AddRecord(kind), self._values_to_start(kind, given or {}))

    def open_short(self, filing: Filing, given: Mapping[str, Any]) -> None:
        """The form of a new record that shows only what its filing asks for."""
        self._open_form(filing, self._values_to_start(filing.kind, given))

    def open_edit(self, record_id: int, field: str = "") -> None:
        """The form of a record, standing on `field`."""
        from tui.app.filing import ChangeRecord

        record = read(self.binder, record_id)
        self._open_form(ChangeRecord(record), record.values, field)

    def open_port_series(self, hardware_id: int) -> None:
        """The form that makes the ports of a piece of hardware in one step."""
        from tui.app.filing import PortSeries

        filing = PortSeries(read(self.binder, hardware_id))
        self._open_form(filing, filing.starting_values())

    def open_join(self, kind: Kind, ports_a: str = "") -> None:
        """The form of links or cords in series, from a range of ports."""
        from tui.app.join_ports import JoinPorts

        filing = JoinPorts(kind)
        self._open_form(filing, filing.starting_values(ports_a))

    def open_new_binder(self, folder: Path) -> None:
        """The form that makes a binder on a shelf."""
        from tui.app.filing import NewBinder

        filing = NewBinder(folder)
        self._open_form(filing, self._values_to_start(filing.kind, {}))

    def offer_unsaved(self) -> None:
        """Tell of forms that were typed and not saved, after what is told already."""
        from tui.app.typed_kept import offer

        told, screen = offer(self), self.screen
        if told and isinstance(screen, BinderScreen):
            before = f"{screen.message[0]}. " if screen.message else ""
            self.say(before + told)

    def open_kept_form(self, filing: Filing, unsaved: Unsaved) -> None:
        """A form that was not saved, with what was typed into it."""
        from tui.app.typed_kept import Keeper, fill

        record = read(self.binder, filing.record_id) if filing.record_id else None
        start = record.values if record else self._values_to_start(filing.kind, {})
        form = self._form(filing, start, str(unsaved.data["field"]))
        fill(form, unsaved.data)
        form.keeper = Keeper(self, form, unsaved)
        self.push_screen(form)

    def _open_form(self, filing: Filing, values: Mapping[str, Any], field: str = "") -> None:
        self.push_screen(self._form(filing, values, field))

    def _values_to_start(self, kind: Kind, given: Mapping[str, Any]) -> Mapping[str, Any]:
        from tui.app.draft import starting_values

        return starting_values(kind, given, self.now)

    def _form(self, filing: Filing, values: Mapping[str, Any], field: str) -> FormScreen:
        from tui.app.draft import Draft
        from tui.app.form import FormScreen
        from tui.app.join_ports import JoinPorts

        system = self.system if self._binder else "us"
        draft = Draft(
            self._binder, filing.fields, values,
            system=system, now=self.now, is_new=filing.is_new,
            kind=filing.kind, record_id=filing.record_id,
        )  # fmt: skip
        if isinstance(filing, JoinPorts):
            from tui.app.many import JoinForm

            return JoinForm(draft, filing, start_at=field)
        return FormScreen(draft, filing, start_at=field)

    def kind_of(self, record_id: int | None) -> str:
        """The kind of a record by name; nothing when there is none."""
        kind = kind_of(self.binder, record_id) if record_id else None
        return kind.name if kind else ""
