"""What a trouble page is made of, and the facts that several of the pages tell."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from datetime import date
from typing import Literal

from binder.file import BinderFile
from binder.read import Record, names, read, read_where, time_zone, unit_system
from binder.records.catalog import BY_NAME
from binder.records.values import show

State = Literal["", "good", "warn", "bad"]


@dataclass(frozen=True, slots=True)
class Told:
    """A line: a label, what there is to tell, and the record it is about (None for none).

    `state` says how it stands, where that can be told.
    """

    label: str
    says: str
    id: int | None = None
    state: State = ""


@dataclass(frozen=True, slots=True)
class Block:
    """Lines under a heading."""

    title: str
    lines: tuple[Told, ...]


@dataclass(frozen=True, slots=True)
class Trouble:
    """The page of a record. `cautions` are what to mind before touching anything."""

    id: int
    kind: str
    name: str
    blocks: tuple[Block, ...]
    cautions: tuple[str, ...]


class Facts:
    """Asks the binder for a page, and gathers the cautions it owes."""

    def __init__(self, binder: BinderFile, today: date) -> None:
        self.binder = binder
        self.today = today
        self.system = unit_system(binder)
        self.zone = time_zone(binder)
        self.cautions: list[str] = []

    def caution(self, text: str) -> None:
        if text not in self.cautions:
            self.cautions.append(text)

    def shown(self, record: Record, name: str) -> str:
        """A field as people read it, in one line; a reference by its name; '' when empty."""
        value = record[name]
        if value is None:
            return ""
        field = record.kind.field(name)
        if field.is_reference:
            return self.name(value)
        text = show(field, value, system=self.system, zone=self.zone)
        return "; ".join(line.strip() for line in text.splitlines() if line.strip())

    def field(self, record: Record, name: str, *, state: State = "") -> Told | None:
        """A line of one field; None when it is empty."""
        text = self.shown(record, name)
        return Told(record.kind.field(name).label, text, record.id, state) if text else None

    def fields(self, record: Record, *fields: str) -> tuple[Told, ...]:
        return present(self.field(record, name) for name in fields)

    def name(self, record_id: int | None) -> str:
        if record_id is None:
            return ""
        found = names(self.binder, {record_id})
        return found[record_id].name if record_id in found else ""

    def of(self, kind: str, where: str, *values: object, order_by: str = "t.id") -> list[Record]:
        """Records of a kind that are still so."""
        still = f"({where}) AND t.status NOT IN ('removed', 'former', 'abandoned')"
        return list(read_where(self.binder, BY_NAME[kind], still, tuple(values), order_by=order_by))

    # What several pages tell ------------------------------------------------------------

    def feeds(self, hardware_id: int) -> Iterator[Told]:
        """What feeds it, inlet by inlet, up to the breaker."""
        for inlet in self.of("inlet", "t.hardware_id = ?", hardware_id, order_by="r.name"):
            steps, seen = [inlet["label"]], {hardware_id}
            at: Record | None = inlet
            while at is not None:
                if at["branch_circuit"] is not None:
                    steps.append(self._breaker(at["branch_circuit"]))
                    break
                feeder = at["fed_by"]
                if feeder is None or feeder in seen:
                    steps.append("not recorded" if feeder is None else "a ring")
                    break
                seen.add(feeder)
                outlet = f" outlet {at['outlet']}" if at["outlet"] else ""
                steps.append(self.name(feeder) + outlet)
                above = self.of("inlet", "t.hardware_id = ?", feeder, order_by="r.name")
                at = above[0] if above else None
            yield Told("Power", " < ".join(steps), inlet["fed_by"] or inlet["branch_circuit"])

    def _breaker(self, branch_id: int) -> str:
        branch = read(self.binder, branch_id)
        told = [f"breaker {branch.name}"]
        if branch["space"] is not None:
            told.append(f"in {self.name(branch['space'])}")
        if branch["generator_backed"]:
            told.append("on the generator")
        return " ".join(told)

    def known_issues(self, *subjects: int | None) -> tuple[Told, ...]:
        """What is known to be wrong with these, and how it is worked around."""
        ids = [one for one in subjects if one is not None]
        marks = ", ".join("?" * len(ids)) or "NULL"
        found = self.of("known_issue", f"t.subject_id IN ({marks})", *ids)
        return tuple(
            Told(
                "Known issue", _with(issue.name, self.shown(issue, "work_around")), issue.id, "warn"
            )
            for issue in found
        )

    def secrets(self, *owners: int | None) -> tuple[Told, ...]:
        """Which secrets there are of these, and where they are kept; never a value."""
        ids = [one for one in owners if one is not None]
        marks = ", ".join("?" * len(ids)) or "NULL"
        return tuple(
            Told(
                secret["form"][:1].upper() + secret["form"][1:],
                ", ".join(filter(None, (
                    secret.name, _after("kept by ", self.shown(secret, "kept_by")),
                    self.shown(secret, "kept_at"),
                ))),
                secret.id,
            )
            for secret in self.of("secret", f"t.belongs_to_id IN ({marks})", *ids)
        )  # fmt: skip

    def contact(self, contact_id: int) -> str:
        """A person with the numbers to reach them by."""
        return self.reached(read(self.binder, contact_id))

    def reached(self, contact: Record) -> str:
        """The same of a contact that was read already."""
        phones = [
            f"{label} {contact[name]}"
            for name, label in (
                ("anytime_phone", "24 h"), ("mobile_phone", "mobile"), ("office_phone", "office"),
            )
            if contact[name]
        ]  # fmt: skip
        return ", ".join(filter(None, (contact.name, contact["role"] or "", *phones)))


def present(lines: Iterable[Told | None]) -> tuple[Told, ...]:
    """The lines that have something to tell."""
    return tuple(line for line in lines if line is not None)


def _with(name: str, more: str) -> str:
    return f"{name}; {more}" if more else name


def _after(lead: str, text: str) -> str:
    return f"{lead}{text}" if text else ""
