"""The records that the rules ask about, each kind read once, and where each thing is."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date
from functools import cached_property
from typing import Final

from binder.file import BinderFile
from binder.read import Record, read_where
from binder.records.catalog import BY_NAME
from binder.records.kinds.hardware import DRESSING, PASSIVE

_GONE: Final = ("removed", "former", "abandoned", "planned")
NETWORK: Final = ("switch", "gateway", "access point")


class Facts:
    """A binder as it stands on a day. Only what is there counts: nothing planned or gone."""

    def __init__(self, binder: BinderFile, today: date) -> None:
        self.binder = binder
        self.today = today
        self._read: dict[str, dict[int, Record]] = {}

    def of(self, kind: str) -> list[Record]:
        """The records of a kind that are so now, by name."""
        return [record for record in self.all(kind).values() if record["status"] not in _GONE]

    def all(self, kind: str) -> dict[int, Record]:
        """Every record of a kind by id, the planned and gone ones too."""
        if kind not in self._read:
            found = read_where(self.binder, BY_NAME[kind])
            self._read[kind] = {record.id: record for record in found}
        return self._read[kind]

    def by(self, kind: str, field: str) -> dict[int, list[Record]]:
        """The records of a kind by what one of their references names."""
        found: dict[int, list[Record]] = {}
        for record in self.of(kind):
            if record[field] is not None:
                found.setdefault(record[field], []).append(record)
        return found

    @property
    def client(self) -> Record | None:
        return next(iter(self.all("client").values()), None)

    @cached_property
    def active(self) -> list[Record]:
        """Hardware that does something: neither connecting hardware nor dressing."""
        return [one for one in self.of("hardware") if one["form"] not in (*PASSIVE, *DRESSING)]

    @cached_property
    def cords(self) -> Mapping[int, int]:
        """The cord in the front of each port."""
        return self._ends("cord")

    @cached_property
    def links(self) -> Mapping[int, int]:
        """The link at the rear of each port."""
        return self._ends("link")

    def _ends(self, table: str) -> dict[int, int]:
        rows = self.binder.connection.execute(f"SELECT port_id, {table}_id FROM {table}_end")
        return {row[0]: row[1] for row in rows}

    @cached_property
    def last_change_logged(self) -> Mapping[int, str]:
        """The day of the last log entry of kind 'change' that touched a record."""
        rows = self.binder.connection.execute(
            "SELECT t.subject_id, max(substr(l.opened_at, 1, 10)) FROM touch t "
            "JOIN log_entry l ON l.id = t.log_entry_id WHERE l.form = 'change' GROUP BY 1"
        )
        return {row[0]: row[1] for row in rows}

    # Where a thing is -------------------------------------------------------------------

    def space_of(self, record: Record) -> int | None:
        """The id of the space that a record is in, or is about; None where that is not known."""
        kind = record.kind.name
        if kind == "space":
            return record.id
        if kind == "hardware" and record["rack"] is not None:
            return self._space("rack", record["rack"])
        for field, target in (
            ("space", "space"), ("hardware", "hardware"), ("port_a", "port"), ("port_b", "port"),
            ("rack", "rack"), ("link", "link"), ("demarc_space", "space"), ("subject", ""),
            ("from_space", "space"), ("fits", ""), ("covers", ""), ("belongs_to", ""),
        ):  # fmt: skip
            if field in record.values and record[field] is not None:
                return self._space(target, record[field])
        return None

    def _space(self, kind: str, record_id: int) -> int | None:
        kinds = [kind] if kind else ["hardware", "rack", "space", "link", "port", "circuit"]
        for name in kinds:
            record = self.all(name).get(record_id)
            if record is not None:
                return record.id if name == "space" else self.space_of(record)
        return None

    def place(self, record: Record) -> tuple[str, int | None]:
        """What the place of a record is called, and its id."""
        if record.kind.name == "building":
            return record.name, record.id
        space = self.all("space").get(self.space_of(record) or 0)
        if space is None:
            return "", None
        called = f"{space.name} {space['name']}" if space["name"] else space.name
        return called, space.id
