"""Readings out of a CSV file: headings told once, every fault with its line, nothing by halves."""

from __future__ import annotations

import csv
import io
from datetime import datetime
from pathlib import Path
from zoneinfo import ZoneInfo

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from binder.errors import FaultsError, RequestError
from binder.file import BinderFile
from binder.intake import readings_csv
from binder.intake.readings_csv import Mapped, headings_of, mapped

NOW = datetime(2026, 11, 25, 9, 0, tzinfo=ZoneInfo("America/Chicago"))
PLAIN = {"subject": "Device", "value": "Load", "read_at": "When", "quantity": "=UPS load W"}


def test_what_was_said_once_is_remembered_for_that_person(
    demo: BinderFile, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("XDG_STATE_HOME", str(tmp_path))
    heads = ("When", "Device", "Load")
    readings_csv.remember(demo, "M. Osei", mapped(heads, PLAIN, {}))
    assert mapped(heads, {}, readings_csv.remembered(demo, "M. Osei")).of == PLAIN
    assert readings_csv.remembered(demo, "K. Brandt") == {}


def test_what_is_remembered_and_spoiled_is_asked_for_again(
    demo: BinderFile, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("XDG_STATE_HOME", str(tmp_path))
    readings_csv.remember(demo, "M. Osei", Mapped(PLAIN))
    (kept,) = (tmp_path / "binder" / "headings").iterdir()
    kept.write_text("[")
    assert readings_csv.remembered(demo, "M. Osei") == {}


def test_a_column_nobody_named_is_asked_for() -> None:
    with pytest.raises(RequestError, match="which column is quantity and value"):
        mapped(("Device", "When", "Load"), {}, {})


def test_a_heading_that_is_not_there_is_told() -> None:
    with pytest.raises(RequestError, match="no column is headed 'Watts'; there are: Device"):
        mapped(("Device",), {"value": "Watts"}, {})


def test_each_line_that_does_not_fit_is_told_and_none_is_taken(demo: BinderFile) -> None:
    text = "Device,Load,When\nUPS1,430,2026-11-24 09:00\nUPS9,12,2026-11-24\nUPS2,3 A,2026-11-24\n"
    heads, whole = headings_of(text)
    with pytest.raises(FaultsError) as raised:
        readings_csv.read(demo, whole, heads, Mapped(PLAIN), NOW)
    assert [fault.where for fault in raised.value.faults] == ["line 3, subject", "line 4, value"]


def test_a_clock_on_the_wall_is_that_of_the_client(demo: BinderFile) -> None:
    # US Central Time is UTC-6 in November (15 U.S.C. 260a, 263)
    heads, whole = headings_of("Device,Load,When\nUPS1,430 W,2026-11-24 09:00\n")
    (taken,) = readings_csv.read(demo, whole, heads, Mapped(PLAIN), NOW)
    assert (taken.value, taken.read_at) == (430, "2026-11-24T15:00:00Z")


# A heading may hold anything a spreadsheet's cell may; lines are parted by commas there.
_HEADING = st.text(
    st.characters(codec="utf-8", exclude_categories=("C", "Z")), min_size=1, max_size=8
).filter(lambda text: not text.startswith("="))


@settings(suppress_health_check=[HealthCheck.function_scoped_fixture], deadline=None)
@given(
    st.lists(_HEADING, min_size=4, max_size=4, unique_by=str.casefold),
    st.lists(st.integers(0, 999_999), min_size=1, max_size=8),
    st.permutations(range(4)),
)
def test_whatever_the_columns_are_called_and_stand_the_values_come_as_written(
    demo: BinderFile, headings: list[str], values: list[int], order: list[int]
) -> None:
    fields = ("subject", "quantity", "value", "read_at")
    out = io.StringIO()
    writer = csv.writer(out, quoting=csv.QUOTE_ALL)
    writer.writerow([headings[at] for at in order])
    for value in values:
        line = ("UPS1", "UPS load W", str(value), "2026-11-24 09:00")
        writer.writerow([line[at] for at in order])
    heads, whole = headings_of(out.getvalue())
    found = mapped(heads, dict(zip(fields, headings, strict=True)), {})
    taken = readings_csv.read(demo, whole, heads, found, NOW)
    assert [one.value for one in taken] == values
