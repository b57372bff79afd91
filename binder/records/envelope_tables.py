"""SQL of the envelope's tables, described in `binder/envelope/FORMAT.md`.

Migration 2 makes these same tables in an older binder. A later change of them takes a migration
of its own, and migration 2 then keeps the text it has now.
"""

from __future__ import annotations

_MOMENT = "CHECK (strftime('%Y-%m-%dT%H:%M:%SZ', {0}) IS {0})"

ENVELOPE_TABLES = (
    """CREATE TABLE envelope (
    one INTEGER PRIMARY KEY CHECK (one = 1),
    id TEXT NOT NULL CHECK (length(id) = 36),
    key_number INTEGER NOT NULL CHECK (key_number > 0),
    log_count INTEGER NOT NULL CHECK (log_count >= 0),
    log_mac BLOB NOT NULL CHECK (length(log_mac) IN (0, 32)),
    head_mac BLOB NOT NULL CHECK (length(head_mac) = 32)
) STRICT""",
    f"""CREATE TABLE keyholder (
    id INTEGER PRIMARY KEY CHECK (id > 0 AND id < 9007199254740992),
    name TEXT NOT NULL COLLATE NOCASE CHECK (name <> ''),
    added_at TEXT NOT NULL {_MOMENT.format("added_at")},
    added_by TEXT NOT NULL,
    salt BLOB NOT NULL CHECK (length(salt) = 16),
    memory_kib INTEGER NOT NULL,
    passes INTEGER NOT NULL,
    lanes INTEGER NOT NULL,
    key_file INTEGER NOT NULL CHECK (key_file IN (0, 1)),
    private_key BLOB NOT NULL CHECK (length(private_key) = 60),
    data_key BLOB NOT NULL CHECK (length(data_key) = 92),
    public_key BLOB NOT NULL CHECK (length(public_key) = 60)
) STRICT""",
    """CREATE UNIQUE INDEX keyholder_name ON keyholder (name)""",
    f"""CREATE TABLE secret_version (
    secret_id INTEGER NOT NULL CHECK (secret_id > 0 AND secret_id < 9007199254740992),
    version INTEGER NOT NULL CHECK (version > 0),
    form TEXT NOT NULL,
    set_at TEXT NOT NULL {_MOMENT.format("set_at")},
    set_by TEXT NOT NULL,
    sealed BLOB NOT NULL CHECK (length(sealed) >= 92),
    PRIMARY KEY (secret_id, version)
) STRICT, WITHOUT ROWID""",
    # Its columns are bound into the MAC. Checks of their form would be made for every line at each
    # opening of the binder: 20 ms for 10,000 lines.
    """CREATE TABLE envelope_log (
    number INTEGER PRIMARY KEY CHECK (number > 0),
    key_number INTEGER NOT NULL,
    at TEXT NOT NULL,
    who TEXT NOT NULL,
    act TEXT NOT NULL,
    seen_by TEXT,
    secret_id INTEGER,
    secret_name TEXT,
    version INTEGER,
    keyholder TEXT,
    why TEXT,
    log_entry_id INTEGER,
    mac BLOB NOT NULL CHECK (length(mac) = 32)
) STRICT""",
    """CREATE INDEX envelope_log_secret ON envelope_log (secret_id) WHERE secret_id IS NOT NULL""",
    """CREATE TRIGGER envelope_log_kept_update BEFORE UPDATE ON envelope_log
BEGIN SELECT RAISE(ABORT, 'the log of the envelope is never altered'); END""",
    """CREATE TRIGGER envelope_log_kept_delete BEFORE DELETE ON envelope_log
BEGIN SELECT RAISE(ABORT, 'the log of the envelope is never altered'); END""",
    """CREATE TABLE old_log_key (
    key_number INTEGER PRIMARY KEY CHECK (key_number > 0),
    sealed BLOB NOT NULL CHECK (length(sealed) = 60)
) STRICT""",
    f"""CREATE TABLE refused_opening (
    number INTEGER PRIMARY KEY,
    at TEXT NOT NULL {_MOMENT.format("at")},
    who TEXT NOT NULL,
    after_line INTEGER NOT NULL
) STRICT""",
)
