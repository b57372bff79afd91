"""What the client's own binder says: contents as closeout specifications ask for them.

Contents list: sections of closeout specifications gathered by the founders (cover and control,
people, spaces, circuits, rack elevations, patch map, tests, equipment, accounts without secrets,
upkeep, warranties, spares, acceptance); 'missing items are listed as missing'.
"""

from __future__ import annotations

from collections.abc import Callable
from datetime import date
from pathlib import Path
from typing import Any

import pytest

from binder.edit import Editor
from binder.file import BinderFile
from exporters.contents.handoff import SECTIONS
from exporters.export import release, render
from tests.exporters.conftest import TODAY

Add = Callable[..., int]
Section = Callable[[str], str]


def row(text: str, first_cell: str) -> list[str]:
    """The cells of the first table row that begins with this cell."""
    return list(headed_row(text, first_cell).values())


def headed_row(text: str, first_cell: str) -> dict[str, str]:
    """The same by the headings of their columns."""
    head: list[str] = []
    for line in text.splitlines():
        cells = [cell.strip() for cell in line.strip("|").split(" | ")]
        if line.startswith("|") and cells[0] == first_cell:
            return dict(zip(head, cells, strict=True))
        head = (head or cells) if line.startswith("|") else []
    raise AssertionError(f"no row begins with {first_cell!r}")


# Cover and control. -----------------------------------------------------------------------


def test_a_document_without_an_issue_number_is_marked_draft(section: Section) -> None:
    cover = section("cover")
    assert cover.startswith(
        "# Quillmere Veterinary Clinic\n\n**Handoff binder, DRAFT, 2026-03-14**"
    )
    assert "has not been issued" in cover


def test_an_issue_carries_its_number_and_the_day_it_was_issued(
    binder: BinderFile, editor: Editor, add: Add, tmp_path: Path
) -> None:
    add("issue", document="handoff", number=2, issued_on="2025-02-02")
    release(editor, "handoff", form="markdown", target=tmp_path, today=date(2026, 2, 2),
            issued_to="", reason="as installed")  # fmt: skip
    files = {name: str(text) for name, text in
             render(binder, "handoff", form="markdown", today=TODAY, issue=3).items()}  # fmt: skip
    cover = files["quillmere-veterinary-clinic-handoff-issue-3/00-cover.md"]
    assert "**Handoff binder, Issue 3, 2026-02-02**" in cover
    assert headed_row(cover, "3")["Reason"] == "as installed"
    assert "DRAFT" not in "".join(files.values())


def test_the_contents_list_names_every_file(binder: BinderFile) -> None:
    files = render(binder, "handoff", form="markdown", today=TODAY)
    cover, *others = files
    assert len(others) == len(SECTIONS) + 1  # and the table of who asks for what
    for number, path in enumerate(others, start=1):
        name = path.rpartition("/")[2]
        heading = files[path].splitlines()[0].removeprefix(f"# {number}. ")
        assert f"{number}. [{heading}]({name})" in files[cover]


@pytest.mark.parametrize("name", [
    "racks", "patch-map", "rooms", "cabling", "tests", "pathways", "circuits", "accounts", "power",
    "log", "upkeep", "punch-list", "spares", "known-issues", "readings", "attachments",
])  # fmt: skip
def test_a_section_without_content_says_so(section: Section, name: str) -> None:
    assert "Nothing recorded." in section(name)


def test_cautions_come_early_and_defer_to_code_and_licence(closet: BinderFile, section: Section,
                                                            add: Add) -> None:  # fmt: skip
    add("space", identifier="B", building="B1", hazards="low beam", shut_offs="panel LP1")
    text = section("cautions")
    assert text.startswith("# 2. ")
    for hazard in ("Mains power", "Batteries", "Light in fibre", "Anchors", "Lifting"):
        assert f"**{hazard}" in text
    assert "licensed persons" in text
    assert "local building code" in " ".join(text.split())
    assert "- **B:** low beam  \n  Shut-offs: panel LP1" in text


# Cabling. ---------------------------------------------------------------------------------


def test_the_patch_map_follows_a_panel_port_both_ways(closet: BinderFile, section: Section) -> None:
    port, link, outlet, room, cable, patched_to, vlan, use, condition = row(
        section("patch-map"), "01"
    )
    assert (port, link, outlet, room) == ("01", "1A-A01", "114-1:A", "114 Reception")
    assert (cable, patched_to, vlan) == ("6A, 38.5 m", "SW1:01", "20")
    assert (use, condition) == ("front desk phone", "unknown")


def test_a_panel_port_without_cord_or_link_says_so(closet: BinderFile, section: Section) -> None:
    assert row(section("patch-map"), "02")[5] == "not patched"
    assert row(section("patch-map"), "04")[1:3] == ["none", ""]


def test_a_switch_port_tells_what_it_reaches_through_panel_and_outlet(
    closet: BinderFile, section: Section
) -> None:
    switch = section("patch-map").split("## SW1")[1]
    _, role, patched_to, reaches, vlan, use, _ = row(switch, "01")
    assert (role, patched_to, vlan, use) == ("edge", "1A-A:01", "20", "front desk phone")
    assert reaches == "PH1:1, 114 Reception"


def test_a_bad_port_tells_why_and_a_reserved_one_for_what(
    closet: BinderFile, section: Section, change: Callable[..., None]
) -> None:
    change("1A-A:05", condition="bad", condition_reason="bent contact", reserved_for="phase 2")
    cells = row(section("patch-map"), "05")
    assert cells[7:] == ["reserved for phase 2", "bad, bent contact"]


def test_a_room_shows_its_outlets_and_what_they_feed(closet: BinderFile, section: Section) -> None:
    room = section("rooms").split("## 114, Reception")[1].split("## ")[0]
    assert row(room, "114-1:A")[:7] == [
        "114-1:A", "1A-A01", "1A-A:01", "SW1:01", "20", "front desk phone", "PH1:1",
    ]  # fmt: skip
    assert row(room, "114-1:B")[3] == "not patched"
    assert "Equipment here: PH1 (phone)." in room


def test_a_link_is_as_good_as_its_latest_test(
    closet: BinderFile, section: Section, add: Add
) -> None:
    add("test", link="1A-A02", tested_on="2026-02-03", result="fail")
    add("link", identifier="1A-A09")
    text = section("tests")
    assert "4 links by the latest test of each: 2 pass, 0 marginal, 1 fail, 1 never tested." in text
    assert "Fail: 1A-A02." in text
    assert "Never tested: 1A-A09." in text


def test_a_rack_is_drawn_front_and_rear_with_reservations_that_still_hold(
    closet: BinderFile, section: Section, add: Add
) -> None:
    more = {"subject": "1A-R1", "resource": "rack units", "quantity": 2.0}
    add("reservation", identifier="storage server", u_position=8, **more)
    add("reservation", identifier="old plan", u_position=4, until="2026-03-13", **more)
    text = section("racks")
    assert "1A-R1, front: 3 of 18 U used, 2 reserved, 13 free, largest free block 7U." in text
    assert "reserved: storage server" in text
    assert "old plan" not in text
    assert "[ SW1" in text.split("front\n")[1]
    assert "front: switch" in text.split("rear\n")[1]


# Network, circuits, accounts. -------------------------------------------------------------


def test_a_circuit_card_says_what_support_asks_for_and_what_is_missing(
    closet: BinderFile, section: Section, add: Add
) -> None:
    add("authorised_caller", circuit="fibre", contact="Priya Nandakumar")
    add("secret", identifier="fibre PIN", form="PIN", belongs_to="fibre", kept_by="shop team",
        envelope_number=3)  # fmt: skip
    fibre, cellular = section("circuits").split("## cellular")
    assert "- **Circuit ID:** LKF-2203-118-QM" in fibre
    assert "- **Authorised callers:** Priya Nandakumar" in fibre
    assert "- **fibre PIN:** kept by shop team, envelope 3" in fibre
    assert "- **Circuit ID:** not recorded" in cellular
    assert "- **Authorised callers:** none recorded" in cellular


def test_an_account_tells_where_its_secret_is_kept_and_by_whom(
    closet: BinderFile, section: Section, add: Add
) -> None:
    add("account", system="GW1", login="admin")
    add("secret", identifier="SW1 password", belongs_to="SW1 / admin", kept_by="shop team",
        kept_at="client's safe, envelope 4", envelope_number=4)  # fmt: skip
    accounts = section("accounts")
    assert (
        headed_row(accounts, "SW1 / admin")["Secret"]
        == "kept by shop team, client's safe, envelope 4"
    )
    assert headed_row(accounts, "GW1 / admin")["Secret"] == "none recorded"


# Power. -----------------------------------------------------------------------------------


@pytest.fixture
def powered(closet: BinderFile, add: Add) -> BinderFile:
    add("branch_circuit", identifier="LP1-12", rating_a=20.0, voltage_v=120.0)
    add("hardware", identifier="UPS1", form="UPS", space="1A")
    add("inlet", hardware="UPS1", label="IN", branch_circuit="LP1-12")
    add("inlet", hardware="SW1", label="PS1", fed_by="UPS1", outlet="3")
    return closet


def test_power_is_drawn_from_the_breaker_to_the_device(
    powered: BinderFile, section: Section, add: Add
) -> None:
    add("inlet", hardware="GW1", label="PS1")
    assert (
        "LP1-12  20 A, 120 V\n"
        "└─ UPS1 inlet IN\n"
        "   └─ SW1 inlet PS1, outlet 3\n"
        "\n"
        "feed not recorded\n"
        "└─ GW1 inlet PS1\n"
    ) in section("power")


def test_a_ring_of_feeds_is_cut_and_told(powered: BinderFile, section: Section, add: Add) -> None:
    add("inlet", hardware="UPS1", label="IN2", fed_by="SW1")
    assert "UPS1 inlet IN2, a ring: it feeds itself" in section("power")


# Upkeep. ----------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("done_on", "due"),
    [
        (None, "2025-07-01, overdue"),
        ("2025-07-20", "2026-01-01, overdue"),  # half a year after it was due, not done
        ("2026-01-05", "2026-07-01"),
    ],
)
def test_a_duty_tells_when_it_is_next_due(
    section: Section, add: Add, done_on: str | None, due: str
) -> None:
    add("duty", identifier="battery test", rule="FREQ=MONTHLY;INTERVAL=6", starts_on="2025-07-01",
        done_on=done_on)  # fmt: skip
    cells = headed_row(section("upkeep"), "battery test")
    assert cells["Repeats"] == "every 6 months"
    assert cells["Next due"] == due


def test_a_renewal_tells_the_last_day_to_give_notice(section: Section, add: Add) -> None:
    add("renewal", identifier="domain", form="domain", renews_on="2026-04-30", notice_days=30)
    add("renewal", identifier="licence", form="licence", renews_on="2026-04-01", notice_days=30)
    assert headed_row(section("upkeep"), "domain")["Give notice by"] == "2026-03-31"
    assert headed_row(section("upkeep"), "licence")["Give notice by"] == "2026-03-02, past"


def test_a_warranty_tells_its_last_day(section: Section, add: Add) -> None:
    add("warranty", identifier="cabling", form="system", start_event="installation",
        starts_on="2024-03-15", term_months=24.0)  # fmt: skip
    assert headed_row(section("upkeep"), "cabling")["Ends on"] == "2026-03-14"


def test_a_spare_below_its_least_quantity_says_so(section: Section, add: Add) -> None:
    add("spare", identifier="battery pack", quantity=0, least_quantity=1)
    assert headed_row(section("spares"), "battery pack")["Quantity"] == "0, below the least"


def test_a_corrected_reading_is_left_out_of_the_summary(
    closet: BinderFile, section: Section, add: Add
) -> None:
    common: dict[str, Any] = {"subject": "SW1", "quantity": "PoE draw W"}
    add("reading", identifier="R1", value=1420.0, read_at="2026-03-02T10:00:00Z", **common)
    add("reading", identifier="R2", value=142.0, read_at="2026-03-02T10:01:00Z", corrects="R1",
        **common)  # fmt: skip
    add("reading", identifier="R3", value=130.0, read_at="2026-02-02T10:00:00Z", **common)
    assert row(section("readings"), "SW1") == [
        "SW1", "PoE draw", "142 W", "2026-03-02", "by hand", "130 W to 142 W", "2",
    ]  # fmt: skip


def test_a_reading_is_told_in_the_units_of_the_binder(
    closet: BinderFile, section: Section, add: Add, change: Callable[..., None]
) -> None:
    """31.2 degrees Celsius are 88.16 of Fahrenheit, shown to three figures: F = 1.8 C + 32
    (NIST SP 811, B.8)."""
    add("reading", identifier="R1", subject="1A", quantity="temperature C", value=31.2,
        read_at="2026-03-02T10:00:00Z")  # fmt: skip
    for system, told in (("metric", "31.2 °C"), ("us", "88.2 °F")):
        change("client Quillmere Veterinary Clinic", unit_system=system)
        assert headed_row(section("readings"), "1A")["Latest"] == told


def test_a_column_in_which_nothing_stands_is_left_out(section: Section, add: Add) -> None:
    """Common practice, no published source: it takes the room of those that tell something."""
    add("key", identifier="K-01", form="key")
    assert "Returned on" not in section("client")
    add("key", identifier="K-02", form="key", returned_on="2026-02-01")
    assert headed_row(section("client"), "K-02")["Returned on"] == "2026-02-01"
    assert headed_row(section("client"), "K-01")["Returned on"] == ""


@pytest.mark.parametrize(
    ("closed_at", "told"),
    [
        ("2026-03-01T10:40:00Z", "2026-03-01 10:00 to 10:40"),
        ("2026-03-02T09:00:00Z", "2026-03-01 10:00 to 2026-03-02 09:00"),
        (None, "2026-03-01 10:00, open"),
    ],
)
def test_a_log_entry_tells_from_when_to_when(
    section: Section, add: Add, closed_at: str | None, told: str
) -> None:
    add("log_entry", identifier="L-1", opened_at="2026-03-01T10:00:00Z", closed_at=closed_at,
        summary="phone dead")  # fmt: skip
    assert headed_row(section("log"), "L-1")["When"] == told


def test_what_is_told_of_a_record_beside_its_table_is_parted_by_one_mark(
    section: Section, add: Add
) -> None:
    """Common practice, no published source: no semicolon follows a full stop."""
    add("log_entry", identifier="L-1", opened_at="2026-03-01T10:00:00Z", summary="phone dead",
        body="New cord.", ticket="T-7", follow_up="none")  # fmt: skip
    assert "New cord. Ticket: T-7; Follow-up: none" in section("log")


def test_how_current_it_is_counts_what_nobody_went_to_see(
    closet: BinderFile, section: Section, change: Callable[..., None]
) -> None:
    change("114", verified_on="2026-03-01", verified_by="M. Osei")
    change("121", verified_on="2024-03-01", verified_by="M. Osei")
    assert row(section("currency"), "Space") == ["Space", "4", "1", "1", "2", "1A, 1E, 121"]


def test_cautions_are_no_wider_than_a_page_of_plain_text(section: Section) -> None:
    """88 characters, the hazard with them (common practice, no published source)."""
    lines = section("cautions").splitlines()
    assert any(line.startswith("**Batteries.** ") for line in lines)
    assert [line for line in lines if len(line) > 88] == []


# Typed text. ------------------------------------------------------------------------------


def test_lines_people_wrote_are_quoted_and_never_become_markup(
    closet: BinderFile, section: Section, change: Callable[..., None]
) -> None:
    change("SW1", notes="# Core of the site\n- *do not* reboot\n\n<b>call</b> first")
    assert (
        "> **SW1:** \\# Core of the site  \n> \\- \\*do not\\* reboot\n> \n> \\<b>call\\</b> first"
    ) in section("equipment")


def test_records_that_say_the_same_share_a_line(
    closet: BinderFile, section: Section, add: Add
) -> None:
    for number in range(1, 5):
        add("hardware", identifier=f"DC{number}", form="door controller", status="planned",
            notes="Ordered.", weight_kg=1.5)  # fmt: skip
    text = section("equipment")
    assert "\n- **DC1 to DC4:** Weight: 1.5 kg\n" in text
    assert "> **DC1 to DC4:** Ordered." in text


def test_what_was_removed_is_no_longer_told(
    closet: BinderFile, section: Section, change: Callable[..., None]
) -> None:
    change("LTE1", status="removed")
    assert "| LTE1 " not in section("equipment")
