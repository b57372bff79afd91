"""`binder log`: read the maintenance log, or add a line to it."""

from __future__ import annotations

from dataclasses import asdict
from datetime import UTC, datetime

import click

from binder.file import BinderFile
from binder.read import Record
from binder.records.catalog import BY_NAME
from tui.console import (
    binder_argument,
    json_option,
    name_of_person,
    opened,
    say_json,
    say_table,
    tell,
)

_FORMS = BY_NAME["log_entry"].field("form").choices


@click.command(
    epilog="Examples: binder log harrow; "
    "binder log harrow 'cord replaced at the till' --kind visit --about 1A-A07 --minutes 20"
)
@binder_argument
@click.argument("summary", nargs=-1)
@click.option("--kind", "form", type=click.Choice(_FORMS), default="change", show_default=True)
@click.option("--about", multiple=True, metavar="RECORD", help="What it concerns; may be repeated.")
@click.option("--minutes", type=click.FloatRange(0), help="Time spent.")
@click.option("--on-site", is_flag=True, help="Done on site, not remotely.")
@click.option("--touched", "with_touched", is_flag=True, help="Tell what each entry touched.")
@click.option("--limit", default=30, show_default=True, type=click.IntRange(1, 100_000))
@json_option
@click.pass_context
def log(
    ctx: click.Context,
    name: str,
    summary: tuple[str, ...],
    form: str,
    about: tuple[str, ...],
    minutes: float | None,
    on_site: bool,
    with_touched: bool,
    limit: int,
    as_json: bool,
) -> None:
    """Show the latest lines of the log, or, with a SUMMARY, add one."""
    if not summary:
        _show(opened(ctx, name), limit, as_json, with_touched=with_touched)
        return
    from binder.edit import Editor
    from binder.read import read, resolve

    binder = opened(ctx, name, writing=True)
    concerned = [resolve(binder, text) for text in about]
    now = datetime.now(UTC).strftime("%Y-%m-%dT%H:%M:%SZ")
    person = name_of_person(ctx)
    with Editor(binder, person).step("log: " + " ".join(summary)) as step:
        entry = step.add(
            "log_entry",
            {
                "opened_at": now, "closed_at": now, "form": form, "who": person,
                "summary": " ".join(summary), "spent_min": minutes,
                "where": "on site" if on_site else "remote",
            },
        )  # fmt: skip
        step.add_many(
            "touch", [{"log_entry": entry, "subject": n.id, "at": now} for n in concerned]
        )
    tell(f"logged as {read(binder, entry).name}")


def _show(binder: BinderFile, limit: int, as_json: bool, *, with_touched: bool) -> None:
    from binder.read import read_where, time_zone
    from binder.records.dates import local_moment
    from binder.touched import touched_by

    zone = time_zone(binder)
    entries = read_where(
        binder, BY_NAME["log_entry"], "1", order_by=f"t.opened_at DESC LIMIT {limit:d}"
    )
    touched = touched_by(binder, [entry.id for entry in entries]) if as_json or with_touched else {}
    if as_json:
        say_json(
            [
                {
                    "identifier": entry.name, **entry.values, "is_open": _is_open(entry),
                    "touched": [asdict(one) for one in touched[entry.id]],
                }
                for entry in entries
            ]
        )  # fmt: skip
        return
    rows = []
    for entry in entries:
        names = ", ".join(one.name for one in touched.get(entry.id, ()))
        told = ["open" if _is_open(entry) else "", entry["summary"] or ""]
        summary = ": ".join(filter(None, told)) + (f"  [{names}]" if names else "")
        opened_at = local_moment(entry["opened_at"], zone)
        rows.append((entry.name, opened_at, entry["form"], entry["who"] or "", summary))
    say_table(("Entry", f"When ({zone})", "Kind", "Who", "Summary"), rows)


def _is_open(entry: Record) -> bool:
    """Whether somebody is still writing it: a call that runs."""
    return entry["closed_at"] is None and entry["status"] == "current"
