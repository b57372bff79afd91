"""Hardware in trouble: what feeds it, what hangs on it, how to get in, who answers for it."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator
from datetime import date

from binder.engineering.cautions import BATTERIES, MAINS
from binder.errors import RequestError
from binder.impact import impact
from binder.read import Record
from binder.records.kinds.hardware import DRESSING, PASSIVE
from binder.trace import trace
from binder.trouble_facts import Block, Facts, State, Told, present
from binder.trouble_run import parts_told, uplink_told
from binder.upkeep import warranty_end

_CONFIGURED = ("switch", "gateway", "access point", "recorder", "door controller", "UPS")


def hardware_blocks(facts: Facts, hardware: Record) -> tuple[Block, ...]:
    """The page of a piece of hardware."""
    return (
        Block("Where it is", tuple(_where(facts, hardware))),
        Block("What feeds it", tuple(_fed(facts, hardware))),
        Block("How to get in", tuple(_login(facts, hardware))),
        Block("How it reaches the carrier", tuple(_way(facts, hardware))),
        Block("What hangs on it", tuple(_carries(facts, hardware))),
        Block("Who answers for it", tuple(_support(facts, hardware))),
    )


def _where(facts: Facts, hardware: Record) -> Iterator[Told]:
    told = [facts.shown(hardware, "form"), facts.shown(hardware, "description")]
    yield Told("It is", ", ".join(filter(None, told)), hardware.id)
    rack = hardware["rack"]
    if rack is not None:
        unit = f", U {hardware['u_position']}" if hardware["u_position"] else ""
        yield Told("In", f"{facts.name(rack)}{unit}", rack)
    elif hardware["space"] is not None:
        place = f", {hardware['place']}" if hardware["place"] else ""
        yield Told("In", f"{facts.name(hardware['space'])}{place}", hardware["space"])
    yield from facts.fields(hardware, "serial", "firmware")
    yield from facts.known_issues(hardware.id)


def _fed(facts: Facts, hardware: Record) -> Iterator[Told]:
    if hardware["form"] in (*PASSIVE, *DRESSING):
        return
    feeds = list(facts.feeds(hardware.id))
    yield from feeds
    if feeds:
        facts.caution(MAINS)
    if hardware["form"] == "UPS":
        facts.caution(BATTERIES)
        yield from facts.fields(hardware, "battery_installed_on", "battery_part")
    if not feeds:
        by_cable = f"PoE class {hardware['poe_class']}" if hardware["poe_class"] is not None else ""
        told = f"over the cabling, {by_cable}" if by_cable else "nothing is recorded"
        yield Told("Power", told, hardware.id, "" if by_cable else "warn")


def _way(facts: Facts, hardware: Record) -> Iterator[Told]:
    try:
        found = trace(facts.binder, hardware.id)
    except RequestError as error:  # nothing plugged in: that is what there is to tell
        yield Told("", str(error), hardware.id, "warn")
        return
    for channel in found.channels:
        yield from parts_told(facts, channel)
    for channel in found.uplinks:
        yield from uplink_told(facts, channel)
    yield from (Told("Break", text, state="bad") for text in found.breaks)
    for circuit in found.circuits:
        yield Told("Reaches", circuit.name, circuit.id, "good")


def _login(facts: Facts, hardware: Record) -> Iterator[Told]:
    yield from facts.fields(hardware, "management_address")
    accounts = facts.of("account", "t.hardware_id = ?", hardware.id)
    for account in accounts:
        told = [
            account["login"], facts.shown(account, "form"), facts.shown(account, "url"),
            f"second factor: {account['second_factor']}" if account["second_factor"] else "",
            f"tried {account['tried_on']}" if account["tried_on"] else "never tried",
        ]  # fmt: skip
        state: State = "" if account["tried_on"] else "warn"
        yield Told("Login", ", ".join(filter(None, told)), account.id, state)
    yield from facts.secrets(hardware.id, *(account.id for account in accounts))
    if hardware["form"] in _CONFIGURED:
        yield _configuration(facts, hardware)


def _configuration(facts: Facts, hardware: Record) -> Told:
    """The newest copy of its configuration, and whether it was changed since."""
    copies = facts.of(
        "configuration_copy", "t.hardware_id = ?", hardware.id, order_by="t.taken_on DESC LIMIT 1"
    )
    if not copies:
        return Told("Configuration", "no copy is recorded", hardware.id, "warn")
    copy = copies[0]
    told = [f"taken {copy['taken_on']}", facts.shown(copy, "file_name"),
            facts.shown(copy, "kept_at")]  # fmt: skip
    changed = facts.binder.connection.execute(
        "SELECT max(l.opened_at) FROM log_entry l JOIN touch t ON t.log_entry_id = l.id "
        "WHERE t.subject_id = ? AND l.form = 'change'",
        (hardware.id,),
    ).fetchone()[0]
    state: State = "good"
    if changed and changed[:10] > copy["taken_on"]:
        told.append(f"older than the change of {changed[:10]}")
        state = "warn"
    return Told("Configuration", ", ".join(filter(None, told)), copy.id, state)


def _carries(facts: Facts, hardware: Record) -> Iterator[Told]:
    if hardware["form"] in DRESSING or hardware["status"] != "installed":
        return
    lost = impact(facts.binder, hardware.id, today=facts.today)
    if lost.circuits_lost:
        left = ", ".join(lost.circuits_left) or "none is left"
        yield Told("Circuits lost", f"{', '.join(lost.circuits_lost)}; left: {left}", hardware.id)
    for loss, label in (("power", "Lose power"), ("data", "Lose data")):
        members = [one for one in lost.affected if one.loses == loss and one.id != hardware.id]
        forms = Counter(one.form or one.kind for one in members)
        counts = ", ".join(f"{form} {count}" for form, count in forms.most_common())
        names = ", ".join(one.name for one in members[:6]) + (" ..." if len(members) > 6 else "")
        if members:
            yield Told(label, f"{counts}: {names}", members[0].id)
    if not lost.affected:
        yield Told("Without it", "nothing recorded loses power or data", hardware.id)


def _support(facts: Facts, hardware: Record) -> Iterator[Told]:
    yield from facts.fields(hardware, "owner", "supplier", "support_ends_on")
    for warranty in facts.of("warranty", "t.covers_id = ?", hardware.id):
        ends = _end(warranty)
        until = f"until {ends.isoformat()}" if ends else "end not known"
        claims = ("claim_contact", "claim_phone", "registration")
        told = [warranty.name, until, *(facts.shown(warranty, name) for name in claims)]
        over = ends is not None and ends < facts.today
        yield Told("Warranty", ", ".join(filter(None, told)), warranty.id, "warn" if over else "")
    for spare in facts.of("spare", "t.fits_id = ?", hardware.id):
        told = [spare.name, f"{spare['quantity']} there", facts.shown(spare, "kept_at")]
        state: State = "" if spare["quantity"] else "warn"
        yield Told("Spare", ", ".join(filter(None, told)), spare.id, state)
    yield from present((facts.field(hardware, "notes"), facts.field(hardware, "internal_notes")))


def _end(warranty: Record) -> date | None:
    if not warranty["starts_on"] or not warranty["term_months"]:
        return None
    return warranty_end(date.fromisoformat(warranty["starts_on"]), warranty["term_months"])
