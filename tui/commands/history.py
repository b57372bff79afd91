"""`binder history`: what changed, when, and by whom."""

from __future__ import annotations

from typing import Any

import click

from binder.history import Change
from tui.console import binder_argument, json_option, opened, say, say_json


@click.command(epilog="Examples: binder history harrow; binder history harrow SW1")
@binder_argument
@click.argument("what", nargs=-1)
@click.option("--limit", default=40, show_default=True, type=click.IntRange(1, 100_000))
@json_option
@click.pass_context
def history(
    ctx: click.Context, name: str, what: tuple[str, ...], limit: int, as_json: bool
) -> None:
    """Show the changes of a record, or the latest of the whole binder, newest first."""
    from binder.history import of_record, recent
    from binder.read import resolve, time_zone
    from binder.records.dates import local_moment

    binder = opened(ctx, name)
    if what:
        changes = of_record(binder, resolve(binder, " ".join(what)).id, limit)
    else:
        changes = recent(binder, limit)
    if as_json:
        say_json(changes)
        return
    zone = time_zone(binder)
    for change in changes:
        say(f"{local_moment(change.at, zone)}  {change.who}  {_told(change)}")


def _told(change: Change) -> str:
    what = f"{change.kind.replace('_', ' ')} {change.name}"
    if change.act == "change":
        return f"{what}: {change.field} {_value(change.before)} -> {_value(change.after)}"
    return f"{what} {'added' if change.act == 'add' else 'removed'}"


def _value(value: Any) -> str:
    return "(empty)" if value is None else str(value)
