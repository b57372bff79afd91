"""Is the circuit down: what to look at, whom to call, what carries over meanwhile."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import timedelta

from binder.engineering.cautions import LASERS, MAINS
from binder.engineering.optics import DESIGN_MARGIN_DB
from binder.errors import RequestError
from binder.impact import Impact, impact
from binder.read import Record, read, read_where
from binder.records.catalog import BY_NAME
from binder.trace import trace
from binder.trouble_facts import Block, Facts, State, Told, present

_POWER_READING = "received power dBm"
MOST_OUTAGES = 4


def circuit_blocks(facts: Facts, circuit: Record) -> tuple[Block, ...]:
    """The page of a circuit."""
    return (
        Block("Look, in this order", tuple(_looks(facts, circuit))),
        Block("Call the carrier", _carrier(facts, circuit)),
        Block("Who may call", tuple(_callers(facts, circuit))),
        Block("Meanwhile", tuple(_meanwhile(facts, circuit))),
        Block("Last outages", tuple(_outages(facts, circuit))),
    )


def _looks(facts: Facts, circuit: Record) -> Iterator[Told]:
    equipment = circuit["carrier_equipment"]
    for hardware_id in _powered(facts, circuit):
        name = facts.name(hardware_id)
        feeds = list(facts.feeds(hardware_id))
        for feed in feeds:
            yield Told(f"1 Power of {name}", feed.says, hardware_id)
        if not feeds:
            yield Told(f"1 Power of {name}", "what feeds it is not recorded", hardware_id, "warn")
        facts.caution(MAINS)
    if equipment is not None:
        notes = facts.shown(read(facts.binder, equipment), "notes")
        if notes:
            yield Told(f"1 Notes of {facts.name(equipment)}", notes, equipment)
    yield from _light(facts, circuit)
    yield from _handoff(facts, circuit)
    yield _bill(facts, circuit)
    yield from facts.known_issues(circuit.id, equipment)


def _powered(facts: Facts, circuit: Record) -> list[int]:
    """The carrier's equipment, then the device that takes the hand-off."""
    found = [circuit["carrier_equipment"]]
    if circuit["handoff_port"] is not None:
        found.append(read(facts.binder, circuit["handoff_port"])["hardware"])
        found += _takers(facts, circuit)
    return list(dict.fromkeys(one for one in found if one is not None))


def _takers(facts: Facts, circuit: Record) -> list[int]:
    try:
        channels = trace(facts.binder, circuit.id).channels
    except RequestError:  # nothing plugged into the hand-off: the line below says so
        return []
    ends = [hop for channel in channels for hop in channel.hops if not hop.is_passive]
    return [hop.hardware_id for hop in ends]


def _light(facts: Facts, circuit: Record) -> Iterator[Told]:
    """Received optical power in its window: the latest reading, else what the sheet says."""
    if circuit["optics"] in (None, "none") and circuit["received_dbm"] is None:
        return
    facts.caution(LASERS)
    value, when = circuit["received_dbm"], "on its sheet"
    subjects = (circuit.id, circuit["carrier_equipment"] or 0)
    readings = facts.of(
        "reading", "t.subject_id IN (?, ?) AND t.quantity = ?", *subjects, _POWER_READING,
        order_by="t.read_at DESC LIMIT 1",
    )  # fmt: skip
    if readings:
        value, when = readings[0]["value"], f"read {readings[0]['read_at'][:10]}"
    low, high = circuit["received_min_dbm"], circuit["received_max_dbm"]
    if value is None:
        yield Told("2 Light", "never measured", circuit.id, "warn")
        return
    window = f"; window {low:g} to {high:g} dBm" if None not in (low, high) else ""
    state: State = ""
    if low is not None and value < low:
        state, window = "bad", f"{window}: too little, call the carrier"
    elif high is not None and value > high:
        state, window = "bad", f"{window}: too much, the receiver is overloaded"
    elif low is not None and value < low + DESIGN_MARGIN_DB:
        state, window = "warn", f"{window}: {value - low:.1f} dB above the least"
    elif window:
        state = "good"
    yield Told("2 Light", f"{value:g} dBm {when}{window}", circuit.id, state)


def _handoff(facts: Facts, circuit: Record) -> Iterator[Told]:
    port = circuit["handoff_port"]
    if port is None:
        yield Told("3 Hand-off", "no port recorded", circuit.id, "warn")
        return
    record = read(facts.binder, port)
    far = facts.binder.connection.execute(
        "SELECT r.name, w.name FROM cord_end e JOIN record w ON w.id = e.cord_id "
        "LEFT JOIN record r ON r.id = e.far_port_id WHERE e.port_id = ?",
        (port,),
    ).fetchone()
    told = [record.name, facts.shown(circuit, "handoff_medium")]
    if circuit["handoff_vlan"]:
        told.append(f"VLAN {circuit['handoff_vlan']}")
    told.append(f"cord {far[1]} to {far[0] or 'nothing'}" if far else "no cord in it")
    state: State = "bad" if record["condition"] == "bad" else "" if far else "warn"
    if record["condition"] == "bad":
        told.append(f"marked bad: {record['condition_reason'] or 'no reason given'}")
    yield Told("3 Hand-off", ", ".join(filter(None, told)), port, state)


def _bill(facts: Facts, circuit: Record) -> Told:
    told = [
        f"account {circuit['account_number']}"
        if circuit["account_number"]
        else "no account number",
        f"paid by {circuit['payer']}" if circuit["payer"] else "payer not recorded",
    ]
    state: State = ""
    ends = circuit["contract_ends_on"]
    if ends:
        told.append(f"contract ends {ends}")
        if ends < facts.today.isoformat():
            state = "bad"
        elif ends < (facts.today + timedelta(days=circuit["notice_days"] or 0)).isoformat():
            state = "warn"
            told.append("within its notice")
    return Told("4 Is it a bill", ", ".join(told), circuit.id, state)


def _carrier(facts: Facts, circuit: Record) -> tuple[Told, ...]:
    return (
        *facts.fields(
            circuit, "support_phone", "support_phone_24h", "escalation_phone", "support_asks_for",
            "circuit_id", "account_number",
        ),
        *facts.secrets(circuit.id),
        *facts.fields(
            circuit, "line_number", "service_address", "provider", "underlying_carrier", "portal",
            "service_level",
        ),
        *present(
            facts.field(circuit, name)
            for name in ("demarc_space", "demarc_position", "demarc_tag", "extension_path")
        ),
    )  # fmt: skip


def _callers(facts: Facts, circuit: Record) -> Iterator[Told]:
    """Who the carrier knows, whom to call first at the head; who has left stands last."""
    known = "SELECT contact_id FROM authorised_caller WHERE circuit_id = ? AND status = 'current'"
    people = read_where(facts.binder, BY_NAME["contact"], f"t.id IN ({known})", (circuit.id,))
    here = [person for person in people if not _has_left(facts, person)]
    here.sort(key=lambda person: (person["escalation"] is None, person["escalation"], person.name))
    for person in here:
        check = person["identity_check"]
        told = f"{facts.reached(person)}; check: {check}" if check else facts.reached(person)
        yield Told("Authorised", told, person.id)
    if not here:
        yield Told("Authorised", "nobody who is still here", circuit.id, "warn")
    for person in people:
        if _has_left(facts, person):
            told = f"{person.name} has left: have the carrier take the name off"
            yield Told("Not any more", told, person.id, "warn")


def _has_left(facts: Facts, person: Record) -> bool:
    left = person["left_on"]
    return person["status"] == "former" or bool(left and left <= facts.today.isoformat())


def _meanwhile(facts: Facts, circuit: Record) -> Iterator[Told]:
    partner = circuit["failover_partner"]
    if partner is not None:
        other = read(facts.binder, partner)
        rates = " / ".join(facts.shown(other, n) for n in ("rate_down_mbps", "rate_up_mbps"))
        told = [other.name, facts.shown(other, "provider"), rates, facts.shown(other, "notes")]
        yield Told("Carries over", ", ".join(filter(None, told)), partner)
        yield from facts.fields(circuit, "diversity", "failover_tried_on")
    elif circuit["role"] == "primary":
        yield Told("Carries over", "nothing is recorded that does", circuit.id, "warn")
    if circuit["status"] == "installed":
        lost = impact(facts.binder, circuit.id, today=facts.today)
        yield Told("Without it", _lost(lost), circuit.id)
    else:
        yield Told("Without it", f"nothing: it is {circuit['status']}", circuit.id)


def _outages(facts: Facts, circuit: Record) -> Iterator[Told]:
    """The last incidents and outages that touched it or what the carrier put there."""
    rows = facts.binder.connection.execute(
        "SELECT l.id, l.opened_at, l.summary, l.outage_min, l.who FROM log_entry l "
        "WHERE (l.form = 'incident' OR l.outage_min > 0) AND l.status <> 'planned' AND l.id IN "
        "(SELECT log_entry_id FROM touch WHERE subject_id IN (?, ?, ?)) "
        "ORDER BY l.opened_at DESC LIMIT ?",
        (circuit.id, circuit["carrier_equipment"], circuit["handoff_port"], MOST_OUTAGES),
    )
    for entry_id, at, summary, outage_min, who in rows:
        told = [summary or "not closed yet", f"{outage_min:g} min out" if outage_min else "",
                who or ""]  # fmt: skip
        yield Told(at[:10], ", ".join(filter(None, told)), entry_id)


def _lost(lost: Impact) -> str:
    if lost.circuits_left:
        return f"the site still reaches {', '.join(lost.circuits_left)}"
    count = sum(one.loses == "data" for one in lost.affected)
    return f"no circuit is left; {count} devices and jacks lose data"
