"""The capacity baseline and the outages in the handoff.

Contents: section 'capacity baseline' of closeout specifications gathered by the founders (rated,
used, reserved, free and a threshold with its source for each resource; missing data told as
missing), and 'shutdown and start-up order' of their power sections. Common practice, no published
source.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator
from datetime import date
from pathlib import Path
from typing import Any
from xml.etree.ElementTree import Element

import pytest
from hypothesis import given
from hypothesis import strategies as st

from binder.file import BinderFile, create
from binder.headroom import Headroom, headroom
from binder.headroom.words import figures, free, shown
from binder.impact import failing, impact
from binder.intake import json_form
from binder.start_order import start_order
from demo.build import client_data
from exporters.drawings.bars import LIMIT_CELLS, MOST, Bar, Bars, text_bar
from exporters.export import render
from exporters.html import _renderer
from exporters.outages import outages
from tests.exporters.conftest import TODAY
from tests.exporters.reading import PAYLOADS, fragment, page, text_of

Add = Callable[..., int]
Section = Callable[[str], str]
ON = date(2026, 11, 25)


@pytest.fixture(scope="module")
def demo(tmp_path_factory: pytest.TempPathFactory) -> Iterator[BinderFile]:
    path: Path = tmp_path_factory.mktemp("capacity") / "demo.binder"
    with create(path, "") as binder:
        json_form.load(binder, client_data(ON), "demo")
        yield binder


@pytest.fixture(scope="module")
def answer(demo: BinderFile) -> Headroom:
    return headroom(demo, today=ON)


@pytest.fixture(scope="module")
def told(demo: BinderFile) -> Callable[[str], str]:
    """`told("capacity")`: that section of the demo's handoff as Markdown."""
    files = render(demo, "handoff", form="markdown", today=ON)
    return lambda name: next(text for path, text in files.items() if path.endswith(f"-{name}.md"))


def part(text: str, title: str) -> str:
    """What stands under a heading, up to the next."""
    return text.split(f"\n## {title}")[1].partition("\n")[2].split("\n## ")[0]


def table(text: str, number: int = 0) -> list[list[str]]:
    """The rows of the nth table of a text, without its head; escapes taken off."""
    tables = re.findall(r"(?:^\|.*\n)+", text + "\n", re.MULTILINE)
    lines = tables[number].splitlines()[2:]
    rows = [re.split(r"(?<!\\)\|", line)[1:-1] for line in lines]
    return [[re.sub(r"\\(.)", r"\1", cell.strip()) for cell in row] for row in rows]


# Figures. ---------------------------------------------------------------------------------


def test_each_row_of_headroom_stands_in_the_table_of_its_space(
    told: Callable[[str], str], answer: Headroom
) -> None:
    text = told("capacity")
    found: list[list[str]] = []
    for title in re.findall(r"^## ((?:All of|What is in no one).*)$", text, re.MULTILINE):
        found += table(part(text, title))
    expected = {
        (", ".join(filter(None, (row.where.name, row.resource, row.which))), row.state):
        [shown(rounded(value), row.unit, "us") for value in (row.rated, row.limit, row.used)]
        for row in answer.rows
    }  # fmt: skip
    assert len(found) == len(answer.rows) > 70
    for what, *cells, reserved, left, state in found:
        numbers = ["?" if cell == "not known" else cell for cell in cells]
        assert numbers == expected.pop((what, state)), what
        assert (reserved, left) != ("", ""), what
    assert expected == {}


def rounded(value: float | None) -> float | None:
    return None if value is None else round(value, 1 if abs(value) >= 10 else 2)


def test_what_asks_for_attention_stands_first_and_in_the_order_of_headroom(
    told: Callable[[str], str], answer: Headroom
) -> None:
    pressing = [row for row in answer.rows if row.state in ("over", "short", "tight")]
    rows = table(part(told("capacity"), "What asks for attention"))
    assert [row[:1] + row[2:4] for row in rows] == [
        [row.state, figures(row, "us"), free(row, "us")] for row in pressing
    ]
    mends = {row[1]: row[5] for row in rows}
    assert mends["UPS2, battery life"] == "new batteries now; the old ones to recycling"


def test_the_section_counts_the_rows_by_state(told: Callable[[str], str], answer: Headroom) -> None:
    for state, count in answer.counts().items():
        assert f"- **{count} {state}:** " in told("capacity")


def test_a_row_that_is_not_known_says_what_it_needs(told: Callable[[str], str]) -> None:
    rows = table(part(told("capacity"), "Not known yet"))
    assert ["1E, heat", "needs cooling of 1E", ""] in rows
    assert ["voice, DHCP addresses", "needs a reading (DHCP leases) of voice",
            "at most 10 addresses free"] in rows  # fmt: skip


def test_every_caution_of_a_row_stands_once_before_the_tables(
    told: Callable[[str], str], answer: Headroom
) -> None:
    """Wall anchors, mains power, batteries, light, lifting: the usual cautions."""
    text = " ".join(told("capacity").split())
    cautions = {row.caution for row in answer.rows if row.caution}
    assert len(cautions) >= 5
    for caution in cautions:
        assert text.count(caution) == 1
        assert text.index(caution) < text.index("## All of")
    assert "**Anchors.** A planning check, not an engineer's approval." in text


def test_a_trend_is_told_with_the_reading_it_ends_in(told: Callable[[str], str]) -> None:
    rows = {row[0]: row[1:] for row in table(part(told("capacity"), "Where the readings lead"))}
    value, on, trend = rows["NAS1, disk space"]
    assert (value, on) == ("6.01 TB", "2026-10-26")
    assert trend.endswith(
        "a year, by 13 readings: reaches 6400 GB about 2027-02-10, "
        "between 2027-02-01 and 2027-02-18"
    )
    assert rows["UPS3, UPS load"][2] == "not enough readings: 3 of 4"
    assert "between" not in rows["UPS2, UPS load"][2]  # a direction is given no range of days


def test_what_asks_for_attention_is_worked_through(
    told: Callable[[str], str], answer: Headroom
) -> None:
    worked = {row[0] for row in table(part(told("capacity"), "The sums behind"))}
    for row in answer.rows:
        what = ", ".join(filter(None, (row.where.name, row.resource, row.which)))
        assert (what in worked) == (row.state != "fine" and bool(row.steps or row.notes)), what


def test_bars_stand_in_two_columns_of_about_the_same_height(told: Callable[[str], str]) -> None:
    """Two drawings stand side by side (common practice, no published source)."""
    drawn = re.findall(r"```bars capacity-[0-9]+\n(.*?)\n```", told("capacity"), re.DOTALL)
    heights = [text.count("\n") for text in drawn]
    assert len(drawn) % 2 == 0
    assert max(heights) - min(heights) <= 3  # one bar


def test_it_takes_a_fifth_of_the_document_at_most(told: Callable[[str], str],
                                                  demo: BinderFile) -> None:  # fmt: skip
    files = render(demo, "handoff", form="markdown", today=ON)
    assert len(told("capacity")) < 0.2 * sum(map(len, files.values()))


@pytest.mark.parametrize("form", ["markdown", "html"])
def test_the_same_day_gives_the_same_bytes_and_a_later_one_other_figures(
    demo: BinderFile, form: str
) -> None:
    first = render(demo, "handoff", form=form, today=ON)
    assert render(demo, "handoff", form=form, today=ON) == first
    later = render(demo, "handoff", form=form, today=date(2030, 1, 1))
    assert "UPS3, battery life" in "".join(map(str, later.values()))
    assert later != first


def test_a_binder_without_anything_rated_says_that_nothing_is_recorded(section: Section) -> None:
    assert "Nothing recorded." in section("capacity")


# What is not told. ------------------------------------------------------------------------


@pytest.mark.parametrize("form", ["markdown", "html"])
def test_what_headroom_says_carries_no_management_address(
    closet: BinderFile, add: Add, change: Callable[..., None], form: str
) -> None:
    """Names and reasons are typed, and someone types addresses into them."""
    change("SW1", management_address="198.51.100.77", poe_budget_w=1.0,
           internal_notes="canary of the switch")  # fmt: skip
    add("hardware", identifier="cam at 198.51.100.77", form="camera", space="114",
        status="planned", poe_class=4)  # fmt: skip
    add("hardware", identifier="UPS 198.51.100.77", form="UPS", space="1A", ups_rating_w=1.0)
    add("inlet", hardware="SW1", label="PS1", fed_by="UPS 198.51.100.77")
    add("inlet", hardware="UPS 198.51.100.77", label="IN", fed_by="SW1")  # a ring, told
    add("planning_limit", identifier="panel ports percent", value=70.0,
        because="agreed at 198.51.100.77", internal_notes="canary of the limit")  # fmt: skip
    add("reading", identifier="R1", subject="UPS 198.51.100.77", quantity="UPS load W", value=5.0,
        read_at="2026-03-02T10:00:00Z", internal_notes="canary of the reading")  # fmt: skip
    text = "".join(render(closet, "handoff", form=form, today=TODAY).values())
    assert "198.51.100.77" in repr(headroom(closet, today=TODAY))
    assert "198.51.100.77" in repr(start_order(closet))
    assert "198.51.100.77" not in text
    assert "canary" not in text
    assert "agreed at" in text


def test_hostile_names_stay_names_in_tables_and_bars(closet: BinderFile, add: Add) -> None:
    for number, payload in enumerate(PAYLOADS):
        name = f"{number} {payload}".replace("\n", " ").replace("\r", " ")
        add("renewal", identifier=name, form="licence", renews_on="2026-09-01", entitled=1, used=2)
    files = render(closet, "handoff", form="markdown", today=TODAY)
    text = next(text for path, text in files.items() if path.endswith("-capacity.md"))
    rows = table(part(text, "What asks for attention"))
    assert {len(row) for row in rows} == {6}
    assert f"{PAYLOADS.index('1. item')} 1. item, licences" in {row[1] for row in rows}
    document = page(render(closet, "handoff", form="html", today=TODAY).popitem()[1])
    assert not list(document.iter("img"))
    section = next(e for e in document.iter("section") if e.get("id") == "capacity")
    drawn = [text_of(e) for e in section.iter() if e.tag.endswith("text")]
    assert any("<script>alert(1)</script>, licences" in text for text in drawn)


# Bars. ------------------------------------------------------------------------------------


def bar(used: float, reserved: float = 0.0, limit: float = 100.0) -> Bar:
    return Bar("UPS1, UPS load", "tight", used, reserved, limit, "so much of 100 W")


def drawn(one: Bar) -> dict[str, Element]:
    svg = fragment(Bars("How much is taken", (one,)).svg("k"))
    marks = ("free", "used", "reserved", "limit")
    elements = [e for e in svg.iter() if e.get("class") in marks or e.get("points")]
    return {e.get("class") or "": e for e in elements}


@pytest.mark.parametrize(
    ("used", "reserved", "width_used", "width_reserved"),
    [
        (0, 0, 0.0, 0.0),
        (50, 0, 0.5, 0.0),
        (50, 25, 0.5, 0.25),
        (0, 100, 0.0, 1.0),
        (100, 0, 1.0, 0.0),  # full: to the stroke and no further
        (100, 25, 1.0, 0.25),
        (110, 0, 1.1, 0.0),
        (300, 0, MOST, 0.0),  # beyond the paper
        (100, 900, 1.0, MOST - 1),
    ],
)
def test_a_bar_is_as_wide_as_its_share_of_the_limit(
    used: float, reserved: float, width_used: float, width_reserved: float
) -> None:
    parts = drawn(bar(used, reserved))
    whole = float(parts["free"].get("width") or 0)
    assert float(parts["limit"].get("x1") or 0) == pytest.approx(
        float(parts["free"].get("x") or 0) + whole
    )
    for word, expected in (("used", width_used), ("reserved", width_reserved)):
        width = float(parts[word].get("width") or 0) if word in parts else 0.0
        assert width / whole == pytest.approx(expected, abs=0.003), word
    assert ("paper" in parts) == (used + reserved > MOST * 100)  # ends in a point


@pytest.mark.parametrize(
    ("used", "reserved", "limit", "text"),
    [
        (0, 0, 100, "........................|"),
        (50, 25, 100, "############======......|"),
        (100, 0, 100, "########################|"),
        (0.1, 0, 100, "#.......................|"),
        (100.1, 0, 100, "########################|#"),
        (50, 75, 100, "############============|======"),
        (50, 75.1, 100, "############============|=====>"),
        (9999, 0, 100, "########################|#####>"),
        (1, 0, 0, "########################|#####>"),  # something of nothing
        (0, 0, 0, "........................|"),
        (-3, 0, 10, "........................|"),  # of what can be below zero
    ],
)
def test_a_bar_in_text_has_its_limit_in_one_column(
    used: float, reserved: float, limit: float, text: str
) -> None:
    assert text_bar(bar(used, reserved, limit)).rstrip() == text


AMOUNTS = st.integers(-100, 10**6).map(float)


@given(AMOUNTS, AMOUNTS, AMOUNTS)
def test_a_bar_passes_its_limit_exactly_when_the_figures_do(
    used: float, reserved: float, limit: float
) -> None:
    used, reserved, limit = max(used, 0.0), max(reserved, 0.0), max(limit, 0.0)
    text = text_bar(bar(used, reserved, limit))
    assert text[LIMIT_CELLS] == "|"
    assert len(text) == 31
    assert (text[LIMIT_CELLS + 1] != " ") == (used + reserved > limit)
    if used <= limit:
        assert ("=" in text) == (reserved > 0)


# Power. -----------------------------------------------------------------------------------


def test_what_a_ups_carries_and_how_long_is_what_impact_says(
    demo: BinderFile, told: Callable[[str], str]
) -> None:
    """UPS2 and UPS3 hang on a circuit each and share no load: the mains failing is that circuit
    failing."""
    rows = {row[0]: row[1:] for row in table(part(told("power"), "When the mains fails"))}
    for ups, circuit in (("UPS2", "LP2-4"), ("UPS3", "LP1-14")):
        (battery,) = impact(demo, failing(demo, circuit), today=ON).on_battery
        assert battery.load_w is not None
        assert battery.minutes is not None
        assert rows[ups][0] == f"{battery.load_w:.0f} W"
        assert rows[ups][1].split()[-2:] == [f"{battery.minutes:.0f}", "min"]
    assert rows["UPS2"][2] == (
        "SW3 (switch); AP4, AP5 (access point); CAM8 to CAM12 (camera); PH7, PH8 (phone); "
        "STRIP2 (power strip)"
    )


def test_what_a_generator_picks_up_is_told_apart(told: Callable[[str], str]) -> None:
    text = told("power")
    assert "Dark at once: STRIP1 (power strip); CELL1 (modem)." in text
    assert "Dark until the generator runs: XR1 (workstation)." in text


def test_what_stops_with_each_circuit_and_ups_is_what_impact_says(demo: BinderFile) -> None:
    found = outages(demo, ON).failures
    assert len(found) == 8  # five circuits, three UPSs
    for failure in found:
        answer = impact(demo, failure.id, today=ON)
        devices = {each.id for each in answer.affected if each.kind == "hardware"}
        assert failure.at_once | failure.later == {each.id for each in answer.power}
        assert failure.at_once == {each.id for each in answer.power if each.after_min == 0}
        assert failure.cut_off == {e.id for e in answer.data if e.kind == "hardware"}
        assert failure.one_feed_less <= devices


def test_a_switch_with_two_feeds_loses_one_and_works_on(
    closet: BinderFile, add: Add, section: Section
) -> None:
    for number in (1, 2):
        add("branch_circuit", identifier=f"LP1-{number}", rating_a=20.0, voltage_v=120.0)
        add("hardware", identifier=f"UPS{number}", form="UPS", space="1A")
        add("inlet", hardware=f"UPS{number}", label="IN", branch_circuit=f"LP1-{number}")
        add("inlet", hardware="SW1", label=f"PS{number}", fed_by=f"UPS{number}")
    rows = {row[0]: row[1:] for row in table(part(section("power"), "What hangs on each"))}
    assert rows["UPS1"] == ["none", "none", "none", "SW1 (switch)"]
    assert rows["LP1-1"] == ["none", "UPS1 (UPS)", "none", "SW1 (switch)"]


def test_a_battery_of_which_nothing_is_recorded_is_not_known(
    closet: BinderFile, add: Add, section: Section
) -> None:
    add("hardware", identifier="UPS1", form="UPS", space="1A")
    add("branch_circuit", identifier="LP1-1", rating_a=20.0, voltage_v=120.0)
    add("inlet", hardware="UPS1", label="IN", branch_circuit="LP1-1")
    add("inlet", hardware="SW1", label="PS1", fed_by="UPS1")
    rows = table(part(section("power"), "When the mains fails"))
    assert [row[2] for row in rows] == ["not known"]


def test_stopping_goes_the_steps_of_starting_backwards(
    demo: BinderFile, told: Callable[[str], str]
) -> None:
    def steps(title: str) -> list[str]:
        return re.findall(r"^\d+\. (.*)$", part(told("power"), title), re.MULTILINE)

    down, up = steps("To shut down"), steps("To start up")
    assert down == up[::-1]
    assert len(up) == len(start_order(demo).stages)
    assert up[3] == "SW1 (switch)"  # what passes on to the other switches
    assert down[0].startswith("CAM1 to CAM12 (camera)")


def test_things_that_wait_for_each_other_are_told(
    closet: BinderFile, add: Add, section: Section
) -> None:
    add("hardware", identifier="UPS1", form="UPS", space="1A")
    add("inlet", hardware="UPS1", label="IN", fed_by="SW1")
    add("inlet", hardware="SW1", label="PS1", fed_by="UPS1")
    assert "These wait for each other: " in section("power")


def test_a_gap_in_a_series_is_not_told_as_there(
    closet: BinderFile, add: Add, section: Section
) -> None:
    for number in (31, 32, 33, 35):
        add("hardware", identifier=f"CAM{number}", form="camera", space="114")
    assert "CAM31 to CAM33, CAM35 (camera)" in section("power")


# The fast way through Markdown. -----------------------------------------------------------


@given(st.text(st.characters(codec="utf-8", exclude_categories=["Cs", "Cc"]), max_size=40))
def test_text_without_marks_renders_as_the_library_would(text: str) -> None:
    """Against markdown-it-py with its own rule for what is within a block."""
    from markdown_it import MarkdownIt

    plain = MarkdownIt("commonmark", {"html": False}).enable(["table", "strikethrough"])
    source = f"x{text} x\n"
    env: dict[str, Any] = {"name": "01-x.md", "drawings": {}}
    assert _renderer().render(source, env) == plain.render(source)
