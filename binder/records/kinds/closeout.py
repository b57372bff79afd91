"""Handing over: issues of documents, copies, acceptance, waivers, attachments."""

from __future__ import annotations

from binder.records.fields import (
    Kind,
    Rule,
    choice,
    cleared,
    count,
    date,
    flag,
    identifier,
    lines,
    ref,
    subject,
    text,
)

DIVIDER = "Closeout"
CURRENT = ("current", "planned", "former")

ISSUE = Kind(
    "issue", "issues", "Issue", DIVIDER,
    "A numbered, dated release of a document.",
    (
        choice("document", "Document",
               "handoff, support, review, door sheet, punch list, labels, calendar, schedules",
               required=True),
        count("number", "Number", "", "1", minimum=1, required=True),
        date("issued_on", "Issued on", required=True),
        text("issued_by", "Issued by", "", "R. Adeyemi"),
        text("issued_to", "Issued to", "", "Quillmere Veterinary Clinic"),
        text("sha256", "SHA-256", "Of what was issued.", "hex digits"),
        count("change_position", "Change position", "Place in the change log.", "412"),
        text("reason", "Reason", "", "as installed"),
    ),
    named_by=("document", "number"), columns=("issued_on", "issued_by", "issued_to"),
    statuses=CURRENT,
)

COPY = Kind(
    "copy", "copies", "Copy", DIVIDER,
    "Who holds which copy of which issue.",
    (
        identifier("Numbered when left empty.", "K1", "Copy", required=False),
        cleared(ref("issue", "Issue", "issue", "", "handoff 1")),
        text("holder", "Holder", "", "Priya Nandakumar", required=True),
        choice("medium", "Medium", "paper, file, portable drive", required=True),
        flag("sealed_secrets", "Sealed secrets", "It carries secrets, sealed."),
        date("handed_on", "Handed over"),
        date("recalled_on", "Recalled on"),
        text("kept_at", "Kept at", "", "clinic office, blue shelf"),
    ),
    series="K-", columns=("issue", "holder", "medium"), statuses=CURRENT,
)

ACCEPTANCE = Kind(
    "acceptance", "acceptances", "Acceptance", DIVIDER,
    "The four gates (defects, tests, training, documents) and who signed.",
    (
        identifier("What is accepted.", "network closet and cabling, 2025", "Scope"),
        date("defects_met_on", "Defects corrected"),
        date("tests_met_on", "Tests passed"),
        date("training_met_on", "Training given"),
        date("documents_met_on", "Documents handed over"),
        lines("exceptions", "Exceptions", "Each with its reason.", ""),
        text("signed_by", "Signed by", "", "Priya Nandakumar"),
        text("signatory_role", "Role", "", "practice manager"),
        date("signed_on", "Signed on"),
        text("countersigned_by", "Countersigned by", "", "R. Adeyemi"),
        cleared(ref("issue", "Issue signed", "issue", "", "handoff 1")),
        text("sha256", "SHA-256", "Of the document that was signed.", "hex digits"),
    ),
    columns=("signed_by", "signed_on"), statuses=CURRENT,
)

WAIVER = Kind(
    "waiver", "waivers", "Waiver", DIVIDER,
    "A gap that is accepted, with a reason that is printed.",
    (
        identifier("Numbered when left empty.", "W-0001", required=False),
        text("rule", "Rule", "The closeout rule.", "link-tested", required=True),
        subject("subject", "Concerns", "", "1A-A24"),
        text("reason", "Reason", "", "carrier's own cable, not ours to test", required=True),
        text("waived_by", "Waived by", "", "Priya Nandakumar", required=True),
        date("waived_on", "Waived on", required=True),
        date("until", "Until"),
    ),
    series="W-", columns=("rule", "subject", "reason", "waived_by"), statuses=CURRENT,
)

ATTACHMENT = Kind(
    "attachment", "attachments", "Attachment", DIVIDER,
    "A photo, test report or drawing kept in the binder, or named and kept elsewhere.",
    (
        identifier("A short title.", "rack 1A-R1, front", "Title"),
        subject("subject", "Of", "", "1A-R1"),
        choice("form", "Kind",
               "photo, test report, drawing, certificate, manual, invoice, other", required=True),
        text("file_name", "File name", "", "1A-R1-front.jpg"),
        text("media_type", "Media type", "", "image/jpeg"),
        count("size_bytes", "Size", "", "182044", unit="bytes"),
        text("sha256", "SHA-256", "", "hex digits"),
        date("taken_on", "Taken on"),
        text("drawing_number", "Drawing number", "", "T3-01"),
        text("revision", "Revision", "", "B"),
        text("kept_at", "Kept at", "When the bytes are not in the binder.", "shop folder 12"),
    ),
    columns=("subject", "form", "file_name"), statuses=CURRENT,
    rules=(Rule("sha256 IS NULL OR length(sha256) = 64", "a SHA-256 has 64 hex digits"),),
)

KINDS = (ISSUE, COPY, ACCEPTANCE, WAIVER, ATTACHMENT)
