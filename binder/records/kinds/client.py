"""The client's own sheets: who they are, whom to call, which keys there are."""

from __future__ import annotations

from binder.records.fields import (
    Kind,
    Type,
    choice,
    cleared,
    count,
    date,
    flag,
    identifier,
    lines,
    number,
    of,
    ref,
    text,
)

DIVIDER = "Client"
CURRENT = ("current", "planned", "former")

CLIENT = Kind(
    "client", "clients", "Client", DIVIDER,
    "The client this binder is about; a binder holds exactly one.",
    (
        identifier("The client's name as it stands on the agreement.",
                   "Quillmere Veterinary Clinic", "Name"),
        text("short_name", "Short name", "What the technicians call them; names the file.",
             "quillmere"),
        lines("address", "Address", "The postal address.", "12 Alder Row, Quillmere"),
        lines("hours", "Hours", "When someone is there.", "Mon-Fri 07:30-19:00, Sat 08:00-13:00"),
        of(Type.ZONE, "time_zone", "Time zone", "As the time zone database names it.",
           "America/Chicago"),
        choice("unit_system", "Units", "us, metric",
               "Lengths, weights and temperatures are shown so; stored metric.",
               required=True, default="us"),
        text("currency", "Currency", "ISO 4217 code of all prices.", "USD", default="USD"),
        text("keeper", "Kept by", "Who keeps this binder true.", "R. Adeyemi"),
        text("deputy_keeper", "Stands in", "Who keeps it when the keeper is away.", "M. Osei"),
        text("integrator", "Integrator", "The firm that answers for the network.",
             "Lowfield Network Works"),
        of(Type.PHONE, "integrator_phone", "Integrator's phone", "The number to call at any hour.",
           "+1 312 555 0143"),
        text("agreement", "Agreement", "The managed-service agreement.", "MSA-2025-014"),
        date("agreement_ends_on", "Agreement ends"),
        choice("administration_class", "Class", "1, 2, 3, 4",
               "ANSI/TIA-606 class: 1 one room, 2 one building, 3 campus, 4 several sites."),
        choice("identifier_scheme", "Identifiers", "ANSI/TIA-606, own",
               "What closeout checks identifiers against.", default="ANSI/TIA-606"),
        number("outage_target_min", "Outage target", "How long the core must run on battery.",
               "15"),
        lines("critical_lines", "Critical lines",
              "Fire alarm, lift, medical, card payments: what must not be cut.",
              "Fire panel dialler on 1A-A24"),
        date("accepted_on", "Accepted on", "Starts the integrator's warranty."),
        count("verify_months", "Verify within", "Months after which a record counts as stale.",
              "12", default=12, minimum=1, unit="months"),
    ),
    columns=("address", "keeper"), statuses=CURRENT, single=True,
)

CONTACT = Kind(
    "contact", "contacts", "Contact", DIVIDER,
    "A person or desk to call, and what they may approve.",
    (
        identifier("The person's or desk's name.", "Priya Nandakumar", "Name"),
        text("role", "Role", "What they are to this network.", "practice manager"),
        text("organisation", "Organisation", "Whose they are.", "Quillmere Veterinary Clinic"),
        of(Type.PHONE, "office_phone", "Office phone", "", "+1 312 555 0100"),
        of(Type.PHONE, "mobile_phone", "Mobile phone", "", "+1 312 555 0101"),
        of(Type.PHONE, "anytime_phone", "24-hour phone", "", "+1 312 555 0102"),
        of(Type.EMAIL, "email", "E-mail", "", "priya@quillmere.example"),
        text("hours", "Hours", "When they answer.", "weekdays 08:00-18:00"),
        count("escalation", "Escalation", "1 is called first.", "1", minimum=1),
        text("may_approve", "May approve", "Spending, access, after-hours work.",
             "work up to 500; access at any hour"),
        text("identity_check", "Identity check", "How to be sure who is calling.",
             "ask for the agreement number"),
        flag("primary", "Primary", "The first contact for this client."),
        date("left_on", "Left on", "What they knew must be changed after this day."),
    ),
    columns=("role", "office_phone", "escalation"), statuses=CURRENT,
)

KEY = Kind(
    "key", "keys", "Key", DIVIDER,
    "A key, card, fob or code, and who has it.",
    (
        identifier("The number on it.", "K-01"),
        choice("form", "Form", "key, card, fob, code", required=True, default="key"),
        text("opens", "Opens", "Which doors.", "equipment room 1A"),
        cleared(ref("space", "Space", "space", "The space it opens.", "1A")),
        cleared(ref("holder", "Holder", "contact", "Who has it.", "Priya Nandakumar")),
        count("copies", "Copies", "How many there are.", "2"),
        date("issued_on", "Issued on"),
        date("returned_on", "Returned on"),
    ),
    columns=("form", "opens", "holder"), statuses=CURRENT,
)

KINDS = (CLIENT, CONTACT, KEY)
