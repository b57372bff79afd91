"""`binder change`: fields of a range of records set in one step."""

from __future__ import annotations

import dataclasses

import click

from binder.errors import RequestError
from tui.console import binder_argument, is_terminal, json_option, name_of_person, opened, tell


@click.command(
    epilog="Examples: binder change harrow ports SW1:01..12,17 vlan=30 'current use=desk {n}'; "
    "binder change harrow links '1A-A*' category=6A --yes"
)
@binder_argument
@click.argument("kind")
@click.argument("range_", metavar="RANGE")
@click.argument("settings", metavar="FIELD=VALUE...", nargs=-1, required=True)
@click.option("--yes", is_flag=True, help="Write without asking.")
@json_option
@click.pass_context
def change(
    ctx: click.Context,
    name: str,
    kind: str,
    range_: str,
    settings: tuple[str, ...],
    yes: bool,
    as_json: bool,
) -> int:
    """Show what becomes of each record of RANGE, then set its fields in one step.

    RANGE is like 1A-A:01..24, SW1:01..12,17, 1A-A01..1A-B12, 1A-A*, or * for all of the KIND. An
    empty VALUE empties; {n} counts 1, 2, 3, and {07} from 07. At a terminal it asks before it
    writes; elsewhere nothing is written without --yes, and the exit status is 1.
    """
    from datetime import UTC, datetime

    from binder.edit import Editor
    from binder.proposal import rehearsed, write
    from binder.ranges import chosen, set_fields
    from tui.commands.proposals import kind_named, say_proposal, tell_faults
    from tui.console import say_json

    binder = opened(ctx, name, writing=True)
    editor = Editor(binder, name_of_person(ctx))
    declared = kind_named(kind)
    ids = chosen(binder, declared, range_)
    proposal = set_fields(binder, declared, ids, _typed(settings), now=datetime.now(UTC))
    proposal = rehearsed(editor, proposal)
    if as_json:
        say_json(dataclasses.asdict(proposal))
    else:
        say_proposal(proposal)
    if proposal.faults:
        return tell_faults(proposal)
    asks = not yes and is_terminal()
    if asks:
        yes = click.confirm(f"{proposal.told}. Write it?", err=True)
    if not yes:
        tell("nothing was written" + ("" if asks else "; --yes writes it"))
        return 1
    write(editor, proposal)
    tell(proposal.done)
    return 0


def _typed(settings: tuple[str, ...]) -> dict[str, str]:
    typed: dict[str, str] = {}
    for setting in settings:
        word, equals, value = setting.partition("=")
        if not equals or not word.strip():
            raise RequestError(f"'{setting}' is no FIELD=VALUE, like vlan=30")
        typed[word] = value
    return typed
