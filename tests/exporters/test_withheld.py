"""What the client is handed, and what stays with the integrator."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from datetime import date
from pathlib import Path
from typing import Any

import pytest

from binder.file import BinderFile, create
from binder.intake import json_form
from binder.records.catalog import KINDS
from binder.records.fields import Field, Kind, Type
from exporters.export import render
from tests.binder.generated import base_binder
from tests.exporters.conftest import TODAY

Add = Callable[..., int]

# The integrator's own arithmetic, not the client's network.
NOT_TOLD = {"template", "review", "action", "planning_limit"}
# What was merely opened, and lines that are summed up, are named in the binder only.
SUMMED_UP = {"touch", "reading", "run", "authorised_caller"}


@dataclass(frozen=True)
class Canary:
    kind: Kind
    field: Field

    @property
    def text(self) -> str:
        return f"canary of {self.kind.name} in {self.field.name}".replace("_", " ")


def canaries() -> Iterator[Canary]:
    """One for each field of free text, internal or not, that does not name its record."""
    for kind in KINDS:
        for field in kind.all_fields:
            free = field.type in (Type.TEXT, Type.LINES) and field.name not in kind.named_by
            if free and field.name not in ("sha256", "currency"):  # their form is checked
                yield Canary(kind, field)


INTERNAL = [c for c in canaries() if c.field.internal]
TOLD = [
    c for c in canaries() if not c.field.internal and c.kind.name not in NOT_TOLD | SUMMED_UP
    # the issues table on the cover tells of the handoff; the others are issued elsewhere
    and c.kind.name != "issue"
]  # fmt: skip


@pytest.fixture(scope="module")
def documents(tmp_path_factory: pytest.TempPathFactory) -> dict[str, str]:
    """The handoff in both forms, of a binder with a canary in every field of free text."""
    data: dict[str, Any] = base_binder()
    for canary in canaries():
        for record in data[canary.kind.plural]:
            record[canary.field.name] = canary.text
    for port in data["ports"][4:]:
        port["hardware"] = data["hardware"][1]["identifier"]
        port.pop("reserved_for")
    path: Path = tmp_path_factory.mktemp("withheld") / "canaries.binder"
    with create(path, "") as binder:
        json_form.load(binder, data, "M. Osei")
        return {
            form: "".join(render(binder, "handoff", form=form, today=TODAY).values())
            for form in ("markdown", "html")
        }


@pytest.mark.parametrize("form", ["markdown", "html"])
def test_no_internal_field_is_handed_over(documents: dict[str, str], form: str) -> None:
    assert len(INTERNAL) >= len(KINDS)  # every kind has internal notes
    assert [c.text for c in INTERNAL if c.text in documents[form]] == []


@pytest.mark.parametrize("form", ["markdown", "html"])
def test_every_other_field_is_told_somewhere(documents: dict[str, str], form: str) -> None:
    missing = [c.text for c in TOLD if c.text not in documents[form]]
    assert missing == []


@pytest.mark.parametrize("form", ["markdown", "html"])
def test_management_addresses_are_withheld_wherever_they_were_typed(
    closet: BinderFile, add: Add, change: Callable[..., None], form: str
) -> None:
    change("SW1", management_address="198.51.100.77", notes="log in at 198.51.100.77 or ask")
    change("GW1", management_address="2001:db8::77")
    add("account", system="controller", login="admin", url="https://198.51.100.77:8443/")
    add("account", system="gateway", login="admin", url="https://[2001:db8::77]/")
    add("address", ip="198.51.100.77", hardware="SW1", hostname="sw1-management")
    add("address", ip="198.51.100.7", hostname="beside-it")
    add("log_entry", opened_at="2026-03-01T10:00:00Z", summary="198.51.100.77 answers again")
    text = "".join(render(closet, "handoff", form=form, today=TODAY).values())
    assert "198.51.100.77" not in text
    assert "2001:db8::77" not in text
    assert "sw1-management" not in text
    assert "198.51.100.7" in text
    assert "beside-it" in text
    assert "management address" in text
    withheld = "Not in this document: 1 address through which equipment is managed."
    assert withheld in " ".join(text.split())


def test_a_subnet_keeps_its_gateway_which_every_device_is_told(closet: BinderFile) -> None:
    """192.0.2.1 is the gateway of 'staff' and the address GW1 is managed through."""
    files = render(closet, "handoff", form="markdown", today=TODAY)
    plan = next(text for path, text in files.items() if path.endswith("-addresses.md"))
    line = next(line for line in plan.splitlines() if line.startswith("| staff"))
    assert " 192.0.2.1 " in line


def test_what_a_call_merely_opened_is_not_told(closet: BinderFile, add: Add) -> None:
    entry = add("log_entry", opened_at="2026-03-01T10:00:00Z", summary="phone dead")
    add("touch", log_entry=entry, subject="PH1", how="concerned")
    add("touch", log_entry=entry, subject="GW1", how="opened")
    add("touch", log_entry=entry, subject="SW1 / admin", how="revealed")
    files = render(closet, "handoff", form="markdown", today=date(2026, 3, 14))
    log = next(text for path, text in files.items() if path.endswith("-log.md"))
    assert "PH1" in log
    assert "GW1" not in log
    assert "SW1 / admin" not in log
