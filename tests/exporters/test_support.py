"""The support document: what the technician looks up while the client is on the telephone.

Its contents (circuits with what support asks for, how to get in, power, what changed lately) are
common practice of operation manuals, no published source.
"""

from __future__ import annotations

from collections.abc import Callable
from datetime import date

import pytest

from binder.envelope.opened import Envelope
from binder.file import BinderFile
from exporters.export import render
from tests.exporters.conftest import KEY, PASSWORD, PIN, SEED, TODAY
from tests.exporters.reading import PAYLOADS, page, tags
from tests.exporters.test_handoff import row

Add = Callable[..., int]
Change = Callable[..., None]


@pytest.fixture
def section(closet: BinderFile) -> Callable[[str], str]:
    """`section("circuits")`: that section as Markdown, as the binder is now."""

    def section(name: str) -> str:
        files = render(closet, "support", form="markdown", today=TODAY)
        return next(str(text) for path, text in files.items() if path.endswith(f"-{name}.md"))

    return section


def test_trouble_stands_before_what_is_looked_up(closet: BinderFile) -> None:
    files = render(closet, "support", form="markdown", today=TODAY)
    order = [name.split("/")[1][3:-3] for name in files]
    assert order[:5] == ["cover", "circuits", "places", "devices", "management"]


def test_a_circuit_tells_what_to_look_at_and_what_the_carrier_asks(
    section: Callable[[str], str], change: Change
) -> None:
    change("circuit fibre", account_number="4410-2287", support_asks_for="circuit ID, then the PIN")
    text = section("circuits")
    assert text.index("## fibre") < text.index("## cellular")  # the primary first
    assert "| Look, in this order" in text
    assert "4410-2287" in text
    assert "circuit ID, then the PIN" in text


def test_how_a_thing_stands_is_told_in_words(section: Callable[[str], str], add: Add) -> None:
    add("known_issue", identifier="drops frames", subject="hardware GW1", effect="slow at noon")
    line = next(line for line in section("devices").splitlines() if "drops frames" in line)
    assert "| doubtful |" in line


def test_each_active_device_of_the_network_has_its_page_and_no_other(
    section: Callable[[str], str], add: Add
) -> None:
    add("hardware", identifier="AP1", form="access point", space="114")
    add("hardware", identifier="AP2", form="access point", space="114", status="planned")
    text = section("devices")
    found = [line.split(",")[0][3:] for line in text.splitlines() if line.startswith("## ")]
    assert found == ["LTE1", "ONT1", "GW1", "SW1", "AP1"]


def test_it_tells_where_a_device_is_managed_and_who_logs_in(
    section: Callable[[str], str], add: Add
) -> None:
    add("secret", identifier="SW1 password", form="password", belongs_to="account SW1 / admin",
        kept_by="shop team")  # fmt: skip
    cells = row(section("management"), "SW1, switch")
    assert cells[1] == "192.0.2.2"
    assert cells[2].startswith("admin")
    assert cells[3].startswith("SW1 password: kept by shop team")


def test_internal_notes_are_told(section: Callable[[str], str], change: Change) -> None:
    change("client Quillmere Veterinary Clinic", internal_notes="park behind the kennels")
    change("GW1", internal_notes="spare supply in the van")
    assert "park behind the kennels" in section("cover")
    assert "spare supply in the van" in section("devices")


def test_no_secrets_value_is_told(closet: BinderFile, envelope: Envelope) -> None:
    for form in ("markdown", "html"):
        text = "".join(map(str, render(closet, "support", form=form, today=TODAY).values()))
        assert "encrypted in the binder" in text
        assert [value for value in (PASSWORD, PIN, KEY, SEED) if value in text] == []


def test_the_log_is_told_from_its_end_and_closed_punch_items_are_not(
    section: Callable[[str], str], add: Add
) -> None:
    for day in range(1, 29):
        add("log_entry", opened_at=f"2026-02-{day:02}T10:00:00Z", summary=f"visit of day {day:02}")
    add("punch_item", description="still open", trade="cabling")
    add("punch_item", description="long done", trade="cabling", closed_on="2026-01-05")
    log = section("log")
    assert "visit of day 28" in log
    assert "visit of day 03" not in log
    assert "still open" in section("punch-list")
    assert "long done" not in section("punch-list")


def test_what_people_typed_is_never_markup(closet: BinderFile, add: Add) -> None:
    plain = page(str(*render(closet, "support", form="html", today=TODAY).values()))
    for number, payload in enumerate(PAYLOADS):
        name = f"{number} {payload}".replace("\n", " ")
        add("known_issue", identifier=name, subject="hardware GW1", effect=payload)
        add("contact", identifier=name, role=payload, identity_check=payload)
    made = page(str(*render(closet, "support", form="html", today=TODAY).values()))
    assert tags(made) - {"br"} <= tags(plain) | {"blockquote"}


def test_it_is_of_the_day_it_is_made_for(closet: BinderFile) -> None:
    files = render(closet, "support", form="markdown", today=date(2026, 7, 1))
    assert "**Support, DRAFT, 2026-07-01**" in str(files[next(iter(files))])
