"""SQL of a binder file, derived from the record kinds.

Invariants live here, in the database, so that no writer can break them. A broken one raises
`sqlite3.IntegrityError` whose text ends in the sentence for the person who broke it.
"""

from __future__ import annotations

from collections.abc import Iterator

from binder.records.catalog import KINDS
from binder.records.envelope_tables import ENVELOPE_TABLES
from binder.records.fields import Field, Kind, Type

_SQL_TYPES = {
    Type.INTEGER: "INTEGER",
    Type.NUMBER: "REAL",
    Type.MONEY: "INTEGER",
    Type.FLAG: "INTEGER",
    Type.REF: "INTEGER",
    Type.SUBJECT: "INTEGER",
}

_ACCEPTED = {
    Type.FLAG: "is yes or no",
    Type.DATE: "is a date like 2026-03-14",
    Type.MOMENT: "is a moment like 2026-03-14T09:40:00Z",
    Type.MAC: "is 12 hex digits, like 00-00-5E-00-53-01",
    Type.CIDR: "is a network with its prefix, like 192.0.2.0/26",
}

# Tables that are not record kinds. FORMAT.md tells what each is for.
_OWN_TABLES = (
    """CREATE TABLE info (
    name TEXT PRIMARY KEY,
    value TEXT NOT NULL
) STRICT""",
    """CREATE TABLE record (
    id INTEGER PRIMARY KEY CHECK (id > 0 AND id < 9007199254740992),
    kind TEXT NOT NULL,
    name TEXT NOT NULL COLLATE NOCASE,
    position INTEGER NOT NULL DEFAULT 0
) STRICT""",
    """CREATE UNIQUE INDEX record_kind_name ON record (kind, name)""",
    """CREATE INDEX record_name ON record (name)""",
    """CREATE TABLE step (
    id INTEGER PRIMARY KEY AUTOINCREMENT,
    at TEXT NOT NULL,
    who TEXT NOT NULL,
    summary TEXT NOT NULL,
    form TEXT NOT NULL CHECK (form IN ('edit', 'undo', 'redo')),
    of_step INTEGER REFERENCES step (id),
    log_entry_id INTEGER
) STRICT""",
    """CREATE TABLE change (
    position INTEGER PRIMARY KEY AUTOINCREMENT,
    step_id INTEGER NOT NULL REFERENCES step (id),
    record_id INTEGER NOT NULL,
    kind TEXT NOT NULL,
    name TEXT NOT NULL,
    act TEXT NOT NULL CHECK (act IN ('add', 'change', 'remove')),
    field TEXT,
    before ANY,
    after ANY
) STRICT""",
    """CREATE INDEX change_step ON change (step_id)""",
    """CREATE INDEX change_record ON change (record_id)""",
    *(
        f"CREATE TRIGGER {table}_kept_{act.lower()} BEFORE {act} ON {table}\n"
        "BEGIN SELECT RAISE(ABORT, 'the change log is never altered'); END"
        for table in ("step", "change")
        for act in ("UPDATE", "DELETE")
    ),
    """CREATE TABLE content (
    sha256 TEXT PRIMARY KEY CHECK (length(sha256) = 64),
    bytes BLOB NOT NULL
) STRICT""",
    """CREATE TABLE link_end (
    port_id INTEGER PRIMARY KEY,
    link_id INTEGER NOT NULL,
    far_port_id INTEGER
) STRICT""",
    """CREATE INDEX link_end_link ON link_end (link_id)""",
    """CREATE TABLE cord_end (
    port_id INTEGER PRIMARY KEY,
    cord_id INTEGER NOT NULL,
    far_port_id INTEGER NOT NULL
) STRICT""",
    """CREATE INDEX cord_end_cord ON cord_end (cord_id)""",
    """CREATE VIRTUAL TABLE search USING fts5 (name, body, compact, tokenize = 'trigram')""",
)


def statements() -> Iterator[str]:
    """Every statement that makes an empty binder, in order."""
    yield from _OWN_TABLES
    yield from ENVELOPE_TABLES
    for kind in KINDS:
        yield from kind_sql(kind)
    yield _renaming_trigger()
    yield from _end_triggers("link", "rear")
    yield from _end_triggers("cord", "front")
    yield from _RACK_TRIGGERS
    for measured in ("test", "loss"):
        yield from _kept_triggers(measured, "a test is never altered; add a retest that follows it")
    yield from _kept_triggers("review", "a review is never altered; take another")
    yield from reading_kept()
    yield from _single_triggers()


def kind_sql(kind: Kind) -> Iterator[str]:
    """The statements of one kind: its table, its indexes, its place in the registry."""
    yield table_sql(kind)
    yield from _index_sql(kind)
    yield from _registry_triggers(kind)


def reading_kept() -> Iterator[str]:
    """What keeps readings from being altered."""
    yield from _kept_triggers("reading", "a reading is never altered; add one that corrects it")


def table_sql(kind: Kind) -> str:
    """The CREATE TABLE of a kind: one column a field, its checks beside it."""
    parts = ["id INTEGER PRIMARY KEY"]
    parts += [_column_sql(field) for field in kind.all_fields]
    parts += [f"CONSTRAINT {quoted(rule.says)} CHECK ({rule.sql})" for rule in kind.rules]
    if len(kind.named_by) > 1 and kind.separator != " ":
        last = kind.field(kind.named_by[-1])
        if not last.is_reference:
            says = f"{last.label} cannot contain '{kind.separator}'"
            parts.append(
                f"CONSTRAINT {quoted(says)} CHECK (instr({last.name}, '{kind.separator}') = 0)"
            )
    return f"CREATE TABLE {quoted(kind.table)} (\n    " + ",\n    ".join(parts) + "\n) STRICT"


def quoted(name: str) -> str:
    """An SQL identifier in its quotes."""
    return '"' + name.replace('"', '""') + '"'


def _literal(text: str) -> str:
    return "'" + text.replace("'", "''") + "'"


def _column_sql(field: Field) -> str:
    column = quoted(field.column)
    words = [column, _SQL_TYPES.get(field.type, "TEXT")]
    if field.required:
        words.append("NOT NULL")
    check = _check_sql(field)
    if check:
        words.append(f"CONSTRAINT {quoted(_check_says(field))} CHECK ({check})")
    if field.type is Type.REF:
        words.append(f"REFERENCES {quoted(field.target)} (id) DEFERRABLE INITIALLY DEFERRED")
    if field.type is Type.SUBJECT:
        words.append("REFERENCES record (id) DEFERRABLE INITIALLY DEFERRED")
    return " ".join(words)


def _check_sql(field: Field) -> str:
    column = quoted(field.column)
    fixed = {
        Type.FLAG: f"{column} IN (0, 1)",
        # Without a modifier SQLite lets 30 February pass.
        Type.DATE: f"date({column}, '+0 days') IS {column}",
        Type.MOMENT: f"strftime('%Y-%m-%dT%H:%M:%SZ', {column}, '+0 days') IS {column}",
        Type.MAC: f"{column} GLOB '{'-'.join(['[0-9A-F][0-9A-F]'] * 6)}'",
        Type.IP: f"{column} <> '' AND {column} NOT GLOB '*[^0-9a-f:.]*'",
        Type.CIDR: f"{column} GLOB '*/[0-9]*' AND {column} NOT GLOB '*[^0-9a-f:./]*'",
    }
    if field.type in fixed:
        return fixed[field.type]
    if field.type is Type.CHOICE:
        return f"{column} IN ({', '.join(_literal(option) for option in field.choices)})"
    if field.type in (Type.INTEGER, Type.NUMBER, Type.MONEY):
        bounds = []
        if field.minimum is not None:
            bounds.append(f"{column} >= {field.minimum}")
        if field.maximum is not None:
            bounds.append(f"{column} <= {field.maximum}")
        return " AND ".join(bounds)
    return "" if field.is_reference else f"{column} <> ''"


def _check_says(field: Field) -> str:
    if field.type is Type.CHOICE:
        return f"{field.label} is one of: {', '.join(field.choices)}"
    if field.minimum is not None and field.maximum is not None:
        return f"{field.label} is from {field.minimum:g} to {field.maximum:g}"
    if field.minimum is not None:
        return f"{field.label} is at least {field.minimum:g}"
    # No example of the field: to reword one must not change the make-up of every binder.
    return f"{field.label} {_ACCEPTED.get(field.type, 'is left out rather than empty')}"


def _index_sql(kind: Kind) -> Iterator[str]:
    for field in kind.all_fields:
        if field.is_reference:
            # SQLite does not use an index whose condition a NOT NULL column makes always true.
            partly = "" if field.required else f" WHERE {quoted(field.column)} IS NOT NULL"
            yield (
                f"CREATE INDEX {quoted(f'{kind.table}_{field.name}')} "
                f"ON {quoted(kind.table)} ({quoted(field.column)}){partly}"
            )
    for fields in kind.unique_together:
        columns = ", ".join(quoted(kind.field(name).column) for name in fields)
        index = "_".join((kind.table, *fields))
        yield (f"CREATE UNIQUE INDEX {quoted(index)} ON {quoted(kind.table)} ({columns})")


def name_sql(kind: Kind, alias: str) -> str:
    """SQL for the name of the row `alias` of that kind: its naming fields, joined."""
    parts = []
    for name in kind.named_by:
        field = kind.field(name)
        column = f"{alias}.{quoted(field.column)}"
        if field.is_reference:
            parts.append(f"coalesce((SELECT r.name FROM record r WHERE r.id = {column}), '?')")
        else:
            parts.append(column)
    return f" || {_literal(kind.separator)} || ".join(parts)


def _registry_triggers(kind: Kind) -> Iterator[str]:
    """Keep `record` true: every row of every kind is registered there under its name."""
    table, columns = quoted(kind.table), [quoted(kind.field(n).column) for n in kind.named_by]
    yield (
        f"CREATE TRIGGER {quoted(f'{kind.table}_registered')} AFTER INSERT ON {table}\nBEGIN "
        f"INSERT INTO record (id, kind, name) "
        f"VALUES (NEW.id, {_literal(kind.name)}, {name_sql(kind, 'NEW')}); END"
    )
    yield (
        f"CREATE TRIGGER {quoted(f'{kind.table}_renamed')} "
        f"AFTER UPDATE OF {', '.join(columns)} ON {table}\nBEGIN "
        f"UPDATE record SET name = {name_sql(kind, 'NEW')} WHERE id = NEW.id; END"
    )
    yield (
        f"CREATE TRIGGER {quoted(f'{kind.table}_struck')} AFTER DELETE ON {table}\nBEGIN "
        f"DELETE FROM record WHERE id = OLD.id; END"
    )


def _renaming_trigger() -> str:
    """A record renamed renames those named after it: SW1:03 follows SW1."""
    updates = [
        f"UPDATE record SET name = (SELECT {name_sql(kind, 't')} FROM {quoted(kind.table)} t "
        f"WHERE t.id = record.id) WHERE NEW.kind = {_literal(field.target)} AND id IN "
        f"(SELECT id FROM {quoted(kind.table)} WHERE {quoted(field.column)} = NEW.id)"
        for kind in KINDS
        for field in (kind.field(name) for name in kind.named_by)
        if field.is_reference
    ]
    return (
        "CREATE TRIGGER record_renamed AFTER UPDATE OF name ON record "
        "WHEN NEW.name IS NOT OLD.name COLLATE BINARY\nBEGIN " + "; ".join(updates) + "; END"
    )


def _end_triggers(table: str, side: str) -> Iterator[str]:
    """At most one link at the rear and one cord at the front of a port, kept in `*_end`."""
    ends, column = f"{table}_end", f"{table}_id"
    taken = f"a port has at most one {table} at its {side}; take the other one out first"
    add = (
        f"SELECT RAISE(ABORT, '{taken}') WHERE NEW.status <> 'removed' AND EXISTS "
        f"(SELECT 1 FROM {ends} WHERE port_id IN (NEW.port_a_id, NEW.port_b_id)); "
        f"INSERT INTO {ends} (port_id, {column}, far_port_id) "
        f"SELECT NEW.port_a_id, NEW.id, NEW.port_b_id "
        f"WHERE NEW.port_a_id IS NOT NULL AND NEW.status <> 'removed'; "
        f"INSERT INTO {ends} (port_id, {column}, far_port_id) "
        f"SELECT NEW.port_b_id, NEW.id, NEW.port_a_id "
        f"WHERE NEW.port_b_id IS NOT NULL AND NEW.status <> 'removed';"
    )
    drop = f"DELETE FROM {ends} WHERE {column} = OLD.id;"
    yield f"CREATE TRIGGER {table}_ends_added AFTER INSERT ON {table}\nBEGIN {add} END"
    yield (
        f"CREATE TRIGGER {table}_ends_changed "
        f"AFTER UPDATE OF port_a_id, port_b_id, status ON {table}\nBEGIN {drop} {add} END"
    )
    yield f"CREATE TRIGGER {table}_ends_dropped AFTER DELETE ON {table}\nBEGIN {drop} END"


_RACK_CHECK = """
SELECT RAISE(ABORT, 'that U does not exist in this rack') WHERE NEW.status <> 'removed'
  AND NEW.u_position + max(NEW.height_u, 1) - 1 >
      (SELECT height_u FROM rack WHERE id = NEW.rack_id);
SELECT RAISE(ABORT, 'two things cannot share a U on the same face of a rack')
WHERE NEW.status <> 'removed' AND NEW.height_u > 0 AND EXISTS (
  SELECT 1 FROM hardware h WHERE h.rack_id = NEW.rack_id AND h.id <> NEW.id
    AND h.status <> 'removed' AND h.height_u > 0
    AND h.u_position < NEW.u_position + NEW.height_u
    AND NEW.u_position < h.u_position + h.height_u
    AND (coalesce(h.face, 'front') = 'both' OR coalesce(NEW.face, 'front') = 'both'
         OR coalesce(h.face, 'front') = coalesce(NEW.face, 'front')));
"""

_RACK_TRIGGERS = (
    f"CREATE TRIGGER hardware_fits_added AFTER INSERT ON hardware "
    f"WHEN NEW.rack_id IS NOT NULL AND NEW.u_position IS NOT NULL\nBEGIN {_RACK_CHECK} END",
    f"CREATE TRIGGER hardware_fits_changed "
    f"AFTER UPDATE OF rack_id, u_position, height_u, face, status ON hardware "
    f"WHEN NEW.rack_id IS NOT NULL AND NEW.u_position IS NOT NULL\nBEGIN {_RACK_CHECK} END",
    """CREATE TRIGGER rack_height_changed AFTER UPDATE OF height_u ON rack
BEGIN SELECT RAISE(ABORT, 'hardware stands above that height; move it first') WHERE EXISTS (
  SELECT 1 FROM hardware h WHERE h.rack_id = NEW.id AND h.status <> 'removed'
    AND h.u_position + max(h.height_u, 1) - 1 > NEW.height_u); END""",
)

_MAY_CHANGE = {
    "test": {
        "identifier",
        "reviewed_by",
        "reviewed_on",
        "marginal_reason",
        "native_file",
        "sha256",
        "follows",
    },
    "loss": set(),
    "review": {"identifier", "actions"},
    "reading": {"identifier", "corrects"},
}


def _kept_triggers(table: str, says: str) -> Iterator[str]:
    """What was measured or computed is never overwritten; notes and sign-offs may be added."""
    kind = next(kind for kind in KINDS if kind.name == table)
    kept = [quoted(f.column) for f in kind.fields if f.name not in _MAY_CHANGE[table]]
    yield (
        f"CREATE TRIGGER {table}_kept BEFORE UPDATE OF {', '.join(kept)} ON {table}\n"
        f"BEGIN SELECT RAISE(ABORT, {_literal(says)}); END"
    )


def _single_triggers() -> Iterator[str]:
    for kind in KINDS:
        if kind.single:
            says = f"a binder holds exactly one {kind.label.lower()}"
            yield (
                f"CREATE TRIGGER {kind.table}_single BEFORE INSERT ON {quoted(kind.table)} "
                f"WHEN EXISTS (SELECT 1 FROM {quoted(kind.table)})\n"
                f"BEGIN SELECT RAISE(ABORT, {_literal(says)}); END"
            )
