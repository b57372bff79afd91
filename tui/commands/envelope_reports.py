"""`binder envelope seen`, `leaver`, `overdue`, `openings`, `log`, `removed`: what its log tells.

None needs a passphrase. Whether the log was tampered with is found by `binder envelope check`.
"""

from __future__ import annotations

from shlex import quote

import click

from binder.envelope import reports
from binder.errors import RequestError
from binder.file import BinderFile
from tui.console import (
    binder_argument,
    json_option,
    name_of_person,
    opened,
    say,
    say_json,
    say_table,
    tell,
)


class Clock:
    """Moments by the clock on the client's wall."""

    def __init__(self, binder: BinderFile) -> None:
        from binder.read import time_zone

        self._zone = time_zone(binder)

    def __call__(self, stored: str) -> str:
        from binder.records.dates import local_moment

        try:
            return local_moment(stored, self._zone)
        except ValueError:  # a tampered line, to be shown nonetheless
            return stored


# A person. --------------------------------------------------------------------------------


def _as_in_log(binder: BinderFile, person: str) -> str:
    """The person as the log spells them: a slip must not be answered with 'nothing to rotate'."""
    people = reports.people(binder)
    for name in people:
        if name.casefold() == person.strip().casefold():
            return name
    leaves = reports.leaver(binder, person)
    if not (leaves.renew or leaves.to_rotate or reports.seen_by(binder, person)):
        there = f"it has: {', '.join(people)}" if people else "nobody has seen a value yet"
        raise RequestError(f"'{person}' is not in the envelope's log; {there}")
    return person.strip()


@click.command(epilog="Example: binder envelope seen harrow 'M. Osei'")
@binder_argument
@click.argument("person")
@json_option
@click.pass_context
def seen(ctx: click.Context, name: str, person: str, as_json: bool) -> None:
    """List every value that PERSON set, was shown, or was handed."""
    binder = opened(ctx, name)
    person = _as_in_log(binder, person)
    found = reports.seen_by(binder, person)
    if as_json:
        say_json(found)
        return
    _say_seen(binder, found, f"{person} was shown no value")


def _say_seen(binder: BinderFile, found: tuple[reports.Seen, ...], nothing: str) -> None:
    if not found:
        say(nothing)
        return
    clock = Clock(binder)
    say_table(
        ("Secret", "Version", "Last", "How", "Now", "Why"),
        [(s.secret, str(s.version), clock(s.last_at), s.how, _now(s), s.why) for s in found],
    )


def _now(seen: reports.Seen) -> str:
    if seen.removed:
        return "removed"
    return "in use" if seen.current else "replaced"


@click.command(
    epilog="Examples: binder envelope leaver harrow 'K. Brandt'; "
    "binder envelope leaver harrow 'K. Brandt' --mark --by +14d"
)
@binder_argument
@click.argument("person")
@click.option("--mark", is_flag=True, help="Mark them all to be rotated.")
@click.option("--by", default="today", show_default=True, help="The day to rotate them by.")
@json_option
@click.pass_context
def leaver(ctx: click.Context, name: str, person: str, mark: bool, by: str, as_json: bool) -> int:
    """List what to change when PERSON leaves; status 1 if anything."""
    binder = opened(ctx, name, writing=mark)
    person = _as_in_log(binder, person)
    answer = reports.leaver(binder, person)
    if mark:
        _mark(ctx, binder, [one.secret_id for one in answer.to_rotate], person, by)
    if as_json:
        say_json(answer)
    else:
        _say_seen(binder, answer.to_rotate, f"{person} knows no value that is in use")
        for keyholder in answer.passphrases:
            say(f"change a passphrase: binder envelope change {quote(name)} {quote(keyholder)}")
        if answer.renew:
            then = "then renew" if answer.passphrases else "renew"
            say(f"{then} the data key: binder envelope renew {quote(name)}")
    return 1 if answer.to_rotate or answer.passphrases or answer.renew else 0


def _mark(ctx: click.Context, binder: BinderFile, ids: list[int], person: str, by: str) -> None:
    """Mark those that are not due sooner already."""
    from datetime import date

    from binder.edit import Editor
    from binder.read import read
    from binder.records.dates import parse_date

    try:
        day = parse_date(by, date.today())
    except ValueError as error:
        raise RequestError(f"--by: {error}") from error
    due = [one for one in ids if (read(binder, one)["rotate_by"] or "9999") <= day.isoformat()]
    later = [one for one in ids if one not in due]
    if later:
        editor = Editor(binder, name_of_person(ctx))
        reports.mark_for_rotation(editor, later, day, f"{person} left")
    tell(f"marked {len(later)} to be rotated by {day}; {len(due)} were due by then already")


# The whole binder. ------------------------------------------------------------------------


@click.command(epilog="Example: binder envelope overdue harrow")
@binder_argument
@json_option
@click.pass_context
def overdue(ctx: click.Context, name: str, as_json: bool) -> int:
    """List secrets that are due to be rotated; status 1 if any."""
    from datetime import date

    found = reports.overdue(opened(ctx, name), date.today())
    if as_json:
        say_json(found)
    elif found:
        say_table(
            ("Secret", "Rotate by", "Days late", "Because"),
            [(one.secret, one.rotate_by, str(one.days), one.reason) for one in found],
        )
    else:
        say("nothing is overdue")
    return 1 if found else 0


_limit = click.option("--limit", default=40, show_default=True, type=click.IntRange(1, 100_000))


@click.command(epilog="Example: binder envelope openings harrow")
@binder_argument
@_limit
@json_option
@click.pass_context
def openings(ctx: click.Context, name: str, limit: int, as_json: bool) -> None:
    """List who opened it, and who failed to, newest first."""
    binder = opened(ctx, name)
    found = reports.openings(binder, limit)
    if as_json:
        say_json(found)
        return
    clock = Clock(binder)
    say_table(
        ("When", "Who", "With the passphrase of"),
        [(clock(o.at), o.who, o.keyholder if o.opened else "(did not open)") for o in found],
    )


@click.command(epilog="Examples: binder envelope log harrow; binder envelope log harrow SNMP key")
@binder_argument
@click.argument("secret", nargs=-1)
@_limit
@json_option
@click.pass_context
def log(ctx: click.Context, name: str, secret: tuple[str, ...], limit: int, as_json: bool) -> None:
    """List what was done in it, or to one SECRET, newest first."""
    from binder.read import names, resolve

    binder = opened(ctx, name)
    if secret:
        found = resolve(binder, " ".join(secret), "secret")
        lines = reports.log_of_secret(binder, found.id, limit)
    else:
        lines = reports.log(binder, limit)
    if as_json:
        say_json(lines)
        return
    clock = Clock(binder)
    calls = names(binder, {line.log_entry_id for line in lines if line.log_entry_id})
    for line in lines:
        call = calls.get(line.log_entry_id) if line.log_entry_id else None
        say(f"{line.number:>4}  {clock(line.at)}  {line.who}: {_did(line)}")
        why = "; ".join(part for part in (line.why, call.name if call else "") if part)
        if why:
            say(f"      {why}")


def _did(line: reports.LogLine) -> str:
    """`reveal fibre account PIN, version 1`; which passphrase, where it is about a keyholder."""
    version = f", version {line.version}" if line.version else ""
    to = f", to {line.seen_by}" if line.act == "hand over" else ""
    return f"{line.act} {line.secret or line.keyholder}{version}{to}".rstrip()


@click.command(epilog="Example: binder envelope removed harrow")
@binder_argument
@json_option
@click.pass_context
def removed(ctx: click.Context, name: str, as_json: bool) -> None:
    """List values kept for undo, whose secret was removed."""
    found = reports.left_behind(opened(ctx, name))
    if as_json:
        say_json(found)
    elif found:
        rows = [(one.secret, ", ".join(map(str, one.versions))) for one in found]
        say_table(("Secret", "Versions"), rows)
    else:
        say("no value is left of a removed secret")


COMMANDS = (seen, leaver, overdue, openings, log, removed)
