"""Headroom's records: readings, reservations, planning limits, stored reviews."""

from __future__ import annotations

from binder.records.fields import (
    Kind,
    Rule,
    choice,
    cleared,
    count,
    date,
    identifier,
    lines,
    moment,
    money,
    number,
    owner,
    ref,
    subject,
    text,
)

DIVIDER = "Headroom"
CURRENT = ("current", "planned", "former")

QUANTITIES = (
    "UPS load W, UPS runtime min, PoE draw W, rate 95th percentile Mb/s, disk used GB, "
    "received power dBm, temperature C, DHCP leases, wireless clients, current A, other"
)

READING = Kind(
    "reading", "readings", "Reading", DIVIDER,
    "A measured value at a time. A correction follows the reading it corrects.",
    (
        identifier("Numbered when left empty.", "R-0001", required=False),
        subject("subject", "Of", "What was read.", "UPS1", required=True),
        choice("quantity", "Quantity", QUANTITIES, required=True),
        number("value", "Value", "In the unit of the quantity.", "412", unit="", minimum=None,
               required=True),
        moment("read_at", "Read at", required=True),
        text("read_by", "Read by", "", "M. Osei"),
        choice("method", "Method", "by hand, survey, import", default="by hand"),
        cleared(ref("corrects", "Corrects", "reading", "The wrong one.", "R-0007")),
    ),
    series="R-", columns=("subject", "quantity", "value", "read_at"), statuses=CURRENT,
)

RESERVATION = Kind(
    "reservation", "reservations", "Reservation", DIVIDER,
    "Capacity kept for a named future use.",
    (
        identifier("The use.", "storage server", "For"),
        subject("subject", "In", "The rack, panel, switch, UPS, subnet or pathway.", "1A-R1",
                required=True),
        choice("resource", "Resource",
               "rack units, ports, PoE watts, UPS watts, addresses, cooling watts, weight kg, "
               "pathway cables, strands",
               required=True),
        number("quantity", "Quantity", "", "2", unit="", required=True),
        count("u_position", "U", "Lowest U kept, for rack units.", "14", minimum=1),
        choice("face", "Face", "front, rear, both", default="front"),
        date("until", "Until", "Falls away after this day."),
        text("asked_by", "Asked by", "", "Priya Nandakumar"),
    ),
    columns=("subject", "resource", "quantity", "until"), statuses=CURRENT,
    rules=(Rule("u_position IS NULL OR resource = 'rack units'",
                "only rack units are reserved at a U position"),),
)

PLANNING_LIMIT = Kind(
    "planning_limit", "planning_limits", "Planning limit", DIVIDER,
    "A planning margin of this binder, in place of the program's default.",
    (
        identifier("Which limit.", "rack units percent", "Limit"),
        number("value", "Value", "", "80", unit="", required=True),
        text("because", "Because", "Who asked for it, or where it is written.",
             "client's own standard"),
    ),
    columns=("value", "because"), statuses=CURRENT,
)

REVIEW = Kind(
    "review", "reviews", "Review", DIVIDER,
    "A stored headroom computation; never altered.",
    (
        identifier("Numbered when left empty.", "Q-0001", required=False),
        date("taken_on", "Taken on", required=True),
        text("taken_by", "Taken by", "", "R. Adeyemi"),
        count("change_position", "Change position", "Place in the change log.", "412"),
        text("fingerprint", "Fingerprint", "SHA-256 of what was computed from.", "hex digits"),
        lines("body", "Computation", "JSON, as `binder headroom --json` gives it.", "",
              searched=False),
        lines("actions", "Actions", "What was agreed.", ""),
    ),
    series="Q-", columns=("taken_on", "taken_by"), statuses=CURRENT,
)

ACTION = Kind(
    "action", "actions", "Action", DIVIDER,
    "What a review asks for; carried to the next one until it is done or dropped.",
    (
        identifier("Numbered when left empty.", "AC-0001", required=False),
        owner("review", "Review", "review", "The review that asked for it first.", "Q-0001"),
        text("resource", "Resource", "The row of the headroom that it would mend.", "PoE watts"),
        subject("subject", "Concerns", "", "SW3"),
        text("what", "What", "One line.", "a second 24 port switch for the kennels",
             required=True),
        lines("arithmetic", "Arithmetic", "How it mends the row.", "370 W more: 112 of 740 W"),
        money("cost", "Cost"),
        date("due_on", "Due on"),
        choice("state", "State", "proposed, agreed, done, dropped", required=True,
               default="proposed"),
        text("decided_by", "Decided by", "Who agreed to it, or dropped it.", "Priya Nandakumar"),
        date("done_on", "Done on"),
        text("done_by", "Done by", "", "M. Osei"),
    ),
    series="AC-", columns=("what", "subject", "due_on", "state"), statuses=CURRENT,
)

KINDS = (READING, RESERVATION, PLANNING_LIMIT, REVIEW, ACTION)
