"""A fault is most often where somebody was last: what changed here, and along the whole run.

Common practice, no published source.
"""

from __future__ import annotations

from collections.abc import Callable

from binder.file import BinderFile
from binder.lately import around, lately

IdOf = Callable[[str], int]


def test_a_change_of_the_switch_port_is_told_at_the_jack(
    closet: BinderFile, id_of: IdOf, change: Callable[..., None]
) -> None:
    change("SW1:01", vlan=30)
    assert lately(closet, id_of("114-1:A"))[0].says == "change SW1:01"


def test_a_change_elsewhere_is_not_told_here(
    closet: BinderFile, id_of: IdOf, change: Callable[..., None]
) -> None:
    change("121-1", notes="behind the cabinet")
    assert "change 121-1" not in [event.says for event in lately(closet, id_of("114-1:A"))]


def test_log_entries_that_touched_a_neighbour_are_told_and_mere_looks_are_not(
    closet: BinderFile, id_of: IdOf, add: Callable[..., int]
) -> None:
    for at, how in (("2026-03-01T08:00:00Z", "changed"), ("2026-03-02T08:00:00Z", "opened")):
        entry = add("log_entry", opened_at=at, form="visit", summary=f"{how} it", who="L. Fontaine")
        add("touch", log_entry=entry, subject=id_of("SW1"), how=how)
    told = [(event.says, event.who) for event in lately(closet, id_of("SW1:01"))]
    assert ("changed it", "L. Fontaine") in told
    assert ("opened it", "L. Fontaine") not in told


def test_the_newest_comes_first_and_no_more_than_asked(
    closet: BinderFile, id_of: IdOf, change: Callable[..., None]
) -> None:
    for vlan in (10, 20, 30):
        change("SW1:01", vlan=vlan)
    events = lately(closet, id_of("SW1:01"), most=2)
    assert len(events) == 2
    assert [event.at for event in events] == sorted((event.at for event in events), reverse=True)


def test_a_port_without_a_cable_hangs_together_with_its_hardware(
    closet: BinderFile, id_of: IdOf, add: Callable[..., int]
) -> None:
    port = add("port", hardware="SW1", label="48")
    assert {port, id_of("SW1")} <= around(closet, port)


def test_a_test_of_the_link_is_told_at_the_jack(
    closet: BinderFile, id_of: IdOf, add: Callable[..., int]
) -> None:
    add("test", link="1A-A01", tested_on="2026-03-09", result="fail", tested_by="M. Osei")
    told = [(event.what, event.says, event.who) for event in lately(closet, id_of("114-1:A"))]
    assert ("test", "tested 1A-A01: fail", "M. Osei") in told


def test_the_newest_reading_of_what_is_on_the_way_is_told_unless_it_was_corrected(
    closet: BinderFile, id_of: IdOf, add: Callable[..., int]
) -> None:
    of = {"subject": id_of("SW1"), "quantity": "PoE draw W"}
    add("reading", value=90.0, read_at="2026-03-01T08:00:00Z", **of)
    right = add("reading", value=95.5, read_at="2026-03-02T08:00:00Z", **of)
    add("reading", identifier="R-0900", value=955.0, read_at="2026-03-03T08:00:00Z", **of)
    add("reading", value=95.5, read_at="2026-03-03T08:00:00Z", corrects="R-0900", **of)
    told = [event for event in lately(closet, id_of("114-1:A")) if event.what == "reading"]
    assert [event.says for event in told] == ["read SW1: PoE draw W 95.5"]
    assert told[0].id != right


def test_what_feeds_a_switch_belongs_to_it(
    closet: BinderFile, id_of: IdOf, add: Callable[..., int]
) -> None:
    ups = add("hardware", identifier="UPS1", form="UPS", space="1A")
    add("inlet", hardware="SW1", label="PS1", fed_by="UPS1")
    assert ups in around(closet, id_of("SW1"))
