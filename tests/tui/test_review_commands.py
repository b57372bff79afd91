"""`binder review` and `binder headroom` as an account owner or a script uses them.

What a quarterly review tells: common practice, no published source.
"""

from __future__ import annotations

import json
import re
from collections.abc import Callable
from datetime import date, timedelta
from pathlib import Path

from binder.edit import Editor
from binder.file import open_binder

Run = Callable[..., tuple[int, str, str]]
ISO_DAY = re.compile(r"\d{4}-\d\d-\d\d")


def test_a_price_of_nothing_is_a_price(ran: Run, quillmere: Path) -> None:
    due = (date.today() + timedelta(days=9)).isoformat()
    with open_binder(quillmere) as binder, Editor(binder, "M. Osei").step("renewals") as step:
        for name, cost in (("free certificate", 0), ("paid certificate", 1900),
                           ("some certificate", None)):  # fmt: skip
            step.add("renewal", {"identifier": name, "form": "certificate", "renews_on": due,
                                 "cost": cost})  # fmt: skip
    _, out, _ = ran("review", "spend", quillmere)
    told = {line for line in out.splitlines() if due in line}
    assert {line.rpartition("(")[2].rstrip(")") for line in told} == {
        "USD 0.00", "USD 19.00", "no price"
    }  # fmt: skip
    assert any("free certificate: certificate (USD 0.00)" in line for line in told)


def test_three_readings_give_no_date_in_any_command(ran: Run, quillmere: Path) -> None:
    """UPS3 was read three times; a line takes four."""
    (ahead,) = [line for line in ran("review", "ahead", quillmere)[1].splitlines()
                if "UPS load, UPS3" in line]  # fmt: skip
    assert ahead.endswith("UPS load, UPS3: not enough readings: 3 of 4")
    assert ISO_DAY.findall(ahead) == []
    rows = json.loads(ran("headroom", quillmere, "UPS3", "--json")[1])["rows"]
    outlook = next(row["outlook"] for row in rows if row["resource"] == "UPS load")
    assert outlook["says"] == "not enough readings: 3 of 4"
    assert {outlook[key] for key in ("runs_out_on", "earliest_on", "latest_on", "a_year")} == {None}


def test_every_command_tells_the_same_of_a_switch_that_was_replaced(
    ran: Run, quillmere: Path
) -> None:
    why = "SW3 as it is now was put in: the limit went from 52 to 104 W"
    (ahead,) = [line for line in ran("review", "ahead", quillmere)[1].splitlines()
                if "PoE watts, SW3" in line]  # fmt: skip
    assert ahead.startswith("-  ")
    assert "not enough readings: 2 of 4" in ahead
    assert why in ahead
    for words in (("headroom", quillmere, "SW3"), ("review", "show", quillmere, "Q-0004")):
        _, out, _ = ran(*words)
        assert why in " ".join(out.split()), words


def test_degrees_are_told_as_the_binder_shows_them(ran: Run, quillmere: Path) -> None:
    """By definition 30 °C are 86 °F."""
    (ahead,) = [line for line in ran("review", "ahead", quillmere)[1].splitlines()
                if "temperature, 1K" in line]  # fmt: skip
    assert "at the limit already, 86 °F" in ahead
    assert "°C" not in ahead
