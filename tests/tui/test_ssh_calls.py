"""Whole calls over a real ssh at 80x24, keys only, counted; the screen read by pyte.

What a technician needs in seconds (where a jack leads, whom to call, the login, the call logged) is
common practice, no published source.
"""

from __future__ import annotations

import json
import shutil
from collections.abc import Iterator
from pathlib import Path

import pytest

from binder.file import open_binder
from binder.read import read, read_where
from binder.records.catalog import BY_NAME
from binder.touched import touched
from tests.pseudo_terminal import PseudoTerminal
from tests.tui.ssh_host import Host, ssh_host

FORCED = "command=\"binder --who 'M. Osei'\",restrict,pty"
PASSPHRASE = json.loads((Path(__file__).parents[2] / "demo/envelope.json").read_text())[
    "keyholders"
][0]["passphrase"]


@pytest.fixture
def host(demo_folder: Path, tmp_path: Path) -> Iterator[Host]:
    """A shelf with the demo on it, reached by M. Osei's key."""
    (tmp_path / "shelf").mkdir()
    shutil.copy(demo_folder / "quillmere.binder", tmp_path / "shelf")
    with ssh_host(tmp_path, tmp_path / "shelf", {"osei": FORCED}) as up:
        yield up


def find(seen: PseudoTerminal, words: str) -> None:
    seen.press("/")
    seen.wait_for("Find in the whole binder")
    seen.type(words)
    seen.wait_for(lambda text: words in text and " found" in text and "0 found" not in text)


def last_call(host: Host) -> tuple[dict[str, object], dict[str, tuple[str, ...]]]:
    """The newest call in the log, and what it touched in what ways."""
    with open_binder(host.folder / "shelf/quillmere.binder", read_only=True) as binder:
        entry = read_where(binder, BY_NAME["log_entry"], order_by="t.opened_at DESC LIMIT 1")[0]
        ways = {one.name: one.how for one in touched(binder, entry.id)}
        return dict(read(binder, entry.id).values), ways


def test_phone_dead_at_the_front_desk_in_twelve_keys(host: Host) -> None:
    seen = host.session("osei", "quillmere")
    seen.wait_for("Quillmere Veterinary Clinic")
    seen.press("c")
    seen.wait_for("Who is calling?")
    seen.type("Priya")
    seen.press("enter")
    seen.wait_for("call 00:")

    find(seen, "front desk")
    seen.press("down", "ctrl+t")
    seen.wait_for("SW1:01")
    assert "VLAN 20" in seen.text
    assert "PoE type 2" in seen.text

    find(seen, "SW1 admin")
    seen.press("ctrl+k")
    seen.wait_for("Passphrase:")
    seen.type(PASSPHRASE)
    seen.press("enter")
    seen.wait_for("gone in")
    seen.press("esc")
    seen.wait_for("Find in the whole binder")
    seen.press("esc")
    seen.wait_for("Trace from")

    seen.press("c")
    seen.wait_for("in one line")
    seen.type("phone dead at the front desk; cord reseated")
    seen.press("enter")
    seen.wait_for("is closed")
    assert seen.strokes <= 12
    seen.press("ctrl+c")
    seen.wait_for_end()

    entry, touched = last_call(host)
    assert entry["summary"] == "phone dead at the front desk; cord reseated"
    assert entry["closed_at"] is not None
    assert touched["Priya Nandakumar"] == ("concerned",)
    assert touched["101-1:A"] == ("traced",)
    assert touched["SW1 admin password"] == ("revealed",)


def test_the_line_drops_in_the_middle_of_a_call_and_the_call_goes_on(host: Host) -> None:
    seen = host.session("osei", "quillmere")
    seen.wait_for("Quillmere Veterinary Clinic")
    seen.press("c")
    seen.wait_for("Who is calling?")
    seen.press("enter")
    seen.wait_for("call 00:")
    seen.press("j")
    seen.wait_for("Note on")
    seen.type("lamp is dark at the fro")
    seen.wait_for("at the fro")
    seen.kill()

    again = host.session("osei", "quillmere")
    again.wait_for("goes on")
    again.press("j")
    again.wait_for("lamp is dark at the fro")
    again.type("nt desk")
    again.press("enter")
    again.wait_for("noted on")
    again.kill()
    assert str(last_call(host)[0]["body"]).endswith("lamp is dark at the front desk")
