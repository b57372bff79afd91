"""`binder reading` as a technician on a quarterly visit uses it."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

Ran = Callable[..., tuple[int, str, str]]


def test_a_reading_is_added_and_is_the_last_one(ran: Ran, quillmere: Path) -> None:
    status, _, err = ran("reading", "add", quillmere, "UPS1", "UPS load", "425")
    assert (status, err) == (0, "1 reading added\n")
    assert any(
        line.split()[:5] == ["UPS1", "UPS", "load", "W", "425"]
        for line in ran("reading", "list", quillmere)[1].splitlines()
    )


def test_a_digit_too_many_is_asked_about_and_added_only_when_sure(
    ran: Ran, quillmere: Path
) -> None:
    status, _, err = ran("reading", "add", quillmere, "UPS1", "UPS load", "4250")
    assert status == 2
    assert "far from the 5 readings before, 352 W to 418 W" in err
    assert ran("reading", "add", quillmere, "UPS1", "UPS load", "4250", "--sure")[0] == 0


def test_headings_are_told_once_and_the_same_file_adds_nothing_twice(
    ran: Ran, quillmere: Path, tmp_path: Path
) -> None:
    file = tmp_path / "power.csv"
    file.write_text("Device,Load,When\nUPS1,430 W,2026-11-24 09:00\n")
    assert ran("reading", "import", quillmere, file)[0] == 2
    told = ("--map", "subject=Device", "--map", "value=Load", "--map", "read_at=When",
            "--map", "quantity==UPS load W")  # fmt: skip
    assert "1 reading added" in ran("reading", "import", quillmere, file, *told)[2]
    file.write_text("Device,Load,When\nUPS1,430 W,2026-11-24 09:00\nUPS2,99,2026-11-24 09:05\n")
    status, _, err = ran("reading", "import", quillmere, file)
    assert (status, err) == (
        0, "1 are in the binder already and were left out\n1 reading added\n",
    )  # fmt: skip
