"""Each rule finds what is missing, and falls silent once it is mended.

What asks for a rule stands in the rule (`basis`); the ones below are the public specifications and
controls named there, and common practice where it says so.
"""

from __future__ import annotations

from collections.abc import Callable
from datetime import date
from typing import Any

import pytest

from binder.closeout import RULES, Gap, gaps
from binder.file import BinderFile

TODAY = date(2026, 3, 14)
Add = Callable[..., int]
Change = Callable[..., None]
IdOf = Callable[[str], int]


def of(binder: BinderFile, rule: str) -> dict[str, Gap]:
    """The gaps that a rule finds, by the name of the record."""
    return {gap.subject.name: gap for gap in gaps(binder, TODAY, rules=[rule]).gaps}


# A rule, the record that is made or changed so that the rule speaks, and what mends it.
SINGLE_FIELD: list[tuple[str, str, str, dict[str, Any], dict[str, Any]]] = [
    ("identifier-in-scheme", "rack", "closet rack",
     {"space": "1A", "height_u": 9}, {"identifier": "1A-R2"}),
    ("bad-port-explained", "port", "SW1:47",
     {"hardware": "SW1", "label": "47", "condition": "bad"},
     {"condition_reason": "bent contact, pin 4"}),
    ("link-described", "link", "1A-A20",
     {"port_a": "1A-A:04", "category": "6A"}, {"length_m": 31.0}),
    ("firestop-recorded", "firestop", "1-FSL01(2)", {"space": "1A"}, {"system": "C-AJ-0000"}),
    ("bonding-labelled", "bonding_conductor", "1A-RBC1",
     {"form": "rack bonding"}, {"warning_label": 1}),
    ("hardware-placed", "hardware", "SW7", {"form": "switch"}, {"space": "1A"}),
    ("hardware-serial", "hardware", "SW7", {"form": "switch", "space": "1A"}, {"serial": "S-7"}),
    ("hardware-owner", "hardware", "SW7", {"form": "switch", "space": "1A"}, {"owner": "client"}),
    ("hardware-powered", "hardware", "CAM7",
     {"form": "camera", "space": "121"}, {"poe_class": 3}),
    ("hardware-supported", "hardware", "SW7",
     {"form": "switch", "space": "1A", "support_ends_on": "2026-01-31"},
     {"support_ends_on": "2031-01-31"}),
    ("breaker-identified", "branch_circuit", "LP1-12",
     {"panel": "LP1", "breaker": "12"}, {"rating_a": 20.0}),
    ("default-login-gone", "account", "CAM7 / admin",
     {"system": "CAM7", "login": "admin", "form": "default"}, {"default_changed": 1}),
    ("account-second-factor", "account", "CAM7 / admin",
     {"system": "CAM7", "login": "admin", "second_factor_holder": "shop phone 2"},
     {"second_factor": "app code"}),
    ("contact-reachable", "contact", "Ann Marlow", {}, {"mobile_phone": "+1 312 555 0188"}),
    ("contact-verified", "contact", "Ann Marlow",
     {"verified_on": "2025-02-01"}, {"verified_on": "2026-03-01"}),
    ("record-verified", "key", "K-07", {"form": "key"}, {"verified_on": "2026-03-01"}),
    ("battery-age", "hardware", "UPS7",
     {"form": "UPS", "space": "1A", "battery_installed_on": "2020-01-01",
      "battery_life_years": 5.0},
     {"battery_installed_on": "2025-01-01"}),
    ("spare-there", "spare", "B-12-9", {"quantity": 0, "least_quantity": 1}, {"quantity": 1}),
    ("duty-done", "duty", "UPS battery test",
     {"rule": "FREQ=MONTHLY;INTERVAL=6", "starts_on": "2025-06-01", "done_on": "2025-06-02"},
     {"done_on": "2026-01-10"}),
    ("renewal-in-time", "renewal", "quillmere.example",
     {"form": "domain", "renews_on": "2026-03-01"}, {"renews_on": "2027-03-01"}),
    ("punch-item-closed", "punch_item", "P-0901",
     {"identifier": "P-0901", "description": "faceplate missing"}, {"closed_on": "2026-03-13"}),
    ("training-held", "training", "finding a dead outlet",
     {"required_for_acceptance": 1, "attendees": "Ann Marlow, front desk"},
     {"held_on": "2026-03-01"}),
    ("known-issue-reviewed", "known_issue", "guest wireless drops",
     {"accepted_by": "Ann Marlow", "review_by": "2026-02-01"}, {"review_by": "2026-09-01"}),
    ("secret-rotated", "secret", "SW7 password",
     {"belongs_to": "SW1", "rotate_by": "2026-02-01"}, {"rotate_by": "2027-02-01"}),
    ("account-custodian", "account", "CAM7 / admin",
     {"system": "CAM7", "login": "admin"}, {"custodian": "Priya Nandakumar"}),
    ("link-both-ends", "link", "1A-A20", {"port_a": "1A-A:04"}, {"port_b": "121-1:C"}),
    ("cable-abandoned-tagged", "link", "1A-A20",
     {"port_a": "1A-A:04", "status": "abandoned"}, {"tagged_for_use": 1}),
    ("circuit-demarc", "circuit", "voice",
     {"service": "voice", "demarc_space": "1E", "demarc_position": "left",
      "handoff_port": "ONT1:1"}, {"payer": "client"}),
]  # fmt: skip


_REFERS = {"space": "space", "custodian": "contact", "port_b": "port"}


@pytest.mark.parametrize(
    ("rule", "kind", "name", "made", "mended"), SINGLE_FIELD, ids=[row[0] for row in SINGLE_FIELD]
)
def test_a_rule_speaks_until_it_is_mended(
    closet: BinderFile, add: Add, change: Change, id_of: IdOf, rule: str, kind: str, name: str,
    made: dict[str, Any], mended: dict[str, Any],
) -> None:  # fmt: skip
    if mended.get("port_b"):
        add("port", hardware="121-1", label="C")
    named = {} if kind in ("port", "account", "punch_item") else {"identifier": name}
    add(kind, **(named | made))
    assert name in of(closet, rule)
    change(f"{kind} {name}", **{
        field: id_of(f"{_REFERS[field]} {value}") if field in _REFERS else value
        for field, value in mended.items()
    })  # fmt: skip
    called = mended.get("identifier", name)
    assert {name, called}.isdisjoint(of(closet, rule))


def test_what_is_planned_or_gone_is_no_gap(closet: BinderFile, add: Add) -> None:
    add("hardware", identifier="SW7", form="switch", space="1A", status="planned")
    add("hardware", identifier="SW8", form="switch", space="1A", status="removed")
    assert {"SW7", "SW8"}.isdisjoint(of(closet, "hardware-serial"))


@pytest.fixture
def untested(closet: BinderFile, add: Add) -> str:
    """A link with both ends that nobody tested."""
    add("port", hardware="121-1", label="B")
    add("link", identifier="1A-A05", port_a="1A-A:05", port_b="121-1:B", category="6A")
    return "1A-A05"


def test_a_link_is_tested_after_its_last_change_and_a_failure_followed(
    closet: BinderFile, add: Add, change: Change, untested: str
) -> None:
    add("instrument", identifier="TST-9", calibrated_on="2026-01-01",
        calibration_due_on="2027-01-01")  # fmt: skip
    assert "never tested" in of(closet, "link-tested")["1A-A05"].says
    tested = {"link": "1A-A05", "instrument": "TST-9"}
    failed = add("test", tested_on="2026-02-01", result="fail", **tested)
    assert "failed on 2026-02-01" in of(closet, "link-tested")["1A-A05"].says
    add("test", tested_on="2026-02-02", result="pass", follows=failed, **tested)
    assert "1A-A05" not in of(closet, "link-tested")
    change("link 1A-A05", changed_on="2026-02-20")
    assert "changed 2026-02-20" in of(closet, "link-tested")["1A-A05"].says


def test_a_failure_that_no_test_follows_stays_open_though_a_later_one_passed(
    closet: BinderFile, add: Add, untested: str
) -> None:
    failed = add("test", identifier="T-0901", link="1A-A05", tested_on="2026-02-01", result="fail")
    add("test", link="1A-A05", tested_on="2026-02-02", result="pass")
    assert set(of(closet, "failure-followed-up")) == {"T-0901"}
    add("test", link="1A-A05", tested_on="2026-02-03", result="pass", follows=failed)
    assert of(closet, "failure-followed-up") == {}


@pytest.mark.parametrize(
    ("day", "holds"),
    [("2025-12-31", False), ("2026-01-01", True), ("2027-01-01", True), ("2027-01-02", False)],
)
def test_a_result_counts_only_while_its_instrument_was_in_calibration(
    closet: BinderFile, add: Add, untested: str, day: str, holds: bool
) -> None:
    add("instrument", identifier="TST-9", calibrated_on="2026-01-01",
        calibration_due_on="2027-01-01")  # fmt: skip
    add("test", identifier="T-0901", link="1A-A05", tested_on=day, result="pass",
        instrument="TST-9")  # fmt: skip
    assert ("T-0901" in of(closet, "instrument-calibrated")) is not holds


def test_every_port_of_a_panel_is_accounted_for(
    closet: BinderFile, add: Add, change: Change
) -> None:
    add("port", hardware="1A-A", label="24")
    assert "1A-A:24" in of(closet, "port-accounted-for")
    change("1A-A:24", status="spare")
    assert "1A-A:24" not in of(closet, "port-accounted-for")


def test_one_serial_number_on_two_devices_is_told_of_both(closet: BinderFile, add: Add) -> None:
    add("hardware", identifier="SW7", form="switch", space="1A", serial="NV24P-004417")
    assert set(of(closet, "serial-unique")) == {"SW1", "SW7"}


def test_a_login_is_there_and_was_tried_within_a_year(
    closet: BinderFile, add: Add, change: Change
) -> None:
    add("hardware", identifier="SW7", form="switch", space="1A")
    assert of(closet, "login-tried")["SW7"].adds == "account"
    add("account", system="SW7", login="admin", hardware="SW7")
    assert "never tried" in of(closet, "login-tried")["SW7 / admin"].says
    change("account SW7 / admin", tried_on="2025-02-01")
    assert "2025-02-01" in of(closet, "login-tried")["SW7 / admin"].says
    change("account SW7 / admin", tried_on="2026-02-01")
    assert {"SW7", "SW7 / admin"}.isdisjoint(of(closet, "login-tried"))


def test_a_configuration_copy_is_newer_than_the_last_change(
    closet: BinderFile, add: Add, id_of: IdOf
) -> None:
    add("configuration_copy", hardware="SW1", taken_on="2026-01-10")
    assert "SW1" not in of(closet, "configuration-copied")
    entry = add("log_entry", opened_at="2026-02-01T10:00:00Z", form="change", summary="new VLAN")
    add("touch", log_entry=entry, subject=id_of("SW1"))
    gap = of(closet, "configuration-copied")["SW1"]
    assert (gap.adds, gap.severity) == ("configuration_copy", "must")


def test_who_left_holds_no_account_key_or_right_to_call(
    closet: BinderFile, add: Add, change: Change, id_of: IdOf
) -> None:
    ann = add("contact", identifier="Ann Marlow", mobile_phone="+1 312 555 0188")
    add("account", system="portal", login="ann", custodian=ann)
    add("key", identifier="K-07", form="key", holder=ann)
    add("authorised_caller", circuit=id_of("circuit fibre"), contact=ann)
    assert of(closet, "leaver-off-accounts") == {}
    change("contact Ann Marlow", left_on="2026-03-01")
    assert set(of(closet, "leaver-off-accounts")) == {"portal / ann", "K-07", "fibre / Ann Marlow"}


def test_a_circuit_holds_what_support_asks_for(closet: BinderFile, add: Add) -> None:
    add("circuit", identifier="voice", service="voice")
    says = [gap.says for gap in gaps(closet, TODAY, rules=["circuit-card"]).gaps
            if gap.subject.name == "voice"]  # fmt: skip
    assert says == [
        "voice: no provider", "voice: no circuit id", "voice: no account number",
        "voice: no service address", "voice: no number to call",
    ]  # fmt: skip
    assert of(closet, "circuit-caller")["voice"].adds == "authorised_caller"


def test_failover_is_tried_once_a_year(closet: BinderFile, change: Change, id_of: IdOf) -> None:
    change("circuit fibre", failover_partner=id_of("circuit cellular"))
    assert "never tried" in of(closet, "failover-tried")["fibre"].says
    change("circuit fibre", failover_tried_on="2026-01-01")
    assert of(closet, "failover-tried") == {}


def test_notice_is_given_in_time(closet: BinderFile, change: Change) -> None:
    change("circuit fibre", contract_ends_on="2026-04-30", notice_days=60)
    assert "notice was due 2026-03-01" in of(closet, "circuit-notice")["fibre"].says
    change("circuit fibre", contract_ends_on="2026-06-30")
    assert "fibre" not in of(closet, "circuit-notice")


def test_a_wall_rack_owes_its_anchors(closet: BinderFile, change: Change) -> None:
    assert "hangs on a wall" in of(closet, "rack-anchors")["1A-R1"].says
    change("rack 1A-R1", anchors=4, substrate="concrete")
    assert of(closet, "rack-anchors") == {}
    change("rack 1A-R1", substrate="unknown")
    assert "substrate" in of(closet, "rack-anchors")["1A-R1"].says


def test_a_marginal_pass_is_explained(
    closet: BinderFile, add: Add, change: Change, untested: str
) -> None:
    add("test", identifier="T-0901", link="1A-A05", tested_on="2026-02-01", result="marginal")
    assert set(of(closet, "marginal-test-explained")) == {"T-0901"}
    change("test T-0901", marginal_reason="over-length by design")
    assert of(closet, "marginal-test-explained") == {}


def test_what_we_answer_for_has_a_warranty(closet: BinderFile, add: Add, id_of: IdOf) -> None:
    gap = of(closet, "hardware-warranty")["SW1"]
    assert (gap.adds, gap.given) == ("warranty", {"covers": id_of("SW1"), "form": "maker"})
    add("warranty", identifier="SW1", form="maker", covers=id_of("SW1"), start_event="delivery")
    assert "SW1" not in of(closet, "hardware-warranty")


def test_the_clients_sheet_says_who_keeps_the_binder(closet: BinderFile, change: Change) -> None:
    fields = {gap.field for gap in gaps(closet, TODAY, rules=["client-sheet"]).gaps}
    assert {"keeper", "deputy_keeper"} <= fields
    change("client Quillmere Veterinary Clinic", keeper="R. Adeyemi")
    assert "keeper" not in {gap.field for gap in gaps(closet, TODAY, rules=["client-sheet"]).gaps}


def test_two_contacts_stand_in_the_order_of_escalation(closet: BinderFile, add: Add) -> None:
    for number, name in enumerate(("Ann Marlow", "Bea Quill"), 1):
        add("contact", identifier=name, mobile_phone="+1 312 555 0188", escalation=number)
    assert of(closet, "contact-deputy") == {}


def test_a_drawing_is_not_older_than_what_it_shows(
    closet: BinderFile, add: Add, id_of: IdOf
) -> None:
    add("attachment", identifier="front", form="photo", subject=id_of("1A-R1"),
        taken_on="2026-01-01")  # fmt: skip
    assert of(closet, "drawing-current") == {}
    entry = add("log_entry", opened_at="2026-02-01T10:00:00Z", form="change", summary="moved")
    add("touch", log_entry=entry, subject=id_of("1A-R1"))
    assert "changed 2026-02-01" in of(closet, "drawing-current")["front"].says


def test_a_copy_of_somebody_who_left_is_recalled(closet: BinderFile, add: Add) -> None:
    add("contact", identifier="Ann Marlow", status="former")
    add("copy", identifier="C9", holder="Ann Marlow", medium="file")
    assert set(of(closet, "copy-recalled")) == {"C9"}


def test_every_rule_says_why_how_and_what_asks_for_it() -> None:
    for rule in RULES.values():
        assert rule.why.endswith(".")
        assert rule.mend.endswith(".")
        assert rule.basis


@pytest.mark.parametrize("rule", RULES)
def test_every_rule_of_the_book_is_spoken_of_in_a_test(rule: str) -> None:
    source = __file__
    with open(source, encoding="utf-8") as file:
        assert f'"{rule}"' in file.read()
