"""The door sheet: one page, safe for whoever opens the door, in the order of a night call.

One page, its sections and their order, and a posted sheet apart from a sealed one: common practice
of emergency sheets, no published source. Paper: A4 is 210 mm by 297 mm (ISO 216), Letter 8.5 in by
11 in (ANSI/ASME Y14.1, size A).
"""

from __future__ import annotations

import subprocess
from collections.abc import Callable, Iterator
from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING

import pytest

from binder.envelope.opened import Envelope
from binder.errors import RequestError
from binder.file import BinderFile, create
from binder.intake import json_form
from binder.read import resolve
from demo.build import client_data
from exporters.contents import one_page
from exporters.documents import Options
from exporters.export import export, render
from exporters.house import Look
from exporters.html import anchor
from tests.exporters.conftest import KEY, PASSWORD, PIN, TODAY
from tests.system import needs, needs_weasyprint

if TYPE_CHECKING:
    from playwright.sync_api import Browser

Add = Callable[..., int]
Change = Callable[..., None]

ORDER = ["site", "stop-and-look", "who-to-call", "circuits", "am-i-down", "power", "rack",
         "critical-lines", "where", "write-in"]  # fmt: skip
LONG = " ".join(["Wanneroo's long-winded Wilhelmina WAREHOUSE maintenance"] * 6)[:300]


@pytest.fixture
def sheet(closet: BinderFile) -> Callable[..., str]:
    """The sheet as one Markdown text, as the binder is now."""

    def sheet(rack: str = "") -> str:
        options = Options(rack=rack)
        files = render(closet, "door sheet", form="markdown", today=TODAY, options=options)
        return "\n".join(map(str, files.values())).replace("\N{NO-BREAK SPACE}", " ")

    return sheet


def test_its_sections_stand_in_the_order_of_a_night_call(closet: BinderFile) -> None:
    files = render(closet, "door sheet", form="markdown", today=TODAY)
    assert [anchor(name.split("/")[1]) for name in files][1:] == ORDER


def test_it_is_replaced_when_the_records_need_to_be_verified_again(
    sheet: Callable[..., str], change: Change
) -> None:
    change("client Quillmere Veterinary Clinic", verify_months=6)
    assert "**Replace after:** 2026-09-14" in sheet()


def test_the_rack_is_that_of_the_gateway_or_the_one_asked_for(
    sheet: Callable[..., str], add: Add
) -> None:
    add("rack", identifier="1E-R1", space="1E", height_u=6)
    assert "Door sheet of 1A-R1" in sheet()
    assert "Door sheet of 1E-R1" in sheet("1e-r1")
    with pytest.raises(RequestError, match="no rack is called '9Z'; there are: 1A-R1, 1E-R1"):
        sheet("9Z")


def test_a_circuit_tells_what_the_carrier_asks_and_where_the_pin_is(
    closet: BinderFile, sheet: Callable[..., str], add: Add, change: Change
) -> None:
    change(
        "circuit fibre",
        circuit_id="LKF-2203-118-QM",
        account_number="4410-2287",
        demarc_space=resolve(closet, "space 1E").id,
        demarc_tag="LKF-2203",
        support_phone_24h="+1 312 555 0161",
    )
    assert "4410-2287" not in sheet()  # with no PIN beside it, it could be all that is asked for
    add("secret", identifier="fibre PIN", form="PIN", belongs_to="circuit fibre", envelope_number=3)
    line = next(line for line in sheet().splitlines() if line.startswith("- **fibre"))
    for told in ("+1 312 555 0161", "LKF-2203-118-QM", "account 4410-2287", "demarc 1E",
                 "tag LKF-2203", "PIN: envelope 3"):  # fmt: skip
        assert told in line


def test_a_fourth_circuit_is_on_its_card_in_the_binder(sheet: Callable[..., str], add: Add) -> None:
    for name in ("third", "fourth"):
        add("circuit", identifier=name, service="voice", role="other", provider=f"P of {name}")
    text = sheet()
    assert "P of fourth" in text or "P of third" in text
    assert not ("P of fourth" in text and "P of third" in text)
    assert "**And 1 more:** see the circuit cards in the binder" in text


def test_who_has_left_is_neither_called_nor_named_to_the_carrier(
    sheet: Callable[..., str], add: Add
) -> None:
    add("contact", identifier="Dana Whitlock", escalation=1, left_on="2026-01-10")
    add("authorised_caller", circuit="fibre", contact="Dana Whitlock")
    assert "Whitlock" not in sheet()


def test_only_the_line_on_lamps_is_taken_from_peoples_notes(
    sheet: Callable[..., str], change: Change
) -> None:
    change("ONT1", notes="The cabinet's key hangs behind the heater.\nLamps when well: all green.")
    text = sheet()
    assert "Lamps when well: all green." in text
    assert "behind the heater" not in text


def test_the_battery_that_is_overdue_says_so(sheet: Callable[..., str], add: Add) -> None:
    add("hardware", identifier="UPS1", form="UPS", rack="1A-R1", u_position=1, height_u=2,
        battery_installed_on="2021-01-10", battery_life_years=4.0)  # fmt: skip
    assert "replace by 2025-01-10, OVERDUE" in sheet()


# Nothing secret. --------------------------------------------------------------------------


def test_it_tells_no_secret_and_nothing_of_the_integrators_own(
    closet: BinderFile, envelope: Envelope, sheet: Callable[..., str], add: Add, change: Change
) -> None:
    change("SW1", management_address="198.51.100.77", description="managed at 198.51.100.77")
    add("contact", identifier="Ann", escalation=1, identity_check="the phrase is blue heron",
        internal_notes="canary internal")  # fmt: skip
    change("circuit fibre", internal_notes="canary internal", notes="PIN is 1234",
           support_asks_for="PIN 9876")  # fmt: skip
    change("space 1A", alarm="code 5555", internal_notes="canary internal")
    text = sheet()
    for secret in (PASSWORD, PIN, KEY, "198.51.100.77", "192.0.2.2", "blue heron", "canary",
                   "1234", "9876", "5555"):  # fmt: skip
        assert secret not in text


def test_what_must_not_be_cut_stands_whole_on_the_sheet_of_the_demo(tmp_path: Path) -> None:
    """What can hurt is shortened last (common practice, no published source)."""
    day = date(2026, 11, 25)
    with create(tmp_path / "demo.binder", "") as binder:
        json_form.load(binder, client_data(day), "demo")
        files = render(binder, "door sheet", form="markdown", today=day)
        (lines,) = binder.connection.execute("SELECT critical_lines FROM client").fetchone()
    text = " ".join(" ".join(map(str, files.values())).split())
    for line in lines.split("\n"):
        assert line.strip() in text


# One page. --------------------------------------------------------------------------------


@pytest.fixture(scope="module")
def browser() -> Iterator[Browser]:
    from playwright.sync_api import sync_playwright

    chromium = needs("chromium", "chromium-browser")
    with sync_playwright() as playwright:
        browser = playwright.chromium.launch(executable_path=chromium, args=["--no-sandbox"])
        yield browser
        browser.close()


def printed(browser: Browser, closet: BinderFile, folder: Path) -> dict[str, tuple[int, str]]:
    """By paper: how many pages, and their text."""
    path = export(closet, "door sheet", form="html", target=folder, today=TODAY)[0]
    page = browser.new_page()
    page.goto(path.as_uri())
    found = {}
    for paper in ("A4", "Letter"):
        file = folder / f"{paper}.pdf"
        page.pdf(path=file, format=paper)
        pages = pages_of(file)
        found[paper] = (len(pages), " ".join(" ".join(pages).split()))
    page.close()
    return found


def pages_of(pdf: Path) -> list[str]:
    """The text of each page."""
    command = [needs("pdftotext"), str(pdf), "-"]
    text = subprocess.run(command, capture_output=True, text=True, check=True).stdout
    return text.split("\f")[:-1]


def circuits(closet: BinderFile, add: Add, change: Change, number: int, text: str) -> None:
    """Leave the closet with so many circuits, of which everything is known in these words."""
    if number == 1:
        change("circuit cellular", status="abandoned")
    if number == 3:
        add("circuit", identifier="voice", service="voice", role="voice only")
    for name in ("fibre", "cellular", "voice")[:number]:
        entrance = resolve(closet, "space 1E").id
        change(f"circuit {name}", provider=text, circuit_id=text, account_number=text,
               service_address=text, support_phone_24h="+1 312 555 0161", payer=text,
               demarc_space=entrance, demarc_position=text, demarc_tag=text)  # fmt: skip
        add("secret", identifier=f"{name} PIN", form="PIN", belongs_to=f"circuit {name}",
            envelope_number=2)  # fmt: skip


@pytest.mark.parametrize("paper", ["a4", "letter"])
@pytest.mark.parametrize("number", [1, 2, 3])
def test_it_is_one_page_when_it_is_written_as_pdf(
    closet: BinderFile, add: Add, change: Change, tmp_path: Path, number: int, paper: str
) -> None:
    needs_weasyprint()
    circuits(closet, add, change, number, "Larkfen Fiber 2203 of Quillmere")
    path = export(closet, "door sheet", form="pdf", target=tmp_path, today=TODAY,
                  look=Look(paper=paper))[0]  # fmt: skip
    assert len(pages_of(path)) == 1


@pytest.mark.parametrize("number", [1, 2, 3])
def test_it_is_one_page_of_either_paper_for_one_two_and_three_circuits(
    browser: Browser, closet: BinderFile, add: Add, change: Change, tmp_path: Path, number: int
) -> None:
    circuits(closet, add, change, number, "Larkfen Fiber 2203")
    for pages, text in printed(browser, closet, tmp_path).values():
        assert pages == 1
        assert text.count("PIN: envelope 2") == number
        assert "DRAFT, not issued" in text


@pytest.mark.parametrize("text", [LONG, "W" * 300, "漢字" * 150, "@\u202e\x1b[31m " * 50])
def test_it_is_one_page_however_long_the_texts_are(
    browser: Browser, closet: BinderFile, add: Add, change: Change, tmp_path: Path, text: str
) -> None:
    circuits(closet, add, change, 3, text)
    change("space 1A", name=text, hazards=text, shut_offs=text)
    change("client Quillmere Veterinary Clinic", identifier=text, critical_lines=f"{text}\n" * 9,
           integrator=text, integrator_phone="+1 312 555 0143")  # fmt: skip
    change("building B1", address=text)
    for at in range(12):
        name = f"{at} {text}"
        person = add("contact", identifier=name, escalation=at + 1, role=text, may_approve=text,
                     mobile_phone=f"+1 312 555 01{at:02}")  # fmt: skip
        add("authorised_caller", circuit="fibre", contact=person)
        breaker = add("branch_circuit", identifier=name, space="1A")
        hardware = add("hardware", identifier=name, form="UPS" if at % 2 else "switch", space="1A",
                       description=text, criticality="high")  # fmt: skip
        add("inlet", hardware=hardware, label="PS1", branch_circuit=breaker)
        add("spare", identifier=name, quantity=1, kept_at=name)
        add("key", identifier=name, form="key", space="1A", holder=person)
        add("secret", identifier=name, form="password", belongs_to="hardware SW1", kept_by=name,
            envelope_number=at + 3)  # fmt: skip
    for pages, told in printed(browser, closet, tmp_path).values():
        assert pages == 1
        for at in range(3):  # what is never cut
            assert f"+1 312 555 01{at:02}" in told
        assert told.count("+1 312 555 0161") == 3


def test_no_text_of_the_print_is_below_10_point(
    browser: Browser, closet: BinderFile, tmp_path: Path
) -> None:
    path = export(closet, "door sheet", form="html", target=tmp_path, today=TODAY)[0]
    page = browser.new_page()
    page.goto(path.as_uri())
    page.emulate_media(media="print")
    sizes = page.evaluate(
        "[...document.querySelectorAll('main *')]"
        ".map(element => parseFloat(getComputedStyle(element).fontSize))"
    )
    assert min(sizes) * 72 / 96 >= 10 - 0.01


def test_the_page_of_reckoning_is_the_lesser_of_either_paper() -> None:
    """Letter is 279.4 mm high, A4 210 mm wide."""
    margins_mm = 2 * one_page.MARGIN_MM
    assert pytest.approx((279.4 - margins_mm) / 25.4 * 72) == one_page.PAGE_PT
    assert (210 - margins_mm - one_page.GAP_MM) / 25.4 * 72 >= 2 * one_page.COLUMN_PT


def test_widths_are_at_least_those_of_helvetica() -> None:
    """Adobe Core 14 AFM, Helvetica, in thousandths of an em (values from memory)."""
    published = {"A": 667, "M": 833, "W": 944, "a": 556, "i": 222, "m": 833, "w": 722, "0": 556,
                 " ": 278, ".": 278, "@": 1015, "%": 889}  # fmt: skip
    for letter, thousandths in published.items():
        assert one_page.width_pt(letter) >= thousandths / 100
