"""How a filled form is put into the binder: a new record, a change, a series of ports."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Any, Protocol

from binder.edit import Editor
from binder.errors import FileError, RequestError
from binder.file import SUFFIX, create
from binder.identifiers import series
from binder.read import Record, client, read
from binder.records.catalog import BY_NAME
from binder.records.fields import Field, Kind, text
from tui.app.ask import Ask

if TYPE_CHECKING:
    from tui.app.binder_app import BinderApp

# Hardware that has ports, and how many to offer when nothing else tells.
PORT_COUNTS = {
    "switch": 24, "patch panel": 24, "outlet": 2, "gateway": 4, "carrier equipment": 1,
    "recorder": 1, "access point": 1, "camera": 1, "phone": 1, "door controller": 1, "server": 2,
    "storage": 2, "UPS": 1, "PoE injector": 2, "media converter": 2, "modem": 1, "printer": 1,
    "workstation": 1, "coupler": 1,
}  # fmt: skip
TAKES_PORTS = ("hardware",)
_COUNT = re.compile(r"\b(\d{1,3})[ -]?(?:port|outlet)s?\b", re.IGNORECASE)


class Filing(Protocol):
    """What becomes of a form when it is saved."""

    @property
    def kind(self) -> Kind: ...

    @property
    def record_id(self) -> int | None:
        """The record that is changed; None for a new one."""

    @property
    def fields(self) -> Sequence[Field]: ...

    @property
    def is_new(self) -> bool: ...

    @property
    def title(self) -> str: ...

    def save(self, app: BinderApp, values: Mapping[str, Any]) -> int:
        """Write; gives the id of the record that was written. Raises BinderError."""
        ...

    def follow_up(self, app: BinderApp, record_id: int) -> None:
        """What to offer next."""
        ...


class AddRecord:
    """A new record of a kind."""

    is_new = True
    record_id = None

    def __init__(self, kind: Kind) -> None:
        self.kind = kind
        self.fields = kind.all_fields
        self.title = f"New {kind.label.lower()}"

    def save(self, app: BinderApp, values: Mapping[str, Any]) -> int:
        with app.editor.step(self._summary(app, values)) as step:
            record_id = step.add(self.kind.name, values)
        return record_id

    def _summary(self, app: BinderApp, values: Mapping[str, Any]) -> str:
        if self.kind.name == "cord":
            ends = (read(app.binder, values[end]).name for end in ("port_a", "port_b"))
            return f"patch {' to '.join(ends)}"
        named = [values.get(name) for name in self.kind.named_by]
        words = [str(value) for value in named if isinstance(value, str) and value]
        return " ".join((f"add {self.kind.label.lower()}", *words))

    def follow_up(self, app: BinderApp, record_id: int) -> None:
        record = read(app.binder, record_id)
        value = " g gives it its value;" if self.kind.name == "secret" else ""
        app.say(f"added {self.kind.label.lower()} {record.name};{value} u takes it back")
        if self.kind.name == "hardware" and record["form"] in PORT_COUNTS:
            app.push_screen(
                Ask(f"{record.name} is in the binder. Make its ports now, in one step?"),
                lambda yes: app.open_port_series(record_id) if yes else None,
            )


class ChangeRecord:
    """A record that is there; `read` again when someone else changed it meanwhile."""

    is_new = False

    def __init__(self, record: Record) -> None:
        self.record = record
        self.kind = record.kind
        self.record_id = record.id
        self.fields = record.kind.all_fields
        self.title = f"Change {record.kind.label.lower()} {record.name}"

    def save(self, app: BinderApp, values: Mapping[str, Any]) -> int:
        labels = [field.label.lower() for field in self.fields if field.name in values]
        told = ", ".join(labels[:3]) + (" and more" if len(labels) > 3 else "")
        summary = f"change {self.record.kind.label.lower()} {self.record.name}: {told}"
        with app.editor.step(summary) as step:
            step.change(self.record.id, values, seen=self.record.position)
        return self.record.id

    def follow_up(self, app: BinderApp, record_id: int) -> None:
        app.say(f"saved {read(app.binder, record_id).name}; u takes it back")


class PortSeries:
    """The ports of a piece of hardware, made in one step from a series of labels."""

    is_new = True
    kind = BY_NAME["port"]
    record_id = None

    def __init__(self, hardware: Record) -> None:
        labels = text("labels", "Labels", "A series, or labels parted by commas.",
                      "01..24", required=True)  # fmt: skip
        alike = ("connector", "role", "rate_mbps", "poe_type", "field_colour", "vlan", "status")
        self.fields = (labels, *(self.kind.field(name) for name in alike))
        self.hardware = hardware
        self.title = f"Ports of {hardware.name}, in series"

    def starting_values(self) -> dict[str, Any]:
        """Labels and settings as this form of hardware mostly has them."""
        values: dict[str, Any] = {field.name: field.default for field in self.fields}
        form = self.hardware["form"]
        values["labels"] = _labels(self.hardware)
        if form == "switch":
            values["rate_mbps"] = 1000.0
            values["poe_type"] = "2" if self.hardware["poe_budget_w"] else "none"
        if form == "carrier equipment":
            values["role"] = "hand-off"
        return values

    def save(self, app: BinderApp, values: Mapping[str, Any]) -> int:
        given = dict(values)
        try:
            labels = series(given.pop("labels"))
        except ValueError as error:
            raise RequestError(f"Labels: {error}") from error
        last = app.binder.connection.execute(
            "SELECT coalesce(max(position), 0) FROM port WHERE hardware_id = ?", (self.hardware.id,)
        ).fetchone()[0]
        rows = [
            given | {"hardware": self.hardware.id, "label": label, "position": at}
            for at, label in enumerate(labels, last + 1)
        ]
        with app.editor.step(f"add {_ports(len(rows))} to {self.hardware.name}") as step:
            step.add_many("port", rows)
        return self.hardware.id

    def follow_up(self, app: BinderApp, record_id: int) -> None:
        count = app.binder.connection.execute(
            "SELECT count(*) FROM port WHERE hardware_id = ?", (record_id,)
        ).fetchone()[0]
        from tui.app.record_screen import RecordScreen

        front = app.screen
        is_here = isinstance(front, RecordScreen) and front.subject() == record_id
        patches = "p patches, " if is_here else ""
        app.say(f"{self.hardware.name} now has {_ports(count)}; {patches}u takes this step back")


class NewBinder:
    """A client's first sheet, and the file on the shelf that it goes into."""

    is_new = True
    title = "New binder"
    kind = BY_NAME["client"]
    record_id = None

    def __init__(self, folder: Path) -> None:
        self.folder = folder
        asked = ("identifier", "short_name", "unit_system", "time_zone", "currency", "keeper")
        self.fields = tuple(self.kind.field(name) for name in asked)
        self.path = folder

    def save(self, app: BinderApp, values: Mapping[str, Any]) -> int:
        name = values.get("short_name") or str(values["identifier"]).split()[0]
        stem = re.sub(r"[^\w-]+", "-", str(name).casefold()).strip("-") or "binder"
        self.path = self.folder / f"{stem}{SUFFIX}"
        try:
            self.folder.mkdir(parents=True, exist_ok=True)
        except OSError as error:
            raise FileError(f"{self.folder}: cannot be made: {error.strerror}") from error
        client_name = str(values["identifier"])
        units = str(values["unit_system"])
        with create(self.path, client_name, unit_system=units, who=app.who) as binder:
            with Editor(binder, app.who, clock=app.clock).step(f"first sheet of {stem}") as step:
                sheet = client(binder)
                assert sheet is not None
                step.change(sheet.id, values)
            return sheet.id

    def follow_up(self, app: BinderApp, record_id: int) -> None:
        app.open_from_shelf(self.path)
        app.say(f"made {self.path.name}; 2 turns to the racks, n adds a record anywhere")


def _ports(count: int) -> str:
    return f"{count} port{'s' if count != 1 else ''}"


def _labels(hardware: Record) -> str:
    """The series to offer: as many as the description says, else as is usual."""
    found = _COUNT.search(hardware["description"] or "")
    count = int(found[1]) if found else PORT_COUNTS.get(hardware["form"], 1)
    if hardware["form"] == "outlet" and count <= 6:
        return ",".join("ABCDEF"[:count])
    width = max(len(str(count)), 2 if count > 1 else 1)
    return f"{1:0{width}d}..{count:0{width}d}" if count > 1 else "1"
