"""`binder verify` and `binder backup`: keeping a binder whole."""

from __future__ import annotations

from pathlib import Path

import click

from tui.console import binder_argument, json_option, opened, say, say_json, tell


@click.command(epilog="Example: binder verify harrow")
@binder_argument
@json_option
@click.pass_context
def verify(ctx: click.Context, name: str, as_json: bool) -> int:
    """See whether a binder is whole: every page, index, reference and rule; status 1 if not."""
    from binder.verify import verify as verified

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
