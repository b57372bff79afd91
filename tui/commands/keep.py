"""`binder verify` and `binder backup`: keeping a binder whole."""

from __future__ import annotations

from pathlib import Path

import click

from binder.errors import RequestError
from tui.console import binder_argument, json_option, opened, say, say_json, tell
from tui.passphrase import Opening, binder_to_unlock, opened_envelope, opening_options


@click.command(epilog="Examples: binder verify harrow; binder verify harrow --open")
@binder_argument
@click.option("--open", "opening_it", is_flag=True, help="Its envelope too, which takes opening.")
@json_option
@opening_options
@click.pass_context
def verify(ctx: click.Context, name: str, opening_it: bool, as_json: bool, opening: Opening) -> int:
    """See whether a binder is whole: every page, index, reference and rule; status 1 if not.

    With --open also the log of the envelope, line by line, its keyholders, and every value.
    """
    from binder.verify import verify as verified

    if opening_it:
        binder = binder_to_unlock(ctx, name)
        envelope = opened_envelope(ctx, binder, opening)
        faults = verified(binder) + envelope.check(every_value=True)
    elif opening.said:
        raise RequestError("a passphrase is of use with --open only")
    else:
        faults = verified(opened(ctx, name))
    if as_json:
        say_json(faults)
    else:
        for fault in faults:
            say(str(fault))
        say(f"{len(faults)} faults; restore a backup" if faults else "whole")
    return 1 if faults else 0


@click.command(epilog="Example: binder backup harrow --to /media/stick/")
@binder_argument
@click.option(
    "--to",
    "target",
    type=click.Path(path_type=Path),
    required=True,
    help="A file to make, or a folder to make it in.",
)
@click.pass_context
def backup(ctx: click.Context, name: str, target: Path) -> None:
    """Write a whole copy of a binder, and see that it opens. Never overwrites."""
    from datetime import datetime

    from binder.file import back_up

    binder = opened(ctx, name)
    if target.is_dir():
        stamp = datetime.now().strftime("%Y-%m-%d-%H%M%S")
        target = target / f"{binder.path.stem}-{stamp}{binder.path.suffix}"
    tell(f"wrote {back_up(binder, target)}")
