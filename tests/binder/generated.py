"""Records nobody would type, made from the declarations: values of every type, kinds of every sort.

`stored` gives values as they are kept, `plain_binders` whole binders in the JSON form. Text holds
what hurts elsewhere: escapes, reordering marks, markup, formulas, quotes.
"""

from __future__ import annotations

import tempfile
from datetime import date, datetime
from functools import cache
from ipaddress import ip_network
from pathlib import Path
from typing import Any

from hypothesis import strategies as st

from binder.file import BinderFile, create, open_binder
from binder.records.catalog import BY_NAME, KINDS
from binder.records.fields import Field, Kind, Type
from binder.records.quantities import KEPT_DECIMALS
from binder.records.values import to_json

PAYLOADS = (
    "\x1b]52;c;cHduZWQ=\x07",
    "\x1b[2J\x1b[H",
    "\x9b31m",
    "abc\rXYZ",
    "abc\b\b\bXYZ",
    "\u202eevil\u202c",
    "\u200bhidden",
    "[bold]x[/bold]",
    "<script>alert(1)</script>",
    "=1+1",
    "'; DROP TABLE record; --",
    '"quoted"',
    "% _ \\ ? *",
    "| a | b |",
    "ümläut ñ 北 🜨",
    "ſs K",  # fold to other letters than ASCII folds to
)

_MARKS = st.characters(exclude_categories=["Cs"], exclude_characters="\x00\n")
_WORDS = st.text(_MARKS, min_size=1, max_size=20) | st.sampled_from(PAYLOADS)
_LINES = st.lists(st.text(_MARKS, max_size=12) | st.sampled_from(PAYLOADS), max_size=3)
_RULES = ("FREQ=DAILY", "FREQ=MONTHLY;INTERVAL=6", "FREQ=YEARLY;BYMONTH=3;BYDAY=-1SU",
          "FREQ=WEEKLY;COUNT=10;BYDAY=MO,WE", "FREQ=MONTHLY;BYMONTHDAY=-1")  # fmt: skip


def _kept(number: float) -> float:
    return round(number, KEPT_DECIMALS) + 0.0


@st.composite
def _curves(draw: st.DrawFn) -> str:
    loads = sorted(draw(st.sets(st.integers(1, 5000), min_size=1, max_size=5)))
    minutes = sorted((draw(st.integers(1, 600)) for _ in loads), reverse=True)
    return ", ".join(f"{load}:{time}" for load, time in zip(loads, minutes, strict=True))


@st.composite
def networks(draw: st.DrawFn, version: int = 4) -> str:
    """A network of a random size, in its canonical form."""
    bits = 32 if version == 4 else 128
    number = draw(st.integers(0, 2**bits - 1))
    prefix = draw(st.integers(0, bits))
    return str(ip_network((number >> (bits - prefix) << (bits - prefix), prefix)))


def _numbers(field: Field) -> st.SearchStrategy[Any]:
    if field.type is Type.MONEY:
        return st.integers(0, 10**14)
    if field.type is Type.INTEGER:
        low = 1 - 2**53 if field.minimum is None else int(field.minimum)
        return st.integers(low, 2**53 - 1 if field.maximum is None else int(field.maximum))
    low = -9e10 if field.minimum is None else field.minimum
    return st.floats(low, 9e10 if field.maximum is None else field.maximum).map(_kept)


_OF_TYPE: dict[Type, st.SearchStrategy[Any]] = {
    Type.TEXT: _WORDS.map(str.strip).filter(bool),
    Type.LINES: _LINES.map("\n".join).map(str.rstrip).filter(bool),
    Type.FLAG: st.sampled_from([0, 1]),
    Type.DATE: st.dates(date(1900, 1, 1), date(2199, 12, 31)).map(date.isoformat),
    Type.MOMENT: st.datetimes(datetime(1900, 1, 1), datetime(2199, 12, 31)).map(
        lambda moment: moment.strftime("%Y-%m-%dT%H:%M:%SZ")
    ),
    Type.MAC: st.binary(min_size=6, max_size=6).map(lambda raw: raw.hex("-").upper()),
    Type.IP: st.ip_addresses().map(str),
    Type.CIDR: networks(4) | networks(6),
    Type.PHONE: st.from_regex(r"\A\+1 312 555 01[0-9]{2}( x[0-9]{1,4})?\Z"),
    Type.EMAIL: st.emails(),
    Type.URL: st.from_regex(r"\A(https?|ssh)://[a-z0-9.]{1,9}\.example/[!-~]{0,9}\Z"),
    Type.RRULE: st.sampled_from(_RULES),
    Type.CURVE: _curves(),
    Type.ZONE: st.sampled_from(["UTC", "America/Chicago", "Europe/Lisbon", "Asia/Kathmandu"]),
}


def stored(field: Field) -> st.SearchStrategy[Any]:
    """Values of a field that is no reference, in the form they are stored in."""
    if field.type is Type.CHOICE:
        return st.sampled_from(field.choices)
    return _OF_TYPE[field.type] if field.type in _OF_TYPE else _numbers(field)


def fresh_binder(path: Path) -> BinderFile:
    """An empty binder without a client, made quickly: not a thing to pull the plug on."""
    path.write_bytes(_empty_file())
    binder = open_binder(path)
    binder.connection.execute("PRAGMA synchronous = OFF")
    return binder


@cache
def _empty_file() -> bytes:
    with tempfile.TemporaryDirectory() as folder:
        create(Path(folder) / "empty", "").close()
        return (Path(folder) / "empty").read_bytes()


# Binders in the JSON form. ----------------------------------------------------------------

_FREE_PORTS = range(5, 9)  # ports 1 to 4 of the base binder carry its two cords


def base_binder() -> dict[str, Any]:
    """A small binder that holds two records of every kind (eight ports), so that names resolve."""
    data: dict[str, Any] = {"format": 1}
    for kind in KINDS:
        number = 1 if kind.single else 8 if kind.name == "port" else 2
        data[kind.plural] = [_base_record(kind, n) for n in range(1, number + 1)]
    return data


def _base_record(kind: Kind, n: int) -> dict[str, Any]:
    record = {
        field.name: _base_value(kind, field, n)
        for field in kind.all_fields
        if field.required or field.name in kind.named_by
    }
    if kind.name == "cord":
        record |= {"port_a": base_name("port", 2 * n - 1), "port_b": base_name("port", 2 * n)}
    if kind.name == "rack":
        record["height_u"] = 60
    return record


def _base_value(kind: Kind, field: Field, n: int) -> Any:
    match field.type:
        case Type.REF:
            return base_name(field.target, 1 if kind.name == "port" else n)
        case Type.SUBJECT:
            return {"building": base_name("building", n)}
        case Type.CHOICE:
            return field.choices[n % 2]
        case Type.IP:
            return f"192.0.2.{n}"
        case Type.INTEGER | Type.NUMBER:
            return n
        case Type.TEXT:
            return f"{kind.label} {n}"
        case _:
            return field.example


def base_name(kind_name: str, n: int) -> str:
    """What the n-th record of a kind is called in the base binder."""
    kind = BY_NAME[kind_name]
    parts = (_base_value(kind, kind.field(part), n) for part in kind.named_by)
    return kind.separator.join(str(part) for part in parts)


def _plain(field: Field) -> st.SearchStrategy[Any]:
    if field.type is Type.REF:
        return st.integers(1, 1 if field.target == "client" else 2).map(
            lambda n: base_name(field.target, n)
        )
    if field.type is Type.SUBJECT:
        return st.sampled_from([kind for kind in KINDS if not kind.single]).map(
            lambda kind: {kind.name: base_name(kind.name, 1)}
        )
    return stored(field).map(lambda value: to_json(field, value))


def plain_records(kind: Kind) -> st.SearchStrategy[dict[str, Any]]:
    """Records of one kind in the JSON form, referring to the base binder."""
    always = [f for f in kind.all_fields if f.required or f.name in kind.named_by]
    return st.fixed_dictionaries(
        {field.name: _plain(field) for field in always},
        optional={field.name: _plain(field) for field in kind.all_fields if field not in always},
    ).map(lambda record: _keeping_rules(kind, record))


def _keeping_rules(kind: Kind, record: dict[str, Any]) -> dict[str, Any]:
    """The record with what would break an invariant taken out or put right."""

    def drop(*names: str) -> None:
        for name in names:
            record.pop(name, None)

    def put_in_order(first: str, last: str) -> None:
        if first in record and last in record and record[first] > record[last]:
            record[first], record[last] = record[last], record[first]

    match kind.name:
        case "rack":
            drop("anchor_rows")
        case "hardware" if "rack" in record:
            height_u = record.setdefault("height_u", 1)
            if "u_position" in record:
                record["u_position"] = min(record["u_position"], 60 - max(height_u, 1) + 1)
        case "hardware":
            drop("u_position")
        case "cord":
            record |= {"port_a": base_name("port", 5), "port_b": base_name("port", 6)}
        case "link" if record.get("port_a") == record.get("port_b"):
            drop("port_b")
        case "inlet" if "fed_by" in record:
            drop("branch_circuit")
            record["hardware"] = base_name("hardware", 1)
            record["fed_by"] = base_name("hardware", 2)
        case "subnet":
            drop("gateway", "dhcp_first", "dhcp_last")
        case "log_entry":
            put_in_order("opened_at", "closed_at")
        case "punch_item":
            put_in_order("raised_on", "closed_on")
        case "reservation":
            drop("u_position")
        case "attachment":
            drop("sha256")
    for part in kind.named_by[1:]:
        if kind.field(part).type is Type.TEXT:  # what parts a name stands in none of its parts
            record[part] = record[part].replace(kind.separator.strip(), "-")
    return record


@st.composite
def plain_binders(draw: st.DrawFn) -> dict[str, Any]:
    """The base binder and up to six more records, of kinds by chance."""
    data = base_binder()
    for kind in draw(st.lists(st.sampled_from(KINDS), max_size=6, unique=True)):
        record = draw(plain_records(kind))
        if kind.single:
            data[kind.plural] = [record]
        elif _named(kind, record) not in {_named(kind, other) for other in data[kind.plural]}:
            data[kind.plural].append(record)
    return data


def _named(kind: Kind, record: dict[str, Any]) -> tuple[str, ...]:
    return tuple(str(record[part]).lower() for part in kind.named_by)
