"""Accounts and secrets. A secret's record says what and where; its value is in the envelope."""

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
    of,
    ref,
    subject,
    text,
)

DIVIDER = "Accounts"
CURRENT = ("current", "planned", "former")

ACCOUNT = Kind(
    "account", "accounts", "Account", DIVIDER,
    "A login somewhere.",
    (
        text("system", "System", "What it logs in to.", "SW1", required=True),
        text("login", "Login", "The name typed at the prompt.", "admin", required=True),
        choice("form", "Kind", "administrator, user, service, shared, break-glass, default",
               required=True, default="administrator"),
        of(Type.URL, "url", "Address", "Where one logs in.", "https://192.0.2.2/"),
        text("legal_holder", "Legal holder", "Whose account it is in law.", "client"),
        cleared(ref("custodian", "Custodian", "contact", "Who answers for it.",
                    "Priya Nandakumar")),
        of(Type.EMAIL, "login_email", "Login e-mail", "", "it@quillmere.example"),
        of(Type.EMAIL, "recovery_email", "Recovery e-mail", "", "owner@quillmere.example"),
        of(Type.PHONE, "recovery_phone", "Recovery phone", "", "+1 312 555 0101"),
        choice("second_factor", "Second factor", "none, app code, hardware key, message, call"),
        text("second_factor_holder", "Second factor with", "Whose phone or key.",
             "shop phone 2"),
        cleared(ref("hardware", "Hardware", "hardware", "The device it is on.", "SW1")),
        cleared(ref("circuit", "Circuit", "circuit", "The circuit it is for.", "fibre")),
        text("privilege", "Privilege", "What it may do.", "full"),
        date("review_on", "Review on"),
        date("tried_on", "Last tried", "The day someone logged in with it."),
        flag("default_changed", "Default changed", "The maker's default login is gone."),
    ),
    named_by=("system", "login"), separator=" / ",
    columns=("form", "custodian", "second_factor", "tried_on"), statuses=CURRENT,
)

SECRET = Kind(
    "secret", "secrets", "Secret", DIVIDER,
    "Something that must be kept secret. Its value is kept sealed in the envelope, never here.",
    (
        identifier("What it is called.", "SW1 admin password", "Name"),
        choice("form", "Kind",
               "password, PIN, recovery codes, private key, pre-shared key, SNMP credentials, "
               "one-time-code seed, combination",
               required=True, default="password"),
        subject("belongs_to", "Belongs to", "An account, circuit, hardware, SSID or contact.",
                "SW1 / admin", required=True),
        text("kept_by", "Kept by", "Who holds it outside this binder.", "shop team"),
        text("kept_at", "Kept at", "Where else it is kept.", "client's safe, envelope 3"),
        date("set_on", "Set on"),
        text("set_by", "Set by", "", "M. Osei"),
        date("rotate_by", "Rotate by"),
        text("rotate_reason", "Rotate because", "", "M. Osei left"),
        flag("default_value", "Default value", "Still the maker's default."),
        count("envelope_number", "Envelope", "Number of the sealed paper copy.", "3", minimum=1),
        lines("instructions", "Instructions", "How it is used or changed.", ""),
    ),
    columns=("form", "belongs_to", "kept_by", "rotate_by"), statuses=CURRENT,
)

KINDS = (ACCOUNT, SECRET)
