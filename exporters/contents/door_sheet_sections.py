"""The sections of the door sheet, in the order a technician needs them at two in the morning.

Contents and order are common practice, no published source. Whoever opens the door reads it, so it
tells no secret and no PIN but the number of its envelope, no management address, nothing internal,
never how callers are checked, an account number only where a PIN is asked for beside it, and of
people's notes only a line of the carrier equipment's that begins 'Lamps'.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from datetime import date
from typing import Final

from dateutil.relativedelta import relativedelta

from binder.elevation import Block as Stretch
from binder.elevation import Mounted, Reserved
from binder.headroom.battery import LIFE
from binder.identifiers import NaturalKey, natural_key
from binder.read import Record
from binder.records.kinds.hardware import DRESSING
from binder.trouble_words import whole_numbers
from exporters.contents import one_page
from exporters.contents.door_sheet_limits import Limits, one_line, short, some
from exporters.contents.parts import joined
from exporters.contents.places import room_name, title_of
from exporters.documents import Asked
from exporters.model import Block, Cell, Facts, Section, Steps, Table
from exporters.source import Source

MOST_CIRCUITS: Final = 3  # the others are on their cards in the binder
_WHOLE_ID: Final = 40  # letters of a circuit ID that are never cut
_CHAIN: Final = ("carrier equipment", "modem", "media converter", "gateway", "switch")
_COMPUTERS: Final = ("server", "storage", "recorder")


class Sheet:
    """All sections of a rack's sheet but the lines to write in, within some limits."""

    def __init__(self, asked: Asked, rack: Record | None, limits: Limits) -> None:
        self.asked = asked
        self.source = asked.source
        self.rack = rack
        self.space = self.source.get(rack["space"]) if rack else None
        self.limits = limits
        self.circuits = _in_use(self.source)
        # from the demarc to the access switches, stage by stage
        stages = (
            tuple(item.id for item in stage if item.form in _CHAIN)
            for stage in self.source.order.stages
        )
        self.chain = tuple(stage for stage in stages if stage)
        self.chained = {one: n for n, stage in enumerate(self.chain, start=1) for one in stage}

    def sections(self) -> tuple[Section, ...]:
        return (
            Section("site", "Site", (self._site(),)),
            Section("stop-and-look", "Stop and look", (self._stop(),)),
            Section("who-to-call", "Who to call, in this order", tuple(self._people())),
            Section("circuits", "Internet and voice circuits", (self._circuits(),)),
            Section("am-i-down", "Is it down?", tuple(self._looks())),
            Section("power", "Power", (self._power(),)),
            Section("rack", f"{self.name(self.rack) or 'Rack'}, front", tuple(self._elevation())),
            Section("critical-lines", "Critical lines", (self._critical(),)),
            Section("where", "Where things are", (self._where(),)),
        )

    # What several sections tell. ----------------------------------------------------------

    def told(self, record: Record | None, field: str) -> str:
        return short(self.source.shown(record, field), self.limits.text)

    def mind(self, record: Record | None, field: str) -> str:
        return short(self.source.shown(record, field), self.limits.mind)

    def name(self, what: Record | int | None) -> str:
        return one_line(self.source.name(what), self.limits.name)

    def names(self, ids: Iterable[int]) -> str:
        every = [self.name(one) for one in ids]
        kept = list(every)
        while len(kept) > 1 and len(", ".join(kept)) > self.limits.names:
            kept.pop()
        more = len(every) - len(kept)
        return ", ".join(kept) + (f" and {more} more" if more else "")

    def _is_in_rack(self, hardware_id: int) -> bool:
        hardware = self.source.get(hardware_id)
        return bool(hardware and self.rack and hardware["rack"] == self.rack.id)

    def _chain_first(self, hardware_id: int) -> tuple[bool, NaturalKey]:
        return hardware_id not in self.chained, natural_key(self.source.name(hardware_id))

    # Site, dangers, people. ---------------------------------------------------------------

    def _site(self) -> Facts:
        client = self.source.client
        address = next(
            (text for c in self.circuits if (text := self.told(c, "service_address"))),
            self.told(client, "address"),
        )
        room = title_of(self.source, self.space) if self.space else ""
        months = (client and client["verify_months"]) or 12
        until = date.fromisoformat(self.asked.dated) + relativedelta(months=months)
        return Facts((
            ("Address, as the carrier has it", address or "not recorded"),
            ("Room", short(room, self.limits.text) or "not recorded"),
            ("Replace after", f"{until}, or when anything here changes. "
                              f"Where it says '{one_page.CUT}' or 'more', the binder has the rest"),
        ))  # fmt: skip

    def _stop(self) -> Facts:
        rows: list[tuple[str, Cell]] = [
            ("Smoke, fire, water", "get people out, call for help"),
            ("Never", "touch mains wiring; look into a fibre's end"),
        ]
        for label, field in (("Here", "hazards"), ("Shut-offs", "shut_offs")):
            if text := self.mind(self.space, field):
                rows.append((label, text))
        high = [h.id for h in self.source.of("hardware") if h["criticality"] == "high"]
        high.sort(key=self._chain_first)
        rows.append(("Do not unplug", joined(self.names(high), "what 8 names", by="; ")))
        branches = self._branches()
        breakers = some(map(self._breaker, branches), self.limits.breakers)
        if branches and not any(branch["generator_backed"] for branch in branches):
            breakers.append("none of them on a generator")
        rows.append(("Breakers", "; ".join(breakers) or "not recorded"))
        return Facts(tuple(rows))

    def _branches(self) -> list[Record]:
        """The branch circuits of this room, of this rack and of the chain."""
        return [
            branch
            for branch in self.source.of("branch_circuit")
            if (self.space is not None and branch["space"] == self.space.id)
            or self._feeds_chain(self._hung(branch))
        ]

    def _hung(self, branch: Record) -> list[int]:
        inlets = self.source.belonging("inlet", "branch_circuit").get(branch.id, ())
        return list(dict.fromkeys(inlet["hardware"] for inlet in inlets))

    def _breaker(self, branch: Record) -> str:
        generator = " (generator)" if branch["generator_backed"] else ""
        feeds = self.names(self._hung(branch)) or "nothing recorded"
        return f"{self.name(branch)}{generator} feeds {feeds}"

    def _feeds_chain(self, hung: Iterable[int]) -> bool:
        below = {each.battery.id: each.ids for each in self.source.outages.carried}
        return any(
            self._is_in_rack(one) or not self.chained.keys().isdisjoint({one, *below.get(one, ())})
            for one in hung
        )

    def _people(self) -> Iterator[Block]:
        source, client = self.source, self.source.client
        called = [c for c in source.of("contact") if c["escalation"] is not None and _is_here(c)]
        called.sort(key=lambda c: c["escalation"])
        texts = ["The carrier, when its line lamp is dark or red: see 4"] if self.circuits else []
        if integrator := source.shown(client, "integrator_phone"):
            desk = [self.name(c) for c in called if _phone(source, c) == integrator]
            called = [c for c in called if _phone(source, c) != integrator]
            people = f" ({', '.join(some(desk, self.limits.callers))})" if desk else ""
            firm = self.told(client, "integrator") or "The integrator"
            texts.append(f"{firm}, at any hour: {whole_numbers(integrator)}{people}")
        texts += some(map(self._person, called), self.limits.people)
        yield Steps(tuple(texts)) if texts else Facts((("Nobody", "is recorded"),))
        yield Facts((
            ("Who is calling", "ask for the identity phrase, never say it first; call back on a "
                               "number printed here"),
            ("Telephones down", "use a mobile telephone, off the Wi-Fi"),
        ))  # fmt: skip

    def _person(self, contact: Record) -> str:
        approves = self.told(contact, "may_approve")
        who = joined(self.name(contact), self.told(contact, "role"))
        may = f"; may approve: {approves}" if approves else ""
        return f"{who}: {whole_numbers(_phone(self.source, contact)) or 'no number'}{may}"

    # Circuits, and what to look at. -------------------------------------------------------

    def _circuits(self) -> Facts:
        rows: list[tuple[str, Cell]] = []
        for circuit in self.circuits[:MOST_CIRCUITS]:
            label = joined(self.name(circuit), self.told(circuit, "role"))
            rows.append((label, "; ".join(self._circuit(circuit))))
        more = len(self.circuits) - MOST_CIRCUITS
        if more > 0:
            rows.append((f"And {more} more", "see the circuit cards in the binder"))
        return Facts(tuple(rows) or (("Circuits", "none recorded"),))

    def _circuit(self, circuit: Record) -> Iterator[str]:
        source = self.source
        phones = ("support_phone_24h", "support_phone")
        phone = next((told for n in phones if (told := source.shown(circuit, n))), "no number")
        yield f"{self.told(circuit, 'provider') or 'provider not recorded'}, {whole_numbers(phone)}"
        identity = short(source.shown(circuit, "circuit_id"), max(_WHOLE_ID, self.limits.text))
        yield f"circuit ID {identity or 'not recorded'}"
        secrets = source.belonging("secret", "belongs_to").get(circuit.id, ())
        pins = [secret for secret in secrets if secret["form"] == "PIN"]
        if pins and (account := self.told(circuit, "account_number")):
            yield f"account {account}"
        tag = self.told(circuit, "demarc_tag")
        position = self.told(circuit, "demarc_position")
        demarc = joined(self.name(circuit["demarc_space"]), position, f"tag {tag}" if tag else "")
        yield f"demarc {demarc or 'not recorded'}"
        if pins:
            yield f"PIN: {self._kept(pins[0])}"
        callers = source.belonging("authorised_caller", "circuit").get(circuit.id, ())
        people = [source.get(caller["contact"]) for caller in callers]
        may = [self.name(person) for person in people if person is not None and _is_here(person)]
        yield f"may call: {', '.join(some(may, self.limits.callers)) or 'nobody recorded'}"

    def _kept(self, secret: Record) -> str:
        if secret["envelope_number"]:
            return f"envelope {secret['envelope_number']}"
        keeper = self.told(secret, "kept_by")
        return f"kept by {keeper}" if keeper else "ask the integrator"

    def _looks(self) -> Iterator[Block]:
        """Three lamps, then three trials; then whether it is the bill."""
        first = self.circuits[0] if self.circuits else None
        entry = self.source.get(first["carrier_equipment"]) if first else None
        carrier = self.name(entry) or "the carrier's equipment"
        where = joined(
            carrier, one_line(room_name(self.source, entry), self.limits.name), by=", in "
        )
        lamps = short(_lamps(self.source, entry), self.limits.mind)
        yield Steps((
            f"Power lamps: {where}; then the rack. Dark: see 6",
            f"Line lamp of {carrier} dark or red: call the carrier." + (lamps and f" {lamps}"),
            "Link lamps along the chain in 7: dark, see to the cord",
            "One room or all? Try a wired computer in another",
            "Telephones too? Call out from a desk telephone",
            self._backup(first),
        ))  # fmt: skip
        payer = self.told(first, "payer")
        bill = f"paid by {payer}" if payer else "who pays is not recorded"
        yield Facts((("A bill", f"ask the carrier; {bill}"),))

    def _backup(self, circuit: Record | None) -> str:
        partner = self.source.get(circuit["failover_partner"]) if circuit else None
        if partner is None:
            return "Backup: none is recorded"
        device = self.name(partner["carrier_equipment"])
        told = (self.name(partner), self.told(partner, "rate_down_mbps"),
                f"lamps of {device}" if device else "")  # fmt: skip
        return f"Backup carrying? {joined(*told)}: then slow, not down"

    # Power. -------------------------------------------------------------------------------

    def _power(self) -> Facts:
        due = {
            row.where.id: row.outlook.runs_out_on or ""
            for row in self.source.headroom.rows
            if row.resource == LIFE and row.outlook is not None
        }
        carried = sorted(
            self.source.outages.carried,
            key=lambda each: (
                (due.get(each.battery.id) or "9999") >= self.asked.dated,  # the overdue first
                not self._is_in_rack(each.battery.id),
                self.name(each.battery.id),
            ),
        )
        rows: list[tuple[str, Cell]] = []
        for each in carried[: max(2, self.limits.stages // 2)]:
            battery = each.battery
            lasts = "minutes not known"
            if battery.minutes is not None:
                lasts = joined("reckoned", battery.bound, f"{battery.minutes:.0f} min", by=" ")
                lasts += f" at {battery.load_w:.0f} W" if battery.load_w is not None else ""
            carries = self.names(sorted(each.ids, key=self._chain_first)) or "nothing recorded"
            until = self._battery(due.get(battery.id, ""))
            rows.append((self.name(battery.id), f"{lasts}; {until}; carries {carries}"))
        if len(carried) > len(rows):
            rows.append(("And", f"{len(carried) - len(rows)} more UPS"))
        dark = self.names(sorted(self.source.outages.dark, key=self._chain_first))
        rows.append(("Dark at once", dark or "nothing that is recorded"))
        return Facts((*rows, *self._orders()))

    def _battery(self, until: str) -> str:
        if not until:
            return "battery: no replace-by recorded"
        overdue = ", OVERDUE" if until < self.asked.dated else ""
        return f"battery: replace by {until}{overdue}"

    def _orders(self) -> Iterator[tuple[str, Cell]]:
        """What is shut down by its own command, then the network inward; and back again."""
        stages = self.source.order.stages
        computers = [i.id for stage in stages for i in stage if i.form in _COMPUTERS]
        power = [i.id for stage in stages for i in stage if i.form == "UPS"]
        network = [self.names(stage) for stage in self.chain]
        ends = (self.names(power), self.names(computers))
        by_command = f"{ends[1]} by command" if computers else ""
        yield "Shut down", self._in_turn([by_command, *reversed(network), ends[0]])
        yield "Restart", self._in_turn([ends[0], *network, ends[1]])

    def _in_turn(self, stages: list[str]) -> str:
        return " > ".join(some(stages, self.limits.stages)) or "not recorded"

    # The rack. ----------------------------------------------------------------------------

    def _elevation(self) -> Iterator[Block]:
        rows = tuple(self._rack_rows())
        told = " > ".join(self.names(stage) for stage in self.chain)
        facts: list[tuple[str, Cell]] = [
            ("Chain, from the carrier in", short(told, self.limits.mind) or "not recorded")
        ]
        if self.limits.rack == "line":
            told = ", ".join(f"{units} {words}" for units, words, _ in rows)
            facts.append(("U from the top", short(told, self.limits.mind) or "not recorded"))
        elif rows:
            yield Table(("U", "From the top", "Chain"), rows)
        yield Facts(tuple(facts))

    def _rack_rows(self) -> Iterator[tuple[str, str, str]]:
        if self.rack is None:
            return
        for block in self.source.elevations[self.rack.id].face("front").blocks:
            if self.limits.rack == "all" or _is_device(block):
                number = self.chained.get(block.thing.id) if block.thing is not None else None
                low, high = block.first_u, block.first_u + block.height_u - 1
                units = str(low) if low == high else f"{low} to {high}"
                yield (
                    units,
                    one_page.fitting(self._words(block), one_page.RACK_PT),
                    str(number or ""),
                )

    def _words(self, block: Stretch) -> str:
        match block.thing:
            case Mounted():
                if self.limits.rack == "line":
                    return self.name(block.thing.id)
                return joined(self.name(block.thing.id), self.source.cleared(block.thing.what))
            case Reserved():
                return f"kept for {self.source.name(block.thing.id)}"
        return str(block.state)

    # Critical lines, and where things are. ------------------------------------------------

    def _critical(self) -> Facts:
        lines = self.source.shown(self.source.client, "critical_lines").split("\n")
        told = some((short(line, self.limits.mind) for line in lines), self.limits.breakers)
        addresses = [self.mind(building, "address") for building in self.source.of("building")]
        address = next(filter(None, addresses), "") or self.mind(self.source.client, "address")
        return Facts((
            ("Never cut", " / ".join(told) or "none recorded"),
            ("Emergency calls are sent to", address or "not recorded"),
        ))  # fmt: skip

    def _where(self) -> Facts:
        source = self.source
        handoffs = [issue.id for issue in source.of("issue") if issue["document"] == "handoff"]
        held = [c for c in source.of("copy") if c["recalled_on"] is None and c["issue"] in handoffs]
        held.sort(key=lambda c: handoffs.index(c["issue"]))
        keys = [key for key in source.of("key") if self._opens_here(key)]
        stocked = [spare for spare in source.of("spare") if spare["quantity"]]
        told = (
            ("Binder", [joined(source.shown(c, "holder"), source.shown(c, "kept_at"))
                        for c in held[-1:]]),
            ("Envelopes", self._envelopes()),
            ("Keys", [joined(self.name(k), self.name(k["holder"]), by=" ") for k in keys]),
            ("Spares", [source.shown(spare, "kept_at") for spare in stocked]),
            ("Configuration copies", [source.shown(copy, "kept_at")
                                      for copy in source.of("configuration_copy")]),
        )  # fmt: skip
        rows = ((label, "; ".join(dict.fromkeys(filter(None, places)))) for label, places in told)
        shown = [(label, short(text, self.limits.text)) for label, text in rows if text]
        return Facts(tuple(shown) or (("Nothing", "is recorded"),))

    def _envelopes(self) -> Iterator[str]:
        """Who keeps which of the numbered envelopes."""
        kept: dict[str, set[int]] = {}
        for secret in self.source.of("secret"):
            if number := secret["envelope_number"]:
                keeper = self.source.shown(secret, "kept_by") or "keeper not recorded"
                kept.setdefault(keeper, set()).add(number)
        for keeper, numbers in sorted(kept.items(), key=lambda item: min(item[1])):
            yield f"{', '.join(map(str, sorted(numbers)))} {keeper}"

    def _opens_here(self, key: Record) -> bool:
        ours = [each for each in (self.rack, self.space) if each is not None]
        if key["returned_on"] is not None:
            return False
        return key["space"] in [each.id for each in ours] or any(
            each.name in (key["opens"] or "") for each in ours
        )


def _in_use(source: Source) -> list[Record]:
    """The circuits in use, the primary first."""
    found = [circuit for circuit in source.of("circuit") if circuit["status"] == "installed"]
    roles = found[0].kind.field("role").choices if found else ()
    return sorted(found, key=lambda c: roles.index(c["role"]) if c["role"] else len(roles))


_TELEPHONES: Final = ("anytime_phone", "mobile_phone", "office_phone")


def _phone(source: Source, contact: Record) -> str:
    """The number at which a person is reached soonest."""
    return next((told for name in _TELEPHONES if (told := source.shown(contact, name))), "")


def _is_device(block: Stretch) -> bool:
    return isinstance(block.thing, Mounted) and block.thing.form not in DRESSING


def _lamps(source: Source, equipment: Record | None) -> str:
    """The line of its notes that says how its lamps look when all is well."""
    lines = source.shown(equipment, "notes").split("\n")
    return next((line for line in lines if line.casefold().startswith("lamps")), "")


def _is_here(contact: Record) -> bool:
    return contact["status"] == "current" and contact["left_on"] is None
