"""Typing that was not saved outlives the session, for the one who typed it and nobody else."""

from __future__ import annotations

import stat
from pathlib import Path
from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from binder.unsaved import Unsaved, drop, keep, kept, state_folder

CLOSET = "3f0c8c1e-9f2b-4a30-8f0e-000000000001"
# What JSON holds: RFC 8259.
JSON = st.recursive(
    st.none() | st.booleans() | st.integers(-(2**53), 2**53) | st.text(),
    lambda inner: st.lists(inner, max_size=4) | st.dictionaries(st.text(), inner, max_size=4),
    max_leaves=12,
)


@pytest.fixture(autouse=True)
def _state(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("XDG_STATE_HOME", str(tmp_path / "state"))


def note(text: str, who: str = "M. Osei", at: str = "2026-03-14T02:10:00Z") -> Unsaved:
    return Unsaved(CLOSET, who, "note", "L-0007", at, {"text": text})


def test_the_latest_typing_is_kept_and_found_again() -> None:
    keep(note("lamp is"))
    keep(note("lamp is dark"))
    assert kept(CLOSET, "M. Osei") == (note("lamp is dark"),)


def test_each_meets_only_their_own() -> None:
    keep(note("mine"))
    keep(note("theirs", who="K. Brandt"))
    assert [one.data["text"] for one in kept(CLOSET, "M. Osei")] == ["mine"]
    assert kept("another binder", "M. Osei") == ()


def test_what_was_saved_is_not_offered_again() -> None:
    keep(note("lamp"))
    drop(note(""))
    assert kept(CLOSET, "M. Osei") == ()
    drop(note(""))


def test_nobody_else_on_the_host_reads_it() -> None:
    keep(note("lamp"))
    files = [path for path in state_folder().rglob("*") if path.is_file()]
    assert [stat.S_IMODE(path.stat().st_mode) for path in files] == [0o600]


def test_a_damaged_file_is_set_aside_and_hides_nothing() -> None:
    keep(note("lamp"))
    keep(Unsaved(CLOSET, "M. Osei", "form", "New cord", "2026-03-14T02:11:00Z", {}))
    damaged = next(path for path in state_folder().rglob("*.unsaved"))
    damaged.write_text('{"binder_id": ')
    assert len(kept(CLOSET, "M. Osei")) == 1
    assert damaged.with_suffix(".damaged").exists()


@settings(suppress_health_check=[HealthCheck.function_scoped_fixture], max_examples=50)
@given(who=st.text(max_size=30), title=st.text(max_size=30), data=st.dictionaries(st.text(), JSON))
def test_any_name_and_any_typing_comes_back_as_it_was(
    who: str, title: str, data: dict[str, Any]
) -> None:
    one = Unsaved(CLOSET, who, "form", title, "2026-03-14T02:10:00Z", data)
    keep(one)
    assert one in kept(CLOSET, who)
    drop(one)
    assert one not in kept(CLOSET, who)
