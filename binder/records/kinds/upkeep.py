"""Upkeep: recurring duties, renewals, warranties, and the punch list."""

from __future__ import annotations

from binder.records.fields import (
    Kind,
    Rule,
    Type,
    choice,
    cleared,
    count,
    date,
    flag,
    identifier,
    lines,
    money,
    number,
    of,
    ref,
    subject,
    text,
)

DIVIDER = "Upkeep"
CURRENT = ("current", "planned", "former")

DUTY = Kind(
    "duty", "duties", "Duty", DIVIDER,
    "A recurring task.",
    (
        identifier("One line.", "UPS battery test", "Duty"),
        subject("subject", "Concerns", "", "UPS1"),
        of(Type.RRULE, "rule", "Repeats", "As every 6 months, quarterly, or a rule of RFC 5545.",
           "FREQ=MONTHLY;INTERVAL=6", required=True),
        date("starts_on", "Starts on", "The first time it is due.", required=True),
        date("done_on", "Last done"),
        text("done_by", "Done by", "", "M. Osei"),
        text("result", "Result", "", "held 14 min at 410 W"),
        text("basis", "Basis", "What asks for it.", "maker's manual"),
        lines("instructions", "Instructions", "", ""),
        number("duration_min", "Takes", "", "30"),
    ),
    columns=("subject", "rule", "done_on"), statuses=CURRENT,
)

RENEWAL = Kind(
    "renewal", "renewals", "Renewal", DIVIDER,
    "Something that runs out and is renewed: domain, licence, support contract.",
    (
        identifier("What is renewed.", "quillmere.example", "Renewal"),
        choice("form", "Kind",
               "domain, certificate, licence, support contract, subscription, circuit contract, "
               "insurance, other",
               required=True),
        text("vendor", "Vendor", "", "Copperline Registrar"),
        text("reference", "Reference", "", "ORD-7781", compact=True),
        subject("subject", "Concerns", "", "GW1"),
        date("renews_on", "Renews on", required=True),
        count("notice_days", "Notice", "", "30", unit="days"),
        money("cost", "Cost"),
        flag("automatic", "Automatic", "Renews by itself."),
        text("payer", "Paid by", "", "client"),
        count("entitled", "Entitled", "Licences bought.", "25"),
        count("used", "Used", "Licences in use.", "22"),
    ),
    columns=("form", "vendor", "renews_on", "cost"), statuses=CURRENT,
)

WARRANTY = Kind(
    "warranty", "warranties", "Warranty", DIVIDER,
    "What is warranted, by whom, from which event, for how long.",
    (
        identifier("A short name for it.", "cabling system", "Warranty"),
        choice("form", "Kind", "contractor, maker, extended, system", required=True),
        subject("covers", "Covers", "", "1A-A"),
        text("covers_note", "Covers (in words)", "", "all category 6A links of 2025"),
        choice("start_event", "Starts with",
               "owner acceptance, certificate issue, delivery, installation", required=True),
        date("starts_on", "Starts on"),
        number("term_months", "Term", "", "12"),
        text("registration", "Registration", "", "REG-20441", compact=True),
        text("certificate", "Certificate", "", "CERT-20441"),
        text("claim_contact", "Claim contact", "", "Marrow & Pike Supply"),
        of(Type.PHONE, "claim_phone", "Claim phone", "", "+1 312 555 0170"),
        lines("conditions", "Conditions", "", "changes by others are outside it"),
        date("evidence_sent_on", "Evidence sent", "Test results sent to the maker."),
    ),
    columns=("form", "covers", "starts_on", "term_months"), statuses=CURRENT,
)

PUNCH_ITEM = Kind(
    "punch_item", "punch_items", "Punch item", DIVIDER,
    "An open item before acceptance, with trade and owner.",
    (
        identifier("Numbered when left empty.", "P-0001", required=False),
        text("description", "Description", "", "faceplate missing in 118", required=True),
        choice("trade", "Trade",
               "cabling, electrical, general, carrier, security, client, integrator",
               required=True, default="cabling"),
        subject("subject", "Concerns", "", "118-1"),
        cleared(ref("space", "Space", "space", "", "118")),
        text("owner", "Owner", "Who mends it.", "Lowfield Network Works"),
        text("raised_by", "Raised by", "", "R. Adeyemi"),
        date("raised_on", "Raised on"),
        date("due_on", "Due on"),
        date("closed_on", "Closed on"),
        text("closed_by", "Closed by", "", ""),
    ),
    series="P-", columns=("description", "trade", "owner", "due_on"), statuses=CURRENT,
    rules=(Rule("closed_on IS NULL OR raised_on IS NULL OR closed_on >= raised_on",
                "a punch item cannot be closed before it was raised"),),
)

KINDS = (DUTY, RENEWAL, WARRANTY, PUNCH_ITEM)
