"""Each section of a closeout binder is included, not applicable because, or missing.

'Missing items listed as missing': closeout specifications (WSU construction guide specification
27 05 00, 1.8).
"""

from __future__ import annotations

from collections.abc import Callable

from binder.file import BinderFile
from exporters.export import render
from tests.exporters.conftest import TODAY

Add = Callable[..., int]


def stands(binder: BinderFile) -> dict[str, str]:
    files = render(binder, "handoff", form="markdown", today=TODAY)
    cover = str(next(iter(files.values())))
    rows = [line.strip("|").split(" | ") for line in cover.splitlines() if line.startswith("|")]
    return {row[0].strip(): row[-1].strip() for row in rows if len(row) == 3}


def test_what_is_there_is_included_and_what_is_not_is_missing(closet: BinderFile, add: Add) -> None:
    assert stands(closet)["Spares"] == "missing"
    assert stands(closet)["Rack elevations"] == "included"
    add("spare", identifier="B-12-9", quantity=1)
    assert stands(closet)["Spares"] == "included"


def test_what_does_not_apply_says_why(
    closet: BinderFile, add: Add, id_of: Callable[[str], int]
) -> None:
    assert stands(closet)["Fibre strands and budgets"] == (
        "not applicable because no fibre is recorded here"
    )
    add("waiver", rule="section-spares", subject=id_of("client Quillmere Veterinary Clinic"),
        reason="the shop keeps them", waived_by="Ann", waived_on="2026-03-01")  # fmt: skip
    assert stands(closet)["Spares"] == "not applicable because the shop keeps them"


def test_a_gap_is_listed_with_how_to_mend_it_and_a_waiver_with_reason_and_name(
    closet: BinderFile, add: Add, id_of: Callable[[str], int]
) -> None:
    add("waiver", rule="rack-anchors", subject=id_of("rack 1A-R1"), reason="checked on site",
        waived_by="Ann Marlow", waived_on="2026-03-01")  # fmt: skip
    files = render(closet, "handoff", form="markdown", today=TODAY)
    page = next(str(text) for name, text in files.items() if name.endswith("-gaps.md"))
    assert "SW1 has no owner" in page
    waived = page.partition("Waived, with the reason")[2]
    assert "checked on site" in waived
    assert "Ann Marlow" in waived


def test_what_acceptance_waits_for_is_listed_before_what_should_be_mended(
    closet: BinderFile,
) -> None:
    """Each with its place (common practice, no published source)."""
    files = render(closet, "handoff", form="markdown", today=TODAY)
    page = next(str(text) for name, text in files.items() if name.endswith("-gaps.md"))
    before, _, after = page.partition("## Should be mended")
    assert "## Must be mended before acceptance" in before
    assert "SW1: what feeds it is not recorded" in before
    assert "SW1 has no owner" in after
    line = next(line for line in after.splitlines() if "SW1 has no owner" in line)
    assert line.startswith("| 1A ")


def test_a_waiver_that_nothing_asks_for_any_more_is_listed_apart(
    closet: BinderFile, add: Add, id_of: Callable[[str], int]
) -> None:
    add("waiver", rule="hardware-serial", subject=id_of("rack 1A-R1"), reason="of the old rack",
        waived_by="Ann Marlow", waived_on="2026-03-01")  # fmt: skip
    files = render(closet, "handoff", form="markdown", today=TODAY)
    page = next(str(text) for name, text in files.items() if name.endswith("-gaps.md"))
    others = page.partition("## Other waivers on record")[2]
    assert "hardware serial" in others
    assert "of the old rack" in others
    assert page.count("of the old rack") == 1
