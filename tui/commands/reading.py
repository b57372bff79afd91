"""`binder reading`: what is usually read, a reading added, readings out of a CSV file."""

from __future__ import annotations

import sys
from datetime import datetime
from pathlib import Path
from typing import TYPE_CHECKING

import click

from binder.errors import FileError, RequestError
from tui.console import (
    binder_argument,
    json_option,
    name_of_person,
    opened,
    say_json,
    say_table,
    tell,
)
from tui.served import is_session_served

if TYPE_CHECKING:
    from binder.file import BinderFile
    from binder.readings import Taken

_sure_option = click.option("--sure", is_flag=True, help="Do not ask about values far from usual.")


@click.group(
    epilog="Examples: binder reading list harrow; binder reading add harrow UPS1 'UPS load' 412"
)
def reading() -> None:
    """Readings: what is usually read here, added by hand or out of a CSV file."""


@reading.command("list")
@binder_argument
@json_option
@click.pass_context
def list_usual(ctx: click.Context, name: str, as_json: bool) -> int:
    """List what is usually read here, and what was read last."""
    from binder.read import time_zone, unit_system
    from binder.readings import shown, usual
    from binder.records.dates import local_moment

    binder = opened(ctx, name)
    found = usual(binder)
    if as_json:
        say_json(found)
        return 0
    zone, system = time_zone(binder), unit_system(binder)
    say_table(
        ("Of", "Quantity", "Last", "Read at"),
        [
            (one.subject, one.quantity,
             "-" if one.last_value is None else shown(one.quantity, one.last_value, system),
             local_moment(one.last_at, zone) if one.last_at else "never")
            for one in found
        ],
    )  # fmt: skip
    return 0


@reading.command(
    epilog="Example: binder reading add harrow SW3 'PoE draw' 68 --at 'yesterday 09:05'"
)
@binder_argument
@click.argument("subject")
@click.argument("quantity")
@click.argument("value")
@click.option("--at", default="now", help="When it was read; now.")
@click.option("--corrects", help="The reading that was wrong, as R-0007; it stays, and is told so.")
@_sure_option
@json_option
@click.pass_context
def add(
    ctx: click.Context, name: str, subject: str, quantity: str, value: str, at: str,
    corrects: str | None, sure: bool, as_json: bool,
) -> int:  # fmt: skip
    """Add a reading. The value may bear its unit: 1.2 kW, 76F, 2 TB."""
    from binder.read import resolve, unit_system
    from binder.readings import Taken, quantity_named, value_of
    from binder.records.dates import format_moment, parse_moment

    binder = opened(ctx, name, writing=True)
    of, meant = resolve(binder, subject), quantity_named(quantity)
    wrong = resolve(binder, corrects, "reading").id if corrects else None
    try:
        stored = value_of(meant, value, unit_system(binder))
        read_at = format_moment(parse_moment(at, _now(binder)))
    except ValueError as error:
        raise RequestError(str(error)) from error
    return _saved(
        ctx, binder, (Taken(of.id, meant, stored, read_at, corrects_id=wrong),), sure, "by hand",
        as_json,
    )  # fmt: skip


@reading.command("import", epilog=(
    "Example: binder reading import harrow power.csv "
    "--map subject=Device --map 'quantity==UPS load W'"
))  # fmt: skip
@binder_argument
@click.argument("file", type=click.Path(path_type=Path))
@click.option(
    "--map",
    "maps",
    multiple=True,
    metavar="FIELD=HEADING",
    help="Which column is which; FIELD==TEXT holds for all lines. Remembered.",
)
@_sure_option
@json_option
@click.pass_context
def from_csv(
    ctx: click.Context, name: str, file: Path, maps: tuple[str, ...], sure: bool, as_json: bool
) -> int:  # fmt: skip
    """Add the readings of a CSV file: subject, quantity, value, read_at, and read_by if any."""
    from binder.intake import readings_csv
    from binder.readings import is_held

    if is_session_served():
        raise RequestError("files of the host are out of reach in this session")
    said = {}
    for text in maps:
        field, sign, heading = text.partition("=")
        if not sign or not heading:
            raise RequestError(f"--map {text}: write FIELD=HEADING, or FIELD==TEXT")
        said[field.strip()] = heading
    try:
        text = file.read_text(encoding="utf-8-sig")
    except OSError as error:
        raise FileError(f"{file}: cannot be read: {error.strerror}") from error
    except UnicodeDecodeError as error:
        raise RequestError(f"{file}: not UTF-8 text; save it as CSV in UTF-8") from error
    binder, person = opened(ctx, name, writing=True), name_of_person(ctx)
    heads, whole = readings_csv.headings_of(text)
    found = readings_csv.mapped(heads, said, readings_csv.remembered(binder, person))
    taken = readings_csv.read(binder, whole, heads, found, _now(binder))
    fresh = tuple(one for one in dict.fromkeys(taken) if not is_held(binder, one))
    if len(fresh) < len(taken):
        tell(f"{len(taken) - len(fresh)} are in the binder already and were left out")
    status = _saved(ctx, binder, fresh, sure, "import", as_json)
    if status == 0:
        readings_csv.remember(binder, person, found)
    return status


def _saved(
    ctx: click.Context, binder: BinderFile, taken: tuple[Taken, ...], sure: bool, method: str,
    as_json: bool,
) -> int:  # fmt: skip
    """Ask about what is far from usual, then add all of it in one step."""
    from binder.edit import Editor
    from binder.readings import add as add_readings
    from binder.readings import doubts

    odd = () if sure else doubts(binder, taken)
    for one in odd:
        tell(one.says)
    if odd and not sys.stdin.isatty():
        raise RequestError(f"{len(odd)} in doubt, nothing was added; --sure adds them as they are")
    if odd and not click.confirm("add as typed?", err=True):
        tell("nothing was added")
        return 1
    ids = add_readings(Editor(binder, name_of_person(ctx)), taken, method=method)
    tell(f"{len(ids)} reading{'' if len(ids) == 1 else 's'} added")
    if as_json:
        say_json(taken)
    return 0


def _now(binder: BinderFile) -> datetime:
    from binder.read import time_zone
    from binder.records.dates import time_zone as zone_named

    return datetime.now(zone_named(time_zone(binder)))
