"""The maintenance log and what it touched; known issues; training."""

from __future__ import annotations

from binder.records.fields import (
    Kind,
    Rule,
    choice,
    cleared,
    date,
    flag,
    identifier,
    lines,
    moment,
    number,
    owner,
    ref,
    subject,
    text,
)

DIVIDER = "Log"
CURRENT = ("current", "planned", "former")

LOG_ENTRY = Kind(
    "log_entry", "log_entries", "Log entry", DIVIDER,
    "A dated line of the maintenance log.",
    (
        identifier("Numbered when left empty.", "L-0001", required=False),
        moment("opened_at", "Opened", required=True),
        moment("closed_at", "Closed"),
        choice("form", "Kind",
               "call, visit, change, incident, inspection, drill, training, handoff",
               required=True, default="change"),
        text("summary", "Summary", "One line.", "phone dead at the front desk; cord replaced"),
        lines("body", "Seen and done", "What was found, and what was done about it.", ""),
        text("who", "Who", "Who did it.", "M. Osei"),
        choice("where", "Where", "remote, on site", default="remote"),
        cleared(ref("caller", "Caller", "contact", "Who called.", "Priya Nandakumar")),
        text("caller_note", "Caller (other)", "When not in the contacts.", "locum at kennels"),
        number("spent_min", "Time spent", "", "12", unit="min"),
        number("outage_min", "Outage", "Minutes the client was without service.", "0"),
        text("ticket", "Ticket", "Your own or the carrier's.", "T-20260314-2", compact=True),
        text("verified_how", "Verified how", "How it was made sure that it works.",
             "called back from the phone"),
        text("approved_by", "Approved by", "", "Priya Nandakumar"),
        text("follow_up", "Follow-up", "What is left to do.", "order two cords"),
    ),
    series="L-", columns=("opened_at", "form", "who", "summary"), statuses=CURRENT,
    rules=(Rule("closed_at IS NULL OR closed_at >= opened_at",
                "a log entry cannot close before it opens"),),
)

TOUCH = Kind(
    "touch", "touches", "Touched", DIVIDER,
    "That a log entry concerns a record.",
    (
        identifier("Numbered when left empty.", "LT-0001", required=False),
        owner("log_entry", "Log entry", "log_entry", "", "L-0001"),
        subject("subject", "Record", "What was opened, changed or revealed.", "SW1",
                required=True),
        choice("how", "How", "concerned, opened, traced, changed, revealed", required=True,
               default="concerned"),
        moment("at", "At"),
    ),
    series="LT-", columns=("log_entry", "subject", "how", "at"), statuses=CURRENT,
)

KNOWN_ISSUE = Kind(
    "known_issue", "known_issues", "Known issue", DIVIDER,
    "Something known to be wrong or weak, and accepted for now.",
    (
        identifier("One line.", "guest wireless drops at the far kennels", "Issue"),
        subject("subject", "Concerns", "", "AP4"),
        lines("effect", "Effect", "", "visitors lose the connection"),
        lines("work_around", "Work-around", "", "use the kennel office"),
        text("accepted_by", "Accepted by", "", "Priya Nandakumar"),
        date("accepted_on", "Accepted on"),
        date("review_by", "Review by"),
    ),
    columns=("subject", "accepted_by", "review_by"), statuses=CURRENT,
)

TRAINING = Kind(
    "training", "trainings", "Training session", DIVIDER,
    "A session in which the client's people were shown the network.",
    (
        identifier("The module.", "finding a dead outlet", "Module"),
        date("held_on", "Held on"),
        number("length_min", "Length", "", "45"),
        text("instructor", "Instructor", "", "R. Adeyemi"),
        lines("attendees", "Attendees", "Name and role, a line each.",
              "Priya Nandakumar, practice manager"),
        text("materials", "Materials", "", "handoff binder, section 4"),
        text("evaluation", "Evaluation", "", "could find and read the patch map"),
        flag("required_for_acceptance", "Required", "Part of acceptance."),
    ),
    columns=("held_on", "instructor"), statuses=("planned", "current", "former"),
)

KINDS = (LOG_ENTRY, TOUCH, KNOWN_ISSUE, TRAINING)
