"""Trouble pages: what a technician looks at, in order, while the client waits on the phone.

The order of looking is common practice, no published source; what a circuit's card must hold is in
public closeout specifications (WSU-CGS 27 05 00 and the TIA-606 records, values from memory).
"""

from __future__ import annotations

from collections.abc import Callable
from datetime import date

import pytest

from binder.errors import RequestError
from binder.file import BinderFile
from binder.trouble import ASKED_THROUGH, TROUBLED, Block, Told, Trouble, circuits_of, trouble
from binder.trouble_words import trouble_lines
from tui.app import kind_words

TODAY = date(2026, 3, 14)
IdOf = Callable[[str], int]
Change = Callable[..., None]
Add = Callable[..., int]


def lines(page: Trouble, title: str) -> list[Told]:
    return [told for block in page.blocks if block.title == title for told in block.lines]


def line(page: Trouble, title: str, label: str) -> Told:
    return next(told for told in lines(page, title) if told.label == label)


LOOK = "Look, in this order"


def test_a_circuit_is_looked_at_from_power_to_the_bill(closet: BinderFile, id_of: IdOf) -> None:
    page = trouble(closet, id_of("circuit fibre"), today=TODAY)
    labels = [told.label for told in lines(page, LOOK)]
    assert labels[0].startswith("1 Power of ONT1")
    assert labels.index("3 Hand-off") < labels.index("4 Is it a bill")


@pytest.mark.parametrize("status", ["planned", "abandoned", "removed"])
def test_a_circuit_that_is_not_in_service_has_a_page_that_says_so(
    closet: BinderFile, id_of: IdOf, change: Change, status: str
) -> None:
    change("circuit cellular", status=status)
    page = trouble(closet, id_of("circuit cellular"), today=TODAY)
    assert line(page, "Meanwhile", "Without it").says == f"nothing: it is {status}"


@pytest.mark.parametrize(
    ("received", "state"),
    # GPON class B+ receives from -27 to -8 dBm (ITU-T G.984.2 Amendment 1, table of class B+).
    [(-28.0, "bad"), (-25.0, "warn"), (-20.0, "good"), (-6.0, "bad")],
)
def test_light_is_told_against_its_window(
    closet: BinderFile, id_of: IdOf, change: Change, received: float, state: str
) -> None:
    change("circuit fibre", optics="GPON B+", received_dbm=received,
           received_min_dbm=-27.0, received_max_dbm=-8.0)  # fmt: skip
    page = trouble(closet, id_of("circuit fibre"), today=TODAY)
    assert line(page, LOOK, "2 Light").state == state
    assert any("Never look into" in caution for caution in page.cautions)


def test_a_reading_is_newer_than_the_sheet(
    closet: BinderFile, id_of: IdOf, change: Change, add: Add
) -> None:
    change("circuit fibre", optics="GPON B+", received_dbm=-20.0, received_min_dbm=-27.0)
    add("reading", subject=id_of("circuit fibre"), quantity="received power dBm", value=-27.6,
        read_at="2026-03-13T08:00:00Z")  # fmt: skip
    page = trouble(closet, id_of("circuit fibre"), today=TODAY)
    assert line(page, LOOK, "2 Light").state == "bad"
    assert "-27.6 dBm read 2026-03-13" in line(page, LOOK, "2 Light").says


def test_a_contract_that_has_ended_may_be_why(
    closet: BinderFile, id_of: IdOf, change: Change
) -> None:
    change("circuit fibre", contract_ends_on="2026-03-01", notice_days=30)
    page = trouble(closet, id_of("circuit fibre"), today=TODAY)
    assert line(page, LOOK, "4 Is it a bill").state == "bad"


def test_support_asks_and_is_answered_but_no_secret_is_told(
    closet: BinderFile, id_of: IdOf, change: Change, add: Add
) -> None:
    change("circuit fibre", circuit_id="LKF-2203", account_number="4410-2287",
           support_phone="+1 312 555 0160")  # fmt: skip
    add("secret", identifier="fibre account PIN", form="PIN", belongs_to=id_of("circuit fibre"),
        kept_by="Priya Nandakumar")  # fmt: skip
    page = trouble(closet, id_of("circuit fibre"), today=TODAY)
    told = {one.label: one.says for one in lines(page, "Call the carrier")}
    assert (told["Circuit ID"], told["Account number"]) == ("LKF-2203", "4410-2287")
    assert told["PIN"] == "fibre account PIN, kept by Priya Nandakumar"


def test_what_carries_over_is_told_and_that_nothing_does(
    closet: BinderFile, id_of: IdOf, change: Change
) -> None:
    change("circuit fibre", failover_partner=id_of("circuit cellular"))
    page = trouble(closet, id_of("circuit fibre"), today=TODAY)
    assert line(page, "Meanwhile", "Carries over").id == id_of("circuit cellular")
    change("circuit fibre", failover_partner=None)
    page = trouble(closet, id_of("circuit fibre"), today=TODAY)
    assert line(page, "Meanwhile", "Carries over").state == "warn"


def test_who_may_call_has_a_number_beside_the_name(
    closet: BinderFile, id_of: IdOf, add: Add
) -> None:
    ann = add("contact", identifier="Ann Marlow", mobile_phone="+1 312 555 0188")
    add("authorised_caller", circuit=id_of("circuit fibre"), contact=ann)
    page = trouble(closet, id_of("circuit fibre"), today=TODAY)
    assert any("+1 312 555 0188" in told.says for told in lines(page, "Who may call"))


def test_who_has_left_is_not_given_as_a_caller(closet: BinderFile, id_of: IdOf, add: Add) -> None:
    """An old name on the carrier's list is how a stranger gets in; common practice."""
    for name, values in (
        ("Ann Marlow", {"escalation": 2, "identity_check": "call back on the office line"}),
        ("Bo Ash", {"escalation": 1}),
        ("Cy Dole", {"left_on": "2026-01-31", "mobile_phone": "+1 312 555 0177"}),
    ):
        contact = add("contact", identifier=name, **values)
        add("authorised_caller", circuit=id_of("circuit fibre"), contact=contact)
    page = trouble(closet, id_of("circuit fibre"), today=TODAY)
    told = [(one.label, one.says.split(",")[0].split(";")[0])
            for one in lines(page, "Who may call") if one.says.split()[0] in ("Ann", "Bo", "Cy")
            ]  # fmt: skip
    assert told == [
        ("Authorised", "Bo Ash"),
        ("Authorised", "Ann Marlow"),
        ("Not any more", "Cy Dole has left: have the carrier take the name off"),
    ]
    assert "check: call back on the office line" in str(lines(page, "Who may call"))
    assert "555 0177" not in str(page)


def test_the_last_outages_of_a_circuit_are_those_of_the_carriers_equipment_too(
    closet: BinderFile, id_of: IdOf, add: Add
) -> None:
    for subject, form, outage_min in (("ONT1", "incident", 40), ("SW1", "incident", 5),
                                      ("ONT1", "visit", None)):  # fmt: skip
        entry = add("log_entry", opened_at="2026-02-01T10:00:00Z", form=form,
                    summary=f"{form} {subject}", outage_min=outage_min)  # fmt: skip
        add("touch", log_entry=entry, subject=id_of(subject))
    page = trouble(closet, id_of("circuit fibre"), today=TODAY)
    assert [told.says for told in lines(page, "Last outages")] == ["incident ONT1, 40 min out"]


def test_what_was_noted_of_the_lamps_stands_beside_the_power(
    closet: BinderFile, id_of: IdOf, change: Change
) -> None:
    change("ONT1", notes="optical lamp steady green when well")
    page = trouble(closet, id_of("circuit fibre"), today=TODAY)
    assert line(page, LOOK, "1 Notes of ONT1").says == "optical lamp steady green when well"


def test_hardware_is_followed_to_its_breaker(closet: BinderFile, id_of: IdOf, add: Add) -> None:
    add("branch_circuit", identifier="LP1-12", space="1A", rating_a=20.0)
    add("hardware", identifier="UPS1", form="UPS", space="1A")
    add("inlet", hardware="UPS1", label="IN", branch_circuit="LP1-12")
    add("inlet", hardware="SW1", label="PS1", fed_by="UPS1", outlet="3")
    page = trouble(closet, id_of("SW1"), today=TODAY)
    power = line(page, "What feeds it", "Power")
    assert power.says == "PS1 < UPS1 outlet 3 < breaker LP1-12 in 1A"
    assert any("licensed or qualified" in caution for caution in page.cautions)


def test_feeds_that_run_in_a_ring_end(closet: BinderFile, id_of: IdOf, add: Add) -> None:
    for name in ("UPS1", "UPS2"):
        add("hardware", identifier=name, form="UPS", space="1A")
    add("inlet", hardware="UPS1", label="IN", fed_by="UPS2")
    add("inlet", hardware="UPS2", label="IN", fed_by="UPS1")
    page = trouble(closet, id_of("UPS1"), today=TODAY)
    assert "a ring" in line(page, "What feeds it", "Power").says


def test_a_configuration_copy_older_than_the_last_change_is_doubtful(
    closet: BinderFile, id_of: IdOf, add: Add
) -> None:
    assert line(trouble(closet, id_of("SW1"), today=TODAY), "How to get in",
                "Configuration").state == "warn"  # fmt: skip
    add("configuration_copy", hardware="SW1", taken_on="2026-01-10", kept_at="shop safe")
    page = trouble(closet, id_of("SW1"), today=TODAY)
    assert line(page, "How to get in", "Configuration").state == "good"
    entry = add("log_entry", opened_at="2026-02-01T10:00:00Z", form="change", summary="new VLAN")
    add("touch", log_entry=entry, subject=id_of("SW1"))
    page = trouble(closet, id_of("SW1"), today=TODAY)
    told = line(page, "How to get in", "Configuration")
    assert told.state == "warn"
    assert "older than the change of 2026-02-01" in told.says


def test_a_space_tells_hazards_first_then_keys_and_breakers(
    closet: BinderFile, id_of: IdOf, change: Change, add: Add
) -> None:
    change("space 1A", hazards="low beam", access_hours="any time")
    add("branch_circuit", identifier="LP1-12", space="1A", rating_a=20.0)
    add("key", identifier="K-01", form="key", space="1A")
    page = trouble(closet, id_of("space 1A"), today=TODAY)
    titles = [block.title for block in page.blocks]
    assert titles[:4] == ["Mind", "Getting in", "Power", "What is in it"]
    assert lines(page, "Mind")[0].says == "low beam"
    assert [told.label for told in lines(page, "Getting in")] == ["Access hours", "Key"]
    assert "SW1, switch" in line(page, "What is in it", "U 16").says


def test_a_building_tells_each_of_its_telecommunications_spaces(
    closet: BinderFile, id_of: IdOf
) -> None:
    page = trouble(closet, id_of("building B1"), today=TODAY)
    titles = [block.title for block in page.blocks]
    assert "1A Back hall" in titles
    assert "1E Entrance" in titles


def test_a_jack_is_told_as_the_run_it_is_part_of(
    closet: BinderFile, id_of: IdOf, change: Change
) -> None:
    change("SW1:01", condition="bad", condition_reason="bent contact, pin 4")
    page = trouble(closet, id_of("114-1:A"), today=TODAY)
    bad = [told for told in lines(page, LOOK) if told.state == "bad"]
    assert [told.id for told in bad] == [id_of("SW1:01")]
    assert "bent contact, pin 4" in bad[0].says
    assert {"PH1:1", "1A-A:01"} <= {told.says.split(",")[0] for told in lines(page, LOOK)}


def test_a_jack_is_looked_at_lamps_first_and_on_to_the_carrier(
    closet: BinderFile, id_of: IdOf, change: Change, add: Add
) -> None:
    change("PH1", poe_class=2)
    add("branch_circuit", identifier="LP1-12", space="1A", rating_a=20.0)
    add("inlet", hardware="SW1", label="PS1", branch_circuit="LP1-12")
    page = trouble(closet, id_of("114-1:A"), today=TODAY)
    assert lines(page, LOOK)[0].says.startswith("lit at PH1:1 and SW1:01?")
    assert line(page, LOOK, "PoE").says == "PH1 draws class 2; SW1:01 offers type 2"
    assert line(page, "What feeds the far end", "Power of SW1").says == (
        "PS1 < breaker LP1-12 in 1A"
    )
    assert "SW1:09" in line(page, "On from there", "Uplink").says
    change("SW1:01", poe_type="none")
    page = trouble(closet, id_of("114-1:A"), today=TODAY)
    assert line(page, LOOK, "PoE").state == "warn"


def test_which_circuit_is_down_is_asked_primary_first(closet: BinderFile, change: Change) -> None:
    change("circuit fibre", role="primary")
    change("circuit cellular", role="backup")
    assert [circuit.name for circuit in circuits_of(closet)] == ["fibre", "cellular"]


def test_what_comes_into_the_callers_building_is_asked_first(
    closet: BinderFile, id_of: IdOf, change: Change, add: Add
) -> None:
    add("building", identifier="B9")
    add("space", identifier="9E", building="B9", form="entrance facility")
    tom = add("contact", identifier="Tom Ray")
    change("circuit fibre", role="primary")
    change("circuit cellular", role="backup", demarc_space=id_of("9E"))
    assert [circuit.name for circuit in circuits_of(closet, tom)] == ["fibre", "cellular"]
    add("key", identifier="K-09", form="key", space="9E", holder="Tom Ray")
    assert [circuit.name for circuit in circuits_of(closet, tom)] == ["cellular", "fibre"]


def test_a_telephone_number_never_comes_apart_at_the_end_of_a_line() -> None:
    told = Told("Key", "Tom Ray, kennels, mobile +1 312 555 0106, office +1 312 555 0105")
    page = Trouble(1, "space", "1K", (Block("Getting in", (told,)),), ())
    for width in range(30, 80):
        text = "\n".join(trouble_lines(page, width))
        assert "+1 312 555 0106" in text
        assert "+1 312 555 0105" in text


def test_there_is_no_page_of_a_contact_but_of_their_circuits(
    closet: BinderFile, change: Change, add: Add
) -> None:
    change("circuit fibre", role="primary")
    change("circuit cellular", role="backup")
    ann = add("contact", identifier="Ann Marlow")
    with pytest.raises(RequestError, match="ask for 'circuit fibre' or 'circuit cellular'"):
        trouble(closet, ann, today=TODAY)


def test_every_page_fits_a_narrow_terminal(closet: BinderFile) -> None:
    rows = closet.connection.execute("SELECT id, kind FROM record").fetchall()
    pages = [trouble(closet, row[0], today=TODAY) for row in rows
             if row[1] in TROUBLED and row[1] not in (*ASKED_THROUGH, "address")]  # fmt: skip
    assert len(pages) > 40
    assert max(len(text) for page in pages for text in trouble_lines(page)) <= 80


def test_the_app_offers_the_page_where_there_is_one() -> None:
    assert set(kind_words.TROUBLED) == set(TROUBLED)


def test_the_page_of_a_paper_is_that_of_what_it_is_about(
    closet: BinderFile, id_of: IdOf, add: Add
) -> None:
    account = add("account", system="SW1", login="night", hardware="SW1")
    secret = add("secret", identifier="SW1 night password", belongs_to=account)
    assert trouble(closet, secret, today=TODAY).id == id_of("SW1")
