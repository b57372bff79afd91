"""`binder show`: a record's sheet, or the records of a kind."""

from __future__ import annotations

from datetime import date

import click

from binder.errors import RequestError
from binder.file import BinderFile
from binder.records.fields import Kind
from tui.console import binder_argument, json_option, opened, say, say_json, say_lines, say_table


@click.command(epilog="Examples: binder show harrow SW1; binder show harrow circuits")
@binder_argument
@click.argument("what", nargs=-1)
@json_option
@click.pass_context
def show(ctx: click.Context, name: str, what: tuple[str, ...], as_json: bool) -> None:
    """Show a record by name, the records of a kind or of a form of it (switches, cameras), or,
    without WHAT, what the binder holds."""
    from binder.records.catalog import BY_NAME, BY_PLURAL

    binder = opened(ctx, name)
    text = " ".join(what)
    key = text.lower().replace("-", "_").replace(" ", "_")
    if not text:
        _contents(binder, as_json)
    elif key in BY_PLURAL or key in BY_NAME:
        _records(binder, BY_PLURAL.get(key) or BY_NAME[key], as_json)
    else:
        _sheet_or_form(binder, text, as_json)


def _contents(binder: BinderFile, as_json: bool) -> None:
    from binder.records.catalog import KINDS

    counts = dict(binder.connection.execute("SELECT kind, count(*) FROM record GROUP BY kind"))
    held = [kind for kind in KINDS if counts.get(kind.name)]
    if as_json:
        say_json({kind.plural: counts[kind.name] for kind in held})
        return
    rows = [(k.divider, k.plural.replace("_", " "), str(counts[k.name])) for k in held]
    say_table(("Divider", "Kind", "Records"), rows)


def _sheet_or_form(binder: BinderFile, text: str, as_json: bool) -> None:
    """A record's sheet; where none is named so, all of a form: 'switches' are hardware."""
    try:
        _sheet(binder, text, as_json)
    except RequestError:
        found = _form_called(text)
        if found is None:
            raise
        kind, form = found
        _records(binder, kind, as_json, form=form)


def _form_called(text: str) -> tuple[Kind, str] | None:
    """The kind that has a form of that name, said of one or of several, and the form."""
    from binder.records.catalog import KINDS

    said = text.strip().casefold()
    for kind in KINDS:
        for form in kind.field("form").choices if kind.has("form") else ():
            if said in (form.casefold() + ending for ending in ("", "s", "es")):
                return kind, form
    return None


def _records(binder: BinderFile, kind: Kind, as_json: bool, *, form: str = "") -> None:
    from binder.identifiers import natural_key
    from binder.read import read_where, reference_names, time_zone, unit_system
    from binder.records.values import show as shown

    where = ("t.form = ?", (form,)) if form else ("1", ())
    records = sorted(read_where(binder, kind, *where), key=lambda one: natural_key(one.name))
    named = reference_names(binder, records)
    if as_json:
        from binder.intake.json_form import plain_records

        plain = plain_records(binder, kind)
        say_json([one for one in plain if one["form"] == form] if form else plain)
        return
    system, zone = unit_system(binder), time_zone(binder)
    fields = [kind.field(column) for column in kind.columns]
    rows = []
    for record in records:
        cells = [record.name]
        for field in fields:
            value = record[field.name]
            target = named.get(value) if field.is_reference else None
            cell = target.name if target else shown(field, value, system=system, zone=zone)
            cells.append(cell.replace("\n", ", "))
        rows.append(cells)
    say_table((kind.label, *(field.label for field in fields)), rows)


def _sheet(binder: BinderFile, text: str, as_json: bool) -> None:
    from binder.read import resolve
    from binder.sheet import sheet

    answer = sheet(binder, resolve(binder, text).id, date.today(), most_events=8)
    if as_json:
        say_json(answer)
        return
    say(f"{answer.label} {answer.name}  ({answer.verified}{', stale' if answer.stale else ''})")
    for line in answer.lines:
        if line.shown and "\n" in line.shown:
            say(f"  {line.label}:")
            say_lines("\n".join(f"      {part}" for part in line.shown.expandtabs().splitlines()))
        elif line.shown:
            say(f"  {line.label:<22} {line.shown}")
    if answer.touched:
        say("  Touched:")
        for one in answer.touched:
            say(f"    {one.kind.replace('_', ' ')} {one.name}  ({', '.join(one.how)})")
    named_by = [o for o in answer.referring if not (answer.touched and o.kind == "touch")]
    if named_by:
        say("  Named by:")
        for other in named_by:
            say(f"    {other.kind.replace('_', ' ')} {other.name}  ({other.through})")
    if answer.lately:
        say("  What changed here lately:")
        for event in answer.lately:
            say(f"    {event.at[:10]} {event.says}{f' ({event.who})' if event.who else ''}")
